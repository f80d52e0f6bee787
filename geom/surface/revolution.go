package surface

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// Revolution is a curve turned round an axis, from its own place on:
//
//	P(u, v) = C(v) turned by u,  u in radians, period 2π; v the curve's parameter
//
// The normal is that of ∂P/∂u × ∂P/∂v: turning counter-clockwise seen against
// the axis, it points away from the axis where the curve goes along the axis,
// and towards it where the curve comes back. ISO 10303-42,
// surface_of_revolution.
//
// A curve that crosses the axis makes two sheets; the normal turns over there.
type Revolution struct {
	c      curve.Curve
	a      geom.Axis
	flat   bool       // the curve lies in a half plane and the one opposite
	e, f   mgl64.Vec3 // unit, across the axis; e points into the half plane
	starts []curve.Start
	poles  []Pole
}

// NewRevolution refuses an axis without direction and a curve that lies on
// the axis all along.
func NewRevolution(c curve.Curve, axis geom.Axis) (Revolution, error) {
	d, ok := geom.Unit(axis.D)
	if !ok || !geom.Finite(axis.O) {
		return Revolution{}, fmt.Errorf("revolution: %w", geom.ErrNoDirection)
	}
	s := Revolution{c: c, a: geom.Axis{O: axis.O, D: d}}
	all := curve.Starts(c)
	var far mgl64.Vec3
	size := 0.0
	for _, p := range all {
		q := geom.Across(p.P.Sub(axis.O), d)
		size = max(size, p.P.Sub(axis.O).Len())
		if q.Len() > far.Len() {
			far = q
		}
	}
	if s.e, ok = geom.Unit(far); !ok || far.Len() <= onAxis {
		return Revolution{}, fmt.Errorf("revolution of a curve on its axis")
	}
	s.f = d.Cross(s.e)
	s.flat = true
	for _, p := range all {
		q := p.P.Sub(axis.O)
		s.flat = s.flat && math.Abs(q.Dot(s.f)) <= 1e-9*size
		s.starts = append(s.starts, curve.Start{T: p.T, P: mgl64.Vec3{q.Dot(d), geom.Across(q, d).Len()}})
	}
	s.poles = s.findPoles()
	return s, nil
}

// findPoles looks for places of the curve on the axis: ends first, then what
// lies between.
func (s Revolution) findPoles() []Pole {
	v0, v1 := s.c.Domain()
	var out []Pole
	add := func(v float64) {
		p := s.c.Point(v)
		if !(s.a.Distance(p) <= collapseGap) {
			return
		}
		for _, o := range out { // ends are kept though they be one place
			if o.At == v || o.P.Sub(p).Len() <= 10*collapseGap && v != v1 {
				return
			}
		}
		out = append(out, Pole{At: v, P: s.a.At(s.a.Height(p))})
	}
	if !math.IsInf(v0, 0) && !math.IsInf(v1, 0) {
		add(v0)
		add(v1)
	}
	for _, st := range s.starts {
		v, _ := curve.Descend(st.T, v0, v1, s.c.Period(), s.toAxis)
		add(v)
	}
	slices.SortFunc(out, func(a, b Pole) int { return cmp.Compare(a.At, b.At) })
	return out
}

// toAxis measures the curve's distance from the axis.
func (s *Revolution) toAxis(v float64) curve.Gap {
	c, d1, d2 := curve.Eval(s.c, v)
	q := geom.Across(c.Sub(s.a.O), s.a.D)
	q1 := geom.Across(d1, s.a.D)
	return curve.Gap{D2: q.Dot(q), G: q.Dot(q1), H: q1.Dot(q1) + q.Dot(d2), S: q1.Dot(q1)}
}

// Curve is what is turned.
func (s Revolution) Curve() curve.Curve { return s.c }

// Axis is what it is turned round.
func (s Revolution) Axis() geom.Axis { return s.a }

// turned rotates a vector by the angle with sine y and cosine x.
func (s *Revolution) turned(q *mgl64.Vec3, x, y float64) mgl64.Vec3 {
	d := &s.a.D
	k := dot(q, d) * (1 - x)
	return mgl64.Vec3{
		x*q[0] + y*(d[1]*q[2]-d[2]*q[1]) + k*d[0],
		x*q[1] + y*(d[2]*q[0]-d[0]*q[2]) + k*d[1],
		x*q[2] + y*(d[0]*q[1]-d[1]*q[0]) + k*d[2],
	}
}

// Point is the position at (u, v).
func (s Revolution) Point(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	q := s.c.Point(v).Sub(s.a.O)
	return s.a.O.Add(s.turned(&q, x, y))
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s Revolution) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	y, x := math.Sincos(u)
	q, d1, _ := curve.Eval(s.c, v)
	q = s.a.D.Cross(q.Sub(s.a.O))
	return s.turned(&q, x, y), s.turned(&d1, x, y)
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s Revolution) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	y, x := math.Sincos(u)
	q, d1, d2 := curve.Eval(s.c, v)
	q = geom.Across(q.Sub(s.a.O), s.a.D).Mul(-1)
	d1 = s.a.D.Cross(d1)
	return s.turned(&q, x, y), s.turned(&d1, x, y), s.turned(&d2, x, y)
}

// Normal is that of the derivatives; on the axis the one a little way along
// the curve.
func (s Revolution) Normal(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	q, d1, _ := curve.Eval(s.c, v)
	q = s.a.D.Cross(q.Sub(s.a.O))
	if l := q.Len(); l > 1e-7 { // below, its direction is rounding noise
		q, d1 = q.Mul(1/l), unitOr(d1)
		if n, ok := cross(&q, &d1); ok {
			return s.turned(&n, x, y)
		}
	}
	return insideNormal(s, u, v)
}

