package bvh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Free says how far the surroundings of an axis are free, and what ends it.
type Free struct {
	R   float64    // distance of the mesh from the axis, mm
	P   mgl64.Vec3 // a nearest point of the mesh, mm
	H   float64    // its height along the axis, mm
	Tri int32      // the mesh's number of its triangle
}

// FreeRadius is the least distance from the axis of any point of the mesh
// whose height along the axis lies in [z0, z1], if it is below rmax; z0 may be
// -Inf and z1 +Inf. It is exact for the mesh: near triangles are cut to the
// slab, seen along the axis, and the distance of the origin to the polygon is
// taken.
//
// The slab is closed: a face exactly in one of its end planes counts. A tool
// that rests on a face asks for a slab that starts a skin above it. Only the
// surface counts: an axis that runs in the middle of solid material far from
// its faces has a free radius.
func (t *Tree) FreeRadius(a geom.Axis, z0, z1, rmax float64) (Free, bool) {
	r, ok := t.Room(a, Ring{From: z0, To: z1}, rmax)
	return r.Free, ok
}

// axial is the coordinate system of an axis: x and y across, h along it.
type axial struct {
	o, x, y, d mgl64.Vec3
	abs        [9]float64 // |x|, |y|, |d|, by which half boxes become intervals
}

func aboutAxis(a geom.Axis) axial {
	return axialFrom(a, geom.Perpendicular(a.D))
}

func axialFrom(a geom.Axis, x mgl64.Vec3) axial {
	s := axial{o: a.O, x: x, y: a.D.Cross(x), d: a.D}
	for i := range 3 {
		s.abs[i], s.abs[3+i], s.abs[6+i] = math.Abs(s.x[i]), math.Abs(s.y[i]), math.Abs(s.d[i])
	}
	return s
}

// local gives the coordinates of the point (px, py, pz) about the axis.
func (s *axial) local(px, py, pz float64) spot {
	px, py, pz = px-s.o[0], py-s.o[1], pz-s.o[2]
	return spot{
		x: px*s.x[0] + py*s.x[1] + pz*s.x[2],
		y: px*s.y[0] + py*s.y[1] + pz*s.y[2],
		h: px*s.d[0] + py*s.d[1] + pz*s.d[2],
	}
}

// world maps a spot back.
func (s *axial) world(p spot) mgl64.Vec3 {
	return mgl64.Vec3{
		s.o[0] + p.x*s.x[0] + p.y*s.y[0] + p.h*s.d[0],
		s.o[1] + p.x*s.x[1] + p.y*s.y[1] + p.h*s.d[1],
		s.o[2] + p.x*s.x[2] + p.y*s.y[2] + p.h*s.d[2],
	}
}

// bounds gives intervals about the axis that hold a box.
func (s *axial) bounds(b *[6]float64) (lo, hi spot) {
	c := s.local((b[0]+b[3])/2, (b[1]+b[4])/2, (b[2]+b[5])/2)
	ex, ey, ez := (b[3]-b[0])/2, (b[4]-b[1])/2, (b[5]-b[2])/2
	m := &s.abs
	x := m[0]*ex + m[1]*ey + m[2]*ez
	y := m[3]*ex + m[4]*ey + m[5]*ez
	h := m[6]*ex + m[7]*ey + m[8]*ez
	return spot{c.x - x, c.y - y, c.h - h}, spot{c.x + x, c.y + y, c.h + h}
}

// axialPad, relative to the coordinates, keeps rounding from dropping a box
// that a triangle inside still touches.
const axialPad = 1e-14

// nodeDistance is a lower bound of the distance between the axis and what lies
// in the box, with the heights between which it can lie, and false where that
// is outside the slab.
func (s *axial) nodeDistance(b *[6]float64, z0, z1 float64) (d, from, to float64, ok bool) {
	lo, hi := s.bounds(b)
	pad := axialPad * (boundsReach(b) + math.Abs(s.o[0]) + math.Abs(s.o[1]) + math.Abs(s.o[2]))
	if hi.h+pad < z0 || lo.h-pad > z1 {
		return 0, 0, 0, false
	}
	x := max(0, lo.x, -hi.x)
	y := max(0, lo.y, -hi.y)
	return max(0, math.Sqrt(x*x+y*y)-pad), max(lo.h-pad, z0), min(hi.h+pad, z1), true
}

