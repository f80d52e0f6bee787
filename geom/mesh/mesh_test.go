package mesh_test

import (
	"errors"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

var zAxis = geom.Axis{D: mgl64.Vec3{0, 0, 1}}

// drawRigid is a rotation with a translation of up to a metre.
func drawRigid(t *rapid.T) geom.Transform {
	c := func(s string) float64 { return rapid.Float64Range(-1, 1).Draw(t, s) }
	f, err := geom.NewFrame(mgl64.Vec3{1000 * c("x"), 1000 * c("y"), 1000 * c("z")}, mgl64.Vec3{c("a"), c("b"), c("c") + 1e-3}, mgl64.Vec3{c("d"), c("e"), 1})
	if err != nil {
		return geom.Identity()
	}
	return f.Transform()
}

func zoo() map[string]*mesh.Mesh {
	return map[string]*mesh.Mesh{
		"box":    shape.Box(mgl64.Vec3{-1, -2, -3}, mgl64.Vec3{4, 5, 6}),
		"tube":   shape.Tube(zAxis, 3, 5, 20, 16),
		"sphere": shape.Sphere(mgl64.Vec3{3, 4, 5}, 10, 16),
		"torus":  shape.Torus(zAxis, 20, 5, 16, 12),
		"plate":  shape.Plate(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{40, 30, 5}, shape.Circle(10, 10, 3, 12), shape.Hexagon(30, 20, 8)),
	}
}

// Closed forms of the reference table: box, cone frustum, corner tetrahedron.
func TestMassProperties(t *testing.T) {
	tetra := &mesh.Mesh{
		Vertices:  []mgl64.Vec3{{0, 0, 0}, {6, 0, 0}, {0, 8, 0}, {0, 0, 10}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
	for name, c := range map[string]struct {
		m            *mesh.Mesh
		volume, area float64
		centroid     mgl64.Vec3
	}{
		"box":                {shape.Box(mgl64.Vec3{}, mgl64.Vec3{10, 20, 30}), 6000, 2200, mgl64.Vec3{5, 10, 15}},
		"corner tetrahedron": {tetra, 80, 149.461698495, mgl64.Vec3{1.5, 2, 2.5}},
		"square pyramid":     {shape.Cone(zAxis, 3*math.Sqrt2, 0, 4, 4), 48, 96, mgl64.Vec3{0, 0, 1}},
	} {
		if got := c.m.Volume(); math.Abs(got-c.volume) > 1e-9*c.volume {
			t.Errorf("%s: volume %.12g mm³, want %.12g", name, got, c.volume)
		}
		if got := c.m.Area(); math.Abs(got-c.area) > 1e-8*c.area {
			t.Errorf("%s: area %.12g mm², want %.12g", name, got, c.area)
		}
		if got := c.m.Centroid(); got.Sub(c.centroid).Len() > 1e-9 {
			t.Errorf("%s: centroid %v, want %v", name, got, c.centroid)
		}
	}
}

func TestRigidMotionKeepsMass(t *testing.T) {
	meshes := zoo()
	rapid.Check(t, func(t *rapid.T) {
		tr := drawRigid(t)
		far := geom.Identity()
		far.T = mgl64.Vec3{1e6, -1e6, 1e6}
		for name, m := range meshes {
			moved := m.Transformed(far.Mul(tr))
			if err := moved.Check(); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			v, w := m.Volume(), moved.Volume()
			if !(math.Abs(v-w) <= 1e-7*v) { // 1e6 mm away, 1e-10 mm are lost in each coordinate
				t.Fatalf("%s: volume %.12g mm³ became %.12g", name, v, w)
			}
			if c := far.Mul(tr).Point(m.Centroid()); c.Sub(moved.Centroid()).Len() > 1e-6 {
				t.Fatalf("%s: centroid %v, want %v", name, moved.Centroid(), c)
			}
		}
	})
}

func TestMirrorKeepsOutsideOutside(t *testing.T) {
	tr := geom.Transform{M: mgl64.Diag3(mgl64.Vec3{-1, 1, 1})}
	for name, m := range zoo() {
		w := m.Transformed(tr)
		if err := w.Check(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if math.Abs(w.Volume()-m.Volume()) > 1e-9*m.Volume() {
			t.Errorf("%s: volume %g mm³ in the mirror, want %g", name, w.Volume(), m.Volume())
		}
	}
}

func TestCheckFindsWhatIsWrong(t *testing.T) {
	box := func() *mesh.Mesh { return shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}) }
	for name, spoil := range map[string]func(m *mesh.Mesh){
		"hole":           func(m *mesh.Mesh) { m.Triangles, m.FaceOf = m.Triangles[1:], m.FaceOf[1:] },
		"turned":         func(m *mesh.Mesh) { m.Triangles[3] = [3]int32{m.Triangles[3][1], m.Triangles[3][0], m.Triangles[3][2]} },
		"doubled":        func(m *mesh.Mesh) { m.Triangles, m.FaceOf = append(m.Triangles, m.Triangles[0]), append(m.FaceOf, 0) },
		"out of range":   func(m *mesh.Mesh) { m.Triangles[0][0] = 99 },
		"negative":       func(m *mesh.Mesh) { m.Triangles[0][0] = -1 },
		"no triangle":    func(m *mesh.Mesh) { m.Triangles[0][0] = m.Triangles[0][1] },
		"not a number":   func(m *mesh.Mesh) { m.Vertices[2][1] = math.NaN() },
		"infinite":       func(m *mesh.Mesh) { m.Vertices[2][1] = math.Inf(1) },
		"face numbers":   func(m *mesh.Mesh) { m.FaceOf = m.FaceOf[1:] },
		"edge's vertex":  func(m *mesh.Mesh) { m.Edges[0].Verts[0] = 8 },
		"other vertices": func(m *mesh.Mesh) { m.Vertices = m.Vertices[:7] },
	} {
		m := box()
		spoil(m)
		if m.Check() == nil {
			t.Errorf("%s: Check finds nothing", name)
		}
		if name != "face numbers" && name != "edge's vertex" && m.IsClosed() {
			t.Errorf("%s: counts as closed", name)
		}
	}
	m := box()
	m.Triangles, m.FaceOf = m.Triangles[1:], m.FaceOf[1:]
	if !errors.Is(m.Check(), mesh.ErrOpen) || m.Border() != 3 {
		t.Errorf("open box: %v, border %d; want ErrOpen, 3", m.Check(), m.Border())
	}
	if new(mesh.Mesh).IsClosed() || new(mesh.Mesh).Check() != nil {
		t.Error("an empty mesh is sound but not closed")
	}
}

func TestJoinCountsFacesOn(t *testing.T) {
	a, b := shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}), shape.Cylinder(geom.Axis{O: mgl64.Vec3{5, 5, 5}, D: mgl64.Vec3{1, 0, 0}}, 1, 2, 8)
	m := mesh.Join([]*mesh.Mesh{a, b}, []int{6, 3})
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	if got, want := m.Volume(), a.Volume()+b.Volume(); math.Abs(got-want) > 1e-12*want {
		t.Errorf("volume %g mm³, want %g", got, want)
	}
	if last := m.FaceOf[len(m.FaceOf)-1]; last != 6+b.FaceOf[len(b.FaceOf)-1] {
		t.Errorf("last triangle on face %d", last)
	}
	if e := m.Edges[12]; e.Faces != [2]int32{6, 7} && e.Faces != [2]int32{b.Edges[0].Faces[0] + 6, b.Edges[0].Faces[1] + 6} {
		t.Errorf("first edge of the second body between faces %v", e.Faces)
	}
	if b.Edges[0].Verts[0] >= 16 || m.Edges[12].Verts[0] < 8 {
		t.Error("the second body's edges must be copied and moved on")
	}
}

