package sheet

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/render/view"
)

// along draws the view from where the hand comes. What covers the head is
// shown through, so that the head and the circles of the tool are seen.
func (s *subject) along(g *page, across view.Camera) {
	window := view.Rect{X0: alongRect.X0 + 2, Y0: alongRect.Y0 + caption, X1: alongRect.X1 - 2, Y1: alongRect.Y1 - 6}
	cam := s.alongCamera(across, window)
	over := s.overhead()
	items := s.b.items(s.role)
	for x := range over {
		items[x].Style, items[x].Group = view.Outline, int(ghost)
	}
	d := view.Draw(view.Scene{Camera: cam, Items: items})
	g.group("along", "picture")
	g.text(add(view.Point{X: alongRect.X0, Y: alongRect.Y0}, 3, 5), "n b", s.handWords())
	g.text(add(view.Point{X: alongRect.X0, Y: alongRect.Y0}, 5+1.08*textWidth(s.handWords(), normal), 5), "n", scaleText(cam.Scale))
	if len(over) > 0 {
		words := "parts above: see-through"
		if s.other {
			words = "see-through"
		}
		g.text(view.Point{X: alongRect.X1 - 3, Y: alongRect.Y0 + 5}, "s e", words)
	}
	g.under("along", d, items)
	g.lines("along", d, items, maxPoints)
	s.circles(g, cam, window)
	s.trace(g, cam, across, window)
	g.end()
}

// handWords says whose hand the picture looks from.
func (s *subject) handWords() string {
	if s.other {
		return "From the hand at the " + string(s.f.Kind)
	}
	return "From the hand"
}

// alongCamera looks along the axis at the fastener, with the same direction to
// the right as the cut has where that is possible.
func (s *subject) alongCamera(across view.Camera, window view.Rect) view.Camera {
	d := s.axis.D
	right := across.Right()
	up := d.Cross(right.Sub(d.Mul(right.Dot(d))))
	if up.Len() < 0.3 {
		up = across.Dir.Mul(-1)
	}
	cam := view.NewCamera(d, up)
	wide := 2.2 * max(s.r, toolRadius(&s.trial.Tool, s.high+2*(s.high-s.low))*0.6)
	if s.limit {
		wide = max(wide, 1.5*s.axis.Distance(s.trial.At), 1.5*s.needed())
	}
	var pts []mgl64.Vec3
	for _, k := range []mgl64.Vec3{cam.Right(), cam.Up} {
		pts = append(pts, s.axis.O.Add(k.Mul(wide)), s.axis.O.Sub(k.Mul(wide)))
	}
	cam = cam.Fit(pts, window)
	cam.Scale = standardScale(cam.Scale)
	return cam
}

// overhead are the solids between the head and the hand.
func (s *subject) overhead() map[product.SolidIndex]bool {
	out := map[product.SolidIndex]bool{}
	f, err := geom.NewFrame(s.axis.At(s.high), s.axis.D, s.aside)
	if err != nil {
		return out
	}
	far := 2*s.b.p.Box().Diagonal() + 1
	for i := range s.b.p.Solids {
		x := product.SolidIndex(i)
		if s.role(x) == driven || slices.Contains(s.f.Solids, x) {
			continue
		}
		sol := &s.b.p.Solids[i]
		tree := s.b.p.Part(x).Tree
		for k := range 9 {
			r := 0.0
			if k > 0 {
				r = 0.9 * s.r
			}
			sin, cos := math.Sincos(float64(k) * math.Pi / 4)
			o := f.Point(mgl64.Vec3{r * cos, r * sin, 0.01 * s.r})
			if tree.AnyHit(sol.Back.Point(o), sol.Back.Dir(s.axis.D), 0, far) {
				out[x] = true
				break
			}
		}
	}
	return out
}

