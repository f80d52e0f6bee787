package bvh

import (
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// angle is a prism over an L: two limbs, the corner between them cut out. As
// boxes it is the upright limb and the foot.
type angle struct{ w, h, p, q, z0, z1 float64 }

func (l angle) mesh() *mesh.Mesh {
	return prism(l.z0, l.z1, [2]float64{l.p, l.q}, [2]float64{l.p, l.h}, [2]float64{0, l.h}, [2]float64{0, 0}, [2]float64{l.w, 0}, [2]float64{l.w, l.q})
}

// boxes are what is left of it within a skin.
func (l angle) boxes(skin float64) [][6]float64 {
	return [][6]float64{
		{skin, skin, l.z0 + skin, l.p - skin, l.h - skin, l.z1 - skin},
		{skin, skin, l.z0 + skin, l.w - skin, l.q - skin, l.z1 - skin},
	}
}

func drawAngle(t *rapid.T) angle {
	n := rapid.IntRange(1, 5)
	l := angle{p: float64(n.Draw(t, "p")), q: float64(n.Draw(t, "q")), z0: float64(rapid.IntRange(-3, 3).Draw(t, "z"))}
	l.w, l.h, l.z1 = l.p+float64(n.Draw(t, "w")), l.q+float64(n.Draw(t, "h")), l.z0+float64(n.Draw(t, "high"))
	return l
}

// boxContact is when boxes a, moved along d, first overlap boxes b, by the
// intervals in which they do on each axis; +Inf for never. What only touches
// on the way does not overlap. unsure says that a graze is too narrow to count
// or not to.
func boxContact(a, b [][6]float64, d mgl64.Vec3) (dist float64, unsure bool) {
	const tol = 3e-4
	dist = math.Inf(1)
	for _, x := range d { // along a face to within rounding, or clearly not
		unsure = unsure || math.Abs(x) > 1e-12 && math.Abs(x) < 0.01
	}
	for i := range a {
		for j := range b {
			from, to := math.Inf(-1), math.Inf(1)
			for k := range 3 {
				lo, hi := b[j][k]-a[i][k+3], b[j][k+3]-a[i][k]
				switch {
				case math.Abs(d[k]) > 1e-12:
					from, to = max(from, min(lo/d[k], hi/d[k])), min(to, max(lo/d[k], hi/d[k]))
				case lo > -1e-9 || hi < 1e-9: // beside, or slides along
					to = math.Inf(-1)
				}
			}
			if to > tol && to-from > tol {
				dist = min(dist, max(0, from))
			}
			unsure = unsure || math.Abs(to-from) > 1e-12 && math.Abs(to-from) <= tol || math.Abs(to) > 1e-12 && math.Abs(to) <= tol
		}
	}
	return dist, unsure
}

// drawDirection is along an axis, in a plane of two with a slope of 3 to 4, or
// any.
func drawDirection(t *rapid.T) mgl64.Vec3 {
	if rapid.IntRange(0, 2).Draw(t, "slope") == 0 {
		var d mgl64.Vec3
		k := rapid.IntRange(0, 2).Draw(t, "across")
		d[(k+1)%3] = 0.6 * float64(1-2*rapid.IntRange(0, 1).Draw(t, "back"))
		d[(k+2)%3] = 0.8 * float64(1-2*rapid.IntRange(0, 1).Draw(t, "down"))
		return d
	}
	return drawUnit(t)
}

// Bodies of boxes on whole millimetres lie flush, slide and press all the
// time; when they meet follows from the intervals on the axes, with and
// without a skin, wherever and however turned both are.
func TestSweepOfBoxesByIntervals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawAngle(t), drawAngle(t)
		whole := rapid.IntRange(-9, 9)
		at := mgl64.Vec3{float64(whole.Draw(t, "x")), float64(whole.Draw(t, "y")), float64(whole.Draw(t, "z"))}
		d := drawDirection(t)
		sk := rapid.SampledFrom([]float64{0, 0.02, 0.2}).Draw(t, "skin")
		from := a.boxes(sk)
		for i := range from {
			for k := range 6 {
				from[i][k] += at[k%3]
			}
		}
		want, unsure := boxContact(from, b.boxes(0), d)
		if unsure {
			t.Skip("a graze")
		}
		q := drawPlace(t)
		place := q.Mul(geom.Transform{M: mgl64.Ident3(), T: at})
		mover, fixed := NewMover(Build(a.mesh()), sk), Build(b.mesh()).Placed(q)
		got, ok := mover.Aim(place, q.Dir(d)).FirstContact(fixed, math.Inf(1))
		// A corner of three faces stops short of the skin by three ridges, and
		// its way there is longer the flatter it is.
		off := 1e-7
		for _, x := range d {
			if math.Abs(x) > 1e-12 {
				off = max(off, 1e-7+4*ridge*sk/math.Abs(x))
			}
		}
		if ok != !math.IsInf(want, 1) || ok && math.Abs(got.Dist-want) > off {
			t.Fatalf("contact %+v %v, want %g\n%+v at %v along %v\n%+v", got, ok, want, a, at, d, b)
		}
		if blocked := mover.Aim(place, q.Dir(d)).Blocked(fixed, math.Inf(1)); blocked != ok {
			t.Fatalf("blocked %v, contact %+v %v", blocked, got, ok)
		}
		if ok && want > 1e-2 {
			for _, c := range []struct {
				travel float64
				met    bool
			}{{want - 1e-3, false}, {want + 1e-3, true}} {
				if _, met := mover.Aim(place, q.Dir(d)).FirstContact(fixed, c.travel); met != c.met {
					t.Fatalf("contact at %g, with a travel of %g met %v", want, c.travel, met)
				}
			}
		}
	})
}

