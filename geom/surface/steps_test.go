package surface

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// On an elementary surface bent one way the step is the closed formula:
// r (1 - cos(step/2)) = chord.
func TestStepsAreExact(t *testing.T) {
	f := tilted()
	const e = 0.05
	closed := func(r, e float64) float64 { return 2 * math.Acos(1-e/r) }
	for name, x := range map[string]struct {
		s      Surface
		v0, v1 float64
		du, dv float64
	}{
		"plane":    {must(NewPlane(f)), 0, 7, 3, 7},
		"cylinder": {must(NewCylinder(f, 5)), 0, 7, closed(5, e), 7},
		// the facet stands off a cone by cos a of the height in the circle
		"cone":   {must(NewCone(f, 5, 0.4)), 0, 7, closed(5+7*math.Tan(0.4), e/math.Cos(0.4)), 7},
		"sphere": {must(NewSphere(f, 5)), -0.2, 0.9, closed(5, e/2), closed(5, e/2)},
		"torus":  {must(NewTorus(f, 20, 5)), 0, 3, closed(25, e/2), closed(5, e/2)},
	} {
		du, dv := Steps(x.s, 0, 3, x.v0, x.v1, geom.Tolerance{Chord: e})
		if math.Abs(du-x.du) > 1e-9 || math.Abs(dv-x.dv) > 1e-9 {
			t.Errorf("%s: steps %g, %g, want %g, %g", name, du, dv, x.du, x.dv)
		}
	}
}

// A net with these steps stays within the chord and the angle on every kind.
func TestStepsKeepTheTolerance(t *testing.T) {
	for name, s := range zoo() {
		u0, u1, v0, v1 := finiteDomain(s)
		if name == "apple" || name == "tip" || name == "turnedline" {
			v0, v1 = 0.5, 1 // clear of where the normal turns over
		}
		for _, tol := range []geom.Tolerance{{Chord: 0.1}, {Chord: 0.01}, {Angle: 0.2}, {Chord: 0.05, Angle: 0.5}} {
			du, dv := Steps(s, u0, u1, v0, v1, tol)
			nu, nv := int(math.Ceil((u1-u0)/du-1e-9)), int(math.Ceil((v1-v0)/dv-1e-9))
			if nu < 1 || nv < 1 || nu*nv > 1e6 {
				t.Errorf("%s at %+v: %d × %d facets", name, tol, nu, nv)
				continue
			}
			chord, angle := worstFacet(s, u0, v0, (u1-u0)/float64(nu), (v1-v0)/float64(nv), nu, nv)
			if tol.Chord > 0 && chord > 1.1*tol.Chord {
				t.Errorf("%s at %+v: %d × %d facets are %g mm off", name, tol, nu, nv, chord)
			}
			if tol.Angle > 0 && angle > 1.15*tol.Angle {
				t.Errorf("%s at %+v: %d × %d facets turn by %g", name, tol, nu, nv, angle)
			}
		}
	}
}

// worstFacet measures, over a net, the distance from the middle of each facet
// (the mean of its corners, and the middles of its sides) to the surface, and
// how much the normal turns along each side.
func worstFacet(s Surface, u0, v0, du, dv float64, nu, nv int) (chord, angle float64) {
	for k := 0; k < nu*nv; k += max(1, nu*nv/500) {
		u, v := u0+du*float64(k/nv), v0+dv*float64(k%nv)
		a, b, c, d := s.Point(u, v), s.Point(u+du, v), s.Point(u, v+dv), s.Point(u+du, v+dv)
		m := a.Add(b).Add(c).Add(d).Mul(0.25)
		chord = max(chord, off(s, m, Near(u+du/2, v+dv/2)),
			off(s, a.Add(b).Mul(0.5), Near(u+du/2, v)), off(s, a.Add(c).Mul(0.5), Near(u, v+dv/2)))
		n := s.Normal(u+1e-7*du, v+1e-7*dv)
		angle = max(angle, between(n, s.Normal(u+du*(1-1e-7), v+1e-7*dv)), between(n, s.Normal(u+1e-7*du, v+dv*(1-1e-7))))
	}
	return chord, angle
}

func off(s Surface, p mgl64.Vec3, h Hint) float64 { return s.Point(s.Param(p, h)).Sub(p).Len() }

func between(a, b mgl64.Vec3) float64 { return math.Atan2(a.Cross(b).Len(), a.Dot(b)) }
