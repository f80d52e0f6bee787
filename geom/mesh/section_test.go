package mesh_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// A cube of edge a, cut through its middle square to a body diagonal, shows a
// regular hexagon of side a/√2; at half an edge's height below a corner, a
// triangle.
func TestSectionsOfACube(t *testing.T) {
	cube := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 2, 2})
	d := mgl64.Vec3{1, 1, 1}.Normalize()
	hexagon := cube.Section(geom.Axis{O: mgl64.Vec3{1, 1, 1}, D: d})
	if len(hexagon) != 1 || len(hexagon[0]) != 6 {
		t.Fatalf("through the middle: %v, want a hexagon", hexagon)
	}
	for i, p := range hexagon[0] {
		q, r := hexagon[0][(i+1)%6], hexagon[0][(i+2)%6]
		if l := q.Sub(p).Len(); math.Abs(l-math.Sqrt2) > 1e-12 {
			t.Errorf("side of %g mm, want √2", l)
		}
		if c := q.Sub(p).Dot(r.Sub(q)); math.Abs(c-1) > 1e-12 { // 2 cos 60°
			t.Errorf("corner turns by acos(%g/2)", c)
		}
	}
	corner := cube.Section(geom.Axis{O: mgl64.Vec3{2, 2, 1}, D: d})
	if got, want := loopArea(corner, d), math.Sqrt(3)/2; math.Abs(got-want) > 1e-12 || len(corner) != 1 || len(corner[0]) != 3 {
		t.Errorf("below a corner: %v of %g mm², want a triangle of %g", corner, got, want)
	}
}

// Round bodies: the section of a mesh lies in that of the solid, and comes up to
// it but for what the facets leave. A sphere's is a disc; a torus cut level has
// two circles, across the hole two discs, and touching the inside of its tube a
// figure of eight (Villarceau's and Perseus' sections, from memory).
func TestSectionsOfRoundBodies(t *testing.T) {
	sphere := shape.Sphere(mgl64.Vec3{1, 2, 3}, 10, 720)
	torus := shape.Torus(zAxis, 20, 5, 720, 180)
	at := func(o, d mgl64.Vec3) geom.Axis { return geom.Axis{O: o, D: d.Normalize()} }
	odd := mgl64.Vec3{1, 2, 2}.Normalize()
	for name, c := range map[string]struct {
		m     *mesh.Mesh
		plane geom.Axis
		loops int
		area  float64
	}{
		"sphere through its centre":  {sphere, at(mgl64.Vec3{1, 2, 3}, odd), 1, math.Pi * 100},
		"sphere 6 off its centre":    {sphere, at(mgl64.Vec3{1, 2, 3}.Add(odd.Mul(6)), odd), 1, math.Pi * 64},
		"torus level":                {torus, at(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{0, 0, 1}), 2, math.Pi * (625 - 225)},
		"torus level, 3 up":          {torus, at(mgl64.Vec3{0, 0, 3}, mgl64.Vec3{0, 0, 1}), 2, math.Pi * (576 - 256)},
		"torus through its axis":     {torus, at(mgl64.Vec3{}, mgl64.Vec3{2, 1, 0}), 2, 2 * math.Pi * 25},
		"torus outside of its hole":  {torus, at(mgl64.Vec3{18, 0, 0}, mgl64.Vec3{1, 0, 0}), 1, perseus(20, 5, 18)},
		"torus through its hole":     {torus, at(mgl64.Vec3{9, 0, 0}, mgl64.Vec3{1, 0, 0}), 2, perseus(20, 5, 9)},
		"torus on Villarceau's tilt": {torus, at(mgl64.Vec3{}, mgl64.Vec3{5. / 20, 0, math.Sqrt(1 - 1./16)}), -1, villarceau(20, 5)},
	} {
		loops := c.m.Section(c.plane)
		if c.loops >= 0 && len(loops) != c.loops {
			t.Errorf("%s: %d loops, want %d", name, len(loops), c.loops)
		}
		if got := loopArea(loops, c.plane.D); math.Abs(got-c.area) > 1e-3*c.area {
			t.Errorf("%s: %.6g mm², want %.6g", name, got, c.area)
		}
	}
}

