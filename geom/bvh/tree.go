package bvh

import (
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// Tree is a bounding volume hierarchy over one mesh. It never changes after
// Build, so any number of goroutines may ask it. A nil Tree and a Tree over a
// mesh without triangles answer "nothing" to every question.
//
// Triangles with a vertex index out of range or a coordinate that is not
// finite are left out; the numbers of the others stay those of the mesh.
type Tree struct {
	mesh  *mesh.Mesh
	nodes []node
	tri   []float64 // nine coordinates a triangle, in leaf order
	ids   []int32   // the mesh's number of each triangle in leaf order
	reach float64   // largest absolute coordinate, mm: the scale of rounding

	shell *shell // shared with the placed copies

	leanOnce sync.Once
	lean     []lean // by node, made when first needed

	quadOnce sync.Once
	quads    []quad // for rays, made when first needed
}

// node is a box with either two children side by side or a run of triangles.
type node struct {
	b     [6]float64 // lower x y z, upper x y z
	first int32      // inner: left child, the right one follows; leaf: first triangle
	count int32      // triangles of a leaf, 0 for an inner node
}

// maxStack holds a path through any tree: the builder turns to halving after
// sahDepth levels, and 2^31 triangles are halved 31 times.
const maxStack = sahDepth + 40

// none reports a tree without triangles.
func (t *Tree) none() bool { return t == nil || len(t.nodes) == 0 }

// Len is the number of triangles in the tree.
func (t *Tree) Len() int {
	if t == nil {
		return 0
	}
	return len(t.ids)
}

// Box holds every triangle; empty without triangles.
func (t *Tree) Box() geom.Box {
	if t.none() {
		return geom.EmptyBox()
	}
	b := &t.nodes[0].b
	return geom.Box{Min: mgl64.Vec3{b[0], b[1], b[2]}, Max: mgl64.Vec3{b[3], b[4], b[5]}}
}

// Mesh is the mesh that the tree was built over. For a placed tree it is still
// the mesh in its own coordinates.
func (t *Tree) Mesh() *mesh.Mesh {
	if t == nil {
		return nil
	}
	return t.mesh
}

// at gives the nine coordinates of the k-th triangle in leaf order.
func (t *Tree) at(k int32) *[9]float64 {
	return (*[9]float64)(t.tri[9*int(k) : 9*int(k)+9])
}

// Placed is the tree in other coordinates. It costs a pass over the triangles
// (some 30 ns each); whoever asks about the same placed mesh more than once
// keeps it. A mirror turns the triangles over, so that they still turn
// anticlockwise seen from outside.
func (t *Tree) Placed(place geom.Transform) *Tree {
	if t.none() || place == geom.Identity() {
		return t
	}
	return t.with(placedTriangles(t.tri, place))
}

// with is the tree with its triangles moved.
func (t *Tree) with(tri []float64) *Tree {
	p := &Tree{mesh: t.mesh, ids: t.ids, shell: t.shell, nodes: append([]node(nil), t.nodes...), tri: tri}
	p.refit()
	return p
}

// placedTriangles maps every triangle, turned over by a mirror.
func placedTriangles(tri []float64, place geom.Transform) []float64 {
	m, o := &place.M, &place.T
	out := make([]float64, len(tri))
	for i := 0; i+3 <= len(tri); i += 3 {
		x, y, z := tri[i], tri[i+1], tri[i+2]
		out[i] = m[0]*x + m[3]*y + m[6]*z + o[0]
		out[i+1] = m[1]*x + m[4]*y + m[7]*z + o[1]
		out[i+2] = m[2]*x + m[5]*y + m[8]*z + o[2]
	}
	if place.M.Det() < 0 {
		for i := 0; i+9 <= len(out); i += 9 {
			for k := 3; k < 6; k++ {
				out[i+k], out[i+k+3] = out[i+k+3], out[i+k]
			}
		}
	}
	return out
}

// refit makes the boxes anew after the triangles have moved.
func (t *Tree) refit() {
	for i := range t.nodes {
		n := &t.nodes[i]
		if n.count == 0 {
			continue
		}
		n.b = emptyBounds()
		for k := n.first; k < n.first+n.count; k++ {
			growByTriangle(&n.b, t.at(k))
		}
	}
	t.closeBoxes()
}

// closeBoxes makes the boxes of the inner nodes and the reach from the leaves.
// Children stand behind their parents, so one pass from the back sees them
// first.
func (t *Tree) closeBoxes() {
	for i := len(t.nodes) - 1; i >= 0; i-- {
		n := &t.nodes[i]
		if n.count > 0 {
			continue
		}
		n.b = t.nodes[n.first].b
		growBounds(&n.b, &t.nodes[n.first+1].b)
	}
	t.reach = boundsReach(&t.nodes[0].b)
}

func emptyBounds() [6]float64 {
	inf := math.Inf(1)
	return [6]float64{inf, inf, inf, -inf, -inf, -inf}
}

// growBounds makes a hold b. Comparisons instead of min and max: those also
// care for NaN and -0 and cost three times as much.
func growBounds(a, b *[6]float64) {
	if b[0] < a[0] {
		a[0] = b[0]
	}
	if b[1] < a[1] {
		a[1] = b[1]
	}
	if b[2] < a[2] {
		a[2] = b[2]
	}
	if b[3] > a[3] {
		a[3] = b[3]
	}
	if b[4] > a[4] {
		a[4] = b[4]
	}
	if b[5] > a[5] {
		a[5] = b[5]
	}
}

func growByTriangle(b *[6]float64, t *[9]float64) {
	q := triangleBounds(t)
	growBounds(b, &q)
}

func triangleBounds(t *[9]float64) [6]float64 {
	x0, x1 := ends(t[0], t[3], t[6])
	y0, y1 := ends(t[1], t[4], t[7])
	z0, z1 := ends(t[2], t[5], t[8])
	return [6]float64{x0, y0, z0, x1, y1, z1}
}

// ends are the least and the greatest of three.
func ends(a, b, c float64) (lo, hi float64) {
	if a > b {
		a, b = b, a
	}
	if c < a {
		a = c
	} else if c > b {
		b = c
	}
	return a, b
}

// boundsReach is the largest absolute coordinate of a box.
func boundsReach(b *[6]float64) float64 {
	r := 0.0
	for _, x := range b {
		r = max(r, math.Abs(x))
	}
	return r
}
