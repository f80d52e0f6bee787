package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

var dirs = map[string]mgl64.Vec3{
	"+x": {1, 0, 0}, "-x": {-1, 0, 0}, "+y": {0, 1, 0}, "-y": {0, -1, 0}, "+z": {0, 0, 1}, "-z": {0, 0, -1},
}

const (
	skin = 0.02 // mm, as the planner uses
	free = -1   // no contact
)

// blocking is one of the small examples of the theory of taking apart: the
// first contact of the mover with each other part, per direction. Gaps are of
// the model; a face met squarely is a skin farther.
type blocking struct {
	name         string
	mover, fixed *mesh.Mesh
	want         map[string]float64
}

func blockings() []blocking {
	// A block with a blind square hole open at +z; the peg fills it.
	hole := join(
		box(-20, -20, 0, 20, 20, 10), // floor
		box(-20, -20, 10, -5, 20, 40), box(5, -20, 10, 20, 20, 40),
		box(-5, -20, 10, 5, -5, 40), box(-5, 5, 10, 5, 20, 40))
	peg := box(-5, -5, 10, 5, 5, 50)
	// The same round: facets of peg and hole do not match (24 against 36, the
	// hole's inscribed radius is the peg's).
	roundHole := join(plate(10, 40, 5/math.Cos(math.Pi/36), 20, 36), box(-20, -20, 0, 20, 20, 10))
	roundPeg := prism(10, 50, circle(0, 0, 5, 24, 0.1)...)
	// A dovetail along y: the tongue is 10 wide at the top, 16 at the bottom.
	tongue := prismX(0, 60, [2]float64{-8, 0}, [2]float64{8, 0}, [2]float64{5, 6}, [2]float64{-5, 6})
	groove := join(
		prismX(0, 60, [2]float64{-20, -5}, [2]float64{20, -5}, [2]float64{20, 0}, [2]float64{-20, 0}),
		prismX(0, 60, [2]float64{-20, 0}, [2]float64{-8, 0}, [2]float64{-5, 6}, [2]float64{-20, 6}),
		prismX(0, 60, [2]float64{8, 0}, [2]float64{20, 0}, [2]float64{20, 6}, [2]float64{5, 6}))
	walled := map[string]float64{"+z": free, "-z": 0, "+x": 0, "-x": 0, "+y": 0, "-y": 0}
	a, b, c := box(0, 0, 0, 30, 30, 5), box(0, 0, 5, 30, 30, 9), box(0, 0, 12, 30, 30, 20)
	return []blocking{
		{"peg in a blind hole", peg, hole, walled},
		{"round peg, facets that do not match", roundPeg, roundHole, walled},
		{"block off a peg", hole, peg, map[string]float64{"-z": free, "+z": 0, "+x": 0, "-x": 0, "+y": 0, "-y": 0}},
		{"stack, bottom against middle", a, b, map[string]float64{"+z": 0, "-z": free, "+x": free, "-x": free, "+y": free, "-y": free}},
		{"stack, bottom against top", a, c, map[string]float64{"+z": 7, "-z": free, "+x": free, "-x": free}},
		{"stack, middle against top", b, c, map[string]float64{"+z": 3, "-z": free, "+y": free}},
		{"stack, top against middle", c, b, map[string]float64{"-z": 3, "+z": free, "+y": free}},
		{"dovetail", tongue, groove, map[string]float64{"+y": free, "-y": free, "-z": 0, "+x": 0, "-x": 0, "+z": 0}},
		{"groove off its tongue", groove, tongue, map[string]float64{"+y": free, "-y": free, "-z": 0, "+x": 0, "-x": 0, "+z": 0}},
	}
}

// slack is the most that a skin adds to a gap: met on a flank of the dovetail
// (slope 2 to 1), a move sideways takes √5/2 skins, one upwards √5.
const slack = 2.3 * skin

// turns are places at which every example must answer the same.
var turns = []geom.Transform{
	geom.Identity(),
	{M: mgl64.Rotate3DX(0.3).Mul3(mgl64.Rotate3DZ(1.1)), T: mgl64.Vec3{100, -70, 33}},
	{M: mgl64.Diag3(mgl64.Vec3{1, -1, 1}), T: mgl64.Vec3{5, 5, 5}},
}

