package tess

import (
	"errors"
	"fmt"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/surface"
)

// attempt is one way to mesh a face.
type attempt struct {
	name string // what was done, for the report
	mesh func(f *faceWork, chains [][]int32) ([][3]int32, error)
	// rough: the mesh may leave the surface by more than the chord error.
	rough bool
}

// attempts are tried in this order; all but the first are repairs.
var attempts = []attempt{
	{name: "", mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.inPlane(c, onward, (*faceWork).fill)
	}},
	{name: "loops taken in the opposite sense", mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.inPlane(c, backward, (*faceWork).fill)
	}},
	{name: "slits left out", mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		kept := withoutSlits(c)
		if len(kept) == 0 && !onlySeams(f.face) {
			return nil, errEmpty // and not the surface as a whole
		}
		return f.inPlane(kept, onward, (*faceWork).fill)
	}},
	{name: "loops that touch drawn apart", mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.inPlane(c, onward, func(f *faceWork, r region) ([][3]int32, error) {
			drawApart(r.rings)
			return f.fill(r)
		})
	}},
	{name: "filled without points inside, overlapping where its loops do", rough: true, mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.inPlane(c, onward, (*faceWork).loose)
	}},
	{name: "filled over the plane nearest to its loops", rough: true, mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.onPlane(c, (*faceWork).fill)
	}},
	{name: "filled loosely over the plane nearest to its loops", rough: true, mesh: func(f *faceWork, c [][]int32) ([][3]int32, error) {
		return f.onPlane(c, (*faceWork).loose)
	}},
}

// sense says on which side of the loops the material is taken to lie.
type sense bool

const (
	onward   sense = false // on the left, as the file says
	backward sense = true
)

// onlySeams reports that a face's loops go along each of their edges once forward
// and once back: they bound nothing. Where different edges lie on each other, what
// they bound is a sliver.
func onlySeams(face *brep.Face) bool {
	used := map[brep.Coedge]bool{}
	for _, l := range face.Loops {
		for _, c := range l.Coedges {
			used[c] = true
		}
	}
	for c := range used {
		if !used[brep.Coedge{Edge: c.Edge, Reversed: !c.Reversed}] {
			return false
		}
	}
	return true
}

// withoutSlits takes out of the chains what goes forward and straight back.
func withoutSlits(chains [][]int32) [][]int32 {
	var out [][]int32
	for _, c := range chains {
		var kept []int32
		for _, v := range c {
			if n := len(kept); n >= 2 && kept[n-2] == v {
				kept = kept[:n-1]
			} else {
				kept = append(kept, v)
			}
		}
		for n := len(kept); n >= 3 && (kept[0] == kept[n-2] || kept[1] == kept[n-1]); n = len(kept) {
			if kept[0] == kept[n-2] { // ... a b | a: the tip is b, across the start
				kept = kept[:n-2]
			} else {
				kept = kept[2:]
			}
		}
		if kept = compactRing(kept); len(kept) >= 3 {
			out = append(out, kept)
		}
	}
	return out
}

// drawApart shrinks all rings but the greatest by a millionth in the parameter
// plane, so that corners of different loops at one place do not lie in each
// other's way. The points in space stay.
func drawApart(rings []ring) {
	const shrink = 1e-6
	outer := greatest(rings)
	for i := range rings {
		if i == outer {
			continue
		}
		m := rings[i].mean()
		for k := range rings[i].nodes {
			n := &rings[i].nodes[k]
			n.at = n.at.Add(m.Sub(n.at).Mul(shrink))
		}
	}
}

// errOff says that a face's edges do not lie on its surface.
type errOff struct{ mm float64 }

func (e errOff) Error() string { return fmt.Sprintf("edges lie %.3g mm off the surface", e.mm) }

