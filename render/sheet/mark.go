package sheet

import (
	"math"

	"stepscan/render/view"
)

func add(p view.Point, dx, dy float64) view.Point { return view.Point{X: p.X + dx, Y: p.Y + dy} }

// along is p moved by d mm in the direction (ux, uy).
func along(p view.Point, u view.Point, d float64) view.Point {
	return view.Point{X: p.X + u.X*d, Y: p.Y + u.Y*d}
}

func distance(a, b view.Point) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

// towards is the unit direction from a to b; to the right where they coincide.
func towards(a, b view.Point) view.Point {
	if d := distance(a, b); d > 1e-9 {
		return view.Point{X: (b.X - a.X) / d, Y: (b.Y - a.Y) / d}
	}
	return view.Point{X: 1}
}

func turned(u view.Point) view.Point { return view.Point{X: -u.Y, Y: u.X} }

// arrowhead is filled and narrow, 15 degrees each side as ISO 129-1 shows it:
// its tip at p, pointing along u.
func (g *page) arrowhead(class string, p, u view.Point, length float64) {
	back, half := along(p, u, -length), turned(u)
	w := length * math.Tan(15*math.Pi/180)
	g.polygon(class, p, along(back, half, w), along(back, half, -w))
}

const arrowLength = 2.4 // mm, for dimension lines

// handArrow is the broad arrow of a hand's way, filled for the tool's, hollow
// for the side that the person works from: its tip at p, pointing along u.
func (g *page) handArrow(class string, p, u view.Point, length float64) {
	n := turned(u)
	const half, head, wide = 0.9, 4.0, 2.3
	neck, tail := along(p, u, -head), along(p, u, -length)
	g.polygon(class,
		p, along(neck, n, wide), along(neck, n, half), along(tail, n, half),
		along(tail, n, -half), along(neck, n, -half), along(neck, n, -wide))
}

// box is where a text lies, p at its anchor.
func textBox(p view.Point, class, s string) view.Rect {
	size := fontSize(class)
	w := textWidth(s, size)
	x := p.X
	switch {
	case hasClass(class, "e"):
		x -= w
	case hasClass(class, "m"):
		x -= w / 2
	}
	return view.Rect{X0: x, Y0: p.Y - 0.8*size, X1: x + w, Y1: p.Y + 0.25*size}
}

func fontSize(class string) float64 {
	switch {
	case hasClass(class, "s"):
		return small
	case hasClass(class, "n"):
		return normal
	case hasClass(class, "h"):
		return title
	}
	return normal
}

func hasClass(class, name string) bool {
	for len(class) > 0 {
		i := 0
		for i < len(class) && class[i] != ' ' {
			i++
		}
		if class[:i] == name {
			return true
		}
		class = class[min(i+1, len(class)):]
	}
	return false
}

// layout remembers where texts stand so that none covers another.
type layout struct {
	within view.Rect
	taken  []view.Rect
}

func (l *layout) free(r view.Rect) bool {
	if r.X0 < l.within.X0 || r.X1 > l.within.X1 || r.Y0 < l.within.Y0 || r.Y1 > l.within.Y1 {
		return false
	}
	for _, t := range l.taken {
		if t.Overlaps(r) {
			return false
		}
	}
	return true
}

// place takes the first free candidate.
func (l *layout) place(class, s string, candidates ...view.Point) (view.Point, bool) {
	for _, p := range candidates {
		if r := textBox(p, class, s); finite(p) && l.free(r) {
			l.taken = append(l.taken, r)
			return p, true
		}
	}
	return view.Point{}, false
}

// haloed writes a text over lines, on a patch of paper.
func (g *page) haloed(p view.Point, class, s string) {
	r := textBox(p, class, s)
	g.rect("halo", view.Rect{X0: r.X0 - 0.4, Y0: r.Y0 - 0.1, X1: r.X1 + 0.4, Y1: r.Y1 + 0.1})
	g.text(p, class, s)
}
