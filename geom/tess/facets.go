package tess

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
)

// given passes the facets that a body came with through as its mesh: equal
// corners are joined, senses made to agree, the outside turned out. Nothing is
// added and nothing is smoothed. The mesh has no edge lines; its creases show
// where they are.
func given(b *brep.Body, tol geom.Tolerance) (*mesh.Mesh, []Fault) {
	m, bad := joinEqual(b.Facets, len(b.Faces))
	m.Chord = tol.Chord
	var faults []Fault
	tell := func(format string, args ...any) {
		faults = append(faults, Fault{NoFace, b.Tag, true, fmt.Sprintf(format, args...)})
	}
	if bad > 0 {
		tell("%d facets of points that are not there or of faces that are not there: left out", bad)
	}
	closed := m.IsClosed()
	if !closed {
		if n := joinBorder(m, weldDistance(b)); n > 0 {
			tell("facets do not meet in common points; %d points joined to others within %.2g mm", n, weldDistance(b))
		}
		turn, unsound := toTurn(facetNeighbours(m))
		for _, t := range turn {
			flip(m.Triangles[t : t+1])
		}
		if len(turn) > 0 {
			tell("%d facets looked the other way than their neighbours; turned over", len(turn))
		}
		if unsound > 0 {
			tell("facets cannot all look the same way as their neighbours; left as they are")
		}
		closed = m.IsClosed()
	}
	if closed {
		if why := outside(m); why != "" {
			tell("%s", why)
		}
	}
	if bow := bowOf(m); bow > tol.Chord {
		m.Chord = bow
		tell("facets are the file's own; they may leave its surfaces by some %.2g mm instead of %g mm", bow, tol.Chord)
	}
	dropUnused(m)
	return m, append(faceless(b, m), faults...)
}

// joinEqual makes a mesh in which points at the same place are one. Facets that
// name a point twice have no area and are dropped: strips of triangles turn
// their corners that way. Those that cannot be are counted.
func joinEqual(f *brep.Facets, faces int) (m *mesh.Mesh, bad int) {
	m = &mesh.Mesh{
		Triangles: make([][3]int32, 0, len(f.Triangles)),
		FaceOf:    make([]int32, 0, len(f.Triangles)),
	}
	at := make(map[mgl64.Vec3]int32, len(f.Points))
	same := make([]int32, len(f.Points)) // -1 for no point at all
	for i, p := range f.Points {
		if !geom.Finite(p) {
			same[i] = -1
			continue
		}
		k, ok := at[p]
		if !ok {
			k = int32(len(m.Vertices))
			at[p] = k
			m.Vertices = append(m.Vertices, p)
		}
		same[i] = k
	}
	for i, t := range f.Triangles {
		if i >= len(f.FaceOf) || f.FaceOf[i] < 0 || int(f.FaceOf[i]) >= faces || !within(t, same) {
			bad++
			continue
		}
		if t = [3]int32{same[t[0]], same[t[1]], same[t[2]]}; !degenerate(t) {
			m.Triangles = append(m.Triangles, t)
			m.FaceOf = append(m.FaceOf, int32(f.FaceOf[i]))
		}
	}
	return m, bad
}

// within reports a facet whose corners are all points.
func within(t [3]int32, same []int32) bool {
	for _, v := range t {
		if v < 0 || int(v) >= len(same) || same[v] < 0 {
			return false
		}
	}
	return true
}