// pairContact is when the triangle a, moved along d, first meets b, of two in
// general position, if before best: a corner of one meets the inside of the
// other, or two edges cross. Nothing of the sweep is used.
func pairContact(a, b *[9]float64, d mgl64.Vec3, best float64) float64 {
	var p, q [3]mgl64.Vec3
	for i := range 3 {
		p[i], q[i] = mgl64.Vec3{a[3*i], a[3*i+1], a[3*i+2]}, mgl64.Vec3{b[3*i], b[3*i+1], b[3*i+2]}
	}
	back := d.Mul(-1)
	for i := range 3 {
		best = cornerMeets(p[i], d, &q, best)
		best = cornerMeets(q[i], back, &p, best)
		for j := range 3 {
			best = edgesMeet(p[i], p[(i+1)%3], q[j], q[(j+1)%3], d, best)
		}
	}
	return best
}

// planeAt is when a point at o, moved along d, passes the plane through p
// across n; not a number or infinite for a move along the plane.
func planeAt(o, d, p, n mgl64.Vec3) float64 { return n.Dot(p.Sub(o)) / n.Dot(d) }

func cornerMeets(o, d mgl64.Vec3, t *[3]mgl64.Vec3, best float64) float64 {
	n := t[1].Sub(t[0]).Cross(t[2].Sub(t[0]))
	x := planeAt(o, d, t[0], n)
	if !(x >= 0 && x < best) {
		return best
	}
	at := o.Add(d.Mul(x))
	for i := range 3 {
		if t[(i+1)%3].Sub(t[i]).Cross(at.Sub(t[i])).Dot(n) < 0 {
			return best
		}
	}
	return x
}

func edgesMeet(a, b, p, q, d mgl64.Vec3, best float64) float64 {
	e, f := b.Sub(a), q.Sub(p)
	n := e.Cross(f)
	x := planeAt(a, d, p, n)
	if !(x >= 0 && x < best) {
		return best
	}
	w, l := p.Sub(a.Add(d.Mul(x))), n.Dot(n) // u e - v f = w in the plane of both
	u, v := w.Cross(f).Dot(n)/l, w.Cross(e).Dot(n)/l
	if u < 0 || u > 1 || v < 0 || v > 1 {
		return best
	}
	return x
}

