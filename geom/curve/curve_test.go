package curve

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

// tilted is a frame in general position.
func tilted() geom.Frame {
	f, err := geom.NewFrame(mgl64.Vec3{3, -7, 11}, mgl64.Vec3{1, 2, -2}, mgl64.Vec3{0.3, 1, 0.1})
	if err != nil {
		panic(err)
	}
	return f
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// wave is an open cubic with uneven knots and 9 poles.
func wave(weights bool) BSpline {
	var poles []mgl64.Vec3
	var w []float64
	for i := range 9 {
		x := float64(i)
		poles = append(poles, mgl64.Vec3{4 * x, 6 * math.Sin(1.3*x), 2*math.Cos(x) + 0.3*x})
		w = append(w, 1+0.5*math.Sin(x))
	}
	if !weights {
		w = nil
	}
	return must(NewBSpline(3, poles, w, []float64{0, 0, 0, 0, 1, 2.5, 2.5, 3, 4.5, 6, 6, 6, 6}, false))
}

// ringKnots and ring make a full circle of radius r in 9 poles of degree 2
// (Piegl & Tiller, The NURBS Book, 7.5).
var ringKnots = []float64{0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4}

func ring(f geom.Frame, r float64) BSpline {
	at := [][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}, {1, 0}}
	var poles []mgl64.Vec3
	var w []float64
	for i, a := range at {
		poles = append(poles, f.Point(mgl64.Vec3{r * a[0], r * a[1], 0}))
		w = append(w, []float64{1, math.Sqrt2 / 2}[i%2])
	}
	return must(NewBSpline(2, poles, w, ringKnots, false))
}

// floating is a periodic cubic with knots that are not clamped.
func floating() BSpline {
	var poles []mgl64.Vec3
	for i := range 11 {
		a := 2 * math.Pi * float64(i%8) / 8
		poles = append(poles, mgl64.Vec3{10 * math.Cos(a), 7 * math.Sin(a), math.Sin(2 * a)})
	}
	var k []float64
	for i := range 15 {
		k = append(k, float64(i-3))
	}
	return must(NewBSpline(3, poles, nil, k, true))
}

func zoo() map[string]Curve {
	f := tilted()
	circle := must(NewCircle(f, 12))
	line := must(NewLine(mgl64.Vec3{1, 2, 3}, mgl64.Vec3{2, -1, 5}))
	return map[string]Curve{
		"line":      line,
		"circle":    circle,
		"ellipse":   must(NewEllipse(f, 20, 7)),
		"tall":      must(NewEllipse(f, 3, 8)),
		"hyperbola": must(NewHyperbola(f, 4, 3)),
		"parabola":  must(NewParabola(f, 2.5)),
		"wave":      wave(false),
		"rational":  wave(true),
		"ring":      ring(f, 15),
		"floating":  floating(),
		"polyline":  must(NewPolyline([]mgl64.Vec3{{0, 0, 0}, {10, 0, 0}, {10, 5, 0}, {0, 5, 3}})),
		"beside":    must(NewOffset(wave(false), 1.5, mgl64.Vec3{0, 0.2, 1})),
		"belt":      must(NewOffset(circle, 2, mgl64.Vec3{0.1, 0.3, 1})),
		"arc":       must(NewTrimmed(circle, 5, 8)),
		"backarc":   must(NewTrimmed(circle, 8, 5)),
		"chain": must(NewComposite([]Curve{
			must(NewTrimmed(circle, 0, 2)),
			must(NewPolyline([]mgl64.Vec3{circle.Point(2), {-5, 20, 0}, wave(false).Point(0)})),
			wave(false)})),
	}
}

// drawT picks a parameter of the domain, away from places where a derivative
// may jump.
func drawT(t *rapid.T, c Curve) float64 {
	t0, t1 := c.Domain()
	if math.IsInf(t0, 0) {
		t0, t1 = -3, 3
	}
	x := t0 + (t1-t0)*rapid.Float64Range(0.001, 0.999).Draw(t, "t")
	for _, b := range corners(c) {
		if math.Abs(x-b) < 1e-3*(t1-t0) {
			x = b + math.Copysign(1e-3, (t0+t1)/2-b)*(t1-t0)
		}
	}
	return x
}

