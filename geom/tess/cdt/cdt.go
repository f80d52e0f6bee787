package cdt

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/robust"
)

// none is the neighbour of a side on the outermost border.
const none int32 = -1

// Flags of a triangle's side, equal on both of its triangles.
const (
	fixed uint8 = 1 << iota // a constraint runs along it
	odd                     // an odd number of constraints does: inside and outside change here
)

// triangle is anticlockwise; side i lies opposite corner i.
type triangle struct {
	v     [3]int32 // corners
	n     [3]int32 // triangles across the sides
	flags [3]uint8
	in    bool // inside, once Mark has run
	known bool // Mark has been there, Fresh has settled it
}

// T is a triangulation. Vertices keep the numbers of the points given to Reset,
// and go on from there for inserted ones; three more that enclose everything
// are hidden.
type T struct {
	pts  []mgl64.Vec2 // points, shifted by hidden
	tris []triangle
	at   []int32 // some triangle of each vertex
	last int32   // where the latest walk ended
	turn uint32  // which side a walk looks at first; see locate
	todo []int32 // triangles that legalise or Mark has still to look at
	// order is how the points went in.
	order []keyed
	// same[i] is the vertex that stands for point i: itself, or an earlier one
	// at the same place.
	same []int32
}

// hidden is the number of enclosing vertices at the front of pts.
const hidden = 3

// ErrPoints says that a point is not finite.
var ErrPoints = errors.New("point of a triangulation is not finite")

// CrossError says that a constraint from A to B crosses an earlier one
// between C and D; it was not inserted beyond the crossing.
type CrossError struct{ A, B, C, D int32 }

func (e *CrossError) Error() string {
	return fmt.Sprintf("boundary crosses itself: %d-%d meets %d-%d", e.A, e.B, e.C, e.D)
}

// Reset makes t the Delaunay triangulation of the points, in the memory of
// what it was before.
func (t *T) Reset(pts []mgl64.Vec2) error {
	lo, hi, ok := bounds(pts)
	if !ok {
		return ErrPoints
	}
	n := len(pts)
	t.pts = append(slices.Grow(t.pts[:0], hidden+2*n), make([]mgl64.Vec2, hidden)...)
	t.at = append(slices.Grow(t.at[:0], hidden+2*n), 0, 0, 0)
	t.tris = slices.Grow(t.tris[:0], 1+4*n)
	t.same = slices.Grow(t.same[:0], n)[:n]
	t.last, t.turn = 0, 0
	t.enclose(lo, hi)
	t.pts = append(t.pts, pts...)
	for range pts {
		t.at = append(t.at, none)
	}
	t.orderBy(pts, lo, hi)
	for _, o := range t.order {
		t.same[o.i] = t.add(o.i)
	}
	return nil
}

func bounds(pts []mgl64.Vec2) (lo, hi mgl64.Vec2, ok bool) {
	inf := math.Inf(1)
	lo, hi = mgl64.Vec2{inf, inf}, mgl64.Vec2{-inf, -inf}
	for _, p := range pts {
		if s := p[0] + p[1]; math.IsNaN(s - s) {
			return lo, hi, false
		}
		lo = mgl64.Vec2{min(lo[0], p[0]), min(lo[1], p[1])}
		hi = mgl64.Vec2{max(hi[0], p[0]), max(hi[1], p[1])}
	}
	return lo, hi, len(pts) > 0
}

// enclose makes the first triangle, so large that its corners hardly bend the
// triangulation of the points.
func (t *T) enclose(lo, hi mgl64.Vec2) {
	c := lo.Add(hi).Mul(0.5)
	r := 100 * max(hi[0]-lo[0], hi[1]-lo[1])
	if r == 0 {
		r = 1
	}
	r = max(r, 1e-6*(math.Abs(c[0])+math.Abs(c[1]))) // far from the origin it must not vanish in rounding
	t.pts[0] = mgl64.Vec2{c[0] - 2*r, c[1] - r}
	t.pts[1] = mgl64.Vec2{c[0] + 2*r, c[1] - r}
	t.pts[2] = mgl64.Vec2{c[0], c[1] + 2*r}
	t.tris = append(t.tris, triangle{v: [3]int32{0, 1, 2}, n: [3]int32{none, none, none}})
}

// add puts point i in and returns the vertex that stands at its place.
func (t *T) add(i int32) int32 {
	v := i + hidden
	at, where := t.locate(t.pts[v])
	switch {
	case at == none: // cannot be: the first triangle encloses all
		return i
	case where.corner >= 0:
		return t.tris[at].v[where.corner] - hidden
	case where.side >= 0:
		t.splitSide(at, where.side, v)
	default:
		t.splitInside(at, v)
	}
	return i
}

// Same is the vertex that stands for point i of Reset: i, or an earlier point at
// exactly the same place.
func (t *T) Same(i int32) int32 { return t.same[i] }

