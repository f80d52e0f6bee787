package view

import (
	"cmp"
	"math"
	"slices"

	"github.com/fogleman/ln/ln"
)

const (
	// sameLine is how close, mm of paper, two lines lie to count as one: a
	// tenth of the thinnest pen.
	sameLine = 0.015
	// sameEnd is how close two ends lie to be joined, mm of paper.
	sameEnd = 0.03
	// smoothTol is how far a simplified line may leave the drawn one, mm of paper.
	smoothTol = 0.012
	// dust is the length, mm of paper, below which a line is left out.
	dust = 0.25
)

// tidier removes what was drawn twice, joins the rest and smooths it.
type tidier struct {
	segs  []Segment
	cells map[[2]int32][]int32
	asked []int32 // by segment: the last question it was looked at for
	turn  int32   // number of the question
}

func newTidier() *tidier { return &tidier{cells: map[[2]int32][]int32{}} }

// tidyCell is the side, mm, of the cells in which segments are looked up.
const tidyCell = 1.0

// add returns the paths without what was added before, tidied.
func (t *tidier) add(paths ln.Paths) [][]Point {
	var kept [][]Point
	for _, p := range paths {
		pts := smooth(p)
		runs := t.uncovered(pts)
		for i := 1; i < len(pts); i++ {
			t.insert(Segment{pts[i-1], pts[i]})
		}
		kept = append(kept, runs...)
	}
	var out [][]Point
	for _, p := range join(kept) {
		p = Smooth(p, smoothTol)
		if pathLength(p) >= dust {
			out = append(out, p)
		}
	}
	return out
}

func pathLength(p []Point) float64 {
	s := 0.0
	for i := 1; i < len(p); i++ {
		s += math.Hypot(p[i].X-p[i-1].X, p[i].Y-p[i-1].Y)
	}
	return s
}

// smoothRun bounds what one call of Simplify sees, because its cost grows with
// the square of the points.
const smoothRun = 1000

// smooth simplifies a visible line, flattened to the page.
func smooth(p ln.Path) []Point { return Smooth(points(p), smoothTol) }

// Smooth leaves out points of a line that stand less than tol mm from it.
func Smooth(p []Point, tol float64) []Point {
	var out []Point
	for from := 0; from < len(p)-1; from += smoothRun {
		to := min(from+smoothRun, len(p)-1)
		piece := make(ln.Path, 0, to-from+1) // a copy: Simplify overwrites what it gets
		for _, v := range p[from : to+1] {
			piece = append(piece, ln.Vector{X: v.X, Y: v.Y})
		}
		for i, v := range piece.Simplify(tol) {
			if i > 0 || from == 0 {
				out = append(out, Point{v.X, v.Y})
			}
		}
	}
	return out
}

func cellsOf(s Segment, visit func([2]int32)) {
	x0, x1 := cellIndex(min(s.A.X, s.B.X)-sameLine), cellIndex(max(s.A.X, s.B.X)+sameLine)
	y0, y1 := cellIndex(min(s.A.Y, s.B.Y)-sameLine), cellIndex(max(s.A.Y, s.B.Y)+sameLine)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			// A long slanting line passes only some cells of its box.
			m := Point{(float64(x) + 0.5) * tidyCell, (float64(y) + 0.5) * tidyCell}
			if SegmentDistance(m, s.A, s.B) <= tidyCell*0.7072+sameLine {
				visit([2]int32{x, y})
			}
		}
	}
}

func cellIndex(v float64) int32 { return int32(math.Floor(max(-1e6, min(1e6, v/tidyCell)))) }

func (t *tidier) insert(s Segment) {
	k := int32(len(t.segs))
	t.segs = append(t.segs, s)
	t.asked = append(t.asked, 0)
	cellsOf(s, func(c [2]int32) { t.cells[c] = append(t.cells[c], k) })
}

// uncovered splits a path into the runs that no earlier line covers.
func (t *tidier) uncovered(p []Point) [][]Point {
	var out [][]Point
	var run []Point
	end := func() {
		if len(run) > 1 {
			out = append(out, run)
		}
		run = nil
	}
	for i := 1; i < len(p); i++ {
		s := Segment{p[i-1], p[i]}
		from := 0.0
		for _, c := range t.covers(s) {
			if c[0] > from {
				if len(run) == 0 {
					run = []Point{s.at(from)}
				}
				run = append(run, s.at(c[0]))
			}
			end()
			from = max(from, c[1])
		}
		if from < 1 {
			if len(run) == 0 {
				run = []Point{s.at(from)}
			}
			run = append(run, s.B)
		}
	}
	end()
	return out
}

func (s Segment) at(t float64) Point {
	switch t {
	case 0:
		return s.A
	case 1:
		return s.B
	}
	return Point{s.A.X + t*(s.B.X-s.A.X), s.A.Y + t*(s.B.Y-s.A.Y)}
}

