package curve

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Hyperbola is the branch towards X of
//
//	P(t) = O + a X cosh t + b Y sinh t,  t without unit
//
// (ISO 10303-42, hyperbola).
type Hyperbola struct {
	f    geom.Frame
	a, b float64
}

// NewHyperbola refuses half axes that are not positive numbers of mm.
func NewHyperbola(f geom.Frame, a, b float64) (Hyperbola, error) {
	if err := geom.CheckPlaced("hyperbola", f, a, b); err != nil {
		return Hyperbola{}, err
	}
	return Hyperbola{f, a, b}, nil
}

// Frame has the centre as origin and the plane's normal as Z.
func (c Hyperbola) Frame() geom.Frame { return c.f }

// HalfAxes are the half axes along X and Y, mm.
func (c Hyperbola) HalfAxes() (a, b float64) { return c.a, c.b }

// Point is the position at t.
func (c Hyperbola) Point(t float64) mgl64.Vec3 {
	return at(&c.f, c.a*math.Cosh(t), c.b*math.Sinh(t))
}

// Derivatives are dP/dt and d²P/dt².
func (c Hyperbola) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	ch, sh := math.Cosh(t), math.Sinh(t)
	return along(&c.f, c.a*sh, c.b*ch), along(&c.f, c.a*ch, c.b*sh)
}

// Domain is infinite on both sides.
func (c Hyperbola) Domain() (t0, t1 float64) { return math.Inf(-1), math.Inf(1) }

// Period is 0.
func (c Hyperbola) Period() float64 { return 0 }

// Param is exact. On p's side of the X axis the condition for the foot point,
// divided by cosh t, is convex or rising, so it has one root there.
func (c Hyperbola) Param(p mgl64.Vec3) float64 {
	x, y := inPlane(&c.f, p)
	py, q := math.Abs(y), c.a*c.a+c.b*c.b
	top := math.Asinh((c.a*math.Abs(x)+c.b*py)/q) + 1e-9
	start := math.Asinh(py / c.b)
	if !(start > 0 && start < top) {
		start = top
	}
	t := root(0, top, start, func(t float64) (y, dy float64) {
		th := math.Tanh(t)
		return q*math.Sinh(t) - c.a*x*th - c.b*py, q*math.Cosh(t) - c.a*x*(1-th*th)
	})
	return math.Copysign(t, y)
}

// Parabola is
//
//	P(t) = O + f (t² X + 2t Y),  f the focal distance in mm, t without unit
//
// (ISO 10303-42, parabola).
type Parabola struct {
	f     geom.Frame
	focal float64
}

// NewParabola refuses a focal distance that is not a positive number of mm.
func NewParabola(f geom.Frame, focal float64) (Parabola, error) {
	if err := geom.CheckPlaced("parabola", f, focal); err != nil {
		return Parabola{}, err
	}
	return Parabola{f, focal}, nil
}

// Frame has the vertex as origin, X towards the focus.
func (c Parabola) Frame() geom.Frame { return c.f }

// Focal is the distance from vertex to focus, mm.
func (c Parabola) Focal() float64 { return c.focal }

// Point is the position at t.
func (c Parabola) Point(t float64) mgl64.Vec3 {
	return at(&c.f, c.focal*t*t, 2*c.focal*t)
}

// Derivatives are dP/dt and d²P/dt².
func (c Parabola) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	return along(&c.f, 2*c.focal*t, 2*c.focal), along(&c.f, 2*c.focal, 0)
}

// Domain is infinite on both sides.
func (c Parabola) Domain() (t0, t1 float64) { return math.Inf(-1), math.Inf(1) }

// Period is 0.
func (c Parabola) Period() float64 { return 0 }

// Param is exact: on p's side of the X axis the cubic condition is convex and
// has one root.
func (c Parabola) Param(p mgl64.Vec3) float64 {
	x, y := inPlane(&c.f, p)
	px, py := x/c.focal, math.Abs(y)/c.focal
	top := 1 + max(math.Abs(2-px), py) // Cauchy's bound of the roots
	start := py / 2
	if !(start > 0 && start < top) {
		start = top
	}
	t := root(0, top, start, func(t float64) (y, dy float64) {
		return t*t*t + (2-px)*t - py, 3*t*t + 2 - px
	})
	return math.Copysign(t, y)
}
