package bvh

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/mesh"
)

// A mesh of several pieces must become the same tree on any number of cores.
func TestBuildIsTheSameOnAnyCores(t *testing.T) {
	m := bodies(90e3)
	m.Triangles[70e3][1] = -1 // left out: what follows moves up
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	want := Build(m)
	if err := checkTree(want); err != nil || want.Len() != len(m.Triangles)-1 {
		t.Fatalf("%d of %d triangles, %v", want.Len(), len(m.Triangles), err)
	}
	for _, cores := range []int{2, 3, 8} {
		runtime.GOMAXPROCS(cores)
		got := Build(m)
		if !slices.Equal(got.nodes, want.nodes) || !slices.Equal(got.ids, want.ids) || !slices.Equal(got.tri, want.tri) {
			t.Errorf("on %d cores the tree is another one", cores)
		}
	}
}

// Four boxes in a row, cut as the slow search over all masks would by hand: the
// two pairs.
func TestFewArePartedBest(t *testing.T) {
	at := func(x int32, id int32) reference {
		return reference{gridBox{[3]int32{x, 0, 0}, [3]int32{x + 10, 10, 10}}, id}
	}
	refs := []reference{at(0, 0), at(100, 1), at(12, 2), at(112, 3)}
	if mask, cost := cheapestOfFew(refs); mask != 0b1010 || cost != 2*2*(22*10+22*10+10*10) {
		t.Errorf("mask %b, cost %g", mask, cost)
	}
}

// checkQuads says what is wrong with what rays walk through: every triangle
// once, within its box but for the rounding that rayPad allows for.
func checkQuads(t *Tree) string {
	quads := t.quadsOf()
	seen, reached := make([]bool, len(t.ids)), make([]bool, len(quads))
	reached[0] = true
	for i := range quads {
		q := &quads[i]
		for c := range int(q.n) {
			if q.count[c] == 0 {
				reached[q.child[c]] = true
				continue
			}
			for k := q.child[c]; k < q.child[c]+int32(q.count[c]); k++ {
				b := triangleBounds(t.at(k))
				if seen[k] || !q.holdsBox(c, &b, rayPad/20*t.reach) {
					return "a triangle stands twice or sticks out"
				}
				seen[k] = true
			}
		}
	}
	if slices.Contains(seen, false) || slices.Contains(reached, false) {
		return "a triangle or quad is missing"
	}
	return ""
}

func (q *quad) holdsBox(c int, b *[6]float64, tol float64) bool {
	for k := range 3 {
		o, s := float64(q.org[k]), math.Ldexp(1, int(q.exp[k]))
		if !(o+s*float64(q.side[k][c]) <= b[k]+tol) || !(o+s*float64(q.side[k+3][c]) >= b[k+3]-tol) {
			return false
		}
	}
	return true
}

func TestQuadsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := scaled(drawMesh(t), math.Pow(10, float64(rapid.IntRange(-12, 28).Draw(t, "power"))))
		shift := drawPoint(t, 1e6)
		for i, v := range m.Vertices {
			m.Vertices[i] = v.Add(shift)
		}
		if bad := checkQuads(Build(m)); bad != "" {
			t.Fatal(bad)
		}
	})
	if bad := checkQuads(Build(bodies(20e3))); bad != "" {
		t.Error(bad)
	}
}

func scaled(m *mesh.Mesh, f float64) *mesh.Mesh {
	for i, v := range m.Vertices {
		m.Vertices[i] = v.Mul(f)
	}
	return m
}

// Rays at corners, along and through edges and along the axes, of fine closed
// bodies, at scales up to and beyond what quads hold: the same hits as all
// triangles one by one, by the same test. Triangles seen edge-on to within
// rounding may be met far from where they are; a tree need not find that.
func TestRaysMatchEveryTriangle(t *testing.T) {
	base := bodies(3e3)
	powers := []int{0, 0, 0, -200, -60, -30, -5, 5, 25, 35, 60}
	trees := map[int]*Tree{}
	for _, p := range powers {
		if trees[p] == nil {
			m := &mesh.Mesh{Vertices: slices.Clone(base.Vertices), Triangles: base.Triangles}
			trees[p] = Build(scaled(m, math.Pow(10, float64(p))))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(powers).Draw(t, "power")
		tree, f := trees[p], math.Pow(10, float64(p))
		aim := drawOn(t, tree.mesh)
		var d mgl64.Vec3
		switch rapid.IntRange(0, 2).Draw(t, "way") {
		case 0:
			d = drawUnit(t)
		case 1:
			d = drawOn(t, tree.mesh).Sub(aim) // now and then along an edge
		default:
			d = drawPoint(t, 1)
			d[rapid.IntRange(0, 2).Draw(t, "still")] = 0
		}
		back := rapid.SampledFrom([]float64{0, 1, 50 * f, 1e3 * f}).Draw(t, "back")
		o := aim.Sub(d.Mul(back))
		tmin := rapid.SampledFrom([]float64{0, 1e-3 * back, back, -1, math.Inf(-1)}).Draw(t, "tmin")
		tmax := rapid.SampledFrom([]float64{math.Inf(1), back, 2 * back}).Draw(t, "tmax")
		compareHits(t, tree, o, d, tmin, tmax)
	})
}

func compareHits(t *rapid.T, tree *Tree, o, d mgl64.Vec3, tmin, tmax float64) {
	want := map[int32]float64{}
	var r ray
	if r.aim(o, d, tree.reach) {
		for k := range tree.ids {
			s, ok := r.meets(tree.at(int32(k)))
			if !ok || s < tmin || s > tmax {
				continue
			}
			if b := triangleBounds(tree.at(int32(k))); !r.enters(&b, s, s) {
				return // seen edge-on, where the sides are nothing but rounding
			}
			want[tree.ids[k]] = s
		}
	}
	got := tree.Hits(o, d, tmin, tmax)
	if len(got) != len(want) {
		t.Fatalf("%d hits, all triangles have %d: ray %v %v", len(got), len(want), o, d)
	}
	for i, h := range got {
		if s, ok := want[h.Tri]; !ok || s != h.T || i > 0 && (got[i-1].T > h.T || got[i-1].T == h.T && got[i-1].Tri >= h.Tri) {
			t.Fatalf("hit %d is %v, triangle alone %g %v: ray %v %v", i, h, s, ok, o, d)
		}
	}
	near, ok := tree.Nearest(o, d, tmin, tmax)
	if any := tree.AnyHit(o, d, tmin, tmax); any != (len(got) > 0) || ok != any || ok && near != got[0] {
		t.Fatalf("any %v, nearest %v %v of %v: ray %v %v", any, near, ok, got, o, d)
	}
}
