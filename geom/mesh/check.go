package mesh

import (
	"errors"
	"fmt"
	"slices"

	"stepscan/geom"
)

// ErrOpen says that the surface has a border: an edge that only one triangle
// uses.
var ErrOpen = errors.New("mesh is not closed")

// Check returns an error that names the first broken invariant: indices in
// range, finite vertices, no triangle with a vertex twice, every edge used
// exactly twice in opposite senses, FaceOf and Edges that fit. An empty mesh
// passes.
func (m *Mesh) Check() error {
	if err := m.checkIndices(); err != nil {
		return err
	}
	return m.checkEdges()
}

// IsClosed reports a mesh without border in which every edge is used exactly
// twice, in opposite senses. An empty mesh is not closed.
func (m *Mesh) IsClosed() bool {
	return len(m.Triangles) > 0 && m.checkIndices() == nil && m.checkEdges() == nil
}

func (m *Mesh) checkIndices() error {
	for i, p := range m.Vertices {
		if !geom.Finite(p) {
			return fmt.Errorf("vertex %d: %v is not finite", i, p)
		}
	}
	if m.FaceOf != nil && len(m.FaceOf) != len(m.Triangles) {
		return fmt.Errorf("%d triangles but %d face numbers", len(m.Triangles), len(m.FaceOf))
	}
	for i, t := range m.Triangles {
		if !m.valid(t[0]) || !m.valid(t[1]) || !m.valid(t[2]) {
			return fmt.Errorf("triangle %d: vertices %v out of range 0 to %d", i, t, len(m.Vertices)-1)
		}
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			return fmt.Errorf("triangle %d: vertex twice in %v", i, t)
		}
	}
	for i, e := range m.Edges {
		for _, v := range e.Verts {
			if !m.valid(v) {
				return fmt.Errorf("edge %d: vertex %d out of range", i, v)
			}
		}
	}
	return nil
}

func (m *Mesh) valid(v int32) bool { return v >= 0 && int(v) < len(m.Vertices) }

func (m *Mesh) checkEdges() error {
	f := m.fans()
	for i, t := range m.Triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			if f.count(a, b) > 1 {
				return fmt.Errorf("triangle %d and another use edge %d-%d in the same sense", i, a, b)
			}
			if f.count(b, a) == 0 {
				return fmt.Errorf("%w: only triangle %d uses edge %d-%d", ErrOpen, i, a, b)
			}
		}
	}
	return nil
}

// Border counts the triangle sides that are not matched by as many sides in
// the opposite sense; 0 for a closed mesh.
func (m *Mesh) Border() int {
	f := m.fans()
	n := 0
	for _, t := range m.Triangles {
		for k := range 3 {
			if a, b := t[k], t[(k+1)%3]; f.count(a, b) != f.count(b, a) {
				n++
			}
		}
	}
	return n
}

// fans lists, for each vertex a, the vertices b of all triangle sides from a to
// b, sorted: those of a are ends[first[a]:first[a+1]].
type fans struct{ first, ends []int32 }

func (m *Mesh) fans() fans {
	f := fans{make([]int32, len(m.Vertices)+1), make([]int32, 3*len(m.Triangles))}
	for _, t := range m.Triangles {
		for _, a := range t {
			f.first[a+1]++
		}
	}
	for a := range m.Vertices {
		f.first[a+1] += f.first[a]
	}
	fill := slices.Clone(f.first)
	for _, t := range m.Triangles {
		for k, a := range t {
			f.ends[fill[a]] = t[(k+1)%3]
			fill[a]++
		}
	}
	for a := range m.Vertices {
		slices.Sort(f.ends[f.first[a]:f.first[a+1]])
	}
	return f
}

// count is how many triangles have a side from a to b.
func (f *fans) count(a, b int32) int {
	l := f.ends[f.first[a]:f.first[a+1]]
	i, found := slices.BinarySearch(l, b)
	if !found {
		return 0
	}
	n := 1
	for i++; i < len(l) && l[i] == b; i++ {
		n++
	}
	return n
}
