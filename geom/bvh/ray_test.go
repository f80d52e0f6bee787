package bvh

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/mesh"
)

// hitSlowly is the textbook formula (Cramer's rule) over all triangles with a
// margin: hits nearer than eps to an edge, and triangles seen edge-on, answer
// "unsure".
func hitSlowly(m *mesh.Mesh, o, d mgl64.Vec3, tmin, tmax, eps float64) (nearest float64, tri int, unsure bool) {
	nearest, tri = math.Inf(1), -1
	for i, t := range m.Triangles {
		a := m.Vertices[t[0]]
		e, f, s := m.Vertices[t[1]].Sub(a), m.Vertices[t[2]].Sub(a), o.Sub(a)
		n := e.Cross(f)
		det := -d.Dot(n)
		if math.Abs(det) <= eps*d.Len()*n.Len() || n.Len() <= eps {
			unsure = true
			continue
		}
		u, v, r := d.Dot(s.Cross(f))/-det, d.Dot(e.Cross(s))/-det, s.Dot(n)/det
		low := min(u, v, 1-u-v)
		if math.Abs(low) <= eps || math.Abs(r-tmin) <= eps || math.Abs(r-tmax) <= eps {
			unsure = true
			continue
		}
		if low > 0 && r > tmin && r < tmax && r < nearest {
			nearest, tri = r, i
		}
	}
	return nearest, tri, unsure
}

// all is the tree with boxes so large that none is ever passed by.
func all(m *mesh.Mesh) *Tree {
	t := Build(m)
	for i := range t.nodes {
		for k := range 3 {
			t.nodes[i].b[k], t.nodes[i].b[3+k] = -1000, 1000
		}
	}
	return t
}

func TestRaysMatchBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		o := drawPoint(t, 30)
		if rapid.Bool().Draw(t, "at") {
			o = drawOn(t, m)
		}
		d := drawPoint(t, 3)
		switch rapid.IntRange(0, 2).Draw(t, "aim") {
		case 0:
			d = drawOn(t, m).Sub(o) // grazes a corner or an edge
		case 1:
			d = drawUnit(t)
		}
		tmin, tmax := rapid.Float64Range(-2, 1).Draw(t, "tmin"), rapid.Float64Range(0, 40).Draw(t, "tmax")
		tree, flat := Build(m), all(m)
		got, want := tree.AnyHit(o, d, tmin, tmax), flat.AnyHit(o, d, tmin, tmax)
		if got != want {
			t.Fatalf("tree says %v, all triangles say %v: ray %v %v", got, want, o, d)
		}
		gh, gok := tree.Nearest(o, d, tmin, tmax)
		wh, wok := flat.Nearest(o, d, tmin, tmax)
		if gh != wh || gok != wok || gok != got {
			t.Fatalf("nearest %v %v, all triangles %v %v: ray %v %v", gh, gok, wh, wok, o, d)
		}
		ga, wa := tree.Hits(o, d, tmin, tmax), flat.Hits(o, d, tmin, tmax)
		if len(ga) != len(wa) || (len(ga) > 0) != got || got && ga[0] != gh {
			t.Fatalf("hits %v, all triangles %v, nearest %v", ga, wa, gh)
		}
		near, tri, unsure := hitSlowly(m, o, d, tmin, tmax, 1e-9)
		if unsure {
			return
		}
		if gok != (tri >= 0) || gok && math.Abs(near-gh.T)*min(1, d.Len()) > 1e-7*(1+math.Abs(near)) {
			t.Fatalf("nearest %v %v, textbook %v triangle %d: ray %v %v", gh, gok, near, tri, o, d)
		}
	})
}

// No ray from the inside of a closed mesh leaves it unseen, not even one aimed
// at a corner or along an edge's points.
func TestNoRaySlipsOut(t *testing.T) {
	m := sphere(mgl64.Vec3{3, -2, 5}, 7, 9)
	tree := Build(m)
	rapid.Check(t, func(t *rapid.T) {
		o := mgl64.Vec3{3, -2, 5}.Add(drawPoint(t, 3))
		d := drawOn(t, m).Sub(o)
		if !tree.AnyHit(o, d, 0, math.Inf(1)) {
			t.Fatalf("the ray %v %v leaves the sphere unseen", o, d)
		}
		if !tree.AnyHit(o, d.Mul(-1), 0, math.Inf(1)) {
			t.Fatalf("the ray %v -%v leaves the sphere unseen", o, d)
		}
	})
}

func TestNothingAnswersNothing(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	bad := &mesh.Mesh{
		Vertices:  []mgl64.Vec3{{0, 0, 0}, {1, 0, 0}, {0, nan, 0}, {0, inf, 1}},
		Triangles: [][3]int32{{0, 1, 2}, {0, 1, 3}, {0, 1, 9}, {-1, 0, 1}},
	}
	for name, tree := range map[string]*Tree{"nil": nil, "no mesh": Build(nil), "empty": Build(&mesh.Mesh{}), "bad": Build(bad)} {
		if tree.Len() != 0 || !tree.Box().IsEmpty() {
			t.Errorf("%s: %d triangles in %v", name, tree.Len(), tree.Box())
		}
		if tree.AnyHit(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, -inf, inf) {
			t.Errorf("%s: hit", name)
		}
	}
	tree := Build(box(0, 0, 0, 1, 1, 1))
	for _, d := range []mgl64.Vec3{{}, {nan, 0, 0}, {inf, 0, 0}} {
		if tree.AnyHit(mgl64.Vec3{0.5, 0.5, -1}, d, -inf, inf) {
			t.Errorf("direction %v hits", d)
		}
	}
	if tree.AnyHit(mgl64.Vec3{nan, 0, 0}, mgl64.Vec3{0, 0, 1}, 0, inf) || tree.AnyHit(mgl64.Vec3{0.5, 0.4, -1}, mgl64.Vec3{0, 0, 1}, nan, inf) {
		t.Error("a ray that is not a number hits")
	}
}

