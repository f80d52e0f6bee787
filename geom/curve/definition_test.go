package curve

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

// drawKnots makes a knot vector for a number of poles: ends clamped or not, and
// inner knots of any multiplicity up to the degree.
func drawKnots(t *rapid.T, p, poles int) []float64 {
	step := rapid.Float64Range(0.2, 3)
	at := rapid.Float64Range(-10, 10).Draw(t, "first knot")
	u := make([]float64, 0, poles+p+1)
	if rapid.Bool().Draw(t, "clamped") {
		for range p + 1 {
			u = append(u, at)
		}
	}
	clamped := len(u) > 0
	for len(u) < poles+p+1 {
		at += step.Draw(t, "step")
		m := rapid.IntRange(1, p).Draw(t, "multiplicity")
		if left := poles + p + 1 - len(u); clamped && left <= p+1 || m > left {
			m = left
			if !clamped {
				m = min(m, p)
			}
		} else if clamped {
			m = min(m, left-p-1)
		}
		for range m {
			u = append(u, at)
		}
	}
	return u
}

// drawSpline makes any B-spline curve of degree 1 to 6.
func drawSpline(t *rapid.T) BSpline {
	p := rapid.IntRange(1, 6).Draw(t, "degree")
	n := p + 1 + rapid.IntRange(0, 6).Draw(t, "more poles")
	x := rapid.Float64Range(-50, 50)
	poles := make([]mgl64.Vec3, n)
	for i := range poles {
		poles[i] = mgl64.Vec3{20*float64(i) + x.Draw(t, "x")/4, x.Draw(t, "y"), x.Draw(t, "z")} // nowhere standing still
	}
	var w []float64
	if rapid.Bool().Draw(t, "rational") {
		for range n {
			w = append(w, rapid.Float64Range(0.2, 5).Draw(t, "weight"))
		}
	}
	b, err := NewBSpline(p, poles, w, drawKnots(t, p, n), false)
	if err != nil {
		t.Skip("an unclamped start of few knots leaves no range: ", err)
	}
	return b
}

// basis1 and basis2 are the derivatives of the shape functions: that of N(i,p)
// is p N(i,p-1) / (u[i+p] - u[i]) - p N(i+1,p-1) / (u[i+p+1] - u[i+1]), with
// nothing for a difference of zero (de Boor, A Practical Guide to Splines, X).
func basis1(u []float64, i, p int, t float64) float64 { return lowered(u, i, p, t, basis) }

func basis2(u []float64, i, p int, t float64) float64 {
	if p < 2 {
		return 0
	}
	return lowered(u, i, p, t, basis1)
}

func lowered(u []float64, i, p int, t float64, of func([]float64, int, int, float64) float64) float64 {
	var s float64
	if d := u[i+p] - u[i]; d > 0 {
		s += float64(p) / d * of(u, i, p-1, t)
	}
	if d := u[i+p+1] - u[i+1]; d > 0 {
		s -= float64(p) / d * of(u, i+1, p-1, t)
	}
	return s
}

// defined sums up the poles by the recursive definition: value and derivatives
// of wP and of w, and from those the quotient's.
func defined(b BSpline, x float64) (c, d1, d2 mgl64.Vec3) {
	var h [3]mgl64.Vec4
	for i, p := range b.Poles() {
		w := 1.0
		if b.Weights() != nil {
			w = b.Weights()[i]
		}
		q := p.Mul(w).Vec4(w)
		h[0] = h[0].Add(q.Mul(basis(b.Knots(), i, b.Degree(), x)))
		h[1] = h[1].Add(q.Mul(basis1(b.Knots(), i, b.Degree(), x)))
		h[2] = h[2].Add(q.Mul(basis2(b.Knots(), i, b.Degree(), x)))
	}
	w, w1, w2 := h[0][3], h[1][3], h[2][3]
	c = h[0].Vec3().Mul(1 / w)
	d1 = h[1].Vec3().Sub(c.Mul(w1)).Mul(1 / w)
	d2 = h[2].Vec3().Sub(d1.Mul(2 * w1)).Sub(c.Mul(w2)).Mul(1 / w)
	return c, d1, d2
}

// inside draws a parameter of the domain that is not its very end.
func inside(t *rapid.T, c Curve) float64 {
	t0, t1 := c.Domain()
	return t0 + (t1-t0)*rapid.Float64Range(0, 1-1e-9).Draw(t, "t")
}

// Any B-spline, of whatever knots, is its recursive definition and has its
// derivatives.
func TestAnySplineIsItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawSpline(t)
		x := inside(t, b)
		if rapid.Bool().Draw(t, "at a knot") {
			if d := b.k.Distinct(); len(d) > 1 {
				x = d[rapid.IntRange(0, len(d)-2).Draw(t, "knot")] // both take the span after it
			}
		}
		c, w1, w2 := defined(b, x)
		d1, d2 := b.Derivatives(x)
		for _, k := range []struct {
			what      string
			got, want mgl64.Vec3
		}{{"P", b.Point(x), c}, {"P'", d1, w1}, {"P''", d2, w2}} {
			if d := k.got.Sub(k.want).Len(); !(d <= 1e-10*(100+k.want.Len())) {
				t.Fatalf("%s(%g) = %v, the definition gives %v: knots %v", k.what, x, k.got, k.want, b.Knots())
			}
		}
	})
}