// firstContact moves mover, shrunk by skin, along d towards fixed.
func firstContact(mover, fixed *Tree, place geom.Transform, d mgl64.Vec3, travel, skin float64) (Contact, bool) {
	return NewMover(mover, skin).Aim(place, d).FirstContact(fixed, travel)
}

func TestSmallBlockingExamples(t *testing.T) {
	for _, c := range blockings() {
		mover, fixed := NewMover(Build(c.mover), skin), Build(c.fixed)
		for name, want := range c.want {
			for i, p := range turns { // both moved the same way
				d := p.Dir(dirs[name])
				got, ok := mover.Aim(p, d).FirstContact(fixed.Placed(p), math.Inf(1))
				switch {
				case ok != (want != free):
					t.Errorf("%s %s, turn %d: contact %v %+v, want %g", c.name, name, i, ok, got, want)
				case ok && !(got.Dist >= want && got.Dist <= want+slack):
					t.Errorf("%s %s, turn %d: contact at %g, want %g", c.name, name, i, got.Dist, want)
				}
				if b := mover.Aim(p, d).Blocked(fixed.Placed(p), math.Inf(1)); b != ok {
					t.Errorf("%s %s, turn %d: blocked %v, contact %v", c.name, name, i, b, ok)
				}
			}
		}
	}
}

// The same with exact touch and no skin: sliding is free, pressing is not.
func TestTouchingWithoutSkin(t *testing.T) {
	for _, c := range blockings() {
		if c.name == "round peg, facets that do not match" {
			continue // its facets do cross
		}
		for name, want := range c.want {
			for i, p := range turns {
				got, ok := firstContact(Build(c.mover), Build(c.fixed).Placed(p), p, p.Dir(dirs[name]), math.Inf(1), 0)
				if ok != (want != free) || ok && math.Abs(got.Dist-want) > 1e-9 {
					t.Errorf("%s %s, turn %d: contact %v %+v, want %g", c.name, name, i, ok, got, want)
				}
			}
		}
	}
}

// Four bars round a square in a tight frame: A lies along the lower side and
// stops at B, B at C, C at D, D at A.
func TestPinwheel(t *testing.T) {
	bars := []*mesh.Mesh{
		box(0, 0, 0, 30, 10, 10), box(30, 0, 0, 40, 30, 10),
		box(10, 30, 0, 40, 40, 10), box(0, 10, 0, 10, 40, 10),
	}
	along := []string{"+x", "+y", "-x", "-y"}
	frame := join(box(-5, -5, 0, 0, 45, 10), box(40, -5, 0, 45, 45, 10), box(0, -5, 0, 40, 0, 10), box(0, 40, 0, 40, 45, 10))
	for i, m := range bars {
		mover := NewMover(Build(m), skin)
		next := Build(bars[(i+1)%4])
		if c, ok := mover.Aim(geom.Identity(), dirs[along[i]]).FirstContact(next, 100); !ok || c.Dist > 2*skin {
			t.Errorf("bar %d along %s: next bar at %+v %v, want 0", i, along[i], c, ok)
		}
		for name, d := range dirs {
			blocked := false
			for j, o := range append(append([]*mesh.Mesh(nil), bars...), frame) {
				blocked = blocked || j != i && mover.Aim(geom.Identity(), d).Blocked(Build(o), math.Inf(1))
			}
			if upDown := name == "+z" || name == "-z"; blocked == upDown {
				t.Errorf("bar %d along %s: blocked %v", i, name, blocked)
			}
		}
	}
}

