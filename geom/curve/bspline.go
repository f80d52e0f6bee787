package curve

import (
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// BSpline is a polynomial or rational B-spline curve over the domain of its
// knots (ISO 10303-42, b_spline_curve_with_knots, rational_b_spline_curve).
//
// A curve whose ends meet is closed even where nobody says so: its Period is
// then the length of the domain and parameters outside wrap. On an open curve
// a parameter outside counts as the nearest end.
type BSpline struct{ *bspline }

type bspline struct {
	k        Knots
	poles    []mgl64.Vec3
	weights  []float64 // nil where all are equal
	flat     []float64 // wx, wy, wz, w of each pole
	period   float64
	once     sync.Once
	starts   []Start // for Param
	declared bool
}

// Ends nearer than this are one point: writers give 6 to 10 digits behind the
// point, and a curve declared closed may be rounded more coarsely.
const (
	closeGap    = 1e-5 // mm
	declaredGap = 1e-2 // mm
)

// NewBSpline makes a curve from its poles in mm, weights (nil: all equal) and
// knots with repetitions, of which there are len(poles)+degree+1. closed says
// that the source calls the curve closed; it only widens the tolerance with
// which that is found out.
func NewBSpline(degree int, poles []mgl64.Vec3, weights, knots []float64, closed bool) (BSpline, error) {
	k, err := NewKnots(degree, len(poles), knots)
	if err != nil {
		return BSpline{}, fmt.Errorf("b-spline curve: %w", err)
	}
	flat, rational, err := Homogeneous(poles, weights)
	if err != nil {
		return BSpline{}, fmt.Errorf("b-spline curve: %w", err)
	}
	b := &bspline{k: k, poles: slices.Clone(poles), flat: flat, declared: closed}
	if rational {
		b.weights = slices.Clone(weights)
	}
	b.period = closure(BSpline{b}, poles, closed)
	return BSpline{b}, nil
}

// Homogeneous lays poles out as wx, wy, wz, w. It refuses what is not finite
// and weights that are not positive; rational is false for equal weights.
func Homogeneous(poles []mgl64.Vec3, weights []float64) (flat []float64, rational bool, err error) {
	if weights != nil && len(weights) != len(poles) {
		return nil, false, fmt.Errorf("%d weights for %d poles", len(weights), len(poles))
	}
	for i, w := range weights {
		if !positive(w) {
			return nil, false, fmt.Errorf("weight %d is %g: want a positive number", i, w)
		}
		rational = rational || w != weights[0]
	}
	flat = make([]float64, 0, 4*len(poles))
	for i, p := range poles {
		if !geom.Finite(p) {
			return nil, false, fmt.Errorf("pole %d is not finite", i)
		}
		w := 1.0
		if rational {
			w = weights[i]
		}
		q := p.Mul(w)
		if !geom.Finite(q) {
			return nil, false, fmt.Errorf("pole %d times its weight %g is not finite", i, w)
		}
		flat = append(flat, q[0], q[1], q[2], w)
	}
	return flat, rational, nil
}

// closure is the period of a curve whose ends meet, 0 otherwise. A curve so
// small that everything meets everything is not closed.
func closure(c Curve, poles []mgl64.Vec3, declared bool) float64 {
	box := geom.EmptyBox()
	for _, p := range poles {
		box = box.Add(p)
	}
	gap := closeGap
	if declared {
		gap = declaredGap
	}
	t0, t1 := c.Domain()
	if d := c.Point(t0).Sub(c.Point(t1)).Len(); d <= min(gap, box.Diagonal()/10) && box.Diagonal() > 0 {
		return t1 - t0
	}
	return 0
}

// Degree is the polynomial degree.
func (b BSpline) Degree() int { return b.k.p }

// Knots are the knots with repetitions; not to be changed.
func (b BSpline) Knots() []float64 { return b.k.u }

// Poles are the control points, mm; not to be changed.
func (b BSpline) Poles() []mgl64.Vec3 { return b.poles }

// Weights are the poles' weights, nil where all are equal; not to be changed.
func (b BSpline) Weights() []float64 { return b.weights }

// Domain runs from the knot number degree to the knot number of poles.
func (b BSpline) Domain() (t0, t1 float64) { return b.k.Domain() }

// Period is the length of the domain for a curve whose ends meet.
func (b BSpline) Period() float64 { return b.period }

// Point is the position at t.
func (b BSpline) Point(t float64) mgl64.Vec3 {
	t = b.k.Wrap(t, b.period)
	i := b.k.Span(t)
	var shape Shape
	b.k.Values(i, t, &shape)
	var x, y, z, w float64
	p := b.k.p
	f := b.flat[4*(i-p) : 4*(i+1)]
	for r := range p + 1 {
		n, q := shape[r], (*[4]float64)(f[4*r:])
		x += n * q[0]
		y += n * q[1]
		z += n * q[2]
		w += n * q[3]
	}
	if b.weights == nil {
		return mgl64.Vec3{x, y, z}
	}
	w = 1 / w
	return mgl64.Vec3{x * w, y * w, z * w}
}

// Derivatives are dP/dt and d²P/dt²; at a corner those of the piece after it.
func (b BSpline) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	_, d1, d2 = b.eval(t)
	return d1, d2
}