// sweepShapes are convex and concave bodies with fine and long triangles.
func sweepShapes() []*mesh.Mesh {
	return []*mesh.Mesh{
		box(-3, -2, -1, 3, 2, 1),
		prism(-2, 2, circle(0, 0, 3, 40, 0.2)...),
		plate(-1, 1, 1.5, 4, 24),
		sphere(mgl64.Vec3{}, 2, 5),
		angle{w: 5, h: 4, p: 1, q: 2, z0: -1, z1: 2}.mesh(),
		revolved(16, [2]float64{0.5, -2}, [2]float64{3, -2}, [2]float64{1, 0}, [2]float64{2, 2}, [2]float64{0.5, 2}),
		prismX(-3, 3, [2]float64{-4, 0}, [2]float64{4, 0}, [2]float64{2, 3}, [2]float64{-2, 3}),
	}
}

// swept is a motion drawn for the tests below: the mover shrunk by a skin as a
// mesh of its own, where both stand, and the way.
type swept struct {
	mover *Mover
	small *Tree // the mover's triangles, placed
	fixed *Tree
	place geom.Transform
	d     mgl64.Vec3
}

func drawSwept(t *rapid.T) *swept {
	shapes := sweepShapes()
	pick := rapid.IntRange(0, len(shapes)-1)
	a, b := shapes[pick.Draw(t, "mover")], moved(shapes[pick.Draw(t, "fixed")], drawPlace(t))
	s := &swept{
		mover: NewMover(Build(a), rapid.SampledFrom([]float64{0, 0.02, 0.15}).Draw(t, "skin")),
		fixed: Build(b), place: drawPlace(t), d: drawUnit(t),
	}
	s.small = s.mover.tree.Placed(s.place)
	of := func(tree *Tree, k string) (p, q, r mgl64.Vec3) {
		c := tree.at(rapid.Int32Range(0, int32(tree.Len()-1)).Draw(t, k))
		return mgl64.Vec3{c[0], c[1], c[2]}, mgl64.Vec3{c[3], c[4], c[5]}, mgl64.Vec3{c[6], c[7], c[8]}
	}
	switch rapid.IntRange(0, 4).Draw(t, "way") {
	case 0: // from corner to corner
		p, _, _ := of(s.small, "from")
		q, _, _ := of(s.fixed, "to")
		s.aim(q.Sub(p))
	case 1: // square onto a face of the fixed one
		p, q, r := of(s.fixed, "onto")
		s.aim(p.Sub(q).Cross(p.Sub(r)))
	case 2: // along one of its faces, on an edge
		p, q, _ := of(s.fixed, "along")
		s.aim(p.Sub(q))
	case 3: // towards its middle
		s.aim(s.fixed.Box().Centre().Sub(s.small.Box().Centre()).Add(drawPoint(t, 3)))
	}
	return s
}

func (s *swept) aim(d mgl64.Vec3) {
	if u, ok := geom.Unit(d); ok {
		s.d = u
	}
}

func (s *swept) at(dist float64) geom.Transform {
	return geom.Transform{M: mgl64.Ident3(), T: s.d.Mul(dist)}
}

// first is the sweep's answer, +Inf for none; with fine, the outlines are
// there from the start and not only after some work.
func (s *swept) first(fine bool) (Contact, bool) {
	a := s.mover.Aim(s.place, s.d)
	if fine {
		a.lookAhead()
		a.all.ready()
		a.ahead.ready()
	}
	c, ok := a.FirstContact(s.fixed, math.Inf(1))
	if !ok {
		c.Dist = math.Inf(1)
	}
	return c, ok
}

// across is the extent of every triangle in two directions across d.
func across(t *Tree, d mgl64.Vec3) [][4]float64 {
	x := geom.Perpendicular(d)
	y := d.Cross(x)
	out := make([][4]float64, t.Len())
	for i := range out {
		c := t.at(int32(i))
		var u, v [3]float64
		for k := range 3 {
			p := mgl64.Vec3{c[3*k], c[3*k+1], c[3*k+2]}
			u[k], v[k] = p.Dot(x), p.Dot(y)
		}
		out[i] = [4]float64{min(u[0], u[1], u[2]) - 1e-9, min(v[0], v[1], v[2]) - 1e-9, max(u[0], u[1], u[2]) + 1e-9, max(v[0], v[1], v[2]) + 1e-9}
	}
	return out
}