// covers lists, sorted, the stretches of s, as parameters from 0 to 1, on
// which earlier lines lie.
func (t *tidier) covers(s Segment) [][2]float64 {
	t.turn++
	var out [][2]float64
	cellsOf(s, func(c [2]int32) {
		for _, k := range t.cells[c] {
			if t.asked[k] == t.turn {
				continue
			}
			t.asked[k] = t.turn
			if lo, hi, ok := coveredBy(s, t.segs[k]); ok {
				out = append(out, [2]float64{lo, hi})
			}
		}
	})
	slices.SortFunc(out, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	return out
}

// coveredBy is the stretch of s that runs along o.
func coveredBy(s, o Segment) (lo, hi float64, ok bool) {
	if max(s.A.X, s.B.X)+sameLine < min(o.A.X, o.B.X) || max(o.A.X, o.B.X)+sameLine < min(s.A.X, s.B.X) ||
		max(s.A.Y, s.B.Y)+sameLine < min(o.A.Y, o.B.Y) || max(o.A.Y, o.B.Y)+sameLine < min(s.A.Y, s.B.Y) {
		return 0, 0, false
	}
	dx, dy := s.B.X-s.A.X, s.B.Y-s.A.Y
	ox, oy := o.B.X-o.A.X, o.B.Y-o.A.Y
	l, ol := math.Hypot(dx, dy), math.Hypot(ox, oy)
	if !(l > 0) || !(ol > 0) || math.Abs(dx*oy-dy*ox) > 0.1*l*ol { // 6 degrees: they cross
		return 0, 0, false
	}
	ox, oy = ox/ol, oy/ol
	lo, hi = 0, 1
	within := func(at, slope, from, to float64) { // from <= at + slope t <= to
		if math.Abs(slope) < 1e-12 {
			if at < from || at > to {
				lo, hi = 1, 0
			}
			return
		}
		a, b := (from-at)/slope, (to-at)/slope
		lo, hi = max(lo, min(a, b)), min(hi, max(a, b))
	}
	ax, ay := s.A.X-o.A.X, s.A.Y-o.A.Y
	within(ax*oy-ay*ox, dx*oy-dy*ox, -sameLine, sameLine)
	within(ax*ox+ay*oy, dx*ox+dy*oy, -sameLine, ol+sameLine)
	// A touch end to end, or a crossing at a small angle, is no overlap.
	return lo, hi, hi > lo && (hi-lo)*l > min(0.9*l, 10*sameLine)
}

// join links paths whose ends meet, the straightest continuation first.
func join(paths [][]Point) [][]Point {
	n := len(paths)
	pairs := endPairs(paths)
	mate := make([]int, 2*n) // end 2i is the start of path i, 2i+1 its end
	for i := range mate {
		mate[i] = -1
	}
	for _, p := range pairs {
		if mate[p.a] < 0 && mate[p.b] < 0 {
			mate[p.a], mate[p.b] = p.b, p.a
		}
	}
	used := make([]bool, n)
	var out [][]Point
	follow := func(end int) {
		var p []Point
		for end >= 0 && !used[end/2] {
			i := end / 2
			used[i] = true
			q := paths[i]
			if end%2 == 1 { // entered by its end: run it backwards
				q = slices.Clone(q)
				slices.Reverse(q)
			}
			if len(p) > 0 {
				q = q[1:]
			}
			p = append(p, q...)
			end = mate[end^1]
		}
		out = append(out, p)
	}
	for e := range mate { // open chains first
		if mate[e] < 0 && !used[e/2] {
			follow(e)
		}
	}
	for i := range n { // what is left are rings
		if !used[i] {
			follow(2 * i)
			p := out[len(out)-1]
			if len(p) > 2 {
				p[len(p)-1] = p[0]
			}
		}
	}
	return out
}

// endPair is two path ends at one place.
type endPair struct {
	a, b int
	bend float64 // 0 where one goes straight on into the other
}

func endPairs(paths [][]Point) []endPair {
	type cell struct{ x, y int64 }
	at := map[cell][]int{}
	home := func(p Point) cell { return cell{int64(math.Floor(p.X / sameEnd)), int64(math.Floor(p.Y / sameEnd))} }
	for e := range 2 * len(paths) {
		h := home(endPoint(paths, e))
		at[h] = append(at[h], e)
	}
	var out []endPair
	for a := range 2 * len(paths) {
		p := endPoint(paths, a)
		h := home(p)
		for dy := int64(-1); dy <= 1; dy++ {
			for dx := int64(-1); dx <= 1; dx++ {
				for _, b := range at[cell{h.x + dx, h.y + dy}] {
					q := endPoint(paths, b)
					if b > a && math.Hypot(p.X-q.X, p.Y-q.Y) <= sameEnd {
						out = append(out, endPair{a, b, bend(paths, a, b)})
					}
				}
			}
		}
	}
	slices.SortFunc(out, func(p, q endPair) int {
		return cmp.Or(cmp.Compare(p.bend, q.bend), cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b))
	})
	return out
}

func endPoint(paths [][]Point, e int) Point {
	p := paths[e/2]
	if e%2 == 0 {
		return p[0]
	}
	return p[len(p)-1]
}

// bend is 1 + the cosine between the directions in which two paths leave.
func bend(paths [][]Point, a, b int) float64 {
	ax, ay := leaving(paths, a)
	bx, by := leaving(paths, b)
	return math.Round((1+ax*bx+ay*by)*1e6) / 1e6
}

func leaving(paths [][]Point, e int) (x, y float64) {
	p := paths[e/2]
	a, b := p[0], p[1]
	if e%2 == 1 {
		a, b = p[len(p)-1], p[len(p)-2]
	}
	x, y = b.X-a.X, b.Y-a.Y
	if l := math.Hypot(x, y); l > 0 {
		return x / l, y / l
	}
	return 0, 0
}
