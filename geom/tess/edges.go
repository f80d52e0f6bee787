package tess

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
)

// net is what all faces of a body share: the points of its vertices and cut
// edges. The body's vertices come first, with their own numbers.
type net struct {
	pts   []mgl64.Vec3
	same  []int32        // the vertex that stands for each vertex
	chain [][]int32      // of each edge, from its start to its end
	probe [][]mgl64.Vec3 // a few places of edges that are used once, evenly in the parameter
	why   []string       // what was wrong with each edge, "" mostly
	round []bool         // edges that close on themselves
}

// maxCuts bounds the points on one edge.
const maxCuts = 1 << 14

// A curve that ends farther than this from its edge's vertices is not the
// edge's: a radius or a place in the file is wrong, and its points would lead
// anywhere. Sloppy writers have been seen at 0.08 mm.
const (
	maxGap      = 1.0  // mm
	maxGapShare = 0.05 // of the distance between the vertices
)

// cutEdges cuts every edge once. Edges that cannot be cut are straight lines
// between their vertices.
func cutEdges(b *brep.Body, tol geom.Tolerance) net {
	once := usedOnce(b)
	dist := weldDistance(b)
	n := net{
		chain: make([][]int32, len(b.Edges)),
		probe: make([][]mgl64.Vec3, len(b.Edges)),
		why:   make([]string, len(b.Edges)),
		same:  weld(b, once, dist),
	}
	joinLoops(b, n.same, gapReach(b))
	n.round = closedEdges(b, n.same)
	for _, v := range b.Vertices {
		n.pts = append(n.pts, v.P)
	}
	for i := range b.Edges {
		n.cut(b, i, tol)
	}
	for _, e := range once {
		guarded(func() { n.probe[e] = places(b, &b.Edges[e], n.round[e]) }) // an edge without places is not stitched
	}
	n.stitch(b, once, dist)
	return n
}

// closedEdges marks edges that end where they start: at one vertex, or at two
// that were joined because the edge is a loop by itself.
func closedEdges(b *brep.Body, same []int32) []bool {
	out := make([]bool, len(b.Edges))
	for i := range b.Edges {
		out[i] = b.Edges[i].Start == b.Edges[i].End
	}
	for _, f := range b.Faces {
		for _, l := range f.Loops {
			if len(l.Coedges) != 1 {
				continue
			}
			if v, w, ok := joint(b, l, 0); ok && same[v] == same[w] {
				out[l.Coedges[0].Edge] = true
			}
		}
	}
	return out
}

func (n *net) cut(b *brep.Body, i int, tol geom.Tolerance) {
	e := &b.Edges[i]
	if !b.HasVertex(e.Start) || !b.HasVertex(e.End) {
		n.why[i] = "edge without vertices"
		return
	}
	start, end := n.same[e.Start], n.same[e.End]
	var inner []mgl64.Vec3
	var why string
	if fault := guarded(func() { inner, why = innerPoints(b, e, n.round[i], tol) }); fault != "" {
		inner, why = nil, fault
	}
	chain := append(make([]int32, 0, len(inner)+2), start)
	for _, p := range inner {
		chain = append(chain, int32(len(n.pts)))
		n.pts = append(n.pts, p)
	}
	n.chain[i], n.why[i] = append(chain, end), why
}

// innerPoints are the points of an edge between its vertices, from start to
// end. The vertices themselves stand at the ends, whatever the curve says: all
// edges of a corner must meet.
func innerPoints(b *brep.Body, e *brep.Edge, closed bool, tol geom.Tolerance) ([]mgl64.Vec3, string) {
	if e.Curve == nil {
		return nil, "edge without a curve"
	}
	start, end := b.Vertices[e.Start].P, b.Vertices[e.End].P
	from, to := start, end
	if !e.SameSense {
		from, to = end, start
	}
	t0, t1, ok := span(e.Curve, from, to, closed)
	if !ok && closed {
		return nil, "" // of no length: a pole or an apex written as an edge
	}
	if !ok {
		return nil, "edge's curve has no piece between its vertices"
	}
	gap := max(e.Curve.Point(t0).Sub(from).Len(), e.Curve.Point(t1).Sub(to).Len())
	if !(gap <= max(maxGap, maxGapShare*end.Sub(start).Len())) { // NaN is refused too
		return nil, fmt.Sprintf("edge's curve ends %.3g mm beside its vertices; a straight line stands in", gap)
	}
	ts := curve.Cut(e.Curve, t0, t1, tol)
	if len(ts) > maxCuts {
		return nil, fmt.Sprintf("edge needs more than %d points", maxCuts)
	}
	pts := make([]mgl64.Vec3, 0, len(ts))
	for k := 1; k+1 < len(ts); k++ {
		p := e.Curve.Point(ts[k])
		if !geom.Finite(p) {
			return nil, "edge's curve has no finite points"
		}
		pts = append(pts, p)
	}
	if !e.SameSense {
		slices.Reverse(pts)
	}
	if closed {
		end = start
	}
	pts = thinned(pts, start, end, tol)
	if gap > max(tol.Chord, 1e-4*end.Sub(start).Len()) {
		return pts, fmt.Sprintf("edge's curve ends %.3g mm beside its vertices", gap)
	}
	return pts, ""
}

