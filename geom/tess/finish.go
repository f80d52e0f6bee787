package tess

import (
	"fmt"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/mesh"
)

// finish puts the faces together in their order.
func (w *work) finish() (*mesh.Mesh, []Fault) {
	if w.body.Facets != nil {
		return given(w.body, w.tol)
	}
	w.splitTwins()
	m := w.assemble()
	closed := m.IsClosed()
	if !closed && w.reorient() {
		m = w.assemble()
		closed = m.IsClosed()
	}
	var mended []string
	if closed {
		if mended = w.turnShells(); mended != nil {
			m = w.assemble()
		}
	}
	m.Edges = w.lines()
	if closed {
		if why := outside(m); why != "" {
			mended = append(mended, why)
		}
	}
	var faults []Fault
	for i := range w.out {
		if r := &w.out[i]; r.why != "" || !r.ok {
			faults = append(faults, Fault{brep.FaceIndex(i), w.body.Faces[i].Tag, r.ok, r.why})
		}
	}
	for _, why := range mended {
		faults = append(faults, Fault{NoFace, w.body.Tag, true, why})
	}
	w.dropSlits(m)
	dropUnused(m)
	return m, faults
}

func (w *work) assemble() *mesh.Mesh {
	vertices, triangles := len(w.net.pts), 0
	for i := range w.out {
		vertices, triangles = vertices+len(w.out[i].own), triangles+len(w.out[i].tris)
	}
	m := &mesh.Mesh{
		Vertices:  append(make([]mgl64.Vec3, 0, vertices), w.net.pts...),
		Triangles: make([][3]int32, 0, triangles),
		FaceOf:    make([]int32, 0, triangles),
		Chord:     w.tol.Chord,
	}
	for i := range w.out {
		w.addFace(m, int32(i))
	}
	return m
}

func (w *work) addFace(m *mesh.Mesh, i int32) {
	r := &w.out[i]
	base := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, r.own...)
	for _, t := range r.tris {
		for k := range t {
			if t[k] < 0 {
				t[k] = base - 1 - t[k]
			}
		}
		m.Triangles = append(m.Triangles, t)
		m.FaceOf = append(m.FaceOf, i)
	}
}

// outside turns a closed mesh that is inside out.
func outside(m *mesh.Mesh) string {
	v := m.Volume()
	if v >= 0 {
		return ""
	}
	m.Flip()
	for i := range m.Edges {
		if e := &m.Edges[i]; e.Turn > 0 && e.Faces[0] != e.Faces[1] {
			e.Convex = !e.Convex
		}
	}
	return fmt.Sprintf("body was inside out (%.6g mm³); turned over", v)
}

// dropSlits empties the lines of edges that bound nothing: slits that their face
// was meshed without, which may run on beyond its end.
func (w *work) dropSlits(m *mesh.Mesh) {
	var used []bool
	for i := range m.Edges {
		e := &m.Edges[i]
		f := e.Faces[0]
		if f < 0 || f != e.Faces[1] || !w.out[f].ok || w.out[f].why == "" {
			continue
		}
		if used == nil {
			used = make([]bool, len(m.Vertices))
			for _, t := range m.Triangles {
				used[t[0]], used[t[1]], used[t[2]] = true, true, true
			}
		}
		if slices.ContainsFunc(e.Verts, func(v int32) bool { return !used[v] }) {
			e.Verts = nil
		}
	}
}

// dropUnused leaves out vertices that neither a triangle nor an edge uses.
func dropUnused(m *mesh.Mesh) {
	to := make([]int32, len(m.Vertices))
	for _, t := range m.Triangles {
		for _, v := range t {
			to[v] = 1
		}
	}
	for _, e := range m.Edges {
		for _, v := range e.Verts {
			to[v] = 1
		}
	}
	kept := make([]mgl64.Vec3, 0, len(m.Vertices))
	for i, used := range to {
		if used != 0 {
			to[i] = int32(len(kept))
			kept = append(kept, m.Vertices[i])
		}
	}
	m.Vertices = kept
	for i := range m.Triangles {
		for k := range 3 {
			m.Triangles[i][k] = to[m.Triangles[i][k]]
		}
	}
	for _, e := range m.Edges {
		for k := range e.Verts {
			e.Verts[k] = to[e.Verts[k]]
		}
	}
}
