package reach

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// blocking answers, for one direction, whether a solid moved along it meets
// another. Answers are kept. It is not safe for concurrent use.
type blocking struct {
	s      *scene
	d      mgl64.Vec3
	known  map[[2]product.SolidIndex]bool
	aimed  map[product.SolidIndex]*bvh.Aimed
	size   int                    // triangles in aimed
	before [][]product.SolidIndex // by solid: whose boxes it may meet
	pairs  int                    // how many more there may be in before
	work   int                    // how much more may be spent on contacts
	heaped bool                   // the one or the other was not enough
}

// What all directions together may cost: pairs of solids in each other's way
// (8 bytes each), and contacts in the unit of bvh.Aimed.Work, some 4 s. To it
// comes so much a solid in each direction: sound files need up to 20 pairs and
// 11,000 units. Only parts that all lie in each other, as after damaged
// placements, use it up.
const (
	maxPairs = 1 << 22
	maxWork  = 1 << 27

	solidPairs = 64
	solidWork  = 40_000
)

func newBlocking(s *scene, d mgl64.Vec3, pairs, work int) *blocking {
	return &blocking{
		s: s, d: d, known: map[[2]product.SolidIndex]bool{}, aimed: map[product.SolidIndex]*bvh.Aimed{},
		pairs: pairs, work: work,
	}
}

// blocks reports whether solid a, moved along the direction, meets a solid
// that is ahead of it. When the work is used up, every box in the way blocks:
// what lies in a heap then stays there.
func (b *blocking) blocks(a, fixed product.SolidIndex) bool {
	key := [2]product.SolidIndex{a, fixed}
	hit, ok := b.known[key]
	switch {
	case ok:
		return hit
	case b.work <= 0:
		b.heaped = true
		return true
	}
	hit = b.contact(a, fixed)
	b.known[key] = hit
	return hit
}

// contact sweeps the mesh of a.
func (b *blocking) contact(a, fixed product.SolidIndex) bool {
	m := b.aim(a)
	before := m.Work()
	hit := m.Blocked(b.s.fixed(fixed), math.Inf(1))
	b.work -= 1 + m.Work() - before
	return hit
}

// maxAimed bounds, in triangles, the meshes that are kept turned into the
// direction; 100,000 take some 20 MB. A solid is asked about many others in a
// row, so those that are forgotten are seldom missed.
const maxAimed = 100_000

// aim is a solid's mesh turned into the direction.
func (b *blocking) aim(a product.SolidIndex) *bvh.Aimed {
	if m := b.aimed[a]; m != nil {
		return m
	}
	n := b.s.tree(a).Len()
	if b.size += n; b.size > maxAimed {
		clear(b.aimed)
		b.size = n
	}
	b.aimed[a] = b.s.mover(a).Aim(b.s.p.Solids[a].Place, b.d)
	return b.aimed[a]
}

// ahead lists, sorted, the solids that a's box may meet on its way.
// It is asked of what is passable only.
func (b *blocking) ahead(a product.SolidIndex) []product.SolidIndex {
	b.passable()
	return b.before[a]
}

// passable reports whether anything can be said about who leaves: not where
// more solids are in each other's way than there is room for.
func (b *blocking) passable() bool {
	if b.before == nil {
		b.sortOut()
	}
	return b.pairs >= 0
}

// shadow is a solid's extent in coordinates across (u, v) and along (h) the
// direction, less half a skin all round: what only touches is not met.
type shadow struct {
	solid  product.SolidIndex
	lo, hi mgl64.Vec3
}

// sortOut finds all pairs whose shadows overlap, by a sweep along u.
func (b *blocking) sortOut() {
	n := b.s.len()
	b.before = make([][]product.SolidIndex, n)
	all := make([]shadow, n)
	for i := range all {
		all[i] = b.shadow(product.SolidIndex(i))
	}
	slices.SortFunc(all, func(p, q shadow) int { return cmp.Or(cmp.Compare(p.lo[0], q.lo[0]), int(p.solid-q.solid)) })
	for i := range all {
		p := &all[i]
		for j := i + 1; j < n && all[j].lo[0] <= p.hi[0]; j++ {
			q := &all[j]
			if p.lo[1] > q.hi[1] || q.lo[1] > p.hi[1] {
				continue
			}
			if q.hi[2] >= p.lo[2] {
				b.before[p.solid] = append(b.before[p.solid], q.solid)
				b.pairs--
			}
			if p.hi[2] >= q.lo[2] {
				b.before[q.solid] = append(b.before[q.solid], p.solid)
				b.pairs--
			}
		}
		if b.pairs < 0 {
			b.heaped, b.before = true, [][]product.SolidIndex{}
			return
		}
	}
	for i := range b.before {
		slices.Sort(b.before[i])
	}
}

func (b *blocking) shadow(i product.SolidIndex) shadow {
	x := geom.Perpendicular(b.d)
	y := b.d.Cross(x)
	out := shadow{solid: i}
	for k, axis := range [3]mgl64.Vec3{x, y, b.d} {
		lo, hi := extent(&b.s.p.Solids[i].Box, axis)
		shrink := min(b.s.skin()/2, (hi-lo)/2) // a label is thinner than the skin
		out.lo[k], out.hi[k] = lo+shrink, hi-shrink
	}
	return out
}

// extent is the range of a box along a direction, mm.
func extent(x *geom.Box, d mgl64.Vec3) (lo, hi float64) {
	for k := range 3 {
		a, c := x.Min[k]*d[k], x.Max[k]*d[k]
		lo, hi = lo+min(a, c), hi+max(a, c)
	}
	return lo, hi
}