// unitOr is v at length 1, or v where it has none.
func unitOr(v mgl64.Vec3) mgl64.Vec3 {
	if u, ok := geom.Unit(v); ok {
		return u
	}
	return v
}

// Domain is one turn and the curve's domain.
func (s Revolution) Domain() (u0, u1, v0, v1 float64) {
	v0, v1 = s.c.Domain()
	return 0, turn, v0, v1
}

// Periods are 2π and the curve's.
func (s Revolution) Periods() (pu, pv float64) { return turn, s.c.Period() }

// A section is where p lies in the half plane through the axis: height along
// it and distance from it. For flat curves the distance has a sign: negative
// on the half plane opposite to the curve's.
type section struct{ h, r float64 }

// Param finds the curve's foot point in the half plane of p, then the angle.
func (s Revolution) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	q := p.Sub(s.a.O)
	to := section{h: q.Dot(s.a.D), r: geom.Across(q, s.a.D).Len()}
	v0, _ := s.c.Domain()
	pv := s.c.Period()
	d2 := math.Inf(1)
	if h.Given {
		v, d2 = s.hinted(h.V, to)
	}
	if !(d2 <= onSurface*onSurface) {
		if t, e := s.search(to); math.IsInf(d2, 1) || math.Sqrt(e) < math.Sqrt(d2)-atPole {
			v = t
		}
	}
	v = round(v, v0, pv, h.V, h.Given)
	return s.angle(q, v, to.r, h), v
}

// foot is Param that looks no further than the hint leads.
func (s Revolution) foot(p mgl64.Vec3, h Hint) (u, v float64) {
	q := p.Sub(s.a.O)
	to := section{h: q.Dot(s.a.D), r: geom.Across(q, s.a.D).Len()}
	v, _ = s.hinted(h.V, to)
	v0, _ := s.c.Domain()
	v = round(v, v0, s.c.Period(), h.V, true)
	return s.angle(q, v, to.r, h), v
}

// hinted searches from v. The curve's side there decides on which half plane p
// is sought; but a hint that is nearer to the axis than p is a pole or next to
// one, where the side is rounding noise, so both are tried.
func (s *Revolution) hinted(v float64, to section) (t, d2 float64) {
	side := s.side(v)
	t, d2 = s.descend(v, to.signed(side))
	if s.flat && s.a.Distance(s.c.Point(v)) <= to.r {
		if u, e := s.descend(v, to.signed(-side)); e < d2 {
			return u, e
		}
	}
	return t, d2
}

func (a section) signed(side float64) section { return section{a.h, a.r * side} }

// side is -1 where a flat curve is on the far side of the axis.
func (s *Revolution) side(v float64) float64 {
	if s.flat && s.c.Point(v).Sub(s.a.O).Dot(s.e) < 0 {
		return -1
	}
	return 1
}

// angle is the turn that carries the curve's point at v to q, or the hint's
// where either is on the axis.
func (s *Revolution) angle(q mgl64.Vec3, v, r float64, h Hint) float64 {
	c := s.c.Point(v).Sub(s.a.O)
	c = c.Sub(s.a.D.Mul(c.Dot(s.a.D)))
	if r <= onAxis || c.Len() <= onAxis {
		return h.U
	}
	return round(math.Atan2(s.a.D.Dot(c.Cross(q)), c.Dot(q)), 0, turn, h.U, h.Given)
}

// search finds v without a hint. A flat curve is asked itself, with p turned
// into its half plane and into the one opposite; others are searched from
// points all along them.
func (s Revolution) search(to section) (v, d2 float64) {
	if !s.flat {
		p := mgl64.Vec3{to.h, to.r}
		v = curve.NearestFrom(s.starts, p, func(t float64) (float64, float64) { return s.descend(t, to) })
		return v, s.gap(v, to).D2
	}
	d2 = math.Inf(1)
	for _, side := range [...]float64{1, -1} {
		g := to.signed(side)
		p := s.a.At(g.h).Add(s.e.Mul(g.r))
		if t, e := s.descend(s.c.Param(p), g); e < d2 {
			v, d2 = t, e
		}
		if d2 <= atPole*atPole {
			break
		}
	}
	return v, d2
}

func (s Revolution) descend(v float64, to section) (t, d2 float64) {
	v0, v1 := s.c.Domain()
	return curve.Descend(v, v0, v1, s.c.Period(), func(t float64) curve.Gap { return s.gap(t, to) })
}

// gap measures the curve's distance from a place of the half plane.
func (s *Revolution) gap(t float64, to section) curve.Gap {
	c, d1, d2 := curve.Eval(s.c, t)
	q := c.Sub(s.a.O)
	d := &s.a.D
	h, h1, h2 := dot(&q, d), dot(&d1, d), dot(&d2, d)
	r, r1, r2 := dot(&q, &s.e), dot(&d1, &s.e), dot(&d2, &s.e)
	if !s.flat {
		r, r1, r2 = radial(geom.Across(q, *d), geom.Across(d1, *d), d2)
	}
	h, r = h-to.h, r-to.r
	speed := h1*h1 + r1*r1
	return curve.Gap{D2: h*h + r*r, G: h*h1 + r*r1, H: speed + h*h2 + r*r2, S: speed}
}

// radial is the length of q with its derivatives.
func radial(q, q1, q2 mgl64.Vec3) (r, r1, r2 float64) {
	r = q.Len()
	if r <= onAxis {
		return r, q1.Len(), 0
	}
	r1 = q.Dot(q1) / r
	return r, r1, (q1.Dot(q1) + q.Dot(q2) - r1*r1) / r
}
