package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// fitPlane takes the mean normal and the middle.
func fitPlane(c *cloud) (Surface, bool) {
	var n mgl64.Vec3
	for _, m := range c.n {
		n = n.Add(m)
	}
	n, ok := geom.Unit(n)
	if !ok {
		return nil, false
	}
	f, err := geom.NewFrame(c.o, n, mgl64.Vec3{})
	if err != nil {
		return nil, false
	}
	s, err := NewPlane(f)
	return s, err == nil
}

// fitSphere finds centre and radius: P = centre + r N for all places.
func fitSphere(c *cloud) (Surface, bool) {
	o, r, ok := ball(c.p, c.n)
	if r = math.Abs(r); !ok || r > far*c.size {
		return nil, false
	}
	// poles across the patch's middle, seam behind it
	mid, ok := geom.Unit(c.o.Sub(o))
	if !ok {
		mid = mgl64.Vec3{-1, 0, 0}
	}
	f, err := geom.NewFrame(o, geom.Perpendicular(mid), mid.Mul(-1))
	if err != nil {
		return nil, false
	}
	s, err := NewSphere(f, r)
	return s, err == nil
}

// ball solves P = o + r N by least squares; r is negative where N points in.
func ball(p, n []mgl64.Vec3) (o mgl64.Vec3, r float64, ok bool) {
	k := 1 / float64(len(p))
	var pm, nm mgl64.Vec3
	for i := range p {
		pm, nm = pm.Add(p[i].Mul(k)), nm.Add(n[i].Mul(k))
	}
	var pn, nn float64
	for i := range p {
		m := n[i].Sub(nm)
		pn += p[i].Sub(pm).Dot(m)
		nn += m.Dot(m)
	}
	if !(nn > 1e-12*float64(len(p))) {
		return o, 0, false
	}
	r = pn / nn
	return pm.Sub(nm.Mul(r)), r, true
}

// cylinderAxis takes the direction that the normals are most across, and the
// middle of the circle seen along it.
func cylinderAxis(c *cloud) (geom.Axis, bool) {
	var m [6][6]float64
	for _, n := range c.n {
		for i := range 3 {
			for j := range 3 {
				m[i][j] += n[i] * n[j]
			}
		}
	}
	d, ok := geom.Unit(leastVec(&m))
	if !ok {
		return geom.Axis{}, false
	}
	return centreAcross(geom.Axis{O: c.o, D: d}, c)
}

// leastVec is the least eigenvector of the upper left 3×3 block.
func leastVec(m *[6][6]float64) mgl64.Vec3 {
	x := leastEigen(m, 3)
	return mgl64.Vec3{x[0], x[1], x[2]}
}

// centreAcross moves an axis to the middle of the circle that the places make
// seen along it; normals tell, then the points themselves.
func centreAcross(a geom.Axis, c *cloud) (geom.Axis, bool) {
	p, n := make([]mgl64.Vec3, len(c.p)), make([]mgl64.Vec3, len(c.p))
	for i := range c.p {
		p[i], n[i] = geom.Across(c.p[i].Sub(c.o), a.D), geom.Across(c.n[i], a.D)
	}
	o, r, ok := ball(p, n)
	if !ok || math.Abs(r) > far*c.size {
		return a, false
	}
	o = refineCentre(p, a.D, o)
	a.O = c.o.Add(o)
	return a, true
}

// refineCentre improves the middle of a circle through points of a plane by
// Gauss' method on their distances; writers who approximate circles give
// normals that are a good deal worse than the points.
func refineCentre(p []mgl64.Vec3, d, o mgl64.Vec3) mgl64.Vec3 {
	x := geom.Perpendicular(d)
	y := d.Cross(x)
	for range 8 {
		// unknown: step of the centre in x and y, and the radius
		var m [3][4]float64
		for _, q := range p {
			e := q.Sub(o)
			l := e.Len()
			if l <= onAxis {
				return o
			}
			row := [4]float64{e.Dot(x) / l, e.Dot(y) / l, 1, l}
			for i := range 3 {
				for j := range 4 {
					m[i][j] += row[i] * row[j]
				}
			}
		}
		s, ok := solve3(m)
		if !ok {
			return o
		}
		o = o.Add(x.Mul(s[0])).Add(y.Mul(s[1]))
		if math.Hypot(s[0], s[1]) <= 1e-12*s[2] {
			break
		}
	}
	return o
}

// coneAxis finds the apex, on which all tangent planes meet, and the
// direction to which all normals stand at one angle.
func coneAxis(c *cloud) (geom.Axis, bool) {
	var eq [3][4]float64
	var mean mgl64.Vec3
	for i, n := range c.n {
		h := n.Dot(c.p[i].Sub(c.o))
		for a := range 3 {
			for b := range 3 {
				eq[a][b] += n[a] * n[b]
			}
			eq[a][3] += n[a] * h
		}
		mean = mean.Add(n.Mul(1 / float64(len(c.n))))
	}
	apex, ok := solve3(eq)
	if !ok {
		return geom.Axis{}, false
	}
	var m [6][6]float64
	for _, n := range c.n {
		e := n.Sub(mean)
		for i := range 3 {
			for j := range 3 {
				m[i][j] += e[i] * e[j]
			}
		}
	}
	d, ok := geom.Unit(leastVec(&m))
	o := c.o.Add(apex)
	return geom.Axis{O: o, D: d}, ok && geom.Finite(o) && apex.Len() < far*c.size
}

