package sheet

import (
	"slices"

	"stepscan/access/tool"
	"stepscan/render/view"
)

// ghostTool draws the solid of driving, first its area and then its outline.
func (s *subject) ghostTool(g *page, q *plane, window view.Rect, area bool) {
	drawTool(g, q, &s.trial.Tool, s.armSide(), window, area)
	if s.second != nil {
		p := newPlane(q.cam, s.second.axis, s.aside)
		drawTool(g, p, &s.second.trial.Tool, s.armSide(), window, area)
	}
}

// armSide is where a swinging arm is shown: towards its obstacle.
func (s *subject) armSide() float64 { return 1 }

func drawTool(g *page, q *plane, t *tool.Tool, arm float64, window view.Rect, area bool) {
	far := 2 * (window.W() + window.H()) / q.cam.Scale // mm: well outside the window
	var loops [][]view.Point
	if right := toolProfile(t, far); len(right) > 0 {
		var loop []view.Point
		for _, p := range right {
			loop = append(loop, q.at(p[0], p[1]))
		}
		for _, p := range slices.Backward(right) {
			loop = append(loop, q.at(-p[0], p[1]))
		}
		loops = append(loops, loop)
	}
	if w := t.Swing; w != nil && w.R > 0 && w.To > w.From {
		r := min(w.R, far)
		loops = append(loops, []view.Point{q.at(0, w.From), q.at(arm*r, w.From), q.at(arm*r, w.To), q.at(0, w.To)})
	}
	for _, l := range loops {
		if area {
			g.path("toolarea", view.ClipArea(l, window), true)
			continue
		}
		for i := range l {
			g.line("tool", clipLine(l[i], l[(i+1)%len(l)], window)...)
		}
	}
}

// toolProfile is the outline of a tool on one side of its axis, radius and
// height in mm, from the bottom up.
func toolProfile(t *tool.Tool, far float64) [][2]float64 {
	var out [][2]float64
	sections := slices.Clone(t.Sections)
	slices.SortStableFunc(sections, func(a, b tool.Section) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	for _, c := range sections {
		from, to, r := max(c.From, -far), min(c.To, far), min(c.R, far)
		if from < to && r > 0 { // false for NaN
			out = append(out, [2]float64{r, from}, [2]float64{r, to})
		}
	}
	return out
}

// clipLine is the part of a straight line inside the window; nil without one.
func clipLine(a, b view.Point, window view.Rect) []view.Point {
	if s, ok := view.ClipLine(view.Segment{A: a, B: b}, window); ok {
		return []view.Point{s.A, s.B}
	}
	return nil
}

// arrow shows from where the hand comes.
func (s *subject) arrow(g *page, q *plane, window view.Rect) {
	if standsOut(&s.trial.Tool, s.high) {
		handAt(g, q, s.high, window)
	}
	if o := s.second; o != nil && standsOut(&o.trial.Tool, o.high) {
		handAt(g, newPlane(q.cam, o.axis, s.aside), o.high, window)
	}
}

// standsOut reports whether a tool comes along the axis, so that an arrow can
// say so; a spanner lies across it.
func standsOut(t *tool.Tool, high float64) bool { return toolTop(t) > high+3 }

// handAt puts the arrow on the axis, at the window's border where there is
// room for it.
func handAt(g *page, q *plane, top float64, window view.Rect) {
	const length = 11.0
	l := clipLine(q.at(0, top), q.at(0, top+1e4), window.Inset(1.5))
	if len(l) < 2 || distance(l[0], l[1]) < length+3 {
		return
	}
	g.handArrow(along(l[1], q.v, -length), view.Point{X: -q.v.X, Y: -q.v.Y}, length)
}
