package tess

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
)

// Where edges are used once only, each face may have brought its own: their
// ends are one within the file's own uncertainty, within reason, in mm. Other
// vertices are never joined: writers keep two corners at one place apart where
// a body touches itself.
const (
	soupLeast = 1e-4
	soupMost  = 1e-2
)

func weldDistance(b *brep.Body) float64 {
	return max(soupLeast, min(b.Uncertainty, soupMost))
}

// usedOnce lists the edges that exactly one coedge uses.
func usedOnce(b *brep.Body) []brep.EdgeIndex {
	n := make([]int, len(b.Edges))
	for _, f := range b.Faces {
		for _, l := range f.Loops {
			for _, c := range l.Coedges {
				if b.HasEdge(c.Edge) {
					n[c.Edge]++
				}
			}
		}
	}
	var out []brep.EdgeIndex
	for i, k := range n {
		if k == 1 {
			out = append(out, brep.EdgeIndex(i))
		}
	}
	return out
}

// weld gives each end of the given edges the first such end within dist as its
// stand-in; all other vertices stand for themselves. Vertices that are not
// finite stay alone.
func weld(b *brep.Body, edges []brep.EdgeIndex, dist float64) []int32 {
	v := b.Vertices
	end := make([]bool, len(v))
	for _, e := range edges {
		for _, k := range [2]brep.VertexIndex{b.Edges[e].Start, b.Edges[e].End} {
			if b.HasVertex(k) {
				end[k] = true
			}
		}
	}
	type cell [3]int64
	of := func(p mgl64.Vec3) cell {
		return cell{int64(math.Floor(p[0] / dist)), int64(math.Floor(p[1] / dist)), int64(math.Floor(p[2] / dist))}
	}
	const far = 1e12 // in cells: beyond, integers would not hold
	at := map[cell][]int32{}
	same := make([]int32, len(v))
	for i := range v {
		same[i] = int32(i)
		p := v[i].P
		if !end[i] || !(math.Abs(p[0])+math.Abs(p[1])+math.Abs(p[2]) < far*dist) {
			continue
		}
		c := of(p)
		for k := range 27 {
			n := cell{c[0] + int64(k%3) - 1, c[1] + int64(k/3%3) - 1, c[2] + int64(k/9) - 1}
			for _, j := range at[n] {
				if j < same[i] && v[j].P.Sub(p).Len() <= dist {
					same[i] = j
				}
			}
		}
		if same[i] == int32(i) {
			at[c] = append(at[c], int32(i))
		}
	}
	return same
}

// stitch makes edges that are used once only and run along each other share
// their points: faces that brought their own edges close up.
func (n *net) stitch(b *brep.Body, once []brep.EdgeIndex, dist float64) {
	byEnds := map[[2]int32][]brep.EdgeIndex{}
	for _, e := range once {
		c := n.chain[e]
		if len(c) < 2 {
			continue
		}
		ends := [2]int32{min(c[0], c[len(c)-1]), max(c[0], c[len(c)-1])}
		for _, o := range byEnds[ends] {
			if n.runAlong(o, e, 10*dist) {
				break
			}
		}
		byEnds[ends] = append(byEnds[ends], e)
	}
}

// runAlong gives edge e the points of edge o where both have the same ends and
// lie on each other, within dist at five places; chords of different cuts may
// differ by more, so the places are points of the exact curves.
func (n *net) runAlong(o, e brep.EdgeIndex, dist float64) bool {
	a, b := n.probe[o], n.probe[e]
	if len(a) == 0 || len(a) != len(b) {
		return false
	}
	near := func(r []mgl64.Vec3) bool {
		for i := range a {
			if !(a[i].Sub(r[i]).Len() <= dist) {
				return false
			}
		}
		return true
	}
	turned := slices.Clone(b)
	slices.Reverse(turned)
	switch {
	case n.chain[o][0] == n.chain[e][0] && near(b):
		n.chain[e] = slices.Clone(n.chain[o])
	case n.chain[o][0] == n.chain[e][len(n.chain[e])-1] && near(turned):
		n.chain[e] = slices.Clone(n.chain[o])
		slices.Reverse(n.chain[e])
	default:
		return false
	}
	return true
}
