package mass

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// triangle is the share of a flat triangle with corners c: tetrahedra from
// the origin, V = a·(b×c)/6 and ∫p dV = V (a+b+c)/4.
func triangle(c *[3]mgl64.Vec3) Properties {
	v := c[0].Dot(c[1].Cross(c[2])) / 6
	return Properties{
		Volume: v,
		Moment: c[0].Add(c[1]).Add(c[2]).Mul(v / 4),
		Area:   c[1].Sub(c[0]).Cross(c[2].Sub(c[0])).Len() / 2,
	}
}

// patch is the share of a triangle bent so that the middle of side k, from
// corner k to the next, leaves its chord by bent[k]. With barycentric l the
// patch is the quadratic
//
//	P = Σ l_k c_k + 4 Σ l_k l_{k+1} bent_k,
//
// and by the divergence theorem, from the origin,
//
//	V = ∫ P·N/3, ∫p dV = ∫ (P·N) P/4, A = ∫ |N|, with N = ∂P/∂s × ∂P/∂t.
//
// The integrands of V and of the moment are polynomials of degree 4 and 6, for
// which the rule is exact.
func patch(c, bent *[3]mgl64.Vec3) Properties {
	var sum Properties
	for i := range rule {
		q := &rule[i]
		p, n := at(c, bent, q.s, q.t)
		flux := p.Dot(n) * q.w
		sum.Volume += flux / 3
		sum.Moment = sum.Moment.Add(p.Mul(flux / 4))
		sum.Area += n.Len() * q.w
	}
	return sum
}

// at is the patch's point and its normal ∂P/∂s × ∂P/∂t at the barycentric
// coordinates (1-s-t, s, t).
func at(c, bent *[3]mgl64.Vec3, s, t float64) (p, n mgl64.Vec3) {
	r := 1 - s - t
	var ds, dt mgl64.Vec3
	for i := range 3 {
		a, b, d := bent[0][i], bent[1][i], bent[2][i]
		p[i] = r*c[0][i] + s*c[1][i] + t*c[2][i] + 4*(r*s*a+s*t*b+t*r*d)
		ds[i] = c[1][i] - c[0][i] + 4*((r-s)*a+t*b-t*d)
		dt[i] = c[2][i] - c[0][i] + 4*(-s*a+s*b+(r-t)*d)
	}
	return p, ds.Cross(dt)
}

// node is a point and a weight of the rule on the triangle s, t ≥ 0, s+t ≤ 1.
type node struct{ s, t, w float64 }

// rule is the 4×4 Gauss-Legendre rule in collapsed coordinates s = x,
// t = y (1-x): exact for polynomials up to degree 6 (7 in x, of which the
// collapse takes one). Nodes and weights of the 4-point rule in closed form:
// Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4.29.
var rule = func() (out [16]node) {
	inner, outer := math.Sqrt(3./7-2./7*math.Sqrt(6./5)), math.Sqrt(3./7+2./7*math.Sqrt(6./5))
	wInner, wOuter := (18+math.Sqrt(30))/72, (18-math.Sqrt(30))/72 // halved: on [0, 1]
	x := [4]float64{(1 - outer) / 2, (1 - inner) / 2, (1 + inner) / 2, (1 + outer) / 2}
	w := [4]float64{wOuter, wInner, wInner, wOuter}
	for i := range 4 {
		for j := range 4 {
			out[4*i+j] = node{x[i], x[j] * (1 - x[i]), w[i] * w[j] * (1 - x[i])}
		}
	}
	return out
}()
