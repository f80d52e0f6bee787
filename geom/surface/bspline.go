package surface

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// BSpline is a polynomial or rational B-spline surface over the domain of its
// knots (ISO 10303-42, b_spline_surface_with_knots, rational_b_spline_surface).
//
// A surface whose opposite sides meet is closed even where nobody says so: its
// period in that parameter is then the length of the domain and parameters
// outside wrap. In an open direction a parameter outside counts as the side.
type BSpline struct{ *bspline }

type bspline struct {
	u, v     curve.Knots
	poles    [][]mgl64.Vec3
	weights  [][]float64 // nil where all are equal
	flat     []float64   // wx, wy, wz, w of pole [i][j] at 4*(i*nv+j)
	rational bool
	nv       int
	pu, pv   float64 // periods
	size     float64 // mm: diagonal of the poles' box
	sides    []Pole
	once     sync.Once
	grid     grid
}

// closeGap is the distance, mm, below which two sides of a surface are one:
// writers give 6 to 10 digits behind the point.
const closeGap = 1e-5

// NewBSpline makes a surface from its poles in mm, [u][v], weights of the same
// shape (nil: all equal) and knots with repetitions.
func NewBSpline(degU, degV int, poles [][]mgl64.Vec3, weights [][]float64, knotsU, knotsV []float64) (BSpline, error) {
	if len(poles) == 0 || weights != nil && len(weights) != len(poles) {
		return BSpline{}, fmt.Errorf("b-spline surface: %d rows of poles, %d of weights", len(poles), len(weights))
	}
	s := &bspline{nv: len(poles[0])}
	var err error
	if s.u, err = curve.NewKnots(degU, len(poles), knotsU); err != nil {
		return BSpline{}, fmt.Errorf("b-spline surface in u: %w", err)
	}
	if s.v, err = curve.NewKnots(degV, s.nv, knotsV); err != nil {
		return BSpline{}, fmt.Errorf("b-spline surface in v: %w", err)
	}
	if err = s.lay(poles, weights); err != nil {
		return BSpline{}, fmt.Errorf("b-spline surface: %w", err)
	}
	s.findClosure()
	s.sides = collapsedSides(BSpline{s})
	return BSpline{s}, nil
}

// lay copies poles and weights into the flat array.
func (s *bspline) lay(poles [][]mgl64.Vec3, weights [][]float64) error {
	row := make([]mgl64.Vec3, 0, len(poles)*s.nv)
	var w []float64
	for i, r := range poles {
		if len(r) != s.nv {
			return fmt.Errorf("row %d has %d poles, row 0 has %d", i, len(r), s.nv)
		}
		s.poles = append(s.poles, slices.Clone(r))
		row = append(row, r...)
		if weights != nil {
			if len(weights[i]) != s.nv {
				return fmt.Errorf("row %d has %d weights for %d poles", i, len(weights[i]), s.nv)
			}
			w = append(w, weights[i]...)
		}
	}
	var err error
	if s.flat, s.rational, err = curve.Homogeneous(row, w); err != nil {
		return err
	}
	if s.rational {
		for _, r := range weights {
			s.weights = append(s.weights, slices.Clone(r))
		}
	}
	box := geom.EmptyBox()
	for _, p := range row {
		box = box.Add(p)
	}
	if s.size = box.Diagonal(); s.size == 0 || math.IsInf(s.size, 0) {
		return fmt.Errorf("poles of no extent or beyond all bounds")
	}
	return nil
}

// findClosure compares opposite sides at places dense enough to tell
// polynomials of their degree apart.
func (s *bspline) findClosure() {
	b := BSpline{s}
	u0, u1, v0, v1 := b.Domain()
	gap := min(closeGap, s.size/10)
	along := func(k *curve.Knots, apart func(t float64) float64) bool {
		for _, t := range places(k) {
			if !(apart(t) <= gap) {
				return false
			}
		}
		return true
	}
	closedU := along(&s.v, func(v float64) float64 { return b.Point(u0, v).Sub(b.Point(u1, v)).Len() })
	closedV := along(&s.u, func(u float64) float64 { return b.Point(u, v0).Sub(b.Point(u, v1)).Len() })
	if closedU {
		s.pu = u1 - u0
	}
	if closedV {
		s.pv = v1 - v0
	}
}