// The shrunk mesh, moved on by small steps and asked each time whether it
// meets the other, must not meet it before the contact, and touch it there. The
// step after, it must be in it, unless it only passes a corner.
func TestSweepMatchesStepsOfTheShrunkMesh(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSwept(t)
		got, ok := s.first(rapid.Bool().Draw(t, "fine"))
		const step = 0.05
		for x := 0.0; x < min(60, got.Dist-1e-6); x += step {
			if Intersects(s.small, s.fixed, s.at(x)) && !grazes(s.mover.tree, s.fixed, s.place, s.d, math.Inf(1), got, ok) {
				t.Fatalf("the meshes meet at %g, the sweep says %+v %v", x, got, ok)
			}
		}
		if !ok || got.Dist == 0 && !Intersects(s.small, s.fixed, s.at(0)) { // began inside
			return
		}
		gap, _ := Distance(s.small, s.fixed, s.at(got.Dist), 1)
		near, _ := s.fixed.Closest(got.P, 1)
		if gap.Dist > 1e-6 || near.Dist > 1e-6 {
			t.Fatalf("at the contact %+v the meshes are %g apart, the point %g off", got, gap.Dist, near.Dist)
		}
		on := s.fixed.Mesh().Triangles[got.FixedTri]
		one := Build(&mesh.Mesh{Vertices: s.fixed.Mesh().Vertices, Triangles: [][3]int32{on}})
		if near, _ := one.Closest(got.P, 1); near.Dist > 1e-6 {
			t.Fatalf("the point of %+v is %g off its triangle", got, near.Dist)
		}
	})
}

// All pairs of triangles by corners, faces and edges, against the trees.
func TestSweepMatchesAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSwept(t)
		got, ok := s.first(rapid.Bool().Draw(t, "fine"))
		want := math.Inf(1)
		pa, pb := across(s.small, s.d), across(s.fixed, s.d)
		for i := range int32(s.small.Len()) {
			for j := range int32(s.fixed.Len()) {
				p, q := &pa[i], &pb[j]
				if p[0] > q[2] || q[0] > p[2] || p[1] > q[3] || q[1] > p[3] {
					continue
				}
				want = pairContact(s.small.at(i), s.fixed.at(j), s.d, want)
			}
		}
		if Intersects(s.small, s.fixed, s.at(0)) || got.Dist == 0 && ok {
			want = 0 // the steps judge what begins inside
		}
		if want != got.Dist && !(math.Abs(want-got.Dist) < 1e-6) && !grazes(s.mover.tree, s.fixed, s.place, s.d, math.Inf(1), got, ok) {
			t.Fatalf("sweep %+v %v, all pairs %g", got, ok, want)
		}
	})
}

// run is the sweep on the way alone, by the given triangles of the mover, with
// those of the fixed mesh that face it or all of them.
func (s *swept) run(a *Aimed, m moving, facing bool) (Contact, bool) {
	w := sweep{mover: &m, fixed: s.fixed, view: a.view, limit: math.Inf(1)}
	if sh := s.fixed.surface(); facing && sh.closed {
		w.fixedSense, w.leans = -sh.sense, s.fixed.leans()
	}
	w.run()
	return w.best, w.found
}

// everywhere are outlines that tell nothing apart.
func everywhere(n int) []outline {
	inf := float32(math.Inf(1))
	o := outline{lo: [6]float32{-inf, -inf, -inf, -inf, -inf, -inf}, hi: [6]float32{inf, inf, inf, inf, inf, inf}}
	return slices.Repeat([]outline{o}, n)
}

// rounding is by how much two ways to the same contact may differ, mm.
func (s *swept) rounding() float64 {
	return 4 * meetTol * max(s.mover.tree.reach, s.small.reach, s.fixed.reach)
}

