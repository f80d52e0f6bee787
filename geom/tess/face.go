package tess

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/tess/cdt"
)

// faceResult is a meshed face: triangles over the body's net (numbers from 0)
// and the face's own points (-1 is the first). why says what was wrong.
type faceResult struct {
	tris []([3]int32)
	own  []mgl64.Vec3
	ok   bool // a mesh stands, right or repaired
	why  string
	// turned: the mesh faces against what the face says of itself.
	turned bool
	// crossed says that the loops cross themselves as they are cut now; cut
	// finer they may not.
	crossed bool
}

// faceWork is one attempt at one face.
type faceWork struct {
	w       *work
	face    *brep.Face
	poleTol float64 // mm within which a point is at a pole
	ownPts  []mgl64.Vec3
	need    []side // the sides that the mesh must have as its border
}

// own adds a point of the face's own and returns its number.
func (f *faceWork) own(p mgl64.Vec3) int32 {
	f.ownPts = append(f.ownPts, p)
	return int32(-len(f.ownPts))
}

// at is the point of a vertex number.
func (f *faceWork) at(id int32) mgl64.Vec3 {
	if id < 0 {
		return f.ownPts[-1-id]
	}
	return f.w.net.pts[id]
}

var errNoSurface = errors.New("face without a surface")

// meshFace tries the ways to mesh a face one after another until the border
// of the mesh is the border of the face.
func meshFace(w *work, i brep.FaceIndex) (res faceResult) {
	if fault := guarded(func() { res = w.tryFace(i) }); fault != "" {
		return faceResult{why: fault}
	}
	return res
}

// guarded runs do; a panic, which is a fault of ours, must not cost more than
// the edge or face at hand. It returns what happened, "" when nothing did.
func guarded(do func()) (fault string) {
	defer func() {
		if r := recover(); r != nil {
			fault = fmt.Sprintf("internal error: %v", r)
		}
	}()
	do()
	return ""
}

// maxUse is how often the loops of a face may go along an edge the same way. Once
// is right, and repairs cope with a few; a loop that repeats an edge ten thousand
// times is damage that would cost as much as a large file.
const maxUse = 16

// overused is the edge that a face's loops go along most often the same way, and
// how often; the first of equal ones.
func (w *work) overused(face *brep.Face) (tag brep.Tag, n int) {
	times := map[brep.Coedge]int{}
	for _, l := range face.Loops {
		for _, c := range l.Coedges {
			if times[c]++; times[c] > n {
				tag, n = w.body.Edges[c.Edge].Tag, times[c]
			}
		}
	}
	return tag, n
}

func (w *work) tryFace(i brep.FaceIndex) faceResult {
	face := &w.body.Faces[i]
	if face.Surface == nil {
		return faceResult{why: errNoSurface.Error()}
	}
	if tag, n := w.overused(face); n > maxUse {
		return faceResult{why: fmt.Sprintf("its loops go along edge #%d %d times the same way; a face needs each once", tag, n)}
	}
	chains, note := w.chains(face)
	need := needed(chains)
	var first error
	crossed := false
	for _, try := range attempts {
		if try.rough && len(chains) > 0 && len(need) == 0 {
			continue // there is no border that it could be held to
		}
		f := &faceWork{w: w, face: face, poleTol: poleTolerance(w.body), need: need}
		tris, err := try.mesh(f, chains)
		var how fitting
		if err == nil {
			how, err = f.fit(tris)
		}
		if err != nil {
			if first == nil {
				first = err
				var cross *cdt.CrossError
				crossed = errors.As(err, &cross)
			}
			continue
		}
		if first != nil {
			note = fmt.Sprintf("%v; %s", first, try.name)
		}
		return faceResult{
			tris: f.outward(tris), own: f.ownPts, ok: true,
			why: cmp.Or(note, how.note), turned: how.turned, crossed: crossed && try.rough,
		}
	}
	if off := (errOff{}); len(chains) > 0 && len(need) == 0 && !errors.As(first, &off) {
		return faceResult{ok: true, why: "edges lie on each other; face without area left out"}
	}
	return faceResult{why: first.Error(), crossed: crossed}
}

// poleTolerance is how near a pole a point counts as on it: 1e-5 mm as poles
// are written with 6 to 10 digits, and the file's own uncertainty when that is
// not wild.
func poleTolerance(b *brep.Body) float64 { return max(1e-5, min(b.Uncertainty, 1e-3)) }

// chains are the face's loops as chains of net points, material on the left
// seen against the surface's own normal. Sides without length are left out. A
// loop whose coedges do not follow each other is put in order where turning
// single coedges does it.
func (w *work) chains(face *brep.Face) ([][]int32, string) {
	var out [][]int32
	note := ""
	for _, l := range face.Loops {
		chain, why := w.chain(l)
		if why != "" {
			note = why
		}
		if !face.SameSense {
			slices.Reverse(chain)
		}
		if len(chain) > 0 {
			out = append(out, chain)
		}
	}
	return out, note
}

