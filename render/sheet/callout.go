package sheet

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/render/view"
)

// acrossLabels names what the picture shows.
func (s *subject) acrossLabels(d *view.Drawing, q *plane, k *ink, window view.Rect) []label {
	list := []label{{at: s.ownPlace(q, window), lines: append([]string{clean(s.f.ID)}, wrap(callWhat(s.f), small, gutter-4, 2)...), rank: 0}}
	named := map[string]bool{}
	name := func(x product.SolidIndex, loops, busy [][]view.Point, r role) {
		n := s.b.name(x)
		if r == driven || named[n] {
			return
		}
		at, room := roomiest(loops, busy, window)
		if room < 0.5 && r <= also { // thin, but what the sheet is about
			at, room = s.onThin(q, loops, window)
		}
		if room >= 0.5 {
			named[n] = true
			list = append(list, nameLabel(n, at, 1+int(r), s.roleWords(x)))
		}
	}
	covered := append(maskLoops(d), s.toolLoops(q)...)
	for _, f := range d.Faces {
		name(product.SolidIndex(f.Item), f.Loops, covered, s.role(product.SolidIndex(f.Item)))
	}
	for _, f := range d.Masks {
		if x := product.SolidIndex(f.Item); s.role(x) != light {
			busy := slices.Clone(covered)
			busy = slices.DeleteFunc(busy, func(l []view.Point) bool { return sameLoop(l, f.Loops) })
			name(x, f.Loops, busy, s.role(x))
		}
	}
	list = append(list, s.toolLabels(q, k, window)...)
	return keep(list, q.at(0, s.high), 11)
}

// onThin is a point on the cut of something too thin for a leader's dot: on
// its border inside the window, away from the axis.
func (s *subject) onThin(q *plane, loops [][]view.Point, window view.Rect) (view.Point, float64) {
	best, most := view.Point{}, 0.0
	o := q.at(0, s.high)
	for _, l := range loops {
		for i, p := range l {
			for _, t := range []float64{0, 0.25, 0.5} {
				b := l[(i+1)%len(l)]
				c := view.Point{X: p.X + t*(b.X-p.X), Y: p.Y + t*(b.Y-p.Y)}
				if d := min(distance(c, o), 25); window.Inset(2).Has(c) && d > most {
					best, most = c, d
				}
			}
		}
	}
	return best, most
}

// nameLabel is a label with the name of a part over what it is to the joint.
func nameLabel(n string, at view.Point, rank int, words []string) label {
	lines := wrapName(n, bold("n b"), gutter-4, 3)
	return label{at: at, lines: append(lines, words...), bold: len(lines), rank: rank}
}

func sameLoop(l []view.Point, loops [][]view.Point) bool {
	return slices.ContainsFunc(loops, func(o []view.Point) bool { return &o[0] == &l[0] })
}

// keep is the n labels of lowest rank; of equal rank those nearest to p.
func keep(list []label, p view.Point, n int) []label {
	slices.SortStableFunc(list, func(a, b label) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(distance(a.at, p), distance(b.at, p)))
	})
	return list[:min(n, len(list))]
}

// roleWords says in a few words what a solid is to the joint.
func (s *subject) roleWords(x product.SolidIndex) []string {
	switch s.role(x) {
	case obstacle, also:
		if slices.Contains(s.reach.After, x) {
			return []string{"in the way: off first"}
		}
		if s.reach.Hidden && slices.Contains(s.reach.HiddenBy, x) && !slices.Contains(s.trial.Blockers, x) {
			return []string{"covers the head"}
		}
		return []string{"in the way"}
	case part:
		if m := s.hold.Mate; m >= 0 && m < len(s.b.fs) && slices.Contains(s.b.fs[m].Solids, x) {
			return []string{"screwed together"}
		}
		switch {
		case slices.Contains(s.hold.Bites, x) && s.f.Kind == fastener.Pin:
			return []string{"grips the pin"}
		case slices.Contains(s.hold.Bites, x) && s.f.Kind == fastener.Rivet:
			return []string{"clamped"}
		case slices.Contains(s.hold.Bites, x):
			return []string{"holds the thread"}
		case slices.Contains(s.hold.Passes, x):
			return []string{"clamped"}
		}
	}
	return nil
}

