package mesh

import (
	"math"
	"slices"

	"stepscan/geom"
)

// Append adds a copy of o to m. faces is how many faces the bodies already in
// m have: o's face numbers are raised by it, so that faces count through the
// bodies in order. The greater chord error of the two stays.
func (m *Mesh) Append(o *Mesh, faces int32) {
	base := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, o.Vertices...)
	if o.FaceOf != nil || m.FaceOf != nil {
		m.appendFaceOf(o, faces)
	}
	for _, t := range o.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
	}
	for _, e := range o.Edges {
		m.Edges = append(m.Edges, e.shifted(base, faces))
	}
	m.Chord = max(m.Chord, o.Chord)
}

// appendFaceOf keeps FaceOf as long as Triangles; a mesh without face numbers
// counts as one whose triangles all lie on its face 0.
func (m *Mesh) appendFaceOf(o *Mesh, faces int32) {
	for len(m.FaceOf) < len(m.Triangles) {
		m.FaceOf = append(m.FaceOf, 0)
	}
	for i := range o.Triangles {
		f := faces
		if o.FaceOf != nil {
			f += o.FaceOf[i]
		}
		m.FaceOf = append(m.FaceOf, f)
	}
}

func (e EdgeLine) shifted(base, faces int32) EdgeLine {
	e.Verts = slices.Clone(e.Verts)
	for i := range e.Verts {
		e.Verts[i] += base
	}
	for i := range e.Faces {
		if e.Faces[i] >= 0 {
			e.Faces[i] += faces
		}
	}
	return e
}

// Join puts the meshes of a part's bodies into one. faces[i] is how many faces
// body i has; see Append.
func Join(meshes []*Mesh, faces []int) *Mesh {
	out := new(Mesh)
	base := int32(0)
	for i, m := range meshes {
		out.Append(m, base)
		base += int32(faces[i])
	}
	return out
}

// Transformed is a copy placed by t. A mirror turns the triangles round so
// that they stay anticlockwise seen from outside; a scale grows the chord
// error with it.
func (m *Mesh) Transformed(t geom.Transform) *Mesh {
	out := &Mesh{
		Vertices:  slices.Clone(m.Vertices),
		Triangles: slices.Clone(m.Triangles),
		FaceOf:    slices.Clone(m.FaceOf),
		Edges:     slices.Clone(m.Edges),
		Chord:     m.Chord * stretch(t),
	}
	for i, p := range out.Vertices {
		out.Vertices[i] = t.Point(p)
	}
	if t.M.Det() < 0 {
		out.Flip()
	}
	return out
}

// stretch bounds how much t lengthens anything: exactly 1 for rigid ones, the
// Frobenius norm otherwise (never too small).
func stretch(t geom.Transform) float64 {
	if t.IsRigid() || t.IsMirror() {
		return 1
	}
	x, y, z := t.M.Cols()
	return math.Sqrt(x.Dot(x) + y.Dot(y) + z.Dot(z))
}

// Flip turns every triangle's sense in place; what was outside is inside.
func (m *Mesh) Flip() {
	for i, t := range m.Triangles {
		m.Triangles[i] = [3]int32{t[0], t[2], t[1]}
	}
}
