package tess

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// way is where a band is cut open: from node i of the lower ring through via
// to node j of the upper one, which lies at x.
type way struct {
	i, j int
	via  []stop
	x    float64
}

// stop is a corner of a hole on the way; onWall says that the way comes to it
// along the hole's own side.
type stop struct {
	node
	onWall bool
}

// maxTries bounds the straight ways that are tried.
const maxTries = 64

// straightWay is the most upright straight way that meets no wall.
func (c *chart) straightWay(lower, upper *ring, walls []ring) (way, bool) {
	for _, k := range waysToTry(lower, upper, c.period[0]) {
		a, b := lower.nodes[k.i].at, upper.nodes[k.j].at
		b[0] = nearTo(b[0], a[0], c.period[0])
		if !c.hits(walls, a, b) {
			return way{i: k.i, j: k.j, x: b[0]}, true
		}
	}
	return way{}, false
}

// straight is a way from node i of the lower to node j of the upper ring.
type straight struct {
	i, j int
	lean float64
}

// waysToTry lists, for nodes spread over the lower ring, the way to the node of
// the upper ring most nearly above, straightest first.
func waysToTry(lower, upper *ring, period float64) []straight {
	var out []straight
	step := max(1, len(lower.nodes)/maxTries)
	for i := 0; i < len(lower.nodes); i += step {
		x := lower.nodes[i].at[0]
		best := straight{i, -1, math.Inf(1)}
		for j := range upper.nodes {
			d := math.Abs(nearTo(upper.nodes[j].at[0], x, period) - x)
			if d < best.lean-1e-9*period {
				best.j, best.lean = j, d
			}
		}
		if best.j >= 0 {
			out = append(out, best)
		}
	}
	slices.SortStableFunc(out, func(a, b straight) int {
		if math.Abs(a.lean-b.lean) < 1e-9*period {
			return cmp.Compare(a.i, b.i)
		}
		return cmp.Compare(a.lean, b.lean)
	})
	return out
}

// Bounds of the search for a way round holes.
const (
	maxCorners = 1500 // of all rings; more are thinned out
	maxSights  = 64   // nearest corners looked at from a corner
	maxMeets   = 2e8  // times that a line of sight is held against a wall's side
)

// corner is a node of some ring in the search: ring 0 is the lower, 1 the
// upper, then come the holes.
type corner struct {
	node
	ring, k int
	cost    float64
	before  int // the corner it was reached from, -1 for a start
	state   int8
}

// wayRound finds a way from the lower to the upper ring by way of corners of
// holes: the shortest (Dijkstra), along straight lines of sight and the holes'
// own sides. It may touch a hole at a corner or a side; the triangulation bears
// that.
func (c *chart) wayRound(lower, upper *ring, holes, walls []ring) (way, bool) {
	cs := corners(lower, upper, holes)
	scale := c.metric(lower.mean().Add(upper.mean()).Mul(0.5))
	sides := 1
	for i := range walls {
		sides += len(walls[i].nodes)
	}
	for range int(maxMeets)/(maxSights*sides) + 1 {
		at := -1
		for i := range cs {
			if cs[i].state == reached && (at < 0 || cs[i].cost < cs[at].cost) {
				at = i
			}
		}
		if at < 0 {
			return way{}, false
		}
		cs[at].state = settled
		if cs[at].ring == 1 {
			return c.trace(cs, at, walls), true
		}
		c.look(cs, at, scale, walls)
	}
	return way{}, false
}

// metric is how many mm a unit of x and of y are at a place.
func (c *chart) metric(p mgl64.Vec2) mgl64.Vec2 {
	du, dv := c.s.Derivatives(c.uv(p))
	if c.turned {
		du, dv = dv, du.Mul(-1)
	}
	du = du.Add(dv.Mul(c.lean))
	return mgl64.Vec2{du.Len(), dv.Len()}
}

// States of a corner in the search.
const (
	unseen int8 = iota
	reached
	settled
)

func corners(lower, upper *ring, holes []ring) []corner {
	total := len(lower.nodes) + len(upper.nodes)
	for _, h := range holes {
		total += len(h.nodes)
	}
	step := 1 + total/maxCorners
	var out []corner
	add := func(r *ring, ring int, state int8) {
		for k := 0; k < len(r.nodes); k += step {
			out = append(out, corner{node: r.nodes[k], ring: ring, k: k, before: -1, state: state})
		}
	}
	add(lower, 0, reached)
	add(upper, 1, unseen)
	for i := range holes {
		add(&holes[i], i+2, unseen)
	}
	return out
}

// look reaches for the corners near a settled one that it can see. Their x is
// shifted to where they are seen.
func (c *chart) look(cs []corner, from int, scale mgl64.Vec2, walls []ring) {
	type sight struct {
		i  int
		at mgl64.Vec2
		d  float64
	}
	a := cs[from]
	var near []sight
	for i := range cs {
		if cs[i].state == settled || cs[i].ring == 0 {
			continue
		}
		p := cs[i].at
		p[0] = nearTo(p[0], a.at[0], c.period[0])
		d := p.Sub(a.at)
		near = append(near, sight{i, p, math.Hypot(d[0]*scale[0], d[1]*scale[1])})
	}
	slices.SortFunc(near, func(x, y sight) int { return cmp.Or(cmp.Compare(x.d, y.d), cmp.Compare(x.i, y.i)) })
	for _, s := range near[:min(len(near), maxSights)] {
		b := &cs[s.i]
		if cost := a.cost + s.d; (b.state == unseen || cost < b.cost) && c.sees(&a, b, s.at, walls) {
			b.at, b.cost, b.before, b.state = s.at, cost, from, reached
		}
	}
}

// sees reports whether the line from a to b at p is free, or a side of a hole.
func (c *chart) sees(a, b *corner, p mgl64.Vec2, walls []ring) bool {
	if a.ring == b.ring {
		if sideOf(a, b, walls) {
			return true
		}
		h := &walls[a.ring]
		m := a.at.Add(p).Mul(0.5)
		m[0] = nearTo(m[0], h.mean()[0], c.period[0])
		if h.contains(m) {
			return false
		}
	}
	return !c.hits(walls, a.at, p)
}

// sideOf reports that a and b are neighbours on one ring.
func sideOf(a, b *corner, walls []ring) bool {
	if a.ring != b.ring {
		return false
	}
	n := len(walls[a.ring].nodes)
	d := (b.k - a.k + n) % n
	return d == 1 || d == n-1
}

// trace collects the way that ended at a corner of the upper ring.
func (c *chart) trace(cs []corner, at int, walls []ring) way {
	w := way{j: cs[at].k, x: cs[at].at[0]}
	for cs[at].before >= 0 {
		b := cs[at].before
		if cs[b].before < 0 {
			w.i = cs[b].k
			break
		}
		w.via = append(w.via, stop{node: cs[b].node, onWall: sideOf(&cs[cs[b].before], &cs[b], walls)})
		at = b
	}
	slices.Reverse(w.via)
	return w
}
