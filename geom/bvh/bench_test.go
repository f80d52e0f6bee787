package bvh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// scattered is n small spheres in a cube of 1 m: k triangles each.
func scattered(n, fine int) *mesh.Mesh {
	r := rand.New(rand.NewPCG(1, 2))
	var ms []*mesh.Mesh
	for range n {
		c := mgl64.Vec3{1000 * r.Float64(), 1000 * r.Float64(), 1000 * r.Float64()}
		ms = append(ms, sphere(c, 5+30*r.Float64(), fine))
	}
	return join(ms...)
}

// helix is a closed thread-like body of about 4·turns·per triangles.
func helix(radius, depth, pitch float64, turns, per int) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := int32(turns * per)
	for i := int32(0); i <= n; i++ {
		z := pitch * float64(i) / float64(per)
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(per))
		at := func(r, z float64) { m.Vertices = append(m.Vertices, mgl64.Vec3{r * c, r * s, z}) }
		at(radius-depth, z-0.4*pitch)
		at(radius, z)
		at(radius-depth, z+0.4*pitch)
	}
	for i := int32(0); i < n; i++ {
		for k := int32(0); k < 3; k++ {
			a, b := 3*i+k, 3*i+(k+1)%3
			m.Triangles = append(m.Triangles, [3]int32{a, a + 3, b + 3}, [3]int32{a, b + 3, b})
		}
	}
	m.Triangles = append(m.Triangles, [3]int32{0, 1, 2}, [3]int32{3 * n, 3*n + 2, 3*n + 1})
	return m
}

func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{60, 600} {
		m := scattered(n, 15)
		b.Run(fmt.Sprintf("%dk", len(m.Triangles)/1000), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Build(m)
			}
			b.ReportMetric(float64(b.N)*float64(len(m.Triangles))/b.Elapsed().Seconds()/1e6, "Mtri/s")
		})
	}
}

func BenchmarkRays(b *testing.B) {
	tree := Build(scattered(300, 15))
	r := rand.New(rand.NewPCG(3, 4))
	rays := make([][2]mgl64.Vec3, 1000)
	for i := range rays {
		rays[i] = [2]mgl64.Vec3{{1000 * r.Float64(), 1000 * r.Float64(), 1000 * r.Float64()}, randUnit(r)}
	}
	inf := math.Inf(1)
	for name, ask := range map[string]func(o, d mgl64.Vec3){
		"any":      func(o, d mgl64.Vec3) { tree.AnyHit(o, d, 0, inf) },
		"nearest":  func(o, d mgl64.Vec3) { tree.Nearest(o, d, 0, inf) },
		"contains": func(o, d mgl64.Vec3) { tree.Contains(o) },
		"closest":  func(o, d mgl64.Vec3) { tree.Closest(o, inf) },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for _, r := range rays {
					ask(r[0], r[1])
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(rays)), "ns/ask")
		})
	}
}

func BenchmarkFreeRadius(b *testing.B) {
	tree := Build(scattered(300, 15))
	r := rand.New(rand.NewPCG(3, 4))
	axes := make([]geom.Axis, 100)
	for i := range axes {
		axes[i] = geom.Axis{O: mgl64.Vec3{1000 * r.Float64(), 1000 * r.Float64(), 1000 * r.Float64()}, D: randUnit(r)}
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range axes {
			tree.FreeRadius(a, 0, math.Inf(1), 30)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(axes)), "ns/ask")
}

