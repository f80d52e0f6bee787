package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/mesh"
)

// winding is how often the closed mesh goes round p: the solid angles of its
// triangles over 4π (Van Oosterom and Strackee, The Solid Angle of a Plane
// Triangle, 1983).
func winding(m *mesh.Mesh, p mgl64.Vec3) float64 {
	sum := 0.0
	for _, t := range m.Triangles {
		a, b, c := m.Vertices[t[0]].Sub(p), m.Vertices[t[1]].Sub(p), m.Vertices[t[2]].Sub(p)
		la, lb, lc := a.Len(), b.Len(), c.Len()
		sum += 2 * math.Atan2(a.Dot(b.Cross(c)), la*lb*lc+a.Dot(b)*lc+b.Dot(c)*la+c.Dot(a)*lb)
	}
	return sum / (4 * math.Pi)
}

// What is inside is what an odd number of shells go round, by their solid angles:
// for nested shells and voids, several bodies, shells turned inside out, far away
// and down to 0.1 µm from faces, edges and corners.
func TestContainsMatchesWinding(t *testing.T) {
	kinds := []*mesh.Mesh{
		sphere(mgl64.Vec3{}, 1, 7), box(-0.9, -0.5, -0.7, 0.8, 0.6, 0.5), plate(-0.4, 0.4, 0.5, 1, 9),
		prism(-0.5, 0.5, circle(0, 0, 0.9, 5, 0.2)...), helix(0.9, 0.1, 0.2, 3, 9),
	}
	in, near := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		var shells []*mesh.Mesh
		for range rapid.IntRange(1, 4).Draw(t, "shells") {
			p := drawPlace(t)
			p.M = p.M.Mul(rapid.Float64Range(0.5, 6).Draw(t, "size"))
			p.T = p.T.Mul(0.2)
			s := moved(rapid.SampledFrom(kinds).Draw(t, "kind"), p)
			if rapid.Bool().Draw(t, "inside out") {
				s = flipped(s)
			}
			shells = append(shells, s)
		}
		m := join(shells...)
		tree := Build(m)
		p := drawPoint(t, 10)
		if rapid.Bool().Draw(t, "near") {
			off := drawUnit(t).Mul(math.Pow(10, rapid.Float64Range(-4, 0).Draw(t, "log")))
			p = drawOn(t, m).Add(off)
		}
		c, _ := tree.Closest(p, math.Inf(1))
		if c.Dist < 1e-7 {
			t.Skip("on the surface")
		}
		want := false
		for _, s := range shells {
			w := winding(s, p)
			if math.Abs(w-math.Round(w)) > 1e-3 {
				t.Fatalf("a shell goes %g times round %v", w, p)
			}
			want = want != (math.Mod(math.Abs(math.Round(w)), 2) == 1)
		}
		if got := tree.Contains(p); got != want {
			t.Fatalf("%v: inside %v, want %v; %g mm from the surface", p, got, want, c.Dist)
		}
		if want {
			in++
		}
		if c.Dist < 1e-2 {
			near++
		}
	})
	t.Logf("%d inside, %d nearer than 0.01 mm", in, near)
}

// A point on the surface has distance 0; whether it is inside may be answered
// either way, but the point a little inwards is, and a little outwards is not.
func TestContainsAtTheSurface(t *testing.T) {
	m := join(box(-4, -3, -2, 4, 3, 2), flipped(box(-1, -1, -1, 1, 1, 1)))
	tree := Build(m)
	for i := range m.Triangles {
		t3 := m.Triangles[i]
		a, b, c := m.Vertices[t3[0]], m.Vertices[t3[1]], m.Vertices[t3[2]]
		n := b.Sub(a).Cross(c.Sub(a)).Normalize()
		p := a.Mul(0.5).Add(b.Mul(0.3)).Add(c.Mul(0.2))
		if g, ok := tree.Closest(p, 1e-12); !ok || g.Dist > 1e-12 {
			t.Errorf("triangle %d: a point of it is %g mm away", i, g.Dist)
		}
		tree.Contains(p)
		for _, off := range []float64{1e-9, 1e-6, 1e-3} {
			if !tree.Contains(p.Sub(n.Mul(off))) || tree.Contains(p.Add(n.Mul(off))) {
				t.Errorf("triangle %d: %g mm behind it inside %v, before it %v", i, off,
					tree.Contains(p.Sub(n.Mul(off))), tree.Contains(p.Add(n.Mul(off))))
			}
		}
	}
	// Points right above corners and edges, from which rays along the axes would
	// graze faces.
	for _, v := range m.Vertices {
		for _, d := range []mgl64.Vec3{{1, 0, 0}, {0, -1, 0}, {0, 0, 1}, {1, 1, 0}, {1, 1, 1}} {
			if p := v.Add(d.Mul(100)); tree.Contains(p) {
				t.Errorf("%v is inside", p)
			}
		}
	}
}

// An open mesh has no inside; the answer is that of most rays and never hangs.
func TestContainsOfOpenMeshes(t *testing.T) {
	unit := box(0, 0, 0, 1, 1, 1)
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		p    mgl64.Vec3
		want bool
	}{
		"outside the box of a sheet": {&mesh.Mesh{Vertices: unit.Vertices, Triangles: unit.Triangles[:2]}, mgl64.Vec3{5, 5, 5}, false},
		"nothing":                    {&mesh.Mesh{}, mgl64.Vec3{}, false},
		"not a number":               {unit, mgl64.Vec3{math.NaN(), 0.5, 0.5}, false},
		"infinitely far":             {unit, mgl64.Vec3{math.Inf(1), 0.5, 0.5}, false},
	} {
		tree := Build(c.m)
		if got := tree.Contains(c.p); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
		if c.m != unit && tree.Closed() {
			t.Errorf("%s: closed", name)
		}
	}
}
