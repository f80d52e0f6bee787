package bvh

import (
	"math"

	"stepscan/geom"
)

// CommonVolume is the volume, mm³, of what lies inside both closed meshes;
// place carries a's coordinates to b's. It is false where either mesh is open
// or empty, for which nothing is inside, and where the meshes are so tangled
// that it would take more than maxPairs pairs of triangles.
//
// The answer is exact for the two meshes, and nothing about it is a decision:
// seen along some axis, a point lies inside a closed mesh if the triangles above
// it, counted 1 where they look up and -1 where they look down, sum to 1. So the
// common volume is a sum over the pairs of a triangle of a and one of b: the
// volume below the one and above the other, over the overlap of their shadows.
//
//	h ▲    ─────── a      over the overlap of the shadows the height of a
//	  │   ░░░░░          above b is linear: its positive part is cut out and
//	  │  ────── b        integrated, ∑ -s(a) s(b) ∫ max(0, a - b)
//	  └─────────► u, v
//
// Each term changes steadily with the corners, so faces that coincide or only
// touch do no harm, and the error is that of rounding: below 1e-13 of the
// terms' sum, which is of the order of the area times the height of the common
// region's box. Against the model the error is below the chord of each mesh
// times the area of its surface within the other one. What lies in two shells of
// one mesh counts twice.
func CommonVolume(a, b *Tree, place geom.Transform) (float64, bool) {
	return CommonVolumeWithin(a, b, place, maxPairs)
}

// CommonVolumeWithin is CommonVolume that gives up where it would take pairs
// pairs of triangles or more, some 20 ns each.
func CommonVolumeWithin(a, b *Tree, place geom.Transform, pairs int) (float64, bool) {
	if !a.Closed() || !b.Closed() {
		return 0, false
	}
	a0, b0 := boundsOf(a.Box().Transformed(place)), &b.nodes[0].b
	if !boundsOverlap(&a0, b0) {
		return 0, true
	}
	s, ok := bestStack(a.Placed(place), b, min(pairs, maxPairs))
	if !ok {
		return 0, false
	}
	v := s.volume() * a.surface().sense * b.surface().sense
	return max(0, v), true // two bodies that only touch give rounding
}

// maxPairs takes some ten seconds; two meshes of 20,000 triangles each that lie
// in each other have a few million.
const maxPairs = 1 << 29

// stack is the search for pairs of a triangle and one below it.
type stack struct {
	over, under *Tree // their boxes hold what is not edge-on
	u, v, h     int   // coordinates: the shadows' and the height
}

// bestStack looks along the axis, and puts that mesh above, for which the fewest
// pairs have to be worked out: caps that are fans of slivers, for one, cost the
// square of their number unless they are seen edge-on.
func bestStack(a, b *Tree, fewest int) (best stack, ok bool) {
	for h := range 3 {
		up, down := a.showing(h), b.showing(h)
		for _, s := range []stack{{up, down, (h + 1) % 3, (h + 2) % 3, h}, {down, up, (h + 1) % 3, (h + 2) % 3, h}} {
			if n := s.pairs(fewest); n < fewest {
				best, fewest, ok = s, n, true
			}
		}
	}
	return best, ok
}

// edgeOn is the sine below which a triangle counts as seen edge-on: what its
// shadow would have added is smaller than the rounding of its neighbours'.
const edgeOn = 1e-13

// showing is a tree over the same triangles whose boxes hold only those that
// have a shadow along the axis h.
func (t *Tree) showing(h int) *Tree {
	return t.boxing(func(c *[9]float64) bool { return !isEdgeOn(c, h) })
}

// boxing is a tree over the same triangles whose boxes hold only some of them.
func (t *Tree) boxing(in func(c *[9]float64) bool) *Tree {
	p := &Tree{mesh: t.mesh, ids: t.ids, tri: t.tri, reach: t.reach, shell: t.shell, nodes: append([]node(nil), t.nodes...)}
	for i := len(p.nodes) - 1; i >= 0; i-- {
		n := &p.nodes[i]
		n.b = emptyBounds()
		if n.count == 0 {
			growBounds(&n.b, &p.nodes[n.first].b)
			growBounds(&n.b, &p.nodes[n.first+1].b)
			continue
		}
		for k := n.first; k < n.first+n.count; k++ {
			if c := p.at(k); in(c) {
				growByTriangle(&n.b, c)
			}
		}
	}
	return p
}

func isEdgeOn(c *[9]float64, h int) bool {
	n := crossed(&[3]float64{c[3] - c[0], c[4] - c[1], c[5] - c[2]}, &[3]float64{c[6] - c[0], c[7] - c[1], c[8] - c[2]})
	return !(math.Abs(n[h]) > edgeOn*(math.Abs(n[0])+math.Abs(n[1])+math.Abs(n[2])))
}

// pairs is how many pairs of triangles the leaves that meet hold; counting stops
// at the limit.
func (s *stack) pairs(limit int) int {
	n := 0
	s.leaves(func(a, b *node) bool {
		n += int(a.count) * int(b.count)
		return n < limit
	})
	return n
}