// Outlines only spare work: with them and without, to rounding, the same, even
// where the contact is a graze.
func TestOutlinesChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSwept(t)
		a := s.mover.Aim(s.place, s.d)
		a.lookAhead()
		for _, m := range []moving{a.all, a.ahead} {
			for _, facing := range []bool{false, true} {
				with, without := m, m
				with.ready()
				without.outlines = everywhere(len(m.nodes))
				got, ok := s.run(a, with, facing)
				want, met := s.run(a, without, facing)
				if ok != met || ok && !(math.Abs(got.Dist-want.Dist) <= s.rounding()) {
					t.Fatalf("with outlines %+v %v, by boxes alone %+v %v; mover all %v, fixed facing %v", got, ok, want, met, m.sense == 0, facing)
				}
			}
		}
	})
}

// What stands apart at the start meets with faces that look at each other: all
// triangles together meet no earlier, but for what only slides and steep ones
// make long.
func TestFacingTrianglesMeetFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSwept(t)
		a := s.mover.Aim(s.place, s.d)
		got, ok := s.first(true)
		if ok && got.Dist == 0 { // the steps judge what begins inside
			return
		}
		want, met := s.run(a, a.all, false)
		if (ok != met || ok && math.Abs(got.Dist-want.Dist) > 1e-6) && !grazes(s.mover.tree, s.fixed, s.place, s.d, math.Inf(1), got, ok) {
			t.Fatalf("by what faces %+v %v, by all %+v %v", got, ok, want, met)
		}
	})
}

// reshaped is a tree over the same mesh with no regard to where its triangles
// lie: a shuffled list, halved.
func reshaped(t *Tree, seed uint64) *Tree {
	p := &Tree{mesh: t.mesh, shell: &shell{}, nodes: []node{{}}}
	for _, k := range rand.New(rand.NewPCG(seed, 1)).Perm(t.Len()) {
		p.ids, p.tri = append(p.ids, t.ids[k]), append(p.tri, t.at(int32(k))[:]...)
	}
	var halve func(i, from, to int32)
	halve = func(i, from, to int32) {
		if to-from <= 3 {
			p.nodes[i].first, p.nodes[i].count = from, to-from
			return
		}
		n := int32(len(p.nodes))
		p.nodes[i].first = n
		p.nodes = append(p.nodes, node{}, node{})
		halve(n, from, (from+to)/2)
		halve(n+1, (from+to)/2, to)
	}
	halve(0, 0, int32(t.Len()))
	p.refit()
	return p
}

// The skin too takes the same of many normals that are nearly one.
func TestSkinIgnoresTheShapeOfTheTree(t *testing.T) {
	for i, m := range append(sweepShapes(), revolved(500, [2]float64{0.5, -2}, [2]float64{3, -2}, [2]float64{1, 0}, [2]float64{2, 2}), sphere(mgl64.Vec3{}, 2, 100)) {
		tree := Build(m)
		one, two := NewMover(tree, 0.15).tree, NewMover(reshaped(tree, 5), 0.15).tree
		at := make([]int32, two.Len())
		for k, id := range two.ids {
			at[id] = int32(k)
		}
		for k, id := range one.ids {
			if a, b := one.at(int32(k)), two.at(at[id]); *a != *b {
				t.Errorf("shape %d, triangle %d: %v, with another tree %v", i, id, *a, *b)
				break
			}
		}
	}
}

// The contact is a property of the two meshes and not of the trees, grazes and
// the skin included.
func TestSweepIgnoresTheShapeOfTheTrees(t *testing.T) {
	shapes := append(sweepShapes(),
		revolved(60, [2]float64{0.5, -2}, [2]float64{3, -2}, [2]float64{1, 0}, [2]float64{2, 2}, [2]float64{0.5, 2}),
		join(box(-1, -1, -1, 1, 1, 1), sphere(mgl64.Vec3{3, 0, 0}, 1, 6), box(-4, -1, -1, -2, 1, 1)))
	trees := make([]*Tree, len(shapes))
	others := make([]*Tree, len(shapes))
	for i, m := range shapes {
		trees[i] = Build(m)
		others[i] = reshaped(trees[i], uint64(i))
	}
	rapid.Check(t, func(t *rapid.T) {
		pick := rapid.IntRange(0, len(shapes)-1)
		i, j, skin := pick.Draw(t, "mover"), pick.Draw(t, "fixed"), rapid.SampledFrom([]float64{0, 0.02, 0.15}).Draw(t, "skin")
		p, q := drawPlace(t), drawPlace(t)
		d := drawUnit(t)
		if u, ok := geom.Unit(q.T.Sub(p.T).Add(drawPoint(t, 3))); ok && rapid.Bool().Draw(t, "aimed") {
			d = u
		}
		ask := func(mover, fixed *Tree) (Contact, bool) {
			return NewMover(mover, skin).Aim(p, d).FirstContact(fixed.Placed(q), math.Inf(1))
		}
		want, met := ask(trees[i], trees[j])
		for _, c := range [][2]*Tree{{others[i], trees[j]}, {trees[i], others[j]}} {
			if got, ok := ask(c[0], c[1]); ok != met || math.Abs(got.Dist-want.Dist) > 4*meetTol*100 {
				t.Fatalf("contact %+v %v, with another tree %+v %v", want, met, got, ok)
			}
		}
	})
}

