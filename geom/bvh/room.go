package bvh

import (
	"math"

	"stepscan/geom"
)

// Ring is a section of a solid of revolution, between two heights along its
// axis: a cylinder, or a cone whose radius goes from R0 at From to R1 at To.
// Shoulders are where one ring ends and the next begins.
type Ring struct {
	From, To float64 // mm; a cylinder may be endless
	R0, R1   float64 // mm
	Of       int     // carried along: which section of a tool this was
}

// valid refuses what is no section, NaN with it.
func (r *Ring) valid() bool {
	even := r.R0 == r.R1 || r.To-r.From < math.Inf(1) && r.From < r.To
	return r.From <= r.To && r.R0 >= 0 && r.R1 >= 0 && max(r.R0, r.R1) < math.Inf(1) && even
}

// Room is what a mesh leaves of the room that a ring needs.
type Room struct {
	Gap    float64 // Free.R less Needed, mm: below 0 the ring and the mesh meet
	Needed float64 // the ring's radius at the height of the place, mm
	Free           // the place with the least gap
}

// Room is the least gap across the axis between the ring and any point of the
// mesh whose height lies in the ring's, if it is below limit. To a cone the way
// square to its side is shorter: by the cosine of half its angle.
//
// It is exact for the mesh. On the plane of a triangle, distance from the axis
// less radius of a cone is a convex function that grows in proportion along the
// lines from the point where the axis passes through, so its least value over
// what the slab leaves of the triangle is there or on an edge, and on an edge,
// which is a hyperbola (or a straight line) when its distance from the axis is
// drawn over its height, it is found in closed form.
//
// As with FreeRadius the slab is closed and only the surface counts; a ring
// that is none has no room to speak of.
func (t *Tree) Room(a geom.Axis, ring Ring, limit float64) (Room, bool) {
	if t.none() || !ring.valid() {
		return Room{}, false
	}
	s := roomSearch{axial: aboutAxis(a), t: t, z0: ring.From, z1: ring.To, taper: taper{c: ring.R0}}
	if ring.R0 != ring.R1 {
		s.k = (ring.R1 - ring.R0) / (ring.To - ring.From)
		s.c = ring.R0 - s.k*ring.From
	}
	s.best = Room{Gap: limit, Free: Free{Tri: -1}}
	s.run()
	return s.best, s.best.Tri >= 0
}

// Rooms asks for every ring of a stack by itself; what no ring lacks has Tri -1.
// worst is the place in rings of the least gap, -1 where nothing is below the
// limit; of equal ones the first.
func (t *Tree) Rooms(a geom.Axis, rings []Ring, limit float64) (rooms []Room, worst int) {
	rooms, worst = make([]Room, len(rings)), -1
	for i, r := range rings {
		q, ok := t.Room(a, r, limit)
		if rooms[i] = q; !ok {
			rooms[i] = Room{Gap: math.Inf(1), Free: Free{Tri: -1}}
			continue
		}
		if worst < 0 || q.Gap < rooms[worst].Gap {
			worst = i
		}
	}
	return rooms, worst
}

// taper is a radius over height: c + k h.
type taper struct{ c, k float64 }

func (t taper) at(h float64) float64 { return t.c + t.k*h }

// most is the greatest radius between two heights.
func (t taper) most(lo, hi float64) float64 {
	switch {
	case t.k > 0:
		return t.at(hi)
	case t.k < 0:
		return t.at(lo)
	}
	return t.c
}

// roomSearch goes down a tree for the least gap.
type roomSearch struct {
	axial
	taper
	t      *Tree
	z0, z1 float64
	best   Room
}

func (s *roomSearch) run() {
	var stack [maxStack]int32
	var from [maxStack]float64
	n := 0
	push := func(i int32) {
		if d, ok := s.nodeGap(&s.t.nodes[i].b); ok && d <= s.best.Gap {
			stack[n], from[n] = i, d
			n++
		}
	}
	push(0)
	for n > 0 {
		n--
		if from[n] > s.best.Gap {
			continue
		}
		nd := &s.t.nodes[stack[n]]
		if nd.count == 0 {
			k := n
			push(nd.first)
			push(nd.first + 1)
			if n == k+2 && from[k] < from[k+1] { // the nearer one on top
				stack[k], stack[k+1] = stack[k+1], stack[k]
				from[k], from[k+1] = from[k+1], from[k]
			}
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			s.nearer(k)
		}
	}
}

// nodeGap is a lower bound of the gap of what lies in the box, and false where
// the box is outside the slab.
func (s *roomSearch) nodeGap(b *[6]float64) (float64, bool) {
	r, from, to, ok := s.nodeDistance(b, s.z0, s.z1)
	if !ok || s.k == 0 {
		return r - s.c, ok
	}
	need := s.most(from, to)
	return r - need - 4*axialPad*(math.Abs(s.c)+math.Abs(need)), true
}

// nearer takes the k-th triangle where it beats the best so far.
func (s *roomSearch) nearer(k int32) {
	var p polygon
	if !s.cut(s.t.at(k), s.z0, s.z1, &p) {
		return
	}
	gap, r, q := p.leastGap(s.taper)
	id, best := s.t.ids[k], &s.best
	if !(gap < best.Gap || gap == best.Gap && best.Tri >= 0 && (q.h < best.H || q.h == best.H && id < best.Tri)) {
		return
	}
	*best = Room{Gap: gap, Needed: s.at(q.h), Free: Free{R: r, P: s.world(q), H: q.h, Tri: id}}
}

// leastGap is the point of the polygon with the least distance from the axis
// less the radius at its height; of equal corners and edges the lowest.
func (p *polygon) leastGap(t taper) (gap, r float64, at spot) {
	if t.k == 0 {
		r, at = p.nearest()
		return r - t.c, r, at
	}
	gap = math.Inf(1)
	try := func(q spot) {
		d := math.Sqrt(q.x*q.x + q.y*q.y)
		if g := d - t.at(q.h); g < gap || g == gap && q.h < at.h {
			gap, r, at = g, d, q
		}
	}
	if q, ok := p.onAxis(); ok {
		try(q)
	}
	for i := range p.n {
		try(leastOfEdge(p.v[i], p.v[(i+1)%p.n], t.k))
	}
	return gap, r, at
}

// leastOfEdge is the point of the edge with the least distance from the axis
// less k times its height. Along the edge, f from a to b, the distance is the
// hyperbola √(d² + l (f - f0)²) with d the distance of the lines; it grows as
// fast as the radius, k (b.h - a.h), where l (f - f0) = m d √l / √(l - m²), and
// nowhere if the edge is as steep as the cone or steeper.
func leastOfEdge(a, b spot, k float64) spot {
	ex, ey, m := b.x-a.x, b.y-a.y, k*(b.h-a.h)
	l := ex*ex + ey*ey
	if !(l > m*m) {
		if m > 0 {
			return b
		}
		return a
	}
	f := -(a.x*ex + a.y*ey) + math.Abs(a.x*ey-a.y*ex)*m/math.Sqrt(l-m*m)
	switch {
	case !(f > 0):
		return a
	case f >= l:
		return b
	}
	f /= l
	return spot{a.x + f*ex, a.y + f*ey, a.h + f*(b.h-a.h)}
}
