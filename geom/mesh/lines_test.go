package mesh_test

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// lengthOf adds up chains, seen along dir (the zero vector: in space).
func lengthOf(m *mesh.Mesh, chains [][]int32, dir mgl64.Vec3) float64 {
	d, along := geom.Unit(dir)
	s := 0.0
	for _, c := range chains {
		for k := 1; k < len(c); k++ {
			e := m.Vertices[c[k]].Sub(m.Vertices[c[k-1]])
			if along {
				e = geom.Across(e, d)
			}
			s += e.Len()
		}
	}
	return s
}

// A convex body's silhouette is one ring, as long as the outline of its shadow:
// of a box a hexagon with two of each edge, of a cylinder from the side a
// rectangle, and from above its rim.
func TestSilhouetteOfConvexBodies(t *testing.T) {
	box := shape.Box(mgl64.Vec3{1, 1, 1}, mgl64.Vec3{3, 4, 5})
	rod := shape.Cylinder(zAxis, 5, 20, 96)
	shadow := func(e, d mgl64.Vec3) float64 { return geom.Across(e, d.Normalize()).Len() }
	iso := mgl64.Vec3{1, 2, 2}
	rim := 2 * 96 * 5 * math.Sin(math.Pi/96)
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		dir  mgl64.Vec3
		want float64
	}{
		"box at an angle":   {box, iso, 2 * (shadow(mgl64.Vec3{2, 0, 0}, iso) + shadow(mgl64.Vec3{0, 3, 0}, iso) + shadow(mgl64.Vec3{0, 0, 4}, iso))},
		"box straight on":   {box, mgl64.Vec3{0, 0, -1}, 2 * (2 + 3)},
		"rod from the side": {rod, mgl64.Vec3{0, -3, 0}, 2*20 + 4*5},
		"rod from above":    {rod, mgl64.Vec3{0, 0, 1}, rim},
	} {
		got := mesh.NewLines(c.m).Silhouette(c.dir)
		if len(got) != 1 || got[0][0] != got[0][len(got[0])-1] {
			t.Errorf("%s: %d chains, want one ring", name, len(got))
		}
		if l := lengthOf(c.m, got, c.dir); math.Abs(l-c.want) > 1e-9*c.want {
			t.Errorf("%s: shadow's outline %.9g mm, want %.9g", name, l, c.want)
		}
	}
}

// A sphere's silhouette is a great circle up to a facet's zigzag; a torus from
// above has two rings, its greatest and its least circle.
func TestSilhouetteOfRoundBodies(t *testing.T) {
	sphere := shape.Sphere(mgl64.Vec3{1, 2, 3}, 10, 360)
	for _, d := range []mgl64.Vec3{{0, 0, 1}, {1, 2, 3}, {1, 0, 1e-3}} {
		for _, c := range mesh.NewLines(sphere).Silhouette(d) {
			for _, v := range c {
				if h := sphere.Vertices[v].Sub(mgl64.Vec3{1, 2, 3}).Dot(d.Normalize()); math.Abs(h) > 10*2*math.Pi/180 {
					t.Fatalf("along %v: a vertex %g mm off the great circle's plane", d, h)
				}
			}
		}
	}
	torus := shape.Torus(zAxis, 20, 5, 240, 48)
	rings := mesh.NewLines(torus).Silhouette(mgl64.Vec3{0, 0, 1})
	if len(rings) != 2 {
		t.Fatalf("torus from above: %d rings, want 2", len(rings))
	}
	if got, want := lengthOf(torus, rings, mgl64.Vec3{0, 0, 1}), 2*math.Pi*(25+15); math.Abs(got-want) > 1e-3*want {
		t.Errorf("torus from above: %g mm, want %g", got, want)
	}
}

// From any side and in any place a closed mesh's silhouette is closed: as many
// ends run into each vertex as out of it.
func TestSilhouettesClose(t *testing.T) {
	lines := map[string]*mesh.Lines{}
	for name, m := range zoo() {
		lines[name] = mesh.NewLines(m)
	}
	rapid.Check(t, func(t *rapid.T) {
		c := func(s string) float64 { return rapid.Float64Range(-1, 1).Draw(t, s) }
		d := mgl64.Vec3{c("x"), c("y"), c("z") + 1e-6}
		for name, l := range lines {
			odd := map[int32]int{}
			for _, c := range l.Silhouette(d) {
				odd[c[0]]++
				odd[c[len(c)-1]]++
			}
			for v, n := range odd {
				if n%2 != 0 {
					t.Fatalf("%s along %v: %d ends at vertex %d", name, d, n, v)
				}
			}
		}
	})
}

// Feature edges by their turn: a frustum of half angle a has rims that turn by
// 90° + a and 90° - a; an octagonal prism edges of 45° and 90°.
func TestFeaturesByTurn(t *testing.T) {
	frustum := shape.Cone(zAxis, 6, 3, 8, 48)
	a := math.Atan2(3, 8)
	prism := shape.Prism(zAxis, 10, shape.Contour{Points: shape.Circle(0, 0, 5, 8).Points})
	side := 2 * 5 * math.Sin(math.Pi/8)
	ring := func(r float64) float64 { return 2 * 48 * r * math.Sin(math.Pi/48) }
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		turn float64
		want float64
	}{
		"frustum, all":                   {frustum, 0, ring(6) + ring(3)},
		"frustum, above 90 degrees":      {frustum, math.Pi / 2, ring(6)},
		"frustum, above either":          {frustum, math.Pi/2 + a + 1e-6, 0},
		"frustum, just below the lesser": {frustum, math.Pi/2 - a - 1e-6, ring(6) + ring(3)},
		"octagon, all":                   {prism, 0.7, 8*10 + 16*side},
		"octagon, above 45 degrees":      {prism, math.Pi/4 + 1e-6, 16 * side},
		"sphere":                         {shape.Sphere(mgl64.Vec3{}, 10, 24), 30.1 * math.Pi / 180, 0},
	} {
		if got := lengthOf(c.m, mesh.NewLines(c.m).Features(c.turn), mgl64.Vec3{}); math.Abs(got-c.want) > 1e-9*(1+c.want) {
			t.Errorf("%s: %.9g mm of edges, want %.9g", name, got, c.want)
		}
	}
	if l := mesh.NewLines(nil); !l.None() || len(l.Silhouette(mgl64.Vec3{1, 0, 0})) != 0 {
		t.Error("no mesh has lines")
	}
}

func BenchmarkSilhouette(b *testing.B) {
	l := mesh.NewLines(shape.Sphere(mgl64.Vec3{}, 10, 200))
	for b.Loop() {
		l.Silhouette(mgl64.Vec3{1, 2, 3})
	}
}
