package robust

import (
	"math"
	"math/big"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"
)

// ratOrient and ratCircle are the definitions in rational numbers, written
// from the determinants and not from the code under test.
func ratOrient(a, b, c mgl64.Vec2) int {
	r := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	m := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	s := m(r(a[0]), r(b[1]))
	s.Add(s, m(r(b[0]), r(c[1]))).Add(s, m(r(c[0]), r(a[1])))
	s.Sub(s, m(r(a[1]), r(b[0]))).Sub(s, m(r(b[1]), r(c[0]))).Sub(s, m(r(c[1]), r(a[0])))
	return s.Sign()
}

func ratCircle(p ...mgl64.Vec2) int {
	var m [4][4]*big.Rat
	for i, q := range p {
		x, y := new(big.Rat).SetFloat64(q[0]), new(big.Rat).SetFloat64(q[1])
		l := new(big.Rat).Add(new(big.Rat).Mul(x, x), new(big.Rat).Mul(y, y))
		m[i] = [4]*big.Rat{x, y, l, big.NewRat(1, 1)}
	}
	return ratDet(m, []int{0, 1, 2, 3}, 0).Sign()
}

func ratDet(m [4][4]*big.Rat, rows []int, col int) *big.Rat {
	if len(rows) == 0 {
		return big.NewRat(1, 1)
	}
	s := new(big.Rat)
	for i, r := range rows {
		rest := append(append([]int{}, rows[:i]...), rows[i+1:]...)
		t := new(big.Rat).Mul(m[r][col], ratDet(m, rest, col+1))
		if i%2 == 1 {
			t.Neg(t)
		}
		s.Add(s, t)
	}
	return s
}

// near draws points that make trouble: on a grid, on a line or circle up to
// the last bits, of very different sizes, or anywhere.
func near(t *rapid.T, n int) []mgl64.Vec2 {
	p := make([]mgl64.Vec2, n)
	kind := rapid.IntRange(0, 4).Draw(t, "kind")
	scale := math.Ldexp(1, rapid.SampledFrom([]int{0, 0, 0, -30, 40, -520, 500}).Draw(t, "scale"))
	for i := range p {
		switch kind {
		case 0: // grid
			p[i] = mgl64.Vec2{float64(rapid.IntRange(-3, 3).Draw(t, "i")), float64(rapid.IntRange(-3, 3).Draw(t, "j"))}
		case 1: // near a line
			x := rapid.Float64Range(-1, 1).Draw(t, "x")
			p[i] = mgl64.Vec2{x, nudge(t, 0.3*x+0.1)}
		case 2: // near a circle
			s, c := math.Sincos(rapid.Float64Range(0, 7).Draw(t, "a"))
			p[i] = mgl64.Vec2{nudge(t, 5+c), nudge(t, s)}
		case 3: // far from the origin, close together
			p[i] = mgl64.Vec2{1e6 + float64(rapid.IntRange(0, 9).Draw(t, "i"))*0.1, 1e6 + float64(rapid.IntRange(0, 9).Draw(t, "j"))*0.1}
		default:
			p[i] = mgl64.Vec2{rapid.Float64Range(-1e9, 1e9).Draw(t, "x"), rapid.Float64Range(-1e-9, 1e9).Draw(t, "y")}
		}
		p[i] = p[i].Mul(scale)
	}
	return p
}

func nudge(t *rapid.T, x float64) float64 {
	for range rapid.IntRange(0, 3).Draw(t, "ulps") {
		x = math.Nextafter(x, 9)
	}
	return x
}

func TestOrientIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := near(t, 3)
		want := ratOrient(p[0], p[1], p[2])
		if got := Orient2D(p[0], p[1], p[2]); got != want {
			t.Fatalf("Orient2D%v = %d, exactly %d", p, got, want)
		}
		if got := orientExact(p[0], p[1], p[2]); got != want {
			t.Fatalf("orientExact%v = %d, exactly %d", p, got, want)
		}
		if got := Orient2D(p[1], p[0], p[2]); got != -want {
			t.Fatalf("Orient2D of swapped points = %d, want %d", got, -want)
		}
	})
}

// What is surely inside is exactly inside, and the determinant is off by no more
// than its bound.
func TestSurelyInCircleIsNeverWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := near(t, 4)
		want := ratCircle(p...)
		if SurelyInCircle(p[0], p[1], p[2], p[3]) && want != 1 {
			t.Fatalf("SurelyInCircle%v, exactly %d", p, want)
		}
		if det, bound := circle(&p[0], &p[1], &p[2], &p[3]); det > bound && want != 1 || -det > bound && want != -1 {
			t.Fatalf("circle%v = %g within %g, exactly %d", p, det, bound, want)
		}
	})
}

func TestKnownSigns(t *testing.T) {
	o, x, y := mgl64.Vec2{}, mgl64.Vec2{1, 0}, mgl64.Vec2{0, 1}
	if Orient2D(o, x, y) != 1 || Orient2D(o, y, x) != -1 || Orient2D(o, x, mgl64.Vec2{7, 0}) != 0 {
		t.Error("Orient2D: anticlockwise is +1")
	}
	if !SurelyInCircle(o, x, y, mgl64.Vec2{0.5, 0.5}) {
		t.Error("SurelyInCircle: the middle is")
	}
	for _, p := range []mgl64.Vec2{{1, 1}, {2, 2}, {math.Inf(1), 0}} {
		if SurelyInCircle(o, x, y, p) {
			t.Errorf("SurelyInCircle: %v is not", p)
		}
	}
	nan := mgl64.Vec2{math.NaN(), 0}
	if Orient2D(nan, x, y) != 0 {
		t.Error("points that are not finite: want 0")
	}
	// The extremes of float64: sums overflow and products underflow.
	big, small := math.MaxFloat64, math.SmallestNonzeroFloat64
	if Orient2D(mgl64.Vec2{-big, -big}, mgl64.Vec2{big, big}, mgl64.Vec2{0, small}) != 1 {
		t.Error("Orient2D at the ends of the range")
	}
}

func BenchmarkOrient2D(b *testing.B) {
	for _, c := range []struct {
		name string
		p    [3]mgl64.Vec2
	}{
		{"filter", [3]mgl64.Vec2{{0.1, 0.2}, {3, 0.7}, {1, 5}}},
		{"collinear", [3]mgl64.Vec2{{0.1, 0.3}, {0.2, 0.6}, {0.4, 1.2}}},
		{"horizontal", [3]mgl64.Vec2{{0.1, 0.3}, {0.2, 0.3}, {0.7, 0.3}}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				Orient2D(c.p[0], c.p[1], c.p[2])
			}
		})
	}
	b.Run("exact", func(b *testing.B) {
		for b.Loop() {
			orientExact(mgl64.Vec2{0.1, 0.3}, mgl64.Vec2{0.2, 0.6}, mgl64.Vec2{0.4, 1.2})
		}
	})
}

func BenchmarkSurelyInCircle(b *testing.B) {
	p, q, r, s := mgl64.Vec2{0.1, 0.2}, mgl64.Vec2{3, 0.7}, mgl64.Vec2{1, 5}, mgl64.Vec2{9, 9}
	for b.Loop() {
		SurelyInCircle(p, q, r, s)
	}
}