// ownPlace is a point of the fastener inside the window, beside its axis.
func (s *subject) ownPlace(q *plane, window view.Rect) view.Point {
	for _, t := range []float64{0.5, 0.7, 0.3, 0.85, 0.15, 1, 0} {
		if p := q.at(0.12*s.r, s.low+t*(s.high-s.low)); window.Has(p) {
			return p
		}
	}
	return q.at(0, 0)
}

// toolLabels names the sections of the tool that can be seen.
func (s *subject) toolLabels(q *plane, k *ink, window view.Rect) []label {
	out := sectionLabels(&s.trial.Tool, q, k, window, s.high)
	if o := s.second; o != nil {
		more := sectionLabels(&o.trial.Tool, newPlane(q.cam, o.axis, s.aside), k, window, o.high)
		for i := range more {
			more[i].lines = append(more[i].lines, "on the far side")
		}
		if len(more) > 2 {
			more = more[:2]
		}
		out = append(out, more...)
	}
	return out
}

func sectionLabels(t *tool.Tool, q *plane, k *ink, window view.Rect, above float64) []label {
	var out []label
	done := map[string]bool{}
	if w := t.Swing; w != nil && positive(w.R) && clean(w.Name) != "" {
		mid := (w.From + w.To) / 2
		if l := clipLine(q.at(0.3*w.R, mid), q.at(0.9*w.R, mid), window.Inset(2)); len(l) > 1 {
			at := view.Point{X: (l[0].X + l[1].X) / 2, Y: (l[0].Y + l[1].Y) / 2}
			out = append(out, label{at: at, lines: []string{clean(w.Name), "tool, swings R " + value(w.R)}, rank: 4, free: true})
		}
	}
	for _, c := range slices.Backward(t.Sections) {
		name := clean(c.Name)
		if done[name] || name == "" || !(c.R > 0) {
			continue
		}
		l := clipLine(q.at(-0.6*c.R, max(c.From, above)), q.at(-0.6*c.R, min(c.To, 1e4)), window.Inset(3))
		if len(l) < 2 || distance(l[0], l[1]) < 1 {
			continue
		}
		done[name] = true
		at := k.emptiest(l[0], l[1])
		alt := along(at, q.u, 1.2*c.R*q.cam.Scale)
		if at.X > alt.X {
			at, alt = alt, at
		}
		if !window.Has(at) || !window.Has(alt) || math.Abs(q.u.X) < 0.3 {
			alt = at
		}
		out = append(out, label{at: at, alt: &alt, lines: []string{name, "tool, ⌀ " + value(2*c.R)}, rank: 4, free: true})
	}
	return out
}

func (s *subject) toolLoops(q *plane) [][]view.Point {
	loop := mirrored(q, toolProfile(&s.trial.Tool, 1e4))
	if len(loop) < 3 {
		return nil
	}
	return [][]view.Point{loop}
}

func maskLoops(d *view.Drawing) [][]view.Point {
	var out [][]view.Point
	for _, m := range d.Masks {
		out = append(out, m.Loops...)
	}
	return out
}

// roomiest looks on a raster for the place deepest inside the loops (by the
// even-odd rule) and away from what else is drawn there, and says how deep.
func roomiest(loops, others [][]view.Point, window view.Rect) (view.Point, float64) {
	r := view.EmptyRect()
	for _, l := range loops {
		for _, p := range l {
			r = r.Add(p)
		}
	}
	const n = 25
	best, depth := view.Point{}, 0.0
	for iy := range n {
		for ix := range n {
			p := view.Point{
				X: r.X0 + (float64(ix)+0.5)/n*r.W(),
				Y: r.Y0 + (float64(iy)+0.5)/n*r.H(),
			}
			if !window.Has(p) || !view.Inside(loops, p) {
				continue
			}
			d := min(view.BorderDistance(loops, p), p.X-window.X0, window.X1-p.X, p.Y-window.Y0, window.Y1-p.Y)
			if d <= depth {
				continue
			}
			d = min(d, 4) // deep enough: then the first in reading order
			for _, o := range others {
				if d <= depth {
					break
				}
				if view.Inside([][]view.Point{o}, p) {
					d = min(d, 0.1)
				} else {
					d = min(d, view.BorderDistance([][]view.Point{o}, p))
				}
			}
			if d > depth {
				best, depth = p, d
			}
		}
	}
	return best, depth
}