// places lists degree+1 parameters in every span, at least eight in all, and
// the end.
func places(k *curve.Knots) []float64 {
	d := k.Distinct()
	var out []float64
	n := max(k.Degree()+1, 8/(len(d)-1))
	for i := range len(d) - 1 {
		for j := range n {
			out = append(out, d[i]+(d[i+1]-d[i])*float64(j)/float64(n))
		}
	}
	return append(out, d[len(d)-1])
}

// Degrees are the polynomial degrees in u and v.
func (s BSpline) Degrees() (u, v int) { return s.u.Degree(), s.v.Degree() }

// Knots are the knots in u and v with repetitions; not to be changed.
func (s BSpline) Knots() (u, v []float64) { return s.u.Vector(), s.v.Vector() }

// Poles are the control points [u][v], mm; not to be changed.
func (s BSpline) Poles() [][]mgl64.Vec3 { return s.poles }

// Weights are the poles' weights, nil where all are equal; not to be changed.
func (s BSpline) Weights() [][]float64 { return s.weights }

// Domain is the rectangle of the knots.
func (s BSpline) Domain() (u0, u1, v0, v1 float64) {
	u0, u1 = s.u.Domain()
	v0, v1 = s.v.Domain()
	return u0, u1, v0, v1
}

// Periods are the lengths of the domain in the directions that close.
func (s BSpline) Periods() (pu, pv float64) { return s.pu, s.pv }

// Point is the position at (u, v) (Piegl & Tiller A3.5 and A4.3).
func (s BSpline) Point(u, v float64) mgl64.Vec3 {
	u, v = s.u.Wrap(u, s.pu), s.v.Wrap(v, s.pv)
	i, j := s.u.Span(u), s.v.Span(v)
	var bu, bv curve.Shape
	s.u.Values(i, u, &bu)
	s.v.Values(j, v, &bv)
	p, q := s.u.Degree(), s.v.Degree()
	var x, y, z, w float64
	for a := range p + 1 {
		from := 4 * ((i-p+a)*s.nv + j - q)
		row := s.flat[from : from+4*(q+1)]
		na := bu[a]
		for b := range q + 1 {
			n, c := na*bv[b], (*[4]float64)(row[4*b:])
			x += n * c[0]
			y += n * c[1]
			z += n * c[2]
			w += n * c[3]
		}
	}
	if !s.rational {
		return mgl64.Vec3{x, y, z}
	}
	w = 1 / w
	return mgl64.Vec3{x * w, y * w, z * w}
}

// jet is a position with its derivatives.
type jet struct{ p, u, v, uu, uv, vv mgl64.Vec3 }

// rows of a jet in homogeneous coordinates.
const (
	rP = iota
	rU
	rV
	rUU
	rUV
	rVV
)

// jet evaluates position, first and second derivatives at once (Piegl &
// Tiller A3.6, and the quotient rule of A4.4 written out).
func (s *bspline) jet(u, v float64, out *jet) {
	u, v = s.u.Wrap(u, s.pu), s.v.Wrap(v, s.pv)
	i, j := s.u.Span(u), s.v.Span(v)
	var bu, bv curve.Basis
	s.u.All(i, u, &bu)
	s.v.All(j, v, &bv)
	p, q := s.u.Degree(), s.v.Degree()
	var h [6][4]float64
	for a := range p + 1 {
		from := 4 * ((i-p+a)*s.nv + j - q)
		row := s.flat[from : from+4*(q+1)]
		var x, y, z, w, x1, y1, z1, w1, x2, y2, z2, w2 float64
		for b := range q + 1 {
			c := (*[4]float64)(row[4*b:])
			n, m, k := bv.N[b], bv.D1[b], bv.D2[b]
			x, y, z, w = x+n*c[0], y+n*c[1], z+n*c[2], w+n*c[3]
			x1, y1, z1, w1 = x1+m*c[0], y1+m*c[1], z1+m*c[2], w1+m*c[3]
			x2, y2, z2, w2 = x2+k*c[0], y2+k*c[1], z2+k*c[2], w2+k*c[3]
		}
		n, m, k := bu.N[a], bu.D1[a], bu.D2[a]
		addTo(&h[rP], n, x, y, z, w)
		addTo(&h[rU], m, x, y, z, w)
		addTo(&h[rUU], k, x, y, z, w)
		addTo(&h[rV], n, x1, y1, z1, w1)
		addTo(&h[rUV], m, x1, y1, z1, w1)
		addTo(&h[rVV], n, x2, y2, z2, w2)
	}
	s.project(&h, out)
}

