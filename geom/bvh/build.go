package bvh

import (
	"stepscan/geom"
	"stepscan/geom/mesh"
)

const (
	bins     = 16 // more bins make no better trees, fewer do in large nodes
	maxLeaf  = 8  // triangles in a leaf at most
	sahDepth = 48 // levels after which nodes are halved, whatever it costs
)

// Build makes the tree by the surface area heuristic over bins of triangle
// centres (Wald 2007), on one core. The mesh is kept by reference and must not
// change afterwards.
func Build(m *mesh.Mesh) *Tree {
	t := &Tree{mesh: m, shell: &shell{}}
	if m == nil {
		return t
	}
	refs := references(m)
	if len(refs) == 0 {
		return t
	}
	b := builder{refs: refs, nodes: make([]node, 1, len(refs)+1)}
	b.run()
	t.nodes = b.nodes
	t.ids = make([]int32, len(refs))
	t.tri = make([]float64, 0, 9*len(refs))
	for i := range refs {
		t.ids[i] = refs[i].id
		for _, v := range m.Triangles[refs[i].id] {
			p := &m.Vertices[v]
			t.tri = append(t.tri, p[0], p[1], p[2])
		}
	}
	t.reach = boundsReach(&t.nodes[0].b)
	return t
}

// reference is a triangle as the builder moves it about.
type reference struct {
	b  [6]float64
	id int32
}

// references lists the triangles that have three finite corners.
func references(m *mesh.Mesh) []reference {
	refs := make([]reference, 0, len(m.Triangles))
	n := int32(len(m.Vertices))
	for i, t := range m.Triangles {
		if min(t[0], t[1], t[2]) < 0 || max(t[0], t[1], t[2]) >= n {
			continue
		}
		var c [9]float64
		for k, v := range t {
			p := &m.Vertices[v]
			c[3*k], c[3*k+1], c[3*k+2] = p[0], p[1], p[2]
		}
		b := triangleBounds(&c)
		if finite9(&c) {
			refs = append(refs, reference{b: b, id: int32(i)})
		}
	}
	return refs
}

func finite9(c *[9]float64) bool {
	s := 0.0
	for _, x := range c {
		s += x - x // Inf-Inf and NaN-NaN are both NaN
	}
	return s == 0
}

// builder splits runs of references until they are leaves.
type builder struct {
	refs  []reference
	nodes []node
}

// span is a run of references that still has to become a node.
type span struct{ node, from, to, depth int32 }

func (b *builder) run() {
	todo := []span{{to: int32(len(b.refs))}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		mid := b.split(s)
		if mid < 0 {
			continue
		}
		left := b.nodes[s.node].first
		todo = append(todo,
			span{left + 1, mid, s.to, s.depth + 1},
			span{left, s.from, mid, s.depth + 1})
	}
}

// split makes the node of s and says where its references part, or -1 for a
// leaf.
func (b *builder) split(s span) int32 {
	refs := b.refs[s.from:s.to]
	n := node{b: emptyBounds(), first: s.from, count: s.to - s.from}
	centres := emptyBounds()
	for i := range refs {
		r := &refs[i].b
		growBounds(&n.b, r)
		// Twice the centre serves as well as the centre.
		c := [6]float64{r[0] + r[3], r[1] + r[4], r[2] + r[5]}
		c[3], c[4], c[5] = c[0], c[1], c[2]
		growBounds(&centres, &c)
	}
	mid := int32(-1)
	if len(refs) > 1 {
		mid = b.part(refs, &n.b, &centres, s.depth)
	}
	if mid >= 0 {
		n.first, n.count = int32(len(b.nodes)), 0
		b.nodes = append(b.nodes, node{}, node{})
		mid += s.from
	}
	b.nodes[s.node] = n
	return mid
}

// part reorders the references of one node into two groups and returns the
// size of the first, or -1 where a leaf is cheaper.
func (b *builder) part(refs []reference, box, centres *[6]float64, depth int32) int32 {
	cut, cost := cheapestCut(refs, centres)
	area := halfArea(box)
	// A triangle costs about as much to test as a box.
	leafIsCheaper := !(cost+area < float64(len(refs))*area)
	if len(refs) <= maxLeaf && leafIsCheaper {
		return -1
	}
	if cut.axis >= 0 && depth < sahDepth {
		if mid := partition(refs, centres, cut); mid > 0 && mid < len(refs) {
			return int32(mid)
		}
	}
	// All centres in one place, or too deep: halve in the order at hand.
	return int32(len(refs) / 2)
}