func TestDerivatives(t *testing.T) {
	for name, c := range zoo() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				const h = 1e-5
				x := drawT(t, c)
				d1, d2 := c.Derivatives(x)
				want := c.Point(x + h).Sub(c.Point(x - h)).Mul(1 / (2 * h))
				if d := d1.Sub(want).Len(); !(d <= 1e-5*(1+want.Len())) {
					t.Fatalf("dP/dt at %g = %v, differences give %v", x, d1, want)
				}
				a, _ := c.Derivatives(x + h)
				b, _ := c.Derivatives(x - h)
				want = a.Sub(b).Mul(1 / (2 * h))
				if d := d2.Sub(want).Len(); !(d <= 1e-3*(1+want.Len())) {
					t.Fatalf("d²P/dt² at %g = %v, differences give %v", x, d2, want)
				}
			})
		})
	}
}

// A point of the curve comes back, and the parameter too, as none of the
// curves meets itself but at its ends.
func TestParamOfPointsOnCurve(t *testing.T) {
	for name, c := range zoo() {
		t.Run(name, func(t *testing.T) {
			t0, _ := c.Domain()
			rapid.Check(t, func(t *rapid.T) {
				x := drawT(t, c)
				p := c.Point(x)
				got := c.Param(p)
				if d := c.Point(got).Sub(p).Len(); !(d <= 1e-8) {
					t.Fatalf("Param(P(%g)) = %g, %g mm off", x, got, d)
				}
				if period := c.Period(); period > 0 && !(got >= t0 && got < t0+period) {
					t.Fatalf("Param = %g, outside one turn from %g", got, t0)
				}
				d1, _ := c.Derivatives(x)
				if !(math.Abs(got-x)*d1.Len() <= 1e-6) {
					t.Fatalf("Param(P(%g)) = %g", x, got)
				}
			})
		})
	}
}

// No place of a dense set is nearer than the foot point.
func TestParamIsNearest(t *testing.T) {
	for name, c := range zoo() {
		if name == "chain" || name == "arc" || name == "backarc" {
			continue // ends of trimmed curves are asked for on the curve only
		}
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				near := c.Point(drawT(t, c))
				off := rapid.Float64Range(-6, 6)
				p := near.Add(mgl64.Vec3{off.Draw(t, "x"), off.Draw(t, "y"), off.Draw(t, "z")})
				d := c.Point(c.Param(p)).Sub(p).Len()
				t0, t1 := c.Domain()
				if math.IsInf(t0, 0) {
					t0, t1 = -5, 5
				}
				for i := range 2001 {
					x := t0 + (t1-t0)*float64(i)/2000
					if e := c.Point(x).Sub(p).Len(); e < d-1e-9 {
						t.Fatalf("foot of %v at %g is %g away, but P(%g) only %g", p, c.Param(p), d, x, e)
					}
				}
			})
		})
	}
}

// basis is the recursive definition of the shape functions (de Boor, Cox).
func basis(u []float64, i, p int, t float64) float64 {
	if p == 0 {
		if u[i] <= t && t < u[i+1] {
			return 1
		}
		return 0
	}
	var s float64
	if d := u[i+p] - u[i]; d > 0 {
		s += (t - u[i]) / d * basis(u, i, p-1, t)
	}
	if d := u[i+p+1] - u[i+1]; d > 0 {
		s += (u[i+p+1] - t) / d * basis(u, i+1, p-1, t)
	}
	return s
}

func TestBSplineIsItsDefinition(t *testing.T) {
	for name, c := range map[string]BSpline{"wave": wave(false), "rational": wave(true), "floating": floating(), "ring": ring(tilted(), 3)} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				t0, t1 := c.Domain()
				x := t0 + (t1-t0)*rapid.Float64Range(0, 1-1e-12).Draw(t, "t")
				var sum mgl64.Vec3
				var weight float64
				for i, p := range c.Poles() {
					n := basis(c.Knots(), i, c.Degree(), x)
					if w := c.Weights(); w != nil {
						n *= w[i]
					}
					sum, weight = sum.Add(p.Mul(n)), weight+n
				}
				want := sum.Mul(1 / weight)
				if d := c.Point(x).Sub(want).Len(); !(d <= 1e-12*(1+want.Len())) {
					t.Fatalf("P(%g) = %v, definition gives %v", x, c.Point(x), want)
				}
			})
		})
	}
}

