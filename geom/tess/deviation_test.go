package tess_test

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// deviation measures how far a mesh leaves the exact surfaces, at places that
// the tessellator did not choose: on every side within a face at a quarter, a
// half and three quarters of its length, on every triangle at its middle and
// half-way from there to its corners.
type deviation struct {
	b     *brep.Body
	m     *mesh.Mesh
	tol   geom.Tolerance
	where []foot     // by vertex: its place on the face asked for last
	sides mesh.Sides // of the face at hand, those that were looked at
	// By face, mm: the greatest distance of the mesh, and that of its vertices
	// alone. Those inside a face lie on it: what is left is how far the file's own
	// edges lie beside its surface.
	off, border []float64
	// Area, mm², of the triangles that stand by more than the angle off the surface
	// at their middle, and of all on curved faces.
	turned, curved float64
	samples        int
}

// foot is a vertex's place on a face, numbered from 1.
type foot struct {
	face int32
	at   surface.Hint
}

// measure looks at all triangles.
func measure(b *brep.Body, m *mesh.Mesh, tol geom.Tolerance) *deviation {
	d := &deviation{
		b: b, m: m, tol: tol, where: make([]foot, len(m.Vertices)),
		off: make([]float64, len(b.Faces)), border: make([]float64, len(b.Faces)),
	}
	last := int32(-1)
	for i := range m.Triangles {
		if f := m.FaceOf[i]; f != last {
			d.sides.Reset(0)
			last = f
		}
		d.triangle(i)
	}
	return d
}

func (d *deviation) triangle(i int) {
	t, f := d.m.Triangles[i], d.m.FaceOf[i]
	s := d.b.Faces[f].Surface
	var at [3]surface.Hint
	for k := range 3 {
		at[k] = d.corner(f, t[k], at[0])
	}
	if _, flat := s.(surface.Plane); flat {
		return // nothing between the corners leaves a plane
	}
	pu, pv := s.Periods()
	for k := range 3 {
		at[k].U, at[k].V = near(at[k].U, at[0].U, pu), near(at[k].V, at[0].V, pv)
	}
	look := func(a, b, c float64) surface.Hint {
		v := d.m.Vertices
		p := v[t[0]].Mul(a).Add(v[t[1]].Mul(b)).Add(v[t[2]].Mul(c))
		q, off := d.nearest(s, p, surface.Near(a*at[0].U+b*at[1].U+c*at[2].U, a*at[0].V+b*at[1].V+c*at[2].V))
		d.off[f] = max(d.off[f], off)
		return q
	}
	for k := range 3 {
		if _, fresh := d.sides.AddEdge(t[k], t[(k+1)%3]); !fresh {
			continue
		}
		for _, x := range [...]float64{0.25, 0.5, 0.75} {
			var w [3]float64
			w[k], w[(k+1)%3] = 1-x, x
			look(w[0], w[1], w[2])
		}
	}
	look(2./3, 1./6, 1./6)
	look(1./6, 2./3, 1./6)
	look(1./6, 1./6, 2./3)
	d.facing(i, s, look(1./3, 1./3, 1./3))
}

// facing compares a triangle's direction with the surface's at its middle. A
// face may have been turned over as a whole.
func (d *deviation) facing(i int, s surface.Surface, middle surface.Hint) {
	n, c := d.m.Cross(i), s.Normal(middle.U, middle.V)
	d.curved += n.Len() / 2
	if math.Atan2(n.Cross(c).Len(), math.Abs(n.Dot(c))) > d.tol.Angle {
		d.turned += n.Len() / 2
	}
}

// nearest is the surface's point nearest to p, and how far it is. Where the way
// downhill from the hint ends farther off than allowed, it is looked for all over
// the surface.
func (d *deviation) nearest(s surface.Surface, p mgl64.Vec3, from surface.Hint) (surface.Hint, float64) {
	d.samples++
	u, v := surface.Foot(s, p, from)
	off := s.Point(u, v).Sub(p).Len()
	if !(off <= d.tol.Chord) {
		x, y := s.Param(p, surface.Hint{})
		if o := s.Point(x, y).Sub(p).Len(); !(o >= off) {
			u, v, off = x, y, o
		}
	}
	return surface.Near(u, v), off
}

// corner is a vertex's place on the surface of face f.
func (d *deviation) corner(f, v int32, from surface.Hint) surface.Hint {
	w := &d.where[v]
	if w.face != f+1 {
		s, p := d.b.Faces[f].Surface, d.m.Vertices[v]
		*w = foot{f + 1, surface.Near(s.Param(p, from))}
		off := s.Point(w.at.U, w.at.V).Sub(p).Len()
		d.off[f], d.border[f] = max(d.off[f], off), max(d.border[f], off)
	}
	return w.at
}

// near shifts x by whole periods to within half a period of t.
func near(x, t, period float64) float64 {
	if period > 0 {
		x -= period * math.Round((x-t)/period)
	}
	return x
}
