// Package extent says how far a meshed body reaches along a direction, on its
// exact surface. A mesh is inscribed: the box of its vertices falls short of a
// sphere's by up to the chord error, and whether a vertex happens to stand at the
// top is chance.
//
//	highest vertex ─► curves of the edges near it ─► surfaces of the facets near it
//
// The highest point of a face lies inside it, where the normal runs along the
// direction, or on an edge, where the tangent runs across, or is a vertex. The
// mesh tells where to look and whether a place is within the face's bounds; the
// figures come from the curves and surfaces. Where these do not stand for what
// was meshed, as of repaired faces and of bodies of facets, the mesh's own figure
// remains, so that a box always holds the mesh.
package extent
