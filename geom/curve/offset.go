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
	base Curve
	d    float64
	v    mgl64.Vec3
}

// NewOffset moves a curve by d mm. A line and a circle square to v stay what
// they are. It refuses a curve that runs along v all the way.
func NewOffset(base Curve, d float64, v mgl64.Vec3) (Curve, error) {
	v, ok := geom.Unit(v)
	if !ok || math.IsNaN(d) || math.IsInf(d, 0) {
		return nil, fmt.Errorf("offset curve: %w", geom.ErrNoDirection)
	}
	o := Offset{base, d, v}
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
	}
	for _, s := range Starts(base) {
		d1, _ := base.Derivatives(s.T)
		if _, ok := o.side(d1); ok {
			return o, nil
		}
	}
	return nil, fmt.Errorf("offset of a curve along its reference direction")
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
	p, d1, _ := Eval(c.base, t)
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
	along := func(t float64) float64 {
		d1, _ := c.base.Derivatives(t)
		return c.base.Point(t).Sub(p).Dot(d1)
	}
	best, least := 0.0, math.Inf(1)
	try := func(t float64) {
		if d := c.Point(t).Sub(p).LenSqr(); d < least {
			best, least = t, d
		}
	}
	starts := Starts(c)
	for i, s := range starts {
		try(s.T)
		if i > 0 {
			if a, b := starts[i-1].T, s.T; along(a)*along(b) < 0 {
				try(bisect(a, b, along))
			}
		}
	}
	if t, d2 := Foot(c, p, best); d2 < least {
		best, least = t, d2
	}
	if least <= onCurve*onCurve {
		return best
	}
	s := NearestFrom(starts, p, func(t float64) (float64, float64) { return Foot(c, p, t) })
	if c.Point(s).Sub(p).LenSqr() < least {
		return s
	}
	return best
}

// bisect narrows a change of sign between a and b down to rounding.
func bisect(a, b float64, f func(float64) float64) float64 {
	rising := f(b) > 0
	for range 60 {
		m := a + (b-a)/2
		if (f(m) > 0) == rising {
			b = m
		} else {
			a = m
		}
	}
	return a + (b-a)/2
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