// thinned leaves out what is noise at this tolerance: points nearer to their
// neighbours than a fiftieth of the chord error, and all inner points of an
// open edge that is shorter than the chord error and stays near its straight
// line (curves of this size often fold). Vertices may lie off their curve; a
// first point that comes before its vertex would make the loop cross itself.
func thinned(pts []mgl64.Vec3, start, end mgl64.Vec3, tol geom.Tolerance) []mgl64.Vec3 {
	if l := end.Sub(start).Len(); l > 0 && l < tol.Chord && farthest(pts, start, end) < tol.Chord/5 {
		return nil
	}
	least := tol.Chord / 50
	closed := start == end
	out := make([]mgl64.Vec3, 0, len(pts))
	last := start
	for _, p := range pts {
		if p.Sub(last).Len() >= least && p.Sub(end).Len() >= least {
			out = append(out, p)
			last = p
		}
	}
	if closed && len(out) < 2 { // a tiny ring must stay one
		return pts
	}
	return out
}

// farthest is the greatest distance of the points from the line a to b.
func farthest(pts []mgl64.Vec3, a, b mgl64.Vec3) float64 {
	d := 0.0
	for _, p := range pts {
		d = max(d, offChord(a, p, b))
	}
	return d
}

// places are five points of an edge's curve between its vertices, evenly in
// length of a fine cut, from start to end.
func places(b *brep.Body, e *brep.Edge, closed bool) []mgl64.Vec3 {
	if e.Curve == nil || !b.HasVertex(e.Start) || !b.HasVertex(e.End) {
		return nil
	}
	from, to := b.Vertices[e.Start].P, b.Vertices[e.End].P
	if !e.SameSense {
		from, to = to, from
	}
	t0, t1, ok := span(e.Curve, from, to, closed)
	if !ok {
		return nil
	}
	const fine, n = 200, 6
	var p [fine + 1]mgl64.Vec3
	var l [fine + 1]float64
	for i := range p {
		p[i] = e.Curve.Point(t0 + (t1-t0)*float64(i)/fine)
		if i > 0 {
			l[i] = l[i-1] + p[i].Sub(p[i-1]).Len()
		}
	}
	var out []mgl64.Vec3
	for k := 1; k < n; k++ {
		at := l[fine] * float64(k) / n
		i, _ := slices.BinarySearch(l[:], at)
		i = max(1, min(i, fine))
		f := 0.0
		if d := l[i] - l[i-1]; d > 0 {
			f = (at - l[i-1]) / d
		}
		out = append(out, p[i-1].Add(p[i].Sub(p[i-1]).Mul(f)))
	}
	if !e.SameSense {
		slices.Reverse(out)
	}
	return out
}

// span is the piece of the curve between two points in the curve's sense.
func span(c curve.Curve, from, to mgl64.Vec3, closed bool) (t0, t1 float64, ok bool) {
	period := c.Period()
	t0 = c.Param(from)
	switch {
	case closed && period > 0:
		t1 = t0 + period
	case closed:
		t0, t1 = c.Domain()
		if math.IsInf(t0, 0) || math.IsInf(t1, 0) {
			return 0, 0, false
		}
	default:
		t1 = c.Param(to)
		if t1 <= t0 && period > 0 {
			t1 += period * math.Ceil((t0-t1)/period)
			if t1 == t0 {
				t1 += period
			}
		}
	}
	ok = !math.IsNaN(t1-t0) && !math.IsInf(t1-t0, 0)
	return t0, t1, ok && t0 != t1
}
