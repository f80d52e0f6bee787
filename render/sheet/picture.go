package sheet

import (
	"cmp"
	"slices"

	"stepscan/render/view"
)

var kindClass = map[view.Kind]string{view.CutEdge: "cut", view.Contour: "contour", view.Edge: "edge"}

// maxPoints bounds the points of one picture, at some 12 bytes each, so that a
// sheet stays below 400 kB.
const (
	maxPoints     = 9000  // one of three on a joint's sheet
	maxPointsMost = 15000 // one of two on the overview
)

// under paints what lies below the lines: cut faces, then whole solids in
// front of the cut.
func (g *page) under(id string, d *view.Drawing, items []view.Item) {
	g.group(id+"-areas", "areas")
	for _, f := range d.Faces {
		g.inRole(items[f.Item].Group, func() { g.path("area", f.Loops, true) })
	}
	for _, f := range d.Masks {
		g.inRole(items[f.Item].Group, func() { g.path("mask", f.Loops, true) })
	}
	g.end()
}

func (g *page) inRole(group int, draw func()) {
	g.group("", roleClass[group])
	draw()
	g.end()
}

// lines draws hatches and lines, the least important first.
func (g *page) lines(id string, d *view.Drawing, items []view.Item, most int) {
	thin(d, most)
	g.group(id+"-lines", "lines")
	for r := int(inside); r >= 0; r-- {
		g.group("", roleClass[r])
		var hatch [][]view.Point
		for _, f := range d.Faces {
			if items[f.Item].Group == r {
				hatch = append(hatch, f.Hatch...)
			}
		}
		g.path("hatch", hatch, false)
		for k := len(d.Layers) - 1; k >= 0; k-- {
			if l := d.Layers[k]; l.Group == r {
				g.path(kindClass[l.Kind], l.Paths, false)
			}
		}
		g.end()
	}
	g.end()
}

// thin makes a drawing small enough to print and to mail: it smooths the lines
// more and more, and if that is not enough leaves out the shortest lines of
// the least important layers.
func thin(d *view.Drawing, most int) {
	for tol := 0.03; tol < 0.3 && points(d) > most; tol *= 2 {
		for k := range d.Layers {
			for i, p := range d.Layers[k].Paths {
				d.Layers[k].Paths[i] = view.Smooth(p, tol)
			}
		}
	}
	over := points(d) - most
	for k := len(d.Layers) - 1; k >= 0 && over > 0; k-- {
		l := &d.Layers[k]
		slices.SortStableFunc(l.Paths, func(a, b []view.Point) int { return cmp.Compare(size(b), size(a)) })
		n := len(l.Paths)
		for ; n > 0 && over > 0; n-- {
			over -= len(l.Paths[n-1])
		}
		l.Paths = l.Paths[:n]
	}
}

func points(d *view.Drawing) int {
	n := 0
	for _, l := range d.Layers {
		n += count(l.Paths)
	}
	return n
}

func count(paths [][]view.Point) int {
	n := 0
	for _, p := range paths {
		n += len(p)
	}
	return n
}

// size is the longer side of the rectangle around a line, mm.
func size(p []view.Point) float64 {
	r := view.EmptyRect()
	for _, q := range p {
		r = r.Add(q)
	}
	return max(r.W(), r.H())
}