// cut brings a triangle into axial coordinates and cuts it to the slab; false
// where nothing is left.
func (s *axial) cut(t *[9]float64, z0, z1 float64, p *polygon) bool {
	p.n = 3
	p.v[0] = s.local(t[0], t[1], t[2])
	p.v[1] = s.local(t[3], t[4], t[5])
	p.v[2] = s.local(t[6], t[7], t[8])
	lo := min(p.v[0].h, p.v[1].h, p.v[2].h)
	hi := max(p.v[0].h, p.v[1].h, p.v[2].h)
	if hi < z0 || lo > z1 {
		return false
	}
	if lo < z0 {
		p.cutBelow(z0, 1)
	}
	if hi > z1 {
		p.cutBelow(z1, -1)
	}
	return p.n > 0
}

// spot is a point in axial coordinates, mm.
type spot struct{ x, y, h float64 }

// polygon is a triangle cut by two planes: convex, at most five corners.
type polygon struct {
	v [6]spot
	n int
}

// cutBelow keeps what has sign·h >= sign·z.
func (p *polygon) cutBelow(z, sign float64) {
	in := *p
	p.n = 0
	for i := range in.n {
		a, b := in.v[i], in.v[(i+1)%in.n]
		da, db := sign*(a.h-z), sign*(b.h-z)
		if da >= 0 {
			p.add(a)
		}
		if da > 0 && db < 0 || da < 0 && db > 0 {
			f := da / (da - db)
			p.add(spot{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y), z})
		}
	}
}

func (p *polygon) add(s spot) {
	if p.n < len(p.v) {
		p.v[p.n] = s
		p.n++
	}
}

// nearest is the point of the polygon with the least distance from the axis;
// of equally near corners and edges the lowest.
func (p *polygon) nearest() (float64, spot) {
	if q, ok := p.onAxis(); ok {
		return 0, q
	}
	best, at := math.Inf(1), spot{}
	for i := range p.n {
		q := nearestOfEdge(p.v[i], p.v[(i+1)%p.n])
		d := q.x*q.x + q.y*q.y
		if d < best || d == best && q.h < at.h {
			best, at = d, q
		}
	}
	return math.Sqrt(best), at
}

// nearestOfEdge is the point of the edge nearest to the axis; an end of an edge
// along the axis, of which the next edge has the other one.
func nearestOfEdge(a, b spot) spot {
	ex, ey := b.x-a.x, b.y-a.y
	l := ex*ex + ey*ey
	f := -(a.x*ex + a.y*ey)
	switch {
	case !(f > 0):
		return a
	case f >= l:
		return b
	}
	f /= l
	return spot{a.x + f*ex, a.y + f*ey, a.h + f*(b.h-a.h)}
}

// crossNoise, relative, is what rounding can make of a cross product that is
// zero: the products carry half a unit in the last place each, the
// coordinates a few more from the change of axes.
const crossNoise = 1e-14

// onAxis finds where the axis passes through the inside of the polygon: the
// origin is then on the same side of all edges. Edges too short to have sides,
// such as a cut close to a corner leaves, have no say. A polygon seen edge-on
// has no inside; its edges hold the nearest point.
func (p *polygon) onAxis() (spot, bool) {
	side, n := 0.0, 0
	for i := range p.n {
		a, b := &p.v[i], &p.v[(i+1)%p.n]
		if math.Abs(b.x-a.x)+math.Abs(b.y-a.y) <= 10*crossNoise*(math.Abs(a.x)+math.Abs(a.y)) {
			continue
		}
		l, r := a.x*b.y, a.y*b.x
		c := l - r
		if !(math.Abs(c) > crossNoise*(math.Abs(l)+math.Abs(r))) || c*side < 0 {
			return spot{}, false
		}
		side = c
		n++
	}
	if n < 3 {
		return spot{}, false
	}
	return p.heightOnAxis()
}

// heightOnAxis takes the triangle of the fan that holds the origin best; none
// does where the areas are too small for their numbers.
func (p *polygon) heightOnAxis() (spot, bool) {
	best, at := math.Inf(-1), spot{}
	for i := 1; i+1 < p.n; i++ {
		a, b, c := p.v[0], p.v[i], p.v[i+1]
		u, v, w := b.x*c.y-b.y*c.x, c.x*a.y-c.y*a.x, a.x*b.y-a.y*b.x
		s := u + v + w
		if low := min(u/s, v/s, w/s); low > best {
			best, at = low, spot{h: (u*a.h + v*b.h + w*c.h) / s}
		}
	}
	return at, best > -1e-9 // not so where rounding alone made the sides agree
}
