package sheet

import (
	"math"

	"stepscan/render/view"
)

// inline writes a label into the picture, near its thing, where nothing is
// drawn, and returns its place; false where there is none. It saves the parts
// of a tool a leader across the joint.
func (g *page) inline(l *label, k *ink, window view.Rect) (view.Rect, bool) {
	w := 0.0
	for i, s := range l.lines {
		w = max(w, textWidth(s, bold(l.class(i))))
	}
	h := float64(len(l.lines)) * lineStep
	best, least := view.Rect{}, 14.0
	for d := 6.0; d <= 30; d += 3 {
		for a := range 16 {
			sin, cos := math.Sincos(float64(a) * math.Pi / 8)
			c := add(l.at, d*cos, d*sin)
			x := c.X
			if cos < 0 {
				x -= w
			}
			r := view.Rect{X0: x, Y0: c.Y - h/2, X1: x + w, Y1: c.Y + h/2}
			if in := window.Inset(2); !in.Has(view.Point{X: r.X0, Y: r.Y0}) || !in.Has(view.Point{X: r.X1, Y: r.Y1}) {
				continue
			}
			if k.area(r.Inset(-1)) > 0 {
				continue
			}
			if cost := 0.3*d + k.line(nearestOf(r, l.at), l.at); cost < least {
				best, least = r, cost
			}
		}
	}
	if !(best.W() > 0) {
		return best, false
	}
	from := nearestOf(best.Inset(-0.6), l.at)
	g.line("leader", from, l.at)
	g.circle("dot", l.at, 0.55)
	for i, s := range l.lines {
		g.text(view.Point{X: best.X0, Y: best.Y0 + 3 + float64(i)*lineStep}, l.class(i), s)
	}
	return best, true
}

func nearestOf(r view.Rect, p view.Point) view.Point {
	return view.Point{X: max(r.X0, min(r.X1, p.X)), Y: max(r.Y0, min(r.Y1, p.Y))}
}
