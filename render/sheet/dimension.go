package sheet

import (
	"math"

	"stepscan/access/reach"
	"stepscan/render/view"
)

// dimensions draws the limiting point and the free and the needed radius, as
// dimensions from the axis at the height where the tool is limited.
func (s *subject) dimensions(g *page, q *plane, window view.Rect) {
	t := &s.trial
	if !s.limit {
		return
	}
	hit, _ := q.cam.Page(t.At)
	h := s.axis.Height(t.At)
	if t.Limit != reach.BySwing && positive(t.Free) && positive(t.Needed) {
		sense := 1.0
		if !window.Inset(3).Has(along(q.at(0, h), q.v, 17)) {
			sense = -1
		}
		away := view.Point{X: q.v.X * sense, Y: q.v.Y * sense}
		text := layout{within: window}
		if t.Free*q.cam.Scale < leastDimension { // the way itself is covered: nothing to measure
			w := textWidth("free R "+value(t.Free), normal)
			if p, ok := text.place("n", "free R "+value(t.Free), beside(along(hit, q.u, 3), q.u, w), beside(along(hit, q.u, -3), view.Point{X: -q.u.X, Y: -q.u.Y}, w)); ok {
				g.haloed(p, "n", "free R "+value(t.Free))
			}
		} else {
			g.radius(q, &text, h, t.Free, away, 8, "free R "+value(t.Free))
		}
		g.radius(q, &text, h, t.Needed, away, 14, "needed R "+value(t.Needed))
	}
	if window.Has(hit) {
		g.circle("hit", hit, 1.1)
	}
}

// leastDimension is the length, mm of paper, below which arrows would hide
// what they measure.
const leastDimension = 0.6

func positive(v float64) bool { return v >= 0 && !math.IsInf(v, 0) }

// radius draws the dimension of a radius r mm about the axis at the height h,
// off mm of paper away from it.
func (g *page) radius(q *plane, text *layout, h, r float64, away view.Point, off float64, words string) {
	from, to := q.at(0, h), q.at(r, h)
	a, b := along(from, away, off), along(to, away, off)
	room := text.within
	if !room.Has(a) || !room.Has(b) {
		return
	}
	// Projection lines start 0.8 mm off the thing and end 1.5 mm beyond
	// (common practice under ISO 129-1).
	g.line("dimline", along(to, away, 0.8), along(b, away, 1.5))
	u := towards(a, b)
	beyond := 3.2 + arrowLength
	if l := distance(a, b); l >= 3*arrowLength {
		beyond = 1.5
		g.line("dimline", a, b)
		g.arrowhead("arrow", a, view.Point{X: -u.X, Y: -u.Y}, arrowLength)
		g.arrowhead("arrow", b, u, arrowLength)
	} else { // too short: arrows from outside
		g.line("dimline", along(a, u, -2*arrowLength), along(b, u, 2*arrowLength))
		g.arrowhead("arrow", a, u, arrowLength)
		g.arrowhead("arrow", b, view.Point{X: -u.X, Y: -u.Y}, arrowLength)
	}
	w := textWidth(words, normal)
	mid := view.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
	var spots []view.Point
	if distance(a, b) > w+4 && math.Abs(u.Y) < 0.1 {
		spots = append(spots, add(mid, -w/2, -0.9))
	}
	spots = append(spots, beside(along(b, u, beyond), u, w), beside(along(a, u, -beyond), view.Point{X: -u.X, Y: -u.Y}, w))
	for d := 2.0; d < 40; d += 4 {
		spots = append(spots, add(mid, 2, d), add(mid, 2, -d), add(mid, -w-2, d), add(mid, -w-2, -d))
	}
	if p, ok := text.place("n", words, spots...); ok {
		g.haloed(p, "n", words)
	}
}

// beside puts a text of width w at p, on the side to which u points.
func beside(p, u view.Point, w float64) view.Point {
	switch {
	case u.X > 0.3:
		return add(p, 0, 1)
	case u.X < -0.3:
		return add(p, -w, 1)
	}
	return add(p, -w/2, 1+2*math.Copysign(1, u.Y))
}
