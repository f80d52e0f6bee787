package sheet

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/render/name"
	"stepscan/render/view"
)

// plane is the picture of the cut: where heights along the axis and distances
// aside from it come to lie on the page.
type plane struct {
	cam   view.Camera
	axis  geom.Axis
	aside mgl64.Vec3
	u, v  view.Point // page directions of aside and of the axis, unit
}

// at is the page's point at a distance from the axis and a height along it, mm.
func (q *plane) at(side, height float64) view.Point {
	p, _ := q.cam.Page(q.axis.At(height).Add(q.aside.Mul(side)))
	return p
}

func newPlane(cam view.Camera, axis geom.Axis, aside mgl64.Vec3) *plane {
	q := &plane{cam: cam, axis: axis, aside: aside}
	o := q.at(0, 0)
	k := 1 / cam.Scale // a mm of paper
	q.u, q.v = towards(o, q.at(k, 0)), towards(o, q.at(0, k))
	return q
}

// across draws the main picture: the product cut open by the plane of the
// tool's axis and the limiting point.
func (s *subject) across(g *page) view.Camera {
	window := view.Rect{X0: mainRect.X0 + gutter, Y0: mainRect.Y0 + caption, X1: mainRect.X1 - gutter, Y1: mainRect.Y1 - 2}
	cam := s.acrossCamera(window)
	q := newPlane(cam, s.axis, s.aside)
	items := s.b.items(s.role)
	s.keepWhole(items, cam.Dir)
	cut := s.axis.O
	d := view.Draw(view.Scene{Camera: cam, Items: items, Cut: &cut})
	g.group("across", "picture")
	g.text(add(view.Point{X: mainRect.X0, Y: mainRect.Y0}, 3, 5), "n b", "A–A")
	g.text(add(view.Point{X: mainRect.X0, Y: mainRect.Y0}, 14, 5), "n", scaleText(cam.Scale)+
		"   cut along the tool's axis"+s.throughWhat())
	g.under("across", d, items)
	s.ghostTool(g, q, window, true)
	g.lines("across", d, items, maxPoints)
	s.ghostTool(g, q, window, false)
	g.line("axis", clipLine(q.at(0, s.low-8/cam.Scale), q.at(0, s.high+1e4), window)...)
	k := newInk(mainRect)
	k.drawing(d, items)
	s.toolInk(k, q, window)
	s.sides(g, cam)
	s.arrow(g, q, k, window)
	used := layout{within: window}
	if j := s.judged; j.limit {
		j.dimensions(g, newPlane(cam, j.axis, s.aside), &used, k, window)
	}
	left := view.Rect{X0: mainRect.X0 + 1, Y0: window.Y0 + 1, X1: window.X0 - 1, Y1: window.Y1 - 18}
	right := view.Rect{X0: window.X1 + 1, Y0: window.Y0 + 1, X1: mainRect.X1 - 1, Y1: window.Y1 - 18}
	g.labels(s.acrossLabels(d, q, k, window), k, window, left, right)
	g.triad(cam, view.Point{X: mainRect.X0 + 11, Y: mainRect.Y1 - 11})
	g.end()
	return cam
}

func (s *subject) throughWhat() string {
	if s.judged.limit {
		return " and the limiting point"
	}
	return ""
}

// acrossCamera looks across the cut with the working side upwards, from the
// side on which less of the product is taken away, at a standard scale.
func (s *subject) acrossCamera(window view.Rect) view.Camera {
	n := s.axis.D.Cross(s.aside)
	mid := s.b.p.Box().Centre().Sub(s.axis.O).Dot(n)
	if mid > 1e-6*s.r || math.Abs(mid) <= 1e-6*s.r && n.Dot(mgl64.Vec3{1, -1.1, 1.2}) < 0 {
		n = n.Mul(-1)
	}
	up := s.b.working()
	if up.Sub(n.Mul(up.Dot(n))).Len() < 0.5 {
		up = s.axis.D
	}
	cam := view.NewCamera(n, up)
	fit := cam.Fit(s.focus(), window.Inset(2))
	fit.Scale = standardScale(fit.Scale)
	fit.Window = window
	return fit
}

// focus lists points that the picture has to hold: the fastener, the tool as
// far as it matters, the limiting point, and room for the dimensions. Longer
// tools are broken off.
func (s *subject) focus() []mgl64.Vec3 {
	out := s.around()
	if o := s.second; o != nil {
		o.aside = s.aside
		out = append(out, o.around()...)
	}
	return out
}

