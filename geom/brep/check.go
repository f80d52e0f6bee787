package brep

import "fmt"

// Check returns an error that names the first broken invariant: indices in
// range, curves and surfaces present, loops whose coedges follow each other,
// and faces that each belong to at most one shell. Files break all of these;
// meshing copes, and says what it did.
func (b *Body) Check() error {
	for i := range b.Edges {
		e := &b.Edges[i]
		if e.Curve == nil || !b.HasVertex(e.Start) || !b.HasVertex(e.End) {
			return fmt.Errorf("edge %d (#%d): no curve, or a vertex is missing", i, e.Tag)
		}
	}
	for i := range b.Faces {
		f := &b.Faces[i]
		if f.Surface == nil {
			return fmt.Errorf("face %d (#%d): no surface", i, f.Tag)
		}
		for j := range f.Loops {
			if err := b.checkLoop(&f.Loops[j]); err != nil {
				return fmt.Errorf("face %d (#%d): loop %d: %w", i, f.Tag, j, err)
			}
		}
	}
	return b.checkShells()
}

func (b *Body) checkLoop(l *Loop) error {
	if len(l.Coedges) == 0 && !b.HasVertex(l.Vertex) {
		return fmt.Errorf("neither edges nor a vertex")
	}
	for k, c := range l.Coedges {
		if !b.HasEdge(c.Edge) {
			return fmt.Errorf("edge %d does not exist", c.Edge)
		}
		next := l.Coedges[(k+1)%len(l.Coedges)]
		if !b.HasEdge(next.Edge) {
			return fmt.Errorf("edge %d does not exist", next.Edge)
		}
		_, end := b.Ends(c)
		if start, _ := b.Ends(next); start != end {
			return fmt.Errorf("edge %d ends at vertex %d, but edge %d starts at %d", c.Edge, end, next.Edge, start)
		}
	}
	return nil
}

func (b *Body) checkShells() error {
	owner := make([]int, len(b.Faces))
	for i, s := range b.Shells {
		for _, f := range s.Faces {
			switch {
			case f < 0 || int(f) >= len(b.Faces):
				return fmt.Errorf("shell %d: face %d does not exist", i, f)
			case owner[f] != 0:
				return fmt.Errorf("face %d is in shells %d and %d", f, owner[f]-1, i)
			}
			owner[f] = i + 1
		}
	}
	return nil
}

// Ends are the vertices at which a coedge starts and ends. Its edge must be one
// of the body's.
func (b *Body) Ends(c Coedge) (start, end VertexIndex) {
	e := &b.Edges[c.Edge]
	if c.Reversed {
		return e.End, e.Start
	}
	return e.Start, e.End
}

// HasVertex reports whether v is a vertex of the body.
func (b *Body) HasVertex(v VertexIndex) bool { return v >= 0 && int(v) < len(b.Vertices) }

// HasEdge reports whether e is an edge of the body.
func (b *Body) HasEdge(e EdgeIndex) bool { return e >= 0 && int(e) < len(b.Edges) }
