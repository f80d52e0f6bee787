package reach

import (
	"context"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
)

// taking is a product being taken apart on paper. Solids that still stand in
// each other's way share a cluster: at first all of them. A load that can be
// lifted straight off leaves its cluster and is one of its own, in which its
// fasteners go on being undone.
//
// Nothing ever comes back, so each act that is possible stays possible: the
// order of acts changes when a fastener comes out, never whether.
type taking struct {
	c       *matter
	cluster []int32 // by solid; -1 once a fastener is out
	size    []int   // by cluster: solids in it
	undone  []bool  // by unit
	how     []undo  // by unit
	round   int
	splits  []split
}

// undo says how a unit was reached.
type undo struct {
	round           int
	way, tool       int // of unit.ways
	nutWay, nutTool int
	after           []product.SolidIndex // stood in the way and do no longer
	out             []product.SolidIndex // whatever is no longer there, sorted
	turned          bool
}

// split is one event: solids that left a cluster for one of their own, or for
// good (-1).
type split struct {
	left     []product.SolidIndex
	from, to int32
}

func newTaking(c *matter) *taking {
	t := &taking{
		c: c, cluster: make([]int32, c.s.len()), size: []int{c.s.len()},
		undone: make([]bool, len(c.units)), how: make([]undo, len(c.units)),
	}
	for i := range t.how {
		t.how[i].round = -1
	}
	return t
}

func (t *taking) done() bool { return !slices.Contains(t.undone, false) }

// in is the presence of solids from the place of a unit.
func (t *taking) in(u int) present {
	solids := t.c.units[u].solids
	if len(solids) == 0 {
		return everything
	}
	home := t.cluster[solids[0]]
	return func(k product.SolidIndex) bool { return t.cluster[k] == home }
}

// run undoes and lifts until nothing changes any more. Without sides every
// fastener may be driven from its own side; lifts are the directions in which
// groups may leave. It stops early where all is undone, unless all is asked.
func (t *taking) run(ctx context.Context, sides []mgl64.Vec3, lifts []*blocking, turned, all bool) {
	for ctx.Err() == nil && (all || !t.done()) {
		a := t.undoAll(sides, turned)
		b := t.liftAll(ctx, lifts)
		t.round++
		if !a && !b {
			return
		}
	}
}

// undoAll takes out everything that can be reached now. All are tested before
// the first goes, so a round does not depend on the order of the fasteners.
func (t *taking) undoAll(sides []mgl64.Vec3, turned bool) bool {
	var ready []int
	for u := range t.c.units {
		if t.undone[u] {
			continue
		}
		if how, ok := t.reach(u, sides); ok {
			how.turned, how.out = turned, t.absent(u)
			t.how[u] = how
			ready = append(ready, u)
		}
	}
	for _, u := range ready {
		t.take(u)
	}
	return len(ready) > 0
}

// reach tries a unit among what is still there. A bolt with a free nut needs
// room for both tools, of which one may only hold, whichever takes the fewest
// parts off; it is enough that one of them works from the side.
func (t *taking) reach(u int, sides []mgl64.Vec3) (undo, bool) {
	x, in := &t.c.units[u], t.in(u)
	h, found := undo{round: t.round, nutWay: -1}, false
	if x.nut < 0 {
		if h.way, h.tool, found = t.best(x.ways, false, sides, in); found {
			h.after = t.gone(u, &h)
		}
		return h, found
	}
	for _, held := range [3]struct{ main, nut bool }{{}, {nut: true}, {main: true}} {
		g, main, nut := h, false, false
		g.way, g.tool, main = t.best(x.ways, held.main, sides, in)
		g.nutWay, g.nutTool, nut = t.best(x.nutWays, held.nut, sides, in)
		if g.way < 0 || g.nutWay < 0 || !main && !nut {
			continue
		}
		if g.after = t.gone(u, &g); !found || len(g.after) < len(h.after) {
			h, found = g, true
		}
	}
	return h, found
}

// best is the first way and tool that fit, those from the asked sides first;
// ok says that it is from such a side. Without sides every one is.
func (t *taking) best(ways []approach, held bool, sides []mgl64.Vec3, in present) (way, tool int, ok bool) {
	way = -1
	for i := range ways {
		onSide := len(sides) == 0
		for _, s := range sides {
			onSide = onSide || within5(ways[i].axis.D, s)
		}
		if ways[i].held != held || way >= 0 && !onSide {
			continue
		}
		if k := ways[i].fitting(t.c.s.skin(), in); k >= 0 {
			way, tool = i, k
			if onSide {
				return way, tool, true
			}
		}
	}
	return way, tool, false
}

