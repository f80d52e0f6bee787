package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// Canonical recognises a surface that is, within tol mm over its whole domain,
// a plane, cylinder, cone, sphere or torus written another way: many writers
// give every hole as a B-spline. The elementary kinds come back as they are.
//
// A cylinder, cone, sphere or torus has its normal outward by definition; a
// surface that had it inward (which no orientation flag of the file knows of)
// comes back with flipped true: whoever replaces a face's surface must then
// turn over the face's sense as well. Planes are never flipped. Parameters of
// the two surfaces have nothing to do with each other.
//
// Infinite sides are looked at over a part: a surface that is elementary there
// is so everywhere.
func Canonical(s Surface, tol float64) (c Surface, flipped, ok bool) {
	switch s := s.(type) {
	case Plane, Cylinder, Cone, Sphere, Torus:
		return s, false, true
	case Offset:
		return canonicalOffset(s, tol)
	}
	if !(tol > 0) {
		return nil, false, false
	}
	cl := sample(s)
	if len(cl.p) < 4 || cl.size <= 10*tol {
		return nil, false, false
	}
	return choose(s, &cl, candidates(s, &cl), tol)
}

// far is how many times the size of a patch a radius may be and still be told
// from a flat.
const far = 1e4

// cloud is a set of places on a surface with their normals.
type cloud struct {
	p, n []mgl64.Vec3
	o    mgl64.Vec3 // middle of the points
	size float64    // mm: diagonal of their box
}

// sample spreads places over the domain, away from its sides, where the
// normals may be lost.
func sample(s Surface) cloud {
	u0, u1, v0, v1 := window(s)
	var c cloud
	box := geom.EmptyBox()
	for _, u := range spread(s, u0, u1, true) {
		for _, v := range spread(s, v0, v1, false) {
			p, n := s.Point(u, v), s.Normal(u, v)
			if !geom.Finite(p) || !geom.Finite(n) {
				continue
			}
			c.p, c.n = append(c.p, p), append(c.n, n)
			c.o = c.o.Add(p)
			box = box.Add(p)
		}
	}
	if len(c.p) > 0 {
		c.o = c.o.Mul(1 / float64(len(c.p)))
	}
	c.size = box.Diagonal()
	return c
}

// window is the part of the domain to look at. Of an endless line turned round
// an axis that is about as much as it is wide, since less could pass for round.
// Where it meets the axis, and the normal turns over, it is the side on which
// the line's origin is.
func window(s Surface) (u0, u1, v0, v1 float64) {
	u0, u1, v0, v1 = finiteDomain(s)
	r, ok := s.(Revolution)
	if !ok {
		return u0, u1, v0, v1
	}
	l, ok := r.c.(curve.Line)
	if !ok {
		return u0, u1, v0, v1
	}
	reach := max(1, 2*r.a.Distance(l.Origin()))
	v0, v1 = -reach, reach
	if len(r.poles) > 0 {
		if at := r.poles[0].At; at > 0 {
			v1 = at
		} else {
			v0 = at
		}
	}
	return u0, u1, v0, v1
}

// spread lists the middles between neighbouring places to look at.
func spread(s Surface, t0, t1 float64, inU bool) []float64 {
	var ts []float64
	switch b := s.(type) {
	case BSpline:
		k := &b.v
		if inU {
			k = &b.u
		}
		ts = places(k)
	case Extrusion:
		if inU {
			ts = curveSamples(b.c)
		}
	case Revolution:
		if !inU {
			ts = curveSamples(b.c)
		}
	}
	if n := len(ts); n < 9 || ts[0] != t0 || ts[n-1] != t1 {
		ts = make([]float64, 13)
		for i := range ts {
			ts[i] = t0 + (t1-t0)*float64(i)/12
		}
	}
	const most = 40
	stride := (len(ts)-2)/most + 1
	var out []float64
	for i := 0; i+1 < len(ts); i += stride {
		out = append(out, ts[i]+(ts[i+1]-ts[i])*0.45)
	}
	return out
}

func curveSamples(c curve.Curve) []float64 {
	var out []float64
	for _, s := range curve.Starts(c) {
		out = append(out, s.T)
	}
	return out
}

