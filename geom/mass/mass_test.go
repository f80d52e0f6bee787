package mass

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/geom/surface"
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// TestRule integrates every monomial up to degree 6 over the unit triangle:
// ∫ s^a t^b = a! b! / (a+b+2)!.
func TestRule(t *testing.T) {
	fact := func(n int) float64 { return math.Gamma(float64(n + 1)) }
	for a := range 7 {
		for b := range 7 - a {
			got := 0.0
			for _, q := range rule {
				got += q.w * math.Pow(q.s, float64(a)) * math.Pow(q.t, float64(b))
			}
			if want := fact(a) * fact(b) / fact(a+b+2); math.Abs(got-want) > 1e-15 {
				t.Errorf("∫ s^%d t^%d = %.17g, want %.17g", a, b, got, want)
			}
		}
	}
}

// TestFlatPatch: a patch that is not bent is the triangle.
func TestFlatPatch(t *testing.T) {
	c := [3]mgl64.Vec3{{1, 2, 3}, {4, -1, 2}, {0, 5, 7}}
	var flat, bent sums
	flat.addTriangle(&c)
	bent.addPatch(&c, &[3]mgl64.Vec3{})
	near(t, "flat patch", bent.properties(mgl64.Vec3{}), flat.properties(mgl64.Vec3{}), 1e-13)
}

// TestSphere and TestCylinder are closed forms on meshes so coarse that the
// mesh alone is wrong by several per cent, far from the origin.
func TestSphere(t *testing.T) {
	centre, r := mgl64.Vec3{1000, -2000, 500}, 7.0
	s := must(surface.NewSphere(geom.Frame{O: centre, X: mgl64.Vec3{1, 0, 0}, Y: mgl64.Vec3{0, 1, 0}, Z: mgl64.Vec3{0, 0, 1}}, r))
	b := &brep.Body{Faces: []brep.Face{{Surface: s, SameSense: true}}}
	m := shape.Sphere(centre, r, 24)
	m.Chord = 0.1
	want := Properties{Volume: 4 * math.Pi / 3 * r * r * r, Area: 4 * math.Pi * r * r}
	want.Moment = centre.Mul(want.Volume)
	bettered(t, b, m, want)
}

func TestCylinder(t *testing.T) {
	axis := geom.Axis{O: mgl64.Vec3{100, 200, 300}, D: mgl64.Vec3{0, 0, 1}}
	r, h := 5.0, 40.0
	f := must(geom.NewFrame(axis.O, axis.D, mgl64.Vec3{1, 0, 0}))
	side := must(surface.NewCylinder(f, r))
	top := f
	top.O = axis.At(h)
	b := &brep.Body{}
	m := shape.Cylinder(axis, r, h, 18)
	m.Chord = 0.1
	// The mesh's faces and edges stand in the order that the shape makes
	// them, so the body is laid out after the mesh.
	for i, t := range m.Triangles {
		face := int(m.FaceOf[i])
		for len(b.Faces) <= face {
			b.Faces = append(b.Faces, brep.Face{SameSense: true})
		}
		if n := m.Cross(i); math.Abs(n[2]) < 1e-9*n.Len() {
			b.Faces[face].Surface = side
		} else {
			at := f
			at.O[2] = m.Vertices[t[0]][2]
			b.Faces[face].Surface = must(surface.NewPlane(at))
		}
	}
	for _, e := range m.Edges {
		at := f
		at.O[2] = m.Vertices[e.Verts[0]][2]
		b.Edges = append(b.Edges, brep.Edge{Curve: must(curve.NewCircle(at, r)), SameSense: true})
	}
	want := Properties{Volume: math.Pi * r * r * h, Area: 2*math.Pi*r*h + 2*math.Pi*r*r}
	want.Moment = axis.At(h / 2).Mul(want.Volume)
	bettered(t, b, m, want)
}

// bettered demands 0.01 % of the closed form where the mesh misses 0.5 %.
func bettered(t *testing.T, b *brep.Body, m *mesh.Mesh, want Properties) {
	t.Helper()
	if v := m.Volume(); math.Abs(v-want.Volume) < 0.005*want.Volume {
		t.Fatalf("the mesh alone gives %g, so this test would prove nothing", v)
	}
	near(t, "body", Of(b, m), want, 1e-4)
}

func near(t *testing.T, what string, got, want Properties, tol float64) {
	t.Helper()
	if d := math.Abs(got.Volume - want.Volume); !(d <= tol*math.Abs(want.Volume)) {
		t.Errorf("%s: volume %g, want %g", what, got.Volume, want.Volume)
	}
	if d := math.Abs(got.Area - want.Area); !(d <= tol*want.Area) {
		t.Errorf("%s: area %g, want %g", what, got.Area, want.Area)
	}
	if d := got.Moment.Sub(want.Moment).Len(); !(d <= tol*want.Moment.Len()) {
		t.Errorf("%s: moment %v, want %v", what, got.Moment, want.Moment)
	}
}

// TestMakeshift: where the mesh is far from the surface it says what the mesh
// says, and nothing worse.
func TestMakeshift(t *testing.T) {
	m := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{10, 10, 10})
	m.Chord = 0.05
	far := must(surface.NewSphere(geom.World(), 100))
	b := &brep.Body{}
	for range 6 {
		b.Faces = append(b.Faces, brep.Face{Surface: far, SameSense: true})
	}
	if got := Of(b, m); math.Abs(got.Volume-1000) > 1e-9 || math.Abs(got.Area-600) > 1e-9 {
		t.Errorf("a cube of 10 mm: %+v", got)
	}
	if got := Of(&brep.Body{}, &mesh.Mesh{}); got != (Properties{}) {
		t.Errorf("nothing: %+v", got)
	}
}

func BenchmarkOf(b *testing.B) {
	s := must(surface.NewSphere(geom.World(), 7))
	body := &brep.Body{Faces: []brep.Face{{Surface: s, SameSense: true}}}
	m := shape.Sphere(mgl64.Vec3{}, 7, 200)
	m.Chord = 0.1
	b.ReportAllocs()
	for b.Loop() {
		Of(body, m)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(m.Triangles)), "ns/triangle")
}