// normalsAxis finds the line that all normals meet: with direction d and
// moment m it satisfies N·m + (P × N)·d = 0 for every place. It is unique for
// a torus.
func normalsAxis(c *cloud) (geom.Axis, bool) {
	var m [6][6]float64
	for i, n := range c.n {
		w := c.p[i].Sub(c.o).Mul(1 / c.size).Cross(n)
		row := [6]float64{w[0], w[1], w[2], n[0], n[1], n[2]}
		for a := range 6 {
			for b := range 6 {
				m[a][b] += row[a] * row[b]
			}
		}
	}
	x := leastEigen(&m, 6)
	d, mo := mgl64.Vec3{x[0], x[1], x[2]}, mgl64.Vec3{x[3], x[4], x[5]}
	l2 := d.Dot(d)
	if !(l2 > 1e-8) {
		return geom.Axis{}, false
	}
	o := d.Cross(mo).Mul(c.size / l2)
	d, _ = geom.Unit(d)
	return geom.Axis{O: c.o.Add(o), D: d}, true
}

// aboutAxis fits what turns a line (plane, cylinder, cone) or a circle
// (sphere, torus) round a known axis.
func aboutAxis(a geom.Axis, m []section, c *cloud) []Surface {
	var out []Surface
	h, r, dh, dr := lineThrough(m)
	a.O = a.At(h) // level with the middle
	switch {
	case math.Abs(dh) < 1e-9: // across the axis: a plane, fitted already
	case math.Abs(dr) < 1e-9*math.Abs(dh):
		if f, err := NewCylinder(roundFrame(a, c), math.Abs(r)); err == nil {
			out = append(out, f)
		}
	default:
		if f, ok := coneFrom(a, r, dr/dh, c); ok {
			out = append(out, f)
		}
		// A cylinder whose points waver: the choice is made by distance.
		if f, err := NewCylinder(roundFrame(a, c), math.Abs(r)); err == nil {
			out = append([]Surface{f}, out...)
		}
	}
	oh, or, tube, ok := circleThrough(m)
	if !ok || tube > far*c.size {
		return out
	}
	a.O = a.At(oh - h) // heights count from where the origin was
	if f, err := NewSphere(roundFrame(a, c), tube); err == nil && math.Abs(or) <= 1e-3*tube {
		out = append(out, f)
	}
	if f, err := NewTorus(roundFrame(a, c), math.Abs(or), tube); err == nil && math.Abs(or) >= tube {
		// one that meets itself says nothing that is of use
		out = append(out, f)
	}
	return out
}

// coneFrom makes the cone with radius r at the axis' origin and a slope, its
// axis turned so that it widens along it.
func coneFrom(a geom.Axis, r, slope float64, c *cloud) (Surface, bool) {
	if r < 0 {
		r, slope = -r, -slope
	}
	if slope < 0 {
		a.D, slope = a.D.Mul(-1), -slope
	}
	f, err := NewCone(roundFrame(a, c), r, math.Atan(slope))
	return f, err == nil
}

// roundFrame is a frame on the axis with its x, where angles begin, turned
// away from the middle of the places, so that a patch lies clear of the seam.
func roundFrame(a geom.Axis, c *cloud) geom.Frame {
	x := geom.Across(c.o.Sub(a.O), a.D).Mul(-1)
	if x.Len() < 1e-3*c.size { // all round: begin where the first place is
		x = geom.Across(c.p[0].Sub(a.O), a.D)
	}
	f, _ := geom.NewFrame(a.O, a.D, x) // a frame that is no good is refused by the constructor
	return f
}

// lineThrough is the straight line nearest to the sections: a point on it and
// its direction.
func lineThrough(m []section) (h, r, dh, dr float64) {
	k := 1 / float64(len(m))
	for _, s := range m {
		h += k * s.h
		r += k * s.r
	}
	var hh, hr, rr float64
	for _, s := range m {
		a, b := s.h-h, s.r-r
		hh, hr, rr = hh+a*a, hr+a*b, rr+b*b
	}
	angle := math.Atan2(2*hr, hh-rr) / 2
	dr, dh = math.Sincos(angle)
	return h, r, dh, dr
}

// circleThrough is the circle nearest to the sections: algebraic fit (least
// squares of h² + r² + a h + b r + c), exact for points on a circle, refined
// on the distances.
func circleThrough(m []section) (oh, or, radius float64, ok bool) {
	var eq [3][4]float64
	k := 1 / float64(len(m))
	var hm, rm float64
	for _, s := range m {
		hm, rm = hm+k*s.h, rm+k*s.r
	}
	p := make([]mgl64.Vec3, len(m))
	for n, s := range m {
		h, r := s.h-hm, s.r-rm
		p[n] = mgl64.Vec3{h, r, 0}
		row := [4]float64{h, r, 1, -(h*h + r*r)}
		for i := range 3 {
			for j := range 4 {
				eq[i][j] += row[i] * row[j]
			}
		}
	}
	x, ok := solve3(eq)
	if !ok {
		return 0, 0, 0, false
	}
	o := refineCentre(p, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{-x[0] / 2, -x[1] / 2, 0})
	for _, q := range p {
		radius += k * q.Sub(o).Len()
	}
	return o[0] + hm, o[1] + rm, radius, true
}