func TestContactNumbers(t *testing.T) {
	inf := math.Inf(1)
	one := box(0, 0, 0, 1, 1, 1)
	sheet := &mesh.Mesh{Vertices: []mgl64.Vec3{{-5, -5, 7}, {5, -5, 7}, {5, 5, 7}, {-5, 5, 7}}, Triangles: [][3]int32{{0, 1, 2}, {0, 2, 3}}}
	fin := &mesh.Mesh{Vertices: []mgl64.Vec3{{0.5, -5, 7}, {0.5, 5, 7}, {0.5, 5, 9}, {0.5, -5, 9}}, Triangles: [][3]int32{{0, 1, 2}, {0, 2, 3}}}
	for _, c := range []struct {
		name         string
		mover, fixed *mesh.Mesh
		d            mgl64.Vec3
		travel, skin float64
		want         float64
	}{
		{"face to face", one, box(-1, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, 1}, inf, 0, 3},
		{"face to face with skin", one, box(-1, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, 1}, inf, 0.1, 3.1},
		{"travel too short", one, box(-1, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, 1}, 2.9, 0, free},
		{"travel just enough", one, box(-1, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, 1}, 3, 0, 3},
		{"behind", one, box(-1, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, -1}, inf, 0, free},
		{"past", one, box(1.5, -1, 4, 2, 2, 5), mgl64.Vec3{0, 0, 1}, inf, 0, free},
		{"oblique", one, box(4, -9, -9, 5, 9, 9), mgl64.Vec3{0.6, 0, 0.8}, inf, 0, 5},
		{"interpenetrating", one, box(0.5, 0.5, 0.5, 2, 2, 2), mgl64.Vec3{0, 0, -1}, inf, 0.01, 0},
		{"inside", one, box(-5, -5, -5, 5, 5, 5), mgl64.Vec3{0, 0, 1}, inf, 0.01, 0},
		{"round the other", box(-5, -5, -5, 5, 5, 5), one, mgl64.Vec3{0, 0, 1}, inf, 0.01, 0},
		{"sheet across", one, sheet, mgl64.Vec3{0, 0, 1}, inf, 0, 6},
		{"sheet edge-on", one, fin, mgl64.Vec3{0, 0, 1}, inf, 0, 6},
		{"sheet edge-on, beside", one, moved(fin, geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{0.5, 0, 0}}), mgl64.Vec3{0, 0, 1}, inf, 0, free},
		{"sheet moves edge-on", fin, one, mgl64.Vec3{0, 0, -1}, inf, 0, 6},
		{"edge on edge", prismX(0, 1, [2]float64{-1, 0}, [2]float64{1, 0}, [2]float64{0, 1}),
			moved(prismX(0, 1, [2]float64{-1, 1}, [2]float64{0, 0}, [2]float64{1, 1}), geom.Transform{M: mgl64.Rotate3DZ(math.Pi / 2), T: mgl64.Vec3{0.5, 0.5, 4}}),
			mgl64.Vec3{0, 0, 1}, inf, 0, 3},
		{"tip on face", &mesh.Mesh{Vertices: []mgl64.Vec3{{0, 0, 2}, {-1, -1, 0}, {1, -1, 0}, {0, 1, 0}}, Triangles: [][3]int32{{0, 1, 2}, {0, 2, 3}, {0, 3, 1}, {1, 3, 2}}},
			box(-9, -9, 3.5, 9, 9, 4), mgl64.Vec3{0, 0, 1}, inf, 0, 1.5},
	} {
		got, ok := firstContact(Build(c.mover), Build(c.fixed), geom.Identity(), c.d, c.travel, c.skin)
		if ok != (c.want != free) || ok && math.Abs(got.Dist-c.want) > 1e-6*(1+c.skin/1e-5) {
			t.Errorf("%s: contact %v %+v, want %g", c.name, ok, got, c.want)
		}
	}
}

// Solids that are inside out are turned in thought.
func TestInsideOutSolidsMeetAsOthers(t *testing.T) {
	a, b := box(0, 0, 0, 1, 1, 1), box(-1, -1, 4, 2, 2, 5)
	for i, c := range [][2]*mesh.Mesh{{a, b}, {flipped(a), b}, {a, flipped(b)}, {flipped(a), flipped(b)}} {
		got, ok := firstContact(Build(c[0]), Build(c[1]), geom.Identity(), mgl64.Vec3{0, 0, 1}, math.Inf(1), 0)
		if !ok || math.Abs(got.Dist-3) > 1e-12 {
			t.Errorf("case %d: %+v %v, want 3", i, got, ok)
		}
	}
}

