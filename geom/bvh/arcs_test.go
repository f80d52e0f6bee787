package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

func TestArcsAreASet(t *testing.T) {
	for _, c := range []struct {
		name       string
		in         []Arc
		want, free Arcs
	}{
		{"nothing", nil, nil, Arcs{{0, turn}}},
		{"one", []Arc{{1, 2}}, Arcs{{1, 2}}, Arcs{{2, 1 + turn}}},
		{"across zero", []Arc{{-1, 1}}, Arcs{{turn - 1, turn + 1}}, Arcs{{1, turn - 1}}},
		{"touching", []Arc{{2, 3}, {1, 2}}, Arcs{{1, 3}}, Arcs{{3, 1 + turn}}},
		{"overlapping, one inside", []Arc{{1, 4}, {2, 3}, {3.5, 5}}, Arcs{{1, 5}}, Arcs{{5, 1 + turn}}},
		{"two", []Arc{{4, 5}, {1, 2}}, Arcs{{1, 2}, {4, 5}}, Arcs{{2, 4}, {5, 1 + turn}}},
		{"from zero", []Arc{{0, 1}}, Arcs{{0, 1}}, Arcs{{1, turn}}},
		{"whole in parts", []Arc{{0, 4}, {3, turn}}, Arcs{{0, turn}}, nil},
		{"more than whole", []Arc{{3, 33}}, Arcs{{0, turn}}, nil},
		{"backwards, not a number", []Arc{{2, 1}, {math.NaN(), 1}}, nil, Arcs{{0, turn}}},
	} {
		got := ArcsOf(c.in...)
		if !sameArcs(got, c.want, 1e-12) || !sameArcs(got.Free(), c.free, 1e-12) {
			t.Errorf("%s: %v, free %v; want %v, free %v", c.name, got, got.Free(), c.want, c.free)
		}
	}
	if l, ok := ArcsOf(Arc{1, 2}, Arc{3, 5}, Arc{6, 7}).Longest(); !ok || l != (Arc{3, 5}) {
		t.Errorf("longest %v %v, want 3 to 5", l, ok)
	}
	if _, ok := (Arcs)(nil).Longest(); ok {
		t.Error("an empty set has no longest arc")
	}
}

func sameArcs(a, b Arcs, tol float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Abs(a[i].From-b[i].From) > tol || math.Abs(a[i].To-b[i].To) > tol {
			return false
		}
	}
	return true
}

func TestArcsContainWhatWasPutIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in []Arc
		for range rapid.IntRange(0, 6).Draw(t, "arcs") {
			from := rapid.Float64Range(-20, 20).Draw(t, "from")
			in = append(in, Arc{from, from + rapid.Float64Range(1e-6, 3).Draw(t, "span")})
		}
		k := rapid.IntRange(0, len(in)).Draw(t, "cut")
		set := ArcsOf(in[:k]...).Merge(ArcsOf(in[k:]...))
		if !sameArcs(set, ArcsOf(in...), 1e-9) || !sameArcs(set.Free().Free(), set, 1e-9) {
			t.Fatalf("%v: merged %v, at once %v, twice free %v", in, set, ArcsOf(in...), set.Free().Free())
		}
		x := rapid.Float64Range(-10, 10).Draw(t, "angle")
		want, unsure := false, false
		for _, a := range in {
			for n := -5.; n <= 5; n++ {
				want = want || a.From+n*turn <= x && x < a.To+n*turn
				unsure = unsure || math.Abs(a.From+n*turn-x) < 1e-9 || math.Abs(a.To+n*turn-x) < 1e-9
			}
		}
		if got := set.Contains(x); got != want && !unsure {
			t.Fatalf("%v contains %g: %v, want %v", set, x, got, want)
		}
		if free := set.Free().Contains(x); free == want && !unsure {
			t.Fatalf("both %v and its complement contain %g or neither", set, x)
		}
	})
}

// A post of radius 1 (a square here) at (10, 0): the closed formulas of the
// square's corners.
func TestBlockedArcsByHand(t *testing.T) {
	post := Build(box(9, -1, 0, 11, 1, 50))
	wall := Build(box(5, -100, 0, 6, 100, 50))
	x := mgl64.Vec3{1, 0, 0}
	for _, c := range []struct {
		name          string
		tree          *Tree
		z0, z1        float64
		r0, r1, halfW float64
		want          Arcs
	}{
		{"thin arm, post", post, 1, 2, 0, 20, 0, symmetric(math.Atan2(1, 9))},
		{"arm ends before the post", post, 1, 2, 0, 8.9, 0, nil},
		{"arm begins behind the post", post, 1, 2, 11.2, 20, 0, nil},
		{"slab above the post", post, 50.1, 60, 0, 20, 0, nil},
		{"slab at its top", post, 50, 60, 0, 20, 0, symmetric(math.Atan2(1, 9))},
		// The bar's side passes the corner (9, ±1): ρ sin(φ-θ) = -w.
		{"wide arm, post", post, 1, 2, 0, 20, 2, symmetric(math.Atan2(1, 9) + math.Asin(2/math.Sqrt(82)))},
		// The bar's front corner (8, 2) meets x = 5 ... cos: 8 cos θ + 2 sin θ = 5.
		{"wide arm, wall", wall, 1, 2, 0, 8, 2, symmetric(math.Acos(5/math.Sqrt(68)) + math.Atan2(2, 8))},
		{"thin arm, wall", wall, 1, 2, 0, 8, 0, symmetric(math.Acos(5. / 8))},
		{"arm too short for the wall", wall, 1, 2, 0, 4.5, 2, nil},
		{"inside a tube", Build(plate(0, 10, 5, 8, 6)), 2, 3, 0, 6, 1, Arcs{{0, turn}}},
		{"on a lid larger than the arm", Build(box(-50, -50, 0, 50, 50, 1)), 0, 3, 2, 6, 1, Arcs{{0, turn}}},
	} {
		got := c.tree.BlockedArcs(zAxis, x, c.z0, c.z1, c.r0, c.r1, c.halfW)
		if !sameArcs(got, c.want, 1e-9) {
			t.Errorf("%s: blocked %v, want %v", c.name, got, c.want)
		}
	}
}