func (w *work) chain(l brep.Loop) (chain []int32, note string) {
	for _, c := range l.Coedges {
		if !w.body.HasEdge(c.Edge) || len(w.net.chain[c.Edge]) == 0 {
			return nil, "loop with a broken edge"
		}
	}
	coedges, note := w.inOrder(l)
	for _, c := range coedges {
		if why := w.net.why[c.Edge]; why != "" {
			note = why
		}
		from := len(chain)
		chain = append(chain, w.net.chain[c.Edge]...)
		if c.Reversed {
			slices.Reverse(chain[from:])
		}
	}
	if gap := w.gap(l); note == "" && gap > gapToTell {
		note = fmt.Sprintf("loop with gaps of up to %.2g mm between its edges; closed", gap)
	}
	return compactRing(chain), note
}

// gapToTell is the least gap between edges, mm, that is worth a word: ends that
// were rounded by the writer stay below.
const gapToTell = 1e-3

// gap is the greatest distance between edges of a loop that were joined.
func (w *work) gap(l brep.Loop) float64 {
	most := 0.0
	for k := range l.Coedges {
		v, to, ok := joint(w.body, l, k)
		if ok && v != to && w.net.same[v] == w.net.same[to] {
			most = max(most, w.body.Vertices[v].P.Sub(w.body.Vertices[to].P).Len())
		}
	}
	return most
}

// compactRing drops repetitions of a number in a row, the last against the
// first included. A chain of one point is nothing.
func compactRing(c []int32) []int32 {
	c = slices.Compact(c)
	for len(c) > 1 && c[0] == c[len(c)-1] {
		c = c[:len(c)-1]
	}
	if len(c) < 2 {
		return nil
	}
	return c
}

// side is one piece of a border, from a to b.
type side struct{ a, b int32 }

// needed lists the border of the face, pieces that are used both ways (seams)
// left out.
func needed(chains [][]int32) []side {
	c := counts.Get().(*count)
	defer counts.Put(c)
	n := 0
	for _, l := range chains {
		n += len(l)
	}
	c.reset(n)
	for _, l := range chains {
		for i, a := range l {
			k, _ := c.sides.Add(a, l[(i+1)%len(l)])
			c.add(k, 1)
		}
	}
	out := make([]side, 0, n)
	for _, l := range chains {
		for i, a := range l {
			b := l[(i+1)%len(l)]
			k, _ := c.sides.Find(a, b)
			if back, ok := c.sides.Find(b, a); !ok || c.n[k] > c.n[back] {
				out = append(out, side{a, b})
			}
		}
	}
	return out
}

// count is a number for each of some sides.
type count struct {
	sides mesh.Sides
	n     []int32
}

// counts keep their memory from face to face.
var counts = sync.Pool{New: func() any { return new(count) }}

// reset makes room for some sides.
func (c *count) reset(sides int) {
	c.sides.Reset(sides)
	c.n = slices.Grow(c.n[:0], sides)
}

// add adds d to the number of side i.
func (c *count) add(i int, d int32) {
	if i == len(c.n) {
		c.n = append(c.n, 0)
	}
	c.n[i] += d
}

// errBorder says that a face's mesh would not fit its neighbours.
var errBorder = errors.New("triangles do not end at the face's edges")

// fitting says how a mesh was made to fit its neighbours.
type fitting struct {
	note   string
	turned bool
}

// fit turns the triangles, anticlockwise in the parameter plane, so that their
// border runs as the face's loops do: neighbours then fit. Loops that all run
// against the surface's normal turn the face; where only some do, they are
// taken to be marked wrongly.
func (f *faceWork) fit(tris [][3]int32) (fitting, error) {
	border := counts.Get().(*count)
	defer counts.Put(border)
	border.ofBorder(tris)
	along, against := 0, 0
	for _, s := range f.need {
		switch border.take(s) {
		case 1:
			along++
		case -1:
			against++
		default:
			return fitting{}, errBorder
		}
	}
	switch {
	case !border.empty():
		return fitting{}, errBorder
	case against == 0:
		return fitting{}, nil
	case along == 0:
		flip(tris)
		return fitting{"loops run against the face's normal; face turned over", true}, nil
	}
	return fitting{note: "some loops run in the wrong sense; sense taken from their place"}, nil
}

// ofBorder counts for each edge of the triangles how many more of them run
// along it from the lower to the higher number than back.
func (c *count) ofBorder(tris [][3]int32) {
	c.reset(3*len(tris)/2 + 3)
	for _, t := range tris {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			i, _ := c.sides.AddEdge(a, b)
			if a < b {
				c.add(i, 1)
			} else {
				c.add(i, -1)
			}
		}
	}
}

// take says how often the side is on the border, negative for the side from b
// to a, and strikes it off.
func (c *count) take(s side) int32 {
	i, ok := c.sides.Find(min(s.a, s.b), max(s.a, s.b))
	if !ok {
		return 0
	}
	n := c.n[i]
	if s.a > s.b {
		n = -n
	}
	c.n[i] = 0
	return n
}

// empty reports that no side has a number but 0.
func (c *count) empty() bool {
	for _, n := range c.n {
		if n != 0 {
			return false
		}
	}
	return true
}

// flip turns triangles over in place.
func flip(tris [][3]int32) {
	for i, t := range tris {
		tris[i] = [3]int32{t[0], t[2], t[1]}
	}
}

// outward turns the triangles from the surface's sense to the face's.
func (f *faceWork) outward(tris [][3]int32) [][3]int32 {
	if !f.face.SameSense {
		flip(tris)
	}
	return tris
}
