package contact

import (
	"context"
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// movers keeps the shrunk meshes of parts, by part and skin.
type movers struct{ made sync.Map }

type moverKey struct {
	form  *form
	steps int
}

// skinStep, mm, rounds skins up, so that few are made of each part.
const skinStep = 0.01

// of gives the part's mesh shrunk by skin mm or a little more.
func (m *movers) of(s *form, skin float64) *bvh.Mover {
	k := moverKey{s, int(math.Ceil(min(skin, 1e6) / skinStep))}
	made, _ := m.made.LoadOrStore(k, sync.OnceValue(func() *bvh.Mover {
		return bvh.NewMover(s.part.Tree, float64(k.steps)*skinStep)
	}))
	return made.(func() *bvh.Mover)()
}

// deeper finds out whether the parts may share volume, deeper than what the
// facets may leave their surfaces and than faces may be drawn into each other.
func (m *meeting) deeper(made *movers) bool {
	if shared := m.box.Max.Sub(m.box.Min); min(shared[0], shared[1], shared[2]) <= 3*MaxTouch+m.touch {
		return false // they only touch: the box was grown to both sides, and one of the parts before
	}
	skin := m.touch + m.x.sagIn(m.box.Transformed(m.back)) + m.y.sagIn(m.box)
	if !made.of(m.x, skin).Aim(m.place, mgl64.Vec3{0, 0, 1}).Blocked(m.y.part.Tree, 0) {
		return false
	}
	m.out.skin = skin
	return true
}

// Volumes are measured for so many situations, with so many pairs of triangles
// each, a third of a second at most, and all together. Two meshes of 20,000
// triangles that lie in each other have a few million.
const (
	maxVolumes  = 500
	maxPairs    = 1 << 24
	maxAllPairs = 1 << 26
)

// measure finds the volumes that parts share. Beyond maxVolumes they stay
// unknown.
func (s *study) measure(ctx context.Context, cases []situation, found []verdict) {
	var deep []int
	for i := range found {
		if found[i].skin > 0 {
			deep = append(deep, i)
		}
	}
	feature.Parallel(ctx, len(deep), func(k int) {
		v := &found[deep[k]]
		m, ok := s.meet(&cases[deep[k]])
		if !ok {
			return
		}
		m.out = *v
		m.volume(pairs(k, len(deep)))
		*v = m.out
	})
}

// pairs is how many pairs of triangles volume k of n may cost.
func pairs(k, n int) int {
	if k >= maxVolumes {
		return 0
	}
	return min(maxPairs, maxAllPairs/min(n, maxVolumes))
}

func (m *meeting) volume(most int) {
	v, ok := nan, false
	if most > 0 {
		v, ok = bvh.CommonVolumeWithin(m.x.part.Tree, m.y.part.Tree, m.place, most)
	}
	if !ok {
		m.out.deep, m.out.shared = true, nan
		return
	}
	skin, here := m.out.skin, m.box.Transformed(m.back)
	if v <= max(leastShared, skin*skin*skin) || v <= m.x.chordVolume(m.y, m.place, m.box, skin)+m.y.chordVolume(m.x, m.back, here, skin) {
		m.line() // facets alone may have made it
		return
	}
	m.out.deep, m.out.shared = true, v
}

// leastShared, mm³, is what rounding leaves of bodies that only touch.
const leastShared = 1e-3

// chordVolume is at most what may lie, mm³, between the facets of s that are in
// the other part, or within skin of it, and their surfaces. place carries s to
// the other's coordinates, in which box is where they meet.
func (s *form) chordVolume(other *form, place geom.Transform, box geom.Box, skin float64) float64 {
	back, ok := place.Inverse()
	if !ok {
		return 0
	}
	tree, sum := other.part.Tree, 0.0
	s.part.Tree.OverlapBox(box.Transformed(back), func(t int32) bool {
		sag := s.sagOf(t)
		if sag == 0 {
			return true
		}
		c := s.corners(t)
		mid := place.Point(c[0].Add(c[1]).Add(c[2]).Mul(1. / 3))
		if _, near := tree.Closest(mid, skin); near || tree.Contains(mid) {
			sum += sag * s.part.Mesh.Cross(int(t)).Len() / 2
		}
		return true
	})
	return sum
}

// Depth is how far, mm, one of two solids has to be moved, along one of the
// root's axes, to be out of the other: at most, for moving it otherwise may
// take less. It is NaN for solids without a mesh.
func Depth(p *product.Product, a, b product.SolidIndex) float64 {
	s, t := &p.Solids[a], &p.Solids[b]
	if p.Part(a).Tree == nil || p.Part(b).Tree == nil {
		return nan
	}
	mover, fixed := bvh.NewMover(p.Part(a).Tree, Touch), p.Part(b).Tree.Placed(t.Place)
	best := math.Inf(1)
	for axis := range 3 {
		for _, sense := range []float64{1, -1} {
			far := s.Box.Max[axis] - t.Box.Min[axis]
			if sense > 0 {
				far = t.Box.Max[axis] - s.Box.Min[axis]
			}
			var d mgl64.Vec3
			d[axis] = sense
			best = min(best, exit(mover, s.Place, fixed, d, min(far, best)))
		}
	}
	return best
}

// exit halves the way along d, not longer than far, at whose end the mover is
// free; what it passes on the way does not count.
func exit(m *bvh.Mover, place geom.Transform, fixed *bvh.Tree, d mgl64.Vec3, far float64) float64 {
	if !(far > 0) || math.IsInf(far, 1) {
		return math.Inf(1)
	}
	blocked := func(way float64) bool {
		at := place
		at.T = at.T.Add(d.Mul(way))
		return m.Aim(at, d).Blocked(fixed, 0)
	}
	if blocked(far) {
		return math.Inf(1)
	}
	lo, hi := 0.0, far
	for hi-lo > max(0.001, 0.01*hi) {
		if mid := (lo + hi) / 2; blocked(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
