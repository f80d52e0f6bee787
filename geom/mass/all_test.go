package mass_test

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/geom/surface"
	"stepscan/geom/tess"
)

// wave is a B-spline face over 60 mm by 60 mm, level all along its border, with n
// by n quads: several pieces that share sides.
func wave(n int) (*brep.Body, *mesh.Mesh) {
	knots := []float64{0, 0, 0, 0, 12, 24, 36, 48, 60, 60, 60, 60}
	var poles [][]mgl64.Vec3
	at := []float64{0, 4, 12, 24, 36, 48, 56, 60} // by which the parameters are mm
	for i, x := range at {
		var row []mgl64.Vec3
		for j, y := range at {
			z := 0.0
			if min(i, j) > 1 && max(i, j) < 6 {
				z = 20 * math.Sin(float64(2*i+3*j))
			}
			row = append(row, mgl64.Vec3{x, y, z})
		}
		poles = append(poles, row)
	}
	s := must(surface.NewBSpline(3, 3, poles, nil, knots, knots))
	m := &mesh.Mesh{Chord: 0.2}
	for i := range n + 1 {
		for j := range n + 1 {
			m.Vertices = append(m.Vertices, s.Point(60*float64(i)/float64(n), 60*float64(j)/float64(n)))
		}
	}
	for i := range int32(n) {
		for j := range int32(n) {
			a := i*int32(n+1) + j
			b := a + int32(n) + 1
			m.Triangles = append(m.Triangles, [3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
			m.FaceOf = append(m.FaceOf, 0, 0)
		}
	}
	return &brep.Body{Faces: []brep.Face{{Surface: s, SameSense: true}}}, m
}

// The number of cores changes no bit, and neither does the company of other
// bodies.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	var bodies []*brep.Body
	var meshes []*mesh.Mesh
	for _, n := range []int{1, 3, 50} {
		b, m := wave(n)
		bodies, meshes = append(bodies, b), append(meshes, m)
	}
	// More triangles than are worked on together.
	bodies, meshes = append(bodies, &brep.Body{}), append(meshes, shape.Sphere(mgl64.Vec3{3, 4, 5}, 7, 300))
	for _, top := range []float64{0, 1, 6} {
		b := frustum(geom.World(), 6, top, 9)
		bodies, meshes = append(bodies, b), append(meshes, meshed(t, b, tess.Default))
	}
	bodies, meshes = append(bodies, &brep.Body{}), append(meshes, &mesh.Mesh{})
	want := mass.All(t.Context(), bodies, meshes, 1)
	for w := range 4 { // 0 is all cores
		for range 3 {
			got := mass.All(t.Context(), bodies, meshes, w)
			for i := range got {
				if got[i] != want[i] {
					t.Fatalf("body %d on %d workers: %v, on one %v", i, w, got[i], want[i])
				}
			}
		}
	}
	for i := range bodies {
		if got := mass.Of(bodies[i], meshes[i]); got != want[i] {
			t.Errorf("body %d by itself: %v, among others %v", i, got, want[i])
		}
	}
}

// Sides that two pieces of a face share are bent alike: the area of a large face
// does not depend on how finely it is meshed.
func TestPiecesOfOneFace(t *testing.T) {
	coarse, m := wave(60)
	fine, n := wave(150)
	a, b := mass.Of(coarse, m).Area, mass.Of(fine, n).Area
	if d := math.Abs(a/b - 1); !(d <= 2e-6) {
		t.Errorf("area %.9g mm² and %.9g at smaller facets", a, b)
	}
	if flat := m.Area(); math.Abs(flat/b-1) < 1e-4 {
		t.Errorf("the mesh alone has %g mm², so this test proves nothing", flat)
	}
}

// When the context ends, so does the work.
func TestContextEnds(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	b := frustum(geom.World(), 6, 3, 9)
	if got := mass.All(ctx, []*brep.Body{b}, []*mesh.Mesh{meshed(t, b, tess.Default)}, 2); len(got) != 1 || got[0] != (mass.Properties{}) {
		t.Errorf("%v", got)
	}
}

// BenchmarkAll is one large B-spline face and a ball of many facets.
func BenchmarkAll(b *testing.B) {
	spline, m := wave(100)
	for _, c := range []struct {
		name string
		body *brep.Body
		mesh *mesh.Mesh
	}{
		{"spline", spline, m},
		{"facets", &brep.Body{}, shape.Sphere(mgl64.Vec3{}, 7, 200)},
	} {
		for _, w := range []int{1, 2} {
			b.Run(c.name+map[int]string{1: "/one worker", 2: "/two workers"}[w], func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					mass.All(b.Context(), []*brep.Body{c.body}, []*mesh.Mesh{c.mesh}, w)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(c.mesh.Triangles)), "ns/triangle")
			})
		}
	}
}