// cut separates the bins up to and including bin of one axis from the rest;
// axis is -1 where no cut parts anything.
type cut struct{ axis, bin int }

// bin collects the triangles whose centres fall in one slice.
type bin struct {
	b [6]float64
	n int
}

// cheapestCut returns the cut with the least Σ area·count over all axes, and
// that sum.
func cheapestCut(refs []reference, centres *[6]float64) (cut, float64) {
	best, bestCost := cut{axis: -1}, 0.0
	n := binsFor(len(refs))
	var all [bins]bin
	bb := all[:n]
	for axis := range 3 {
		scale := binScale(centres, axis, n)
		if !(scale > 0) {
			continue
		}
		fillBins(bb, refs, axis, centres[axis], scale)
		k, cost := cheapestOfAxis(bb)
		if k >= 0 && (best.axis < 0 || cost < bestCost) {
			best, bestCost = cut{axis, k}, cost
		}
	}
	return best, bestCost
}

// binsFor spares small nodes, which are the most, the work on empty bins.
func binsFor(triangles int) int { return min(bins, max(4, triangles/2)) }

// binScale maps centres to bins; 0 where the axis parts nothing.
func binScale(centres *[6]float64, axis, n int) float64 {
	w := centres[axis+3] - centres[axis]
	if !(w > 0) {
		return 0
	}
	s := float64(n) * (1 - 1e-12) / w
	if s-s != 0 { // a width so small that the scale is infinite
		return 0
	}
	return s
}

func binOf(r *reference, axis, n int, from, scale float64) int {
	k := int((r.b[axis] + r.b[axis+3] - from) * scale)
	return min(max(k, 0), n-1)
}

func fillBins(bb []bin, refs []reference, axis int, from, scale float64) {
	for i := range bb {
		bb[i] = bin{b: emptyBounds()}
	}
	for i := range refs {
		s := &bb[binOf(&refs[i], axis, len(bb), from, scale)]
		s.n++
		growBounds(&s.b, &refs[i].b)
	}
}

// cheapestOfAxis sweeps from the right for the areas, then from the left.
func cheapestOfAxis(bb []bin) (int, float64) {
	var right [bins]float64
	acc, n := emptyBounds(), 0
	for i := len(bb) - 1; i > 0; i-- {
		growBounds(&acc, &bb[i].b)
		n += bb[i].n
		right[i] = weighted(&acc, n)
	}
	best, bestCost := -1, 0.0
	acc, n = emptyBounds(), 0
	total := 0
	for i := range bb {
		total += bb[i].n
	}
	for i := range len(bb) - 1 {
		growBounds(&acc, &bb[i].b)
		n += bb[i].n
		if n == 0 || n == total {
			continue
		}
		if c := weighted(&acc, n) + right[i+1]; best < 0 || c < bestCost {
			best, bestCost = i, c
		}
	}
	return best, bestCost
}

func weighted(b *[6]float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return halfArea(b) * float64(n)
}

// halfArea is half the surface of a box.
func halfArea(b *[6]float64) float64 {
	x, y, z := b[3]-b[0], b[4]-b[1], b[5]-b[2]
	return x*y + y*z + z*x
}

// partition moves the references left of the cut to the front.
func partition(refs []reference, centres *[6]float64, c cut) int {
	n := binsFor(len(refs))
	from, scale := centres[c.axis], binScale(centres, c.axis, n)
	i, j := 0, len(refs)
	for i < j {
		if binOf(&refs[i], c.axis, n, from, scale) <= c.bin {
			i++
			continue
		}
		j--
		refs[i], refs[j] = refs[j], refs[i]
	}
	return i
}

// boundsOf gives a box as six numbers.
func boundsOf(b geom.Box) [6]float64 {
	return [6]float64{b.Min[0], b.Min[1], b.Min[2], b.Max[0], b.Max[1], b.Max[2]}
}