// gone lists what stood in the way as assembled, no longer does, and had to
// go. Of what stands about an arm's swing only some has to: a solid without
// which the tools fit as well is left where it is.
func (t *taking) gone(u int, h *undo) []product.SolidIndex {
	x, in := &t.c.units[u], t.in(u)
	all := x.ways[h.way].blockers(t.c.s, h.tool, everything)
	if h.nutWay >= 0 {
		all = append(all, x.nutWays[h.nutWay].blockers(t.c.s, h.nutTool, everything)...)
	}
	slices.Sort(all)
	all = slices.DeleteFunc(slices.Compact(all), in)
	var had, stay []product.SolidIndex
	for _, k := range all {
		stay = append(stay, k)
		still := func(s product.SolidIndex) bool { return in(s) || slices.Contains(stay, s) }
		if !x.works(t.c.s.skin(), h, still) {
			had, stay = append(had, k), stay[:len(stay)-1]
		}
	}
	return had
}

// works reports whether the tools chosen for a unit fit among what is present.
func (x *unit) works(skin float64, h *undo, in present) bool {
	ok := func(a *approach, tool int) bool { return a.open(skin, in) && a.fits(tool, in) }
	return ok(&x.ways[h.way], h.tool) && (h.nutWay < 0 || ok(&x.nutWays[h.nutWay], h.nutTool))
}

// absent lists what is no longer there from the place of a unit.
func (t *taking) absent(u int) []product.SolidIndex {
	in := t.in(u)
	var out []product.SolidIndex
	for k := range t.cluster {
		if !in(product.SolidIndex(k)) {
			out = append(out, product.SolidIndex(k))
		}
	}
	return out
}

// take removes a unit's own solids, but a captive nut's, which stay trapped. A
// solid may belong to several fasteners: it comes off with the first.
func (t *taking) take(u int) {
	t.undone[u] = true
	var left []product.SolidIndex
	for _, k := range t.c.units[u].solids {
		if t.cluster[k] >= 0 {
			left = append(left, k)
		}
	}
	for len(left) > 0 {
		home := t.cluster[left[0]]
		away := func(k product.SolidIndex) bool { return t.cluster[k] != home }
		t.leave(slices.DeleteFunc(slices.Clone(left), away), home, -1)
		left = slices.DeleteFunc(left, func(k product.SolidIndex) bool { return t.cluster[k] < 0 })
	}
}

// leave moves solids from a cluster to another.
func (t *taking) leave(solids []product.SolidIndex, from, to int32) {
	t.splits = append(t.splits, split{solids, from, to})
	t.size[from] -= len(solids)
	for _, k := range solids {
		t.cluster[k] = to
	}
}

// liftAll lifts what can be lifted from every cluster, along each direction.
func (t *taking) liftAll(ctx context.Context, lifts []*blocking) bool {
	changed := false
	for c := 0; c < len(t.size); c++ { // new clusters are visited as they come
		for _, b := range lifts {
			if t.size[c] > 1 && ctx.Err() == nil && t.liftFrom(int32(c), b) {
				changed = true
			}
		}
	}
	return changed
}

// liftFrom takes a cluster apart along one direction: whatever can leave
// leaves, and what is left last is what the others were taken off.
func (t *taking) liftFrom(c int32, b *blocking) bool {
	groups := t.groupsOf(t.members(c))
	if len(groups) < 2 || !b.passable() {
		return false
	}
	loads := loadsAlong(groups, b)
	for i, load := range loads {
		if len(load) == t.size[c] { // the last one stays
			return i > 0
		}
		t.size = append(t.size, len(load))
		t.leave(load, c, int32(len(t.size)-1))
	}
	return len(loads) > 0
}

func (t *taking) members(c int32) []product.SolidIndex {
	var out []product.SolidIndex
	for k := range t.cluster {
		if t.cluster[k] == c {
			out = append(out, product.SolidIndex(k))
		}
	}
	return out
}

// removed lists what came off what stays in the end, in order. What stays is
// the largest cluster that is left: of the most solids, then of the greatest
// volume. All events are gone through once more with an eye on it.
func (t *taking) removed() []product.SolidIndex {
	stays := t.largest()
	home, at := int32(0), make([]int32, len(t.cluster))
	var out []product.SolidIndex
	for _, s := range t.splits {
		goes := slices.Contains(s.left, stays)
		for k := range at {
			if goes && at[k] == home && !slices.Contains(s.left, product.SolidIndex(k)) {
				out = append(out, product.SolidIndex(k)) // was left behind
			}
		}
		if !goes && s.from == home {
			out = append(out, s.left...)
		}
		if goes {
			home = s.to
		}
		for _, k := range s.left {
			at[k] = s.to
		}
	}
	return out
}

// largest is a solid of the largest cluster, NoSolid where all is out.
func (t *taking) largest() product.SolidIndex {
	best, most, volume := product.NoSolid, 0, 0.0
	for c := range t.size {
		if t.size[c] < most || t.size[c] == 0 {
			continue
		}
		m := t.members(int32(c))
		v := 0.0
		for _, k := range m {
			v += t.c.s.p.Part(k).Volume
		}
		if len(m) > most || len(m) == most && len(m) > 0 && v > volume {
			best, most, volume = m[0], len(m), v
		}
	}
	return best
}
