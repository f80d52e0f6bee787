package sheet

import (
	"cmp"
	"math"
	"slices"

	"stepscan/render/view"
)

// label names a thing in a picture from the picture's margin.
type label struct {
	at    view.Point  // on the thing
	lines []string    // the first are the name, the others say what it is to the joint
	bold  int         // how many lines are the name; 0 counts as 1
	alt   *view.Point // another point on the thing, for a label at the right
	free  bool        // it may stand in the picture, where there is room
	rank  int         // those with the lowest are kept where there is no room
}

const (
	lineStep = 4.0 // mm from baseline to baseline
	labelGap = 1.6 // mm between labels
)

// class is how line k is written.
func (l *label) class(k int) string {
	if k == 0 || k < l.bold {
		return "n b"
	}
	return "s"
}

func (l *label) height() float64 { return float64(len(l.lines))*lineStep + labelGap }

// labels writes the labels into the margins left and right of a picture, each
// with a leader to its thing. Labels of a side stand in the order of their
// things; the side of each is chosen so that leaders are short, cross nothing
// that matters, and do not cross each other.
func (g *page) labels(list []label, k *ink, window, left, right view.Rect) {
	list = slices.DeleteFunc(slices.Clone(list), func(l label) bool { return !finite(l.at) || !window.Has(l.at) || len(l.lines) == 0 })
	slices.SortStableFunc(list, func(a, b label) int { return cmp.Compare(a.rank, b.rank) })
	list = fitting(list, left.H()+right.H())
	m := margins{k: k, left: left, right: right}
	list = g.inPicture(list, &m, window)
	l, r := m.split(list, m.choose(list, window.Centre().X))
	g.column(l, left, left.X1, -1)
	g.column(r, right, right.X0, 1)
}

// inPicture writes those labels into the picture that may stand there and find
// room clear of the leaders that the others will have, and returns the others.
func (g *page) inPicture(list []label, m *margins, window view.Rect) []label {
	bound := slices.DeleteFunc(slices.Clone(list), func(l label) bool { return l.free })
	k := m.k.clone()
	l, r := m.split(bound, m.choose(bound, window.Centre().X))
	for _, s := range append(leaderLines(l, m.left, m.left.X1, -1), leaderLines(r, m.right, m.right.X0, 1)...) {
		k.add(2*textInk, s.A, s.B)
	}
	return slices.DeleteFunc(list, func(l label) bool {
		if !l.free {
			return false
		}
		box, ok := g.inline(&l, k, window)
		if ok {
			for _, k := range []*ink{k, m.k} {
				k.words(box)
				k.add(2*textInk, nearestOf(box.Inset(-0.6), l.at), l.at)
			}
		}
		return ok
	})
}

// leaderLines are the oblique parts of one column's leaders.
func leaderLines(list []label, margin view.Rect, edge, sense float64) []view.Segment {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b label) int { return cmp.Compare(a.at.Y, b.at.Y) })
	tops := uncross(list, margin, edge-sense*2)
	var out []view.Segment
	for i := range list {
		out = append(out, view.Segment{A: view.Point{X: edge - sense*2, Y: tops[i] + lineStep/2}, B: list[i].at})
	}
	return out
}

// fitting keeps the first labels for which two columns of some height have
// room; a column may stay unfilled by one label.
func fitting(list []label, room float64) []label {
	tallest := 0.0
	for i := range list {
		tallest = max(tallest, list[i].height())
		if room -= list[i].height(); room < tallest {
			return list[:i]
		}
	}
	return list
}

// margins weighs how labels are shared out between two columns.
type margins struct {
	k           *ink
	left, right view.Rect
}

// split gives the labels of the two columns.
func (m *margins) split(list []label, toLeft []bool) (l, r []label) {
	for i, x := range list {
		if toLeft[i] {
			l = append(l, x)
			continue
		}
		if x.alt != nil {
			x.at = *x.alt
		}
		r = append(r, x)
	}
	return l, r
}

// choose starts with the nearer side of each and moves single labels across as
// long as that makes the whole better. Each round lowers the cost, and rounds
// are bounded.
func (m *margins) choose(list []label, mid float64) []bool {
	toLeft := make([]bool, len(list))
	for i := range list {
		toLeft[i] = list[i].at.X < mid
	}
	least := m.cost(m.split(list, toLeft))
	for range 4 {
		better := false
		for i := range list {
			toLeft[i] = !toLeft[i]
			if c := m.cost(m.split(list, toLeft)); c < least-1e-9 {
				least, better = c, true
			} else {
				toLeft[i] = !toLeft[i]
			}
		}
		if !better {
			break
		}
	}
	return toLeft
}

func (m *margins) cost(l, r []label) float64 {
	return m.column(l, m.left, m.left.X1, -1) + m.column(r, m.right, m.right.X0, 1)
}

// column is the cost of one column's leaders, mm of length and what they
// cross; a column that is too full costs most.
func (m *margins) column(list []label, margin view.Rect, edge, sense float64) float64 {
	full := 0.0
	for i := range list {
		full += list[i].height()
	}
	sum := 1e4 * max(0, full-margin.H())
	for _, l := range leaderLines(list, margin, edge, sense) {
		sum += distance(l.A, l.B) + 2*math.Abs(l.A.Y-l.B.Y) + 1.5*m.k.line(l.A, l.B)
	}
	return sum
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
		anchor := ""
		if sense < 0 {
			anchor = " e"
		}
		for k, s := range l.lines {
			class := l.class(k)
			g.text(view.Point{X: x, Y: tops[i] + 3.2 + float64(k)*lineStep}, class+anchor, shorten(s, bold(class), margin.W()-2))
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
