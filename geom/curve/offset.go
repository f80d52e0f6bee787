package curve

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Follower is a curve that takes its parameter, and with it its breaks and
// corners, from another one.
type Follower interface {
	Curve
	// Leader is the curve that is followed.
	Leader() Curve
}

// Offset is a curve moved sideways:
//
//	P(t) = C(t) + d N(t),  N = V × C'(t) at length 1, d in mm of either sign
//
// with the parameter of C; V is a fixed direction (ISO 10303-42,
// offset_curve_3d: seen against V, a positive distance lies on the left).
type Offset struct {
	base   Curve
	d      float64
	v      mgl64.Vec3
	places []place // along the base, for Param
}

// A place is one on the offset curve with the base's point and tangent there.
type place struct {
	Start
	c, d1 mgl64.Vec3
}

// NewOffset moves a curve by d mm. A line and a circle square to v stay what
// they are, and a curve moved twice along one v is moved once: N stays square
// to v and so do its derivatives, which leaves its direction. It refuses a
// curve that runs along v all the way.
func NewOffset(base Curve, d float64, v mgl64.Vec3) (Curve, error) {
	v, ok := geom.Unit(v)
	if !ok || math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, fmt.Errorf("offset curve: %w", geom.ErrNoDirection)
	}
	o := Offset{base: base, d: d, v: v}
	switch b := base.(type) {
	case Line:
		n, ok := o.side(b.d)
		if !ok {
			return nil, fmt.Errorf("offset of a line along its reference direction")
		}
		return Line{o: b.o.Add(n.Mul(d)), d: b.d}, nil
	case Circle: // V × T points to the centre where V is along the axis
		r := b.r - d*math.Copysign(1, b.f.Z.Dot(v))
		if b.f.Z.Cross(v).Len() < 1e-12 && r > 0 {
			return NewCircle(b.f, r)
		}
	case Offset:
		if v.Cross(b.v).Len() < 1e-12 {
			return NewOffset(b.base, b.d+d*math.Copysign(1, v.Dot(b.v)), b.v)
		}
	}
	wide := false
	for _, s := range Starts(o) {
		c, d1 := slopeAt(base, s.T)
		_, ok := o.side(d1)
		wide = wide || ok
		o.places = append(o.places, place{s, c, d1})
	}
	if !wide {
		return nil, fmt.Errorf("offset of a curve along its reference direction")
	}
	return o, nil
}

// slopeAt is a curve's point and first derivative: of an offset curve a third
// of the work of both derivatives.
func slopeAt(c Curve, t float64) (p, d1 mgl64.Vec3) {
	if o, ok := c.(Offset); ok {
		return o.Point(t), o.slope(t)
	}
	p, d1, _ = Eval(c, t)
	return p, d1
}

// side is the direction to which a tangent is moved.
func (c Offset) side(d1 mgl64.Vec3) (mgl64.Vec3, bool) {
	n := c.v.Cross(d1)
	if !(n.Len() > 1e-9*d1.Len()) {
		return n, false
	}
	return geom.Unit(n)
}

// Leader is the curve that is moved.
func (c Offset) Leader() Curve { return c.base }

// Point is the position at t.
func (c Offset) Point(t float64) mgl64.Vec3 {
	p, d1 := slopeAt(c.base, t)
	n, _ := c.side(d1)
	return p.Add(n.Mul(c.d))
}

// Derivatives are dP/dt, exact, and d²P/dt² from differences of it.
func (c Offset) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	t0, t1 := c.Domain()
	h := 1e-5
	if span := t1 - t0; !math.IsInf(span, 0) {
		h *= span
	}
	a, b := t-h, t+h
	if c.Period() == 0 {
		a, b = max(a, t0), min(b, t1)
	}
	return c.slope(t), c.slope(b).Sub(c.slope(a)).Mul(1 / (b - a))
}

// slope is dP/dt: that of the base, and of the unit vector beside it.
func (c Offset) slope(t float64) mgl64.Vec3 {
	d1, d2 := c.base.Derivatives(t)
	n, ok := c.side(d1)
	if !ok {
		return d1
	}
	w := c.v.Cross(d2)
	w = w.Sub(n.Mul(n.Dot(w))).Mul(1 / c.v.Cross(d1).Len())
	return d1.Add(w.Mul(c.d))
}

// Domain is the base's.
func (c Offset) Domain() (t0, t1 float64) { return c.base.Domain() }

// Period is the base's.
func (c Offset) Period() float64 { return c.base.Period() }

// Param searches from every place where the base runs square to the way to p.
// For a point of the offset curve its own parameter is among them, also where a
// tight bend of the base has given it cusps and a swallow tail, in which a walk
// downhill would end in the wrong branch.
func (c Offset) Param(p mgl64.Vec3) float64 {
	best, least := 0.0, math.Inf(1)
	try := func(t, d2 float64) {
		if d2 < least {
			best, least = t, d2
		}
	}
	away := func(t float64) float64 { return c.Point(t).Sub(p).LenSqr() }
	before := 0.0
	for i := range c.places {
		s := &c.places[i]
		try(s.T, s.P.Sub(p).LenSqr())
		along := s.c.Sub(p).Dot(s.d1)
		if i > 0 && along*before < 0 {
			t := c.square(c.places[i-1].T, s.T, before > 0, &p)
			try(t, away(t))
		}
		before = along
	}
	try(Foot(c, p, best))
	if least <= onCurve*onCurve {
		return best
	}
	starts := make([]Start, len(c.places))
	for i := range c.places {
		starts[i] = c.places[i].Start
	}
	t := NearestFrom(starts, p, func(t float64) (float64, float64) { return Foot(c, p, t) })
	try(t, away(t))
	return best
}

// square is where between a and b the base runs square to the way to p; falling
// says that the product of the two falls from a to b.
func (c Offset) square(a, b float64, falling bool, p *mgl64.Vec3) float64 {
	sign := 1.0
	if falling {
		sign = -1
	}
	return root(a, b, (a+b)/2, func(t float64) (y, dy float64) {
		q, d1, d2 := Eval(c.base, t)
		g := gapOf(&q, &d1, &d2, p)
		return sign * g.G, sign * g.H
	})
}

// Foot walks from t downhill to a place of the curve that is nearer to p than
// those around it; d2 is the squared distance there, mm².
func Foot(c Curve, p mgl64.Vec3, t float64) (tmin, d2 float64) {
	t0, t1 := c.Domain()
	tmin, d2 = Descend(t, t0, t1, c.Period(), func(t float64) Gap {
		q, d1, d2 := Eval(c, t)
		return gapOf(&q, &d1, &d2, &p)
	})
	if period := c.Period(); period > 0 && tmin >= t0+period {
		tmin -= period
	}
	return tmin, d2
}