// leaves visits the pairs of leaves whose shadows overlap and of which the one
// of over reaches above the bottom of the other, until visit says false.
func (s *stack) leaves(visit func(a, b *node) bool) {
	var todo [2 * maxStack][2]int32
	for n := 1; n > 0; {
		n--
		i, j := todo[n][0], todo[n][1]
		a, b := &s.over.nodes[i], &s.under.nodes[j]
		switch {
		case !s.meets(&a.b, &b.b):
		case a.count > 0 && b.count > 0:
			if !visit(a, b) {
				return
			}
		case b.count > 0 || a.count == 0 && girth(&a.b) > girth(&b.b):
			todo[n], todo[n+1] = [2]int32{a.first + 1, j}, [2]int32{a.first, j}
			n += 2
		default:
			todo[n], todo[n+1] = [2]int32{i, b.first + 1}, [2]int32{i, b.first}
			n += 2
		}
	}
}

// meets reports that the shadows of two boxes overlap and that a reaches above
// the bottom of b.
func (s *stack) meets(a, b *[6]float64) bool {
	return a[s.u] < b[s.u+3] && b[s.u] < a[s.u+3] && a[s.v] < b[s.v+3] && b[s.v] < a[s.v+3] && a[s.h+3] > b[s.h]
}

// volume sums over all pairs.
func (s *stack) volume() float64 {
	sum := 0.0
	var under []slope
	s.leaves(func(a, b *node) bool {
		under = under[:0]
		for j := b.first; j < b.first+b.count; j++ {
			if c := s.under.at(j); !isEdgeOn(c, s.h) {
				under = append(under, s.slope(c))
			}
		}
		for i := a.first; i < a.first+a.count; i++ {
			c := s.over.at(i)
			if isEdgeOn(c, s.h) {
				continue
			}
			x := s.slope(c)
			for j := range under {
				if y := &under[j]; s.meets(&x.box, &y.box) {
					sum -= x.sign * y.sign * between(&x, y)
				}
			}
		}
		return true
	})
	return sum
}

// slope is a triangle as a height over its shadow: h(u, v) = h0 + gu (u - u0) +
// gv (v - v0).
type slope struct {
	p      [3][2]float64 // the shadow's corners, anticlockwise
	h0     float64
	gu, gv float64
	sign   float64 // 1 where the triangle looks up
	box    [6]float64
}

func (s *stack) slope(c *[9]float64) slope {
	u, v, h := s.u, s.v, s.h
	f := slope{h0: c[h], sign: 1, box: triangleBounds(c)}
	for k := range 3 {
		f.p[k] = [2]float64{c[3*k+u], c[3*k+v]}
	}
	n := crossed(&[3]float64{c[3] - c[0], c[4] - c[1], c[5] - c[2]}, &[3]float64{c[6] - c[0], c[7] - c[1], c[8] - c[2]})
	f.gu, f.gv = -n[u]/n[h], -n[v]/n[h]
	if n[h] < 0 {
		f.sign = -1
		f.p[1], f.p[2] = f.p[2], f.p[1]
	}
	return f
}

func (f *slope) at(p *[2]float64) float64 {
	return f.h0 + f.gu*(p[0]-f.p[0][0]) + f.gv*(p[1]-f.p[0][1])
}

// corner is one of a polygon with the height of the upper triangle above the
// lower one.
type corner struct{ u, v, d float64 }

// between is the volume below a and above b over the overlap of their shadows.
func between(a, b *slope) float64 {
	var poly, next [8]corner // two triangles overlap in at most six corners, the cut adds one
	for k := range 3 {
		poly[k] = corner{u: a.p[k][0], v: a.p[k][1]}
	}
	n := 3
	for k := range 3 { // d is the place left of b's side
		p, q := &b.p[k], &b.p[(k+1)%3]
		eu, ev := q[0]-p[0], q[1]-p[1]
		for i := range n {
			c := &poly[i]
			c.d = eu*(c.v-p[1]) - ev*(c.u-p[0])
		}
		if n = keepLeft(&poly, &next, n); n < 3 {
			return 0
		}
		poly, next = next, poly
	}
	for i := range n {
		c := &poly[i]
		at := [2]float64{c.u, c.v}
		c.d = a.at(&at) - b.at(&at)
	}
	n = keepLeft(&poly, &next, n)
	sum := 0.0
	for i := 2; i < n; i++ {
		o, p, q := &next[0], &next[i-1], &next[i]
		area := (p.u-o.u)*(q.v-o.v) - (p.v-o.v)*(q.u-o.u)
		sum += area * (o.d + p.d + q.d)
	}
	return sum / 6
}

// keepLeft cuts off what has a negative d, and says how many corners are left;
// 0 where nothing has a positive one.
func keepLeft(poly, out *[8]corner, n int) int {
	m, some := 0, false
	for i := range n {
		p, q := &poly[i], &poly[(i+1)%n]
		if p.d >= 0 && m < len(out) {
			out[m] = *p
			m++
			some = some || p.d > 0
		}
		if (p.d > 0 && q.d < 0 || p.d < 0 && q.d > 0) && m < len(out) {
			f := p.d / (p.d - q.d)
			out[m] = corner{u: p.u + f*(q.u-p.u), v: p.v + f*(q.v-p.v)}
			m++
		}
	}
	if !some {
		return 0
	}
	return m
}
