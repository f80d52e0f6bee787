package surface

import (
	"math"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// Steps gives the greatest parameter steps with which a net over u0..u1 and
// v0..v1 keeps the tolerance: no facet's middle further than tol.Chord mm from
// the surface and the normal turning by no more than tol.Angle a step. It is
// exact for the elementary kinds, where a surface bent both ways gives half
// the height to each direction, and sampled for the others. A step is never
// more than the range, nor than a third of a turn; a tolerance that is not
// positive asks for nothing.
func Steps(s Surface, u0, u1, v0, v1 float64, tol geom.Tolerance) (du, dv float64) {
	b := bend{chord: math.Inf(1), angle: math.Inf(1)}
	if tol.Chord > 0 {
		b.chord = tol.Chord
	}
	if tol.Angle > 0 {
		b.angle = tol.Angle
	}
	du, dv = u1-u0, v1-v0
	switch s := s.(type) {
	case Plane:
	case Cylinder:
		du = min(du, curve.ArcStep(s.r, b.chord, b.angle))
	case Cone:
		r := max(math.Abs(s.RadiusAt(v0)), math.Abs(s.RadiusAt(v1)))
		du = min(du, b.round(r, s.cos, b.chord))
	case Sphere:
		c := maxCos(v0, v1)
		du = min(du, b.round(s.r*c, c, b.chord/2))
		dv = min(dv, curve.ArcStep(s.r, b.chord/2, b.angle))
	case Torus:
		du = min(du, b.torus(s, v0, v1))
		dv = min(dv, curve.ArcStep(s.minor, b.chord/2, b.angle))
	default:
		du, dv = b.sampled(s, u0, u1, v0, v1)
	}
	pu, pv := s.Periods()
	return third(du, pu), third(dv, pv)
}

func third(d, period float64) float64 {
	if period > 0 {
		return min(d, period/3)
	}
	return d
}

// bend is a tolerance to be kept.
type bend struct{ chord, angle float64 }

// round is the step about an axis on a circle of radius r where the normal
// stands at an angle with cosine c to the circle's plane: of the height
// r (1 - cos(step/2)) only the part c counts, and the normal turns by
// 2 asin(c sin(step/2)).
func (b bend) round(r, c, chord float64) float64 {
	const least = 1e-9 // flat or of no radius
	if r*c <= least {
		return turn / 3
	}
	angle := turn / 3
	if x := math.Sin(min(b.angle, math.Pi)/2) / c; x < 1 {
		angle = 2 * math.Asin(x)
	}
	return curve.ArcStep(r, chord/c, angle)
}

// maxCos is the greatest cosine of v0..v1 within -π/2..π/2.
func maxCos(v0, v1 float64) float64 {
	if v0 <= 0 && v1 >= 0 {
		return 1
	}
	return max(math.Cos(v0), math.Cos(v1), 0)
}

// torus is the step round the axis: the worst of places round the tube.
func (b bend) torus(s Torus, v0, v1 float64) float64 {
	du := turn / 3
	for i := range 33 {
		c := math.Cos(v0 + (v1-v0)*float64(i)/32)
		du = min(du, b.round(math.Abs(s.major+s.minor*c), math.Abs(c), b.chord/2))
	}
	return du
}

// mostSamples is the number of places looked at in one direction.
const mostSamples = 25

// sampled looks at the second fundamental form at places all over the
// rectangle. With L, M, N the height of a facet over the net is at most
// (L du² + 2 M du dv + N dv²)/8.
func (b bend) sampled(s Surface, u0, u1, v0, v1 float64) (du, dv float64) {
	du, dv = u1-u0, v1-v0
	us, vs := samplesU(s, u0, u1), samplesV(s, v0, v1)
	var l, m, n, nu, nv float64
	for _, u := range us {
		for _, v := range vs {
			su, sv := s.Derivatives(u, v)
			wu, wv := normalDerivatives(s, u, v)
			l, n = raise(l, math.Abs(su.Dot(wu))), raise(n, math.Abs(sv.Dot(wv)))
			m = raise(m, math.Abs(su.Dot(wv)))
			nu, nv = raise(nu, wu.Len()), raise(nv, wv.Len())
		}
	}
	du = shrink(du, math.Sqrt(8*b.chord/l), b.angle/nu)
	dv = shrink(dv, math.Sqrt(8*b.chord/n), b.angle/nv)
	if h := (l*du*du + 2*m*du*dv + n*dv*dv) / 8; h > 1.001*b.chord && !math.IsInf(h, 0) {
		k := math.Sqrt(b.chord / h)
		du, dv = shrink(du, du*k), shrink(dv, dv*k)
	}
	return du, dv
}

// raise is the greater, leaving out what is not a number (cusps).
func raise(a, b float64) float64 {
	if b > a && !math.IsInf(b, 0) {
		return b
	}
	return a
}

// shrink takes the least of the steps, but a two thousandth of the first.
func shrink(d float64, to ...float64) float64 {
	out := d
	for _, t := range to {
		if t < out {
			out = t
		}
	}
	return max(out, d/2000)
}

// samplesU are places within u0..u1 to look at s, samplesV within v0..v1.
func samplesU(s Surface, u0, u1 float64) []float64 {
	switch s := s.(type) {
	case BSpline:
		return inRange(places(&s.u), u0, u1, s.pu)
	case Extrusion:
		return inRange(curveSamples(s.c), u0, u1, s.c.Period())
	case Revolution:
		return []float64{u0} // looks the same all round
	case Offset:
		return samplesU(s.base, u0, u1)
	}
	return evenly(u0, u1)
}

func samplesV(s Surface, v0, v1 float64) []float64 {
	switch s := s.(type) {
	case BSpline:
		return inRange(places(&s.v), v0, v1, s.pv)
	case Extrusion:
		return []float64{finiteOr0(v0)} // looks the same all along
	case Revolution:
		return inRange(curveSamples(s.c), v0, v1, s.c.Period())
	case Offset:
		return samplesV(s.base, v0, v1)
	}
	return evenly(v0, v1)
}

func finiteOr0(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return v
}

func curveSamples(c curve.Curve) []float64 {
	var out []float64
	for _, s := range curve.Starts(c) {
		out = append(out, s.T)
	}
	return out
}

// inRange picks those of the places that fall into the range, by whole
// periods, adds evenly spread ones where they are few, and thins them where
// they are many.
func inRange(ts []float64, t0, t1, period float64) []float64 {
	out := evenly(t0, t1)
	var in []float64
	for _, t := range ts {
		if period > 0 {
			t -= period * math.Floor((t-t0)/period)
		}
		if t >= t0 && t <= t1 {
			in = append(in, t)
		}
	}
	if len(in) <= 2*mostSamples {
		return append(out, in...)
	}
	for i := range 2 * mostSamples {
		out = append(out, in[i*(len(in)-1)/(2*mostSamples-1)])
	}
	return out
}

// evenly spreads nine places over a range, just inside its ends, where poles
// and corners are.
func evenly(t0, t1 float64) []float64 {
	t0, t1 = finite(t0, t1)
	out := make([]float64, 9)
	for i := range out {
		f := float64(i) / 8
		out[i] = t0 + (t1-t0)*(1e-6+(1-2e-6)*f)
	}
	return out
}
