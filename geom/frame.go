package geom

import (
	"errors"
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Frame is a right-handed orthonormal coordinate system: the placement of a
// curve or surface in space (axis2_placement_3d of ISO 10303-42). A frame
// never mirrors and never scales.
type Frame struct {
	O       mgl64.Vec3 // origin, mm
	X, Y, Z mgl64.Vec3 // unit, mutually perpendicular, X × Y = Z
}

// World is the frame of the coordinates themselves.
func World() Frame {
	return Frame{X: mgl64.Vec3{1, 0, 0}, Y: mgl64.Vec3{0, 1, 0}, Z: mgl64.Vec3{0, 0, 1}}
}

// ErrNoDirection says that a direction has no length or is not finite.
var ErrNoDirection = errors.New("direction without length")

// NewFrame makes a frame from an origin, a z direction of any length and a
// hint for x, of which the part perpendicular to z is taken. A hint that is
// zero or parallel to z is replaced by a perpendicular of our choice.
func NewFrame(o, z, xHint mgl64.Vec3) (Frame, error) {
	z, ok := Unit(z)
	if !ok || !Finite(o) {
		return Frame{}, ErrNoDirection
	}
	x, ok := unitAcross(xHint, z)
	if !ok {
		x = Perpendicular(z)
	}
	return Frame{O: o, X: x, Y: z.Cross(x), Z: z}, nil
}

// unitAcross is the unit part of v perpendicular to the unit vector z. Where v
// is nearly parallel to z the subtraction leaves rounding noise along z, which a
// second pass takes out ("twice is enough": Giraud, Langou & Rozložník 2005,
// from memory).
func unitAcross(v, z mgl64.Vec3) (mgl64.Vec3, bool) {
	x, ok := Unit(Across(v, z))
	if !ok {
		return x, false
	}
	return Unit(Across(x, z))
}

// Across is the part of v perpendicular to the unit vector d.
func Across(v, d mgl64.Vec3) mgl64.Vec3 { return v.Sub(d.Mul(v.Dot(d))) }

// CheckPlaced refuses, for a curve or surface of the kind named, a frame that is
// not valid and sizes that are not positive finite numbers of mm.
func CheckPlaced(kind string, f Frame, sizes ...float64) error {
	if !f.Valid() {
		return fmt.Errorf("%s: %w", kind, ErrNoDirection)
	}
	for _, s := range sizes {
		if !(s > 0) || math.IsInf(s, 1) { // written so that NaN is refused too
			return fmt.Errorf("%s of size %g mm: want a positive number", kind, s)
		}
	}
	return nil
}

// Point maps local coordinates to space.
func (f Frame) Point(p mgl64.Vec3) mgl64.Vec3 { return f.O.Add(f.Dir(p)) }

// Dir maps a local direction to space.
func (f Frame) Dir(d mgl64.Vec3) mgl64.Vec3 {
	return mgl64.Vec3{
		f.X[0]*d[0] + f.Y[0]*d[1] + f.Z[0]*d[2],
		f.X[1]*d[0] + f.Y[1]*d[1] + f.Z[1]*d[2],
		f.X[2]*d[0] + f.Y[2]*d[1] + f.Z[2]*d[2],
	}
}

// Local maps a point of space to coordinates in the frame.
func (f Frame) Local(p mgl64.Vec3) mgl64.Vec3 { return f.LocalDir(p.Sub(f.O)) }

// LocalDir maps a direction of space to coordinates in the frame.
func (f Frame) LocalDir(d mgl64.Vec3) mgl64.Vec3 {
	return mgl64.Vec3{f.X.Dot(d), f.Y.Dot(d), f.Z.Dot(d)}
}

// Transform is the placement that carries the world's axes onto the frame.
func (f Frame) Transform() Transform {
	return Transform{M: mgl64.Mat3FromCols(f.X, f.Y, f.Z), T: f.O}
}

// Unit returns v at length 1, and false where v is zero, tiny (below 1e-12,
// under which its direction is rounding noise) or not finite.
func Unit(v mgl64.Vec3) (mgl64.Vec3, bool) {
	l := v.Len()
	if !(l > 1e-12) || math.IsInf(l, 0) {
		return mgl64.Vec3{}, false
	}
	return v.Mul(1 / l), true
}

// Perpendicular returns a unit vector perpendicular to the unit vector z,
// always the same one for the same z.
func Perpendicular(z mgl64.Vec3) mgl64.Vec3 {
	h := mgl64.Vec3{1, 0, 0}
	if math.Abs(z[0]) > 0.9 {
		h = mgl64.Vec3{0, 1, 0}
	}
	x, _ := Unit(h.Sub(z.Mul(h.Dot(z))))
	return x
}

// Finite reports whether no coordinate is NaN or infinite.
func Finite(v mgl64.Vec3) bool {
	s := v[0] + v[1] + v[2]
	return !math.IsNaN(s - s) // Inf-Inf and NaN-NaN are both NaN
}

// Valid reports a finite frame whose axes are unit and perpendicular as far
// as a frame made by NewFrame is; the zero Frame is not valid.
func (f Frame) Valid() bool {
	const slack = 1e-6
	near := func(got, want float64) bool { return math.Abs(got-want) <= slack }
	return Finite(f.O) &&
		near(f.X.Dot(f.X), 1) && near(f.Y.Dot(f.Y), 1) && near(f.Z.Dot(f.Z), 1) &&
		near(f.X.Cross(f.Y).Dot(f.Z), 1)
}
