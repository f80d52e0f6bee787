package shape

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// polygonArea is the area of a regular n-gon on a circle of radius r.
func polygonArea(r float64, n int) float64 {
	return float64(n) / 2 * r * r * math.Sin(2*math.Pi/float64(n))
}

func TestShapes(t *testing.T) {
	tilted := geom.Axis{O: mgl64.Vec3{7, -3, 11}, D: mgl64.Vec3{2.0 / 3, -1.0 / 3, 2.0 / 3}}
	a5, a3 := polygonArea(5, 24), polygonArea(3, 24)
	for name, c := range map[string]struct {
		m      *mesh.Mesh
		volume float64
		faces  int32
		edges  int
	}{
		"box":      {Box(mgl64.Vec3{-1, 2, 3}, mgl64.Vec3{9, 22, 33}), 6000, 6, 12},
		"cylinder": {Cylinder(tilted, 5, 20, 24), a5 * 20, 3, 2},
		"tube":     {Tube(tilted, 3, 5, 20, 24), (a5 - a3) * 20, 4, 4},
		"cone":     {Cone(tilted, 5, 0, 12, 24), a5 * 12 / 3, 2, 1},
		"frustum":  {Cone(tilted, 3, 5, 12, 24), (a5 + a3 + math.Sqrt(a5*a3)) * 12 / 3, 3, 2},
		"plate": {Plate(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{40, 30, 5}, Circle(10, 10, 3, 24), Circle(30, 20, 5, 24), Hexagon(30, 8, 6)),
			(1200 - a3 - a5 - 36*math.Sqrt(3)/2) * 5, 14, 34},
		"row of holes": {Plate(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{40, 10, 1}, Circle(5, 5, 3, 24), Circle(15, 5, 3, 24), Circle(25, 5, 3, 24), Circle(35, 5, 3, 24)),
			400 - 4*a3, 10, 20},
		"nut": {Prism(tilted, 4, Hexagon(0, 0, 10), Circle(0, 0, 3, 24)), (100*math.Sqrt(3)/2 - a3) * 4, 9, 20},
	} {
		t.Run(name, func(t *testing.T) {
			if err := c.m.Check(); err != nil || !c.m.IsClosed() {
				t.Fatalf("closed %v, error %v", c.m.IsClosed(), err)
			}
			if got := c.m.Volume(); !(math.Abs(got-c.volume) <= 1e-9*c.volume) {
				t.Errorf("volume %.12g mm³, want %.12g", got, c.volume)
			}
			if got := countFaces(c.m); got != c.faces {
				t.Errorf("%d faces, want %d", got, c.faces)
			}
			if len(c.m.Edges) != c.edges {
				t.Errorf("%d edges, want %d", len(c.m.Edges), c.edges)
			}
			for i, e := range c.m.Edges {
				if math.Abs(e.Turn-math.Pi/2) > 1e-9 && name == "box" || e.Turn > math.Pi {
					t.Errorf("edge %d turns %g rad", i, e.Turn)
				}
			}
		})
	}
}

// Closed round shapes come near their closed forms from inside.
func TestRoundShapesFromInside(t *testing.T) {
	z := geom.Axis{D: mgl64.Vec3{0, 0, 1}}
	for name, c := range map[string]struct {
		m     *mesh.Mesh
		exact float64
	}{
		"sphere": {Sphere(mgl64.Vec3{1, 2, 3}, 10, 200), 4188.790204786},
		"torus":  {Torus(z, 20, 5, 200, 200), 9869.604401089},
	} {
		if err := c.m.Check(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if v := c.m.Volume(); !(v < c.exact && v > 0.998*c.exact) {
			t.Errorf("%s: volume %g mm³, want a little below %g", name, v, c.exact)
		}
	}
}

func countFaces(m *mesh.Mesh) int32 {
	seen := map[int32]bool{}
	for _, f := range m.FaceOf {
		seen[f] = true
	}
	return int32(len(seen))
}
