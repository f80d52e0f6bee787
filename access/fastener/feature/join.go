package feature

import "stepscan/geom"

// Only is what some of the part's faces make, in the order given.
func (p *Part) Only(faces []int32) *Part {
	out := &Part{}
	for _, f := range faces {
		out.Faces = append(out.Faces, p.Faces[f])
	}
	out.Holes, out.Bosses = merge(out.Faces, true), merge(out.Faces, false)
	return out
}

// Join puts parts together, each at its place; their faces count through the
// parts in order, as those of mesh.Join do. Places must keep lengths.
func Join(parts []*Part, places []geom.Transform) *Part {
	out := &Part{}
	for i, p := range parts {
		for _, f := range p.Faces {
			f.Axis = f.Axis.Transformed(places[i])
			out.Faces = append(out.Faces, f)
		}
	}
	out.Holes, out.Bosses = merge(out.Faces, true), merge(out.Faces, false)
	return out
}
