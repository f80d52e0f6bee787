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
	b := &builder{refs: refs, nodes: make([]node, 1, len(refs)+1)}
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
	bins  [3][bins]bin // by axis, of the node at hand
}

// span is a run of references that still has to become a node.
type span struct {
	node, from, to, depth int32
	box                   [6]float64 // about the triangles
	centres               [6]float64 // about their centres
}

func (s *span) len() int { return int(s.to - s.from) }

func (b *builder) run() {
	root := span{to: int32(len(b.refs))}
	b.measure(&root)
	todo := []span{root}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		b.nodes[s.node] = node{b: s.box, first: s.from, count: s.to - s.from}
		var left, right span
		if s.len() < 2 || !b.part(&s, &left, &right) {
			continue
		}
		n := int32(len(b.nodes))
		left.node, left.depth, right.node, right.depth = n, s.depth+1, n+1, s.depth+1
		b.nodes[s.node].first, b.nodes[s.node].count = n, 0
		b.nodes = append(b.nodes, node{}, node{})
		todo = append(todo, right, left)
	}
}

// measure works out both boxes of a run.
func (b *builder) measure(s *span) {
	s.box, s.centres = emptyBounds(), emptyBounds()
	for i := s.from; i < s.to; i++ {
		r := &b.refs[i].b
		growBounds(&s.box, r)
		growByCentre(&s.centres, r)
	}
}

// growByCentre makes a hold the centre of b. Twice the centre serves as well as
// the centre.
func growByCentre(a, b *[6]float64) {
	x, y, z := b[0]+b[3], b[1]+b[4], b[2]+b[5]
	growBounds(a, &[6]float64{x, y, z, x, y, z})
}

// part reorders the references of one node into two groups, or returns false
// where a leaf is cheaper.
func (b *builder) part(s, left, right *span) bool {
	cut, cost := b.cheapestCut(s)
	area := halfArea(&s.box)
	// A triangle costs about as much to test as a box.
	leafIsCheaper := !(cost+area < float64(s.len())*area)
	if s.len() <= maxLeaf && leafIsCheaper {
		return false
	}
	*left, *right = *s, *s
	if cut.axis >= 0 && s.depth < sahDepth {
		if b.partition(s, cut, left, right); left.len() > 0 && right.len() > 0 {
			return true
		}
	}
	// All centres in one place, or too deep: halve in the order at hand.
	left.to = s.from + int32(s.len()/2)
	right.from = left.to
	b.measure(left)
	b.measure(right)
	return true
}

// cut separates the bins up to and including bin of one axis from the rest;
// axis is -1 where no cut parts anything.
type cut struct{ axis, bin int }

// bin collects the triangles whose centres fall in one slice.
type bin struct {
	b [6]float64
	n int
}

var emptyBin = bin{b: emptyBounds()}

// cheapestCut returns the cut with the least Σ area·count over all axes, and
// that sum.
func (b *builder) cheapestCut(s *span) (cut, float64) {
	n := binsFor(s.len())
	var scale [3]float64
	for axis := range 3 {
		scale[axis] = binScale(&s.centres, axis, n)
	}
	b.fillBins(s, n, &scale)
	best, bestCost := cut{axis: -1}, 0.0
	for axis := range 3 {
		if !(scale[axis] > 0) {
			continue
		}
		k, cost := cheapestOfAxis(b.bins[axis][:n])
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

// binOf is the bin of a triangle in a box b; the scale is such that only
// rounding could lead out of the bins.
func binOf(b *[6]float64, axis, n int, from, scale float64) int {
	k := int((b[axis] + b[axis+3] - from) * scale)
	return min(max(k, 0), n-1)
}

// fillBins goes over the triangles once for all axes.
func (b *builder) fillBins(s *span, n int, scale *[3]float64) {
	for axis := range 3 {
		for i := range n {
			b.bins[axis][i] = emptyBin
		}
	}
	for i := s.from; i < s.to; i++ {
		r := &b.refs[i].b
		x := &b.bins[0][binOf(r, 0, n, s.centres[0], scale[0])&(bins-1)]
		y := &b.bins[1][binOf(r, 1, n, s.centres[1], scale[1])&(bins-1)]
		z := &b.bins[2][binOf(r, 2, n, s.centres[2], scale[2])&(bins-1)]
		x.n++
		y.n++
		z.n++
		growBounds(&x.b, r)
		growBounds(&y.b, r)
		growBounds(&z.b, r)
	}
}

// cheapestOfAxis sweeps from the right for the areas, then from the left.
func cheapestOfAxis(bb []bin) (int, float64) {
	var right [bins]float64
	acc, n := emptyBounds(), 0
	for i := len(bb) - 1; i > 0; i-- {
		if bb[i].n > 0 {
			growBounds(&acc, &bb[i].b)
			n += bb[i].n
		}
		right[i] = weighted(&acc, n)
	}
	total := n + bb[0].n
	best, bestCost := -1, 0.0
	acc, n = emptyBounds(), 0
	for i := range len(bb) - 1 {
		if bb[i].n == 0 {
			continue // the cut before is as good
		}
		growBounds(&acc, &bb[i].b)
		n += bb[i].n
		if n == total {
			break
		}
		if c := weighted(&acc, n) + right[i+1]; best < 0 || c < bestCost {
			best, bestCost = i, c
		}
	}
	return best, bestCost
}

// partition moves the references left of the cut to the front and tells both
// halves what they are: their boxes are those of their bins.
func (b *builder) partition(s *span, c cut, left, right *span) {
	n := binsFor(s.len())
	from, scale := s.centres[c.axis], binScale(&s.centres, c.axis, n)
	left.box, right.box = emptyBounds(), emptyBounds()
	for k := range n {
		if t := &b.bins[c.axis][k]; k <= c.bin {
			growBounds(&left.box, &t.b)
		} else {
			growBounds(&right.box, &t.b)
		}
	}
	left.centres, right.centres = emptyBounds(), emptyBounds()
	i, j := s.from, s.to
	for i < j {
		r := &b.refs[i]
		if binOf(&r.b, c.axis, n, from, scale) <= c.bin {
			growByCentre(&left.centres, &r.b)
			i++
			continue
		}
		growByCentre(&right.centres, &r.b)
		j--
		*r, b.refs[j] = b.refs[j], *r
	}
	left.to, right.from = i, i
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

// boundsOf gives a box as six numbers.
func boundsOf(b geom.Box) [6]float64 {
	return [6]float64{b.Min[0], b.Min[1], b.Min[2], b.Max[0], b.Max[1], b.Max[2]}
}
