package feature

import (
	"stepscan/geom"
	"stepscan/geom/surface"
)

// freeForm is how far, mm, a free-form or swept surface may leave the simple
// one that it is taken for: well below any fit, well above the 1e-4 mm to which
// writers approximate circles.
const freeForm = 0.002

// simple reads an exact surface; what has no simple form is left to fit.
func simple(s surface.Surface) Face {
	if s == nil {
		return Face{}
	}
	if c, _, ok := surface.Canonical(s, freeForm); ok {
		s = c
	}
	switch s := s.(type) {
	case surface.Plane:
		return Face{Kind: Plane, Axis: geom.Axis{O: s.Frame().O, D: s.Frame().Z}}
	case surface.Cylinder:
		return Face{Kind: Cylinder, Axis: s.Axis(), R: s.Radius()}
	case surface.Cone:
		return Face{Kind: Cone, Axis: s.Axis(), R: s.Radius(), Half: s.SemiAngle()}
	case surface.Sphere:
		return Face{Kind: Sphere, Axis: geom.Axis{O: s.Frame().O, D: s.Frame().Z}, R: s.Radius()}
	case surface.Torus:
		return Face{Kind: Torus, Axis: s.Axis(), R: s.Major(), R2: s.Minor()}
	}
	return Face{}
}
