package view

import (
	"math"
	"slices"

	"github.com/fogleman/ln/ln"
)

// area is a region of the page bounded by closed loops, inside by the
// even-odd rule. Its segments are sorted into rows so that questions are
// quick.
type area struct {
	loops [][]Point
	rect  Rect
	step  float64
	rows  [][]Segment
}

// Segment is a straight piece on the page.
type Segment struct{ A, B Point }

// newArea is nil without a loop that has an inside.
func newArea(loops [][]Point) *area {
	a := &area{rect: EmptyRect()}
	n := 0
	for _, l := range loops {
		if len(l) < 3 || !finiteLoop(l) {
			continue
		}
		a.loops = append(a.loops, l)
		n += len(l)
		for _, p := range l {
			a.rect = a.rect.Add(p)
		}
	}
	if n == 0 || !(a.rect.H() > 0) {
		return nil
	}
	a.sort(min(max(n/4, 1), 2000))
	return a
}

func finiteLoop(l []Point) bool {
	for _, p := range l {
		if s := p.X + p.Y; math.IsNaN(s - s) {
			return false
		}
	}
	return true
}

func (a *area) sort(rows int) {
	a.step = a.rect.H() / float64(rows)
	a.rows = make([][]Segment, rows)
	for _, l := range a.loops {
		for i := range l {
			s := Segment{l[i], l[(i+1)%len(l)]}
			lo, hi := a.row(min(s.A.Y, s.B.Y)), a.row(max(s.A.Y, s.B.Y))
			for r := lo; r <= hi; r++ {
				a.rows[r] = append(a.rows[r], s)
			}
		}
	}
}

func (a *area) row(y float64) int { return cellOf(y-a.rect.Y0, a.rect.H(), len(a.rows)) }

// has reports whether the point lies inside.
func (a *area) has(x, y float64) bool {
	if !a.rect.Has(Point{x, y}) {
		return false
	}
	in := false
	for _, s := range a.rows[a.row(y)] {
		if (s.A.Y > y) != (s.B.Y > y) && x < s.A.X+(y-s.A.Y)/(s.B.Y-s.A.Y)*(s.B.X-s.A.X) {
			in = !in
		}
	}
	return in
}

// distance to the nearest border, mm.
func (a *area) distance(p Point) float64 {
	best := math.Inf(1)
	for _, l := range a.loops {
		for i := range l {
			best = min(best, SegmentDistance(p, l[i], l[(i+1)%len(l)]))
		}
	}
	return best
}

// SegmentDistance is how far p is from the segment, mm.
func SegmentDistance(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = max(0, min(1, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

// hatch returns lines at an angle (degrees, anticlockwise on the page) and a
// spacing in mm that fill the area inside the window, at the given depth in
// page space. The lines of one angle and spacing fall on a raster that is
// fixed to the page, so that parts of one hatch belong together.
func (a *area) hatch(angle, spacing float64, win Rect, depth float64) ln.Paths {
	sin, cos := math.Sincos(-angle * math.Pi / 180)
	lo, hi := math.Inf(1), math.Inf(-1) // across the lines
	for _, l := range a.loops {
		for _, p := range l {
			v := -p.X*sin + p.Y*cos
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	lo, hi = clampAcross(lo, hi, win, sin, cos)
	var out ln.Paths
	for k := math.Ceil(lo / spacing); k*spacing < hi; k++ {
		v := k * spacing
		cuts := a.crossings(v, sin, cos)
		for i := 0; i+1 < len(cuts); i += 2 {
			p := ln.Path{
				{X: cuts[i]*cos - v*sin, Y: cuts[i]*sin + v*cos, Z: depth},
				{X: cuts[i+1]*cos - v*sin, Y: cuts[i+1]*sin + v*cos, Z: depth},
			}
			out = append(out, clip(p, win, math.Inf(1))...)
		}
	}
	return out
}

// clampAcross keeps the raster inside the window, which bounds its lines.
func clampAcross(lo, hi float64, win Rect, sin, cos float64) (float64, float64) {
	wlo, whi := math.Inf(1), math.Inf(-1)
	for _, p := range []Point{{win.X0, win.Y0}, {win.X1, win.Y0}, {win.X0, win.Y1}, {win.X1, win.Y1}} {
		v := -p.X*sin + p.Y*cos
		wlo, whi = min(wlo, v), max(whi, v)
	}
	return max(lo, wlo), min(hi, whi)
}

// crossings are the places, sorted, where the line at v across meets a border.
func (a *area) crossings(v, sin, cos float64) []float64 {
	var cuts []float64
	for _, l := range a.loops {
		for i := range l {
			p, q := l[i], l[(i+1)%len(l)]
			pv, qv := -p.X*sin+p.Y*cos, -q.X*sin+q.Y*cos
			if (pv > v) != (qv > v) {
				pu, qu := p.X*cos+p.Y*sin, q.X*cos+q.Y*sin
				cuts = append(cuts, pu+(v-pv)/(qv-pv)*(qu-pu))
			}
		}
	}
	slices.Sort(cuts)
	return cuts
}

// clipped is the loops cut to the window (Sutherland and Hodgman 1974); pieces
// may be joined along the window's border, which filling does not show.
func (a *area) clipped(win Rect) [][]Point {
	var out [][]Point
	for _, l := range a.loops {
		l = clipLoop(l, func(p Point) float64 { return p.X - win.X0 })
		l = clipLoop(l, func(p Point) float64 { return win.X1 - p.X })
		l = clipLoop(l, func(p Point) float64 { return p.Y - win.Y0 })
		l = clipLoop(l, func(p Point) float64 { return win.Y1 - p.Y })
		if len(l) > 2 {
			out = append(out, l)
		}
	}
	return out
}

func clipLoop(l []Point, inside func(Point) float64) []Point {
	var out []Point
	for i := range l {
		a, b := l[i], l[(i+1)%len(l)]
		da, db := inside(a), inside(b)
		if da >= 0 {
			out = append(out, a)
		}
		if (da >= 0) != (db >= 0) {
			t := da / (da - db)
			out = append(out, Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
		}
	}
	return out
}

// Inside reports whether p lies inside the loops by the even-odd rule.
func Inside(loops [][]Point, p Point) bool {
	in := false
	for _, l := range loops {
		for i := range l {
			a, b := l[i], l[(i+1)%len(l)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

// BorderDistance is how far p is from the nearest border of the loops, mm.
func BorderDistance(loops [][]Point, p Point) float64 {
	return (&area{loops: loops}).distance(p)
}

// ClipArea is the part of a filled loop inside the window.
func ClipArea(l []Point, win Rect) [][]Point {
	if !finiteLoop(l) {
		return nil
	}
	return (&area{loops: [][]Point{l}}).clipped(win)
}

// ClipLine is the part of a segment inside the window; false without one.
func ClipLine(s Segment, win Rect) (Segment, bool) {
	a, b := ln.Vector{X: s.A.X, Y: s.A.Y}, ln.Vector{X: s.B.X, Y: s.B.Y}
	t0, t1, ok := clipSegment(a, b, win, math.Inf(1))
	if !ok {
		return Segment{}, false
	}
	return Segment{s.at(t0), s.at(t1)}, true
}