// behindAll says that p lies behind every face of a convex mesh, 1 nm or deeper.
func behindAll(t *Tree, p mgl64.Vec3) bool {
	for k := range int32(t.Len()) {
		c, n := t.at(k), unitNormal(t.at(k))
		if n[0]*(p[0]-c[0])+n[1]*(p[1]-c[1])+n[2]*(p[2]-c[2]) > -1e-6 {
			return false
		}
	}
	return true
}

// ahead says, in rationals, that p lies before some face of a mesh.
func ahead(t *Tree, p mgl64.Vec3) bool {
	r := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	mul := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
	sub := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
	for k := range int32(t.Len()) {
		c := t.at(k)
		var e, f, g [3]*big.Rat
		for i := range 3 {
			o := r(c[i])
			e[i], f[i], g[i] = sub(r(c[3+i]), o), sub(r(c[6+i]), o), sub(r(p[i]), o)
		}
		vol := new(big.Rat)
		for i := range 3 {
			x, y := (i+1)%3, (i+2)%3
			vol.Add(vol, mul(g[i], sub(mul(e[x], f[y]), mul(e[y], f[x]))))
		}
		if vol.Sign() > 0 {
			return true
		}
	}
	return false
}

// A mesh all of whose corners lie behind all faces of a convex one is in it, and
// so meets it at 0: whichever of them moves, along any direction, however both
// are turned. Boxes about what is turned are wider than it, which must not hide
// that.
func TestWhatStartsInsideMeetsAtZero(t *testing.T) {
	inside := 0
	rapid.Check(t, func(t *rapid.T) {
		outer := Build(moved(sweepShapes()[rapid.SampledFrom([]int{0, 1, 6}).Draw(t, "outer")], drawPlace(t)))
		m := sweepShapes()[rapid.IntRange(0, 6).Draw(t, "inner")]
		scale := rapid.Float64Range(0.05, 0.6).Draw(t, "scale")
		p := drawPlace(t)
		p.M = p.M.Mul(scale)
		p.T = outer.Box().Centre().Add(drawPoint(t, 1))
		inner := Build(moved(m, p))
		for _, v := range inner.Mesh().Vertices {
			if !behindAll(outer, v) {
				return
			}
		}
		inside++
		d := drawUnit(t)
		far := box(90, 90, 90, 91, 92, 93) // a piece elsewhere changes nothing
		for name, c := range map[string][2]*Tree{
			"the inner one": {inner, outer}, "the outer one": {outer, inner},
			"the inner one and more":             {Build(join(far, inner.Mesh())), outer},
			"the outer one, more than the inner": {outer, Build(join(far, inner.Mesh()))},
		} {
			if got, ok := firstContact(c[0], c[1], geom.Identity(), d, 1, 0); !ok || got.Dist != 0 {
				t.Errorf("%s moves: contact %+v %v, want one at 0", name, got, ok)
			}
		}
	})
	if inside == 0 {
		t.Error("nothing began inside")
	}
}

