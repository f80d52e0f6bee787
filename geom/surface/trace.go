package surface

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/curve"
)

// Trace is a curve that is given in the parameter plane of a surface:
//
//	P(t) = S(ku c_x(t), kv c_y(t))
//
// with the parameter of the plane curve c, whose z is not looked at
// (ISO 10303-42, pcurve). ku and kv turn its coordinates into the surface's
// parameters.
type Trace struct {
	s      Surface
	c      curve.Curve
	ku, kv float64
	period float64
	starts []curve.Start
}

// NewTrace refuses scales that are zero or not finite and curves that stay in
// one place in space. A straight line round a closed surface is cut to one
// turn.
func NewTrace(s Surface, c curve.Curve, ku, kv float64) (Trace, error) {
	if k := ku * kv; !(k != 0) || math.IsInf(k, 0) {
		return Trace{}, fmt.Errorf("curve on a surface: scales %g and %g: want numbers other than 0", ku, kv)
	}
	t := Trace{s: s, c: c, ku: ku, kv: kv}
	if l, ok := c.(curve.Line); ok {
		pu, pv := s.Periods()
		turn := 0.0
		switch d := l.Dir(); {
		case pu > 0 && math.Abs(d[1]) < 1e-12:
			turn = pu / math.Abs(ku)
		case pv > 0 && math.Abs(d[0]) < 1e-12:
			turn = pv / math.Abs(kv)
		}
		if turn > 0 {
			piece, err := curve.NewTrimmed(l, 0, turn)
			if err != nil {
				return Trace{}, err
			}
			t.c = piece
		}
	}
	t.starts = curve.Starts(t)
	size, o := 0.0, t.starts[0].P
	for _, a := range t.starts {
		size = max(size, a.P.Sub(o).Len())
	}
	if !(size > collapseGap) {
		return Trace{}, fmt.Errorf("curve on a surface that stays in one place")
	}
	if t0, t1 := t.c.Domain(); !math.IsInf(t1-t0, 0) && t.Point(t0).Sub(t.Point(t1)).Len() <= min(closedGap, size/10) {
		t.period = t1 - t0
	}
	return t, nil
}

// closedGap is the distance, mm, between the ends of a curve that closes:
// parameters are written with 6 to 10 digits.
const closedGap = 1e-4

// Leader is the plane curve.
func (t Trace) Leader() curve.Curve { return t.c }

// Surface is what it lies on.
func (t Trace) Surface() Surface { return t.s }

// onPlane brings a parameter of a closed curve into the domain.
func (t Trace) onPlane(s float64) float64 {
	t0, t1 := t.c.Domain()
	if t.period > 0 && (s < t0 || s > t1) {
		s -= t.period * math.Floor((s-t0)/t.period)
	}
	return s
}

// Point is the position at s.
func (t Trace) Point(s float64) mgl64.Vec3 {
	q := t.c.Point(t.onPlane(s))
	return t.s.Point(t.ku*q[0], t.kv*q[1])
}

// Derivatives follow by the chain rule; where the surface does not know its
// second ones, d²P/dt² comes from differences.
func (t Trace) Derivatives(s float64) (d1, d2 mgl64.Vec3) {
	s = t.onPlane(s)
	b, ok := t.s.(Smooth)
	if !ok {
		h := 1e-5
		if t0, t1 := t.c.Domain(); !math.IsInf(t1-t0, 0) {
			h *= t1 - t0
		}
		return t.slope(s), t.slope(s + h).Sub(t.slope(s - h)).Mul(1 / (2 * h))
	}
	q, c1, c2 := curve.Eval(t.c, s)
	u, v := t.ku*q[0], t.kv*q[1]
	u1, v1, u2, v2 := t.ku*c1[0], t.kv*c1[1], t.ku*c2[0], t.kv*c2[1]
	du, dv := t.s.Derivatives(u, v)
	uu, uv, vv := b.SecondDerivatives(u, v)
	d1 = du.Mul(u1).Add(dv.Mul(v1))
	d2 = uu.Mul(u1 * u1).Add(uv.Mul(2 * u1 * v1)).Add(vv.Mul(v1 * v1)).Add(du.Mul(u2)).Add(dv.Mul(v2))
	return d1, d2
}

func (t Trace) slope(s float64) mgl64.Vec3 {
	s = t.onPlane(s)
	q, c1, _ := curve.Eval(t.c, s)
	du, dv := t.s.Derivatives(t.ku*q[0], t.kv*q[1])
	return du.Mul(t.ku * c1[0]).Add(dv.Mul(t.kv * c1[1]))
}

// Domain is the plane curve's.
func (t Trace) Domain() (t0, t1 float64) { return t.c.Domain() }

// Period is the length of the domain where the ends meet in space, though they
// may be a turn apart in the plane.
func (t Trace) Period() float64 { return t.period }

// Param looks in the plane for the surface's foot point, seen at whole turns
// around the curve, and walks on from the nearest place found.
func (t Trace) Param(p mgl64.Vec3) float64 {
	best, d2 := 0.0, math.Inf(1)
	try := func(s float64) {
		if e := t.Point(s).Sub(p).LenSqr(); e < d2 {
			best, d2 = s, e
		}
	}
	for _, q := range t.places(p) {
		try(t.c.Param(mgl64.Vec3{q[0] / t.ku, q[1] / t.kv}))
	}
	if s, e := curve.Foot(t, p, best); e < d2 {
		best, d2 = s, e
	}
	if d2 > onSurface*onSurface {
		try(curve.NearestFrom(t.starts, p, func(s float64) (float64, float64) { return curve.Foot(t, p, s) }))
	}
	if t0, _ := t.c.Domain(); t.period > 0 && best >= t0+t.period {
		best -= t.period
	}
	return best
}

// places are p's parameters on the surface, and those whole turns away that
// come near the plane curve.
func (t Trace) places(p mgl64.Vec3) []mgl64.Vec2 {
	u, v := t.s.Param(p, Hint{})
	pu, pv := t.s.Periods()
	out := []mgl64.Vec2{{u, v}}
	add := func(q mgl64.Vec3) { // the turn that q is on
		w := mgl64.Vec2{nearTo(u, t.ku*q[0], pu), nearTo(v, t.kv*q[1], pv)}
		for _, o := range out {
			if o.Sub(w).Len() <= 1e-6*(pu+pv) {
				return
			}
		}
		out = append(out, w)
	}
	if pu == 0 && pv == 0 {
		return out
	}
	if l, ok := t.c.(curve.Line); ok { // without end: where its other coordinate is p's
		o, d := l.Origin(), l.Dir()
		switch {
		case pv == 0 && d[1] != 0:
			add(l.Point((v/t.kv - o[1]) / d[1]))
		case pu == 0 && d[0] != 0:
			add(l.Point((u/t.ku - o[0]) / d[0]))
		}
		return out
	}
	for _, a := range t.starts {
		add(t.c.Point(a.T))
		if len(out) > 8 {
			break
		}
	}
	return out
}

// nearTo shifts x by whole periods to within half a period of t.
func nearTo(x, t, period float64) float64 {
	if period > 0 {
		x -= period * math.Round((x-t)/period)
	}
	return x
}
