package bvh

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// The reference table's hand-made cases, both ways round and turned.
func TestDistanceTable(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	f, err := os.Open(filepath.Join(shared, "reference", "distance_checks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 17 {
		t.Fatalf("%d rows, want a heading and 16 cases", len(rows))
	}
	turns := []geom.Transform{geom.Identity(), {M: mgl64.Rotate3DX(0.7).Mul3(mgl64.Rotate3DY(1.9)), T: mgl64.Vec3{3, 4, 5}}}
	for _, r := range rows[1:] {
		want, err := strconv.ParseFloat(r[5], 64)
		if err != nil {
			t.Fatalf("%s: %v", r[1], err)
		}
		a, b := Build(soup(t, r[2])), Build(soup(t, r[3]))
		for i, p := range turns {
			tol := 1e-10 * (1 + max(a.reach, b.reach)) // large coordinates round more
			for _, g := range []struct{ a, b *Tree }{{a, b}, {b, a}} {
				got, ok := Distance(g.a, g.b.Placed(p), p, 1000)
				if !ok || math.Abs(got.Dist-want) > tol || math.Abs(got.PA.Sub(got.PB).Len()-want) > tol {
					t.Errorf("%s, turn %d: %+v %v, want %g", r[1], i, got, ok, want)
				}
				if meet := Intersects(g.a, g.b.Placed(p), p); meet != (want == 0) {
					t.Errorf("%s, turn %d: intersects %v, distance %g", r[1], i, meet, want)
				}
			}
		}
	}
}

// A small triangle passes through the middle of a large one; no edge of the
// large one meets the small one.
func TestPiercedInTheMiddle(t *testing.T) {
	large, small := Build(soup(t, "(-9,-9,0) (9,-9,0) (0,9,0)")), Build(soup(t, "(0,0,-1) (1,0,1) (-1,0,1)"))
	for i, c := range [][2]*Tree{{large, small}, {small, large}} {
		g, ok := Distance(c[0], c[1], geom.Identity(), 1)
		if !ok || g.Dist != 0 || math.Abs(g.PA[2]) > 1e-12 || !Intersects(c[0], c[1], geom.Identity()) {
			t.Errorf("case %d: %+v %v, intersects %v", i, g, ok, Intersects(c[0], c[1], geom.Identity()))
		}
	}
}

// soup reads "(x,y,z) (x,y,z) ..." ; two points make a triangle that is a
// segment.
func soup(t *testing.T, text string) *mesh.Mesh {
	var nums []float64
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("(), ", r) }) {
		x, err := strconv.ParseFloat(w, 64)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		nums = append(nums, x)
	}
	m := &mesh.Mesh{Triangles: [][3]int32{{0, 1, int32(len(nums)/3 - 1)}}}
	for c := range slices.Chunk(nums, 3) {
		m.Vertices = append(m.Vertices, mgl64.Vec3(c))
	}
	return m
}

// Distances are checked against the nearest points themselves, which must lie
// on the triangles (so the distance is not too small), and against points all
// over both meshes (so it is not too large).
func TestDistanceMatchesPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, n, place := drawMesh(t), drawMesh(t), drawPlace(t)
		if rapid.Bool().Draw(t, "near") {
			place.T = place.T.Mul(0.1)
		}
		a, b := Build(m), Build(n)
		got, ok := Distance(a, b, place, math.Inf(1))
		if !ok || math.Abs(got.PA.Sub(got.PB).Len()-got.Dist) > 1e-9 {
			t.Fatalf("%+v %v", got, ok)
		}
		on := a.Placed(place)
		if p, _ := on.Closest(got.PA, 1); !(p.Dist < 1e-9) {
			t.Fatalf("%+v: PA is %g off", got, p.Dist)
		}
		if p, _ := b.Closest(got.PB, 1); !(p.Dist < 1e-9) {
			t.Fatalf("%+v: PB is %g off", got, p.Dist)
		}
		for range 20 {
			if near, _ := b.Closest(place.Point(drawOn(t, m)), math.Inf(1)); near.Dist < got.Dist-1e-9 {
				t.Fatalf("%+v, but a point is only %g away", got, near.Dist)
			}
		}
		if meet := Intersects(a, b, place); meet && got.Dist > 1e-9 || !meet && got.Dist < 1e-13 {
			t.Fatalf("intersects %v, distance %g", meet, got.Dist)
		}
		if got.Dist > 0 {
			if _, ok := Distance(a, b, place, got.Dist*(1-1e-12)-1e-12); ok {
				t.Fatalf("found within less than the distance %g", got.Dist)
			}
			if _, ok := Distance(a, b, place, got.Dist*(1+1e-12)+1e-12); !ok {
				t.Fatalf("not found within the distance %g", got.Dist)
			}
		}
		flat, _ := Distance(all(m), all(n), place, math.Inf(1))
		if flat.Dist != got.Dist {
			t.Fatalf("tree %+v, all pairs %+v", got, flat)
		}
	})
}

