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
	loops, breaks := toolOutline(q, t, arm, window)
	for _, l := range loops {
		if area {
			g.path("toolarea", view.ClipArea(l, window), true)
			continue
		}
		for i := range l {
			a, b := l[i], l[(i+1)%len(l)]
			if !isBreak(breaks, a, b) {
				g.line("tool", clipLine(a, b, window)...)
			}
		}
	}
	if area {
		return
	}
	for _, l := range breaks {
		g.breakLine(l[0], l[1], window)
	}
}

// toolOutline is the outline of a tool's body and of its arm, and those of
// their sides at which they are broken off.
func toolOutline(q *plane, t *tool.Tool, arm float64, window view.Rect) (loops, breaks [][]view.Point) {
	far := 2 * (window.W() + window.H()) / q.cam.Scale // mm: well outside the window
	end, broken := brokenAt(q, func(h float64) view.Point { return q.at(0, h) }, toolTop(t), window)
	if !broken {
		end = far
	}
	if right := toolProfile(t, min(end, far)); len(right) > 0 {
		loops = append(loops, mirrored(q, right))
		if r := right[len(right)-1][0]; broken {
			breaks = append(breaks, []view.Point{q.at(-r, end), q.at(r, end)})
		}
	}
	if w := t.Swing; w != nil && w.R > 0 && w.To > w.From {
		mid := (w.From + w.To) / 2
		r, cut := brokenAt(q, func(d float64) view.Point { return q.at(arm*d, mid) }, w.R, window)
		r = min(r, far)
		loops = append(loops, []view.Point{q.at(0, w.From), q.at(arm*r, w.From), q.at(arm*r, w.To), q.at(0, w.To)})
		if cut {
			breaks = append(breaks, []view.Point{q.at(arm*r, w.From), q.at(arm*r, w.To)})
		}
	}
	return loops, breaks
}

// mirrored closes one side of an outline with its mirror image.
func mirrored(q *plane, right [][2]float64) []view.Point {
	var loop []view.Point
	for _, p := range right {
		loop = append(loop, q.at(p[0], p[1]))
	}
	for _, p := range slices.Backward(right) {
		loop = append(loop, q.at(-p[0], p[1]))
	}
	return loop
}

// brokenAt is where a long thing along a line is broken off, 1.5 mm inside the
// window's border, in mm from the line's start; false where it ends inside.
func brokenAt(q *plane, at func(float64) view.Point, end float64, window view.Rect) (float64, bool) {
	in := window.Inset(1.5)
	if !in.Has(at(0)) || !positive(end) || in.Has(at(end)) {
		return end, false
	}
	l := clipLine(at(0), at(end), in)
	if len(l) < 2 {
		return end, false
	}
	return distance(at(0), l[1]) / q.cam.Scale, true
}

// toolInk adds the outlines of the tools and the way of the first.
func (s *subject) toolInk(k *ink, q *plane, window view.Rect) {
	add := func(q *plane, t *tool.Tool) {
		loops, _ := toolOutline(q, t, s.armSide(), window)
		for _, l := range loops {
			for i := range l {
				k.add(2, clipLine(l[i], l[(i+1)%len(l)], window)...)
			}
		}
	}
	add(q, &s.trial.Tool)
	if o := s.second; o != nil {
		add(newPlane(q.cam, o.axis, s.aside), &o.trial.Tool)
	}
	k.add(1, clipLine(q.at(0, s.low), q.at(0, s.high+1e4), window)...)
}

func isBreak(breaks [][]view.Point, a, b view.Point) bool {
	return slices.ContainsFunc(breaks, func(l []view.Point) bool {
		return l[0] == a && l[1] == b || l[0] == b && l[1] == a
	})
}

// breakLine ends a thing that goes on: a narrow line with a zigzag (ISO 128-2),
// a little longer than the thing is wide.
func (g *page) breakLine(a, b view.Point, window view.Rect) {
	u := towards(a, b)
	n, m := turned(u), along(a, u, 0.3*distance(a, b))
	k := min(1, distance(a, b)/8)
	pts := []view.Point{
		along(a, u, -1.2), along(m, u, -1.2*k), along(along(m, u, -0.4*k), n, -1.5*k),
		along(along(m, u, 0.4*k), n, 1.5*k), along(m, u, 1.2*k), along(b, u, 1.2),
	}
	for i := 1; i < len(pts); i++ {
		g.line("break", clipLine(pts[i-1], pts[i], window)...)
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
func (s *subject) arrow(g *page, q *plane, k *ink, window view.Rect) {
	if standsOut(&s.trial.Tool, s.high) {
		handAt(g, q, k, s.high, window)
	}
	if o := s.second; o != nil && standsOut(&o.trial.Tool, o.high) {
		handAt(g, newPlane(q.cam, o.axis, s.aside), k, o.high, window)
	}
}

// standsOut reports whether a tool comes along the axis, so that an arrow can
// say so; a spanner lies across it.
func standsOut(t *tool.Tool, high float64) bool {
	return t.Entry != tool.Across && toolTop(t) > high+3
}

// handAt puts the arrow on the axis, at the window's border where there is
// room for it.
func handAt(g *page, q *plane, k *ink, top float64, window view.Rect) {
	const length = 11.0
	l := clipLine(q.at(0, top), q.at(0, top+1e4), window.Inset(3.5))
	if len(l) < 2 || distance(l[0], l[1]) < length+3 {
		return
	}
	tip := along(l[1], q.v, -length)
	g.handArrow("hand", tip, view.Point{X: -q.v.X, Y: -q.v.Y}, length)
	for d := -2.0; d <= 2; d++ {
		k.add(textInk, along(tip, turned(q.v), d), along(l[1], turned(q.v), d))
	}
}