// inPlane unwraps the chains into the parameter plane and fills the region
// that they bound.
func (f *faceWork) inPlane(chains [][]int32, way sense, fill func(*faceWork, region) ([][3]int32, error)) ([][3]int32, error) {
	c := newChart(f.face.Surface)
	limit := f.offLimit()
	if len(chains) == 0 { // the surface as a whole: not where the face lies beside it
		if off := f.cornersOff(); off > maxOff {
			return nil, errOff{off}
		}
	}
	var rings []ring
	for _, ch := range chains {
		r, gap := f.unwrap(c, ch, bool(way))
		if through := len(r.nodes) > len(ch); through && r.wind != [2]int{} {
			// A loop through a pole winds round nothing: the pole's line was
			// walked the wrong way.
			r, gap = f.unwrap(c, ch, !bool(way))
		}
		if gap > limit {
			return nil, errOff{gap}
		}
		if way == backward {
			r = r.reversed()
		}
		rings = append(rings, r)
	}
	reg, err := f.region(c, rings)
	if err != nil {
		return nil, err
	}
	return fill(f, reg)
}

// cornersOff is how far, mm, a vertex of the face lies off its surface.
func (f *faceWork) cornersOff() float64 {
	most, s, b := 0.0, f.face.Surface, f.w.body
	look := func(v brep.VertexIndex) {
		if b.HasVertex(v) {
			p := b.Vertices[v].P
			most = max(most, s.Point(s.Param(p, surface.Hint{})).Sub(p).Len())
		}
	}
	for _, l := range f.face.Loops {
		look(l.Vertex)
		for _, c := range l.Coedges {
			if b.HasEdge(c.Edge) {
				look(b.Edges[c.Edge].Start)
			}
		}
	}
	return most
}

// maxOff is how far edges may lie off a large surface, mm: 0.08 has been seen in
// files.
const maxOff = 0.5

// offLimit is how far edges may lie off the surface before the surface is not
// believed, mm: maxOff or a thousandth of the face, but not so much that a small
// face loses its shape.
func (f *faceWork) offLimit() float64 {
	box := geom.EmptyBox()
	for _, s := range f.need {
		box = box.Add(f.at(s.a))
	}
	d := box.Diagonal()
	return max(2*f.w.tol.Chord, min(maxOff, 0.05*d), 1e-3*d)
}

// reversed is the ring run backward.
func (r ring) reversed() ring {
	slices.Reverse(r.nodes)
	r.wind = [2]int{-r.wind[0], -r.wind[1]}
	return r
}

var errNoPlane = errors.New("loops span no plane")

// onPlane fills the loops over their mean plane, which stands in for the
// surface.
func (f *faceWork) onPlane(chains [][]int32, fill func(*faceWork, region) ([][3]int32, error)) ([][3]int32, error) {
	s, err := f.meanPlane(chains)
	if err != nil {
		return nil, err
	}
	c := newChart(s)
	var rings []ring
	for _, ch := range chains {
		r, _ := f.unwrap(c, ch, false)
		rings = append(rings, r)
	}
	if len(rings) == 0 {
		return nil, errNoPlane
	}
	return fill(f, together(c, rings))
}

// meanPlane has the normal that the loops' area vectors add up to (Newell).
func (f *faceWork) meanPlane(chains [][]int32) (surface.Surface, error) {
	var sum, o mgl64.Vec3
	n := 0
	for _, c := range chains {
		var area mgl64.Vec3
		first := f.at(c[0])
		for i := range c {
			a, b := f.at(c[i]).Sub(first), f.at(c[(i+1)%len(c)]).Sub(first)
			area = area.Add(a.Cross(b))
			o, n = o.Add(f.at(c[i])), n+1
		}
		if area.Dot(sum) < 0 && area.Len() > sum.Len() {
			sum = sum.Mul(-1) // the greater loop says which side is up
		}
		sum = sum.Add(area)
	}
	if n == 0 {
		return nil, errNoPlane
	}
	fr, err := geom.NewFrame(o.Mul(1/float64(n)), sum, mgl64.Vec3{})
	if err != nil || !f.nearPlane(fr, chains) {
		return nil, errNoPlane
	}
	return surface.NewPlane(fr)
}

// nearPlane reports that the loops stay within a tenth of their size of the
// frame's plane: a plane may stand in for a dent, not for a tube.
func (f *faceWork) nearPlane(fr geom.Frame, chains [][]int32) bool {
	box := geom.EmptyBox()
	for _, c := range chains {
		for _, id := range c {
			box = box.Add(fr.Local(f.at(id)))
		}
	}
	return box.Max[2]-box.Min[2] <= box.Diagonal()/10
}