// circles draws what the tool needs and what is free, and says so below.
func (s *subject) circles(g *page, cam view.Camera, window view.Rect) {
	o, _ := cam.Page(s.axis.O)
	t := &s.trial
	y := alongRect.Y1 - 2.2
	x := alongRect.X0 + 3
	switch {
	case !s.limit:
		r := toolRadius(&t.Tool, s.high+2*(s.high-s.low))
		if r > 0 {
			g.clippedCircle("needed", o, r*cam.Scale, window)
			g.line("needed", view.Point{X: x, Y: y - 1}, view.Point{X: x + 7, Y: y - 1})
			g.text(view.Point{X: x + 8.5, Y: y}, "s", "tool, R "+value(r))
		}
	case t.Limit == reach.BySwing:
		s.sector(g, cam, window)
		g.text(view.Point{X: x, Y: y}, "s", swingWords(t))
	default:
		if !isCovered(t) {
			g.clippedCircle("free", o, t.Free*cam.Scale, window)
		}
		g.clippedCircle("needed", o, t.Needed*cam.Scale, window)
		g.line("needed", view.Point{X: x, Y: y - 1}, view.Point{X: x + 7, Y: y - 1})
		g.text(view.Point{X: x + 8.5, Y: y}, "s", "needed R "+value(t.Needed))
		if isCovered(t) {
			g.circle("hit", view.Point{X: x + 42.5, Y: y - 1}, 1)
			g.text(view.Point{X: x + 45, Y: y}, "s", "the axis is covered")
			break
		}
		g.line("free", view.Point{X: x + 39, Y: y - 1}, view.Point{X: x + 46, Y: y - 1})
		g.text(view.Point{X: x + 47.5, Y: y}, "s", "free R "+value(t.Free))
	}
	if s.limit {
		if hit, _ := cam.Page(t.At); window.Has(hit) {
			g.circle("hit", hit, 1)
		}
	}
	g.line("axis", clipLine(add(o, -4, 0), add(o, 4, 0), window)...)
	g.line("axis", clipLine(add(o, 0, -4), add(o, 0, 4), window)...)
}

func swingWords(t *reach.Trial) string {
	return fmt.Sprintf("free swing %s, needed %s", degrees(t.Free), degrees(t.Needed))
}

func degrees(rad float64) string {
	if !positive(rad) {
		return "–"
	}
	return fmt.Sprintf("%.0f°", rad*180/math.Pi)
}

// sector draws the arm's reach.
func (s *subject) sector(g *page, cam view.Camera, window view.Rect) {
	w := s.trial.Tool.Swing
	if w == nil || !positive(w.R) {
		return
	}
	o, _ := cam.Page(s.axis.O)
	g.clippedCircle("needed", o, w.R*cam.Scale, window)
}

// clippedCircle draws a circle inside the window only.
func (g *page) clippedCircle(class string, c view.Point, r float64, window view.Rect) {
	if !finite(c) || !positive(r) || r > 1e5 {
		return
	}
	in := window.Has(add(c, -r, -r)) && window.Has(add(c, r, r))
	if in {
		g.circle(class, c, r)
		return
	}
	const n = 240
	var runs [][]view.Point
	var run []view.Point
	for i := range n {
		a, b := onCircle(c, r, i, n), onCircle(c, r, i+1, n)
		l := clipLine(a, b, window)
		if len(l) == 0 {
			runs, run = append(runs, run), nil
			continue
		}
		if len(run) == 0 {
			run = append(run, l[0])
		}
		run = append(run, l[1])
	}
	g.path(class, append(runs, run), false)
}

func onCircle(c view.Point, r float64, i, n int) view.Point {
	sin, cos := math.Sincos(2 * math.Pi * float64(i%n) / float64(n))
	return view.Point{X: c.X + r*cos, Y: c.Y + r*sin}
}

// trace marks where the main picture cuts, with arrows in the direction in
// which it looks (ISO 128-3).
func (s *subject) trace(g *page, cam, across view.Camera, window view.Rect) {
	o, _ := cam.Page(s.axis.O)
	e := s.aside
	u := towards(o, view.Point{X: o.X + e.Dot(cam.Right()), Y: o.Y - e.Dot(cam.Up)})
	look := view.Point{X: -across.Dir.Dot(cam.Right()), Y: across.Dir.Dot(cam.Up)}
	in := window.Inset(5)
	l := clipLine(along(o, u, -500), along(o, u, 500), in)
	if len(l) < 2 {
		return
	}
	g.line("trace", l...)
	for k, p := range l {
		inward := u
		if k == 1 {
			inward = view.Point{X: -u.X, Y: -u.Y}
		}
		g.line("traceend", p, along(p, inward, 4))
		g.line("dimline", along(p, look, -4.5), p)
		g.arrowhead("arrow", p, look, arrowLength)
		c := add(along(along(p, look, -2.6), inward, -2.2), 0, 1.2)
		g.haloed(c, "n b m", "A")
	}
}