// perseus is the area of a torus' section parallel to its axis at distance x, by
// adding up slices over the height.
func perseus(R, r, x float64) float64 {
	const n = 200_000
	s := 0.0
	for i := range n {
		z := r * math.Sin(math.Pi*((float64(i)+0.5)/n-0.5)) // denser where the slices end
		w := r * math.Cos(math.Pi*((float64(i)+0.5)/n-0.5)) * math.Pi / n
		h := math.Sqrt(r*r - z*z)
		out, in := math.Sqrt(math.Max(0, (R+h)*(R+h)-x*x)), math.Sqrt(math.Max(0, (R-h)*(R-h)-x*x))
		s += 2 * (out - in) * w
	}
	return s
}

// villarceau is the area of the section of a torus by the plane that touches its
// tube on both sides, two circles of radius R whose centres are 2r apart: both
// discs less twice what they have in common, which is hole.
func villarceau(R, r float64) float64 {
	common := 2*R*R*math.Acos(r/R) - 2*r*math.Sqrt(R*R-r*r)
	return 2 * (math.Pi*R*R - common)
}

// A plane through vertices, along edges and in faces of a polyhedron always
// gives closed loops, of the area just below: the plane counts as the least bit
// lower.
func TestSectionThroughVerticesEdgesAndFaces(t *testing.T) {
	// Two steps: faces at z = 0, 1, 2, and edges and vertices between.
	m := shape.Extrude(must(geom.NewFrame(mgl64.Vec3{}, mgl64.Vec3{0, -1, 0}, mgl64.Vec3{1, 0, 0})), 3,
		shape.Contour{Points: []mgl64.Vec2{{0, 0}, {4, 0}, {4, 1}, {2, 1}, {2, 2}, {0, 2}}})
	for z, want := range map[float64]float64{0: 0, 1e-9: 12, 1: 12, 1 + 1e-9: 6, 2: 6, 2 + 1e-9: 0} {
		loops := m.Section(geom.Axis{O: mgl64.Vec3{0, 0, z}, D: mgl64.Vec3{0, 0, 1}})
		if got := loopArea(loops, mgl64.Vec3{0, 0, 1}); math.Abs(got-want) > 1e-7 {
			t.Errorf("at z = %g: %g mm², want %g", z, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		for name, m := range zoo() {
			pick := func(what string) mgl64.Vec3 { return m.Vertices[rapid.IntRange(0, len(m.Vertices)-1).Draw(t, what)] }
			a, b, c := pick("a"), pick("b"), pick("c")
			d, ok := geom.Unit(b.Sub(a).Cross(c.Sub(a)))
			if !ok {
				d = mgl64.Vec3{0, 0, 1}
			}
			exact := loopArea(m.Section(geom.Axis{O: a, D: d}), d)
			below := loopArea(m.Section(geom.Axis{O: a.Sub(d.Mul(1e-7)), D: d}), d)
			above := loopArea(m.Section(geom.Axis{O: a.Add(d.Mul(1e-7)), D: d}), d)
			// Rounding puts each of the plane's vertices on one side or the
			// other, so the area lies between those on both sides.
			if lo, hi := min(below, above), max(below, above); exact < lo-1e-4*(1+hi) || exact > hi+1e-4*(1+hi) {
				t.Fatalf("%s through %v %v %v: %g mm², %g below and %g above", name, a, b, c, exact, below, above)
			}
		}
	})
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Moved with the plane, a section keeps its area and its number of loops.
func TestRigidMotionKeepsSections(t *testing.T) {
	meshes := zoo()
	rapid.Check(t, func(t *rapid.T) {
		tr := drawRigid(t)
		c := func(s string) float64 { return rapid.Float64Range(-1, 1).Draw(t, s) }
		d, ok := geom.Unit(mgl64.Vec3{c("p"), c("q"), c("r") + 0.01})
		if !ok {
			t.Skip()
		}
		// Off the lattice on which the bodies' vertices stand.
		o := mgl64.Vec3{0.123 + c("ox"), 0.0456 + c("oy"), 0.789 + c("oz")}
		plane := geom.Axis{O: o, D: d}
		for name, m := range meshes {
			before := loopArea(m.Section(plane), d)
			moved := plane.Transformed(tr)
			after := loopArea(m.Transformed(tr).Section(moved), moved.D)
			if !(math.Abs(before-after) <= 1e-6*(1+before)) {
				t.Fatalf("%s: %.9g mm² became %.9g", name, before, after)
			}
		}
	})
}

// Cavalieri, exactly: between the heights of two neighbouring vertices the area
// of a polyhedron's section is a quadratic in the height, so Simpson's rule over
// all such slabs gives the volume to the last digits.
func TestSlabsAddUpToVolume(t *testing.T) {
	for name, m := range zoo() {
		for _, d := range []mgl64.Vec3{{0, 0, 1}, {1, 0, 0}, {0.6, 0, -0.8}, {2. / 3, 1. / 3, 2. / 3}} {
			var z []float64
			for _, p := range m.Vertices {
				z = append(z, p.Dot(d))
			}
			slices.Sort(z)
			area := func(h float64) float64 { return loopArea(m.Section(geom.Axis{O: d.Mul(h), D: d}), d) }
			sum := 0.0
			for i := 1; i < len(z); i++ {
				w := z[i] - z[i-1]
				if w < 1e-9 {
					continue
				}
				// Three places inside a slab fix its quadratic: Gauss' rule
				// needs two, which lie inside.
				off := w / 2 / math.Sqrt(3)
				mid := (z[i] + z[i-1]) / 2
				sum += w / 2 * (area(mid-off) + area(mid+off))
			}
			if v := m.Volume(); math.Abs(sum-v) > 1e-8*v {
				t.Errorf("%s along %v: slabs add up to %.12g mm³, volume %.12g", name, d, sum, v)
			}
		}
	}
}

// The reference table of inscribed prisms: volume, lateral area and chord
// height of a cylinder in n segments, each against the round one.
func TestInscribedPrisms(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	file, err := os.Open(filepath.Join(shared, "reference", "discretisation_checks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	const r, h = 7, 13
	for _, row := range rows[1:] {
		var x [4]float64
		for i := range x {
			x[i] = must(strconv.ParseFloat(row[i], 64))
		}
		m := shape.Cylinder(geom.Axis{O: mgl64.Vec3{5, -6, 7}, D: mgl64.Vec3{0, 0, 1}}, r, h, int(x[0]))
		lateral := 0.0
		for i := range m.Triangles {
			if n := m.Cross(i); math.Abs(n[2]) < 1e-9*n.Len() {
				lateral += n.Len() / 2
			}
		}
		for what, c := range map[string][2]float64{
			"volume":       {m.Volume() / (math.Pi * r * r * h), x[1]},
			"lateral area": {lateral / (2 * math.Pi * r * h), x[2]},
			"chord height": {m.Chord / r, x[3]},
		} {
			if !(math.Abs(c[0]-c[1]) <= 6e-10) { // the table has nine decimals
				t.Errorf("%g segments: %s %.10f of the round one's, want %.9f", x[0], what, c[0], c[1])
			}
		}
		if bore := shape.Plate(mgl64.Vec3{-10, -10, 0}, mgl64.Vec3{10, 10, 2}, shape.Circle(0, 0, 4, int(x[0]))); !(bore.Volume() > 800-32*math.Pi) {
			t.Errorf("%g segments: a plate round a hole has %g mm³, no more than the exact one", x[0], bore.Volume())
		}
	}
}
