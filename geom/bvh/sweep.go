package bvh

import (
	"math"
	mathbits "math/bits"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// sweep is one pass over pairs of triangles.
type sweep struct {
	mover *moving
	fixed *Tree // in its own coordinates, brought over where needed
	view  axial
	limit float64 // contacts beyond are of no interest
	anyDo bool    // any contact will do
	// Triangles of the fixed mesh that look the other way along h are left
	// out; 0 takes all.
	fixedSense float64
	leans      []lean // of the fixed nodes, where fixedSense is set
	turned     turnedLeaves
	noise      float64 // mm, by which rounding may move a height
	found      bool
	best       Contact
	work       int // pairs looked at
}

// box holds a box of space in the coordinates of the axis.
func (s *axial) box(b *[6]float64) [6]float64 {
	lo, hi := s.bounds(b)
	return [6]float64{lo.x, lo.y, lo.h, hi.x, hi.y, hi.h}
}

// spaceBox holds a box of sweep coordinates in those of space.
func (s *axial) spaceBox(b *[6]float64) [6]float64 {
	out := emptyBounds()
	for i := range 8 {
		p := s.world(spot{b[i&1*3], b[1+i>>1&1*3], b[2+i>>2&1*3]})
		growBounds(&out, &[6]float64{p[0], p[1], p[2], p[0], p[1], p[2]})
	}
	return out
}

// fixedBounds is the box of a fixed node; an empty one, which meets nothing,
// where all of it looks the wrong way.
func (s *sweep) fixedBounds(i int32) [6]float64 {
	if s.leans != nil {
		d, sg := &s.view.d, -s.fixedSense
		if s.leans[i].least(sg*d[0], sg*d[1], sg*d[2]) >= 0 {
			return emptyBounds()
		}
	}
	return s.view.box(&s.fixed.nodes[i].b)
}

// sweepPad, mm, lets boxes that rounding has parted still meet. It is far
// below the overlap that a contact needs.
const sweepPad = shadowTol / 10

// lead is the least distance by which a must move to meet b, but for rounding;
// +Inf where it never does.
func lead(a, b *[6]float64) float64 {
	if a[0] > b[3]+sweepPad || b[0] > a[3]+sweepPad || a[1] > b[4]+sweepPad || b[1] > a[4]+sweepPad ||
		b[5] < a[2]-touchTol {
		return math.Inf(1)
	}
	return max(0, b[2]-a[5])
}

// tooFar reports that nothing is gained from what is at least so far ahead: it
// lies beyond the limit or, of a contact known, is not nearer by more than
// rounding. Of faces in one plane the first that is met then spares the others.
func (s *sweep) tooFar(lead float64) bool {
	if s.found {
		return lead >= s.limit-s.noise
	}
	return lead-s.noise > s.limit || math.IsInf(lead, 1)
}

// pair is two nodes that may meet, with the fixed one's box in sweep
// coordinates.
type pair struct {
	a, b int32
	lead float64
	box  [6]float64
}

func (s *sweep) run() {
	s.noise = meetTol * max(s.mover.reach, s.fixed.reach)
	var stack [2 * maxStack]pair
	stack[0] = s.pair(0, 0, s.fixedBounds(0))
	for n := 1; n > 0; {
		n--
		s.work++
		p := &stack[n]
		if s.tooFar(p.lead) {
			continue
		}
		b := &s.fixed.nodes[p.b]
		if b.count > 0 {
			s.against(p.a, s.turned.leaf(s, p.b))
			if s.enough() {
				return
			}
			continue
		}
		l, r := s.children(p, &s.mover.nodes[p.a], b)
		if l.lead < r.lead {
			l, r = r, l
		}
		stack[n], stack[n+1] = l, r
		n += 2
	}
}

// enough reports that no other contact can be better.
func (s *sweep) enough() bool { return s.found && (s.anyDo || s.limit <= 0) }

// openMover is how many times wider than the fixed node the mover's must be to
// be opened first. What is fixed is told apart best when it is down to its
// triangles, and then goes through the mover's nodes at once.
const openMover = 8

// children opens one of the two nodes.
func (s *sweep) children(p *pair, a, b *node) (l, r pair) {
	if a.count == 0 && girth(&a.b) > openMover*girth(&p.box) {
		return s.pair(a.first, p.b, p.box), s.pair(a.first+1, p.b, p.box)
	}
	return s.pair(p.a, b.first, s.fixedBounds(b.first)), s.pair(p.a, b.first+1, s.fixedBounds(b.first+1))
}

func (s *sweep) pair(a, b int32, box [6]float64) pair {
	return pair{a: a, b: b, box: box, lead: lead(&s.mover.nodes[a].b, &box)}
}

// girth is the sum of a box's sides.
func girth(b *[6]float64) float64 { return b[3] - b[0] + b[4] - b[1] + b[5] - b[2] }

// visit is a node of the mover with the triangles of a fixed leaf, a bit each,
// that it may meet.
type visit struct {
	lead  float64
	node  int32
	alive uint8
}

const _ = uint8(1<<maxLeaf - 1) // a leaf's triangles have a bit each

// against takes a fixed leaf through the mover's nodes from a down.
func (s *sweep) against(a int32, leaf *turnedLeaf) {
	if s.work > s.mover.Len() {
		s.mover.ready()
	}
	var stack [maxStack]visit
	stack[0] = s.visit(a, leaf, 1<<len(leaf.tri)-1)
	for n := 1; n > 0; {
		n--
		s.work++
		v := &stack[n]
		if s.tooFar(v.lead) {
			continue
		}
		nd := &s.mover.nodes[v.node]
		if nd.count > 0 {
			if s.leaves(nd, leaf, v.alive); s.enough() {
				return
			}
			continue
		}
		l, r := s.visit(nd.first, leaf, v.alive), s.visit(nd.first+1, leaf, v.alive)
		if l.lead < r.lead {
			l, r = r, l
		}
		stack[n], stack[n+1] = l, r
		n += 2
	}
}

// visit asks of each triangle by itself whether the node may meet it: those of
// a leaf in the wall of a bore stand round what fits into it.
func (s *sweep) visit(a int32, leaf *turnedLeaf, alive uint8) visit {
	v := visit{lead: math.Inf(1), node: a}
	box := &s.mover.nodes[a].b
	if math.IsInf(lead(box, &leaf.box), 1) {
		return v
	}
	var o *outline
	if s.mover.outlines != nil {
		if o = &s.mover.outlines[a]; o.apart(&leaf.outline) {
			return v
		}
		if o.upright {
			alive &^= leaf.upright
		}
	}
	for ; alive != 0; alive &= alive - 1 {
		i := mathbits.TrailingZeros8(alive)
		if d := lead(box, &leaf.tri[i].box); !s.tooFar(d) && (o == nil || !o.apart(&leaf.each[i])) {
			v.alive |= 1 << i
			v.lead = min(v.lead, d)
		}
	}
	return v
}

// leaves tries every triangle of a leaf of the mover against the fixed ones
// that are alive.
func (s *sweep) leaves(a *node, leaf *turnedLeaf, alive uint8) {
	s.work += int(a.count) * mathbits.OnesCount8(alive)
	for i := a.first; i < a.first+a.count; i++ {
		t := s.mover.at(i)
		box := triangleBounds(t)
		var ta shadow
		set := false
		for m := alive; m != 0; m &= m - 1 {
			j := mathbits.TrailingZeros8(m)
			tb := &leaf.tri[j]
			if s.tooFar(lead(&box, &tb.box)) {
				continue
			}
			if !set {
				ta.set(t)
				if set = true; ta.looksAway(s.mover.sense) {
					break
				}
			}
			if ta.beside(tb) || tb.beside(&ta) {
				continue
			}
			if g := gapOver(&ta, tb); g.any {
				s.take(&g, &ta, i, leaf.at[j])
			}
		}
	}
}

// turnedLeaves keeps the fixed leaves that were looked at in sweep
// coordinates: each is met from many nodes of the mover.
type turnedLeaves struct {
	slot   []int32         // by node; 0 for one that is not kept, else 1 more than its place
	rare   map[int32]int32 // the same, of trees of so many nodes that few are met
	leaves []turnedLeaf
}

// turnedLeaf is what of a leaf does not look away.
type turnedLeaf struct {
	tri     []shadow
	each    []outline // of tri
	at      []int32   // the places of tri in leaf order
	box     [6]float64
	outline outline
	upright uint8 // the triangles, a bit each, that stand edge-on
}

// maxTurned bounds the leaves that are kept: some 30 MB.
const maxTurned = 1 << 15

// manyNodes is how many nodes a tree has whose slots are worth a map: a sweep
// that meets a corner of a large mesh would spend most of its time on clearing
// them.
const manyNodes = 1 << 12

// leaf is a leaf of s.fixed. It holds until the next call.
func (l *turnedLeaves) leaf(s *sweep, i int32) *turnedLeaf {
	if l.slot == nil && l.rare == nil {
		if n := len(s.fixed.nodes); n > manyNodes {
			l.rare = map[int32]int32{}
		} else {
			l.slot = make([]int32, n)
		}
	}
	if k := l.find(i); k > 0 {
		return &l.leaves[k-1]
	}
	if len(l.leaves) == maxTurned {
		clear(l.slot)
		clear(l.rare)
		l.leaves = l.leaves[:0]
	}
	l.leaves = append(l.leaves, s.turn(&s.fixed.nodes[i]))
	if l.rare != nil {
		l.rare[i] = int32(len(l.leaves))
	} else {
		l.slot[i] = int32(len(l.leaves))
	}
	return &l.leaves[len(l.leaves)-1]
}

func (l *turnedLeaves) find(i int32) int32 {
	if l.rare != nil {
		return l.rare[i]
	}
	return l.slot[i]
}

func (s *sweep) turn(n *node) turnedLeaf {
	out := turnedLeaf{
		tri: make([]shadow, 0, n.count), each: make([]outline, 0, n.count), at: make([]int32, 0, n.count),
		box: emptyBounds(), outline: emptyOutline(),
	}
	for j := n.first; j < n.first+n.count; j++ {
		var t shadow
		c := s.brought(j)
		if t.set(&c); t.looksAway(s.fixedSense) {
			continue
		}
		o := emptyOutline()
		o.growBy(&t)
		if t.edgeOn {
			out.upright |= 1 << len(out.tri)
		}
		out.tri, out.each, out.at = append(out.tri, t), append(out.each, o), append(out.at, j)
		growBounds(&out.box, &t.box)
		out.outline.grow(&o)
	}
	return out
}

// brought is the j-th triangle of the fixed tree in sweep coordinates.
func (s *sweep) brought(j int32) [9]float64 {
	t := s.fixed.at(j)
	var out [9]float64
	for i := 0; i < 9; i += 3 {
		p := s.view.local(t[i], t[i+1], t[i+2])
		out[i], out[i+1], out[i+2] = p.x, p.y, p.h
	}
	return out
}

// take turns the range of gaps of one pair into a contact.
func (s *sweep) take(g *gaps, a *shadow, i, j int32) {
	dist, at := g.lo, g.at
	switch {
	case g.hi <= touchTol: // b is nowhere ahead
		if !(g.lo >= -touchTol && a.area > 0 && !a.edgeOn) {
			return
		}
		dist = 0
	case g.lo < 0:
		dist, at = 0, g.atZero()
	}
	if dist > s.limit || s.found && dist >= s.best.Dist {
		return
	}
	s.found, s.limit = true, dist
	s.best = Contact{Dist: dist, P: s.view.world(at), MoverTri: s.mover.ids[i], FixedTri: s.fixed.ids[j]}
}

// startsInside finds that a piece of one mesh lies in the other one, which is
// closed, without meeting its surface. The contact then names the first triangle
// of the inner mesh that shows it, and the nearest of the outer one.
func (s *sweep) startsInside() (Contact, bool) {
	a, b := &s.mover.nodes[0].b, &s.fixed.nodes[0].b
	around := s.view.box(b)
	if lead(a, &around) > 0 {
		return Contact{}, false
	}
	if s.fixed.Closed() && s.mover.mayLieIn(&around, a) {
		if k, near, ok := s.cornerIn(s.mover.Tree, s.fixed, s.view.world); ok {
			return Contact{P: near.P, MoverTri: s.mover.ids[k], FixedTri: near.Tri}, true
		}
	}
	around = s.view.spaceBox(a)
	if s.mover.Closed() && s.fixed.mayLieIn(&around, b) {
		if k, near, ok := s.cornerIn(s.fixed, s.mover.Tree, s.toSweep); ok {
			t := s.fixed.at(k)
			return Contact{P: mgl64.Vec3{t[0], t[1], t[2]}, MoverTri: near.Tri, FixedTri: s.fixed.ids[k]}, true
		}
	}
	return Contact{}, false
}

// mayLieIn asks by boxes: around is one about the other mesh in the
// coordinates in which own holds this one as closely as it can. A mesh of
// several pieces may lie in the other one with some of them.
func (t *Tree) mayLieIn(around, own *[6]float64) bool {
	return len(t.surface().corners) > 1 || holds(around, own)
}

func (s *sweep) toSweep(p spot) mgl64.Vec3 {
	q := s.view.local(p.x, p.y, p.h)
	return mgl64.Vec3{q.x, q.y, q.h}
}

// cornerWork is what it costs to ask for one place, in pairs looked at.
const cornerWork = 30

// cornerIn asks of each piece whether it is inside. As the surfaces do not meet,
// one place that clearly stands off the other mesh speaks for all of its piece.
func (s *sweep) cornerIn(inner, outer *Tree, bring func(spot) mgl64.Vec3) (int32, Near, bool) {
	box := outer.Box().Grow(10 * touchTol)
	for _, piece := range inner.surface().corners {
		if k, near, ok := s.pieceIn(inner, piece, outer, box, bring); ok {
			return k, near, true
		}
	}
	return 0, Near{}, false
}

// pieceIn looks at a corner and the middle of some triangles of a piece. Where
// the surfaces touch, some places may be inside and others not: then it goes on.
func (s *sweep) pieceIn(inner *Tree, piece []int32, outer *Tree, box geom.Box, bring func(spot) mgl64.Vec3) (int32, Near, bool) {
	touched := false
	for _, k := range piece {
		c := inner.at(k)
		for _, at := range [2]spot{{c[0], c[1], c[2]}, {(c[0] + c[3] + c[6]) / 3, (c[1] + c[4] + c[7]) / 3, (c[2] + c[5] + c[8]) / 3}} {
			s.work++
			p := bring(at)
			if !box.Overlaps(geom.Box{Min: p, Max: p}) {
				return 0, Near{}, false
			}
			s.work += cornerWork
			near, _ := outer.Closest(p, math.Inf(1))
			switch {
			case !(near.Dist > 10*touchTol):
				touched = true
			case outer.Contains(p):
				return k, near, true
			case !touched:
				return 0, Near{}, false
			}
		}
	}
	return 0, Near{}, false
}

// holds reports that a is around b; walls in one place, but for rounding, are
// no objection.
func holds(a, b *[6]float64) bool {
	for i := range 3 {
		if a[i] > b[i]+touchTol || a[i+3] < b[i+3]-touchTol {
			return false
		}
	}
	return true
}
