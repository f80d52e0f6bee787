package contact

import (
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

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

// depth finds out whether the parts share volume, deeper than what the facets
// may leave their surfaces and than faces may be drawn into each other.
func (m *meeting) depth(made *movers) {
	back, ok := m.place.Inverse()
	if !ok {
		return
	}
	if shared := m.box.Max.Sub(m.box.Min); min(shared[0], shared[1], shared[2]) <= 3*MaxTouch+m.touch {
		return // they only touch: the box was grown to both sides, and one of the parts before
	}
	here := m.box.Transformed(back)
	sags := [2]float64{m.x.sagIn(here), m.y.sagIn(m.box)}
	aimed := made.of(m.x, m.touch+sags[0]+sags[1]).Aim(m.place, mgl64.Vec3{0, 0, 1})
	if !aimed.Blocked(m.y.part.Tree, 0) {
		return
	}
	v, ok := bvh.CommonVolume(m.x.part.Tree, m.y.part.Tree, m.place)
	if !ok {
		m.out.deep, m.out.shared = true, nan
		return
	}
	explained := m.x.chordVolume(here) + m.y.chordVolume(m.box)
	if v <= explained && v < leastShare*min(m.x.part.Volume, m.y.part.Volume) {
		return // the chords may have made it
	}
	m.out.deep, m.out.shared = true, v
}

// leastShare of the smaller part's volume is more than its facets can be off.
const leastShare = 0.1

// chordVolume is at most what lies, mm³, between the facets in the box and
// their surfaces.
func (s *form) chordVolume(b geom.Box) float64 {
	sum := 0.0
	s.part.Tree.OverlapBox(b, func(t int32) bool {
		sum += s.sagOf(t) * s.part.Mesh.Cross(int(t)).Len() / 2
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
