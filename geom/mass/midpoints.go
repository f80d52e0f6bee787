package mass

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// slack is how many chord errors a facet's middle may stand off its surface
// before the mesh there is taken for a makeshift. A facet keeps the chord at
// the places where it was measured; 4 leaves room for those between.
const slack = 4

// midpoints says for the curved edges of a mesh how far the exact boundary or
// surface is from the middle of the chord; what is not in it is straight.
type midpoints struct {
	mesh  *mesh.Mesh
	limit float64 // mm: what is farther off is not believed
	edges mesh.Sides
	bent  []mgl64.Vec3 // by the edge's number
	where []where      // by vertex
}

// where is a vertex's place on the latest face that asked for it.
type where struct {
	face int32 // number + 1; 0 for none yet
	hint surface.Hint
}

// midpointsOf asks the curves first and then the surfaces for what lies inside
// faces.
func midpointsOf(b *brep.Body, m *mesh.Mesh) *midpoints {
	out := &midpoints{mesh: m, limit: slack * m.Chord, where: make([]where, len(m.Vertices))}
	out.edges.Reset(3 * len(m.Triangles) / 2)
	for i := range min(len(m.Edges), len(b.Edges)) {
		out.onCurve(b.Edges[i].Curve, m.Edges[i].Verts)
	}
	for i, t := range m.Triangles {
		s := faceSurface(b, m, i)
		if _, plane := s.(surface.Plane); plane || s == nil {
			continue
		}
		for k := range 3 {
			out.onSurface(s, m.FaceOf[i]+1, t[k], t[(k+1)%3])
		}
	}
	return out
}

// of is how far the middle of an edge leaves its chord.
func (m *midpoints) of(a, b int32) mgl64.Vec3 {
	if i, ok := m.edges.Find(min(a, b), max(a, b)); ok {
		return m.bent[i]
	}
	return mgl64.Vec3{}
}

// maxSearch bounds, for one curve, its chords times its pieces: the foot of each
// chord's middle is looked for among all pieces. Real curves have some 1e5; one
// with more is measured by its chords.
const maxSearch = 1 << 22

// onCurve measures the chords along a curve; a later straight line between the
// same vertices takes the place of an arc.
func (m *midpoints) onCurve(c curve.Curve, verts []int32) {
	_, straight := c.(curve.Line)
	if few := 1000; c != nil && len(verts) > few && len(verts)*len(curve.Breaks(c)) > maxSearch {
		straight = true
	}
	for k := 1; k < len(verts); k++ {
		i, fresh := m.edges.AddEdge(verts[k-1], verts[k])
		if fresh {
			m.bent = append(m.bent, mgl64.Vec3{})
		}
		switch {
		case straight || c == nil:
			m.bent[i] = mgl64.Vec3{}
		case fresh:
			p := m.middle(verts[k-1], verts[k])
			m.bent[i] = m.believed(c.Point(c.Param(p)).Sub(p))
		}
	}
}

// onSurface measures an edge inside a face, once. The foot of the chord's middle
// lies between those of its ends; only where none is found there within the
// chord error, as beside poles, is it looked for all over the surface.
func (m *midpoints) onSurface(s surface.Surface, face, a, b int32) {
	if _, fresh := m.edges.AddEdge(a, b); !fresh {
		return
	}
	p := m.middle(a, b)
	d := s.Point(surface.Foot(s, p, m.between(s, face, a, b))).Sub(p)
	if !(d.Len() <= m.mesh.Chord) {
		d = s.Point(s.Param(p, surface.Hint{})).Sub(p)
	}
	m.bent = append(m.bent, m.believed(d))
}

// between is the middle of the parameters of two vertices.
func (m *midpoints) between(s surface.Surface, face, a, b int32) surface.Hint {
	if !surface.Searched(s) {
		return surface.Hint{}
	}
	if m.where[a].face != face && m.where[b].face == face {
		a, b = b, a
	}
	from := m.at(s, face, a, surface.Hint{})
	to := m.at(s, face, b, from)
	pu, pv := s.Periods()
	return surface.Near((from.U+nearTo(to.U, from.U, pu))/2, (from.V+nearTo(to.V, from.V, pv))/2)
}

// at is where a vertex lies on the surface, looked for from the hint.
func (m *midpoints) at(s surface.Surface, face, v int32, h surface.Hint) surface.Hint {
	w := &m.where[v]
	if w.face != face {
		*w = where{face, surface.Near(s.Param(m.mesh.Vertices[v], h))}
	}
	return w.hint
}

// nearTo shifts t by whole periods to within half a period of near.
func nearTo(t, near, period float64) float64 {
	if period > 0 {
		t -= period * math.Round((t-near)/period)
	}
	return t
}

func (m *midpoints) middle(a, b int32) mgl64.Vec3 {
	return m.mesh.Vertices[min(a, b)].Add(m.mesh.Vertices[max(a, b)]).Mul(0.5)
}

// believed is d, or zero where that is too long.
func (m *midpoints) believed(d mgl64.Vec3) mgl64.Vec3 {
	if !(d.Len() <= m.limit) { // a NaN is refused as well
		return mgl64.Vec3{}
	}
	return d
}
