package sheet

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/render/view"
)

// inView gives the role of each fastener's solids in a picture, and which of a
// list are out of sight there.
func (b *Book) inView(list []int, dir mgl64.Vec3) (map[product.SolidIndex]role, map[int]bool) {
	roles := map[product.SolidIndex]role{}
	for i := range b.fs {
		for _, x := range b.fs[i].Solids {
			roles[x] = driven
		}
	}
	unseen := map[int]bool{}
	for _, i := range list {
		if _, ok := b.spot(i, dir); !ok {
			unseen[i] = true
			for _, x := range b.fs[i].Solids {
				roles[x] = inside
			}
		}
	}
	return roles, unseen
}

// spot is where a fastener is marked, and whether that can be seen from d: its
// head, or the mouth of the hole that it sits in, up to a head's width deep.
func (b *Book) spot(i int, d mgl64.Vec3) (mgl64.Vec3, bool) {
	s := b.driven(i)
	s.aside = geom.Perpendicular(s.axis.D)
	head := s.axis.At(s.high)
	if s.axis.D.Dot(d) <= 0.05 {
		return head, false
	}
	if s.headSeen(d) {
		return head, true
	}
	if s.reach.Hidden || s.reach.Verdict == reach.Blocked {
		return head, false
	}
	for k := range 8 {
		if p := s.axis.At(s.high + float64(k+1)*0.25*s.r); b.inSight(p, d, s.f.Solids) {
			return p, true
		}
	}
	return head, false
}

// mark is a fastener in a picture.
type mark struct {
	i      int
	unseen bool       // out of sight in this picture
	at     view.Point // where the fastener is
	mark   view.Point // where its symbol stands
}

const (
	markR = 1.7 // mm: a symbol's size
	ringR = 2.6 // mm: with the ring of a hidden head
)

// marks draws the symbols where the fasteners are and their ids beside them.
// Symbols that would cover each other are moved apart, with a leader.
func (b *Book) marks(g *page, id string, cam view.Camera, window view.Rect, list []int, unseen map[int]bool) {
	var ms []mark
	for _, i := range list {
		q, _ := b.spot(i, cam.Dir)
		p, _ := cam.Page(q)
		if finite(p) && window.Has(p) {
			ms = append(ms, mark{i, unseen[i], p, p})
		}
	}
	slices.SortStableFunc(ms, func(a, b mark) int { return cmp.Or(cmp.Compare(a.at.Y, b.at.Y), cmp.Compare(a.at.X, b.at.X)) })
	used := layout{within: window.Inset(-3)}
	used.taken = append(used.taken, view.Rect{X0: window.X0 - 6, Y0: window.Y1 - 14, X1: window.X0 + 16, Y1: window.Y1 + 6}) // the axes
	spread(ms, window)
	for _, m := range ms {
		used.taken = append(used.taken, around(m.mark, ringR))
	}
	for _, m := range ms {
		g.group(id+"-"+xmlID(b.fs[m.i].ID), "mark")
		b.mark(g, &used, m)
		g.end()
	}
}

func around(p view.Point, r float64) view.Rect {
	return view.Rect{X0: p.X - r, Y0: p.Y - r, X1: p.X + r, Y1: p.Y + r}
}

// spread moves symbols aside that would cover earlier ones, to the nearest of
// some places around; with very many, the last may stay covered.
func spread(ms []mark, window view.Rect) {
	for k := range ms {
		free := func(p view.Point) bool {
			for j := range k {
				if distance(p, ms[j].mark) < 2*ringR {
					return false
				}
			}
			return window.Has(p)
		}
		for _, d := range []float64{0, 5.5, 8, 11, 15, 20} {
			found := false
			for a := range 12 {
				sin, cos := math.Sincos(float64(a)*math.Pi/6 + 0.3)
				if p := add(ms[k].at, d*cos, d*sin); free(p) {
					ms[k].mark, found = p, true
					break
				}
			}
			if found {
				break
			}
		}
	}
}

func (b *Book) mark(g *page, used *layout, m mark) {
	r := b.reach(m.i)
	words := shorten(clean(b.fs[m.i].ID), normal*1.08, 20)
	w := textWidth(words, normal)
	var spots []view.Point
	for _, d := range []float64{ringR + 0.6, 6, 10, 15, 21, 28, 36} {
		for k := range 12 {
			sin, cos := math.Sincos(float64(k)*math.Pi/6 - math.Pi/6)
			c := add(m.mark, d*cos, d*sin)
			switch { // the near end of the text at c
			case cos > 0.3:
				spots = append(spots, add(c, 0, 1))
			case cos < -0.3:
				spots = append(spots, add(c, -w, 1))
			default:
				spots = append(spots, add(c, -w/2, 1+1.2*sin))
			}
		}
	}
	p, ok := used.place("n b", words, spots...)
	if distance(m.mark, m.at) > 0.1 {
		g.line("leader", m.mark, m.at)
		g.circle("dot", m.at, 0.5)
	}
	if ok {
		box := textBox(p, "n b", words)
		near := view.Point{X: max(box.X0, min(box.X1, m.mark.X)), Y: max(box.Y0, min(box.Y1, m.mark.Y))}
		if distance(near, m.mark) > 4 {
			g.line("leader", m.mark, near)
		}
	}
	g.symbol(m.mark, markR, &r, m.unseen)
	if ok {
		g.haloed(p, "n b", words)
	}
}

// xmlID keeps what an id may hold.
func xmlID(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '_'
	}, s)
}
