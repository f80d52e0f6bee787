package surface

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Offset is a surface moved along its own normal:
//
//	P(u, v) = S(u, v) + d N(u, v),  d in mm, of either sign
//
// with the parameters of S. Its normal is that of S except where the distance
// reaches beyond one of the centres of curvature: there the derivatives, and
// with them the normal, turn over. ISO 10303-42, offset_surface.
type Offset struct {
	base  Surface
	d     float64
	poles []Pole // of the base
}

// Smooth surfaces know their second derivatives too.
type Smooth interface {
	Surface
	// SecondDerivatives are ∂²P/∂u², ∂²P/∂u∂v and ∂²P/∂v².
	SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3)
}

// maxOffsets bounds how often a surface may be offset again.
const maxOffsets = 4

// NewOffset refuses a distance that is not finite and long chains of offsets,
// whose derivatives come from differences of differences. An offset of an offset
// is one of the sum where the inner one keeps the normals of what it is made of.
func NewOffset(s Surface, d float64) (Offset, error) {
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return Offset{}, fmt.Errorf("offset by %g mm: want a finite number", d)
	}
	if o, ok := s.(Offset); ok && !o.turnsOver() {
		return NewOffset(o.base, o.d+d)
	}
	n := 0
	for o, ok := s.(Offset); ok; o, ok = o.base.(Offset) {
		if n++; n >= maxOffsets {
			return Offset{}, fmt.Errorf("offset of an offset, more than %d deep", maxOffsets)
		}
	}
	return Offset{base: s, d: d, poles: Poles(s)}, nil
}

// turnsOver reports that the normal is somewhere against the base's, as far as
// a net of places shows.
func (s Offset) turnsOver() bool {
	const n = 8
	u0, u1, v0, v1 := finiteDomain(s)
	for i := range n {
		for j := range n {
			u, v := u0+(u1-u0)*(float64(i)+0.5)/n, v0+(v1-v0)*(float64(j)+0.5)/n
			if !(s.Normal(u, v).Dot(s.base.Normal(u, v)) > 0) {
				return true
			}
		}
	}
	return false
}

// Base is the surface that is offset.
func (s Offset) Base() Surface { return s.base }

// Distance is how far it is moved along its normal, mm.
func (s Offset) Distance() float64 { return s.d }

// Point is the position at (u, v).
func (s Offset) Point(u, v float64) mgl64.Vec3 {
	return s.base.Point(u, v).Add(s.base.Normal(u, v).Mul(s.d))
}

// Derivatives follow from how the normal turns (Weingarten's equations).
func (s Offset) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	du, dv = s.base.Derivatives(u, v)
	nu, nv := normalDerivatives(s.base, u, v)
	return du.Add(nu.Mul(s.d)), dv.Add(nv.Mul(s.d))
}

// normalDerivatives are ∂N/∂u and ∂N/∂v.
func normalDerivatives(s Surface, u, v float64) (nu, nv mgl64.Vec3) {
	b, ok := s.(Smooth)
	if !ok {
		return normalDifferences(s, u, v)
	}
	du, dv := b.Derivatives(u, v)
	if _, ok = cross(&du, &dv); !ok {
		return normalDifferences(s, u, v)
	}
	uu, uv, vv := b.SecondDerivatives(u, v)
	w := du.Cross(dv)
	l := w.Len()
	n := w.Mul(1 / l)
	wu := uu.Cross(dv).Add(du.Cross(uv))
	wv := uv.Cross(dv).Add(du.Cross(vv))
	return wu.Sub(n.Mul(wu.Dot(n))).Mul(1 / l), wv.Sub(n.Mul(wv.Dot(n))).Mul(1 / l)
}

// normalDifferences stand in where the derivatives are not known or vanish.
func normalDifferences(s Surface, u, v float64) (nu, nv mgl64.Vec3) {
	u0, u1, v0, v1 := finiteDomain(s)
	hu, hv := 1e-5*(u1-u0), 1e-5*(v1-v0)
	nu = s.Normal(u+hu, v).Sub(s.Normal(u-hu, v)).Mul(0.5 / hu)
	nv = s.Normal(u, v+hv).Sub(s.Normal(u, v-hv)).Mul(0.5 / hv)
	return nu, nv
}