// A closed curve of knots that are not clamped goes on smoothly over its seam.
func TestPeriodicSplines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.IntRange(2, 5).Draw(t, "degree")
		n := p + 1 + rapid.IntRange(0, 5).Draw(t, "more poles") // different ones
		x := rapid.Float64Range(-50, 50)
		var poles []mgl64.Vec3
		for range n {
			poles = append(poles, mgl64.Vec3{x.Draw(t, "x"), x.Draw(t, "y"), x.Draw(t, "z")})
		}
		poles = append(poles, poles[:p]...)
		knots := make([]float64, len(poles)+p+1)
		for i := range knots {
			knots[i] = float64(i)
		}
		b := must(NewBSpline(p, poles, nil, knots, true))
		if b.Period() != float64(n) {
			t.Fatalf("period %g, want %d", b.Period(), n)
		}
		s := inside(t, b)
		if d := b.Point(s).Sub(b.Point(s - float64(n))).Len(); d > 1e-9 {
			t.Fatalf("P(%g) and P a turn before are %g mm apart", s, d)
		}
		t0, t1 := b.Domain()
		a, _ := b.Derivatives(t0)
		e, _ := b.Derivatives(t1)
		if d := a.Sub(e).Len(); d > 1e-9*(1+a.Len()) {
			t.Fatalf("tangents %v and %v at the seam", a, e)
		}
	})
}

// Points of any B-spline are found again.
func TestAnySplineIsInverted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawSpline(t)
		x := inside(t, b)
		p := b.Point(x)
		if d := b.Point(b.Param(p)).Sub(p).Len(); !(d <= 1e-7) {
			t.Fatalf("P(%g) comes back as %g, %g mm off: %v", x, b.Param(p), d, b.Poles())
		}
	})
}

// moved is a curve carried along by a rigid motion.
func moved(c Curve, m geom.Transform) Curve {
	frame := func(f geom.Frame) geom.Frame {
		return must(geom.NewFrame(m.Point(f.O), m.Dir(f.Z), m.Dir(f.X)))
	}
	all := func(p []mgl64.Vec3) []mgl64.Vec3 {
		out := make([]mgl64.Vec3, len(p))
		for i := range p {
			out[i] = m.Point(p[i])
		}
		return out
	}
	switch c := c.(type) {
	case Line:
		return must(NewLine(m.Point(c.Origin()), m.Dir(c.Dir())))
	case Circle:
		return must(NewCircle(frame(c.f), c.r))
	case Ellipse:
		a, b := c.HalfAxes()
		return must(NewEllipse(frame(c.Frame()), a, b))
	case Hyperbola:
		return must(NewHyperbola(frame(c.f), c.a, c.b))
	case Parabola:
		return must(NewParabola(frame(c.f), c.focal))
	case BSpline:
		return must(NewBSpline(c.Degree(), all(c.poles), c.weights, c.Knots(), c.declared))
	case Polyline:
		return must(NewPolyline(all(c.points)))
	case Offset:
		return must(NewOffset(moved(c.base, m), c.d, m.Dir(c.v)))
	case Trimmed:
		a, b := c.t0, c.t1
		if c.back {
			a, b = b, a
		}
		return must(NewTrimmed(moved(c.base, m), a, b))
	case Composite:
		var parts []Curve
		for _, p := range c.parts {
			parts = append(parts, moved(p, m))
		}
		return must(NewComposite(parts))
	}
	panic("a kind of curve that nobody moves")
}

// A rigid motion of curve and point leaves the distance between them.
func TestRigidMotionKeepsDistances(t *testing.T) {
	for name, c := range zoo() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				m := drawMotion(t)
				off := rapid.Float64Range(-3, 3)
				p := c.Point(drawT(t, c)).Add(mgl64.Vec3{off.Draw(t, "x"), off.Draw(t, "y"), off.Draw(t, "z")})
				k := moved(c, m)
				a, b := c.Point(c.Param(p)).Sub(p).Len(), k.Point(k.Param(m.Point(p))).Sub(m.Point(p)).Len()
				if math.Abs(a-b) > 1e-7 {
					t.Fatalf("%v is %g mm from the curve, moved %g mm", p, a, b)
				}
			})
		})
	}
}

func drawMotion(t *rapid.T) geom.Transform {
	x, far := rapid.Float64Range(-1, 1), rapid.Float64Range(-1000, 1000)
	v := func(r *rapid.Generator[float64], name string) mgl64.Vec3 {
		return mgl64.Vec3{r.Draw(t, name), r.Draw(t, name), r.Draw(t, name)}
	}
	f, err := geom.NewFrame(v(far, "to"), v(x, "z"), v(x, "x"))
	if err != nil {
		t.Skip("no direction")
	}
	return f.Transform()
}
