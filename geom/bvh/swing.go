package bvh

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// FreeArcs are the angles about the axis at which an arm does not touch the
// mesh: the complement of BlockedArcs. For several meshes merge their blocked
// arcs and take Free of that.
func (t *Tree) FreeArcs(a geom.Axis, xref mgl64.Vec3, z0, z1, r0, r1, halfW float64) Arcs {
	return t.BlockedArcs(a, xref, z0, z1, r0, r1, halfW).Free()
}

// BlockedArcs are the angles about the axis at which an arm touches the mesh.
// The arm is a bar: from radius r0 to r1 mm along its direction, halfW mm to
// both sides of it, and from height z0 to z1 mm along the axis (closed, z1 may
// be +Inf). Angles count from the direction xref (its part across the axis, any
// length) anticlockwise seen against the axis's direction.
//
// Nothing is sampled: the triangles are cut to the slab and seen along the
// axis; between neighbouring angles at which a corner of one shape meets a side
// of the other, an arm either touches a triangle throughout or not at all. As
// with FreeRadius only the surface counts. Bad numbers (NaN, r1 < r0) give no
// arcs.
func (t *Tree) BlockedArcs(a geom.Axis, xref mgl64.Vec3, z0, z1, r0, r1, halfW float64) Arcs {
	r0, halfW = max(r0, 0), max(halfW, 0)
	if t.none() || !(z0 <= z1) || !(r0 <= r1) || !(r1+halfW < math.Inf(1)) {
		return nil
	}
	x, ok := geom.Unit(geom.Across(xref, a.D))
	if !ok {
		x = geom.Perpendicular(a.D)
	}
	s := axialFrom(a, x)
	m := arm{r0: r0, r1: r1, w: halfW, far: math.Hypot(r1, halfW), widest: math.Atan2(halfW, r0)}
	var stack [maxStack]int32
	for n := 1; n > 0 && !m.blocked.full(); {
		n--
		nd := &t.nodes[stack[n]]
		if d, _, _, ok := s.nodeDistance(&nd.b, z0, z1); !ok || d > m.far {
			continue
		}
		if nd.count == 0 {
			stack[n], stack[n+1] = nd.first+1, nd.first
			n += 2
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			var p polygon
			if s.cut(t.at(k), z0, z1, &p) {
				m.meet(&p)
			}
		}
	}
	return m.blocked.arcs()
}

// arm is a rectangle that turns about the origin: r0 to r1 along its direction,
// w to both sides.
type arm struct {
	r0, r1, w float64
	far       float64 // its farthest point's radius
	widest    float64 // by which its points' angles differ from its own at most, rad
	events    []float64
	blocked   circleSet
}

// meet adds the angles at which the arm overlaps the polygon.
func (m *arm) meet(p *polygon) {
	if near, _ := p.nearest(); near > m.far || p.farthest() < m.r0 {
		return
	}
	if from, to, ok := p.hull(); ok && m.blocked.has(from-m.widest, to+m.widest) {
		return
	}
	m.events = m.events[:0]
	for i := range p.n {
		m.cornerEvents(&p.v[i])
		m.edgeEvents(&p.v[i], &p.v[(i+1)%p.n])
	}
	if len(m.events) == 0 {
		if m.overlaps(p, 0) {
			m.blocked.add(0, turn)
		}
		return
	}
	slices.Sort(m.events)
	last := m.events[len(m.events)-1] - turn
	for _, e := range m.events {
		if e > last && m.overlaps(p, (last+e)/2) {
			m.blocked.add(last, e)
		}
		last = e
	}
}

// cornerEvents are the angles at which a corner of the polygon passes a side of
// the arm.
func (m *arm) cornerEvents(c *spot) {
	rho, phi := math.Hypot(c.x, c.y), math.Atan2(c.y, c.x)
	for _, r := range [2]float64{m.r0, m.r1} { // ρ cos(φ-θ) = r
		if r <= rho && rho > 0 {
			b := math.Acos(r / rho)
			m.event(phi - b)
			m.event(phi + b)
		}
	}
	if m.w <= rho && rho > 0 { // ρ sin(φ-θ) = ±w, before the axis: the arm has no part behind it
		b := math.Asin(m.w / rho)
		m.event(phi - b)
		m.event(phi + b)
	}
}

// edgeEvents are the angles at which a corner of the arm passes an edge of the
// polygon: where the edge crosses the circle on which the corner runs.
func (m *arm) edgeEvents(a, b *spot) {
	ex, ey := b.x-a.x, b.y-a.y
	ee := ex*ex + ey*ey
	if ee == 0 {
		return
	}
	f := -(a.x*ex + a.y*ey) / ee // the foot of the origin on the edge's line
	fx, fy := a.x+f*ex, a.y+f*ey
	for _, r := range [2]float64{m.r0, m.r1} {
		h := r*r + m.w*m.w - fx*fx - fy*fy
		if !(h >= 0) {
			continue
		}
		g := math.Sqrt(h / ee)
		lead := math.Atan2(m.w, r)
		for _, k := range [2]float64{f - g, f + g} {
			if k >= 0 && k <= 1 {
				phi := math.Atan2(a.y+k*ey, a.x+k*ex)
				m.event(phi - lead)
				m.event(phi + lead)
			}
		}
	}
}

func (m *arm) event(angle float64) { m.events = append(m.events, wrapped(angle)) }

// overlaps tests polygon and arm at one angle by the separating axes: the
// arm's two directions and the normals of the polygon's edges.
func (m *arm) overlaps(p *polygon, angle float64) bool {
	sin, cos := math.Sincos(angle)
	if lo, hi := p.extent(cos, sin); lo > m.r1 || hi < m.r0 {
		return false
	}
	if lo, hi := p.extent(-sin, cos); lo > m.w || hi < -m.w {
		return false
	}
	mid, half := (m.r0+m.r1)/2, (m.r1-m.r0)/2
	for i := range p.n {
		a, b := &p.v[i], &p.v[(i+1)%p.n]
		nx, ny := a.y-b.y, b.x-a.x
		lo, hi := p.extent(nx, ny)
		c := mid * (nx*cos + ny*sin)
		r := half*math.Abs(nx*cos+ny*sin) + m.w*math.Abs(ny*cos-nx*sin)
		if lo > c+r || hi < c-r {
			return false
		}
	}
	return true
}

// extent is the polygon's interval along (x, y).
func (p *polygon) extent(x, y float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range p.n {
		d := x*p.v[i].x + y*p.v[i].y
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo, hi
}

// farthest is the greatest distance from the axis.
func (p *polygon) farthest() float64 {
	d := 0.0
	for i := range p.n {
		d = max(d, math.Hypot(p.v[i].x, p.v[i].y))
	}
	return d
}

// hull is the interval of angles in which the polygon is seen from the axis,
// and false where the axis goes through it or too near to say.
func (p *polygon) hull() (from, to float64, ok bool) {
	at := math.Atan2(p.v[0].y, p.v[0].x)
	from, to = at, at
	here := at
	for i := range p.n {
		a, b := &p.v[i], &p.v[(i+1)%p.n]
		here += math.Atan2(a.x*b.y-a.y*b.x, a.x*b.x+a.y*b.y)
		from, to = min(from, here), max(to, here)
	}
	return from, to, to-from < math.Pi*(1-1e-9)
}