// A thousand triangles in one place must not make the tree deep or endless.
func TestBuildSurvivesSameCentres(t *testing.T) {
	m := &mesh.Mesh{Vertices: []mgl64.Vec3{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}}
	for range 1000 {
		m.Triangles = append(m.Triangles, [3]int32{0, 1, 2})
	}
	tree := Build(m)
	if n := len(tree.Hits(mgl64.Vec3{0.2, 0.2, -1}, mgl64.Vec3{0, 0, 1}, 0, 2)); n != 1000 {
		t.Fatalf("%d hits of 1000", n)
	}
}

// checkTree says what is wrong with a tree: every triangle once, in boxes that
// hold it, in leaves that the sweep's buffers hold.
func checkTree(t *Tree) error {
	seen := make([]bool, len(t.ids))
	for i := range t.nodes {
		n := &t.nodes[i]
		if n.count > maxLeaf {
			return fmt.Errorf("leaf %d has %d triangles", i, n.count)
		}
		if n.count == 0 && (!holds(&n.b, &t.nodes[n.first].b) || !holds(&n.b, &t.nodes[n.first+1].b) || n.first <= int32(i)) {
			return fmt.Errorf("node %d does not hold its children", i)
		}
		for k := n.first; k < n.first+n.count; k++ {
			if b := triangleBounds(t.at(k)); seen[k] || !holds(&n.b, &b) {
				return fmt.Errorf("leaf %d: triangle %d stands twice or sticks out", i, k)
			}
			seen[k] = true
		}
	}
	if i := slices.Index(seen, false); i >= 0 {
		return fmt.Errorf("triangle %d is in no leaf", i)
	}
	return nil
}

func TestTreesAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := Build(drawMesh(t))
		for _, tree := range []*Tree{tree, tree.Placed(drawPlace(t))} {
			if err := checkTree(tree); err != nil {
				t.Fatal(err)
			}
		}
	})
	// Large sheets nearly on top of each other, which no cut parts cheaply.
	m := &mesh.Mesh{}
	for i := int32(0); i < 50; i++ {
		x := 1e-3 * float64(i)
		m.Vertices = append(m.Vertices, mgl64.Vec3{x, 0, 0}, mgl64.Vec3{x + 100, x, 0}, mgl64.Vec3{0, 100, 100})
		m.Triangles = append(m.Triangles, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	if err := checkTree(Build(m)); err != nil {
		t.Error(err)
	}
}

// Doubling distances defeat bins: every cut parts one triangle from the rest.
func TestBuildSurvivesGrowingDistances(t *testing.T) {
	m := &mesh.Mesh{}
	x := 1e-150
	for i := int32(0); i < 900; i++ {
		m.Vertices = append(m.Vertices, mgl64.Vec3{x, 0, 0}, mgl64.Vec3{x, 1, 0}, mgl64.Vec3{x, 0, 1})
		m.Triangles = append(m.Triangles, [3]int32{3 * i, 3*i + 1, 3*i + 2})
		x *= 2
	}
	tree := Build(m)
	if n := len(tree.Hits(mgl64.Vec3{-1, 0.2, 0.2}, mgl64.Vec3{1, 0, 0}, 0, math.Inf(1))); n != 900 {
		t.Fatalf("%d hits of 900", n)
	}
}

// A chain of quads, each with the next one and three leaves that have to wait:
// more wait than the short array holds. The nearest sheet waits first of all.
func TestNearestWhileManyBoxesWait(t *testing.T) {
	const chain = 40
	m := &mesh.Mesh{}
	for i := int32(0); i < 3*chain; i++ {
		x := 1 + float64(i)
		m.Vertices = append(m.Vertices, mgl64.Vec3{x, -1, -1}, mgl64.Vec3{x, 3, -1}, mgl64.Vec3{x, -1, 3})
		m.Triangles = append(m.Triangles, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	tree := Build(m)
	whole := tree.nodes[0].b
	var quads []quad
	for i := int32(0); i < chain; i++ {
		q := quad{n: 4, child: [4]int32{3 * i, 3*i + 1, 3*i + 2, i + 1}, count: [4]uint8{1, 1, 1, 0}}
		q.frame(&whole)
		for k := range 4 {
			q.hold(k, &whole)
		}
		if i == chain-1 {
			q.n = 3
		}
		quads = append(quads, q)
	}
	tree.quadOnce.Do(func() { tree.quads = quads })
	for _, d := range []float64{1, -1} {
		o := mgl64.Vec3{1 + 1.5*chain - 200*d, 0.2, 0.2}
		hits := tree.Hits(o, mgl64.Vec3{d, 0, 0}, 0, math.Inf(1))
		h, ok := tree.Nearest(o, mgl64.Vec3{d, 0, 0}, 0, math.Inf(1))
		if !ok || len(hits) != 3*chain || h != hits[0] {
			t.Errorf("direction %g: nearest %v %v of %d hits", d, h, ok, len(hits))
		}
	}
}
