package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// parallel is the sine below which two derivatives give no normal: near a
// pole it is reached about 1e-9 of the size away from it.
const parallel = 1e-9

// cross is the unit vector of a × b, false where they are parallel or one
// vanishes beside the other.
func cross(a, b *mgl64.Vec3) (mgl64.Vec3, bool) {
	x, y, z := a[1]*b[2]-a[2]*b[1], a[2]*b[0]-a[0]*b[2], a[0]*b[1]-a[1]*b[0]
	l := math.Sqrt(x*x + y*y + z*z)
	la := math.Sqrt(a[0]*a[0] + a[1]*a[1] + a[2]*a[2])
	lb := math.Sqrt(b[0]*b[0] + b[1]*b[1] + b[2]*b[2])
	if !(l > parallel*la*lb) || !(min(la, lb) > parallel*max(la, lb)) || math.IsInf(l, 0) {
		return mgl64.Vec3{}, false
	}
	return mgl64.Vec3{x / l, y / l, z / l}, true
}

// insideNormal stands in where the derivatives give no normal: it asks a
// little nearer to the middle of the domain, at growing distances.
func insideNormal(s Surface, u, v float64) mgl64.Vec3 {
	u0, u1, v0, v1 := finiteDomain(s)
	for _, step := range [...]float64{1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1} {
		for _, m := range [...][2]float64{{0, 1}, {1, 0}, {1, 1}} {
			du, dv := s.Derivatives(inward(u, u0, u1, step*m[0]), inward(v, v0, v1, step*m[1]))
			if n, ok := cross(&du, &dv); ok {
				return n
			}
		}
	}
	return mgl64.Vec3{0, 0, 1} // a surface without area has no normal to offer
}

// inward moves t by a part of the range towards its middle.
func inward(t, t0, t1, part float64) float64 {
	if t > (t0+t1)/2 {
		part = -part
	}
	return t + part*(t1-t0)
}

// finiteDomain is the domain with infinite sides replaced by ±1.
func finiteDomain(s Surface) (u0, u1, v0, v1 float64) {
	u0, u1, v0, v1 = s.Domain()
	u0, u1 = finite(u0, u1)
	v0, v1 = finite(v0, v1)
	return u0, u1, v0, v1
}

func finite(a, b float64) (float64, float64) {
	switch {
	case math.IsInf(a, -1) && math.IsInf(b, 1):
		return -1, 1
	case math.IsInf(a, -1):
		return b - 1, b
	case math.IsInf(b, 1):
		return a, a + 1
	}
	return a, b
}
