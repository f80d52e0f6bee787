package brep

import "github.com/go-gl/mathgl/mgl64"

// Facets are the triangles of a body whose source gives them instead of
// surfaces, in the body's coordinates, mm. The faces of such a body have a tag
// and neither surface nor loops; it has no edges and no vertices either.
//
// Nothing is promised of the triangles but what the source wrote: corners may
// come several times, senses may contradict each other.
type Facets struct {
	Points    []mgl64.Vec3
	Triangles [][3]int32  // of points
	FaceOf    []FaceIndex // of each triangle
}