// Every degree up to the greatest: a Bernstein basis has closed formulas.
func TestBasisOfEveryDegree(t *testing.T) {
	for p := 1; p <= MaxDegree; p++ {
		u := make([]float64, 2*p+2)
		for i := p + 1; i < len(u); i++ {
			u[i] = 1
		}
		k := must(NewKnots(p, p+1, u))
		bern := func(n, i int, t float64) float64 {
			if i < 0 || i > n {
				return 0
			}
			return binomial(n, i) * math.Pow(t, float64(i)) * math.Pow(1-t, float64(n-i))
		}
		const x = 0.37
		var b Basis
		k.All(k.Span(x), x, &b)
		q := float64(p)
		for i := range p + 1 {
			n := bern(p, i, x)
			d1 := q * (bern(p-1, i-1, x) - bern(p-1, i, x))
			d2 := 0.0
			if p > 1 {
				d2 = q * (q - 1) * (bern(p-2, i-2, x) - 2*bern(p-2, i-1, x) + bern(p-2, i, x))
			}
			if !(math.Abs(b.N[i]-n) < 1e-13 && math.Abs(b.D1[i]-d1) < 1e-12*q && math.Abs(b.D2[i]-d2) < 1e-12*q*q) {
				t.Fatalf("degree %d, function %d: %g %g %g, want %g %g %g", p, i, b.N[i], b.D1[i], b.D2[i], n, d1, d2)
			}
		}
	}
}

func binomial(n, k int) float64 {
	r := 1.0
	for i := range k {
		r = r * float64(n-i) / float64(i+1)
	}
	return r
}

// The rational quarter circle: x = (1-t²)/(1+t²), y = 2t/(1+t²) with weights
// 1, 1, 2 (Piegl & Tiller, example 1.13).
func TestRationalQuarterCircleIsExact(t *testing.T) {
	c := must(NewBSpline(2, []mgl64.Vec3{{1, 0, 0}, {1, 1, 0}, {0, 1, 0}}, []float64{1, 1, 2}, []float64{0, 0, 0, 1, 1, 1}, false))
	for i := range 101 {
		x := float64(i) / 100
		want := mgl64.Vec3{(1 - x*x) / (1 + x*x), 2 * x / (1 + x*x), 0}
		if d := c.Point(x).Sub(want).Len(); d > 1e-15 {
			t.Errorf("P(%g) = %v, want %v", x, c.Point(x), want)
		}
		d1, _ := c.Derivatives(x)
		if got, want := d1.Len(), 2/(1+x*x); math.Abs(got-want) > 1e-14 {
			t.Errorf("speed at %g = %g, want %g", x, got, want)
		}
	}
}

func TestClosureIsFound(t *testing.T) {
	for name, want := range map[string]float64{
		"ring": 4, "floating": 8, "wave": 0, "circle": 2 * math.Pi, "polyline": 0, "arc": 0, "chain": 0,
	} {
		if got := zoo()[name].Period(); got != want {
			t.Errorf("%s: period %g, want %g", name, got, want)
		}
	}
	c := floating()
	for _, x := range []float64{0.3, 5, 7.99} {
		if d := c.Point(x).Sub(c.Point(x - 8)).Len(); d > 1e-12 {
			t.Errorf("P(%g) and a turn before are %g mm apart", x, d)
		}
	}
}

// Trimmed pieces that run against their base start where the base is at t0.
func TestTrimmedBackwards(t *testing.T) {
	circle := must(NewCircle(tilted(), 12))
	c := must(NewTrimmed(circle, 8, 5))
	t0, t1 := c.Domain()
	if t0 != 5 || t1 != 8 {
		t.Fatalf("domain %g..%g, want 5..8", t0, t1)
	}
	if d := c.Point(t0).Sub(circle.Point(8)).Len(); d > 1e-12 {
		t.Errorf("start is %g mm from the base at 8", d)
	}
	if d := c.Point(t1).Sub(circle.Point(5)).Len(); d > 1e-12 {
		t.Errorf("end is %g mm from the base at 5", d)
	}
}

