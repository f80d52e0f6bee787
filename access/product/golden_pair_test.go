package product

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// held is what our product has for one part of the reference: the solids of the
// first of its leaves, seen in the leaf's frame.
type held struct {
	faces, solids int // as read; several bodies of a product are parts of their own here
	triangles     int
	volume, area  float64 // of the exact surface
	centre        mgl64.Vec3
	meshVolume    float64
	meshArea      float64
	areaCentre    mgl64.Vec3 // of the mesh
	box           geom.Box
	closed        bool
	meshed        map[int]bool // faces with triangles, counted through parts
	parts         []*Part
}

// pairing matches the reference's nodes with our occurrences.
type pairing struct {
	p      *Product
	g      *golden
	ours   map[int][]int // children; -1 has the root
	theirs map[int][]int
	mate   map[int]int // reference node to occurrence
}

// pair walks down both trees at once. That the trees are the same, but for
// stated rules, is tested where they are read; here it is enough to find, of
// siblings, the one of the same product in the same place.
func pair(p *Product, g *golden) *pairing {
	c := &pairing{p: p, g: g, ours: map[int][]int{}, theirs: map[int][]int{}, mate: map[int]int{}}
	for i := range p.Occs {
		c.ours[p.Occs[i].Parent] = append(c.ours[p.Occs[i].Parent], i)
	}
	for i, n := range g.Tree {
		up := -1
		if n.Parent != nil {
			up = *n.Parent
		}
		c.theirs[up] = append(c.theirs[up], i)
	}
	c.siblings(-1, -1)
	return c
}

func (c *pairing) siblings(up, refUp int) {
	left := slices.Clone(c.ours[up])
	take := func(k int, same func(name, place bool) bool) {
		n := &c.g.Tree[k]
		i := slices.IndexFunc(left, func(i int) bool {
			o := &c.p.Occs[i]
			return same(c.p.Parts[o.Part].Name == n.Product, samePlace(o.Placement.Rows(), n.Placement))
		})
		if i >= 0 {
			c.mate[k] = left[i]
			left = slices.Delete(left, i, i+1)
		}
	}
	for _, same := range []func(name, place bool) bool{
		func(name, place bool) bool { return name && place },
		func(_, place bool) bool { return place },
	} {
		for _, k := range c.theirs[refUp] {
			if _, done := c.mate[k]; !done {
				take(k, same)
			}
		}
	}
	for _, k := range c.theirs[refUp] {
		switch i, ok := c.mate[k]; {
		case ok:
			c.siblings(i, k)
		case refUp >= 0 && len(c.ours[up]) == 0:
			c.mate[k] = up // a product of one body, which the reference split off its curves
		}
	}
}

func samePlace(a, b [12]float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= 1e-6+5e-10*math.Abs(b[i])) {
			return false
		}
	}
	return true
}

// of is what we have for part k of the reference; false where no leaf of it has
// a mate.
func (c *pairing) of(k int) (held, bool) {
	for n := range c.g.Tree {
		if p := c.g.Tree[n].Part; p == nil || *p != k {
			continue
		}
		if i, ok := c.mate[n]; ok {
			return c.under(i), true
		}
	}
	return held{}, false
}

// under gathers the solids of an occurrence: its own, or those of several bodies
// of its product, which are occurrences below it.
func (c *pairing) under(at int) held {
	h := held{box: geom.EmptyBox(), closed: true, meshed: map[int]bool{}}
	back, _ := c.p.Occs[at].Placement.Inverse()
	var moment, areaMoment mgl64.Vec3
	for _, i := range append([]int{at}, c.ours[at]...) {
		o := &c.p.Occs[i]
		part := &c.p.Parts[o.Part]
		if i != at && !o.Body || !part.HasShape() {
			continue
		}
		place := back.Mul(o.Placement)
		m := part.Mesh.Transformed(place)
		for _, b := range part.Bodies {
			h.faces += len(b.Faces)
			if b.Solid {
				h.solids++
			}
		}
		for _, f := range m.FaceOf {
			h.meshed[len(h.parts)<<24+int(f)] = true
		}
		for _, t := range m.Triangles {
			p, q, r := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
			areaMoment = areaMoment.Add(p.Add(q).Add(r).Mul(q.Sub(p).Cross(r.Sub(p)).Len() / 6))
		}
		h.parts = append(h.parts, part)
		h.triangles += len(m.Triangles)
		h.volume, h.area = h.volume+part.Volume, h.area+part.Area
		moment = moment.Add(place.Point(part.Centroid).Mul(part.Volume))
		h.meshVolume, h.meshArea = h.meshVolume+m.Volume(), h.meshArea+m.Area()
		h.box = h.box.Union(m.Box())
		h.closed = h.closed && part.Closed
	}
	h.closed = h.closed && len(h.parts) > 0
	h.centre, h.areaCentre = moment.Mul(1/h.volume), areaMoment.Mul(1/h.meshArea)
	return h
}
