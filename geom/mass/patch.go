package mass

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// addTriangle adds the share of a flat triangle with corners c: the tetrahedron
// from the origin, of which V = a·(b×c)/6, ∫p dV = V s/4 and
// ∫ppᵀ dV = V (aaᵀ + bbᵀ + ccᵀ + ssᵀ)/20 with s = a+b+c.
func (o *sums) addTriangle(c *[3]mgl64.Vec3) {
	v := c[0].Dot(c[1].Cross(c[2])) / 6
	s := c[0].Add(c[1]).Add(c[2])
	o.volume += v
	o.area += c[1].Sub(c[0]).Cross(c[2].Sub(c[0])).Len() / 2
	o.x, o.y, o.z = o.x+v/4*s[0], o.y+v/4*s[1], o.z+v/4*s[2]
	for _, p := range [4]*mgl64.Vec3{&c[0], &c[1], &c[2], &s} {
		o.addSecond(p[0], p[1], p[2], v/20)
	}
}

// addSecond adds w times the products of coordinates.
func (o *sums) addSecond(x, y, z, w float64) {
	wx, wy, wz := w*x, w*y, w*z
	o.xx, o.yy, o.zz = o.xx+wx*x, o.yy+wy*y, o.zz+wz*z
	o.xy, o.yz, o.zx = o.xy+wx*y, o.yz+wy*z, o.zx+wz*x
}

// addPatch adds the share of a triangle bent so that the middle of side k, from
// corner k to the next, leaves its chord by bent[k]. With barycentric l the
// patch is the quadratic
//
//	P = Σ l_k c_k + 4 Σ l_k l_{k+1} bent_k,
//
// and by the divergence theorem, from the origin,
//
//	V = ∫ P·N/3, ∫p dV = ∫ (P·N) P/4, ∫ppᵀ dV = ∫ (P·N) PPᵀ/5, A = ∫ |N|,
//
// with N = ∂P/∂s × ∂P/∂t. The integrands of V and of the moment are polynomials
// of degree 4 and 6, for which the rule is exact. That of the second moment has
// degree 8, but its terms beyond 6 hold the bends to the fourth power, which are
// as small as what the patch itself leaves out.
//
// Where one side alone is bent the others are straight lines of the surface, or
// the triangle lies in a plane: the patch is then the cone from the third corner
// over the bent side, P = Σ l_k c_k + 4 l_0 l_2/(l_0+l_2) bent_2 with that corner
// at l_1 = 1. At the tip of a cone the quadratic above would fall short of it by
// half a facet's height.
func (o *sums) addPatch(c, bent *[3]mgl64.Vec3) {
	// Written out in scalars: this is where nearly all the time of Of goes.
	sum, nodes := *o, &rule
	if k, ok := onlyBent(bent); ok {
		nodes = &coneRule
		c = &[3]mgl64.Vec3{c[(k+1)%3], c[(k+2)%3], c[k]}
		bent = &[3]mgl64.Vec3{2: bent[k]}
	}
	a, b, d := &bent[0], &bent[1], &bent[2]
	e, f := c[1].Sub(c[0]), c[2].Sub(c[0])
	for i := range nodes {
		q := &nodes[i]
		r, s, t := q.r, q.s, q.t
		px := r*c[0][0] + s*c[1][0] + t*c[2][0] + 4*(q.rs*a[0]+q.st*b[0]+q.tr*d[0])
		py := r*c[0][1] + s*c[1][1] + t*c[2][1] + 4*(q.rs*a[1]+q.st*b[1]+q.tr*d[1])
		pz := r*c[0][2] + s*c[1][2] + t*c[2][2] + 4*(q.rs*a[2]+q.st*b[2]+q.tr*d[2])
		// ∂P/∂s and ∂P/∂t
		sx := e[0] + 4*(q.rMinusS*a[0]+t*b[0]+q.trS*d[0])
		sy := e[1] + 4*(q.rMinusS*a[1]+t*b[1]+q.trS*d[1])
		sz := e[2] + 4*(q.rMinusS*a[2]+t*b[2]+q.trS*d[2])
		tx := f[0] + 4*(-s*a[0]+s*b[0]+q.trT*d[0])
		ty := f[1] + 4*(-s*a[1]+s*b[1]+q.trT*d[1])
		tz := f[2] + 4*(-s*a[2]+s*b[2]+q.trT*d[2])
		nx, ny, nz := sy*tz-sz*ty, sz*tx-sx*tz, sx*ty-sy*tx
		flux := (px*nx + py*ny + pz*nz) * q.w
		sum.volume += flux / 3
		sum.x += px * (flux / 4)
		sum.y += py * (flux / 4)
		sum.z += pz * (flux / 4)
		sum.addSecond(px, py, pz, flux/5)
		sum.area += math.Sqrt(nx*nx+ny*ny+nz*nz) * q.w
	}
	*o = sum
}

// onlyBent is the side that is bent where the others are not.
func onlyBent(bent *[3]mgl64.Vec3) (k int, ok bool) {
	n := 0
	for i := range bent {
		if bent[i] != (mgl64.Vec3{}) {
			k, n = i, n+1
		}
	}
	return k, n == 1
}

// node is a place of the rule on the triangle s, t ≥ 0, s+t ≤ 1, with the third
// barycentric coordinate r and what the patch makes of them, and its weight w.
// trS and trT are the derivatives of tr by s and t.
type node struct{ r, s, t, rs, st, tr, rMinusS, trS, trT, w float64 }

func nodeAt(s, t, w float64) node {
	r := 1 - s - t
	return node{r, s, t, r * s, s * t, t * r, r - s, -t, r - t, w}
}

// coneRule is the rule for a patch of which only the side from corner 2 to
// corner 0 is bent: tr divided by t+r. In the collapsed coordinates all that
// is integrated stays a polynomial, of degree 5 in y for V and 7 for the moment.
var coneRule = func() (out [16]node) {
	for i, q := range rule {
		k := q.t + q.r // 1 - s
		q.tr, q.trS, q.trT = q.tr/k, -q.t*q.t/(k*k), (q.r-q.t)/k
		out[i] = q
	}
	return out
}()

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
