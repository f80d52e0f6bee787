package mesh

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Lines is a mesh made ready to be asked for its feature edges, and for its
// silhouette from any side: its edges with the triangles on both sides. It is
// worked out once for a part and not changed afterwards, so any number of views
// may share it.
type Lines struct {
	mesh    *Mesh
	normals []mgl64.Vec3 // unit and outward; zero for a triangle without area
	edges   []lineEdge   // by vertices
	closed  bool         // every edge has two triangles
	sound   bool         // every index is in range
	box     geom.Box
}

// lineEdge is an undirected edge of the mesh.
type lineEdge struct {
	a, b   int32   // vertices, a < b
	t0, t1 int32   // triangles, -1 where there is none
	turn   float32 // rad: of the B-rep edge it lies on, or noFeature
	odd    bool    // more than two triangles meet
}

// noFeature marks a mesh edge inside a face.
const noFeature = -1

// creaseAngle is the turn, rad, from which an edge of a mesh without B-rep
// edges counts as one: common practice for faceted models.
const creaseAngle = 30 * math.Pi / 180

// NewLines prepares a mesh. Triangles with indices out of range are left out.
// A nil mesh gives Lines without any line.
func NewLines(m *Mesh) *Lines {
	l := &Lines{mesh: m, closed: true, sound: true, box: geom.EmptyBox()}
	if m == nil {
		l.mesh = &Mesh{}
		return l
	}
	for _, v := range m.Vertices {
		l.box = l.box.Add(v)
	}
	l.measure()
	l.pair()
	if len(m.Edges) > 0 {
		l.markEdges()
	} else {
		l.markCreases()
	}
	return l
}

// Mesh is what the lines are of; empty for a nil one.
func (l *Lines) Mesh() *Mesh { return l.mesh }

// Box is that of the mesh's vertices.
func (l *Lines) Box() geom.Box { return l.box }

// None reports a mesh without any edge.
func (l *Lines) None() bool { return len(l.edges) == 0 }

// Sound reports that every triangle's vertices are in range.
func (l *Lines) Sound() bool { return l.sound }

func (l *Lines) measure() {
	m := l.mesh
	l.normals = make([]mgl64.Vec3, len(m.Triangles))
	for i, t := range m.Triangles {
		if !l.mesh.valid(t[0]) || !l.mesh.valid(t[1]) || !l.mesh.valid(t[2]) {
			l.sound = false
			continue
		}
		a, b, c := &m.Vertices[t[0]], &m.Vertices[t[1]], &m.Vertices[t[2]]
		ux, uy, uz := b[0]-a[0], b[1]-a[1], b[2]-a[2]
		vx, vy, vz := c[0]-a[0], c[1]-a[1], c[2]-a[2]
		nx, ny, nz := uy*vz-uz*vy, uz*vx-ux*vz, ux*vy-uy*vx
		if s := math.Sqrt(nx*nx + ny*ny + nz*nz); s > 1e-18 { // mm²: below is no area at all
			l.normals[i] = mgl64.Vec3{nx / s, ny / s, nz / s}
		}
	}
}

// pair finds the two triangles of every edge by sorting.
func (l *Lines) pair() {
	type half struct {
		a, b, t int32
	}
	halves := make([]half, 0, 3*len(l.mesh.Triangles))
	for i, t := range l.mesh.Triangles {
		if !l.mesh.valid(t[0]) || !l.mesh.valid(t[1]) || !l.mesh.valid(t[2]) {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			if a != b {
				halves = append(halves, half{min(a, b), max(a, b), int32(i)})
			}
		}
	}
	slices.SortFunc(halves, func(p, q half) int {
		return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b), cmp.Compare(p.t, q.t))
	})
	for i := 0; i < len(halves); {
		h := halves[i]
		e := lineEdge{a: h.a, b: h.b, t0: h.t, t1: -1, turn: noFeature}
		j := i + 1
		for ; j < len(halves) && halves[j].a == h.a && halves[j].b == h.b; j++ {
			e.t1 = halves[j].t
		}
		e.odd = j-i > 2
		l.closed = l.closed && j-i == 2
		l.edges = append(l.edges, e)
		i = j
	}
}

func (l *Lines) find(a, b int32) (int, bool) {
	a, b = min(a, b), max(a, b)
	return slices.BinarySearchFunc(l.edges, 0, func(e lineEdge, _ int) int {
		return cmp.Or(cmp.Compare(e.a, a), cmp.Compare(e.b, b))
	})
}

// markEdges notes the turn of each B-rep edge on the mesh edges it runs over.
// Seams have the same face on both sides and are no edge to draw; neither is
// an edge with a face that could not be meshed a tangent one.
func (l *Lines) markEdges() {
	for i := range l.mesh.Edges {
		el := &l.mesh.Edges[i]
		if el.Faces[0] == el.Faces[1] && el.Faces[0] >= 0 {
			continue
		}
		turn := float32(el.Turn)
		if el.Faces[0] < 0 || el.Faces[1] < 0 {
			turn = math.Pi
		}
		for k := 1; k < len(el.Verts); k++ {
			if j, ok := l.find(el.Verts[k-1], el.Verts[k]); ok {
				l.edges[j].turn = max(l.edges[j].turn, turn)
			}
		}
	}
}

