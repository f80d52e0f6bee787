package mass

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// skin is the mesh of a body made ready to be integrated over: its sides are
// numbered, and for each that may be bent it is settled who measures it, which
// is done once.
type skin struct {
	body   *brep.Body
	mesh   *mesh.Mesh
	o      mgl64.Vec3 // where the integrals are taken from, mm
	limit  float64    // mm: what is farther off is not believed
	pieces []piece
	arcs   []arcs
	sides  [][3]int32   // by triangle: the number of the side from each corner, see turned
	bent   []mgl64.Vec3 // by side: how far the exact middle leaves that of the chord
}

// piece is a run of triangles of one face.
type piece struct {
	skin     int32 // in the list of bodies
	face     int32
	from, to int32
	surface  surface.Surface // nil where it is not known
}

// maxPiece bounds a piece, so that a body of one large face is work for all.
const maxPiece = 1024

// curved is false for a piece whose inner sides are straight.
func (p *piece) curved() bool {
	_, plane := p.surface.(surface.Plane)
	return p.surface != nil && !plane
}

// arcs are the sides along one curve that are measured on it.
type arcs struct {
	curve curve.Curve
	sides []arc
}

type arc struct{ side, a, b int32 }

// straight is the number of a side that has none.
const straight = -1 << 31

// first marks the number of a side in the triangle that measures it; turned back
// it is the number.
func first(side int32) int32 { return ^side }

// sideOf undoes first.
func sideOf(n int32) int32 { return max(n, ^n) }

// skinOf numbers the sides of edges first and then those inside of faces.
func skinOf(b *brep.Body, m *mesh.Mesh) *skin {
	s := &skin{body: b, mesh: m, limit: slack * m.Chord}
	box := m.Box()
	if box.IsEmpty() {
		return s
	}
	// From the middle of the mesh, so that a part far from its origin loses
	// no digits.
	s.o = box.Centre()
	s.cut()
	var number mesh.Sides
	number.Reset(3 * len(m.Triangles) / 2)
	s.numberEdges(&number)
	s.numberFaces(&number)
	s.bent = make([]mgl64.Vec3, number.Len())
	return s
}

// cut makes the pieces.
func (s *skin) cut() {
	m := s.mesh
	for i := range m.Triangles {
		face := int32(-1)
		if i < len(m.FaceOf) {
			face = m.FaceOf[i]
		}
		if k := len(s.pieces) - 1; k >= 0 && s.pieces[k].face == face && s.pieces[k].to-s.pieces[k].from < maxPiece {
			s.pieces[k].to++
			continue
		}
		p := piece{face: face, from: int32(i), to: int32(i) + 1}
		if face >= 0 && int(face) < len(s.body.Faces) {
			p.surface = s.body.Faces[face].Surface
		}
		s.pieces = append(s.pieces, p)
	}
}

// maxSearch bounds, for one curve, its chords times its pieces: the foot of each
// chord's middle is looked for among all pieces. Real curves have some 1e5; one
// with more is measured by its chords.
const maxSearch = 1 << 22

// numberEdges numbers the sides along edges. Where a straight line and an arc
// run between the same vertices, the line counts.
func (s *skin) numberEdges(number *mesh.Sides) {
	bends := func(i int) bool {
		c, n := s.body.Edges[i].Curve, len(s.mesh.Edges[i].Verts)
		if _, line := c.(curve.Line); line || c == nil {
			return false
		}
		return n <= 1000 || n*len(curve.Breaks(c)) <= maxSearch
	}
	edges := min(len(s.mesh.Edges), len(s.body.Edges))
	for i := range edges {
		if !bends(i) {
			v := s.mesh.Edges[i].Verts
			for k := 1; k < len(v); k++ {
				number.AddEdge(v[k-1], v[k])
			}
		}
	}
	for i := range edges {
		if !bends(i) {
			continue
		}
		own := arcs{curve: s.body.Edges[i].Curve}
		v := s.mesh.Edges[i].Verts
		for k := 1; k < len(v); k++ {
			if n, fresh := number.AddEdge(v[k-1], v[k]); fresh {
				own.sides = append(own.sides, arc{int32(n), v[k-1], v[k]})
			}
		}
		s.arcs = append(s.arcs, own)
	}
}

// numberFaces numbers the sides of triangles. One that is on no edge is measured
// by the first triangle of a curved face that has it.
func (s *skin) numberFaces(number *mesh.Sides) {
	s.sides = make([][3]int32, len(s.mesh.Triangles))
	for _, p := range s.pieces {
		if !p.curved() {
			continue
		}
		for i := p.from; i < p.to; i++ {
			t := &s.mesh.Triangles[i]
			for k := range 3 {
				n, fresh := number.AddEdge(t[k], t[(k+1)%3])
				if s.sides[i][k] = int32(n); fresh {
					s.sides[i][k] = first(int32(n))
				}
			}
		}
	}
	for _, p := range s.pieces {
		if p.curved() {
			continue
		}
		for i := p.from; i < p.to; i++ {
			t := &s.mesh.Triangles[i]
			for k := range 3 {
				a, b := t[k], t[(k+1)%3]
				if n, ok := number.Find(min(a, b), max(a, b)); ok {
					s.sides[i][k] = int32(n)
				} else {
					s.sides[i][k] = straight
				}
			}
		}
	}
}

// integrate sums over a piece whose sides are measured.
func (s *skin) integrate(p piece) (sum sums) {
	cone, _ := p.surface.(surface.Cone)
	_, conical := p.surface.(surface.Cone)
	for i := p.from; i < p.to; i++ {
		t := &s.mesh.Triangles[i]
		c := [3]mgl64.Vec3{s.mesh.Vertices[t[0]].Sub(s.o), s.mesh.Vertices[t[1]].Sub(s.o), s.mesh.Vertices[t[2]].Sub(s.o)}
		var bent [3]mgl64.Vec3
		for k, n := range s.sides[i] {
			if n != straight {
				bent[k] = s.bent[sideOf(n)]
			}
		}
		switch {
		case bent == [3]mgl64.Vec3{}:
			sum.addTriangle(&c)
		case conical && sum.addConical(&cone, s.o, &c, &bent, s.limit):
		default:
			sum.addPatch(&c, &bent)
		}
	}
	return sum
}
