package contact

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/boxes"
)

// form is a part made ready: its features, and for each face its triangles,
// its box and how far its facets may leave it.
type form struct {
	part  *product.Part
	feat  *feature.Part
	box   geom.Box
	first []int32 // triangles of face i: tris[first[i]:first[i+1]]
	tris  []int32
	boxes []geom.Box
	sag   []float64   // mm, by face
	tree  *boxes.Tree // over boxes
	touch float64     // mm: what the file's accuracy allows, see Touch

	holes, bosses walls
	large         map[int32]func() *boxes.Tree // over the triangles of a face; see searched
}

func newForm(p *product.Part, feat *feature.Part) *form {
	s := &form{part: p, feat: feat, box: p.Mesh.Box(), touch: Touch}
	n := len(s.feat.Faces)
	faceOf := p.Mesh.FaceOf
	if len(faceOf) != len(p.Mesh.Triangles) {
		faceOf = nil // nothing is known of its faces
	}
	s.first, s.tris = feature.ByFace(faceOf, n)
	s.boxes, s.sag = make([]geom.Box, n), make([]float64, n)
	for i := range n {
		s.boxes[i] = geom.EmptyBox()
		for _, t := range s.of(i) {
			for _, v := range s.corners(t) {
				s.boxes[i] = s.boxes[i].Add(v)
			}
		}
		s.sag[i] = sag(&s.feat.Faces[i], p)
		s.boxes[i] = s.boxes[i].Grow(s.sag[i])
	}
	for _, b := range p.Bodies {
		if b.Uncertainty > 0 {
			s.touch = max(s.touch, min(b.Uncertainty, MaxTouch))
		}
	}
	s.tree = boxes.New(s.boxes)
	s.searched()
	s.holes, s.bosses = newWalls(feat.Holes), newWalls(feat.Bosses)
	return s
}

// sag is how far the facets of a face may leave its surface: not at all for a
// plane; on round faces also bounded by the angle between facets, here 20
// degrees or less, r (1 - cos 10°).
func sag(f *feature.Face, p *product.Part) float64 {
	const share = 0.0152
	switch f.Kind {
	case feature.Plane:
		return 0
	case feature.Cylinder, feature.Sphere:
		if len(p.Bodies) > 0 && p.Bodies[0].Facets == nil {
			return min(p.Mesh.Chord, share*f.R)
		}
	}
	return p.Mesh.Chord
}

// of lists the triangles of face i.
func (s *form) of(i int) []int32 { return s.tris[s.first[i]:s.first[i+1]] }

// corners of triangle t in the part's coordinates.
func (s *form) corners(t int32) [3]mgl64.Vec3 {
	m := s.part.Mesh
	tri := m.Triangles[t]
	return [3]mgl64.Vec3{m.Vertices[tri[0]], m.Vertices[tri[1]], m.Vertices[tri[2]]}
}

// sagOf is the sag of the face that triangle t belongs to.
func (s *form) sagOf(t int32) float64 {
	if f := s.faceOf(t); f >= 0 {
		return s.sag[f]
	}
	return s.part.Mesh.Chord
}

// faceOf is the face of triangle t, -1 where it is not known.
func (s *form) faceOf(t int32) int {
	if m := s.part.Mesh; len(m.FaceOf) == len(m.Triangles) && m.FaceOf[t] >= 0 && int(m.FaceOf[t]) < len(s.boxes) {
		return int(m.FaceOf[t])
	}
	return -1
}

// sagIn is the greatest sag of the faces that meet a box of the part.
func (s *form) sagIn(b geom.Box) float64 {
	most := 0.0
	if len(s.part.Mesh.FaceOf) != len(s.part.Mesh.Triangles) {
		return s.part.Mesh.Chord
	}
	s.tree.Within(b, func(i int32) bool {
		most = math.Max(most, s.sag[i])
		return true
	})
	return most
}