// loopArea is the area inside loops seen against d.
func loopArea(loops [][]mgl64.Vec3, d mgl64.Vec3) float64 {
	s := 0.0
	for _, l := range loops {
		for i := 1; i+1 < len(l); i++ {
			s += l[i].Sub(l[0]).Cross(l[i+1].Sub(l[0])).Dot(d) / 2
		}
	}
	return s
}

func TestSectionOfKnownShapes(t *testing.T) {
	at := func(z float64) geom.Axis { return geom.Axis{O: mgl64.Vec3{0, 0, z}, D: mgl64.Vec3{0, 0, 1}} }
	plate := zoo()["plate"]
	holes := 6*math.Sin(math.Pi/6)*9 + 64*math.Sqrt(3)/2
	for name, c := range map[string]struct {
		m     *mesh.Mesh
		plane geom.Axis
		loops int
		area  float64
	}{
		"box":                    {shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}), at(1), 1, 6},
		"box from below":         {shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}), geom.Axis{O: mgl64.Vec3{0, 0, 1}, D: mgl64.Vec3{0, 0, -1}}, 1, 6},
		"box through its top":    {shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}), at(4), 1, 6},
		"box through its bottom": {shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}), at(0), 0, 0},
		"box missed":             {shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}), at(5), 0, 0},
		"plate with holes":       {plate, at(2), 3, 1200 - holes},
		"tube along":             {shape.Tube(zAxis, 3, 5, 20, 16), geom.Axis{D: mgl64.Vec3{0, 1, 0}}, 2, 80},
		"torus across":           {shape.Torus(zAxis, 20, 5, 16, 4), geom.Axis{D: mgl64.Vec3{0, 1, 0}}, 2, 100},
	} {
		loops := c.m.Section(c.plane)
		if len(loops) != c.loops {
			t.Errorf("%s: %d loops, want %d", name, len(loops), c.loops)
		}
		if got := loopArea(loops, c.plane.D); math.Abs(got-c.area) > 1e-9*(1+c.area) {
			t.Errorf("%s: area %.9g mm², want %.9g", name, got, c.area)
		}
	}
	if l := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4}).Section(at(1)); len(l) != 1 || len(l[0]) != 4 {
		t.Errorf("a box's section is %v, want four corners", l)
	}
}