// symmetric is the set of all angles up to a on both sides of 0.
func symmetric(a float64) Arcs { return ArcsOf(Arc{-a, a}) }

// At every angle the arm is a box in its own coordinates; whether a triangle
// overlaps it is asked in three dimensions there, a different way from the
// projection.
func TestBlockedArcsMatchBoxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		a := geom.Axis{O: drawPoint(t, 5), D: drawUnit(t)}
		x := geom.Perpendicular(a.D)
		z0 := rapid.Float64Range(-10, 8).Draw(t, "z0")
		z1 := z0 + rapid.Float64Range(0, 5).Draw(t, "dz")
		r0 := rapid.Float64Range(0, 8).Draw(t, "r0")
		r1 := r0 + rapid.Float64Range(0, 8).Draw(t, "dr")
		w := rapid.Float64Range(0, 3).Draw(t, "w")
		tree := Build(m)
		got := tree.BlockedArcs(a, x, z0, z1, r0, r1, w)
		if free := tree.FreeArcs(a, x, z0, z1, r0, r1, w); !sameArcs(free, got.Free(), 0) {
			t.Fatalf("free %v, blocked %v", free, got)
		}
		for i := range 40 {
			angle := turn*float64(i)/40 + 0.0123
			// A slightly larger and a slightly smaller arm bound what
			// rounding may say.
			large := armTouches(tree, a, x, angle, [6]float64{r0 - 1e-7, -w - 1e-7, z0 - 1e-7, r1 + 1e-7, w + 1e-7, z1 + 1e-7})
			small := armTouches(tree, a, x, angle, [6]float64{r0 + 1e-7, -w + 1e-7, z0 + 1e-7, r1 - 1e-7, w - 1e-7, z1 - 1e-7})
			if in := got.Contains(angle); in && !large || !in && small {
				t.Fatalf("angle %g: blocked %v (%v), but a larger arm touches %v, a smaller one %v", angle, in, got, large, small)
			}
		}
	})
}

func armTouches(t *Tree, a geom.Axis, x mgl64.Vec3, angle float64, b [6]float64) bool {
	s, c := math.Sincos(angle)
	u := x.Mul(c).Add(a.D.Cross(x).Mul(s))
	f := geom.Frame{O: a.O, X: u, Y: a.D.Cross(u), Z: a.D}
	back, _ := f.Transform().Inverse()
	touches := false
	t.Placed(back).OverlapBox(geom.Box{Min: mgl64.Vec3{b[0], b[1], b[2]}, Max: mgl64.Vec3{b[3], b[4], b[5]}},
		func(int32) bool { touches = true; return false })
	return touches
}

// An arc ends just where the arm leaves the mesh: a hair within the ends of
// every blocked arc an arm a little larger touches, a hair outside one a
// little smaller does not, and so in the middle of all of them.
func TestBlockedArcsEndWhereTheArmLeaves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, p := drawMesh(t), drawPlace(t)
		a := geom.Axis{O: drawPoint(t, 5), D: drawUnit(t)}
		x := geom.Perpendicular(a.D)
		z0 := rapid.Float64Range(-10, 8).Draw(t, "z0")
		b := [6]float64{rapid.Float64Range(0, 8).Draw(t, "r0"), -rapid.Float64Range(0, 3).Draw(t, "w"), z0}
		b[3], b[4], b[5] = b[0]+rapid.Float64Range(0, 8).Draw(t, "dr"), -b[1], z0+rapid.Float64Range(0, 5).Draw(t, "dz")
		tree := Build(m)
		arcs := tree.BlockedArcs(a, x, b[2], b[5], b[0], b[3], b[4])
		touches := func(angle, more float64) bool {
			return armTouches(tree, a, x, angle, [6]float64{b[0] - more, b[1] - more, b[2] - more, b[3] + more, b[4] + more, b[5] + more})
		}
		const hair, slack = 1e-7, 1e-5 // rad, and what the arm's end moves by it
		for _, arc := range arcs {
			for _, angle := range []float64{arc.From + hair, arc.Middle(), arc.To - hair} {
				if !touches(angle, slack) {
					t.Fatalf("blocked at %g of %v, but an arm larger by %g does not touch", angle, arcs, slack)
				}
			}
		}
		for _, arc := range arcs.Free() {
			for _, angle := range []float64{arc.From + hair, arc.Middle(), arc.To - hair} {
				if touches(angle, -slack) {
					t.Fatalf("free at %g of %v, but an arm smaller by %g touches", angle, arcs.Free(), slack)
				}
			}
		}
		// The same places, moved together; a mirror turns the arcs round.
		there := Build(moved(m, p)).BlockedArcs(a.Transformed(p), p.Dir(x), b[2], b[5], b[0], b[3], b[4])
		for i := range 24 {
			angle := turn*float64(i)/24 + 0.0321
			turned := angle
			if p.IsMirror() {
				turned = -angle
			}
			if arcs.Contains(angle) != there.Contains(turned) && touches(angle, slack) == touches(angle, -slack) {
				t.Fatalf("at %g: %v, moved %v", angle, arcs, there)
			}
		}
	})
}
