package tess

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
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
// stand-in; all other vertices stand for themselves.
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
	return standIns(len(v), func(i int) mgl64.Vec3 { return v[i].P }, end, dist)
}

// standIns gives each of n points that may be joined the first such one within
// dist; all others stand for themselves. Points that are not finite stay alone.
func standIns(n int, at func(int) mgl64.Vec3, may []bool, dist float64) []int32 {
	type cell [3]int64
	of := func(p mgl64.Vec3) cell {
		return cell{int64(math.Floor(p[0] / dist)), int64(math.Floor(p[1] / dist)), int64(math.Floor(p[2] / dist))}
	}
	const far = 1e12 // in cells: beyond, integers would not hold
	in := map[cell][]int32{}
	same := make([]int32, n)
	for i := range n {
		same[i] = int32(i)
		if !may[i] {
			continue
		}
		p := at(i)
		if !(math.Abs(p[0])+math.Abs(p[1])+math.Abs(p[2]) < far*dist) {
			continue
		}
		c := of(p)
		for k := range 27 {
			near := cell{c[0] + int64(k%3) - 1, c[1] + int64(k/3%3) - 1, c[2] + int64(k/9) - 1}
			for _, j := range in[near] {
				if j < same[i] && at(int(j)).Sub(p).Len() <= dist {
					same[i] = j
				}
			}
		}
		if same[i] == int32(i) {
			in[c] = append(in[c], int32(i))
		}
	}
	return same
}

// joinLoops makes one vertex of the two that follow each other in a loop within
// reach mm: edges that a loop lists one after the other meet, whatever numbers
// their ends have. It works on what weld found.
func joinLoops(b *brep.Body, same []int32, reach float64) {
	chief := func(i int32) int32 {
		for same[i] != i {
			same[i] = same[same[i]]
			i = same[i]
		}
		return i
	}
	for _, f := range b.Faces {
		for _, l := range f.Loops {
			for k := range l.Coedges {
				v, w, ok := joint(b, l, k)
				if !ok || v == w {
					continue
				}
				p, q := chief(int32(v)), chief(int32(w))
				if p != q && b.Vertices[v].P.Sub(b.Vertices[w].P).Len() <= reach {
					same[max(p, q)] = min(p, q)
				}
			}
		}
	}
	for i := range same {
		same[i] = chief(int32(i))
	}
}

// joint is where coedge k of a loop ends and where the next one starts.
func joint(b *brep.Body, l brep.Loop, k int) (from, to brep.VertexIndex, ok bool) {
	c, d := l.Coedges[k], l.Coedges[(k+1)%len(l.Coedges)]
	if !b.HasEdge(c.Edge) || !b.HasEdge(d.Edge) {
		return 0, 0, false
	}
	from, to = b.Edges[c.Edge].End, b.Edges[d.Edge].Start
	if c.Reversed {
		from = b.Edges[c.Edge].Start
	}
	if d.Reversed {
		to = b.Edges[d.Edge].End
	}
	return from, to, b.HasVertex(from) && b.HasVertex(to)
}

// gapReach is how wide a gap between the edges of a loop is closed, mm: a
// hundredth, or the share of the body's size that writers of few digits leave.
func gapReach(b *brep.Body) float64 {
	box := geom.EmptyBox()
	for i := range b.Vertices {
		if geom.Finite(b.Vertices[i].P) {
			box = box.Add(b.Vertices[i].P)
		}
	}
	reach := max(soupMost, b.Uncertainty)
	if d := box.Diagonal(); d > 0 {
		reach = min(max(reach, 1e-4*d), 1e-2*d) // not so much that a tiny body closes up
	}
	return min(reach, 1)
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
