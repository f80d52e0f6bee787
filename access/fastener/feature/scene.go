package feature

import (
	"context"
	"math"
	"slices"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/boxes"
	"stepscan/geom/bvh"
	"stepscan/geom/workers"
)

// Scene is a product with the features of its parts and a quick way to ask
// which solids are near a box.
type Scene struct {
	P     *product.Product
	Parts []*Part // same order as the product's parts
	tree  *boxes.Tree
}

// NewScene reads every part once, on all cores. A cancelled context leaves
// parts without features.
func NewScene(ctx context.Context, p *product.Product) *Scene {
	s := &Scene{P: p, Parts: make([]*Part, len(p.Parts))}
	Parallel(ctx, len(p.Parts), func(i int) { s.Parts[i] = of(ctx, &p.Parts[i]) })
	for i := range s.Parts {
		if s.Parts[i] == nil {
			s.Parts[i] = &Part{}
		}
	}
	all := make([]geom.Box, len(p.Solids))
	for i := range all {
		all[i] = p.Solids[i].Box
	}
	s.tree = boxes.New(all)
	return s
}

// Near lists the solids whose boxes share a point with b, in their order.
func (s *Scene) Near(b geom.Box) []product.SolidIndex {
	var out []product.SolidIndex
	s.tree.Within(b, func(i int32) bool {
		out = append(out, product.SolidIndex(i))
		return true
	})
	slices.Sort(out)
	return out
}

// Around lists the holes of a solid about an axis of the root's frame; see
// Part.Around. Solids placed with a scale have none.
func (s *Scene) Around(k product.SolidIndex, a geom.Axis, dist, minSweep float64) []Segment {
	return s.ask(k, a, dist, minSweep, (*Part).Around)
}

// Inside lists the shafts of a solid about an axis of the root's frame.
func (s *Scene) Inside(k product.SolidIndex, a geom.Axis, dist, minSweep float64) []Segment {
	return s.ask(k, a, dist, minSweep, (*Part).Inside)
}

// FreeRadius asks a solid's mesh how near to an axis of the root's frame it
// comes between two heights, if nearer than rmax mm; see bvh.Tree.FreeRadius.
// The place of the answer is in the solid's coordinates. Solids without a mesh,
// or placed with a scale, have none.
func (s *Scene) FreeRadius(k product.SolidIndex, a geom.Axis, z0, z1, rmax float64) (bvh.Free, bool) {
	solid := &s.P.Solids[k]
	tree := s.P.Part(k).Tree
	if tree == nil || !KeepsSize(solid.Place) {
		return bvh.Free{}, false
	}
	return tree.FreeRadius(a.Transformed(solid.Back), z0, z1, rmax)
}

func (s *Scene) ask(k product.SolidIndex, a geom.Axis, dist, minSweep float64,
	f func(*Part, geom.Axis, float64, float64) []Segment,
) []Segment {
	solid := &s.P.Solids[k]
	if !KeepsSize(solid.Place) {
		return nil
	}
	return f(s.Parts[solid.Part], a.Transformed(solid.Back), dist, minSweep)
}

// KeepsSize reports a placement that changes no length by more than 1 in
// 10,000: rotations and mirrors, also those that a file writes with few
// digits. Radii of the part then hold in the root's frame.
func KeepsSize(t geom.Transform) bool {
	p := t.M.Transpose().Mul3(t.M)
	for i := range 3 {
		for j := range 3 {
			want := 0.0
			if i == j {
				want = 1
			}
			if !(math.Abs(p.At(i, j)-want) <= 2e-4) {
				return false
			}
		}
	}
	return true
}

// Parallel calls f(0..n-1) on all cores, each once, unless ctx ends before. f
// writes only to what belongs to its index.
func Parallel(ctx context.Context, n int, f func(int)) { workers.Run(ctx, n, 0, f) }
