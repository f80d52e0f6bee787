package tess

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// soup is a body of the mesh's facets, each with corners of its own.
func soup(m *mesh.Mesh) *brep.Body {
	b := &brep.Body{Tag: 1, Solid: true, Facets: &brep.Facets{}}
	for i, t := range m.Triangles {
		f := 0
		if m.FaceOf != nil {
			f = int(m.FaceOf[i])
		}
		for len(b.Faces) <= f {
			b.Faces = append(b.Faces, brep.Face{Tag: brep.Tag(100 + len(b.Faces))})
		}
		n := int32(len(b.Facets.Points))
		b.Facets.Points = append(b.Facets.Points, m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]])
		b.Facets.Triangles = append(b.Facets.Triangles, [3]int32{n, n + 1, n + 2})
		b.Facets.FaceOf = append(b.Facets.FaceOf, brep.FaceIndex(f))
	}
	return b
}

// passed meshes a body and checks that what must hold of every mesh does.
func passed(t tester, b *brep.Body) (*mesh.Mesh, []Fault) {
	t.Helper()
	m, faults := meshOne(context.Background(), b, Default)
	if err := m.Check(); err != nil && m.IsClosed() {
		t.Fatalf("mesh: %v", err)
	}
	if len(m.FaceOf) != len(m.Triangles) {
		t.Fatalf("%d face numbers of %d triangles", len(m.FaceOf), len(m.Triangles))
	}
	return m, faults
}

// told reports whether a fault says so.
func told(faults []Fault, words string) bool {
	for _, f := range faults {
		if strings.Contains(f.Why, words) {
			return true
		}
	}
	return false
}

func TestFacetsAreTheMesh(t *testing.T) {
	box := shape.Box(mgl64.Vec3{1, 2, 3}, mgl64.Vec3{3, 5, 7})
	m, faults := passed(t, soup(box))
	if len(faults) > 0 || !m.IsClosed() || len(m.Vertices) != 8 || len(m.Triangles) != 12 {
		t.Fatalf("closed %v, %d vertices, %d triangles, faults %v", m.IsClosed(), len(m.Vertices), len(m.Triangles), faults)
	}
	if v := m.Volume(); math.Abs(v-24) > 1e-12 {
		t.Errorf("volume %g mm³, want 2·3·4", v)
	}
	for i, f := range m.FaceOf {
		if f != box.FaceOf[i] {
			t.Errorf("triangle %d on face %d, want %d", i, f, box.FaceOf[i])
		}
	}
	if m.Chord != Default.Chord {
		t.Errorf("chord %g: flat faces leave nothing", m.Chord)
	}
	// Without surfaces the integrals are those of the mesh.
	got := mass.Of(soup(box), m)
	if c, _ := got.Centroid(); math.Abs(got.Volume-24) > 1e-12 || math.Abs(got.Area-52) > 1e-12 || c.Sub(mgl64.Vec3{2, 3.5, 5}).Len() > 1e-12 {
		t.Errorf("volume %g, area %g, centroid %v; want 24, 52, (2, 3.5, 5)", got.Volume, got.Area, c)
	}
}

func TestFacetsWithGaps(t *testing.T) {
	for _, c := range []struct {
		gap, uncertainty float64
		closed           bool
	}{
		{5e-5, 0, true}, // below what counts without a word of the file
		{5e-3, 1e-2, true},
		{5e-3, 0, false},
		{5e-2, 1, false}, // the file's word counts within reason
	} {
		b := soup(shape.Box(mgl64.Vec3{}, mgl64.Vec3{10, 10, 10}))
		b.Uncertainty = c.uncertainty
		for i := range b.Facets.Points { // each facet a little elsewhere
			b.Facets.Points[i][0] += c.gap * float64(i/3%2)
		}
		m, faults := passed(t, b)
		if m.IsClosed() != c.closed || told(faults, "joined to others") != c.closed {
			t.Errorf("gap %g, uncertainty %g: closed %v, want %v; %v", c.gap, c.uncertainty, m.IsClosed(), c.closed, faults)
		}
	}
}

// A body that touches itself along an edge stays as it is: four facets meet
// there, and no joining or turning helps.
func TestFacetsThatTouchAreLeftAlone(t *testing.T) {
	a, b := shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}), shape.Box(mgl64.Vec3{1, 1, 0}, mgl64.Vec3{2, 2, 1})
	two := mesh.Join([]*mesh.Mesh{a, b}, []int{6, 6})
	m, faults := passed(t, soup(two))
	if len(faults) > 0 || math.Abs(m.Volume()-2) > 1e-12 {
		t.Errorf("volume %g mm³, want 2; faults %v", m.Volume(), faults)
	}
}

func TestFacetsOfAMoebiusStripAreLeftAlone(t *testing.T) {
	const n = 8
	b := &brep.Body{Faces: []brep.Face{{}}, Facets: &brep.Facets{}}
	for i := range n { // two points a step, the last step joins the first upside down
		turn, half := 2*math.Pi*float64(i)/n, math.Pi*float64(i)/n
		for _, w := range []float64{-1, 1} {
			r := 5 + w*math.Cos(half)
			b.Facets.Points = append(b.Facets.Points, mgl64.Vec3{r * math.Cos(turn), r * math.Sin(turn), w * math.Sin(half)})
		}
		p, q, r, s := int32(2*i), int32(2*i+1), int32(2*i+2), int32(2*i+3)
		if i == n-1 {
			r, s = 1, 0
		}
		b.Facets.Triangles = append(b.Facets.Triangles, [3]int32{p, q, r}, [3]int32{q, s, r})
		b.Facets.FaceOf = append(b.Facets.FaceOf, 0, 0)
	}
	m, faults := passed(t, b)
	if m.IsClosed() || !told(faults, "cannot all look the same way") || told(faults, "turned over") || len(m.Triangles) != 2*n {
		t.Errorf("closed %v, %d triangles, %v", m.IsClosed(), len(m.Triangles), faults)
	}
}

