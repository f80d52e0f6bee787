package mass

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
)

// slack is how many chord errors a facet's middle may stand off its surface
// before the mesh there is taken for a makeshift. A facet keeps the chord at
// the places where it was measured; 4 leaves room for those between.
const slack = 4

// onCurve measures the sides along a curve.
func (s *skin) onCurve(a *arcs) {
	for _, c := range a.sides {
		p := s.middle(c.a, c.b)
		d := a.curve.Point(a.curve.Param(p)).Sub(p)
		s.bent[c.side] = s.believed(d, d.Len())
	}
}

// onSurface measures the sides inside a face that this piece of it has first.
func (s *skin) onSurface(p piece) {
	f := finder{skin: s, surface: p.surface}
	if surface.Searched(p.surface) {
		f.places = make(map[int32]surface.Hint, p.to-p.from)
	}
	for i := p.from; i < p.to; i++ {
		t := &s.mesh.Triangles[i]
		for k, n := range s.sides[i] {
			if n < 0 && n != straight {
				s.bent[sideOf(n)] = s.believed(f.bend(t[k], t[(k+1)%3]))
			}
		}
	}
}

// finder looks for the middles of sides on one surface.
type finder struct {
	skin    *skin
	surface surface.Surface
	places  map[int32]surface.Hint // of vertices, where they have to be searched for
	last    surface.Hint           // the place found last, to look for the next one from
}

// bend is the way from the middle of a side to its place on the surface, and how
// far it stands off. The foot of the chord's middle lies between those of its
// ends; only where none is found there within the chord error, as beside poles,
// is it looked for all over the surface. On cones the place is not the foot.
func (f *finder) bend(a, b int32) (d mgl64.Vec3, off float64) {
	s, p := f.surface, f.skin.middle(a, b)
	if cone, ok := s.(surface.Cone); ok {
		q := coneMiddle(&cone, f.skin.mesh.Vertices[min(a, b)], f.skin.mesh.Vertices[max(a, b)])
		return q.Sub(p), cone.Point(cone.Param(p, surface.Hint{})).Sub(p).Len()
	}
	near := f.between(a, b)
	d = oneStep(s, p, near)
	if !(d.Len() <= f.skin.mesh.Chord) {
		d = s.Point(surface.Foot(s, p, near)).Sub(p)
	}
	if !(d.Len() <= f.skin.mesh.Chord) {
		d = s.Point(s.Param(p, surface.Hint{})).Sub(p)
	}
	return d, d.Len()
}

// oneStep is the way from p to the surface at one step of Gauss and Newton's from
// a place near its foot. The place between two vertices is beside the foot by a
// share of the chord error, and what the step leaves of that is small against
// what the patch leaves out: no search has to converge.
func oneStep(s surface.Surface, p mgl64.Vec3, near surface.Hint) mgl64.Vec3 {
	if !near.Given {
		return s.Point(s.Param(p, near)).Sub(p)
	}
	q := s.Point(near.U, near.V)
	su, sv := s.Derivatives(near.U, near.V)
	r := p.Sub(q)
	a, b, c := su.Dot(su), su.Dot(sv), sv.Dot(sv)
	gu, gv := su.Dot(r), sv.Dot(r)
	det := a*c - b*b
	du, dv := (c*gu-b*gv)/det, (a*gv-b*gu)/det
	u0, u1, v0, v1 := s.Domain()
	pu, pv := s.Periods()
	u, v := near.U+du, near.V+dv
	if !(det > 1e-6*a*c) || pu == 0 && (u < u0 || u > u1) || pv == 0 && (v < v0 || v > v1) {
		return mgl64.Vec3{math.Inf(1)}
	}
	return s.Point(u, v).Sub(p)
}

// between is the middle of the parameters of two vertices.
func (f *finder) between(a, b int32) surface.Hint {
	if f.places == nil {
		return surface.Hint{}
	}
	if _, ok := f.places[a]; !ok {
		if _, ok := f.places[b]; ok {
			a, b = b, a
		}
	}
	from := f.at(a, f.last)
	to := f.at(b, from)
	pu, pv := f.surface.Periods()
	return surface.Near((from.U+nearTo(to.U, from.U, pu))/2, (from.V+nearTo(to.V, from.V, pv))/2)
}

// at is where a vertex lies on the surface, looked for from the hint.
func (f *finder) at(v int32, h surface.Hint) surface.Hint {
	if at, ok := f.places[v]; ok {
		return at
	}
	f.last = surface.Near(f.surface.Param(f.skin.mesh.Vertices[v], h))
	f.places[v] = f.last
	return f.last
}

// nearTo shifts t by whole periods to within half a period of near.
func nearTo(t, near, period float64) float64 {
	if period > 0 {
		t -= period * math.Round((t-near)/period)
	}
	return t
}

func (s *skin) middle(a, b int32) mgl64.Vec3 {
	return s.mesh.Vertices[min(a, b)].Add(s.mesh.Vertices[max(a, b)]).Mul(0.5)
}

// noBend is the share of the chord error below which a side is straight: what
// rounding makes of the middle of a line.
const noBend = 1e-7

// believed is d, or zero where the middle stands off too far or next to nothing.
func (s *skin) believed(d mgl64.Vec3, off float64) mgl64.Vec3 {
	if !(off <= s.limit) || off <= noBend*s.mesh.Chord { // a NaN is refused as well
		return mgl64.Vec3{}
	}
	return d
}
