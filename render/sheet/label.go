package sheet

import (
	"cmp"
	"math"
	"slices"

	"stepscan/render/view"
)

// label names a thing in a picture from the picture's margin.
type label struct {
	at    view.Point // on the thing
	lines []string   // the first is the name, the others say what it is to the joint
	rank  int        // those with the lowest are kept where there is no room
}

const (
	lineStep = 3.7 // mm from baseline to baseline
	labelGap = 1.6 // mm between labels
	middle   = 4.0 // mm: so near the middle of the picture either margin will do
)

func (l *label) height() float64 { return float64(len(l.lines))*lineStep + labelGap }

// labels writes the labels into the margins left and right of a picture, each
// with a leader to its thing. Labels of a side stand in the order of their
// things, so leaders hardly ever cross.
func (g *page) labels(list []label, window, left, right view.Rect) {
	list = slices.DeleteFunc(slices.Clone(list), func(l label) bool { return !finite(l.at) || !window.Has(l.at) || len(l.lines) == 0 })
	slices.SortStableFunc(list, func(a, b label) int { return cmp.Compare(a.rank, b.rank) })
	var l, r []label
	lh, rh := 0.0, 0.0
	mid := window.Centre().X
	for _, x := range list {
		h := x.height()
		fitsL, fitsR := lh+h <= left.H() && left.W() > 5, rh+h <= right.H() && right.W() > 5
		toLeft := x.at.X < mid
		if math.Abs(x.at.X-mid) < middle {
			toLeft = lh <= rh
		}
		switch {
		case fitsL && (toLeft || !fitsR):
			l, lh = append(l, x), lh+h
		case fitsR:
			r, rh = append(r, x), rh+h
		}
	}
	g.column(l, left, left.X1, -1)
	g.column(r, right, right.X0, 1)
}

// column writes the labels of one side; edge is the margin's side towards the
// picture, sense -1 at the left.
func (g *page) column(list []label, margin view.Rect, edge, sense float64) {
	slices.SortStableFunc(list, func(a, b label) int { return cmp.Compare(a.at.Y, b.at.Y) })
	tops := uncross(list, margin, edge-sense*2)
	for i := range list {
		l := &list[i]
		mid := tops[i] + lineStep/2
		x := edge + sense*1.5
		class, anchor := "n b", ""
		if sense < 0 {
			anchor = " e"
		}
		for k, s := range l.lines {
			g.text(view.Point{X: x, Y: tops[i] + 2.9 + float64(k)*lineStep}, class+anchor, shorten(s, bold(class), margin.W()-2))
			class = "s"
		}
		g.line("leader", view.Point{X: edge + sense*0.8, Y: mid}, view.Point{X: edge - sense*2, Y: mid}, l.at)
		g.circle("dot", l.at, 0.55)
	}
}

// bold letters are wider by some 8 %.
func bold(class string) float64 {
	if hasClass(class, "b") || hasClass(class, "h") {
		return fontSize(class) * 1.08
	}
	return fontSize(class)
}

// stack gives the tops of labels, each as near as it can be to its thing.
func stack(list []label, margin view.Rect) []float64 {
	tops := make([]float64, len(list))
	y := margin.Y0
	for i := range list {
		y = max(y, list[i].at.Y-lineStep/2)
		tops[i] = y
		y += list[i].height()
	}
	y = margin.Y1
	for i := len(list) - 1; i >= 0; i-- {
		tops[i] = max(margin.Y0, min(tops[i], y-list[i].height()))
		y = tops[i]
	}
	return tops
}

// uncross stacks the labels, swapping pairs whose leaders cross.
func uncross(list []label, margin view.Rect, kink float64) []float64 {
	tops := stack(list, margin)
	leader := func(i int) view.Segment {
		return view.Segment{A: view.Point{X: kink, Y: tops[i] + lineStep/2}, B: list[i].at}
	}
	for range 4 * len(list) { // each swap shortens the leaders; this bounds ties
		swapped := false
		for i := range list {
			for j := i + 1; j < len(list) && !swapped; j++ {
				if crosses(leader(i), leader(j)) {
					list[i], list[j] = list[j], list[i]
					swapped = true
				}
			}
		}
		if !swapped {
			break
		}
		tops = stack(list, margin)
	}
	return tops
}

func crosses(a, b view.Segment) bool {
	side := func(s view.Segment, p view.Point) float64 {
		return (s.B.X-s.A.X)*(p.Y-s.A.Y) - (s.B.Y-s.A.Y)*(p.X-s.A.X)
	}
	return side(a, b.A)*side(a, b.B) < 0 && side(b, a.A)*side(b, a.B) < 0
}
