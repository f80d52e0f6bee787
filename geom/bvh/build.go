package bvh

import (
	"context"

	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/workers"
)

const (
	maxLeaf  = 8  // triangles in a leaf at most
	sahDepth = 48 // levels after which nodes are halved, whatever it costs

	// opening is what a look at a node's children costs against a triangle.
	// Less makes trees that take more memory and answer no faster; more makes
	// leaves that rays take longer over.
	opening = 3

	// pieceLen is how many triangles make a piece of work at most. It must not
	// depend on the number of cores, since the order of the nodes depends on it.
	pieceLen = 1 << 14
)

// Build makes the tree by the surface area heuristic over bins of triangle
// centres (Wald 2007), meshes of more than pieceLen triangles on all cores: the
// same tree whatever their number. The mesh is kept by reference and must not
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
	t.ids = make([]int32, len(refs))
	t.tri = make([]float64, 9*len(refs))
	top, pieces := cutIntoPieces(refs)
	parts := make([][]node, len(pieces))
	workers.Run(context.Background(), len(pieces), 0, func(i int) {
		p := pieces[i]
		p.node, p.box = 0, boxOf(refs[p.from:p.to])
		b := builder{refs: refs, nodes: make([]node, 1, p.len()*3/4+1)} // hardly ever more
		b.run(p, 0, func(s span) { t.fill(&b.nodes[s.node], refs[s.from:s.to]) })
		parts[i] = b.nodes
	})
	t.nodes = assembled(top, pieces, parts)
	t.closeBoxes()
	return t
}

// fill copies the triangles of a leaf into leaf order and measures them.
func (t *Tree) fill(n *node, refs []reference) {
	n.b = emptyBounds()
	for i := range refs {
		k := n.first + int32(i)
		id := refs[i].id
		t.ids[k] = id
		c := t.at(k)
		corners(t.mesh, id, c)
		growByTriangle(&n.b, c)
	}
}

// corners copies the coordinates of a triangle whose vertices exist.
func corners(m *mesh.Mesh, id int32, c *[9]float64) {
	v := &m.Triangles[id]
	p, q, r := &m.Vertices[v[0]], &m.Vertices[v[1]], &m.Vertices[v[2]]
	c[0], c[1], c[2] = p[0], p[1], p[2]
	c[3], c[4], c[5] = q[0], q[1], q[2]
	c[6], c[7], c[8] = r[0], r[1], r[2]
}

// cutIntoPieces makes the upper nodes, down to runs of at most pieceLen
// references.
func cutIntoPieces(refs []reference) (top []node, pieces []span) {
	b := builder{refs: refs, nodes: make([]node, 1, 64)}
	all := span{to: int32(len(refs)), centres: centresOf(refs)}
	b.run(all, pieceLen, func(s span) { pieces = append(pieces, s) })
	return b.nodes, pieces
}

// assembled puts the nodes of the pieces behind those of the top; the root of each
// piece takes the place that the top has for it.
func assembled(top []node, pieces []span, parts [][]node) []node {
	n := len(top)
	for _, p := range parts {
		n += len(p) - 1
	}
	nodes := append(make([]node, 0, n), top...)
	for i, p := range parts {
		shift := int32(len(nodes)) - 1
		nodes = append(nodes, p[1:]...)
		nodes[pieces[i].node] = p[0]
		moveChildren(nodes[pieces[i].node:][:1], shift)
		moveChildren(nodes[shift+1:], shift)
	}
	return nodes
}

func moveChildren(nodes []node, shift int32) {
	for i := range nodes {
		if nodes[i].count == 0 {
			nodes[i].first += shift
		}
	}
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
	box                   gridBox // about the triangles; not known of more than pieceLen
	centres               gridBox // about twice their centres
}

func (s *span) len() int { return int(s.to - s.from) }

func (s *span) measure(refs []reference) {
	s.box, s.centres = boxOf(refs[s.from:s.to]), centresOf(refs[s.from:s.to])
}

// run splits the span until the parts have at most enough references, or for
// an enough of 0 until they are leaves, and tells end of each of these.
func (b *builder) run(root span, enough int, end func(s span)) {
	todo := append(make([]span, 0, maxStack), root)
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		var left, right span
		if s.len() < 2 || s.len() <= enough || !b.part(&s, &left, &right) {
			b.nodes[s.node] = node{first: s.from, count: s.to - s.from}
			end(s)
			continue
		}
		n := int32(len(b.nodes))
		left.node, left.depth, right.node, right.depth = n, s.depth+1, n+1, s.depth+1
		b.nodes[s.node].first = n
		b.nodes = append(b.nodes, node{}, node{})
		todo = append(todo, right, left)
	}
}

// part reorders the references of one node into two groups, or returns false
// where a leaf is cheaper.
func (b *builder) part(s, left, right *span) bool {
	if s.len() <= fewest {
		return b.partFew(s, left, right)
	}
	cut, cost := b.cheapestCut(s)
	if s.len() <= maxLeaf && leafIsCheaper(s, cost) {
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
	left.measure(b.refs)
	right.measure(b.refs)
	return true
}

// leafIsCheaper compares a leaf with two children whose Σ area·count is cost.
func leafIsCheaper(s *span, cost float64) bool {
	area := s.box.halfArea()
	return !(cost+opening*area < float64(s.len())*area)
}

// partition moves the references left of the cut to the front and tells both
// halves what they are: their boxes are those of their bins.
func (b *builder) partition(s *span, c cut, left, right *span) {
	left.box, right.box = emptyGridBox, emptyGridBox
	n := binsFor(s.len())
	scale := scaleOf(&s.centres, n)
	for k := range n {
		if t := &b.bins[c.axis][k]; k <= c.bin {
			left.box.grow(&t.box)
		} else {
			right.box.grow(&t.box)
		}
	}
	axis, limit := c.axis, uint64(c.bin+1)<<32
	from, factor := s.centres.lo[axis], scale[axis]
	refs := b.refs[s.from:s.to]
	both := [2]gridBox{emptyGridBox, emptyGridBox}
	i, j := 0, len(refs)
	for i < j {
		x := &refs[i]
		cx, cy, cz := x.lo[0]+x.hi[0], x.lo[1]+x.hi[1], x.lo[2]+x.hi[2]
		c := &both[0]
		if uint64(uint32(x.lo[axis]+x.hi[axis]-from))*factor < limit {
			i++
		} else {
			c = &both[1]
			j--
			*x, refs[j] = refs[j], *x
		}
		c.lo[0], c.lo[1], c.lo[2] = min(c.lo[0], cx), min(c.lo[1], cy), min(c.lo[2], cz)
		c.hi[0], c.hi[1], c.hi[2] = max(c.hi[0], cx), max(c.hi[1], cy), max(c.hi[2], cz)
	}
	left.to = s.from + int32(i)
	right.from = left.to
	left.centres, right.centres = both[0], both[1]
}

// boundsOf gives a box as six numbers.
func boundsOf(b geom.Box) [6]float64 {
	return [6]float64{b.Min[0], b.Min[1], b.Min[2], b.Max[0], b.Max[1], b.Max[2]}
}