func TestRefusals(t *testing.T) {
	f, nan := tilted(), math.NaN()
	line := must(NewLine(mgl64.Vec3{}, mgl64.Vec3{1, 0, 0}))
	poles := []mgl64.Vec3{{0, 0, 0}, {1, 0, 0}, {2, 1, 0}}
	second := func(_ any, err error) error { return err }
	for name, err := range map[string]error{
		"line without direction":   second(NewLine(mgl64.Vec3{}, mgl64.Vec3{})),
		"line from nowhere":        second(NewLine(mgl64.Vec3{nan, 0, 0}, mgl64.Vec3{1, 0, 0})),
		"circle of radius 0":       second(NewCircle(f, 0)),
		"circle of NaN":            second(NewCircle(f, nan)),
		"circle without frame":     second(NewCircle(geom.Frame{}, 1)),
		"ellipse of infinity":      second(NewEllipse(f, 1, math.Inf(1))),
		"hyperbola negative":       second(NewHyperbola(f, -1, 1)),
		"parabola of focal 0":      second(NewParabola(f, 0)),
		"polyline of one point":    second(NewPolyline(poles[:1])),
		"polyline in one place":    second(NewPolyline([]mgl64.Vec3{{1, 1, 1}, {1, 1, 1}})),
		"trim of nothing":          second(NewTrimmed(line, 1, 1)),
		"trim to infinity":         second(NewTrimmed(line, 1, math.Inf(1))),
		"trim beyond":              second(NewTrimmed(wave(false), 1, 9)),
		"trim of two turns":        second(NewTrimmed(ring(f, 1), 0, 8)),
		"chain of none":            second(NewComposite(nil)),
		"chain of endless parts":   second(NewComposite([]Curve{line})),
		"too few knots":            second(NewBSpline(2, poles, nil, []float64{0, 0, 0, 1, 1}, false)),
		"knots falling":            second(NewBSpline(2, poles, nil, []float64{0, 0, 0, 1, 1, 0.5}, false)),
		"knots all one":            second(NewBSpline(2, poles, nil, []float64{1, 1, 1, 1, 1, 1}, false)),
		"knot NaN":                 second(NewBSpline(2, poles, nil, []float64{0, 0, nan, 1, 1, 1}, false)),
		"degree 0":                 second(NewBSpline(0, poles, nil, []float64{0, 1, 2, 3}, false)),
		"degree beyond the poles":  second(NewBSpline(3, poles, nil, []float64{0, 0, 0, 0, 1, 1, 1}, false)),
		"weight 0":                 second(NewBSpline(2, poles, []float64{1, 0, 1}, []float64{0, 0, 0, 1, 1, 1}, false)),
		"weight times pole beyond": second(NewBSpline(2, []mgl64.Vec3{{}, {1e200, 0, 0}, {1, 1, 0}}, []float64{1, 1e200, 1}, []float64{0, 0, 0, 1, 1, 1}, false)),
		"degree of a million":      second(NewBSpline(1e6, poles, nil, []float64{0, 0, 0, 1, 1, 1}, false)),
		"degree negative":          second(NewBSpline(-3, poles, nil, nil, false)),
		"knot repeated too often":  second(NewBSpline(1, poles, nil, []float64{0, 1, 1, 1, 2}, false)),
		"knots to infinity":        second(NewBSpline(2, poles, nil, []float64{0, 0, 0, 1, 1, math.Inf(1)}, false)),
		"weight NaN":               second(NewBSpline(2, poles, []float64{1, nan, 1}, []float64{0, 0, 0, 1, 1, 1}, false)),
		"offset by infinity":       second(NewOffset(line, math.Inf(1), mgl64.Vec3{0, 0, 1})),
		"offset without side":      second(NewOffset(line, 1, mgl64.Vec3{})),
		"trim from NaN":            second(NewTrimmed(line, nan, 1)),
		"weights missing":          second(NewBSpline(2, poles, []float64{1, 1}, []float64{0, 0, 0, 1, 1, 1}, false)),
		"pole NaN":                 second(NewBSpline(1, []mgl64.Vec3{{nan, 0, 0}, {1, 0, 0}}, nil, []float64{0, 0, 1, 1}, false)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// Nothing that goes in makes a curve panic or hang.
func TestOddParameters(t *testing.T) {
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 1e17}
	for _, c := range zoo() {
		for _, x := range odd {
			c.Point(x)
			c.Derivatives(x)
			c.Param(mgl64.Vec3{x, 0, 1})
			Cut(c, x, 1, geom.Tolerance{Chord: 0.1})
			Cut(c, 0, 1, geom.Tolerance{Chord: x, Angle: x})
		}
	}
}

func BenchmarkBSpline(b *testing.B) {
	for name, c := range map[string]BSpline{"polynomial": wave(false), "rational": wave(true)} {
		b.Run(name+"/Point", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Point(3.3)
			}
		})
		b.Run(name+"/Derivatives", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Derivatives(3.3)
			}
		})
		p := c.Point(3.3)
		b.Run(name+"/Param", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Param(p)
			}
		})
	}
}
