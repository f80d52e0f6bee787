package geom

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Transform places a part in the frame of its parent: p ↦ M p + T, T in mm.
// It is rigid for nearly every occurrence; mirrored and scaled placements are
// legal in STEP, so they are kept here and can be asked for.
type Transform struct {
	M mgl64.Mat3
	T mgl64.Vec3
}

// Identity leaves everything where it is.
func Identity() Transform { return Transform{M: mgl64.Ident3()} }

// Point maps a point.
func (t Transform) Point(p mgl64.Vec3) mgl64.Vec3 { return t.Dir(p).Add(t.T) }

// Dir maps a direction; its length changes only under scaling.
func (t Transform) Dir(d mgl64.Vec3) mgl64.Vec3 {
	m := &t.M // column-major
	return mgl64.Vec3{
		m[0]*d[0] + m[3]*d[1] + m[6]*d[2],
		m[1]*d[0] + m[4]*d[1] + m[7]*d[2],
		m[2]*d[0] + m[5]*d[1] + m[8]*d[2],
	}
}

// Mul is t after u: p ↦ t(u(p)).
func (t Transform) Mul(u Transform) Transform {
	return Transform{M: t.M.Mul3(u.M), T: t.Point(u.T)}
}

// Inverse undoes t. A transform with determinant 0 has none; the identity
// stands in and false is returned.
func (t Transform) Inverse() (Transform, bool) {
	if t.IsRigid() || t.IsMirror() { // transpose: exact, and never near-singular
		mt := t.M.Transpose()
		return Transform{M: mt, T: mt.Mul3x1(t.T).Mul(-1)}, true
	}
	det := t.M.Det()
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return Identity(), false
	}
	inv := t.M.Inv()
	return Transform{M: inv, T: inv.Mul3x1(t.T).Mul(-1)}, true
}

// orthoTol bounds how far a placement's axes may be from orthonormal and
// still count as rigid: 1e-9 moves a point at 1 m by 1e-6 mm.
const orthoTol = 1e-9

// IsRigid reports a rotation with a translation.
func (t Transform) IsRigid() bool { return t.orthonormal() && t.M.Det() > 0 }

// IsMirror reports a reflection without scaling.
func (t Transform) IsMirror() bool { return t.orthonormal() && t.M.Det() < 0 }

func (t Transform) orthonormal() bool {
	p := t.M.Transpose().Mul3(t.M)
	for i := range 3 {
		for j := range 3 {
			want := 0.0
			if i == j {
				want = 1
			}
			if !(math.Abs(p.At(i, j)-want) <= orthoTol) {
				return false
			}
		}
	}
	return true
}

// Rows is the 3×4 matrix row by row, as the report gives it.
func (t Transform) Rows() [12]float64 {
	var r [12]float64
	for i := range 3 {
		for j := range 3 {
			r[4*i+j] = t.M.At(i, j)
		}
		r[4*i+3] = t.T[i]
	}
	return r
}