// A ball that touches both caps of the drum that it is in, which rationals show.
func TestBallInItsDrumMeetsAtZero(t *testing.T) {
	drum, ball := Build(prism(-2, 2, circle(0, 0, 3, 40, 0.2)...)), Build(sphere(mgl64.Vec3{}, 2, 5))
	for _, v := range ball.Mesh().Vertices {
		if ahead(drum, v) {
			t.Fatalf("%v of the ball is not in the drum", v)
		}
	}
	for _, d := range []mgl64.Vec3{{0.9, 0.14, 0.42}, {1, 0, 0}, {0, 1, 0}, {-0.3, 0.5, -0.8}} {
		for name, c := range map[string][2]*Tree{"drum": {drum, ball}, "ball": {ball, drum}} {
			if got, ok := firstContact(c[0], c[1], geom.Identity(), d, 100, 0); !ok || got.Dist != 0 {
				t.Errorf("the %s along %v: contact %+v %v, want one at 0", name, d, got, ok)
			}
		}
	}
}

// An outline holds the shadows that it was made of: what overlaps is never
// told apart, and 16 sides about a circle are 2 % wider than it.
func TestOutlinesHoldTheirShadows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "scale"))
		at := drawPoint(t, 1)
		tri := func(name string) [9]float64 {
			var c [9]float64
			for i := range c {
				c[i] = scale * (at[i%3] + rapid.Float64Range(-1, 1).Draw(t, name))
			}
			return c
		}
		var a, b shadow
		ca, cb := tri("a"), tri("b")
		a.set(&ca)
		b.set(&cb)
		oa, ob := emptyOutline(), emptyOutline()
		oa.growBy(&a)
		ob.growBy(&b)
		if g := gapOver(&a, &b); g.any && (oa.apart(&ob) || ob.apart(&oa)) {
			t.Fatalf("%v and %v overlap and are told apart", ca, cb)
		}
	})
	disc := emptyOutline()
	for _, c := range circle(0, 0, 10, 360, 0) {
		var s shadow
		s.set(&[9]float64{c[0], c[1], 0, c[0], c[1], 0, c[0], c[1], 1})
		disc.growBy(&s)
	}
	for _, c := range circle(0, 0, 10.2, 360, 0) {
		point := emptyOutline()
		var s shadow
		s.set(&[9]float64{c[0], c[1], 0, c[0], c[1], 0, c[0], c[1], 1})
		if point.growBy(&s); !disc.apart(&point) && math.Max(math.Abs(c[0]), math.Abs(c[1])) < 10 {
			t.Fatalf("%v is not outside the outline of a disc of 10", c)
		}
	}
}

// More leaves than are kept: they are made anew.
func TestSweepKeepsNoMoreLeavesThanItMay(t *testing.T) {
	fixed := Build(scattered(3, 6))
	a := NewMover(Build(box(0, 0, 0, 1, 1, 1)), 0).Aim(geom.Identity(), mgl64.Vec3{0, 0, 1})
	s := sweep{mover: &a.all, fixed: fixed, view: a.view}
	var leaf int32 = -1
	for i := range fixed.nodes {
		if fixed.nodes[i].count > 0 {
			leaf = int32(i)
		}
	}
	want := *s.turned.leaf(&s, leaf)
	for len(s.turned.leaves) < maxTurned {
		s.turned.leaves = append(s.turned.leaves, turnedLeaf{})
	}
	for i := range fixed.nodes {
		if fixed.nodes[i].count > 0 && int32(i) != leaf {
			s.turned.leaf(&s, int32(i))
			break
		}
	}
	if n := len(s.turned.leaves); n != 1 {
		t.Fatalf("%d leaves kept, want the last one", n)
	}
	if got := s.turned.leaf(&s, leaf); got.box != want.box || len(got.tri) != len(want.tri) {
		t.Fatalf("made anew: %+v, was %+v", got.box, want.box)
	}
}

// Blocked looks in another order than FirstContact, and must say the same.
func TestBlockedSaysAsFirstContact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSwept(t)
		travel := rapid.SampledFrom([]float64{0, 0.5, 3, math.Inf(1)}).Draw(t, "travel")
		c, want := s.mover.Aim(s.place, s.d).FirstContact(s.fixed, travel)
		if got := s.mover.Aim(s.place, s.d).Blocked(s.fixed, travel); got != want {
			t.Fatalf("blocked within %g: %v, first contact: %v %+v", travel, got, want, c)
		}
	})
}