func TestBadFacets(t *testing.T) {
	b := soup(shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}))
	f := b.Facets
	f.Points = append(f.Points, mgl64.Vec3{math.NaN(), 0, 0}, mgl64.Vec3{math.Inf(1), 0, 0})
	n := int32(len(f.Points))
	bad := [][3]int32{{0, 1, n}, {-1, 1, 2}, {0, 1, n - 1}, {0, 1, n - 2}}
	f.Triangles = append(f.Triangles, bad...)
	f.FaceOf = append(f.FaceOf, 0, 0, 0, 0)
	f.Triangles = append(f.Triangles, [3]int32{0, 1, 2}, [3]int32{0, 1, 2}) // of faces that are not there
	f.FaceOf = append(f.FaceOf, 6, -1)
	f.Triangles = append(f.Triangles, [3]int32{0, 0, 1}) // nothing lost
	f.FaceOf = append(f.FaceOf, 0)
	m, faults := passed(t, b)
	if !m.IsClosed() || len(m.Triangles) != 12 || len(faults) != 1 || !told(faults, "6 facets") {
		t.Errorf("closed %v, %d triangles, %v", m.IsClosed(), len(m.Triangles), faults)
	}
	b.Faces = append(b.Faces, brep.Face{}, brep.Face{Tag: 77}) // the first gets one of the facets now
	_, faults = passed(t, b)
	if faults[0].Tag != 77 || faults[0].Face != 7 || faults[0].Repaired {
		t.Errorf("a face without facets: %+v", faults[0])
	}
	empty, faults := passed(t, &brep.Body{Facets: &brep.Facets{}})
	if len(empty.Triangles) != 0 || len(faults) != 0 {
		t.Errorf("empty: %d triangles, %v", len(empty.Triangles), faults)
	}
}

// Facets of a cylinder of n corners leave it by r (1 - cos(π/n)).
func TestBowOfFacets(t *testing.T) {
	for _, n := range []int{16, 24, 48, 96} {
		c := shape.Cylinder(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, 20, 30, n)
		m, faults := passed(t, soup(c))
		want := 20 * (1 - math.Cos(math.Pi/float64(n)))
		if want > Default.Chord {
			if !(math.Abs(m.Chord-want) < 1e-9) || !told(faults, "may leave its surfaces") {
				t.Errorf("%d corners: %g mm, want %g; %v", n, m.Chord, want, faults)
			}
		} else if m.Chord != Default.Chord || len(faults) > 0 {
			t.Errorf("%d corners: %g mm, want %g; %v", n, m.Chord, Default.Chord, faults)
		}
	}
	// Of a ball the estimate is at least about right: within a factor of two.
	m, _ := passed(t, soup(shape.Sphere(mgl64.Vec3{}, 30, 40)))
	if want := 30 * (1 - math.Cos(math.Pi/40)); !(m.Chord > want/2 && m.Chord < 2*want) {
		t.Errorf("ball: %g mm, want about %g", m.Chord, want)
	}
}

// However the facets of a closed body are turned and their corners repeated,
// its volume comes back.
func TestFacetsHealedProperty(t *testing.T) {
	z := geom.Axis{O: mgl64.Vec3{3, -2, 5}, D: mgl64.Vec3{0, 0, 1}}
	solids := []*mesh.Mesh{
		shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 2, 3}), shape.Cylinder(z, 2, 5, 17), shape.Tube(z, 1, 2, 3, 12),
		shape.Sphere(mgl64.Vec3{1, 1, 1}, 4, 16), shape.Torus(z, 6, 2, 12, 9), shape.Cone(z, 3, 0, 4, 11),
	}
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SampledFrom(solids).Draw(t, "solid")
		b := soup(want)
		turned := rapid.SliceOfNDistinct(rapid.IntRange(0, len(want.Triangles)-1), 0, -1, rapid.ID[int]).Draw(t, "turned")
		for _, i := range turned {
			flip(b.Facets.Triangles[i : i+1])
		}
		m, _ := meshOne(context.Background(), b, Default)
		if !m.IsClosed() || len(m.Triangles) != len(want.Triangles) {
			t.Fatalf("closed %v, %d triangles, want %d", m.IsClosed(), len(m.Triangles), len(want.Triangles))
		}
		if v := m.Volume(); !(math.Abs(v-want.Volume()) < 1e-9*want.Volume()) {
			t.Fatalf("volume %g mm³, want %g", v, want.Volume())
		}
	})
}

func BenchmarkFacets(b *testing.B) {
	body := soup(shape.Sphere(mgl64.Vec3{}, 50, 500))
	n := len(body.Facets.Triangles)
	b.ReportAllocs()
	for b.Loop() {
		given(body, Default)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/triangle")
}