func BenchmarkFirstContact(b *testing.B) {
	ball := sphere(mgl64.Vec3{}, 50, 72)
	for _, c := range []struct {
		name         string
		mover, fixed *mesh.Mesh
		at           mgl64.Vec3
		d            mgl64.Vec3
		skin         float64
	}{
		{"spheres meet", ball, ball, mgl64.Vec3{30, 10, -300}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"spheres meet, oblique", ball, ball, mgl64.Vec3{-180, -150, -170}, mgl64.Vec3{0.6, 0.5, math.Sqrt(1 - 0.61)}, 0.02},
		{"spheres miss narrowly", ball, ball, mgl64.Vec3{71.3, 71.3, -300}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"peg slides out of its hole", prism(0, 40, circle(0, 0, 10, 5000, 0)...), plate(0, 40, 10, 30, 2500), mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"sleeve slides out of a bore", sleeve(5, 10, 50, 100, 50), sleeve(10.02, 30, 50, 100, 50), mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"sleeve slides out of a bore, oblique", sleeve(5, 10, 50, 100, 50), sleeve(10.02, 30, 50, 100, 50), mgl64.Vec3{}, mgl64.Vec3{0.6, 0, 0.8}, 0.02},
		{"50 discs slide out of 50 plates", stacked(prism(0, 1, circle(0, 0, 10, 100, 0)...), 50), stacked(plate(0, 1, 10.02, 30, 50), 50), mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"thread in its like", helix(5, 0.6, 1, 20, 160), helix(5.2, 0.6, 1, 20, 170), mgl64.Vec3{0, 0, 0.1}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"thread past a narrower one", helix(5, 0.6, 1, 20, 160), helix(7, 0.6, 1, 20, 170), mgl64.Vec3{0, 0, 0.1}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"far away", ball, ball, mgl64.Vec3{300, 0, 0}, mgl64.Vec3{0, 0, 1}, 0.02},
	} {
		mover, fixed := NewMover(Build(c.mover), c.skin), Build(c.fixed)
		place := geom.Transform{M: mgl64.Ident3(), T: c.at}
		b.Run(fmt.Sprintf("%s %dk x %dk", c.name, mover.tree.Len()/1000, fixed.Len()/1000), func(b *testing.B) {
			b.ReportAllocs()
			var got Contact
			for b.Loop() {
				got, _ = mover.Aim(place, c.d).FirstContact(fixed, math.Inf(1))
			}
			b.ReportMetric(got.Dist, "mm")
		})
	}
}

// sleeve is a tube with walls of n facets in k rings.
func sleeve(ri, ro, h float64, n, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	rings := 2 * (k + 1)
	for i := range rings { // up the outside, down the inside
		r, z := ro, h*float64(i)/float64(k)
		if i > k {
			r, z = ri, h*float64(rings-1-i)/float64(k)
		}
		for _, p := range circle(0, 0, r, n, 0) {
			m.Vertices = append(m.Vertices, mgl64.Vec3{p[0], p[1], z})
		}
	}
	for i := range rings {
		a, b := i*n, (i+1)%rings*n
		for j := range n {
			l := (j + 1) % n
			p, q, r, s := int32(a+j), int32(a+l), int32(b+l), int32(b+j)
			m.Triangles = append(m.Triangles, [3]int32{p, q, r}, [3]int32{p, r, s})
		}
	}
	return m
}

func stacked(m *mesh.Mesh, n int) *mesh.Mesh {
	var ms []*mesh.Mesh
	for i := range n {
		ms = append(ms, moved(m, geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{0, 0, float64(i)}}))
	}
	return join(ms...)
}

func BenchmarkNewMover(b *testing.B) {
	t := Build(sphere(mgl64.Vec3{}, 50, 72))
	for b.Loop() {
		NewMover(t, 0.02)
	}
}

func BenchmarkDistance(b *testing.B) {
	t := Build(sphere(mgl64.Vec3{}, 50, 72))
	for b.Loop() {
		Distance(t, t, geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{100, 30, 20}}, math.Inf(1))
	}
}

func BenchmarkBlockedArcs(b *testing.B) {
	tree := Build(scattered(300, 15))
	r := rand.New(rand.NewPCG(3, 4))
	axes := make([]geom.Axis, 20)
	for i := range axes {
		axes[i] = geom.Axis{O: mgl64.Vec3{1000 * r.Float64(), 1000 * r.Float64(), 1000 * r.Float64()}, D: randUnit(r)}
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range axes {
			tree.BlockedArcs(a, mgl64.Vec3{1, 0, 0}, 0, 20, 10, 150, 6)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(axes)), "ns/ask")
}