// A box whose faces share no vertices shrinks as one whose faces do.
func TestShrinkJoinsCornersInOnePlace(t *testing.T) {
	joined := box(0, 0, 0, 4, 5, 6)
	torn := &mesh.Mesh{}
	for _, tri := range joined.Triangles {
		n := int32(len(torn.Vertices))
		torn.Vertices = append(torn.Vertices, joined.Vertices[tri[0]], joined.Vertices[tri[1]], joined.Vertices[tri[2]])
		torn.Triangles = append(torn.Triangles, [3]int32{n, n + 1, n + 2})
	}
	for name, m := range map[string]*mesh.Mesh{"joined": joined, "torn": torn} {
		b := NewMover(Build(m), 0.5).tree.Box()
		if b.Min.Sub(mgl64.Vec3{0.5, 0.5, 0.5}).Len() > 1e-5 || b.Max.Sub(mgl64.Vec3{3.5, 4.5, 5.5}).Len() > 1e-5 {
			t.Errorf("%s: shrunk to %v", name, b)
		}
		if !Build(m).Closed() {
			t.Errorf("%s: not closed", name)
		}
	}
}

// A corner with one face only moves straight inward, by the shortest way.
func TestShrinkOfAnOpenSheet(t *testing.T) {
	sheet := box(0, 0, 0, 4, 5, 6)
	sheet.Triangles = [][3]int32{{4, 5, 6}, {4, 6, 7}} // the top
	b := NewMover(Build(sheet), 0.1).tree.Box()
	if b.Min.Sub(mgl64.Vec3{0, 0, 5.9}).Len() > 1e-5 || b.Max.Sub(mgl64.Vec3{4, 5, 5.9}).Len() > 1e-5 {
		t.Errorf("shrunk to %v", b)
	}
}

// A sheet thinner than two skins turns inside out when it is shrunk. Which way
// the mesh itself looks must not depend on whether the shrunk one was asked
// first.
func TestThinSheetLooksTheWayItWasMade(t *testing.T) {
	sheet, up := box(0, 0, 0, 40, 50, 0.03), mgl64.Vec3{0, 0, 1}
	tree := Build(sheet)
	thin := NewMover(tree, 0.02)
	if c, ok := thin.Aim(geom.Identity(), up).FirstContact(Build(box(0, 0, 5, 40, 50, 6)), math.Inf(1)); !ok || math.Abs(c.Dist-4.99) > 1e-4 {
		t.Errorf("the sheet, its top a skin lower, meets the box at %+v %v, want 4.99", c, ok)
	}
	ball := NewMover(Build(box(10, 10, -9, 20, 20, -4)), 0)
	if c, ok := ball.Aim(geom.Identity(), up).FirstContact(tree, math.Inf(1)); !ok || math.Abs(c.Dist-4) > 1e-9 {
		t.Errorf("a block from below meets the sheet at %+v %v, want 4", c, ok)
	}
}

// The point of a needle would have to move 100 skins; it moves maxSpike.
func TestShrinkStopsAtSpikes(t *testing.T) {
	needle := Build(prism(0, 10, [2]float64{0, 0}, [2]float64{100, -1}, [2]float64{100, 1}))
	b := NewMover(needle, 0.1).tree.Box()
	if moved := b.Min[0]; math.Abs(moved-maxSpike*0.1) > 0.01 {
		t.Errorf("the needle's point moves %g, want %g", moved, maxSpike*0.1)
	}
}

// A skin moves every face of a box by just the skin, and keeps a facetted
// cylinder within rounding of its inner parallel.
func TestShrinkMovesEveryFaceBySkin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := []*mesh.Mesh{box(0, 0, 0, 4, 5, 6), prism(0, 3, circle(0, 0, 5, 24, 0)...), plate(0, 2, 3, 8, 36)}
		m := moved(ms[rapid.IntRange(0, 2).Draw(t, "shape")], drawPlace(t))
		const skin = 0.05
		tree := Build(m)
		small := NewMover(tree, skin).tree
		for k := range tree.ids {
			n := unitNormal(tree.at(int32(k)))
			a, b := tree.at(int32(k)), small.at(int32(k))
			for i := 0; i < 9; i += 3 {
				in := n[0]*(a[i]-b[i]) + n[1]*(a[i+1]-b[i+1]) + n[2]*(a[i+2]-b[i+2])
				if math.Abs(in-skin) > 1e-3*skin {
					t.Fatalf("triangle %d, corner %d moves %g inward, want %g", k, i/3, in, skin)
				}
			}
		}
	})
}

