package surface

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Sphere is
//
//	P(u, v) = O + r cos v (X cos u + Y sin u) + r sin v Z
//
// u the longitude, period 2π; v the latitude, -π/2..π/2, with poles at both
// ends. The normal points away from the centre. ISO 10303-42,
// spherical_surface.
type Sphere struct {
	f geom.Frame
	r float64
}

// NewSphere refuses a radius that is not a positive number of mm.
func NewSphere(f geom.Frame, r float64) (Sphere, error) {
	if err := geom.CheckPlaced("sphere", f, r); err != nil {
		return Sphere{}, err
	}
	return Sphere{f, r}, nil
}

// Frame has the centre as origin and the poles on Z.
func (s Sphere) Frame() geom.Frame { return s.f }

// Radius is in mm.
func (s Sphere) Radius() float64 { return s.r }

// Point is the position at (u, v).
func (s Sphere) Point(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	return at(&s.f, s.r*cv*x, s.r*cv*y, s.r*sv)
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s Sphere) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	sv, cv = s.r*sv, s.r*cv
	return dir(&s.f, -cv*y, cv*x, 0), dir(&s.f, -sv*x, -sv*y, cv)
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s Sphere) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	sv, cv = s.r*sv, s.r*cv
	return dir(&s.f, -cv*x, -cv*y, 0), dir(&s.f, sv*y, -sv*x, 0), dir(&s.f, -cv*x, -cv*y, -sv)
}

// Normal points away from the centre.
func (s Sphere) Normal(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	return dir(&s.f, cv*x, cv*y, sv)
}

// Domain is one turn and from pole to pole.
func (s Sphere) Domain() (u0, u1, v0, v1 float64) {
	return 0, turn, -math.Pi / 2, math.Pi / 2
}

// Periods are 2π and 0.
func (s Sphere) Periods() (pu, pv float64) { return turn, 0 }

// Param is exact; at the poles u is the hint's.
func (s Sphere) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	rho, u, z := polar(&s.f, p, h)
	if rho <= onAxis && math.Abs(z) <= onAxis { // the centre: all is equally near
		return h.U, h.V
	}
	return u, math.Atan2(z, rho)
}

// Torus is
//
//	P(u, v) = O + (R + r cos v)(X cos u + Y sin u) + r sin v Z
//
// u and v in radians, both of period 2π; R the major, r the minor radius. The
// normal points out of the tube. Where r >= R the surface meets itself on the
// axis (ISO 10303-42, toroidal_surface and degenerate_toroidal_surface); the
// inner part, where R + r cos v is negative, has its normal turned over, as
// ∂P/∂u × ∂P/∂v is.
//
// Of a torus that meets itself a surface may be one part alone, from pole to
// pole: the outer one, apple, or the inner one, lemon. It is then closed in u
// only.
type Torus struct {
	f            geom.Frame
	major, minor float64
	part         part
}

// part is what of a torus that meets itself belongs to the surface.
type part int8

const (
	whole part = iota
	apple
	lemon
)

// NewTorus refuses radii that are not positive numbers of mm.
func NewTorus(f geom.Frame, major, minor float64) (Torus, error) {
	if err := geom.CheckPlaced("torus", f, major, minor); err != nil {
		return Torus{}, err
	}
	return Torus{f: f, major: major, minor: minor}, nil
}

// NewApple is the outer part of a torus with r > R. Where r <= R the torus does
// not cross itself and is all outside.
func NewApple(f geom.Frame, major, minor float64) (Torus, error) {
	s, err := NewTorus(f, major, minor)
	if minor > major {
		s.part = apple
	}
	return s, err
}

// NewLemon is the inner part of a torus with r > R; without r > R there is
// none.
func NewLemon(f geom.Frame, major, minor float64) (Torus, error) {
	s, err := NewTorus(f, major, minor)
	if err == nil && !(minor > major) {
		return Torus{}, fmt.Errorf("torus radii %g and %g mm: want the second greater for an inner part", major, minor)
	}
	s.part = lemon
	return s, err
}

// crossV is where the tube's circle crosses the axis for the first time.
func (s Torus) crossV() float64 { return math.Acos(-s.major / s.minor) }

// Frame has the axis as Z.
func (s Torus) Frame() geom.Frame { return s.f }

// Major is the radius of the circle in the middle of the tube, mm.
func (s Torus) Major() float64 { return s.major }

// Minor is the radius of the tube, mm.
func (s Torus) Minor() float64 { return s.minor }

// Axis is the line the tube runs round.
func (s Torus) Axis() geom.Axis { return geom.Axis{O: s.f.O, D: s.f.Z} }

// Point is the position at (u, v).
func (s Torus) Point(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	rho := s.major + s.minor*cv
	return at(&s.f, rho*x, rho*y, s.minor*sv)
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s Torus) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	rho, rs := s.major+s.minor*cv, s.minor*sv
	return dir(&s.f, -rho*y, rho*x, 0), dir(&s.f, -rs*x, -rs*y, s.minor*cv)
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s Torus) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	rho, rs, rc := s.major+s.minor*cv, s.minor*sv, s.minor*cv
	return dir(&s.f, -rho*x, -rho*y, 0), dir(&s.f, rs*y, -rs*x, 0), dir(&s.f, -rc*x, -rc*y, -rs)
}

// Normal points out of the tube, into it on the inner part of a torus that
// meets itself.
func (s Torus) Normal(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	return s.normal(x, y, sv, cv)
}

// normal is that at the angles u and v of these cosines and sines.
func (s *Torus) normal(x, y, sv, cv float64) mgl64.Vec3 {
	if inner := s.major+s.minor*cv < -onAxis; s.part == lemon || s.part == whole && inner {
		return dir(&s.f, -cv*x, -cv*y, -sv)
	}
	return dir(&s.f, cv*x, cv*y, sv)
}

// Domain is one turn each way, or from pole to pole.
func (s Torus) Domain() (u0, u1, v0, v1 float64) {
	switch s.part {
	case apple:
		return 0, turn, -s.crossV(), s.crossV()
	case lemon:
		return 0, turn, s.crossV(), turn - s.crossV()
	}
	return 0, turn, 0, turn
}

// Periods are 2π twice; an apple or a lemon does not close in v.
func (s Torus) Periods() (pu, pv float64) {
	if s.part != whole {
		return turn, 0
	}
	return turn, turn
}

// Param finds the nearer of the two tube circles in p's half plane and the
// one opposite, which matters only where the torus meets itself. Points in
// the middle of the tube get the hint's v.
func (s Torus) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	rho, u, z := polar(&s.f, p, h)
	x := rho - s.major
	switch s.part {
	case apple:
		top := s.crossV()
		return u, min(max(math.Atan2(z, x), -top), top)
	case lemon:
		if rho > onAxis {
			u = round(u+math.Pi, 0, turn, h.U, h.Given)
		}
		off := math.Pi - s.crossV() // of the poles from v = π
		return u, math.Pi + min(max(math.Atan2(-z, rho+s.major), -off), off)
	}
	if s.minor >= s.major && rho > onAxis {
		dn := math.Abs(math.Hypot(x, z) - s.minor)
		df := math.Abs(math.Hypot(rho+s.major, z) - s.minor)
		if df < dn {
			x, u = -rho-s.major, round(u+math.Pi, 0, turn, h.U, h.Given)
		}
	}
	if math.Hypot(x, z) <= onAxis {
		return u, h.V
	}
	return u, round(math.Atan2(z, x), 0, turn, h.V, h.Given)
}
