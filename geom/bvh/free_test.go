package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

var zAxis = geom.Axis{D: mgl64.Vec3{0, 0, 1}}

// The tool of the worked example: radius 3 up to height 30, 10 above it. The
// free radii follow from the drawing, no formula of ours.
func TestFreeRadiusOfToolEnvelope(t *testing.T) {
	inf := math.Inf(1)
	const skin = 1e-6
	wall := box(4, -50, -10, 6, 50, 100)
	post := prism(0, 60, circle(12, 0, 1, 32, 0)...) // a corner of it points at the axis: 11 exactly
	for _, c := range []struct {
		name   string
		m      *mesh.Mesh
		z0, z1 float64
		want   float64
	}{
		{"wall below", wall, 0, 30, 4},
		{"wall above", wall, 30, inf, 4},
		{"wall below its foot", wall, -30, -10 - skin, inf},
		{"post", post, 30, inf, 11},
		{"post above its top", post, 60 + skin, inf, inf},
		{"post at its top, closed slab", post, 60, inf, 11},
		{"ceiling, hole 9.5", plate(80, 85, 9.5, 100, 64), 30, inf, 9.5 * math.Cos(math.Pi/64)},
		{"ceiling, hole 10.5", plate(80, 85, 10.5, 100, 64), 30, inf, 10.5 * math.Cos(math.Pi/64)},
		{"ceiling, slab below it", plate(80, 85, 9.5, 100, 64), 30, 80 - skin, inf},
		{"lid across the axis", box(-5, -5, 20, 5, 5, 21), 0, 30, 0},
		{"slanted ramp cut by the slab", prismX(-50, 50, [2]float64{2, 0}, [2]float64{60, 0}, [2]float64{60, 58}), 10, inf, 12},
	} {
		got, ok := Build(c.m).FreeRadius(zAxis, c.z0, c.z1, inf)
		if !ok {
			got.R = inf
		}
		if math.Abs(got.R-c.want) > 1e-12 && got.R != c.want {
			t.Errorf("%s: free radius %g, want %g", c.name, got.R, c.want)
		}
	}
}

// prismX is a prism along y whose outline is given in x and z.
func prismX(y0, y1 float64, outline ...[2]float64) *mesh.Mesh {
	m := prism(y0, y1, outline...)
	for i, v := range m.Vertices { // (x, z, y) → (x, y, z) mirrors, so turn the triangles
		m.Vertices[i] = mgl64.Vec3{v[0], v[2], v[1]}
	}
	for i, v := range m.Triangles {
		m.Triangles[i] = [3]int32{v[0], v[2], v[1]}
	}
	return m
}

// A ramp z = x - 2 underneath x: at height 10 the surface starts at x = 12.
func TestFreeRadiusCutsInsideATriangle(t *testing.T) {
	ramp := &mesh.Mesh{Vertices: []mgl64.Vec3{{2, -500, 0}, {2, 500, 0}, {102, 0, 100}}, Triangles: [][3]int32{{0, 1, 2}}}
	got, ok := Build(ramp).FreeRadius(zAxis, 10, 20, math.Inf(1))
	if !ok || math.Abs(got.R-12) > 1e-12 || math.Abs(got.H-10) > 1e-12 || got.P.Sub(mgl64.Vec3{12, 0, 10}).Len() > 1e-12 {
		t.Fatalf("got %+v, want 12 at (12, 0, 10)", got)
	}
	if _, ok := Build(ramp).FreeRadius(zAxis, 10, 20, 12); ok {
		t.Fatal("a distance equal to rmax is not below it")
	}
}

// Along an upright wall the lowest of the nearest points is named.
func TestFreeRadiusNamesTheLowestPlace(t *testing.T) {
	wall := Build(box(4, -50, -10, 6, 50, 100))
	if got, _ := wall.FreeRadius(zAxis, 3, 30, 10); got.H != 3 || got.P != (mgl64.Vec3{4, 0, 3}) {
		t.Errorf("%+v, want (4, 0, 3)", got)
	}
	post := Build(box(4, 0, -10, 6, 3, 100)) // an upright edge is the nearest
	if got, _ := post.FreeRadius(zAxis, 3, 30, 10); got.H != 3 || got.P != (mgl64.Vec3{4, 0, 3}) {
		t.Errorf("%+v, want (4, 0, 3)", got)
	}
}

func TestFreeRadiusMatchesSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		a := geom.Axis{O: drawPoint(t, 10), D: drawUnit(t)}
		z0 := rapid.Float64Range(-12, 12).Draw(t, "z0")
		z1 := z0 + rapid.Float64Range(0, 12).Draw(t, "dz")
		rmax := rapid.Float64Range(0, 30).Draw(t, "rmax")
		got, ok := Build(m).FreeRadius(a, z0, z1, rmax)
		r := rmax
		if ok {
			r = got.R
			if got.H < z0-1e-9 || got.H > z1+1e-9 || math.Abs(a.Distance(got.P)-r) > 1e-9 || math.Abs(a.Height(got.P)-got.H) > 1e-9 {
				t.Fatalf("%+v is not where it says: distance %g, height %g in [%g, %g]", got, a.Distance(got.P), a.Height(got.P), z0, z1)
			}
			near, _ := Build(&mesh.Mesh{Vertices: m.Vertices, Triangles: m.Triangles[got.Tri : got.Tri+1]}).Closest(got.P, 1)
			if !(near.Dist < 1e-9) {
				t.Fatalf("%+v is %g off its triangle", got, near.Dist)
			}
		}
		const k = 12
		for _, tri := range m.Triangles {
			p, q, s := m.Vertices[tri[0]], m.Vertices[tri[1]], m.Vertices[tri[2]]
			for i := range k + 1 {
				for j := range k + 1 - i {
					x := p.Mul(float64(i)).Add(q.Mul(float64(j))).Add(s.Mul(float64(k - i - j))).Mul(1. / k)
					if h := a.Height(x); h > z0+1e-9 && h < z1-1e-9 && a.Distance(x) < r-1e-9 {
						t.Fatalf("%v at height %g is %g from the axis, nearer than %g", x, h, a.Distance(x), r)
					}
				}
			}
		}
		if flat, fok := all(m).FreeRadius(a, z0, z1, rmax); fok != ok || flat != got {
			t.Fatalf("tree %+v %v, all triangles %+v %v", got, ok, flat, fok)
		}
	})
}

func TestFreeRadiusRidesAlong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		a := geom.Axis{O: drawPoint(t, 10), D: drawUnit(t)}
		p := drawPlace(t)
		one, ok1 := Build(m).FreeRadius(a, -5.0123, 7.0456, 100)
		for _, tree := range []*Tree{Build(moved(m, p)), Build(m).Placed(p)} {
			two, ok2 := tree.FreeRadius(a.Transformed(p), -5.0123, 7.0456, 100)
			if ok1 != ok2 || ok1 && math.Abs(one.R-two.R) > 1e-7 {
				t.Fatalf("at home %+v %v, moved %+v %v", one, ok1, two, ok2)
			}
		}
	})
}
