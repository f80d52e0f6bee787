package curve

import "github.com/go-gl/mathgl/mgl64"

// Curve is a parametric curve in space. Lengths are mm; what the parameter
// means is said by each kind (radians for conics, mm for lines).
type Curve interface {
	// Point is the position at t.
	Point(t float64) mgl64.Vec3
	// Derivatives are dP/dt and d²P/dt² at t.
	Derivatives(t float64) (d1, d2 mgl64.Vec3)
	// Domain is the parameter range; infinite for lines, one period for
	// closed curves.
	Domain() (t0, t1 float64)
	// Period is the length of one turn in t, 0 for a curve that does not close.
	Period() float64
	// Param is the parameter of the curve's nearest point to p, in the domain
	// (for periodic curves in [t0, t0+period)).
	Param(p mgl64.Vec3) float64
}
