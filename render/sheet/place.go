package sheet

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/render/view"
)

// octants are the four directions of view that look down on the working side
// w from a corner, at about 40 degrees.
func octants(w mgl64.Vec3) [4]mgl64.Vec3 {
	x := nearestPerpendicular(w)
	y := w.Cross(x)
	var out [4]mgl64.Vec3
	for k, c := range [4][2]float64{{-0.6, -0.9}, {0.9, -0.6}, {0.6, 0.9}, {-0.9, 0.6}} {
		out[k], _ = geom.Unit(w.Mul(0.9).Add(x.Mul(c[0])).Add(y.Mul(c[1])))
	}
	return out
}

// nearestPerpendicular is the product's axis that is most perpendicular to w,
// made perpendicular.
func nearestPerpendicular(w mgl64.Vec3) mgl64.Vec3 {
	best, least := 0, math.Inf(1)
	for k := range 3 {
		if c := math.Abs(w[k]); c < least-1e-9 {
			best, least = k, c
		}
	}
	var a mgl64.Vec3
	a[best] = 1
	if u, ok := geom.Unit(a.Sub(w.Mul(a.Dot(w)))); ok {
		return u
	}
	return geom.Perpendicular(w)
}

// placeAxes is where the product's axes are drawn.
var placeAxes = view.Point{X: placeRect.X0 + 10, Y: placeRect.Y1 - 10.5}

// overview draws the product from the working side, with the place marked.
func (s *subject) overview(g *page) {
	window := view.Rect{X0: placeRect.X0 + 3, Y0: placeRect.Y0 + caption + 1, X1: placeRect.X1 - 3, Y1: placeRect.Y1 - 3}
	w := s.b.working()
	dir, seen := s.seenFrom(octants(w))
	into := window.Inset(5)
	into.X0 += 9 // for the axes in the corner
	cam := s.b.fitted(dir, w, into)
	cam.Window = window
	items := s.b.items(s.overviewRole)
	d := view.Draw(view.Scene{Camera: cam, Items: items})
	g.group("place", "picture")
	g.text(add(view.Point{X: placeRect.X0, Y: placeRect.Y0}, 3, 5), "n b", "Where it is")
	g.text(add(view.Point{X: placeRect.X0, Y: placeRect.Y0}, 27, 5), "n", "from the working side")
	g.under("place", d, items)
	g.lines("place", d, items, maxPoints)
	s.markPlace(g, cam, window, seen)
	g.triad(cam, placeAxes)
	g.end()
}

func (s *subject) overviewRole(x product.SolidIndex) role {
	switch r := s.role(x); r {
	case driven, obstacle:
		return r
	}
	return light
}

// seenFrom is the first direction from which the head is in sight, or, where
// there is none, the one that looks most against the tool's way.
func (s *subject) seenFrom(dirs [4]mgl64.Vec3) (mgl64.Vec3, bool) {
	best := dirs[0]
	for _, d := range dirs {
		if d.Dot(s.axis.D) > 0.05 && s.headSeen(d) {
			return d, true
		}
		if d.Dot(s.axis.D) > best.Dot(s.axis.D)+1e-9 {
			best = d
		}
	}
	return best, false
}

// headSeen reports whether the middle of the head or a good part of its rim is
// in sight from d.
func (s *subject) headSeen(d mgl64.Vec3) bool {
	f, err := geom.NewFrame(s.axis.At(s.high+0.02*s.r), s.axis.D, s.aside)
	if err != nil {
		return false
	}
	if s.b.inSight(f.O, d, s.f.Solids) {
		return true
	}
	n := 0
	for k := range 8 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 4)
		if s.b.inSight(f.Point(mgl64.Vec3{0.9 * s.r * cos, 0.9 * s.r * sin, 0}), d, s.f.Solids) {
			n++
		}
	}
	return n >= 3
}

// inSight reports whether nothing but the given solids stands on the way from
// p along d.
func (b *Book) inSight(p, d mgl64.Vec3, but []product.SolidIndex) bool {
	far := 2*b.p.Box().Diagonal() + 1
	for i := range b.p.Solids {
		if slices.Contains(but, product.SolidIndex(i)) {
			continue
		}
		sol := &b.p.Solids[i]
		if b.p.Parts[sol.Part].Tree.AnyHit(sol.Back.Point(p), sol.Back.Dir(d), 0, far) {
			return false
		}
	}
	return true
}

// fitted is a camera that shows the whole product.
func (b *Book) fitted(dir, up mgl64.Vec3, into view.Rect) view.Camera {
	cam := view.NewCamera(dir, up)
	right := cam.Right()
	// The six outermost vertices along the page's axes decide.
	var ends [6]mgl64.Vec3
	far := [6]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	axes := [6]mgl64.Vec3{right, right.Mul(-1), cam.Up, cam.Up.Mul(-1), cam.Dir, cam.Dir.Mul(-1)}
	for i := range b.p.Solids {
		sol := &b.p.Solids[i]
		m := b.p.Parts[sol.Part].Mesh
		if m == nil {
			continue
		}
		for _, v := range m.Vertices {
			v = sol.Place.Point(v)
			for k := range axes {
				if d := v.Dot(axes[k]); d > far[k] && geom.Finite(v) {
					far[k], ends[k] = d, v
				}
			}
		}
	}
	if math.IsInf(far[0], -1) {
		return cam.Fit(nil, into)
	}
	return cam.Fit(ends[:], into)
}

// markPlace puts a ring round the fastener, an arrow along the hand's way, and
// the fastener's id. A place that is out of sight gets a dashed ring.
func (s *subject) markPlace(g *page, cam view.Camera, window view.Rect, seen bool) {
	p, _ := cam.Page(s.axis.At(s.high))
	r := min(max(2.5, 1.6*s.r*cam.Scale), 12)
	class := "place"
	if !seen {
		class += " behind"
	}
	g.circle(class, p, r)
	text := layout{within: window}
	text.taken = append(text.taken, around(p, r), around(placeAxes, 10))
	dx, dy := s.axis.D.Dot(cam.Right()), -s.axis.D.Dot(cam.Up)
	if math.Hypot(dx, dy) > 0.25 {
		u := towards(view.Point{}, view.Point{X: dx, Y: dy})
		if tip := along(p, u, r+0.6); window.Has(along(tip, u, 9)) {
			tail := along(tip, u, 9)
			g.handArrow("hand", tip, view.Point{X: -u.X, Y: -u.Y}, 9)
			text.taken = append(text.taken, view.EmptyRect().Add(tip).Add(tail).Inset(-2))
		}
	}
	words := clean(s.f.ID)
	if !seen {
		words += " (out of sight)"
	}
	words = shorten(words, normal*1.08, 44)
	w := textWidth(words, normal)
	if q, ok := text.place("n b", words, add(p, r+1.5, 1), add(p, -r-1.5-w, 1), add(p, -w/2, r+4.5), add(p, -w/2, -r-2.5), add(p, r+3, 6), add(p, -r-3-w, 6), add(p, r+3, -4), add(p, -r-3-w, -4), add(p, -w, r+9), add(p, 0, r+9), add(p, -w, -r-9), add(p, 0, -r-9)); ok {
		g.haloed(q, "n b", words)
	}
}
