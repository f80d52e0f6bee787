package surface

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/curve"
)

// traces are curves in parameter planes: round a cylinder, up it, twice round it
// as a helix, across the seam, over a B-spline surface, and in degrees.
func traces() map[string]Trace {
	f := tilted()
	cyl := must(NewCylinder(f, 8))
	line := func(x, y, dx, dy float64) curve.Curve {
		return must(curve.NewLine(mgl64.Vec3{x, y}, mgl64.Vec3{dx, dy}))
	}
	wave := must(curve.NewBSpline(3, []mgl64.Vec3{{5, 0}, {6, 4}, {7, -3}, {8, 2}, {9, 3}}, nil,
		[]float64{0, 0, 0, 0, 1, 2, 2, 2, 2}, false))
	inside := must(curve.NewBSpline(2, []mgl64.Vec3{{0.5, -0.5}, {2, 1.8}, {4.5, 0.2}}, nil, []float64{0, 0, 0, 1, 1, 1}, false))
	return map[string]Trace{
		"round":       must(NewTrace(cyl, line(0.5, 3, 1, 0), 1, 1)),
		"up":          must(NewTrace(cyl, line(0.5, 3, 0, 1), 1, 1)),
		"helix":       must(NewTrace(cyl, line(0, 0, 1, 0.5), 1, 1)),
		"degrees":     must(NewTrace(cyl, line(30, 0.3, -1, 0), math.Pi/180, 10)),
		"tube":        must(NewTrace(must(NewTorus(f, 20, 6)), line(1, 0, 0, 1), 1, 1)),
		"across seam": must(NewTrace(cyl, wave, 1, 1)),
		"on spline":   must(NewTrace(sheet(true), inside, 1, 1)),
	}
}

func TestTraces(t *testing.T) {
	for name, c := range traces() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				t0, t1 := c.Domain()
				if math.IsInf(t0, 0) {
					t0, t1 = -12, 12
				}
				s := t0 + (t1-t0)*rapid.Float64Range(0.01, 0.99).Draw(t, "t")
				h := 1e-5 * (t1 - t0)
				p := c.Point(s)
				u, v := c.Surface().Param(p, Hint{})
				if d := c.Surface().Point(u, v).Sub(p).Len(); d > 1e-9 {
					t.Fatalf("point is %g mm off the surface", d)
				}
				d1, d2 := c.Derivatives(s)
				w1 := c.Point(s + h).Sub(c.Point(s - h)).Mul(1 / (2 * h))
				w2 := c.Point(s + h).Add(c.Point(s - h)).Sub(p.Mul(2)).Mul(1 / (h * h))
				if d1.Sub(w1).Len() > 1e-4*(1+w1.Len()) || d2.Sub(w2).Len() > 1e-2*(1+w2.Len()) {
					t.Fatalf("derivatives %v, %v; differences give %v, %v", d1, d2, w1, w2)
				}
				if got := c.Param(p); c.Point(got).Sub(p).Len() > 1e-7 {
					t.Fatalf("Param(Point(%g)) = %g, %g mm away", s, got, c.Point(got).Sub(p).Len())
				}
			})
		})
	}
}

func TestTracesThatClose(t *testing.T) {
	for name, want := range map[string]float64{"round": 2 * math.Pi, "degrees": 360, "tube": 2 * math.Pi, "up": 0, "helix": 0, "on spline": 0} {
		if got := traces()[name].Period(); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: period %g, want %g", name, got, want)
		}
	}
}