// eval is position and derivatives (Piegl & Tiller A3.2 and, with weights,
// the quotient rule of A4.2 written out for two derivatives).
func (b BSpline) eval(t float64) (c, d1, d2 mgl64.Vec3) {
	t = b.k.Wrap(t, b.period)
	i := b.k.Span(t)
	var s Basis
	b.k.All(i, t, &s)
	var x, y, z, w, x1, y1, z1, w1, x2, y2, z2, w2 float64
	p := b.k.p
	f := b.flat[4*(i-p) : 4*(i+1)]
	for r := range p + 1 {
		q := (*[4]float64)(f[4*r:])
		n, m, k := s.N[r], s.D1[r], s.D2[r]
		x, y, z, w = x+n*q[0], y+n*q[1], z+n*q[2], w+n*q[3]
		x1, y1, z1, w1 = x1+m*q[0], y1+m*q[1], z1+m*q[2], w1+m*q[3]
		x2, y2, z2, w2 = x2+k*q[0], y2+k*q[1], z2+k*q[2], w2+k*q[3]
	}
	if b.weights == nil {
		return mgl64.Vec3{x, y, z}, mgl64.Vec3{x1, y1, z1}, mgl64.Vec3{x2, y2, z2}
	}
	w = 1 / w
	x, y, z = x*w, y*w, z*w
	x1, y1, z1 = (x1-w1*x)*w, (y1-w1*y)*w, (z1-w1*z)*w
	x2, y2, z2 = (x2-2*w1*x1-w2*x)*w, (y2-2*w1*y1-w2*y)*w, (z2-2*w1*z1-w2*z)*w
	return mgl64.Vec3{x, y, z}, mgl64.Vec3{x1, y1, z1}, mgl64.Vec3{x2, y2, z2}
}

// errNoPoints refuses a curve made of too little.
var errNoPoints = errors.New("want at least two points")

// Param searches from the nearest of a set of points spread over all spans,
// then from the next ones, until a foot point on the curve is found or the
// likely starts are used up.
func (b BSpline) Param(p mgl64.Vec3) float64 {
	b.once.Do(b.spread)
	t0, t1 := b.Domain()
	t := NearestFrom(b.starts, p, func(t float64) (float64, float64) {
		return Descend(t, t0, t1, b.period, func(t float64) Gap {
			q, d1, d2 := b.eval(t)
			return gapOf(&q, &d1, &d2, &p)
		})
	})
	if b.period > 0 && t >= t1 {
		t = t0
	}
	return t
}

// spread puts starts into every span.
func (b *bspline) spread() { b.starts = Starts(BSpline{b}) }
