package contact

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/boxes"
)

// maxNear bounds the pairs that are looked at: a sound product has some ten
// for each solid, one that lies in a heap has the square of their number.
const maxNear = 400_000

// study is the work on one product.
type study struct {
	p      *product.Product
	forms  []*form // of the parts that solids use
	movers movers
}

func newStudy(ctx context.Context, scene *feature.Scene) *study {
	p := scene.P
	s := &study{p: p, forms: make([]*form, len(p.Parts))}
	used := make([]bool, len(p.Parts))
	for i := range p.Solids {
		used[p.Solids[i].Part] = true
	}
	feature.Parallel(ctx, len(p.Parts), func(i int) {
		if used[i] && p.Parts[i].HasShape() {
			s.forms[i] = newForm(&p.Parts[i], scene.Parts[i])
		}
	})
	return s
}

// couple is a pair of solids, lower index first.
type couple struct{ a, b product.SolidIndex }

// near lists the pairs whose boxes come within the greatest distance at which
// meshes may touch, in order, and says how many were too many.
func (s *study) near() (list []couple, left int) {
	all := make([]geom.Box, len(s.p.Solids))
	for i := range all {
		x := &s.p.Solids[i]
		all[i] = geom.EmptyBox()
		if s.forms[x.Part] != nil && feature.KeepsSize(x.Place) {
			all[i] = x.Box.Grow(MaxTouch/2 + s.p.Parts[x.Part].Mesh.Chord)
		}
	}
	t := boxes.New(all)
	t.Pairs(t, func(i, j int32) bool {
		if i < j {
			if len(list) < maxNear {
				list = append(list, couple{product.SolidIndex(i), product.SolidIndex(j)})
			} else {
				left++
			}
		}
		return left < maxNear
	})
	slices.SortFunc(list, func(x, y couple) int { return cmp.Or(cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b)) })
	return list, left
}

// situation is a distinct case: part a placed in the frame of part b. Part a
// is the one with fewer triangles, since it is a's mesh that gets moved.
type situation struct {
	a, b  int
	place geom.Transform // a to b
	skip  bool
}

// caseKey tells situations apart. Placements that differ by less than rounding
// of what files write fall together, but for those at a limit of the grid,
// which cost a second look and nothing else.
type caseKey struct {
	a, b int
	grid [12]int64
}

// distinct sorts the pairs into situations, numbered by their first pair.
func (s *study) distinct(near []couple) (cases []situation, of []int) {
	of = make([]int, len(near))
	at := make(map[caseKey]int, len(near))
	for i, pair := range near {
		x := s.situation(pair)
		k := caseKey{a: x.a, b: x.b, grid: grid(x.place)}
		n, ok := at[k]
		if !ok {
			n = len(cases)
			at[k] = n
			cases = append(cases, x)
		}
		of[i] = n
	}
	return cases, of
}

// Bounds for products that lie in a heap, where each part is in all others. Of
// two sound parts the boxes share little of one of them at least, but for some
// rings and housings in each other, of which maxNested distinct situations are
// looked at. All are counted by the triangles that have to be looked at, some
// 1 µs each, and room for them is as large as the product is: sound ones need
// half of it at most. What is left out is told.
const (
	nestedShare = 0.1
	maxNested   = 1000
	tooMuch     = -1

	baseWork    = 200 // triangles that a situation costs beside
	passes      = 0.3 // of all triangles of part a, which is placed two or three times
	nestedTimes = 4   // as dear are triangles of parts in each other, as far as sampled

	roomBase     = 2_000_000
	roomSolid    = 4_000 // for each solid: some ten neighbours
	roomTriangle = 10    // for each triangle of each part
	mostRoom     = 50_000_000
)