// The distance does not depend on which mesh is named first, nor on where both
// are together.
func TestDistanceIsSymmetricAndRigid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, place, p := Build(drawMesh(t)), Build(drawMesh(t)), drawPlace(t), drawPlace(t)
		if rapid.Bool().Draw(t, "near") {
			place.T = place.T.Mul(0.1)
		}
		back, _ := place.Inverse()
		want, _ := Distance(a, b, place, math.Inf(1))
		for name, c := range map[string]struct {
			a, b  *Tree
			place geom.Transform
		}{
			"the other way round": {b, a, back},
			"moved":               {a, b.Placed(p), p.Mul(place)},
			"moved back":          {a, b.Placed(back), geom.Identity()},
		} {
			got, ok := Distance(c.a, c.b, c.place, math.Inf(1))
			if !ok || math.Abs(got.Dist-want.Dist) > 1e-11*(1+a.reach+b.reach+place.T.Len()) {
				t.Fatalf("%s: %.15g %v, want %.15g", name, got.Dist, ok, want.Dist)
			}
			// Where the gap is not next to nothing both agree on whether there is one.
			if meet := Intersects(c.a, c.b, c.place); want.Dist > 1e-9 && meet || want.Dist == 0 && !meet {
				t.Fatalf("%s: meet %v, distance %g", name, meet, want.Dist)
			}
		}
	})
}

// Closed bodies whose distance is known: two spheres and a sphere over a plate
// come nearer to it with finer facets and are never nearer than the model.
func TestDistanceOfBodies(t *testing.T) {
	for _, n := range []int{8, 16, 32} {
		sag := 2 * (1 - math.Cos(math.Pi/float64(n))) * 5 // of one sphere's facets, with room for their corners
		ball := Build(sphere(mgl64.Vec3{}, 5, n))
		for name, c := range map[string]struct {
			other *Tree
			at    mgl64.Vec3 // of the ball
			want  float64
			slack float64
		}{
			"two spheres":         {ball, mgl64.Vec3{4, 12, 7}, mgl64.Vec3{4, 12, 7}.Len() - 10, 2 * sag},
			"over a plate":        {Build(box(-50, -50, -5, 50, 50, 0)), mgl64.Vec3{1, 2, 7}, 2, sag},
			"beside an edge":      {Build(box(-50, -50, -5, 0, 50, 0)), mgl64.Vec3{6, 2, 8}, 5, sag},
			"off a corner":        {Build(box(-50, -50, -5, 0, 0, 0)), mgl64.Vec3{6, 6, 7}, 6, sag},
			"in a hole":           {Build(plate(-9, 9, 8, 20, 400)), mgl64.Vec3{1, 0, 0}, 2, sag + 1e-3},
			"in a larger sphere":  {Build(sphere(mgl64.Vec3{}, 12, 64)), mgl64.Vec3{0, 0, 3}, 4, sag + 0.05},
			"standing in a plate": {Build(box(-50, -50, -5, 50, 50, 0)), mgl64.Vec3{1, 2, 3}, 0, 1e-9},
		} {
			got, ok := Distance(ball, c.other, geom.Transform{M: mgl64.Ident3(), T: c.at}, math.Inf(1))
			// A hole's facets stand inside the circle: nearer by their own sag.
			if !ok || got.Dist < c.want-0.03 || got.Dist > c.want+c.slack {
				t.Errorf("%s, %d rings: %.6f, want %g to %.6f", name, n, got.Dist, c.want, c.want+c.slack)
			}
		}
	}
}

// BenchmarkPairs asks meshes of 20,000 triangles each. Concentric ones are the
// worst: every place is nearly the nearest.
func BenchmarkPairs(b *testing.B) {
	ball, larger := Build(sphere(mgl64.Vec3{}, 50, 72)), Build(sphere(mgl64.Vec3{}, 52, 71))
	tube, shaft := Build(sleeve(10.02, 30, 50, 100, 50)), Build(sleeve(5, 10, 50, 97, 51))
	thread, like := Build(helix(5, 0.6, 1, 20, 160)), Build(helix(6.5, 0.6, 1, 20, 170))
	for _, c := range []struct {
		name string
		a, b *Tree
		at   mgl64.Vec3
	}{
		{"spheres apart", ball, ball, mgl64.Vec3{100, 30, 20}},
		{"spheres nearly touch", ball, ball, mgl64.Vec3{60, 60, 52.94}},
		{"sphere in sphere", ball, larger, mgl64.Vec3{}},
		{"shaft in its bore", shaft, tube, mgl64.Vec3{}},
		{"threads", thread, like, mgl64.Vec3{0, 0, 0.1}},
		{"spheres overlap", ball, ball, mgl64.Vec3{30, 20, 10}},
	} {
		place := geom.Transform{M: mgl64.Ident3(), T: c.at}
		b.Run("distance/"+c.name, func(b *testing.B) {
			b.ReportAllocs()
			var g Gap
			for b.Loop() {
				g, _ = Distance(c.a, c.b, place, math.Inf(1))
			}
			b.ReportMetric(g.Dist, "mm")
		})
		b.Run("intersects/"+c.name, func(b *testing.B) {
			b.ReportAllocs()
			meets := false
			for b.Loop() {
				meets = Intersects(c.a, c.b, place)
			}
			if meets != (c.name == "spheres overlap") {
				b.Fatal(meets)
			}
		})
	}
}

func TestClosestMatchesPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		p := drawPoint(t, 20)
		if rapid.Bool().Draw(t, "on") {
			p = drawOn(t, m)
			if got, ok := Build(m).Closest(p, 1e-9); !ok {
				t.Fatalf("a point of the mesh is not on it: %+v", got)
			}
		}
		got, ok := Build(m).Closest(p, math.Inf(1))
		if !ok || math.Abs(got.P.Sub(p).Len()-got.Dist) > 1e-12*(1+got.Dist) {
			t.Fatalf("%+v %v", got, ok)
		}
		if flat, _ := all(m).Closest(p, math.Inf(1)); math.Abs(flat.Dist-got.Dist) > 1e-12 {
			t.Fatalf("tree %+v, all triangles %+v", got, flat)
		}
		for range 20 {
			if q := drawOn(t, m); q.Sub(p).Len() < got.Dist-1e-9 {
				t.Fatalf("%v is nearer to %v than %+v", q, p, got)
			}
		}
	})
}

// The sphere's and the plate's insides are known.
func TestContains(t *testing.T) {
	ball, ring := sphere(mgl64.Vec3{1, 2, 3}, 5, 40), plate(-2, 2, 3, 6, 48)
	hollow := join(sphere(mgl64.Vec3{}, 5, 20), flipped(sphere(mgl64.Vec3{}, 3, 20)))
	trees := []*Tree{Build(ball), Build(ring), Build(hollow), Build(flipped(ball))}
	rapid.Check(t, func(t *rapid.T) {
		p := drawPoint(t, 8)
		r, rho := p.Sub(mgl64.Vec3{1, 2, 3}).Len(), math.Hypot(p[0], p[1])
		slab := math.Abs(p[2])
		for i, c := range []struct{ in, out bool }{
			{r < 4.97, r > 5},
			{rho > 3 && rho < 5.98 && slab < 2, rho < 2.99 || rho > 6 || slab > 2},
			{p.Len() > 3 && p.Len() < 4.9, p.Len() > 5 || p.Len() < 2.9},
			{r < 4.97, r > 5},
		} {
			if got := trees[i].Contains(p); c.in && !got || c.out && got {
				t.Fatalf("shape %d contains %v: %v", i, p, got)
			}
		}
	})
	for i, tree := range trees {
		if !tree.Closed() {
			t.Errorf("shape %d is not closed", i)
		}
	}
	open := Build(&mesh.Mesh{Vertices: ball.Vertices, Triangles: ball.Triangles[1:]})
	if open.Closed() {
		t.Error("a sphere without one triangle is closed")
	}
	if !open.Contains(mgl64.Vec3{1, 2, 3}) {
		t.Error("a small gap lets the middle out")
	}
}

func flipped(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: m.Vertices}
	for _, t := range m.Triangles {
		out.Triangles = append(out.Triangles, [3]int32{t[0], t[2], t[1]})
	}
	return out
}

// A triangle overlaps a box if something is left of it after cutting it by the
// six sides.
func TestOverlapBoxMatchesCutting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		b := geom.EmptyBox().Add(drawPoint(t, 10)).Add(drawPoint(t, 10))
		got := map[int32]bool{}
		Build(m).OverlapBox(b, func(tri int32) bool {
			if got[tri] {
				t.Fatalf("triangle %d twice", tri)
			}
			got[tri] = true
			return true
		})
		for i := range m.Triangles {
			large, small := cutByBox(m, i, b.Grow(1e-9)), cutByBox(m, i, b.Grow(-1e-9))
			if in := got[int32(i)]; in && !large || !in && small {
				t.Fatalf("triangle %d in %v: %v, cutting says %v", i, b, in, large)
			}
		}
	})
}

func cutByBox(m *mesh.Mesh, tri int, b geom.Box) bool {
	var poly []mgl64.Vec3
	for _, v := range m.Triangles[tri] {
		poly = append(poly, m.Vertices[v])
	}
	for axis := range 3 {
		for _, side := range []struct{ at, sign float64 }{{b.Min[axis], 1}, {b.Max[axis], -1}} {
			var next []mgl64.Vec3
			for i, p := range poly {
				q := poly[(i+1)%len(poly)]
				dp, dq := side.sign*(p[axis]-side.at), side.sign*(q[axis]-side.at)
				if dp >= 0 {
					next = append(next, p)
				}
				if (dp > 0) != (dq > 0) && dp != dq {
					next = append(next, p.Add(q.Sub(p).Mul(dp/(dp-dq))))
				}
			}
			poly = next
		}
	}
	return len(poly) > 0
}

func ExampleTree_FreeRadius() {
	wall := Build(box(4, -50, 0, 6, 50, 100)) // the near side stands at x = 4
	free, ok := wall.FreeRadius(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, 0, 30, 20)
	fmt.Println(free.R, ok)
	// Output: 4 true
}
