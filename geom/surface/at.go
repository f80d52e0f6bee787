package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// At is position and normal at once, which costs about half of asking twice:
// both need the same sines or the same derivatives.
func At(s Surface, u, v float64) (p, n mgl64.Vec3) {
	switch s := s.(type) {
	case BSpline:
		return s.at(u, v)
	case Plane:
		return s.Point(u, v), s.f.Z
	case Cylinder:
		return s.at(u, v)
	case Cone:
		return s.at(u, v)
	case Sphere:
		return s.at(u, v)
	case Torus:
		return s.at(u, v)
	}
	return s.Point(u, v), s.Normal(u, v)
}

func (s *Cylinder) at(u, v float64) (p, n mgl64.Vec3) {
	y, x := math.Sincos(u)
	return at(&s.f, s.r*x, s.r*y, v), dir(&s.f, x, y, 0)
}

func (s *Cone) at(u, v float64) (p, n mgl64.Vec3) {
	y, x := math.Sincos(u)
	rho := s.r + v*s.tan
	return at(&s.f, rho*x, rho*y, v), s.normal(x, y, rho)
}

func (s *Sphere) at(u, v float64) (p, n mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	return at(&s.f, s.r*cv*x, s.r*cv*y, s.r*sv), dir(&s.f, cv*x, cv*y, sv)
}

func (s *Torus) at(u, v float64) (p, n mgl64.Vec3) {
	y, x := math.Sincos(u)
	sv, cv := math.Sincos(v)
	rho := s.major + s.minor*cv
	return at(&s.f, rho*x, rho*y, s.minor*sv), s.normal(x, y, sv, cv)
}