// The sweep must find what small steps find. Convex solids at odd angles keep
// touching cases out.
func TestSweepMatchesSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shapes := []*mesh.Mesh{box(-3, -2, -1, 3, 2, 1), prism(-2, 2, circle(0, 0, 2, 7, 0.2)...), plate(-1, 1, 1.5, 4, 9), sphere(mgl64.Vec3{}, 2, 4)}
		pick := rapid.IntRange(0, len(shapes)-1)
		a, b := shapes[pick.Draw(t, "mover")], moved(shapes[pick.Draw(t, "fixed")], drawPlace(t))
		place := drawPlace(t)
		d := drawUnit(t)
		if rapid.Bool().Draw(t, "aimed") {
			if u, ok := geom.Unit(Build(b).Box().Centre().Sub(place.T).Add(drawPoint(t, 2))); ok {
				d = u
			}
		}
		const travel, step = 40, 0.05
		ta, tb := Build(a), Build(b)
		got, ok := firstContact(ta, tb, place, d, travel, 0)
		if !ok {
			got.Dist = math.Inf(1)
		}
		on := ta.Placed(place)
		at := func(s float64) bool {
			return Intersects(on, tb, geom.Transform{M: mgl64.Ident3(), T: d.Mul(s)})
		}
		for s := 0.0; s < min(travel, got.Dist-1e-6); s += step {
			if at(s) && !grazes(ta, tb, place, d, travel, got, ok) {
				t.Fatalf("meshes meet at %g, the sweep says %g %v", s, got.Dist, ok)
			}
		}
		// Nothing may stand nearer than the contact, and at the contact they
		// touch, unless one began inside the other.
		if inside := got.Dist == 0 && !at(0); ok && !inside {
			gap, _ := Distance(on, tb, geom.Transform{M: mgl64.Ident3(), T: d.Mul(got.Dist)}, 1)
			if near, _ := tb.Closest(got.P, 1); gap.Dist > 1e-6 || near.Dist > 1e-6 {
				t.Fatalf("at the contact %+v the meshes are %g apart, the point %g off", got, gap.Dist, near.Dist)
			}
		}
		slow, sok := firstContact(all(a), all(b), place, d, travel, 0)
		if sok != ok || ok && math.Abs(slow.Dist-got.Dist) > 4*meetTol*max(on.reach, tb.reach) {
			t.Fatalf("tree %+v %v, all pairs %+v %v", got, ok, slow, sok)
		}
		q := drawPlace(t)
		qi, qok := firstContact(ta, tb.Placed(q), q.Mul(place), q.Dir(d), travel, 0)
		if (qok != ok || ok && math.Abs(qi.Dist-got.Dist) > 1e-6) && !grazes(ta, tb, place, d, travel, got, ok) {
			t.Fatalf("turned %+v %v, at home %+v %v", qi, qok, got, ok)
		}
	})
}

// grazes says that a move of ten times the sliding tolerance, to a side or
// along, changes the contact: then rounding may, too.
func grazes(a, b *Tree, place geom.Transform, d mgl64.Vec3, travel float64, was Contact, met bool) bool {
	x := geom.Perpendicular(d)
	y := d.Cross(x)
	ways := []mgl64.Vec3{d, d.Mul(-1)}
	for i := range 16 { // two corners that touch overlap only for some of the ways
		si, co := math.Sincos(math.Pi / 8 * float64(i))
		ways = append(ways, x.Mul(co).Add(y.Mul(si)))
	}
	for _, by := range ways {
		p := place
		p.T = p.T.Add(by.Mul(10 * shadowTol))
		c, ok := firstContact(a, b, p, d, travel, 0)
		if ok != met || ok && math.Abs(c.Dist-was.Dist) > 1e-4 {
			return true
		}
	}
	return false
}
