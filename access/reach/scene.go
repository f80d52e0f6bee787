package reach

import (
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// scene answers questions about placed solids in the root's frame. It is safe
// for concurrent use.
type scene struct {
	p      *product.Product
	mirror []bool   // by solid: angles about an axis change their sense
	ball   []ball   // by solid: about its box
	movers []mover  // by part: made when first moved
	placed []placed // by solid: made when something is first moved against it
}

type mover struct {
	once sync.Once
	m    *bvh.Mover
}

type placed struct {
	once sync.Once
	t    *bvh.Tree
}

type ball struct {
	c mgl64.Vec3
	r float64 // mm
}

func newScene(p *product.Product) *scene {
	s := &scene{
		p: p, mirror: make([]bool, len(p.Solids)), ball: make([]ball, len(p.Solids)),
		movers: make([]mover, len(p.Parts)),
		placed: make([]placed, len(p.Solids)),
	}
	for i := range p.Solids {
		s.mirror[i] = p.Solids[i].Place.M.Det() < 0
		s.ball[i] = ball{p.Solids[i].Box.Centre(), p.Solids[i].Box.Diagonal() / 2}
	}
	return s
}

func (s *scene) len() int { return len(s.p.Solids) }

func (s *scene) tree(i product.SolidIndex) *bvh.Tree { return s.p.Part(i).Tree }

// mover is a solid's part, shrunk by the skin.
func (s *scene) mover(i product.SolidIndex) *bvh.Mover {
	m := &s.movers[s.p.Solids[i].Part]
	m.once.Do(func() { m.m = bvh.NewMover(s.tree(i), s.skin()) })
	return m.m
}

// fixed is a solid's tree in the root's frame, for others to be moved against.
func (s *scene) fixed(i product.SolidIndex) *bvh.Tree {
	p := &s.placed[i]
	p.once.Do(func() { p.t = s.tree(i).Placed(s.p.Solids[i].Place) })
	return p.t
}

// chord is how far the mesh of a solid may leave its exact surface, mm.
func (s *scene) chord(i product.SolidIndex) float64 {
	if m := s.p.Part(i).Mesh; m != nil && m.Chord > 0 {
		return m.Chord
	}
	return s.p.Tol.Chord
}

// skin is the gap, mm, below which two surfaces are taken to touch: the meshes
// of both may be off by a chord, and nominal models place touching faces
// within some hundredths.
func (s *scene) skin() float64 { return 2*s.p.Tol.Chord + 0.02 }

// near reports whether a solid can have points within r of the axis at heights
// in [z0, z1], by the ball about its box: it never misses one.
func (s *scene) near(i product.SolidIndex, a geom.Axis, z0, z1, r float64) bool {
	b := &s.ball[i]
	h := a.Height(b.c)
	return h+b.r >= z0 && h-b.r <= z1 && a.Distance(b.c) <= r+b.r
}

// rooms is bvh's, for a placed solid.
func (s *scene) rooms(i product.SolidIndex, a geom.Axis, rings []bvh.Ring, limit float64) (rooms []bvh.Room, worst int) {
	b := &s.p.Solids[i]
	rooms, worst = s.tree(i).Rooms(a.Transformed(b.Back), rings, limit)
	for k := range rooms {
		rooms[k].P = b.Place.Point(rooms[k].P)
	}
	return rooms, worst
}

// contains reports whether a point lies in the material of a solid.
func (s *scene) contains(i product.SolidIndex, q mgl64.Vec3) bool {
	if !s.p.Solids[i].Box.Overlaps(geom.Box{Min: q, Max: q}) {
		return false
	}
	return s.tree(i).Contains(s.p.Solids[i].Back.Point(q))
}

// blocked are the angles about an axis, from xref anticlockwise seen against
// the axis, at which an arm would meet a solid.
func (s *scene) blocked(i product.SolidIndex, a geom.Axis, xref mgl64.Vec3, z0, z1, r0, r1, halfW float64) bvh.Arcs {
	b := &s.p.Solids[i]
	arcs := s.tree(i).BlockedArcs(a.Transformed(b.Back), b.Back.Dir(xref), z0, z1, r0, r1, halfW)
	if s.mirror[i] {
		for k, v := range arcs {
			arcs[k] = bvh.Arc{From: -v.To, To: -v.From}
		}
		arcs = bvh.ArcsOf(arcs...)
	}
	return arcs
}

// hits reports whether a ray from o along the unit direction d meets a solid.
func (s *scene) hits(i product.SolidIndex, o, d mgl64.Vec3) bool {
	if !rayMeetsBox(&s.p.Solids[i].Box, &o, &d) {
		return false
	}
	b := &s.p.Solids[i].Back
	return s.tree(i).AnyHit(b.Point(o), b.Dir(d), 0, math.Inf(1))
}

// rayMeetsBox is the slab test; touching counts.
func rayMeetsBox(b *geom.Box, o, d *mgl64.Vec3) bool {
	near, far := 0.0, math.Inf(1)
	for k := range 3 {
		lo, hi := b.Min[k]-o[k], b.Max[k]-o[k]
		if d[k] == 0 {
			if lo > 0 || hi < 0 {
				return false
			}
			continue
		}
		t0, t1 := lo/d[k], hi/d[k]
		near, far = max(near, min(t0, t1)), min(far, max(t0, t1))
	}
	return near <= far
}
