package surface

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Pole is a line of constant parameter that is a single point in space.
type Pole struct {
	OnU bool    // u is the constant parameter; otherwise v is
	At  float64 // its value
	P   mgl64.Vec3
}

// Poles lists where a surface collapses: both ends of a sphere, the apex of a
// cone, the places where a torus or a revolved curve meets the axis, collapsed
// sides of a B-spline. They come in order of At, those on v first.
func Poles(s Surface) []Pole {
	switch s := s.(type) {
	case Sphere:
		return []Pole{poleV(s, -math.Pi/2), poleV(s, math.Pi/2)}
	case Cone:
		return []Pole{{At: s.ApexV(), P: s.Apex()}}
	case Torus:
		return torusPoles(s)
	case BSpline:
		return s.sides
	case Patchwork:
		return s.sides
	case Revolution:
		return s.poles
	case Offset:
		return offsetPoles(s)
	}
	return nil
}

func poleV(s Surface, v float64) Pole {
	return Pole{At: v, P: s.Point(0, v)}
}

// torusPoles are the places of a torus that meets itself where the tube's
// circle crosses the axis.
func torusPoles(s Torus) []Pole {
	switch c := s.major / s.minor; {
	case c > 1:
		return nil
	case c == 1:
		return []Pole{poleV(s, math.Pi)}
	default:
		v := s.crossV()
		if s.part == apple {
			return []Pole{poleV(s, -v), poleV(s, v)}
		}
		return []Pole{poleV(s, v), poleV(s, turn-v)}
	}
}

// collapseGap is the extent, mm, up to which a side counts as a point.
const collapseGap = 1e-6

// collapsedSides looks at the four sides of a bounded surface.
func collapsedSides(s Surface) []Pole {
	u0, u1, v0, v1 := s.Domain()
	var out []Pole
	for _, c := range [...]Pole{{At: v0}, {At: v1}, {OnU: true, At: u0}, {OnU: true, At: u1}} {
		if p, ok := collapsed(s, c.OnU, c.At); ok {
			c.P = p
			out = append(out, c)
		}
	}
	return out
}

// collapsed reports whether the surface is one point along a line of constant
// parameter, seen at 17 places.
func collapsed(s Surface, onU bool, t float64) (mgl64.Vec3, bool) {
	u0, u1, v0, v1 := finiteDomain(s)
	box := geom.EmptyBox()
	for i := range 17 {
		f := float64(i) / 16
		if onU {
			box = box.Add(s.Point(t, v0+(v1-v0)*f))
		} else {
			box = box.Add(s.Point(u0+(u1-u0)*f, t))
		}
	}
	return box.Centre(), box.Diagonal() <= collapseGap
}

// offsetPoles are those poles of the base at which its normal does not turn,
// so that the offset surface stays a point.
func offsetPoles(s Offset) []Pole {
	var out []Pole
	for _, c := range s.poles {
		if p, ok := collapsed(s, c.OnU, c.At); ok {
			out = append(out, Pole{c.OnU, c.At, p})
		}
	}
	return out
}