// around are the corners of what focus shows about one tool.
func (s *subject) around() []mgl64.Vec3 {
	long := max(s.high-s.low, 2*s.r)
	t := &s.trial
	bottom, top := s.low-0.2*min(long, 4*s.r), s.high+max(min(long, 8*s.r), 3*s.r)
	if s.judged == nil { // the second tool of two shares the height
		top = s.high + max(0.7*min(long, 8*s.r), 2*s.r)
	}
	if far := toolTop(&t.Tool); far > 0 && !s.limit {
		top = min(top, max(far+0.2*long, s.high+0.6*long))
	}
	wide := 1.4 * max(s.r, min(toolRadius(&t.Tool, top), 4*s.r))
	if s.limit {
		h := s.axis.Height(t.At)
		top = max(s.high+0.6*min(long, 8*s.r), h+0.2*max(h-s.low, 2*s.r))
		bottom = min(bottom, h-0.5*s.r)
		wide = max(1.4*s.r, 1.3*s.axis.Distance(t.At), 1.3*s.needed())
	}
	wide = max(wide, 0.3*(top-bottom))
	var out []mgl64.Vec3
	for _, h := range []float64{bottom, top} {
		for _, w := range []float64{-wide, wide} {
			out = append(out, s.axis.At(h).Add(s.aside.Mul(w)))
		}
	}
	return out
}

// needed is the radius that the tool needs where it is limited, mm; 0 where
// the limit is an angle.
func (s *subject) needed() float64 {
	if !s.limit || s.trial.Limit == reach.BySwing || !(s.trial.Needed < 1e6) {
		return 0
	}
	return max(0, s.trial.Needed)
}

// keepWhole leaves fasteners in one piece whose axis lies in the cut, as
// drawings do with bolts, nuts and pins.
func (s *subject) keepWhole(items []view.Item, normal mgl64.Vec3) {
	for i := range s.b.fs {
		f := &s.b.fs[i]
		off := math.Abs(f.Point.Sub(s.axis.O).Dot(normal))
		if math.Abs(f.Axis.D.Dot(normal)) > 0.05 || off > 0.25*max(f.Nominal, 0.2) {
			continue
		}
		for _, x := range f.Solids {
			if s.b.valid(x) {
				items[x].Whole = true
			}
		}
	}
	for _, x := range s.f.Solids {
		if s.b.valid(x) {
			items[x].Whole = true
		}
	}
}

// sides shows in the corner where the person works, and where the tool comes
// from if that is another side.
func (s *subject) sides(g *page, cam view.Camera) {
	w := s.b.working()
	y := mainRect.Y1 - 6.5
	if s.axis.D.Dot(w) < 0.999 && geom.Finite(s.axis.D) {
		g.side("hand", cam, s.axis.D, y, "tool from", name.Side(s.axis.D))
		y -= 8.5
	}
	g.side("person", cam, w, y, "working side", name.Side(w))
}

// side is one arrow with its words: the way from a side d into the product.
func (g *page) side(class string, cam view.Camera, d mgl64.Vec3, y float64, what, words string) {
	const size = 7.0
	c := view.Point{X: mainRect.X1 - 31.5, Y: y}
	x := view.Point{X: mainRect.X1 - 27, Y: y}
	u := view.Point{X: -d.Dot(cam.Right()), Y: d.Dot(cam.Up)}
	if l := math.Hypot(u.X, u.Y); l > 0.3 {
		u = view.Point{X: u.X / l, Y: u.Y / l}
		g.handArrow(class, along(c, u, size/2), u, size)
	} else { // an arrow seen from its end: its feathers, or its tip
		g.circle("traceend", c, 2)
		if d.Dot(cam.Dir) > 0 {
			g.line("traceend", add(c, -1.4, -1.4), add(c, 1.4, 1.4))
			g.line("traceend", add(c, -1.4, 1.4), add(c, 1.4, -1.4))
			what = "working: you"
		} else {
			g.circle("dot", c, 0.7)
			what = "working: behind"
		}
	}
	g.text(add(x, 0, -0.4), "s b", what)
	g.text(add(x, 0, 2.9), "s", words)
}

// triad draws the product's axes as the camera sees them.
func (g *page) triad(cam view.Camera, o view.Point) {
	const length = 6.5
	used := layout{within: view.Rect{X0: 0, Y0: 0, X1: pageW, Y1: pageH}}
	for k, name := range []string{"x", "y", "z"} {
		var a mgl64.Vec3
		a[k] = 1
		dx, dy := a.Dot(cam.Right())*length, -a.Dot(cam.Up)*length
		tip := add(o, dx, dy)
		l := math.Hypot(dx, dy)
		if l < 0.12*length { // seen from its end
			g.circle("dimline", o, 0.9)
			if a.Dot(cam.Dir) > 0 {
				g.circle("dot", o, 0.35)
			}
			if p, ok := used.place("s", name, add(o, -2.6, 3), add(o, 1.6, 3), add(o, -2.6, -1.4), add(o, 1.6, -1.4)); ok {
				g.text(p, "s", name)
			}
			continue
		}
		u := towards(o, tip)
		g.line("dimline", o, tip)
		g.arrowhead("arrow", tip, u, 1.6)
		c := along(tip, u, 1.8)
		if p, ok := used.place("s m", name, add(c, 0, 0.9), add(c, 2, 0.9), add(c, -2, 0.9)); ok {
			g.text(p, "s m", name)
		}
	}
}

// value prints a length in mm for a drawing.
func value(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.2f", math.Round(v*100)/100+0)
}