// Normal is that of ∂P/∂u × ∂P/∂v.
func (s Offset) Normal(u, v float64) mgl64.Vec3 {
	n := s.base.Normal(u, v)
	du, dv := s.Derivatives(u, v)
	if w, ok := cross(&du, &dv); ok && w.Dot(n) < 0 {
		return n.Mul(-1)
	}
	return n
}

// Domain is the base's.
func (s Offset) Domain() (u0, u1, v0, v1 float64) { return s.base.Domain() }

// Periods are the base's.
func (s Offset) Periods() (pu, pv float64) { return s.base.Periods() }

// Param takes the base's foot point, which lies on the same normal, and walks
// on from there where that is not the nearest point of the offset surface
// (beyond a centre of curvature).
func (s Offset) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	best, d2 := Hint{}, math.Inf(1)
	try := func(u, v float64) {
		u, v, e := s.descend(u, v, &p)
		if e < d2 {
			best, d2 = Near(u, v), e
		}
	}
	if h.Given {
		try(h.U, h.V)
	}
	if !(d2 <= onSurface*onSurface) || stuckAt(s.poles, best.U, best.V, d2) {
		try(s.base.Param(p, h))
	}
	if !(d2 <= onSurface*onSurface) { // from where p stood before the offset
		u, v := s.base.Param(p, h)
		try(s.base.Param(p.Sub(s.base.Normal(u, v).Mul(s.d)), h))
	}
	if !(d2 <= onSurface*onSurface) { // p may lie beyond a centre of curvature
		try(s.nearestOfNet(&p))
	}
	u0, _, v0, _ := s.Domain()
	pu, pv := s.Periods()
	return round(best.U, u0, pu, h.U, h.Given), round(best.V, v0, pv, h.V, h.Given)
}

// nearestOfNet is the place of a coarse net that is nearest to p.
func (s Offset) nearestOfNet(p *mgl64.Vec3) (u, v float64) {
	const n = 8
	u0, u1, v0, v1 := finiteDomain(s)
	least := math.Inf(1)
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := u0+(u1-u0)*float64(i)/n, v0+(v1-v0)*float64(j)/n
			q := s.Point(x, y)
			if d := distance2(&q, p); d < least {
				u, v, least = x, y, d
			}
		}
	}
	return u, v
}

// descend takes Gauss' steps, which on the surface converge as Newton's do.
func (s Offset) descend(u, v float64, p *mgl64.Vec3) (u1, v1, d2 float64) {
	u0, u1, v0, v1 := s.Domain()
	pu, pv := s.Periods()
	u, v = s.clamp(u, v)
	q := s.Point(u, v)
	d2 = distance2(&q, p)
	for range 30 {
		a, b := s.Derivatives(u, v)
		r := q.Sub(*p)
		du, dv := solveInside(dot(&a, &a), dot(&a, &b), dot(&b, &b), dot(&r, &a), dot(&r, &b),
			side{u, u0, u1, pu}, side{v, v0, v1, pv})
		ok := false
		for range 10 {
			nu, nv := s.clamp(u+du, v+dv)
			nq := s.Point(nu, nv)
			if e := distance2(&nq, p); e < d2 {
				u, v, q, d2, ok = nu, nv, nq, e, true
				break
			}
			du, dv = du/2, dv/2
		}
		if !ok {
			break
		}
	}
	return u, v, d2
}

// clamp keeps parameters of open directions in the domain.
func (s Offset) clamp(u, v float64) (float64, float64) {
	u0, u1, v0, v1 := s.Domain()
	pu, pv := s.Periods()
	if pu == 0 {
		u = min(max(u, u0), u1)
	}
	if pv == 0 {
		v = min(max(v, v0), v1)
	}
	return u, v
}
