package mesh

import "github.com/go-gl/mathgl/mgl64"

// Mesh is an indexed triangle mesh in mm. Triangles turn anticlockwise seen
// from outside. A mesh that came from a boundary also knows which face each
// triangle lies on and which polylines its B-rep edges became.
type Mesh struct {
	Vertices  []mgl64.Vec3
	Triangles [][3]int32
	// FaceOf gives each triangle's face in the body that was meshed
	// (brep.FaceIndex), or is nil.
	FaceOf []int32
	// Edges are the B-rep edges as the mesh has them, in the order of the
	// body's edges.
	Edges []EdgeLine
	// Chord is the distance, mm, that the facets may leave the exact surface.
	Chord float64
}

// EdgeLine is a B-rep edge as a chain of mesh vertices. The chain of a closed
// edge ends with the vertex it starts from; that of an edge that could not be
// read, or that bounds nothing, is empty.
type EdgeLine struct {
	Verts []int32
	// Faces on both sides, -1 where there is none; equal for a seam.
	Faces [2]int32
	// Turn is the angle, rad, between the outward normals of the two faces
	// along the edge (its largest over the edge): 0 for a tangent edge.
	Turn float64
	// Convex says that the material's angle is below 180 degrees.
	Convex bool
}