func (l *Lines) markCreases() {
	for i := range l.edges {
		e := &l.edges[i]
		if e.t1 < 0 || e.odd {
			e.turn = math.Pi
			continue
		}
		c := l.normals[e.t0].Dot(l.normals[e.t1])
		if turn := math.Acos(max(-1, min(1, c))); turn > creaseAngle {
			e.turn = float32(turn)
		}
	}
}

// graze is the cosine of the least angle between a facet and the view at
// which the facet counts as seen from the front; edge-on facets count as
// turned away, which keeps the outline in one piece.
const graze = 1e-6

// Facing says of each triangle whether it is turned to the eye. The direction
// is in the part's coordinates, of any length; a mirrored placement turns the
// triangles round but leaves outward outward, so it needs no special care.
func (l *Lines) Facing(dir mgl64.Vec3) []bool {
	x, y, z := dir[0], dir[1], dir[2]
	front := make([]bool, len(l.normals))
	for i := range l.normals {
		n := &l.normals[i]
		front[i] = n[0]*x+n[1]*y+n[2]*z > graze
	}
	return front
}

// Features lists the B-rep edges that turn by minTurn rad or more as chains of
// vertices; 0 lists tangent ones too, and in any case borders of open meshes are
// among them. A mesh without B-rep edges has its creases. Chains end where
// other than two edges meet; that of a ring ends with the vertex it starts from.
func (l *Lines) Features(minTurn float64) [][]int32 {
	var segs [][2]int32
	for i := range l.edges {
		if e := &l.edges[i]; e.turn >= 0 && float64(e.turn) >= minTurn {
			segs = append(segs, [2]int32{e.a, e.b})
		}
	}
	return chain(segs)
}

// Silhouette lists the edges at which the mesh, seen with dir towards the eye,
// turns from front to back, hidden or not, and the borders of an open one: as
// chains of vertices, closed ones where the mesh is closed. dir may have any
// length. The lines leave the exact silhouette by what the facets leave the
// surface, which shows as a zigzag of up to a facet's width on a round face.
func (l *Lines) Silhouette(dir mgl64.Vec3) [][]int32 {
	contour, _ := l.split(dir, math.Pi)
	return chain(contour)
}

// Seen is what a drawing shows with dir towards the eye, hidden by other parts of
// the mesh or not: the silhouette, and the inner edges that turn by at least
// minTurn, as chains of vertices. Edges that a closed solid hides by itself are
// left out.
func (l *Lines) Seen(dir mgl64.Vec3, minTurn float64) (contour, inner [][]int32) {
	cs, is := l.split(dir, minTurn)
	return chain(cs), chain(is)
}

// split lists the edges of the silhouette and the inner ones.
func (l *Lines) split(dir mgl64.Vec3, minTurn float64) (contour, inner [][2]int32) {
	front := l.Facing(dir)
	for i := range l.edges {
		e := &l.edges[i]
		f0 := front[e.t0]
		f1 := f0
		if e.t1 >= 0 {
			f1 = front[e.t1]
		}
		feature := e.turn >= 0 && float64(e.turn) >= minTurn
		switch {
		case e.odd, e.t1 < 0:
			if feature {
				contour = append(contour, [2]int32{e.a, e.b})
			}
		case f0 != f1:
			contour = append(contour, [2]int32{e.a, e.b})
		case feature && (f0 || !l.closed):
			inner = append(inner, [2]int32{e.a, e.b})
		}
	}
	return contour, inner
}

// chain joins segments into chains as long as exactly two meet. Open chains
// come first, from their least end; then rings from their least vertex.
func chain(segs [][2]int32) [][]int32 {
	type link struct{ at, seg int32 }
	links := make([]link, 0, 2*len(segs))
	for i, s := range segs {
		links = append(links, link{s[0], int32(i)}, link{s[1], int32(i)})
	}
	slices.SortFunc(links, func(p, q link) int { return cmp.Or(cmp.Compare(p.at, q.at), cmp.Compare(p.seg, q.seg)) })
	span := func(v int32) []link {
		i, _ := slices.BinarySearchFunc(links, v, func(l link, v int32) int { return cmp.Compare(l.at, v) })
		j := i
		for j < len(links) && links[j].at == v {
			j++
		}
		return links[i:j]
	}
	used := make([]bool, len(segs))
	walk := func(start, seg int32) []int32 {
		out := []int32{start}
		for at := start; ; {
			used[seg] = true
			at = segs[seg][0] + segs[seg][1] - at // the other end
			out = append(out, at)
			next := span(at)
			if len(next) != 2 || at == start {
				return out
			}
			seg = next[0].seg + next[1].seg - seg
			if used[seg] {
				return out
			}
		}
	}
	var out [][]int32
	for pass := range 2 {
		for i := 0; i < len(links); {
			j := i
			for j < len(links) && links[j].at == links[i].at {
				j++
			}
			if pass == 1 || j-i != 2 {
				for _, k := range links[i:j] {
					if !used[k.seg] {
						out = append(out, walk(k.at, k.seg))
					}
				}
			}
			i = j
		}
	}
	return out
}