// Point is the place of a vertex.
func (t *T) Point(v int32) mgl64.Vec2 { return t.pts[v+hidden] }

// Len is the number of vertices, duplicates included.
func (t *T) Len() int { return len(t.pts) - hidden }

// Insert adds a point strictly inside the marked region, away from the
// constraints; accept, which may be nil, sees the three corners of the
// triangle it falls in and which of its sides (i lies opposite corner i) are
// constraints. It returns the new vertex, or false and changes nothing.
func (t *T) Insert(p mgl64.Vec2, accept func(corners [3]int32, fixed [3]bool) bool) (int32, bool) {
	at, where := t.locate(p)
	if at == none || where.corner >= 0 || !t.tris[at].in {
		return 0, false
	}
	if where.side >= 0 && t.tris[at].flags[where.side]&fixed != 0 {
		return 0, false
	}
	if accept != nil && !accept(t.tris[at].seen()) {
		return 0, false
	}
	v := int32(len(t.pts))
	t.pts, t.at = append(t.pts, p), append(t.at, none)
	if where.side >= 0 {
		t.splitSide(at, where.side, v)
	} else {
		t.splitInside(at, v)
	}
	return v - hidden, true
}

// Mark tells inside from outside: walking in from outside, each side with an
// odd number of constraints on it changes between the two. Loops may thus turn
// either way, and a slit (a chain used forward and back) divides nothing.
func (t *T) Mark() {
	start := t.at[0]
	todo := append(t.todo[:0], start)
	t.tris[start].known, t.tris[start].in = true, false
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		tri := &t.tris[i]
		for k, j := range tri.n {
			if j == none || t.tris[j].known {
				continue
			}
			t.tris[j].known, t.tris[j].in = true, tri.in != (tri.flags[k]&odd != 0)
			todo = append(todo, j)
		}
	}
	t.todo = todo
	for i := range t.tris {
		t.tris[i].known = false
	}
}

// Triangles are the corners of the triangles inside, anticlockwise.
func (t *T) Triangles() [][3]int32 {
	n := 0
	for i := range t.tris {
		if t.tris[i].in {
			n++
		}
	}
	out := make([][3]int32, 0, n)
	for i := range t.tris {
		if tri := &t.tris[i]; tri.in {
			c, _ := tri.seen()
			out = append(out, c)
		}
	}
	return out
}

// Fresh shows the triangles inside to settled, with which of their sides (side
// i runs from corner i+1 to corner i+2) lie on constraints. Those for which it
// returns true are not shown again until a point or a flip has changed them.
func (t *T) Fresh(settled func(corners [3]int32, fixed [3]bool) bool) {
	for i := range t.tris {
		if tri := &t.tris[i]; tri.in && !tri.known {
			tri.known = settled(tri.seen())
		}
	}
}

// seen is a triangle as the outside knows it.
func (tri *triangle) seen() (corners [3]int32, constrained [3]bool) {
	for k := range 3 {
		corners[k], constrained[k] = tri.v[k]-hidden, tri.flags[k]&fixed != 0
	}
	return corners, constrained
}

// place says where in a triangle a point lies: at a corner, on a side, or (both
// -1) inside.
type place struct{ corner, side int }

// locate walks from the latest triangle towards p. In a constrained
// triangulation a walk that always looks at the same side first could go round
// in circles, so the first side changes from step to step; should it still not
// arrive, every triangle is looked at.
func (t *T) locate(p mgl64.Vec2) (int32, place) {
	at := t.last
	for range len(t.tris) + 8 {
		next, where := t.step(at, p)
		if next == at {
			t.last = at
			return at, where
		}
		if next == none {
			return none, place{}
		}
		at = next
	}
	for i := range t.tris {
		if next, where := t.step(int32(i), p); next == int32(i) {
			return next, where
		}
	}
	return none, place{}
}

// step returns the triangle across a side that p lies beyond, or at itself
// and where p lies in it.
func (t *T) step(at int32, p mgl64.Vec2) (int32, place) {
	tri := &t.tris[at]
	where := place{-1, -1}
	t.turn = t.turn*1664525 + 1013904223 // Numerical Recipes' generator; any would do
	first := int(t.turn>>16) % 3
	zeros := 0
	for k := range 3 {
		i := (first + k) % 3
		switch robust.Orient2D(t.pts[tri.v[(i+1)%3]], t.pts[tri.v[(i+2)%3]], p) {
		case -1:
			return tri.n[i], where
		case 0:
			zeros++
			where.side = i
			if zeros == 2 { // on two sides: at their common corner
				return at, place{corner: cornerOf(t, tri, p), side: -1}
			}
		}
	}
	return at, where
}

func cornerOf(t *T, tri *triangle, p mgl64.Vec2) int {
	for i, v := range tri.v {
		if t.pts[v] == p {
			return i
		}
	}
	return 0
}
