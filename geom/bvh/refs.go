package bvh

import (
	"context"
	"math"

	"stepscan/geom/mesh"
	"stepscan/geom/workers"
)

// gridSteps is how finely the builder sees the mesh's box along its longest
// side. Twice a coordinate still fits 31 bits.
const gridSteps = 1 << 30

// gridBox is a box in steps of the builder's grid. Whole numbers make growing a
// box free of branches, and areas exact: the same tree on every machine. The
// boxes of the finished tree are measured anew from the triangles.
type gridBox struct{ lo, hi [3]int32 }

var emptyGridBox = gridBox{
	lo: [3]int32{math.MaxInt32, math.MaxInt32, math.MaxInt32},
	hi: [3]int32{math.MinInt32, math.MinInt32, math.MinInt32},
}

func (a *gridBox) grow(b *gridBox) {
	a.lo[0], a.hi[0] = min(a.lo[0], b.lo[0]), max(a.hi[0], b.hi[0])
	a.lo[1], a.hi[1] = min(a.lo[1], b.lo[1]), max(a.hi[1], b.hi[1])
	a.lo[2], a.hi[2] = min(a.lo[2], b.lo[2]), max(a.hi[2], b.hi[2])
}

// growByCentre makes a hold twice the centre of b.
func (a *gridBox) growByCentre(b *gridBox) {
	x, y, z := b.lo[0]+b.hi[0], b.lo[1]+b.hi[1], b.lo[2]+b.hi[2]
	a.lo[0], a.hi[0] = min(a.lo[0], x), max(a.hi[0], x)
	a.lo[1], a.hi[1] = min(a.lo[1], y), max(a.hi[1], y)
	a.lo[2], a.hi[2] = min(a.lo[2], z), max(a.hi[2], z)
}

// halfArea is half the surface of a box that holds something; three products of
// 60 bits fit.
func (a *gridBox) halfArea() float64 {
	x, y, z := int64(a.hi[0]-a.lo[0]), int64(a.hi[1]-a.lo[1]), int64(a.hi[2]-a.lo[2])
	return float64(x*y + y*z + z*x)
}

// reference is a triangle as the builder moves it about.
type reference struct {
	gridBox
	id int32
}

func boxOf(refs []reference) gridBox {
	b := emptyGridBox
	for i := range refs {
		b.grow(&refs[i].gridBox)
	}
	return b
}

func centresOf(refs []reference) gridBox {
	b := emptyGridBox
	for i := range refs {
		b.growByCentre(&refs[i].gridBox)
	}
	return b
}

// references lists the triangles that have three finite corners.
func references(m *mesh.Mesh) []reference {
	g := gridOver(m)
	refs := make([]reference, len(m.Triangles))
	chunks := (len(refs) + pieceLen - 1) / pieceLen
	bad := make([]bool, chunks)
	workers.Run(context.Background(), chunks, 0, func(i int) {
		from := i * pieceLen
		bad[i] = g.refer(m, int32(from), refs[from:min(from+pieceLen, len(refs))])
	})
	for _, b := range bad {
		if b {
			return sound(refs)
		}
	}
	return refs
}

// sound leaves out the triangles that refer found bad.
func sound(refs []reference) []reference {
	n := 0
	for i := range refs {
		if refs[i].id >= 0 {
			refs[n] = refs[i]
			n++
		}
	}
	return refs[:n]
}

// grid maps coordinates, mm, to steps.
type grid struct {
	lo    [3]float64
	scale float64 // steps a mm; 0 where the mesh is a point or has no size that a number can hold
}

func gridOver(m *mesh.Mesh) grid {
	b := emptyBounds()
	for i := range m.Vertices {
		p := &m.Vertices[i]
		if s := p[0] - p[0] + (p[1] - p[1]) + (p[2] - p[2]); s == 0 {
			growBounds(&b, &[6]float64{p[0], p[1], p[2], p[0], p[1], p[2]})
		}
	}
	size := max(b[3]-b[0], b[4]-b[1], b[5]-b[2])
	scale := (gridSteps - 1) / size
	if !(size > 0) || scale-scale != 0 || size-size != 0 {
		return grid{}
	}
	return grid{lo: [3]float64(b[:3]), scale: scale}
}

// refer fills refs with the triangles from the given one on, and reports bad
// ones, whose id it makes -1.
func (g *grid) refer(m *mesh.Mesh, from int32, refs []reference) (bad bool) {
	n := int32(len(m.Vertices))
	for i := range refs {
		r := &refs[i]
		r.id = from + int32(i)
		v := &m.Triangles[r.id]
		var c [9]float64
		if min(v[0], v[1], v[2]) >= 0 && max(v[0], v[1], v[2]) < n {
			corners(m, r.id, &c)
		} else {
			c[0] = math.NaN()
		}
		if !finite9(&c) {
			r.id, bad = -1, true
			continue
		}
		b := triangleBounds(&c)
		for k := range 3 {
			r.lo[k] = int32((b[k] - g.lo[k]) * g.scale)
			r.hi[k] = int32((b[k+3] - g.lo[k]) * g.scale)
		}
	}
	return bad
}

func finite9(c *[9]float64) bool {
	s := 0.0
	for _, x := range c {
		s += x - x // Inf-Inf and NaN-NaN are both NaN
	}
	return s == 0
}
