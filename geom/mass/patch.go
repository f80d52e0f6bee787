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
	// Written out in scalars: this is where nearly all the time of Of goes.
	var v, mx, my, mz, area float64
	a, b, d := &bent[0], &bent[1], &bent[2]
	e, f := c[1].Sub(c[0]), c[2].Sub(c[0])
	for i := range rule {
		q := &rule[i]
		r, s, t := q.r, q.s, q.t
		px := r*c[0][0] + s*c[1][0] + t*c[2][0] + 4*(q.rs*a[0]+q.st*b[0]+q.tr*d[0])
		py := r*c[0][1] + s*c[1][1] + t*c[2][1] + 4*(q.rs*a[1]+q.st*b[1]+q.tr*d[1])
		pz := r*c[0][2] + s*c[1][2] + t*c[2][2] + 4*(q.rs*a[2]+q.st*b[2]+q.tr*d[2])
		// ∂P/∂s and ∂P/∂t
		sx := e[0] + 4*(q.rMinusS*a[0]+t*b[0]-t*d[0])
		sy := e[1] + 4*(q.rMinusS*a[1]+t*b[1]-t*d[1])
		sz := e[2] + 4*(q.rMinusS*a[2]+t*b[2]-t*d[2])
		tx := f[0] + 4*(-s*a[0]+s*b[0]+q.rMinusT*d[0])
		ty := f[1] + 4*(-s*a[1]+s*b[1]+q.rMinusT*d[1])
		tz := f[2] + 4*(-s*a[2]+s*b[2]+q.rMinusT*d[2])
		nx, ny, nz := sy*tz-sz*ty, sz*tx-sx*tz, sx*ty-sy*tx
		flux := (px*nx + py*ny + pz*nz) * q.w
		v += flux / 3
		mx += px * (flux / 4)
		my += py * (flux / 4)
		mz += pz * (flux / 4)
		area += math.Sqrt(nx*nx+ny*ny+nz*nz) * q.w
	}
	return Properties{Volume: v, Moment: mgl64.Vec3{mx, my, mz}, Area: area}
}

// node is a place of the rule on the triangle s, t ≥ 0, s+t ≤ 1, with the third
// barycentric coordinate r and what the patch makes of them, and its weight w.
type node struct{ r, s, t, rs, st, tr, rMinusS, rMinusT, w float64 }

func nodeAt(s, t, w float64) node {
	r := 1 - s - t
	return node{r, s, t, r * s, s * t, t * r, r - s, r - t, w}
}

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
			out[4*i+j] = nodeAt(x[i], x[j]*(1-x[i]), w[i]*w[j]*(1-x[i]))
		}
	}
	return out
}()
