package sheet

import (
	"math"
	"slices"

	"stepscan/render/view"
)

// ink remembers on a raster of 1 mm how much is drawn where, so that texts,
// dimensions and leaders can be put where they cover least.
type ink struct {
	r    view.Rect
	w, h int
	cell []float64
}

func newInk(r view.Rect) *ink {
	k := &ink{r: r, w: max(1, int(math.Ceil(r.W()))), h: max(1, int(math.Ceil(r.H())))}
	k.cell = make([]float64, k.w*k.h)
	return k
}

func (k *ink) clone() *ink {
	c := *k
	c.cell = slices.Clone(k.cell)
	return &c
}

// at is the cell of a point; -1 outside.
func (k *ink) at(p view.Point) int {
	x, y := int(math.Floor(p.X-k.r.X0)), int(math.Floor(p.Y-k.r.Y0))
	if x < 0 || y < 0 || x >= k.w || y >= k.h {
		return -1
	}
	return y*k.w + x
}

// walk calls f for points half a millimetre apart along a line.
func walk(a, b view.Point, f func(view.Point)) {
	n := int(distance(a, b)/0.5) + 1
	if !finite(a) || !finite(b) || n > 4000 {
		return
	}
	for i := range n + 1 {
		t := float64(i) / float64(n)
		f(view.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)})
	}
}

// add draws a line of some weight: a cell holds the heaviest line in it.
func (k *ink) add(weight float64, pts ...view.Point) {
	for i := 1; i < len(pts); i++ {
		walk(pts[i-1], pts[i], func(p view.Point) {
			if c := k.at(p); c >= 0 {
				k.cell[c] = max(k.cell[c], weight)
			}
		})
	}
}

// line is how much a line from a to b would cross.
func (k *ink) line(a, b view.Point) float64 {
	sum, last := 0.0, -1
	walk(a, b, func(p view.Point) {
		if c := k.at(p); c >= 0 && c != last {
			sum += k.cell[c]
			last = c
		}
	})
	return sum
}

// area is how much a rectangle would cover.
func (k *ink) area(r view.Rect) float64 {
	sum := 0.0
	for y := r.Y0; y < r.Y1+1; y++ {
		for x := r.X0; x < r.X1+1; x++ {
			if c := k.at(view.Point{X: min(x, r.X1), Y: min(y, r.Y1)}); c >= 0 {
				sum += k.cell[c]
			}
		}
	}
	return sum
}

// How heavy lines are: what the sheet is about must stay free first.
var roleInk = [...]float64{obstacle: 3, also: 2, driven: 3, part: 1.5, light: 0.8, ghost: 0.8, inside: 0.5}

const (
	hatchInk = 0.5
	textInk  = 6.0 // words and arrows that nothing may cross
)

// words adds a text.
func (k *ink) words(r view.Rect) {
	for y := r.Y0; y <= r.Y1; y += 0.7 {
		k.add(textInk, view.Point{X: r.X0, Y: y}, view.Point{X: r.X1, Y: y})
	}
}

// drawing adds all lines of a picture.
func (k *ink) drawing(d *view.Drawing, items []view.Item) {
	for _, f := range d.Faces {
		for _, l := range f.Hatch {
			k.add(hatchInk, l...)
		}
	}
	for _, l := range d.Layers {
		for _, p := range l.Paths {
			k.add(roleInk[l.Group], p...)
		}
	}
}

// emptiest is the point of a line, not too near to its ends, around which
// least is drawn; of equal ones that nearest to its first third.
func (k *ink) emptiest(a, b view.Point) view.Point {
	best, least := a, math.Inf(1)
	for _, t := range []float64{0.4, 0.5, 0.3, 0.6, 0.25, 0.7, 0.2, 0.8} {
		p := view.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)}
		// Leaders run sideways from it: what stands there counts as well.
		r := view.Rect{X0: p.X - 12, Y0: p.Y - 1, X1: p.X + 12, Y1: p.Y + 1}
		if c := k.area(around(p, 1.5)) + 0.3*k.area(r); c < least-1e-9 {
			best, least = p, c
		}
	}
	return best
}
