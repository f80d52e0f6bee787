package curve

import (
	"fmt"
	"math"
	"slices"
)

// MaxDegree is the greatest degree of a B-spline that is evaluated. Files
// rarely go beyond 9; the bound keeps the working arrays on the stack.
const MaxDegree = 25

// Knots is a knot vector with its degree: the shape functions of a B-spline
// in one parameter (ISO 10303-42, b_spline_curve). It is immutable.
type Knots struct {
	p int       // degree
	n int       // number of poles
	u []float64 // with repetitions, len n+p+1
}

// NewKnots checks a knot vector, given with repetitions, for a number of
// poles. It need not be clamped: the curve lives on u[degree]..u[poles].
func NewKnots(degree, poles int, u []float64) (Knots, error) {
	switch {
	case degree < 1 || degree > MaxDegree:
		return Knots{}, fmt.Errorf("degree %d: want 1 to %d", degree, MaxDegree)
	case poles < degree+1:
		return Knots{}, fmt.Errorf("%d poles for degree %d: want at least %d", poles, degree, degree+1)
	case len(u) != poles+degree+1:
		return Knots{}, fmt.Errorf("%d knots for %d poles of degree %d: want %d", len(u), poles, degree, poles+degree+1)
	}
	for i, x := range u {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return Knots{}, fmt.Errorf("knot %d is not finite", i)
		}
		if i > 0 && x < u[i-1] {
			return Knots{}, fmt.Errorf("knot %d is %g, less than %g before it", i, x, u[i-1])
		}
		if j := i - degree - 1; j > 0 && u[j] == x {
			return Knots{}, fmt.Errorf("knot %g is repeated more than %d times", x, degree+1)
		}
	}
	if !(u[poles]-u[degree] > 0) || math.IsInf(u[poles]-u[degree], 0) {
		return Knots{}, fmt.Errorf("knots leave no parameter range")
	}
	return Knots{p: degree, n: poles, u: slices.Clone(u)}, nil
}

// Degree is the polynomial degree of a span.
func (k *Knots) Degree() int { return k.p }

// Poles is the number of poles that belong to the knots.
func (k *Knots) Poles() int { return k.n }

// Vector is the knots with repetitions; not to be changed.
func (k *Knots) Vector() []float64 { return k.u }

// Domain is the range on which the shape functions add up to one.
func (k *Knots) Domain() (t0, t1 float64) { return k.u[k.p], k.u[k.n] }

// Distinct lists the different knots of the domain, ends included.
func (k *Knots) Distinct() []float64 {
	return slices.Compact(slices.Clone(k.u[k.p : k.n+1]))
}

// Corners lists the inner knots where the curve may have a corner: those
// repeated degree times or more.
func (k *Knots) Corners() []float64 {
	var out []float64
	t0, t1 := k.Domain()
	for i := 0; i < len(k.u); {
		j := i + 1
		for j < len(k.u) && k.u[j] == k.u[i] {
			j++
		}
		if j-i >= k.p && k.u[i] > t0 && k.u[i] < t1 {
			out = append(out, k.u[i])
		}
		i = j
	}
	return out
}

// Span is the index i with u[i] <= t < u[i+1] and u[i] < u[i+1] inside the
// domain; the last such span for its end (Piegl & Tiller, The NURBS Book,
// A2.1). Every t, even NaN, gets a span of the domain.
func (k *Knots) Span(t float64) int {
	lo, hi := k.p, k.n // u[lo] <= t < u[hi]
	if t >= k.u[k.n] {
		t = k.u[k.n]
		for hi > lo+1 && k.u[hi-1] == t {
			hi--
		}
		return hi - 1
	}
	for hi-lo > 1 {
		mid := int(uint(lo+hi) >> 1)
		if t < k.u[mid] {
			hi = mid
		} else {
			lo = mid
		}
	}
	for lo < k.n-1 && k.u[lo] == k.u[lo+1] { // t before the domain, or NaN
		lo++
	}
	return lo
}

// Shape holds one number for each of the degree+1 shape functions that do not
// vanish on a span.
type Shape [MaxDegree + 1]float64

// Values fills n at t in span i (Piegl & Tiller A2.2).
func (k *Knots) Values(i int, t float64, n *Shape) {
	n[0] = 1
	for j := 1; j <= k.p; j++ {
		k.raise(i, j, t, n)
	}
}

// Slopes fills n with values and d with first derivatives at t in span i; see
// All.
func (k *Knots) Slopes(i int, t float64, n, d *Shape) {
	n[0] = 1
	for j := 1; j < k.p; j++ {
		k.raise(i, j, t, n)
	}
	copy(d[:k.p], n[:k.p])
	k.differentiate(i, k.p, d)
	k.raise(i, k.p, t, n)
}

// raise turns the values of degree j-1 into those of degree j.
func (k *Knots) raise(i, j int, t float64, n *Shape) {
	lo := k.u[i+1-j : i+1] // u[i+1-j] … u[i]
	hi := k.u[i+1 : i+1+j] // u[i+1] … u[i+j]
	saved := 0.0
	for r := range j {
		l, h := lo[r], hi[r]
		tmp := n[r] / (h - l)
		n[r] = saved + (h-t)*tmp
		saved = (t - l) * tmp
	}
	n[j] = saved
}

// Basis holds values and the first two derivatives.
type Basis struct{ N, D1, D2 Shape }

// All fills b with values and derivatives at t in span i. Differentiation
// lowers the degree by one (Piegl & Tiller eq. 2.7), so the values of degree
// p-1 and p-2, which come by on the way up, are all it takes.
func (k *Knots) All(i int, t float64, b *Basis) {
	p := k.p
	b.N[0] = 1
	b.D2[0] = 0
	for j := 1; j < p; j++ {
		if j == p-1 {
			copy(b.D2[:j], b.N[:j]) // degree p-2
			k.differentiate(i, j, &b.D2)
		}
		k.raise(i, j, t, &b.N)
	}
	copy(b.D1[:p], b.N[:p])
	k.differentiate(i, p, &b.D1)
	if p > 1 {
		k.differentiate(i, p, &b.D2)
	} else {
		b.D2[0], b.D2[1] = 0, 0
	}
	k.raise(i, p, t, &b.N)
}

// differentiate turns j numbers that belong to degree j-1 into the j+1
// numbers of the derivative at degree j.
func (k *Knots) differentiate(i, j int, d *Shape) {
	before, q := 0.0, float64(j)
	for r := range j {
		x := q * d[r] / (k.u[i+r+1] - k.u[i-j+r+1])
		d[r] = before - x
		before = x
	}
	d[j] = before
}

// Wrap brings t into the domain: by whole turns where period is not 0, else
// to the nearest end. The ends themselves stay where they are.
func (k *Knots) Wrap(t, period float64) float64 {
	t0, t1 := k.Domain()
	return wrap(t, t0, t1, period)
}

func wrap(t, t0, t1, period float64) float64 {
	if t >= t0 && t <= t1 {
		return t
	}
	if period > 0 {
		t -= period * math.Floor((t-t0)/period)
	}
	return min(max(t, t0), t1)
}
