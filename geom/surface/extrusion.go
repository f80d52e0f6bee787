package surface

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// Extrusion is a curve moved along a direction:
//
//	P(u, v) = C(u) + v D,  u the curve's parameter; v in mm along the unit D
//
// The normal is that of C' × D. ISO 10303-42, surface_of_linear_extrusion
// (whose v counts lengths of its vector).
type Extrusion struct {
	c      curve.Curve
	d      mgl64.Vec3
	starts []curve.Start // points of the curve across D, for Param; nil where flat
	flat   bool          // the curve is plane and not along D
	o, n   mgl64.Vec3    // a point and the normal of that plane
}

// NewExtrusion refuses a direction without length and a curve that runs along
// the direction all the way, which makes no surface.
func NewExtrusion(c curve.Curve, d mgl64.Vec3) (Extrusion, error) {
	d, ok := geom.Unit(d)
	if !ok {
		return Extrusion{}, fmt.Errorf("extrusion: %w", geom.ErrNoDirection)
	}
	s := Extrusion{c: c, d: d}
	all := curve.Starts(c)
	wide := false
	for _, a := range all {
		d1, _ := c.Derivatives(a.T)
		wide = wide || d1.Cross(d).Len() > 1e-9*d1.Len()
	}
	if !wide {
		return Extrusion{}, fmt.Errorf("extrusion of a curve along itself")
	}
	if s.o, s.n, s.flat = planeOf(all, d); !s.flat {
		for _, a := range all {
			s.starts = append(s.starts, curve.Start{T: a.T, P: geom.Across(a.P, d)})
		}
	}
	return s, nil
}

// planeOf finds the plane of a curve's points. It must stand at 0.1 rad to d
// at least, so that points can be moved along d onto it. A straight line gets
// the plane through it that is most across d.
func planeOf(pts []curve.Start, d mgl64.Vec3) (o, n mgl64.Vec3, ok bool) {
	o = pts[0].P
	far, size := mgl64.Vec3{}, 0.0
	for _, a := range pts {
		if e := a.P.Sub(o); e.Len() > size {
			far, size = e, e.Len()
		}
	}
	x, _ := geom.Unit(far)
	side := mgl64.Vec3{}
	for _, a := range pts {
		e := a.P.Sub(o)
		if e = e.Sub(x.Mul(e.Dot(x))); e.Len() > side.Len() {
			side = e
		}
	}
	y, _ := geom.Unit(side)
	if side.Len() <= 1e-9*size {
		y, _ = geom.Unit(x.Cross(d))
	}
	n = x.Cross(y)
	for _, a := range pts {
		if !(math.Abs(a.P.Sub(o).Dot(n)) <= 1e-9*size) {
			return o, n, false
		}
	}
	return o, n, math.Abs(n.Dot(d)) > 0.1
}

// Curve is what is extruded.
func (s Extrusion) Curve() curve.Curve { return s.c }

// Dir is the unit direction of v.
func (s Extrusion) Dir() mgl64.Vec3 { return s.d }

// Point is the position at (u, v).
func (s Extrusion) Point(u, v float64) mgl64.Vec3 { return s.c.Point(u).Add(s.d.Mul(v)) }

// Derivatives are C' and D.
func (s Extrusion) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	du, _ = s.c.Derivatives(u)
	return du, s.d
}

// SecondDerivatives are C” and twice zero.
func (s Extrusion) SecondDerivatives(u, v float64) (duu, duv, dvv mgl64.Vec3) {
	_, duu = s.c.Derivatives(u)
	return duu, duv, dvv
}

// Normal is that of C' × D; where the curve stands still or runs along D, the
// one a little way inside the domain.
func (s Extrusion) Normal(u, v float64) mgl64.Vec3 {
	du, _ := s.c.Derivatives(u)
	d, _ := geom.Unit(du)
	if n, ok := cross(&d, &s.d); ok {
		return n
	}
	return insideNormal(s, u, v)
}

// Domain is the curve's, and infinite in v.
func (s Extrusion) Domain() (u0, u1, v0, v1 float64) {
	u0, u1 = s.c.Domain()
	return u0, u1, math.Inf(-1), math.Inf(1)
}

// Periods are the curve's and 0.
func (s Extrusion) Periods() (pu, pv float64) { return s.c.Period(), 0 }

// Param looks along D: the foot point is where the curve's shadow is nearest.
func (s Extrusion) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	u0, _ := s.c.Domain()
	pu := s.c.Period()
	d2 := math.Inf(1)
	if h.Given {
		u, d2 = s.descend(h.U, &p)
	}
	if !(d2 <= onSurface*onSurface) {
		if t, e := s.search(&p); math.Sqrt(e) < math.Sqrt(d2)-atPole || math.IsInf(d2, 1) {
			u = t
		}
	}
	v = p.Sub(s.c.Point(u)).Dot(s.d)
	return round(u, u0, pu, h.U, h.Given), v
}

// search finds the foot point without a hint: on a flat curve from the point
// moved along D into its plane, else from points all over the curve.
func (s Extrusion) search(p *mgl64.Vec3) (u, d2 float64) {
	if s.flat {
		q := p.Sub(s.d.Mul(p.Sub(s.o).Dot(s.n) / s.d.Dot(s.n)))
		return s.descend(s.c.Param(q), p)
	}
	u = curve.NearestFrom(s.starts, geom.Across(*p, s.d), func(t float64) (float64, float64) { return s.descend(t, p) })
	return u, s.gap(u, p).D2
}

func (s Extrusion) descend(u float64, p *mgl64.Vec3) (t, d2 float64) {
	u0, u1 := s.c.Domain()
	return curve.Descend(u, u0, u1, s.c.Period(), func(t float64) curve.Gap { return s.gap(t, p) })
}

// gap measures across D only.
func (s *Extrusion) gap(t float64, p *mgl64.Vec3) curve.Gap {
	c, d1, d2 := curve.Eval(s.c, t)
	x, y, z := c[0]-p[0], c[1]-p[1], c[2]-p[2]
	d := &s.d
	k := x*d[0] + y*d[1] + z*d[2]
	x, y, z = x-k*d[0], y-k*d[1], z-k*d[2]
	k = dot(&d1, d)
	speed := dot(&d1, &d1) - k*k
	return curve.Gap{
		D2: x*x + y*y + z*z,
		G:  x*d1[0] + y*d1[1] + z*d1[2],
		H:  speed + x*d2[0] + y*d2[1] + z*d2[2],
		S:  speed,
	}
}