func addTo(h *[4]float64, n, x, y, z, w float64) {
	h[0] += n * x
	h[1] += n * y
	h[2] += n * z
	h[3] += n * w
}

// project divides by the weight.
func (s *bspline) project(h *[6][4]float64, o *jet) {
	if !s.rational {
		for c := range 3 {
			o.p[c], o.u[c], o.v[c] = h[rP][c], h[rU][c], h[rV][c]
			o.uu[c], o.uv[c], o.vv[c] = h[rUU][c], h[rUV][c], h[rVV][c]
		}
		return
	}
	k := 1 / h[rP][3]
	wu, wv, wuu, wuv, wvv := h[rU][3], h[rV][3], h[rUU][3], h[rUV][3], h[rVV][3]
	for c := range 3 {
		p := h[rP][c] * k
		u, v := (h[rU][c]-wu*p)*k, (h[rV][c]-wv*p)*k
		o.p[c], o.u[c], o.v[c] = p, u, v
		o.uu[c] = (h[rUU][c] - 2*wu*u - wuu*p) * k
		o.uv[c] = (h[rUV][c] - wu*v - wv*u - wuv*p) * k
		o.vv[c] = (h[rVV][c] - 2*wv*v - wvv*p) * k
	}
}

// tangents are position and first derivatives: a jet of half the work.
func (s *bspline) tangents(u, v float64) (at, du, dv mgl64.Vec3) {
	u, v = s.u.Wrap(u, s.pu), s.v.Wrap(v, s.pv)
	i, j := s.u.Span(u), s.v.Span(v)
	var nu, nv, mu, mv curve.Shape
	s.u.Slopes(i, u, &nu, &mu)
	s.v.Slopes(j, v, &nv, &mv)
	p, q := s.u.Degree(), s.v.Degree()
	var h [3][4]float64
	for a := range p + 1 {
		from := 4 * ((i-p+a)*s.nv + j - q)
		row := s.flat[from : from+4*(q+1)]
		var x, y, z, w, x1, y1, z1, w1 float64
		for b := range q + 1 {
			c := (*[4]float64)(row[4*b:])
			n, m := nv[b], mv[b]
			x, y, z, w = x+n*c[0], y+n*c[1], z+n*c[2], w+n*c[3]
			x1, y1, z1, w1 = x1+m*c[0], y1+m*c[1], z1+m*c[2], w1+m*c[3]
		}
		addTo(&h[rP], nu[a], x, y, z, w)
		addTo(&h[rU], mu[a], x, y, z, w)
		addTo(&h[rV], nu[a], x1, y1, z1, w1)
	}
	k, wu, wv := 1.0, 0.0, 0.0
	if s.rational {
		k, wu, wv = 1/h[rP][3], h[rU][3], h[rV][3]
	}
	for c := range 3 {
		at[c] = h[rP][c] * k
		du[c], dv[c] = (h[rU][c]-wu*at[c])*k, (h[rV][c]-wv*at[c])*k
	}
	return at, du, dv
}

// Derivatives are ∂P/∂u and ∂P/∂v.
func (s BSpline) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	_, du, dv = s.tangents(u, v)
	return du, dv
}

// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
func (s BSpline) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	var j jet
	s.jet(u, v, &j)
	return j.uu, j.uv, j.vv
}

// Normal is in the sense of ∂P/∂u × ∂P/∂v; where that vanishes (a collapsed
// side, a degenerate corner) it is the one a little way inside the domain.
func (s BSpline) Normal(u, v float64) mgl64.Vec3 {
	_, n := s.at(u, v)
	return n
}

// at is position and normal.
func (s BSpline) at(u, v float64) (p, n mgl64.Vec3) {
	p, du, dv := s.tangents(u, v)
	n, ok := cross(&du, &dv)
	if !ok {
		n = insideNormal(s, u, v)
	}
	return p, n
}