// affordable leaves out the pairs of the situations that are too much work,
// and says how many those are.
func (s *study) affordable(cases []situation, of []int) (left int) {
	room, nested := s.room(), 0
	for i := range cases {
		c := &cases[i]
		a, b := s.shares(c)
		work := a*float64(s.triangles(c.a)) + b*float64(s.triangles(c.b))
		if a > nestedShare && b > nestedShare {
			nested++
			work *= nestedTimes
		}
		work += baseWork + passes*float64(s.triangles(c.a))
		c.skip = nested > maxNested && a > nestedShare && b > nestedShare || work > room
		if !c.skip {
			room -= work
		}
	}
	for i := range of {
		if cases[of[i]].skip {
			of[i] = tooMuch
			left++
		}
	}
	return left
}

// room is how many triangles may be looked at.
func (s *study) room() float64 {
	sum := roomBase + roomSolid*float64(len(s.p.Solids))
	for i := range s.forms {
		if s.forms[i] != nil {
			sum += roomTriangle * float64(s.triangles(i))
		}
	}
	return min(sum, mostRoom)
}

func (s *study) triangles(part int) int { return len(s.p.Parts[part].Mesh.Triangles) }

// shares are how much of the boxes of its two parts a situation's common box is.
func (s *study) shares(c *situation) (a, b float64) {
	x, y := s.forms[c.a].box.Transformed(c.place), s.forms[c.b].box
	both := common3(x, y, 0)
	if both.IsEmpty() {
		return 0, 0
	}
	a, b = 1, 1
	for i := range 3 {
		wide := both.Max[i] - both.Min[i] + MaxTouch
		a *= min(1, wide/(x.Max[i]-x.Min[i]+MaxTouch))
		b *= min(1, wide/(y.Max[i]-y.Min[i]+MaxTouch))
	}
	return a, b
}

// turned reports whether the pair's first solid is part b of its situation.
func (s *study) turned(c couple) bool {
	a, b := s.p.Solids[c.a].Part, s.p.Solids[c.b].Part
	na, nb := len(s.p.Parts[a].Mesh.Triangles), len(s.p.Parts[b].Mesh.Triangles)
	return na > nb || na == nb && a > b
}

func (s *study) situation(c couple) situation {
	if s.turned(c) {
		c.a, c.b = c.b, c.a
	}
	a, b := &s.p.Solids[c.a], &s.p.Solids[c.b]
	return situation{a: a.Part, b: b.Part, place: b.Back.Mul(a.Place)}
}

// grid rounds a placement: 1e-6 in the matrix, which is 0.1 µm on 100 mm, and
// 1e-5 mm in the translation.
func grid(t geom.Transform) (g [12]int64) {
	for i, v := range t.M {
		g[i] = cell(v, 1e-6)
	}
	for i, v := range t.T {
		g[9+i] = cell(v, 1e-5)
	}
	return g
}

func cell(v, step float64) int64 {
	v = math.Round(v / step)
	if !(math.Abs(v) < math.MaxInt64/2) { // a damaged file
		return math.MaxInt64
	}
	return int64(v)
}

// placed carries what was found of a situation to one of its pairs.
func (s *study) placed(c couple, k int, v *verdict) Pair {
	first, second := c.a, c.b
	turned := s.turned(c)
	if turned {
		first, second = second, first
	}
	place := s.p.Solids[second].Place
	out := Pair{A: c.a, B: c.b, Deep: v.deep, Shared: v.shared, Case: k}
	for _, x := range v.contacts {
		x.A, x.B = c.a, c.b
		x.Normal = place.Dir(x.Normal)
		if turned {
			x.Normal, x.Inner = mgl64.Vec3{}.Sub(x.Normal), x.Kind == Cylindrical && !x.Inner
		}
		if x.Kind == Cylindrical {
			x.Axis = x.Axis.Transformed(place)
		}
		out.Contacts = append(out.Contacts, x)
	}
	for _, f := range v.fits {
		if f.Axis = f.Axis.Transformed(place); f.Shaft == 0 {
			f.Shaft, f.Hole = first, second
		} else {
			f.Shaft, f.Hole = second, first
		}
		out.Fits = append(out.Fits, f)
	}
	return out
}
