package surface

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

const turn = 2 * math.Pi

// onAxis is the distance, mm, below which the direction from the axis to a
// point is rounding noise and the hint's angle is taken instead.
const onAxis = 1e-9

// dir is x X + y Y + z Z of the frame, at the same from its origin.
func dir(f *geom.Frame, x, y, z float64) mgl64.Vec3 {
	return mgl64.Vec3{
		x*f.X[0] + y*f.Y[0] + z*f.Z[0],
		x*f.X[1] + y*f.Y[1] + z*f.Z[1],
		x*f.X[2] + y*f.Y[2] + z*f.Z[2],
	}
}

func at(f *geom.Frame, x, y, z float64) mgl64.Vec3 {
	return mgl64.Vec3{
		f.O[0] + x*f.X[0] + y*f.Y[0] + z*f.Z[0],
		f.O[1] + x*f.X[1] + y*f.Y[1] + z*f.Z[1],
		f.O[2] + x*f.X[2] + y*f.Y[2] + z*f.Z[2],
	}
}

// polar are distance from the frame's z axis, angle round it and height. On
// the axis the angle is the hint's.
func polar(f *geom.Frame, p mgl64.Vec3, h Hint) (rho, u, z float64) {
	l := f.Local(p)
	rho = math.Hypot(l[0], l[1])
	if rho <= onAxis {
		return rho, h.U, l[2]
	}
	return rho, round(math.Atan2(l[1], l[0]), 0, turn, h.U, h.Given), l[2]
}

// round moves t by whole periods to within half a period of the hint, or
// without one into t0 <= t < t0 + period.
func round(t, t0, period, hint float64, given bool) float64 {
	if period == 0 {
		return t
	}
	if given {
		return t - period*math.Round((t-hint)/period)
	}
	t -= period * math.Floor((t-t0)/period)
	if t >= t0+period { // a tiny negative number plus a period
		t = t0
	}
	return t
}

// Plane is
//
//	P(u, v) = O + u X + v Y,  u and v in mm, normal Z
//
// (ISO 10303-42, plane).
type Plane struct{ f geom.Frame }

// NewPlane refuses a frame that is not orthonormal and finite.
func NewPlane(f geom.Frame) (Plane, error) {
	if err := geom.CheckPlaced("plane", f); err != nil {
		return Plane{}, err
	}
	return Plane{f}, nil
}

// Frame has the normal as Z.
func (s Plane) Frame() geom.Frame { return s.f }

// Point is the position at (u, v).
func (s Plane) Point(u, v float64) mgl64.Vec3 { return at(&s.f, u, v, 0) }

// Derivatives are X and Y.
func (s Plane) Derivatives(u, v float64) (du, dv mgl64.Vec3) { return s.f.X, s.f.Y }

// SecondDerivatives are zero.
func (s Plane) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) { return }

// Normal is Z.
func (s Plane) Normal(u, v float64) mgl64.Vec3 { return s.f.Z }

// Domain is infinite on all sides.
func (s Plane) Domain() (u0, u1, v0, v1 float64) {
	return math.Inf(-1), math.Inf(1), math.Inf(-1), math.Inf(1)
}

// Periods are 0.
func (s Plane) Periods() (pu, pv float64) { return 0, 0 }

// Param is the foot of the perpendicular.
func (s Plane) Param(p mgl64.Vec3, _ Hint) (u, v float64) {
	d := p.Sub(s.f.O)
	return d.Dot(s.f.X), d.Dot(s.f.Y)
}

// Cylinder is the infinite circular cylinder about the z axis of its frame:
//
//	P(u, v) = O + r (X cos u + Y sin u) + v Z,  u in radians, period 2π; v in mm
//
// The normal points away from the axis. ISO 10303-42, cylindrical_surface.
type Cylinder struct {
	f geom.Frame
	r float64
}

// NewCylinder refuses a radius that is not a positive number of mm.
func NewCylinder(f geom.Frame, r float64) (Cylinder, error) {
	if err := geom.CheckPlaced("cylinder", f, r); err != nil {
		return Cylinder{}, err
	}
	return Cylinder{f, r}, nil
}

// Frame has the axis as Z.
func (s Cylinder) Frame() geom.Frame { return s.f }

// Radius is in mm.
func (s Cylinder) Radius() float64 { return s.r }

// Axis is the line in the middle.
func (s Cylinder) Axis() geom.Axis { return geom.Axis{O: s.f.O, D: s.f.Z} }

// Point is the position at (u, v).
func (s Cylinder) Point(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	return at(&s.f, s.r*x, s.r*y, v)
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s Cylinder) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	y, x := math.Sincos(u)
	return dir(&s.f, -s.r*y, s.r*x, 0), s.f.Z
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s Cylinder) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	y, x := math.Sincos(u)
	return dir(&s.f, -s.r*x, -s.r*y, 0), duv, dvv
}

// Normal points away from the axis.
func (s Cylinder) Normal(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	return dir(&s.f, x, y, 0)
}

