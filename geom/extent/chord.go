package extent

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/curve"
)

// chord is a piece of an edge in the mesh, with the piece of curve that it stands
// for.
type chord struct {
	a, b   int32 // vertices
	edge   int32
	state  state
	t0, t1 float64 // parameters, rising
	back   bool    // the curve runs from b to a
}

// state is what is known of the piece of curve.
type state int8

const (
	unknown state = iota
	placed        // t0 and t1 hold
	astray        // the curve does not run along the chord
)

// place finds the parameters of the chord's ends: those on both sides of its
// middle's.
func (x *Extent) place(c *chord) {
	c.state = astray
	k := x.body.Edges[c.edge].Curve
	p, q := x.mesh.Vertices[c.a], x.mesh.Vertices[c.b]
	m := p.Add(q).Mul(0.5)
	tm, period := k.Param(m), k.Period()
	ta, tb := nearTo(k.Param(p), tm, period), nearTo(k.Param(q), tm, period)
	if c.back = ta > tb; c.back {
		ta, tb = tb, ta
		p, q = q, p
	}
	off := max(k.Point(ta).Sub(p).Len(), k.Point(tm).Sub(m).Len(), k.Point(tb).Sub(q).Len())
	if ta < tm && tm < tb && off <= x.reach { // NaN is refused too
		c.t0, c.t1, c.state = ta, tb, placed
	}
}

// nearTo shifts t by whole periods to within half a period of near.
func nearTo(t, near, period float64) float64 {
	if period > 0 {
		t -= period * math.Round((t-near)/period)
	}
	return t
}

// onCurve is the greatest height along d inside the chord's piece of curve, if
// there is one between its ends that is not above most. A spline may rise and fall
// more than once along a chord, by less than the chord error: each of its spans
// is searched by itself.
func (x *Extent) onCurve(c *chord, d mgl64.Vec3, most float64) (z float64, ok bool) {
	if c.state == unknown {
		x.place(c)
	}
	if c.state == astray {
		return 0, false
	}
	k := x.body.Edges[c.edge].Curve
	z = math.Inf(-1)
	from := c.t0
	to := func(t float64) {
		if top := k.Point(summit(k, from, t, d)).Dot(d); top <= most {
			z = max(z, top)
		}
		from = t
	}
	breaks := x.breaksOf(c.edge)
	i, _ := slices.BinarySearch(breaks, c.t0)
	for ; i < len(breaks) && breaks[i] < c.t1; i++ {
		to(breaks[i])
	}
	to(c.t1)
	return z, z <= most
}

// breaksOf are the parameters, rising, at which the shape of an edge's curve
// changes, looked up once for each edge. A circle's does nowhere.
func (x *Extent) breaksOf(edge int32) []float64 {
	k := x.body.Edges[edge].Curve
	switch k.(type) {
	case curve.Circle, curve.Ellipse:
		return nil
	}
	b, ok := x.breaks[edge]
	if !ok {
		if x.breaks == nil {
			x.breaks = map[int32][]float64{}
		}
		b = curve.Breaks(k)
		x.breaks[edge] = b
	}
	return b
}

// summit is the place between t0 and t1 at which the curve stops rising along d:
// Newton's method kept inside the bracket. Where the curve does not rise at t0 or
// does not fall at t1 it is that end.
func summit(k curve.Curve, t0, t1 float64, d mgl64.Vec3) float64 {
	if s, _ := k.Derivatives(t0); !(s.Dot(d) > 0) {
		return t0
	}
	if s, _ := k.Derivatives(t1); !(s.Dot(d) < 0) {
		return t1
	}
	t := (t0 + t1) / 2
	for range 100 {
		d1, d2 := k.Derivatives(t)
		g, h := d1.Dot(d), d2.Dot(d)
		if g > 0 {
			t0 = t
		} else {
			t1 = t
		}
		next := t - g/h
		if !(next > t0 && next < t1) {
			next = t0 + (t1-t0)/2
		}
		// The height misses g²/2h at most, of which this leaves nothing.
		if next == t || g*g <= 1e-24*math.Abs(h) {
			break
		}
		t = next
	}
	return t
}
