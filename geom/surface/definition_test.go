package surface

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

// drawKnots makes knots with any multiplicity inside, clamped at both ends or
// simple all along.
func drawKnots(t *rapid.T, p, poles int) []float64 {
	step := rapid.Float64Range(0.3, 2)
	at := rapid.Float64Range(-5, 5).Draw(t, "first knot")
	var u []float64
	if !rapid.Bool().Draw(t, "clamped") {
		for range poles + p + 1 {
			u = append(u, at)
			at += step.Draw(t, "step")
		}
		return u
	}
	repeat := func(n int) {
		for range n {
			u = append(u, at)
		}
		at += step.Draw(t, "step")
	}
	repeat(p + 1)
	for left := poles - p - 1; left > 0; left = poles - len(u) {
		repeat(rapid.IntRange(1, min(p, left)).Draw(t, "multiplicity"))
	}
	repeat(p + 1)
	return u
}

// drawSpline makes a B-spline surface of degrees 1 to 4.
func drawSpline(t *rapid.T) BSpline {
	p, q := rapid.IntRange(1, 4).Draw(t, "p"), rapid.IntRange(1, 4).Draw(t, "q")
	nu, nv := p+1+rapid.IntRange(0, 3).Draw(t, "more u"), q+1+rapid.IntRange(0, 3).Draw(t, "more v")
	off, weight := rapid.Float64Range(-2, 2), rapid.Float64Range(0.3, 3)
	rational := rapid.Bool().Draw(t, "rational")
	var poles [][]mgl64.Vec3
	var weights [][]float64
	for i := range nu {
		var row []mgl64.Vec3
		var w []float64
		for j := range nv {
			row = append(row, mgl64.Vec3{10 * float64(i), 10 * float64(j), 0}.Add(
				mgl64.Vec3{off.Draw(t, "x"), off.Draw(t, "y"), 3 * off.Draw(t, "z")}))
			w = append(w, weight.Draw(t, "weight"))
		}
		poles, weights = append(poles, row), append(weights, w)
	}
	if !rational {
		weights = nil
	}
	return must(NewBSpline(p, q, poles, weights, drawKnots(t, p, nu), drawKnots(t, q, nv)))
}

// lowered is the derivative of a shape function out of those of one degree less
// (de Boor, A Practical Guide to Splines, X).
func lowered(u []float64, i, p int, t float64, of func([]float64, int, int, float64) float64) float64 {
	if p == 0 {
		return 0
	}
	var s float64
	if d := u[i+p] - u[i]; d > 0 {
		s += float64(p) / d * of(u, i, p-1, t)
	}
	if d := u[i+p+1] - u[i+1]; d > 0 {
		s -= float64(p) / d * of(u, i+1, p-1, t)
	}
	return s
}

func basis1(u []float64, i, p int, t float64) float64 { return lowered(u, i, p, t, basis) }
func basis2(u []float64, i, p int, t float64) float64 { return lowered(u, i, p, t, basis1) }

// defined sums up the poles with derivatives of the given orders, in
// homogeneous coordinates.
func defined(s BSpline, u, v float64, du, dv int) mgl64.Vec4 {
	order := [...]func([]float64, int, int, float64) float64{basis, basis1, basis2}
	p, q := s.Degrees()
	ku, kv := s.Knots()
	var h mgl64.Vec4
	for i, row := range s.Poles() {
		for j, pole := range row {
			w := 1.0
			if s.Weights() != nil {
				w = s.Weights()[i][j]
			}
			h = h.Add(pole.Mul(w).Vec4(w).Mul(order[du](ku, i, p, u) * order[dv](kv, j, q, v)))
		}
	}
	return h
}

// Any B-spline surface is its recursive definition and has its derivatives. The
// quotient's follow from P w = A by differentiating both sides (Leibniz).
func TestAnySplineIsItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpline(t)
		u, v := drawUV(t, s)
		a, au, av := defined(s, u, v, 0, 0), defined(s, u, v, 1, 0), defined(s, u, v, 0, 1)
		auu, auv, avv := defined(s, u, v, 2, 0), defined(s, u, v, 1, 1), defined(s, u, v, 0, 2)
		w := a[3]
		p := a.Vec3().Mul(1 / w)
		pu, pv := au.Vec3().Sub(p.Mul(au[3])).Mul(1/w), av.Vec3().Sub(p.Mul(av[3])).Mul(1/w)
		puu := auu.Vec3().Sub(pu.Mul(2 * au[3])).Sub(p.Mul(auu[3])).Mul(1 / w)
		puv := auv.Vec3().Sub(pu.Mul(av[3])).Sub(pv.Mul(au[3])).Sub(p.Mul(auv[3])).Mul(1 / w)
		pvv := avv.Vec3().Sub(pv.Mul(2 * av[3])).Sub(p.Mul(avv[3])).Mul(1 / w)
		du, dv := s.Derivatives(u, v)
		uu, uv, vv := s.SecondDerivatives(u, v)
		for _, k := range []struct {
			what      string
			got, want mgl64.Vec3
		}{{"P", s.Point(u, v), p}, {"∂u", du, pu}, {"∂v", dv, pv}, {"∂uu", uu, puu}, {"∂uv", uv, puv}, {"∂vv", vv, pvv}} {
			if d := k.got.Sub(k.want).Len(); !(d <= 1e-10*(100+k.want.Len())) {
				t.Fatalf("%s(%g, %g) = %v, the definition gives %v", k.what, u, v, k.got, k.want)
			}
		}
	})
}

// Points of any B-spline surface are found again, without a hint and from a bad
// one.
func TestAnySplineIsInverted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpline(t)
		u, v := drawUV(t, s)
		p := s.Point(u, v)
		for _, h := range []Hint{{}, Near(drawUV(t, s))} {
			gu, gv := s.Param(p, h)
			if d := s.Point(gu, gv).Sub(p).Len(); !(d <= 1e-7) {
				t.Fatalf("P(%g, %g) comes back as (%g, %g), %g mm off", u, v, gu, gv, d)
			}
		}
	})
}

// A rigid motion of surface and point leaves the distance between them.
func TestRigidMotionKeepsDistances(t *testing.T) {
	still := zoo()
	rapid.Check(t, func(t *rapid.T) {
		x, far := rapid.Float64Range(-1, 1), rapid.Float64Range(-1000, 1000)
		v := func(r *rapid.Generator[float64], name string) mgl64.Vec3 {
			return mgl64.Vec3{r.Draw(t, name), r.Draw(t, name), r.Draw(t, name)}
		}
		f, err := geom.NewFrame(v(far, "to"), v(x, "z"), v(x, "x"))
		if err != nil {
			t.Skip("no direction")
		}
		m := f.Transform()
		names := slices.Sorted(maps.Keys(still))
		moved := zooAt(m)
		for range 4 {
			name := rapid.SampledFrom(names).Draw(t, "surface")
			s, k := still[name], moved[name]
			p := s.Point(drawUV(t, s)).Add(v(x, "off"))
			a := s.Point(s.Param(p, Hint{})).Sub(p).Len()
			b := k.Point(k.Param(m.Point(p), Hint{})).Sub(m.Point(p)).Len()
			if math.Abs(a-b) > 1e-6 {
				t.Fatalf("%v is %g mm from the %s, moved %g mm", p, a, name, b)
			}
		}
	})
}
