package sheet

import (
	"math"

	"stepscan/access/reach"
	"stepscan/render/view"
)

// covered is the free radius, mm, below which something lies on the axis:
// there is nothing to measure.
const covered = 0.05

func isCovered(t *reach.Trial) bool { return t.Limit != reach.BySwing && t.Free < covered }

// dimensions draws the limiting point and the free and the needed radius, as
// dimensions from the axis at the height where the tool is limited. They stand
// where they cover least of the picture.
func (s *subject) dimensions(g *page, q *plane, text *layout, k *ink, window view.Rect) {
	t := &s.trial
	hit, _ := q.cam.Page(t.At)
	h := s.axis.Height(t.At)
	if t.Limit != reach.BySwing && positive(t.Free) && positive(t.Needed) && window.Has(q.at(0, h)) {
		var dims []radius
		if !isCovered(t) {
			dims = append(dims, radius{t.Free, "free R " + value(t.Free)})
		}
		dims = append(dims, radius{t.Needed, "needed R " + value(t.Needed)})
		g.radii(q, text, k, h, dims)
	}
	if !window.Has(hit) {
		return
	}
	g.circle("hit", hit, 1.1)
	if !isCovered(t) {
		return
	}
	w := textWidth("covered", normal)
	var spots []view.Point
	for _, d := range []float64{2.2, 4, 6, 8.5, 12} {
		spots = append(spots, add(hit, d, 1.2), add(hit, -d-w, 1.2), add(hit, 2.2, -d+1), add(hit, -2.2-w, -d+1), add(hit, 2.2, d+2), add(hit, -2.2-w, d+2))
	}
	if p, ok := text.clearest(k, "n", "covered", spots); ok {
		g.haloed(p, "n", "covered")
	}
}

func positive(v float64) bool { return v >= 0 && !math.IsInf(v, 0) }

// radius is one dimension from the axis outwards, mm, with its words.
type radius struct {
	r     float64
	words string
}

// dimStep is the distance of parallel dimension lines, mm (ISO 129-1 asks that
// they can be told apart; common practice is 6 to 8 mm).
const dimStep = 6.5

// radii draws dimensions beside each other, the smallest nearest to the height
// h at which they are taken, on the side and at the distance where they cover
// least.
func (g *page) radii(q *plane, text *layout, k *ink, h float64, dims []radius) {
	var best []placed
	least := math.Inf(1)
	for _, sense := range []float64{1, -1} {
		away := view.Point{X: q.v.X * sense, Y: q.v.Y * sense}
		for off := 5.0; off <= 45; off += 1.5 {
			cost := 0.12 * off
			var all []placed
			for i, d := range dims {
				m, c := d.place(q, text, k, h, away, off+float64(i)*dimStep)
				all, cost = append(all, m), cost+c
			}
			if cost < least {
				best, least = all, cost
			}
		}
	}
	for i := range best {
		best[i].draw(g, text, k)
	}
}

// placed is a dimension on the page: its line from a to b, to the end of what
// it measures, away the way from there to the line, p where its words stand.
type placed struct {
	radius
	a, b, to, away, p view.Point
}

// place finds room for a dimension at the height h, off mm of paper away from
// it, and says how much it would cover: +Inf where there is no room.
func (d radius) place(q *plane, text *layout, k *ink, h float64, away view.Point, off float64) (placed, float64) {
	to := q.at(d.r, h)
	m := placed{radius: d, a: along(q.at(0, h), away, off), b: along(to, away, off), to: to, away: away}
	if !text.within.Has(m.a) || !text.within.Has(m.b) {
		return m, math.Inf(1)
	}
	p, ok := text.best(k, "n", d.words, m.spots())
	if !ok {
		return m, math.Inf(1)
	}
	m.p = p
	return m, 3*k.area(textBox(p, "n", d.words)) + k.line(m.a, m.b) + 0.3*k.line(to, m.b)
}

func (m *placed) tooShort() bool { return distance(m.a, m.b) < 3*arrowLength }

