package extent

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
)

// level is the slope up to which a place counts as a summit: it is lower than
// the real one by 5e-11 of the surface's radius there.
const level = 1e-5

// climb walks from a place uphill along the unit direction d, step mm at most at
// a time, and returns where it ends and the parameters there. ok says that the
// surface is level there; the end of a surface that goes on rising is no summit,
// and what lies beyond a face's edges may be anything.
func climb(s surface.Surface, from surface.Hint, d mgl64.Vec3, step float64) (p mgl64.Vec3, at surface.Hint, ok bool) {
	ground := ground(s)
	u, v := from.U, from.V
	p = s.Point(u, v)
	for range 30 {
		g := slopeAt(ground, u, v, d)
		if ok = g.size() <= level; g.size() <= 1e-9 {
			break
		}
		du, dv := g.step(step)
		q, u1, v1, moved := higher(s, u, v, du, dv, p.Dot(d), d)
		if !moved {
			break
		}
		p, u, v = q, u1, v1
	}
	return p, surface.Near(u, v), ok
}

// ground is the surface whose normals are those of s: of an offset what it is
// offset from, as that knows its second derivatives.
func ground(s surface.Surface) surface.Surface {
	for {
		o, ok := s.(surface.Offset)
		if !ok {
			return s
		}
		s = o.Base()
	}
}

// higher takes the step, or a part of it, that does not lead down.
func higher(s surface.Surface, u, v, du, dv, z float64, d mgl64.Vec3) (p mgl64.Vec3, u1, v1 float64, ok bool) {
	for range 12 {
		u1, v1 = clamp(s, u+du, v+dv)
		p = s.Point(u1, v1)
		if p.Dot(d) >= z-1e-15*math.Abs(z) {
			return p, u1, v1, u1 != u || v1 != v
		}
		du, dv = du/2, dv/2
	}
	return p, u, v, false
}

// clamp keeps the parameters within a surface that does not go on.
func clamp(s surface.Surface, u, v float64) (float64, float64) {
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

// slope is the height over a surface at a place, in parameters scaled so that
// both run in mm: gradient and second derivatives, the latter with the sign
// turned, so that a summit has them positive.
type slope struct {
	gu, gv        float64
	auu, auv, avv float64 // 1/mm
	su, sv        float64 // mm per parameter
}

func slopeAt(s surface.Surface, u, v float64, d mgl64.Vec3) slope {
	du, dv := s.Derivatives(u, v)
	g := slope{su: du.Len(), sv: dv.Len()}
	var uu, uv, vv mgl64.Vec3
	if b, ok := s.(surface.Smooth); ok {
		uu, uv, vv = b.SecondDerivatives(u, v)
	}
	if g.su > 0 {
		g.gu, g.auu = d.Dot(du)/g.su, -d.Dot(uu)/(g.su*g.su)
	}
	if g.sv > 0 {
		g.gv, g.avv = d.Dot(dv)/g.sv, -d.Dot(vv)/(g.sv*g.sv)
	}
	if g.su > 0 && g.sv > 0 {
		g.auv = -d.Dot(uv) / (g.su * g.sv)
	}
	return g
}

// size is the slope's, 0 at a summit. Both directions count by themselves: they
// may be anything but square to each other.
func (g *slope) size() float64 { return math.Hypot(g.gu, g.gv) }

// step is Newton's step towards the summit in the surface's own parameters, most
// mm long. Where the surface is no dome, or a ridge, along which any place will
// do, it is made one by a share of the slope's own direction (Levenberg's way).
func (g *slope) step(most float64) (du, dv float64) {
	mean, diff := (g.auu+g.avv)/2, math.Hypot((g.auu-g.avv)/2, g.auv)
	least, greatest := mean-diff, max(math.Abs(mean-diff), math.Abs(mean+diff))
	more := 0.0
	if least <= 1e-6*greatest {
		more = 1e-6*greatest - least
	}
	a, b, c := g.auu+more, g.auv, g.avv+more
	det := a*c - b*b
	du, dv = (c*g.gu-b*g.gv)/det, (a*g.gv-b*g.gu)/det
	if l := math.Hypot(du, dv); !(l <= most) {
		k := most / math.Hypot(g.gu, g.gv)
		du, dv = g.gu*k, g.gv*k
	}
	if g.su > 0 {
		du /= g.su
	}
	if g.sv > 0 {
		dv /= g.sv
	}
	return du, dv
}
