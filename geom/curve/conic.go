package curve

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

const turn = 2 * math.Pi

// positive reports a finite number above zero; NaN is not.
func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// along is x X + y Y of the frame.
func along(f *geom.Frame, x, y float64) mgl64.Vec3 {
	return mgl64.Vec3{x*f.X[0] + y*f.Y[0], x*f.X[1] + y*f.Y[1], x*f.X[2] + y*f.Y[2]}
}

// at is O + x X + y Y of the frame.
func at(f *geom.Frame, x, y float64) mgl64.Vec3 {
	return mgl64.Vec3{
		f.O[0] + x*f.X[0] + y*f.Y[0],
		f.O[1] + x*f.X[1] + y*f.Y[1],
		f.O[2] + x*f.X[2] + y*f.Y[2],
	}
}

// inPlane are the frame's x and y of p.
func inPlane(f *geom.Frame, p mgl64.Vec3) (x, y float64) {
	d := p.Sub(f.O)
	return d.Dot(f.X), d.Dot(f.Y)
}

// firstTurn brings an angle of -π..π to 0 <= t < 2π.
func firstTurn(t float64) float64 {
	if t < 0 {
		t += turn
	}
	if t >= turn { // -1e-20 + 2π rounds to 2π
		t = 0
	}
	return t
}

// Circle is
//
//	P(t) = O + r (X cos t + Y sin t),  t in radians, period 2π
//
// (ISO 10303-42, circle).
type Circle struct {
	f geom.Frame
	r float64
}

// NewCircle refuses a radius that is not a positive number of mm.
func NewCircle(f geom.Frame, r float64) (Circle, error) {
	if err := geom.CheckPlaced("circle", f, r); err != nil {
		return Circle{}, err
	}
	return Circle{f, r}, nil
}

// Frame has the centre as origin and the plane's normal as Z.
func (c Circle) Frame() geom.Frame { return c.f }

// Radius is in mm.
func (c Circle) Radius() float64 { return c.r }

// Point is the position at angle t.
func (c Circle) Point(t float64) mgl64.Vec3 {
	s, k := math.Sincos(t)
	return at(&c.f, c.r*k, c.r*s)
}

// Derivatives are dP/dt and d²P/dt².
func (c Circle) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	s, k := math.Sincos(t)
	return along(&c.f, -c.r*s, c.r*k), along(&c.f, -c.r*k, -c.r*s)
}

// Domain is one turn from 0.
func (c Circle) Domain() (t0, t1 float64) { return 0, turn }

// Period is 2π.
func (c Circle) Period() float64 { return turn }

// Param is the angle of p seen from the centre, 0 for points on the axis.
func (c Circle) Param(p mgl64.Vec3) float64 {
	x, y := inPlane(&c.f, p)
	return firstTurn(math.Atan2(y, x))
}

// Ellipse is
//
//	P(t) = O + a X cos t + b Y sin t,  t in radians, period 2π
//
// (ISO 10303-42, ellipse; a need not be the greater half axis).
type Ellipse struct {
	f    geom.Frame
	a, b float64
}

// NewEllipse refuses half axes that are not positive numbers of mm.
func NewEllipse(f geom.Frame, a, b float64) (Ellipse, error) {
	if err := geom.CheckPlaced("ellipse", f, a, b); err != nil {
		return Ellipse{}, err
	}
	return Ellipse{f, a, b}, nil
}

// Frame has the centre as origin and the plane's normal as Z.
func (c Ellipse) Frame() geom.Frame { return c.f }

// HalfAxes are the half axes along X and Y, mm.
func (c Ellipse) HalfAxes() (a, b float64) { return c.a, c.b }

// Point is the position at t.
func (c Ellipse) Point(t float64) mgl64.Vec3 {
	s, k := math.Sincos(t)
	return at(&c.f, c.a*k, c.b*s)
}

// Derivatives are dP/dt and d²P/dt².
func (c Ellipse) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	s, k := math.Sincos(t)
	return along(&c.f, -c.a*s, c.b*k), along(&c.f, -c.a*k, -c.b*s)
}

// Domain is one turn from 0.
func (c Ellipse) Domain() (t0, t1 float64) { return 0, turn }

// Period is 2π.
func (c Ellipse) Period() float64 { return turn }

// Param is exact: by symmetry the foot point lies in p's own quadrant, where
// the distance has a single minimum.
func (c Ellipse) Param(p mgl64.Vec3) float64 {
	x, y := inPlane(&c.f, p)
	px, py := math.Abs(x), math.Abs(y)
	a, b := c.a, c.b
	start := math.Atan2(py/b, px/a)
	if !(start > 0 && start < math.Pi/2) {
		start = math.Pi / 4
	}
	t := root(0, math.Pi/2, start, func(t float64) (y, dy float64) {
		s, k := math.Sincos(t)
		return (b*b-a*a)*s*k + a*px*s - b*py*k, (b*b-a*a)*(k*k-s*s) + a*px*k + b*py*s
	})
	s, k := math.Sincos(t)
	return firstTurn(math.Atan2(math.Copysign(s, y), math.Copysign(k, x)))
}