// candidates are the elementary surfaces that fit the places best, simplest
// first.
func candidates(s Surface, c *cloud) []Surface {
	out := add(nil)(fitPlane(c))
	switch s := s.(type) {
	case Revolution:
		return append(out, aboutAxis(s.a, meridianOf(s, c), c)...)
	case Extrusion:
		a := geom.Axis{O: c.o, D: s.d}
		if a, ok := centreAcross(a, c); ok {
			out = append(out, aboutAxis(a, meridian(a, c), c)...)
		}
		return out
	}
	for _, find := range [...]func(*cloud) (geom.Axis, bool){cylinderAxis, coneAxis, normalsAxis} {
		if a, ok := find(c); ok {
			out = append(out, aboutAxis(a, meridian(a, c), c)...)
		}
	}
	return add(out)(fitSphere(c))
}

func add(out []Surface) func(Surface, bool) []Surface {
	return func(s Surface, ok bool) []Surface {
		if ok {
			out = append(out, s)
		}
		return out
	}
}

// exact is the distance, mm, up to which a fit is as good as any.
const exact = 1e-6

// choose takes the candidate that fits. A simpler one is preferred unless
// another fits a hundred times better.
func choose(s Surface, c *cloud, from []Surface, tol float64) (best Surface, flipped, ok bool) {
	least := math.Inf(1)
	for _, f := range from {
		d, flip, same := deviation(f, c, tol)
		if !same {
			continue
		}
		if best == nil || least > exact && d < least/100 {
			best, flipped, least = f, flip, d
		}
	}
	return best, flipped, best != nil
}

// deviation is the greatest distance, mm, of the places from a candidate. same
// says that it is not above tol, and that the normals are all along the
// candidate's, or all against them.
func deviation(f Surface, c *cloud, tol float64) (d float64, flipped, same bool) {
	with, against := true, true
	for i, p := range c.p {
		u, v := f.Param(p, Hint{})
		if d = max(d, f.Point(u, v).Sub(p).Len()); !(d <= tol) {
			return d, false, false
		}
		k := f.Normal(u, v).Dot(c.n[i])
		const loose = 0.9 // tells sides apart; the distance says the rest
		with, against = with && k > loose, against && k < -loose
	}
	return d, against, with || against
}

// canonicalOffset moves the elementary form of the base.
func canonicalOffset(s Offset, tol float64) (Surface, bool, bool) {
	b, flipped, ok := Canonical(s.base, tol)
	if !ok {
		return nil, false, false
	}
	d := s.d
	if flipped {
		d = -d
	}
	var c Surface
	var err error
	switch b := b.(type) {
	case Plane:
		f := b.f
		f.O = f.O.Add(f.Z.Mul(d))
		c, err = NewPlane(f)
	case Cylinder:
		c, err = NewCylinder(b.f, b.r+d)
	case Sphere:
		c, err = NewSphere(b.f, b.r+d)
	case Torus:
		if b.minor >= b.major || b.minor+d >= b.major {
			return nil, false, false // would meet itself
		}
		c, err = NewTorus(b.f, b.major, b.minor+d)
	case Cone:
		f := b.f
		f.O = f.O.Add(f.Z.Mul(-d * b.sin)) // the normal is cos a outward, -sin a along the axis
		r := b.r + d*b.cos
		if r < 0 {
			return nil, false, false // beyond the apex
		}
		c, err = NewCone(f, r, b.a)
	}
	return c, flipped, err == nil
}

// meridianOf is the section of a revolution with the half plane of its curve,
// whose r is negative beyond the axis; without a plane curve, that of the
// places.
func meridianOf(s Revolution, c *cloud) []section {
	if !s.flat {
		return meridian(s.a, c)
	}
	var out []section
	for _, st := range curve.Starts(s.c) {
		q := st.P.Sub(s.a.O)
		out = append(out, section{q.Dot(s.a.D), q.Dot(s.e)})
	}
	return out
}

// meridian puts all places into one half plane through the axis.
func meridian(a geom.Axis, c *cloud) []section {
	out := make([]section, len(c.p))
	for i, p := range c.p {
		out[i] = section{a.Height(p), a.Distance(p)}
	}
	return out
}