// clear is how far from the line's end words stand beside it.
func (m *placed) clear() float64 {
	if m.tooShort() {
		return 3.2 + arrowLength
	}
	return 1.5
}

// spots are places for the words: at the line's middle, beyond its ends, and
// further out where the line can lead on to them.
func (m *placed) spots() []view.Point {
	u := towards(m.a, m.b)
	back := view.Point{X: -u.X, Y: -u.Y}
	w := textWidth(m.words, normal)
	mid := view.Point{X: (m.a.X + m.b.X) / 2, Y: (m.a.Y + m.b.Y) / 2}
	var out []view.Point
	switch {
	case distance(m.a, m.b) > w+4 && level(u):
		out = append(out, add(mid, -w/2, -0.9))
	case !m.tooShort() && math.Abs(u.Y) > 0.9:
		out = append(out, add(mid, 1.2, 1.2), add(mid, -1.2-w, 1.2))
	}
	for _, more := range []float64{0, 4, 8, 12} {
		out = append(out, beside(along(m.b, u, m.clear()+more), u, w), beside(along(m.a, back, m.clear()+more), back, w))
		if !level(u) {
			break
		}
	}
	return out
}

func level(u view.Point) bool { return math.Abs(u.Y) < 0.1 }

func (m *placed) draw(g *page, text *layout, k *ink) {
	u := towards(m.a, m.b)
	back := view.Point{X: -u.X, Y: -u.Y}
	// Projection lines start 0.8 mm off the thing and end 1.5 mm beyond the
	// dimension line (common practice under ISO 129-1).
	g.line("dimline", along(m.to, m.away, 0.8), along(m.b, m.away, 1.5))
	if m.tooShort() { // arrows from outside
		g.line("dimline", along(m.a, u, -2*arrowLength), along(m.b, u, 2*arrowLength))
		u, back = back, u
	} else {
		g.line("dimline", m.a, m.b)
	}
	g.arrowhead("arrow", m.a, back, arrowLength)
	g.arrowhead("arrow", m.b, u, arrowLength)
	box := textBox(m.p, "n", m.words)
	m.leadOn(g, box)
	text.taken = append(text.taken, box)
	k.words(box)
	k.add(2, m.a, m.b)
	g.haloed(m.p, "n", m.words)
}

// leadOn continues the line to words that stand further out.
func (m *placed) leadOn(g *page, box view.Rect) {
	if !level(towards(m.a, m.b)) {
		return
	}
	end := m.b
	if box.X0 > max(m.a.X, m.b.X) != (m.b.X > m.a.X) {
		end = m.a
	}
	near := nearestOf(box.Inset(-0.8), end)
	if math.Abs(near.Y-end.Y) < 0.5 && distance(near, end) > m.clear()+1 {
		g.line("dimline", end, near)
	}
}

// best is the free one of the spots for a text where it covers least.
func (l *layout) best(k *ink, class, s string, spots []view.Point) (view.Point, bool) {
	found, least := view.Point{}, math.Inf(1)
	for i, p := range spots {
		r := textBox(p, class, s)
		if !finite(p) || !l.free(r) {
			continue
		}
		if c := k.area(r) + 0.4*float64(i); c < least {
			found, least = p, c
		}
	}
	return found, !math.IsInf(least, 1)
}

// clearest takes the spot that best finds.
func (l *layout) clearest(k *ink, class, s string, spots []view.Point) (view.Point, bool) {
	p, ok := l.best(k, class, s, spots)
	if ok {
		l.taken = append(l.taken, textBox(p, class, s))
		k.words(textBox(p, class, s))
	}
	return p, ok
}

// beside puts a text of width w at p, on the side to which u points.
func beside(p, u view.Point, w float64) view.Point {
	switch {
	case u.X > 0.3:
		return add(p, 0, 1.2)
	case u.X < -0.3:
		return add(p, -w, 1.2)
	}
	return add(p, -w/2, 1.2+2.2*math.Copysign(1, u.Y))
}
