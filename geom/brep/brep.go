package brep

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/curve"
	"stepscan/geom/surface"
)

// Indices into a Body's slices; types of their own so that they cannot be
// mixed up.
type (
	VertexIndex int32
	EdgeIndex   int32
	FaceIndex   int32
)

// NoVertex marks a loop that is not a vertex loop.
const NoVertex VertexIndex = -1

// Tag is the instance number that something came from, for reports (#12 is
// 12), 0 where there is none.
type Tag uint64

// Body is a solid or a surface model in its part's coordinates, mm.
type Body struct {
	Name     string
	Tag      Tag
	Vertices []Vertex
	Edges    []Edge
	Faces    []Face
	Shells   []Shell
	// Facets stand for the surfaces of a body that came without any; nil for
	// an exact one.
	Facets *Facets
	// Solid is true where the source calls the body a solid; a surface model
	// is an obstacle but has no volume.
	Solid bool
	// Uncertainty is the distance, mm, below which the source takes points
	// for the same; 0 where it does not say.
	Uncertainty float64
}

// Vertex is a corner.
type Vertex struct {
	P   mgl64.Vec3
	Tag Tag
}

// Edge is a piece of a curve from Start to End. Start and End are equal for a
// closed edge. Where SameSense is false the edge runs against its curve.
type Edge struct {
	Curve      curve.Curve
	Start, End VertexIndex
	SameSense  bool
	Tag        Tag
}

// Coedge is one use of an edge by a loop; Reversed runs from End to Start.
type Coedge struct {
	Edge     EdgeIndex
	Reversed bool
}

// Loop is a closed chain of coedges with the face's material on its left when
// seen against the face's outward normal (orientations of the file already
// folded in), or a single vertex (pole of a sphere, apex of a cone).
type Loop struct {
	Coedges []Coedge
	Vertex  VertexIndex // NoVertex unless the loop is a vertex
	Outer   bool        // the source says so; it may be wrong or missing
}

// Face is a bounded piece of a surface. SameSense is false where the face's
// outward normal is against the surface's. A face without loops is the whole
// closed surface. Surface is nil in a body of facets.
type Face struct {
	Surface   surface.Surface
	SameSense bool
	Loops     []Loop
	Tag       Tag
}

// Shell is a connected set of faces. The first shell of a solid is its
// outside, further ones are voids.
type Shell struct {
	Faces  []FaceIndex
	Closed bool // the source calls it closed
	Void   bool
	Tag    Tag
}

// HasVertex reports whether v is a vertex of the body.
func (b *Body) HasVertex(v VertexIndex) bool { return v >= 0 && int(v) < len(b.Vertices) }

// HasEdge reports whether e is an edge of the body.
func (b *Body) HasEdge(e EdgeIndex) bool { return e >= 0 && int(e) < len(b.Edges) }