func degenerate(t [3]int32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// joinBorder joins points on the border that lie within dist of each other,
// where that closes some of it, and says how many went. Inside points stay: a
// body may well touch itself.
func joinBorder(m *mesh.Mesh, dist float64) int {
	border := make([]bool, len(m.Vertices))
	edges, use := edgeUses(m)
	for i := range use {
		if use[i].n == 1 {
			a, b := edges.At(i)
			border[a], border[b] = true, true
		}
	}
	same := standIns(len(m.Vertices), func(i int) mgl64.Vec3 { return m.Vertices[i] }, border, dist)
	joined := 0
	for i, k := range same {
		if k != int32(i) {
			joined++
		}
	}
	if joined == 0 {
		return 0
	}
	try := &mesh.Mesh{Vertices: m.Vertices}
	for i, t := range m.Triangles {
		if t = [3]int32{same[t[0]], same[t[1]], same[t[2]]}; !degenerate(t) {
			try.Triangles = append(try.Triangles, t)
			try.FaceOf = append(try.FaceOf, m.FaceOf[i])
		}
	}
	if len(try.Triangles) == 0 || looseEdges(try) >= looseEdges(m) {
		return 0
	}
	m.Triangles, m.FaceOf = try.Triangles, try.FaceOf
	return joined
}

// looseEdges counts the edges that only one facet uses, whichever way facets look.
func looseEdges(m *mesh.Mesh) int {
	n := 0
	_, use := edgeUses(m)
	for i := range use {
		if use[i].n == 1 {
			n++
		}
	}
	return n
}

// edgeUse is who uses an edge of facets: how many, and the first two.
type edgeUse struct {
	n       int32
	facet   [2]int32
	forward [2]bool // from the lower vertex to the higher
}

func edgeUses(m *mesh.Mesh) (*mesh.Sides, []edgeUse) {
	edges := new(mesh.Sides)
	edges.Reset(3 * len(m.Triangles) / 2)
	use := make([]edgeUse, 0, 3*len(m.Triangles)/2)
	for i, t := range m.Triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			e, fresh := edges.AddEdge(a, b)
			if fresh {
				use = append(use, edgeUse{})
			}
			if u := &use[e]; u.n < 2 {
				u.facet[u.n], u.forward[u.n] = int32(i), a < b
			}
			use[e].n++
		}
	}
	return edges, use
}

// facetNeighbours links facets across edges that exactly two of them use.
func facetNeighbours(m *mesh.Mesh) [][]link {
	next := make([][]link, len(m.Triangles))
	room := make([]link, 3*len(next))
	for i := range next {
		next[i] = room[3*i : 3*i : 3*i+3]
	}
	_, use := edgeUses(m)
	for i := range use {
		u := &use[i]
		if a, b := u.facet[0], u.facet[1]; u.n == 2 {
			same := u.forward[0] == u.forward[1]
			next[a] = append(next[a], link{int(b), same})
			next[b] = append(next[b], link{int(a), same})
		}
	}
	return next
}

// smoothTurn is the angle, rad, below which facets of one face are taken for
// pieces of one surface: common practice for faceted models.
const smoothTurn = 30 * math.Pi / 180

// bowOf estimates, mm, how far facets stand off the surface that they were cut
// from: on a cylinder, facets of width w that turn by t from one to the next
// have the rise w/2 tan(t/4), and elsewhere that is about right. Of two facets
// the narrower one counts, since a flat one may be of any width.
func bowOf(m *mesh.Mesh) float64 {
	worst := 0.0
	edges, use := edgeUses(m)
	for i := range use {
		u := &use[i]
		if u.n != 2 || m.FaceOf[u.facet[0]] != m.FaceOf[u.facet[1]] {
			continue
		}
		p, q := m.Cross(int(u.facet[0])), m.Cross(int(u.facet[1]))
		turn := between(p, q)
		if u.forward[0] == u.forward[1] {
			turn = math.Pi - turn
		}
		a, b := edges.At(i)
		length := m.Vertices[b].Sub(m.Vertices[a]).Len()
		if !(turn < smoothTurn) || !(length > 0) {
			continue
		}
		worst = max(worst, min(p.Len(), q.Len())/length/2*math.Tan(turn/4))
	}
	return worst
}

// faceless lists the faces that no facet is left of.
func faceless(b *brep.Body, m *mesh.Mesh) []Fault {
	has := make([]bool, len(b.Faces))
	for _, f := range m.FaceOf {
		has[f] = true
	}
	var out []Fault
	for i, ok := range has {
		if !ok {
			out = append(out, Fault{brep.FaceIndex(i), b.Faces[i].Tag, false, "face of facets without an area"})
		}
	}
	return out
}
