package bvh

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// drawMesh makes a small soup of triangles; many share corners, some are flat
// along an axis, a few are degenerate.
func drawMesh(t *rapid.T) *mesh.Mesh {
	coord := rapid.OneOf(
		rapid.Float64Range(-10, 10),
		rapid.Map(rapid.IntRange(-4, 4), func(i int) float64 { return float64(i) }),
	)
	m := &mesh.Mesh{}
	for range rapid.IntRange(3, 24).Draw(t, "vertices") {
		m.Vertices = append(m.Vertices, mgl64.Vec3{coord.Draw(t, "x"), coord.Draw(t, "y"), coord.Draw(t, "z")})
	}
	v := rapid.Int32Range(0, int32(len(m.Vertices)-1))
	for range rapid.IntRange(1, 60).Draw(t, "triangles") {
		m.Triangles = append(m.Triangles, [3]int32{v.Draw(t, "a"), v.Draw(t, "b"), v.Draw(t, "c")})
	}
	return m
}

// drawOn picks a corner, a point of an edge, or a point of a triangle.
func drawOn(t *rapid.T, m *mesh.Mesh) mgl64.Vec3 {
	tri := m.Triangles[rapid.IntRange(0, len(m.Triangles)-1).Draw(t, "tri")]
	a, b, c := m.Vertices[tri[0]], m.Vertices[tri[1]], m.Vertices[tri[2]]
	switch rapid.IntRange(0, 2).Draw(t, "on") {
	case 0:
		return a
	case 1:
		return a.Add(b.Sub(a).Mul(rapid.Float64Range(0, 1).Draw(t, "f")))
	}
	f := rapid.Float64Range(0, 1).Draw(t, "f")
	g := rapid.Float64Range(0, 1-f).Draw(t, "g")
	return a.Add(b.Sub(a).Mul(f)).Add(c.Sub(a).Mul(g))
}

func drawPoint(t *rapid.T, r float64) mgl64.Vec3 {
	c := rapid.Float64Range(-r, r)
	return mgl64.Vec3{c.Draw(t, "px"), c.Draw(t, "py"), c.Draw(t, "pz")}
}

func drawUnit(t *rapid.T) mgl64.Vec3 {
	if rapid.Bool().Draw(t, "principal") {
		var d mgl64.Vec3
		d[rapid.IntRange(0, 2).Draw(t, "axis")] = float64(1 - 2*rapid.IntRange(0, 1).Draw(t, "sign"))
		return d
	}
	d, ok := geom.Unit(drawPoint(t, 1))
	if !ok {
		return mgl64.Vec3{0, 0, 1}
	}
	return d
}

// drawPlace makes a rotation with a shift, or now and then a mirror.
func drawPlace(t *rapid.T) geom.Transform {
	f, err := geom.NewFrame(drawPoint(t, 20), drawUnit(t), drawUnit(t))
	if err != nil {
		t.Fatal(err)
	}
	p := f.Transform()
	if rapid.IntRange(0, 3).Draw(t, "mirror") == 0 {
		p = p.Mul(geom.Transform{M: mgl64.Diag3(mgl64.Vec3{-1, 1, 1})})
	}
	return p
}

func moved(m *mesh.Mesh, p geom.Transform) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: append([][3]int32(nil), m.Triangles...)}
	for _, v := range m.Vertices {
		out.Vertices = append(out.Vertices, p.Point(v))
	}
	if p.M.Det() < 0 {
		for i, t := range out.Triangles {
			out.Triangles[i] = [3]int32{t[0], t[2], t[1]}
		}
	}
	return out
}

func join(ms ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, m := range ms {
		n := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, m.Vertices...)
		for _, t := range m.Triangles {
			out.Triangles = append(out.Triangles, [3]int32{t[0] + n, t[1] + n, t[2] + n})
		}
	}
	return out
}

// prism is a closed prism over a simple polygon that turns anticlockwise and
// is star-shaped about its first corner's fan (convex, or fanned so on
// purpose).
func prism(z0, z1 float64, outline ...[2]float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := int32(len(outline))
	for _, z := range []float64{z0, z1} {
		for _, p := range outline {
			m.Vertices = append(m.Vertices, mgl64.Vec3{p[0], p[1], z})
		}
	}
	for i := int32(0); i < n; i++ {
		j := (i + 1) % n
		m.Triangles = append(m.Triangles, [3]int32{i, j, n + j}, [3]int32{i, n + j, n + i})
		if i > 0 && i+1 < n {
			m.Triangles = append(m.Triangles, [3]int32{0, i + 1, i}, [3]int32{n, n + i, n + i + 1})
		}
	}
	return m
}

