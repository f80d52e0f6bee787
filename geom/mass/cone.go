package mass

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
)

// nearTip is the radius, mm, up to which a place of a cone counts as its tip,
// where the angle means nothing: vertices of files stand off by about this.
const nearTip = 1e-3

// coneMiddle is the place of a cone half way between two of its places in angle
// and height. Sides from the tip are straight.
func coneMiddle(s *surface.Cone, p, q mgl64.Vec3) mgl64.Vec3 {
	u0, v0 := s.Param(p, surface.Hint{})
	u1, v1 := s.Param(q, surface.Near(u0, v0))
	if min(math.Abs(s.RadiusAt(v0)), math.Abs(s.RadiusAt(v1))) <= nearTip {
		return p.Add(q).Mul(0.5)
	}
	return s.Point((u0+u1)/2, (v0+v1)/2)
}

// addConical adds the share of a triangle on a cone, whose facets taper: what a
// quadratic patch makes of them is wrong by the taper's share of the chord error.
// Here the patch is the cone itself over a triangle in angle and height,
//
//	P = S(Σ l_k u_k, Σ l_k v_k) + Σ l_k gap_k + 4 Σ l_k l_{k+1} more_k,
//
// where gap takes up what a corner stands off the cone and more what the exact
// middle of a side does: next to nothing but at edges that run askew on the cone.
// The integrals are those of addPatch, by the same rule. It refuses a triangle
// at the tip, which addPatch integrates well, and one that leaves the cone by more
// than limit mm.
func (o *sums) addConical(s *surface.Cone, from mgl64.Vec3, c, bent *[3]mgl64.Vec3, limit float64) bool {
	f := s.Frame()
	shift := f.O.Sub(from)
	var u, v [3]float64
	var gap, more [3]mgl64.Vec3
	h := surface.Hint{}
	for k := range 3 {
		u[k], v[k] = s.Param(c[k].Add(from), h)
		h = surface.Near(u[0], v[0])
		if math.Abs(s.RadiusAt(v[k])) <= nearTip {
			return false
		}
		gap[k] = c[k].Add(from).Sub(s.Point(u[k], v[k]))
		if !(gap[k].Len() <= limit) {
			return false
		}
	}
	for k := range 3 {
		n := (k + 1) % 3
		m := s.Point((u[k]+u[n])/2, (v[k]+v[n])/2).Sub(from)
		rest := c[k].Add(c[n]).Sub(gap[k]).Sub(gap[n]).Mul(0.5) // the middle of the chord on the cone
		more[k] = bent[k].Sub(m.Sub(rest))
		if !(more[k].Len() <= limit) {
			return false
		}
	}
	o.addOnCone(s, shift, &u, &v, &gap, &more)
	return true
}

// addOnCone integrates over the patch of addConical; shift is the origin of the
// cone's frame.
func (o *sums) addOnCone(s *surface.Cone, shift mgl64.Vec3, u, v *[3]float64, gap, more *[3]mgl64.Vec3) {
	f, slope := s.Frame(), math.Tan(s.SemiAngle())
	us, ut, vs, vt := u[1]-u[0], u[2]-u[0], v[1]-v[0], v[2]-v[0]
	for i := range rule {
		q := &rule[i]
		sin, cos := math.Sincos(u[0] + q.s*us + q.t*ut)
		z := v[0] + q.s*vs + q.t*vt
		r := s.Radius() + z*slope
		out, round := f.X.Mul(cos).Add(f.Y.Mul(sin)), f.Y.Mul(cos).Sub(f.X.Mul(sin))
		along := out.Mul(slope).Add(f.Z) // ∂S/∂v; ∂S/∂u is r round
		p := shift.Add(out.Mul(r)).Add(f.Z.Mul(z)).Add(
			gap[0].Mul(q.r).Add(gap[1].Mul(q.s)).Add(gap[2].Mul(q.t))).Add(
			more[0].Mul(4 * q.rs).Add(more[1].Mul(4 * q.st)).Add(more[2].Mul(4 * q.tr)))
		ps := round.Mul(r * us).Add(along.Mul(vs)).Add(gap[1].Sub(gap[0])).Add(
			more[0].Mul(4 * q.rMinusS).Add(more[1].Mul(4 * q.t)).Add(more[2].Mul(4 * q.trS)))
		pt := round.Mul(r * ut).Add(along.Mul(vt)).Add(gap[2].Sub(gap[0])).Add(
			more[0].Mul(-4 * q.s).Add(more[1].Mul(4 * q.s)).Add(more[2].Mul(4 * q.trT)))
		o.addNode(&p, ps.Cross(pt), q.w)
	}
}

// addNode adds what a place p of a patch with normal n counts, of weight w.
func (o *sums) addNode(p *mgl64.Vec3, n mgl64.Vec3, w float64) {
	flux := p.Dot(n) * w
	o.volume += flux / 3
	o.x += p[0] * (flux / 4)
	o.y += p[1] * (flux / 4)
	o.z += p[2] * (flux / 4)
	o.addSecond(p[0], p[1], p[2], flux/5)
	o.area += n.Len() * w
}
