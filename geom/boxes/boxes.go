// Package boxes finds which of many boxes meet others: solids in a product, faces
// in a part, triangles in a plane. It owns the search and knows nothing of what
// lies in the boxes.
package boxes

import (
	"cmp"
	"slices"

	"stepscan/geom"
)

// Tree is a search tree over boxes: made in n log² n, asked in log n and what is
// found. It never changes and is safe for concurrent use.
type Tree struct {
	boxes []geom.Box
	nodes []node
	order []int32
}

// node has two children side by side, or a run of order.
type node struct {
	box         geom.Box
	child       int32 // the left child, the right one follows; 0 for a leaf
	first, last int32
}

// leaf is how many boxes a leaf holds at most.
const leaf = 8

// New makes a tree. Empty boxes, and those with NaN, meet nothing. It keeps the
// slice.
func New(boxes []geom.Box) *Tree {
	t := &Tree{boxes: boxes, order: make([]int32, 0, len(boxes))}
	for i := range boxes {
		if boxes[i].Overlaps(boxes[i]) { // not empty, no NaN
			t.order = append(t.order, int32(i))
		}
	}
	if len(t.order) == 0 {
		return t
	}
	t.nodes = append(t.nodes, node{first: 0, last: int32(len(t.order))})
	for i := 0; i < len(t.nodes); i++ { // children come behind their parents
		t.split(i)
	}
	return t
}

// split halves a node along the longest side of the box of its boxes' centres.
func (t *Tree) split(i int) {
	n := &t.nodes[i]
	run := t.order[n.first:n.last]
	n.box = geom.EmptyBox()
	centres := geom.EmptyBox()
	for _, k := range run {
		n.box = n.box.Union(t.boxes[k])
		centres = centres.Add(t.boxes[k].Centre())
	}
	if len(run) <= leaf {
		return
	}
	size := centres.Max.Sub(centres.Min)
	axis := 0
	for k := 1; k < 3; k++ {
		if size[k] > size[axis] {
			axis = k
		}
	}
	mid := n.first + int32(t.halve(run, axis, centres.Centre()[axis]))
	n.child = int32(len(t.nodes))
	first, last := n.first, n.last // n moves when the nodes grow
	t.nodes = append(t.nodes, node{first: first, last: mid}, node{first: mid, last: last})
}

// halve puts the boxes whose centres lie below the middle of an axis first and
// says how many those are; where one side is nearly all, it takes the median.
func (t *Tree) halve(run []int32, axis int, middle float64) int {
	centre := func(i int32) float64 { return t.boxes[i].Centre()[axis] }
	k := 0
	for i := range run {
		if centre(run[i]) < middle {
			run[k], run[i] = run[i], run[k]
			k++
		}
	}
	if least := len(run) / 8; k > least && k < len(run)-least {
		return k
	}
	slices.SortFunc(run, func(a, b int32) int { return cmp.Or(cmp.Compare(centre(a), centre(b)), cmp.Compare(a, b)) })
	return len(run) / 2
}

// Within visits the boxes that share a point with q, until visit says false.
func (t *Tree) Within(q geom.Box, visit func(i int32) bool) {
	if len(t.nodes) == 0 {
		return
	}
	todo := []int32{0}
	for len(todo) > 0 {
		n := &t.nodes[todo[len(todo)-1]]
		todo = todo[:len(todo)-1]
		if !n.box.Overlaps(q) {
			continue
		}
		if n.child > 0 {
			todo = append(todo, n.child+1, n.child)
			continue
		}
		for _, k := range t.order[n.first:n.last] {
			if t.boxes[k].Overlaps(q) && !visit(k) {
				return
			}
		}
	}
}

// Along visits the boxes that come within dist mm of a line, and some that do not:
// they are told by the balls about them. It ends when visit says false.
func (t *Tree) Along(a geom.Axis, dist float64, visit func(i int32) bool) {
	if len(t.nodes) == 0 {
		return
	}
	near := func(b *geom.Box) bool { return a.Distance(b.Centre()) <= dist+b.Diagonal()/2 }
	todo := []int32{0}
	for len(todo) > 0 {
		n := &t.nodes[todo[len(todo)-1]]
		todo = todo[:len(todo)-1]
		if !near(&n.box) {
			continue
		}
		if n.child > 0 {
			todo = append(todo, n.child+1, n.child)
			continue
		}
		for _, k := range t.order[n.first:n.last] {
			if near(&t.boxes[k]) && !visit(k) {
				return
			}
		}
	}
}

// Pairs visits the pairs of a box of t and one of u that share a point.
func (t *Tree) Pairs(u *Tree, visit func(i, j int32) bool) {
	if len(t.nodes) == 0 || len(u.nodes) == 0 {
		return
	}
	todo := [][2]int32{{0, 0}}
	for len(todo) > 0 {
		at := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		a, b := &t.nodes[at[0]], &u.nodes[at[1]]
		switch {
		case !a.box.Overlaps(b.box):
		case a.child == 0 && b.child == 0:
			for _, i := range t.order[a.first:a.last] {
				for _, j := range u.order[b.first:b.last] {
					if t.boxes[i].Overlaps(u.boxes[j]) && !visit(i, j) {
						return
					}
				}
			}
		case b.child == 0 || a.child > 0 && a.last-a.first > b.last-b.first:
			todo = append(todo, [2]int32{a.child + 1, at[1]}, [2]int32{a.child, at[1]})
		default:
			todo = append(todo, [2]int32{at[0], b.child + 1}, [2]int32{at[0], b.child})
		}
	}
}