// Domain is one turn and an infinite length.
func (s Cylinder) Domain() (u0, u1, v0, v1 float64) {
	return 0, turn, math.Inf(-1), math.Inf(1)
}

// Periods are 2π and 0.
func (s Cylinder) Periods() (pu, pv float64) { return turn, 0 }

// Param is exact.
func (s Cylinder) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	_, u, v = polar(&s.f, p, h)
	return u, v
}

// Cone is the infinite double cone about the z axis of its frame:
//
//	P(u, v) = O + (r + v tan a)(X cos u + Y sin u) + v Z
//
// u in radians, period 2π; v in mm along the axis; r the radius at v = 0 (0 if
// O is the apex) and a the half angle. Faces usually keep to the side of the
// apex where r + v tan a is positive; there the normal points away from the
// axis, and on the far side towards it. ISO 10303-42, conical_surface.
type Cone struct {
	f        geom.Frame
	r        float64
	a        float64
	tan      float64
	sin, cos float64
}

// NewCone refuses a radius that is negative and a half angle that is 0 or
// reaches π/2. A negative half angle (the cone narrows along Z) is outside
// ISO 10303-42 but clear, and is taken.
func NewCone(f geom.Frame, r, semiAngle float64) (Cone, error) {
	if err := geom.CheckPlaced("cone", f); err != nil {
		return Cone{}, err
	}
	if !(r >= 0) || math.IsInf(r, 1) {
		return Cone{}, fmt.Errorf("cone radius %g mm: want a number from 0", r)
	}
	const least = 1e-9 // rad: 1e-6 mm over 1 m, so a cylinder
	if a := math.Abs(semiAngle); !(a > least && a < math.Pi/2-least) {
		return Cone{}, fmt.Errorf("cone half angle %g rad: want between 0 and π/2", semiAngle)
	}
	sin, cos := math.Sincos(semiAngle)
	return Cone{f: f, r: r, a: semiAngle, tan: math.Tan(semiAngle), sin: sin, cos: cos}, nil
}

// Frame has the axis as Z.
func (s Cone) Frame() geom.Frame { return s.f }

// Radius is the radius at v = 0, mm.
func (s Cone) Radius() float64 { return s.r }

// RadiusAt is the radius at v, mm; negative beyond the apex.
func (s Cone) RadiusAt(v float64) float64 { return s.r + v*s.tan }

// SemiAngle is the angle between axis and side, radians.
func (s Cone) SemiAngle() float64 { return s.a }

// Axis is the line in the middle.
func (s Cone) Axis() geom.Axis { return geom.Axis{O: s.f.O, D: s.f.Z} }

// ApexV is the v of the apex.
func (s Cone) ApexV() float64 { return -s.r / s.tan }

// Apex is the tip.
func (s Cone) Apex() mgl64.Vec3 { return at(&s.f, 0, 0, s.ApexV()) }

// Point is the position at (u, v).
func (s Cone) Point(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	rho := s.r + v*s.tan
	return at(&s.f, rho*x, rho*y, v)
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s Cone) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	y, x := math.Sincos(u)
	rho := s.r + v*s.tan
	return dir(&s.f, -rho*y, rho*x, 0), dir(&s.f, s.tan*x, s.tan*y, 1)
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s Cone) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	y, x := math.Sincos(u)
	rho := s.r + v*s.tan
	return dir(&s.f, -rho*x, -rho*y, 0), dir(&s.f, -s.tan*y, s.tan*x, 0), dvv
}

// Normal points away from the axis on the near side of the apex, and at the
// apex itself it is the limit from there along u.
func (s Cone) Normal(u, v float64) mgl64.Vec3 {
	y, x := math.Sincos(u)
	return s.normal(x, y, s.r+v*s.tan)
}

// normal is that at the angle of cosine x and sine y, where the radius is rho.
func (s *Cone) normal(x, y, rho float64) mgl64.Vec3 {
	k := 1.0
	if rho < -onAxis {
		k = -1
	}
	return dir(&s.f, k*s.cos*x, k*s.cos*y, -k*s.sin)
}

// Domain is one turn and an infinite length.
func (s Cone) Domain() (u0, u1, v0, v1 float64) {
	return 0, turn, math.Inf(-1), math.Inf(1)
}

// Periods are 2π and 0.
func (s Cone) Periods() (pu, pv float64) { return turn, 0 }

// Param drops the perpendicular on the side line in p's half plane and on the
// line opposite, which is the far side of the apex, and takes the nearer foot.
func (s Cone) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	rho, u, z := polar(&s.f, p, h)
	near := ((rho-s.r)*s.sin + z*s.cos) * s.cos
	far := ((-rho-s.r)*s.sin + z*s.cos) * s.cos
	dn := math.Abs((rho-s.r)*s.cos - z*s.sin)
	df := math.Abs((-rho-s.r)*s.cos - z*s.sin)
	if rho <= onAxis || dn < df || dn == df && (!h.Given || s.RadiusAt(h.V) >= 0) {
		return u, near
	}
	return round(u+math.Pi, 0, turn, h.U, h.Given), far
}
