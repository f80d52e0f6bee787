package view

import (
	"cmp"
	"slices"

	"github.com/fogleman/ln/ln"

	"stepscan/geom"
)

// section returns, on the page, the loops in which the scene's plane cuts an
// item.
func (s *Scene) section(it *Item) [][]Point {
	back, ok := it.Place.Inverse()
	if !ok || !it.Lines.Sound() {
		return nil
	}
	// A plane's normal goes back by the transpose, under any placement.
	normal, ok := geom.Unit(it.Place.M.Transpose().Mul3x1(s.Camera.Dir))
	if !ok {
		return nil
	}
	loops := it.Lines.Mesh().Section(geom.Axis{O: back.Point(*s.Cut), D: normal})
	out := make([][]Point, len(loops))
	for i, l := range loops {
		for _, v := range l {
			p, _ := s.Camera.Page(it.Place.Point(v))
			out[i] = append(out[i], p)
		}
	}
	return out
}

// node names a corner of a loop by what made it: a vertex {v, -1}, or the
// place where a plane meets the mesh edge {a, b}, a < b. Two triangles that
// share an edge so name the same corner, and loops close without comparing
// coordinates.
type node [2]int32

func compareNodes(p, q node) int { return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1])) }

// arc is a directed piece of a loop.
type arc struct{ from, to node }

// cutter keeps of a mesh, whose vertices are given in page space, what stands
// in front of a depth. As with mesh.Section, a vertex exactly on the plane
// counts as in front.
type cutter struct {
	verts []ln.Vector
	depth float64
}

func (c *cutter) front(v int32) bool { return c.verts[v].Z >= c.depth }

func edgeNode(a, b int32) node { return node{min(a, b), max(a, b)} }

func (c *cutter) place(n node) Point {
	a := c.verts[n[0]]
	if n[1] < 0 {
		return Point{a.X, a.Y}
	}
	b := c.verts[n[1]]
	t := (c.depth - a.Z) / (b.Z - a.Z)
	return Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
}

// outline returns the border of all that faces the eye in front of the plane:
// filled by the non-zero rule it covers exactly what these facets cover.
func (c *cutter) outline(tris [][3]int32, facing []bool) [][]Point {
	var arcs []arc
	for i, t := range tris {
		if !facing[i] {
			continue
		}
		var corner []node
		for k := range 3 {
			p, q := t[k], t[(k+1)%3]
			fp, fq := c.front(p), c.front(q)
			if fp {
				corner = append(corner, node{p, -1})
			}
			if fp != fq {
				corner = append(corner, edgeNode(p, q))
			}
		}
		for k := range corner {
			arcs = append(arcs, arc{corner[k], corner[(k+1)%len(corner)]})
		}
	}
	return c.rings(cancel(arcs))
}

// cancel drops pairs of opposite arcs.
func cancel(arcs []arc) []arc {
	sense := func(a arc) int { return compareNodes(a.from, a.to) }
	lesser := func(a arc) arc {
		if sense(a) > 0 {
			return arc{a.to, a.from}
		}
		return a
	}
	slices.SortFunc(arcs, func(a, b arc) int {
		p, q := lesser(a), lesser(b)
		return cmp.Or(compareNodes(p.from, q.from), compareNodes(p.to, q.to), cmp.Compare(sense(a), sense(b)))
	})
	var out []arc
	for i := 0; i < len(arcs); {
		j, sum := i, 0
		for ; j < len(arcs) && lesser(arcs[j]) == lesser(arcs[i]); j++ {
			sum += sense(arcs[j])
		}
		switch {
		case sum > 0:
			out = append(out, arcs[j-1])
		case sum < 0:
			out = append(out, arcs[i])
		}
		i = j
	}
	return out
}

// rings joins arcs end to end.
func (c *cutter) rings(arcs []arc) [][]Point {
	var loops [][]Point
	slices.SortFunc(arcs, func(a, b arc) int {
		return cmp.Or(compareNodes(a.from, b.from), compareNodes(a.to, b.to))
	})
	next := func(n node) int {
		i, _ := slices.BinarySearchFunc(arcs, n, func(a arc, n node) int { return compareNodes(a.from, n) })
		return i
	}
	used := make([]bool, len(arcs))
	for i := range arcs {
		if used[i] {
			continue
		}
		var loop []Point
		for j := i; ; {
			used[j] = true
			loop = append(loop, c.place(arcs[j].from))
			if arcs[j].to == arcs[i].from {
				break
			}
			k := next(arcs[j].to)
			for k < len(arcs) && arcs[k].from == arcs[j].to && used[k] {
				k++
			}
			if k == len(arcs) || arcs[k].from != arcs[j].to {
				break // an open mesh: filling closes the gap
			}
			j = k
		}
		loops = append(loops, loop)
	}
	return loops
}
