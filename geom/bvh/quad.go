package bvh

import "math"

// quad is what rays walk through instead of nodes: the boxes of up to four
// descendants of a node, within that node's box and outwards on a grid
// of 255 steps a side. It fills one line of the cache, where the same four
// nodes fill four that have to be fetched one after another. A ray only passes
// more boxes than it must; the triangles decide.
type quad struct {
	org   [3]float32  // lower corner, mm
	exp   [3]int8     // a step is 2^exp mm
	n     uint8       // children
	side  [6][4]uint8 // lower x y z, upper x y z of each child, in steps
	child [4]int32    // a leaf's first triangle, otherwise the child's quad
	count [4]uint8    // triangles of a leaf, 0 for a quad
	_     [4]uint8    // to 64 bytes
}

const (
	// quadReach, mm, is how far numbers may go in quads: far from where those
	// of single precision end. Beyond it rays walk through the nodes.
	quadReach = 1e30

	quadSteps = 255

	// quadStack holds a path through any tree of quads: two levels of nodes
	// each, of which three children wait.
	quadStack = 3*(maxStack+1)/2 + 4
)

// quadsOf makes the quads at the first call.
func (t *Tree) quadsOf() []quad {
	t.quadOnce.Do(func() { t.quads = t.makeQuads() })
	return t.quads
}

// makeQuads puts quads in the order in which nodes stand, so that those of a
// subtree stand together. The root is quad 0.
func (t *Tree) makeQuads() []quad {
	quads := make([]quad, 1, len(t.nodes)/5+1)
	todo := append(make([][2]int32, 0, quadStack), [2]int32{0, 0}) // node, its quad
	for len(todo) > 0 {
		node, at := todo[len(todo)-1][0], todo[len(todo)-1][1]
		todo = todo[:len(todo)-1]
		var q quad
		var kids [4]int32
		q.n = uint8(t.heirs(node, &kids))
		q.frame(&t.nodes[node].b)
		for i := range int(q.n) {
			nd := &t.nodes[kids[i]]
			q.hold(i, &nd.b)
			if q.child[i], q.count[i] = nd.first, uint8(nd.count); nd.count == 0 {
				q.child[i] = int32(len(quads))
				quads = append(quads, quad{})
			}
		}
		for i := int(q.n) - 1; i >= 0; i-- {
			if q.count[i] == 0 {
				todo = append(todo, [2]int32{kids[i], q.child[i]})
			}
		}
		quads[at] = q
	}
	return append(make([]quad, 0, len(quads)), quads...) // no more memory than needed
}

// heirs lists the nodes that a quad holds: those two levels down, and in the
// place of the largest further ones while there is room.
func (t *Tree) heirs(i int32, kids *[4]int32) int {
	if t.nodes[i].count > 0 { // a tree that is one leaf
		kids[0] = i
		return 1
	}
	kids[0], kids[1] = t.nodes[i].first, t.nodes[i].first+1
	n := 2
	for _, k := range [2]int{1, 0} {
		n = t.open(kids, k, n)
	}
	for n < len(kids) {
		widest, area := -1, math.Inf(-1)
		for k, i := range kids[:n] {
			if nd := &t.nodes[i]; nd.count == 0 && girth(&nd.b) > area {
				widest, area = k, girth(&nd.b)
			}
		}
		if widest < 0 {
			break
		}
		n = t.open(kids, widest, n)
	}
	return n
}

// open puts the children of the k-th of n nodes in its place.
func (t *Tree) open(kids *[4]int32, k, n int) int {
	nd := &t.nodes[kids[k]]
	if nd.count > 0 {
		return n
	}
	kids[k], kids[n] = nd.first, nd.first+1
	return n + 1
}

// frame lays the grid about a box. The steps are powers of two, so that a
// corner of the grid is worked out without rounding or nearly so.
func (q *quad) frame(b *[6]float64) {
	for k := range 3 {
		q.org[k] = below(b[k])
		_, e := math.Frexp((b[k+3] - float64(q.org[k])) / quadSteps)
		q.exp[k] = int8(max(e, -126)) // Frexp's fraction is below 1: 255 steps reach beyond
	}
}

// below is the largest single number not above x, or one less.
func below(x float64) float32 {
	f := float32(x)
	if float64(f) > x {
		f = math.Nextafter32(f, float32(math.Inf(-1)))
	}
	return f
}

// hold rounds the box of a child outwards.
func (q *quad) hold(i int, b *[6]float64) {
	for k := range 3 {
		o, s := float64(q.org[k]), power(-q.exp[k])
		q.side[k][i] = uint8(max(0, math.Floor((b[k]-o)*s)))
		q.side[k+3][i] = uint8(min(quadSteps, math.Ceil((b[k+3]-o)*s)))
	}
}

// power is 2^e.
func power(e int8) float64 { return math.Float64frombits(uint64(int64(e)+1023) << 52) }

// passes is a child of a quad that a ray passes, and from where on.
type passes struct {
	from  float64
	child int32
	count int32
}

// enter lists the children that the ray passes within [tmin, tmax], in their
// order. Distances are compared by their bits, which the processor does without
// a branch (which box a ray misses is not to be foretold): right as long as
// tmin and tmax are no negative numbers, nor negative zeros; a far side that is
// behind the origin is below near in any case. The roundings amount to less of the coordinates than rayPad allows for.
func (r *ray) enter(q *quad, tmin, tmax float64, out *[4]passes) (n int) {
	ox, oy, oz := float64(q.org[0]), float64(q.org[1]), float64(q.org[2])
	sx, sy, sz := power(q.exp[0])*r.invx, power(q.exp[1])*r.invy, power(q.exp[2])*r.invz
	ax, ay, az := (ox-r.oin[0])*r.invx, (oy-r.oin[1])*r.invy, (oz-r.oin[2])*r.invz
	bx, by, bz := (ox-r.oout[0])*r.invx, (oy-r.oout[1])*r.invy, (oz-r.oout[2])*r.invz
	inx, iny, inz := &q.side[r.in[0]], &q.side[r.in[1]], &q.side[r.in[2]]
	outx, outy, outz := &q.side[r.out[0]], &q.side[r.out[1]], &q.side[r.out[2]]
	first, last := asBits(tmin), asBits(tmax)
	for i := range q.n {
		i &= 3
		near := max(first, asBits(ax+stepped[inx[i]]*sx), asBits(ay+stepped[iny[i]]*sy), asBits(az+stepped[inz[i]]*sz))
		far := min(last, asBits(bx+stepped[outx[i]]*sx), asBits(by+stepped[outy[i]]*sy), asBits(bz+stepped[outz[i]]*sz))
		out[n&3] = passes{math.Float64frombits(uint64(near)), q.child[i], int32(q.count[i])}
		passed := 0
		if near <= far+farUnits {
			passed = 1
		}
		n += passed // without a branch, too
	}
	return n
}

func asBits(x float64) int64 { return int64(math.Float64bits(x)) }

// stepped is the numbers of steps as they are needed: a look costs less than a
// conversion.
var stepped = func() (t [quadSteps + 1]float64) {
	for i := range t {
		t[i] = float64(i)
	}
	return t
}()
