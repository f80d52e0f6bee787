package bvh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// sweep is one pass over pairs of triangles.
type sweep struct {
	mover *Tree // in sweep coordinates
	fixed *Tree // in its own, brought over where needed
	view  axial
	limit float64 // contacts beyond are of no interest
	anyDo bool    // any contact will do
	// Triangles that look the other way along h are left out; 0 takes all.
	moverSense, fixedSense float64
	leans                  []lean // of the fixed nodes, where fixedSense is set
	found                  bool
	best                   Contact
	work                   int // pairs looked at
}

// box holds a box of space in the coordinates of the axis.
func (s *axial) box(b *[6]float64) [6]float64 {
	lo, hi := s.bounds(b)
	return [6]float64{lo.x, lo.y, lo.h, hi.x, hi.y, hi.h}
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

// lead is the least distance by which a must move to meet b, +Inf where it
// never does.
func lead(a, b *[6]float64) float64 {
	if a[0] > b[3]+sweepPad || b[0] > a[3]+sweepPad || a[1] > b[4]+sweepPad || b[1] > a[4]+sweepPad ||
		b[5] < a[2]-touchTol {
		return math.Inf(1)
	}
	return max(0, b[2]-a[5]-sweepPad)
}

// pair is two nodes that may meet, with the fixed one's box in sweep
// coordinates.
type pair struct {
	a, b int32
	lead float64
	box  [6]float64
}

func (s *sweep) run() {
	var stack [2 * maxStack]pair
	root := pair{box: s.fixedBounds(0)}
	root.lead = lead(&s.mover.nodes[0].b, &root.box)
	stack[0] = root
	for n := 1; n > 0; {
		n--
		s.work++
		p := stack[n]
		if p.lead > s.limit || math.IsInf(p.lead, 1) {
			continue
		}
		a, b := &s.mover.nodes[p.a], &s.fixed.nodes[p.b]
		if a.count > 0 && b.count > 0 {
			s.leaves(a, b)
			if s.found && (s.anyDo || s.limit <= 0) {
				return
			}
			continue
		}
		l, r := s.children(&p, a, b)
		if l.lead < r.lead {
			l, r = r, l
		}
		stack[n], stack[n+1] = l, r
		n += 2
	}
}

// children opens the larger of the two nodes.
func (s *sweep) children(p *pair, a, b *node) (l, r pair) {
	if b.count > 0 || a.count == 0 && girth(&a.b) > girth(&p.box) {
		l = pair{a: a.first, b: p.b, box: p.box}
		r = pair{a: a.first + 1, b: p.b, box: p.box}
	} else {
		l = pair{a: p.a, b: b.first, box: s.fixedBounds(b.first)}
		r = pair{a: p.a, b: b.first + 1, box: s.fixedBounds(b.first + 1)}
	}
	l.lead = lead(&s.mover.nodes[l.a].b, &l.box)
	r.lead = lead(&s.mover.nodes[r.a].b, &r.box)
	return l, r
}

// girth is the sum of a box's sides.
func girth(b *[6]float64) float64 { return b[3] - b[0] + b[4] - b[1] + b[5] - b[2] }

// leaves tries every triangle of a against every one of b.
func (s *sweep) leaves(a, b *node) {
	var as [maxLeaf]shadow
	var at [maxLeaf]int32
	s.work += int(a.count * b.count)
	n := 0
	for i := a.first; i < a.first+a.count && n < maxLeaf; i++ {
		ta := &as[n]
		if ta.set(s.mover.at(i)); !ta.looksAway(s.moverSense) {
			at[n] = i
			n++
		}
	}
	for j := b.first; j < b.first+b.count; j++ {
		var tb shadow
		c := s.brought(j)
		if tb.set(&c); tb.looksAway(s.fixedSense) || lead(&a.b, &tb.box) > s.limit {
			continue
		}
		for i := range n {
			ta := &as[i]
			if lead(&ta.box, &tb.box) > s.limit || ta.beside(&tb) || tb.beside(ta) {
				continue
			}
			if g := gapOver(ta, &tb); g.any {
				s.take(&g, ta, at[i], j)
			}
		}
	}
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

// startsInside finds that one mesh lies in the closed other one without meeting
// its surface. The contact then names the first triangle of the inner mesh that
// shows it, and the nearest of the outer one.
func (s *sweep) startsInside() (Contact, bool) {
	a, b := &s.mover.nodes[0].b, s.view.box(&s.fixed.nodes[0].b)
	if holds(&b, a) && s.fixed.Closed() {
		if k, near, ok := s.mover.cornerIn(s.fixed, s.view.world); ok {
			return Contact{P: near.P, MoverTri: s.mover.ids[k], FixedTri: near.Tri}, true
		}
	}
	if holds(a, &b) && s.mover.Closed() {
		if k, near, ok := s.fixed.cornerIn(s.mover, s.toSweep); ok {
			t := s.fixed.at(k)
			return Contact{P: mgl64.Vec3{t[0], t[1], t[2]}, MoverTri: near.Tri, FixedTri: s.fixed.ids[k]}, true
		}
	}
	return Contact{}, false
}

func (s *sweep) toSweep(p spot) mgl64.Vec3 {
	q := s.view.local(p.x, p.y, p.h)
	return mgl64.Vec3{q.x, q.y, q.h}
}

// insideTries is how many corners, spread over the mesh, are looked at before
// it is given up to find one that does not touch the other's surface.
const insideTries = 8

// cornerIn takes a corner that clearly stands off the other mesh and asks
// whether it is inside. As the surfaces do not meet, one corner speaks for all
// of its shell.
func (t *Tree) cornerIn(other *Tree, bring func(spot) mgl64.Vec3) (int32, Near, bool) {
	n := len(t.ids)
	for i := range min(n, insideTries) {
		k := int32(i * n / min(n, insideTries))
		c := t.at(k)
		p := bring(spot{c[0], c[1], c[2]})
		if near, _ := other.Closest(p, math.Inf(1)); near.Dist > 10*touchTol {
			return k, near, other.Contains(p)
		}
	}
	return 0, Near{}, false
}

func holds(a, b *[6]float64) bool {
	return a[0] <= b[0] && a[1] <= b[1] && a[2] <= b[2] && a[3] >= b[3] && a[4] >= b[4] && a[5] >= b[5]
}