func box(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	return prism(z0, z1, [2]float64{x0, y0}, [2]float64{x1, y0}, [2]float64{x1, y1}, [2]float64{x0, y1})
}

func circle(x, y, r float64, n int, turn float64) [][2]float64 {
	var c [][2]float64
	for i := range n {
		s, co := math.Sincos(turn + 2*math.Pi*float64(i)/float64(n))
		c = append(c, [2]float64{x + r*co, y + r*s})
	}
	return c
}

// plate is a plate of outer radius ro with a hole of radius ri.
func plate(z0, z1, ri, ro float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	k := int32(n)
	for _, z := range []float64{z0, z1} {
		for _, r := range []float64{ri, ro} {
			for _, p := range circle(0, 0, r, n, 0) {
				m.Vertices = append(m.Vertices, mgl64.Vec3{p[0], p[1], z})
			}
		}
	}
	quad := func(a, b, c, d int32) { m.Triangles = append(m.Triangles, [3]int32{a, b, c}, [3]int32{a, c, d}) }
	for i := int32(0); i < k; i++ {
		j := (i + 1) % k
		quad(j, i, 2*k+i, 2*k+j)         // hole
		quad(k+i, k+j, 3*k+j, 3*k+i)     // outside
		quad(i, j, k+j, k+i)             // below
		quad(2*k+j, 2*k+i, 3*k+i, 3*k+j) // above
	}
	return m
}

// sphere has 2·n·(n-1) triangles or so.
func sphere(c mgl64.Vec3, r float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{Vertices: []mgl64.Vec3{{c[0], c[1], c[2] - r}, {c[0], c[1], c[2] + r}}}
	at := func(i, j int) int32 { return int32(2 + (i-1)*2*n + j%(2*n)) }
	for i := 1; i < n; i++ {
		s, z := math.Sincos(math.Pi * float64(i) / float64(n))
		for j := range 2 * n {
			sj, cj := math.Sincos(math.Pi * float64(j) / float64(n))
			m.Vertices = append(m.Vertices, mgl64.Vec3{c[0] + r*s*cj, c[1] + r*s*sj, c[2] - r*z})
		}
	}
	for j := range 2 * n {
		m.Triangles = append(m.Triangles, [3]int32{0, at(1, j+1), at(1, j)}, [3]int32{1, at(n-1, j), at(n-1, j+1)})
		for i := 1; i+1 < n; i++ {
			a, b, d, e := at(i, j), at(i, j+1), at(i+1, j), at(i+1, j+1)
			m.Triangles = append(m.Triangles, [3]int32{a, b, e}, [3]int32{a, e, d})
		}
	}
	return m
}

// TestShapesAreClosed guards the other tests: their solids are closed, turn
// the right way and have the volume that they should.
func TestShapesAreClosed(t *testing.T) {
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		want float64
	}{
		"box":    {box(1, 2, 3, 4, 6, 8), 60},
		"prism":  {prism(0, 2, circle(3, 1, 2, 6, 0)...), 2 * 6 * 0.5 * 4 * math.Sin(math.Pi/3)},
		"plate":  {plate(0, 2, 1, 3, 12), 2 * 12 * 0.5 * 8 * math.Sin(math.Pi/6)},
		"sleeve": {sleeve(1, 3, 2, 12, 4), 2 * 12 * 0.5 * 8 * math.Sin(math.Pi/6)},
		"sphere": {sphere(mgl64.Vec3{1, 2, 3}, 2, 100), 4. / 3 * math.Pi * 8 * 0.9988},
	} {
		edges := map[[2]int32]int{}
		v := 0.0
		for _, t := range c.m.Triangles {
			for k := range 3 {
				edges[[2]int32{t[k], t[(k+1)%3]}]++
			}
			v += c.m.Vertices[t[0]].Dot(c.m.Vertices[t[1]].Cross(c.m.Vertices[t[2]])) / 6
		}
		for e, n := range edges {
			if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
				t.Fatalf("%s: edge %v has %d and %d uses", name, e, n, edges[[2]int32{e[1], e[0]}])
			}
		}
		if math.Abs(v-c.want) > 1e-3*c.want {
			t.Fatalf("%s: volume %g, want %g", name, v, c.want)
		}
	}
}

func randUnit(r *rand.Rand) mgl64.Vec3 {
	for {
		d := mgl64.Vec3{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		if u, ok := geom.Unit(d); ok {
			return u
		}
	}
}