// Where a body touches itself along an edge, four triangles share it; the loops
// on both sides of it are whole.
func TestSectionAcrossAnEdgeOfFour(t *testing.T) {
	m := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 2, 2})
	m.Append(shape.Box(mgl64.Vec3{2, 2, 0}, mgl64.Vec3{5, 5, 2}), 6)
	at := map[mgl64.Vec3]int32{}
	for i, p := range m.Vertices {
		if _, ok := at[p]; !ok {
			at[p] = int32(i)
		}
	}
	for i, t := range m.Triangles {
		for k, v := range t {
			m.Triangles[i][k] = at[m.Vertices[v]]
		}
	}
	plane := geom.Axis{O: mgl64.Vec3{0, 0, 1}, D: mgl64.Vec3{0, 0, 1}}
	if got := loopArea(m.Section(plane), plane.D); math.Abs(got-13) > 1e-9 {
		t.Errorf("area %g mm², want 4 + 9", got)
	}
}

// The areas of parallel sections add up to the volume (Cavalieri), whatever
// vertices the planes pass through.
func TestSectionsAddUpToVolume(t *testing.T) {
	for name, m := range zoo() {
		for _, d := range []mgl64.Vec3{{0, 0, 1}, {1, 0, 0}, {0.6, 0, -0.8}, {2.0 / 3, 1.0 / 3, 2.0 / 3}} {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, p := range m.Vertices {
				lo, hi = min(lo, p.Dot(d)), max(hi, p.Dot(d))
			}
			const slices = 500 // midpoint rule: error below a thousandth for these shapes
			sum := 0.0
			for i := range slices {
				z := lo + (hi-lo)*(float64(i)+0.5)/slices
				sum += loopArea(m.Section(geom.Axis{O: d.Mul(z), D: d}), d) * (hi - lo) / slices
			}
			if v := m.Volume(); math.Abs(sum-v) > 2e-3*v {
				t.Errorf("%s along %v: sections add up to %g mm³, volume %g", name, d, sum, v)
			}
		}
	}
}

func BenchmarkSection(b *testing.B) {
	m := shape.Sphere(mgl64.Vec3{}, 10, 200)
	for b.Loop() {
		m.Section(zAxis)
	}
}

func BenchmarkCheck(b *testing.B) {
	m := shape.Sphere(mgl64.Vec3{}, 10, 200)
	for b.Loop() {
		if err := m.Check(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(m.Triangles)), "ns/triangle")
}
