package view

import (
	"context"
	"math"
	"slices"

	"github.com/fogleman/ln/ln"

	"stepscan/geom"
	"stepscan/geom/workers"
)

// placed is an item as it lies on the page.
type placed struct {
	item       int
	box        geom.Box // of the model
	rect       Rect
	zmin, zmax float64
	blocks     bool
	face       *area // cut face
	lines      []stroke
	mask       [][]Point
}

// stroke is a line in page space that may be hidden in part.
type stroke struct {
	kind Kind
	path ln.Path
}

// Draw draws the scene. Items without lines, without a finite place or outside
// the window are skipped; an empty window gives an empty drawing.
func Draw(s Scene) *Drawing {
	d := &Drawing{Camera: s.Camera}
	if !(s.Camera.Window.W() > 0) || !(s.Camera.Window.H() > 0) || !(s.Camera.Scale > 0) {
		return d
	}
	all := s.place()
	parallel(s.Workers, len(all), func(i int) { s.prepare(&all[i]) })
	v := newSight(&s, all)
	d.faces(&s, v, all)
	d.strokes(&s, v, all)
	return d
}

// place finds the items that can be seen.
func (s *Scene) place() []placed {
	depth := s.depth()
	var out []placed
	for i := range s.Items {
		it := &s.Items[i]
		if it.Style == LeftOut || it.Lines == nil || it.Lines.None() {
			continue
		}
		p := placed{item: i, box: it.Lines.Box().Transformed(it.Place)}
		p.rect, p.zmin, p.zmax = s.Camera.pageRect(p.box)
		size := p.rect.X0 + p.rect.Y0 + p.rect.X1 + p.rect.Y1 + p.zmin + p.zmax
		if math.IsNaN(size-size) || !p.rect.Overlaps(s.Camera.Window) || !it.Whole && p.zmin >= depth {
			continue
		}
		p.blocks = it.Tree != nil
		out = append(out, p)
	}
	return out
}

// depth of the cut in page space, +Inf without one.
func (s *Scene) depth() float64 {
	if s.Cut == nil {
		return math.Inf(1)
	}
	_, z := s.Camera.Page(*s.Cut)
	return z
}

// prepare finds the strokes, the cut face and the mask of one item.
func (s *Scene) prepare(p *placed) {
	it := &s.Items[p.item]
	verts := s.pageVertices(it)
	depth := s.depth()
	back, _ := it.Place.Inverse()
	dir := back.Dir(s.Camera.Dir)
	limit := depth
	if it.Whole {
		limit = math.Inf(1)
	}
	contour, inner := it.Lines.Seen(dir, it.Style.minTurn())
	p.stroke(Contour, verts, contour, s.Camera.Window, limit)
	p.stroke(Edge, verts, inner, s.Camera.Window, limit)
	if s.Cut == nil || p.zmin > depth || p.zmax <= depth && !it.Whole {
		return
	}
	if it.Whole {
		c := cutter{verts, depth}
		p.mask = c.outline(it.Lines.Mesh().Triangles, it.Lines.Facing(dir))
		return
	}
	loops := s.section(it)
	p.face = newArea(loops)
	for _, l := range loops {
		p.stroke3(CutEdge, flat(append(slices.Clone(l), l[0]), depth), s.Camera.Window, math.Inf(1))
	}
}

func flat(l []Point, z float64) ln.Path {
	out := make(ln.Path, len(l))
	for i, p := range l {
		out[i] = ln.Vector{X: p.X, Y: p.Y, Z: z}
	}
	return out
}

func (p *placed) stroke(k Kind, verts []ln.Vector, chains [][]int32, win Rect, depth float64) {
	for _, c := range chains {
		path := make(ln.Path, len(c))
		for i, v := range c {
			path[i] = verts[v]
		}
		p.stroke3(k, path, win, depth)
	}
}

func (p *placed) stroke3(k Kind, path ln.Path, win Rect, depth float64) {
	for _, run := range clip(path, win, depth) {
		p.lines = append(p.lines, stroke{k, run})
	}
}

func (s *Scene) pageVertices(it *Item) []ln.Vector {
	m := s.Camera.matrix()
	out := make([]ln.Vector, len(it.Lines.Mesh().Vertices))
	for i, v := range it.Lines.Mesh().Vertices {
		out[i] = m.MulPosition(vector(it.Place.Point(v)))
	}
	return out
}

// strokes walks all strokes and sorts what is visible into layers.
func (d *Drawing) strokes(s *Scene, v *sight, all []placed) {
	type job struct{ p, line int }
	var jobs []job
	for i := range all {
		for k := range all[i].lines {
			jobs = append(jobs, job{i, k})
		}
	}
	seen := make([]ln.Paths, len(jobs))
	parallel(s.Workers, len(jobs), func(i int) {
		p := &all[jobs[i].p]
		seen[i] = walk(p.lines[jobs[i].line].path, v.filter(p.item, s.Items[p.item].Style))
	})
	type key struct {
		group int
		kind  Kind
	}
	sorted := map[key]ln.Paths{}
	var keys []key
	for i, j := range jobs {
		k := key{s.Items[all[j.p].item].Group, all[j.p].lines[j.line].kind}
		if _, ok := sorted[k]; !ok {
			keys = append(keys, k)
		}
		sorted[k] = append(sorted[k], seen[i]...)
	}
	slices.SortFunc(keys, func(a, b key) int { return (a.group-b.group)*int(numKinds) + int(a.kind) - int(b.kind) })
	t := newTidier()
	for _, k := range keys {
		if paths := t.add(sorted[k]); len(paths) > 0 {
			d.Layers = append(d.Layers, Layer{k.group, k.kind, paths})
		}
	}
}

// filter is what an item's lines are seen through.
func (v *sight) filter(item int, st Style) ln.Filter {
	if st == Outline {
		return alone{v, item}
	}
	return v
}

// parallel runs f for 0 to n-1 on w workers; f(i) writes only what belongs to i.
func parallel(w, n int, f func(int)) { workers.Run(context.Background(), n, w, f) }
