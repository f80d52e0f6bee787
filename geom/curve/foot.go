package curve

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Gap is the squared distance from a given point at one parameter, with what
// a search for the foot point needs: half its first derivative, half its
// second, and the part of the second that is never negative.
type Gap struct {
	D2   float64 // mm²
	G, H float64
	S    float64 // squared speed
}

// Descend walks from t downhill to a local minimum of the gap within lo..hi,
// or round a turn where period is not 0. It takes Newton's step where the
// second derivative allows, Gauss' otherwise, and halves a step that leads
// uphill. It ends when a step moves the point by less than rounding does.
func Descend(t, lo, hi, period float64, gap func(float64) Gap) (tmin, d2 float64) {
	t = wrap(t, lo, hi, period)
	g := gap(t)
	for range 40 {
		h := g.H
		if !(h > 1e-3*g.S) {
			h = g.S
		}
		if !(h > 0) {
			return t, g.D2
		}
		step := -g.G / h
		next, ng := t, g
		ok := false
		for range 12 {
			next = wrap(t+step, lo, hi, period)
			ng = gap(next)
			if ng.D2 <= g.D2 {
				ok = true
				break
			}
			step /= 2
		}
		if !ok || next == t {
			return t, g.D2
		}
		small := step*step*g.S <= 1e-26*(1+g.D2)
		t, g = next, ng
		if small || math.Abs(g.G) == 0 {
			return t, g.D2
		}
	}
	return t, g.D2
}

// root finds the root of a function that is not positive at lo and not
// negative at hi by Newton's method kept inside the bracket. f gives value
// and derivative.
func root(lo, hi, t float64, f func(float64) (y, dy float64)) float64 {
	for range 200 {
		y, dy := f(t)
		if y > 0 {
			hi = t
		} else {
			lo = t
		}
		next := t - y/dy
		if !(next > lo && next < hi) {
			if y == 0 {
				return t
			}
			next = lo + (hi-lo)/2
		}
		if math.Abs(next-t) <= 4e-16*(1+math.Abs(t)) {
			return next
		}
		t = next
	}
	return t
}

// Eval gives position and derivatives at once, which for B-splines costs
// half of asking twice.
func Eval(c Curve, t float64) (p, d1, d2 mgl64.Vec3) {
	if b, ok := c.(BSpline); ok {
		return b.eval(t)
	}
	p = c.Point(t)
	d1, d2 = c.Derivatives(t)
	return p, d1, d2
}

// gapOf is the gap between p and a curve that is at q.
func gapOf(q, d1, d2, p *mgl64.Vec3) Gap {
	x, y, z := q[0]-p[0], q[1]-p[1], q[2]-p[2]
	s := d1[0]*d1[0] + d1[1]*d1[1] + d1[2]*d1[2]
	return Gap{
		D2: x*x + y*y + z*z,
		G:  x*d1[0] + y*d1[1] + z*d1[2],
		H:  s + x*d2[0] + y*d2[1] + z*d2[2],
		S:  s,
	}
}
