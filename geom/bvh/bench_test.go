package bvh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
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

// BenchmarkBuild states triangles a second on one core, and on two. What rays
// walk through is made at the first ray and not in here: BenchmarkQuads.
func BenchmarkBuild(b *testing.B) {
	for _, c := range []struct {
		name string
		m    *mesh.Mesh
	}{
		{"bodies 50k", bodies(50e3)},
		{"bodies 500k", bodies(500e3)},
		{"bodies 1M", bodies(1e6)},
		{"scattered 50k", scattered(60, 15)},
		{"scattered 504k", scattered(600, 15)},
	} {
		for cores := 1; cores <= 2; cores++ {
			b.Run(fmt.Sprintf("%s on %d", c.name, cores), func(b *testing.B) {
				defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
				b.ReportAllocs()
				for b.Loop() {
					Build(c.m)
				}
				b.ReportMetric(float64(b.N)*float64(len(c.m.Triangles))/b.Elapsed().Seconds()/1e6, "Mtri/s")
			})
		}
	}
}

// BenchmarkQuads states what the first ray adds to Build.
func BenchmarkQuads(b *testing.B) {
	tree := Build(bodies(1e6))
	for b.Loop() {
		tree.makeQuads()
	}
	b.ReportMetric(float64(b.N)*float64(tree.Len())/b.Elapsed().Seconds()/1e6, "Mtri/s")
}

// bodies is an assembly of n triangles or some more: threads, tori, balls and
// sleeves on a grid of 4 x 4 x 4 between two plates of large triangles.
func bodies(n float64) *mesh.Mesh {
	f := math.Sqrt(n / 1e6) // how fine, against a million
	k := func(x float64) int { return max(4, int(x*f)) }
	kinds := []*mesh.Mesh{
		helix(11, 1.5, 3, 8, k(325*f)), // 6 triangles by 8 x 325 steps for a million
		torus(9, 4, k(125), k(63)),
		sphere(mgl64.Vec3{}, 12, k(63)),
		sleeve(6, 11, 25, k(125), k(31)),
	}
	ms := []*mesh.Mesh{box(-20, -20, -21, 140, 140, -20), box(-20, -20, 120, 140, 140, 121)}
	for i := range 64 {
		at := mgl64.Vec3{float64(i % 4), float64(i / 4 % 4), float64(i / 16)}
		place := geom.Transform{M: mgl64.Rotate3DX(float64(i)).Mul3(mgl64.Rotate3DZ(float64(2 * i))), T: at.Mul(40)}
		ms = append(ms, moved(kinds[(i+i/4+i/16)%4], place))
	}
	return join(ms...)
}

// torus has 2·n·k triangles: n round its axis, k round its tube.
func torus(ro, ri float64, n, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		for _, p := range circle(ro, 0, ri, k, 0) {
			m.Vertices = append(m.Vertices, mgl64.Vec3{p[0] * c, p[0] * s, p[1]})
		}
	}
	for i := range n {
		for j := range k {
			p, q := int32(i*k+j), int32(i*k+(j+1)%k)
			r, s := int32((i+1)%n*k+j), int32((i+1)%n*k+(j+1)%k)
			m.Triangles = append(m.Triangles, [3]int32{p, r, s}, [3]int32{p, s, q})
		}
	}
	return m
}

// BenchmarkNearest states nearest-hit rays a second on one core: from all
// around in no order, side by side as a picture has them, and from between the
// bodies. The first of all makes the quads, and that counts.
func BenchmarkNearest(b *testing.B) {
	for _, n := range []float64{50e3, 500e3, 1e6} {
		tree := Build(bodies(n))
		for _, c := range []struct {
			name string
			rays [][2]mgl64.Vec3
		}{{"around", raysAround(tree, 1<<14)}, {"picture", raysOfPicture(tree, 128)}, {"within", raysWithin(tree, 1<<14)}} {
			b.Run(fmt.Sprintf("%dk %s", int(n/1e3), c.name), func(b *testing.B) {
				b.ReportAllocs()
				hits := 0
				for b.Loop() {
					hits = 0
					for i := range c.rays {
						if _, ok := tree.Nearest(c.rays[i][0], c.rays[i][1], 0, math.Inf(1)); ok {
							hits++
						}
					}
				}
				asked := float64(len(c.rays))
				b.ReportMetric(float64(b.N)*asked/b.Elapsed().Seconds()/1e6, "Mrays/s")
				b.ReportMetric(100*float64(hits)/asked, "%hit")
			})
		}
	}
}

// raysAround start on a sphere about the mesh and aim at places in its box,
// somewhat widened so that some pass by.
func raysAround(t *Tree, n int) [][2]mgl64.Vec3 {
	r := rand.New(rand.NewPCG(5, 6))
	b := t.Box()
	c, h := b.Centre(), b.Max.Sub(b.Min).Mul(0.5)
	rays := make([][2]mgl64.Vec3, n)
	for i := range rays {
		o := c.Add(randUnit(r).Mul(2 * h.Len()))
		at := c
		for k := range 3 {
			at[k] += 1.3 * h[k] * (2*r.Float64() - 1)
		}
		rays[i] = [2]mgl64.Vec3{o, at.Sub(o).Normalize()}
	}
	return rays
}

// raysOfPicture are the n x n parallel rays of an oblique view, row by row.
func raysOfPicture(t *Tree, n int) [][2]mgl64.Vec3 {
	c, r := t.Box().Centre(), t.Box().Diagonal()/2
	d := mgl64.Vec3{-1, -0.7, -0.4}.Normalize()
	x := geom.Perpendicular(d)
	y := d.Cross(x)
	var rays [][2]mgl64.Vec3
	for i := range n * n {
		u, v := float64(2*(i%n))/float64(n)-1, float64(2*(i/n))/float64(n)-1
		rays = append(rays, [2]mgl64.Vec3{c.Add(d.Mul(-2 * r)).Add(x.Mul(r * u)).Add(y.Mul(r * v)), d})
	}
	return rays
}

// raysWithin start anywhere in the box and go anywhere.
func raysWithin(t *Tree, n int) [][2]mgl64.Vec3 {
	r := rand.New(rand.NewPCG(7, 8))
	b := t.Box()
	rays := make([][2]mgl64.Vec3, n)
	for i := range rays {
		var o mgl64.Vec3
		for k := range 3 {
			o[k] = b.Min[k] + r.Float64()*(b.Max[k]-b.Min[k])
		}
		rays[i] = [2]mgl64.Vec3{o, randUnit(r)}
	}
	return rays
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
		{"50 discs drop onto 50 discs", stacked(prism(0, 1, circle(0, 0, 10, 100, 0)...), 50), stacked(prism(0, 1, circle(3, 0, 9, 100, 0)...), 50), mgl64.Vec3{0, 0, 60}, mgl64.Vec3{0, 0, -1}, 0.02},
		{"turned parts meet", turnedPart(1, 1250), turnedPart(1, 1250), mgl64.Vec3{3, 2, -100}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"turned part through a ring", revolved(2500, [2]float64{2, 0}, [2]float64{30, 0}, [2]float64{30, 10}, [2]float64{2, 10}), revolved(2500, [2]float64{30.1, 0}, [2]float64{60, 0}, [2]float64{60, 10}, [2]float64{30.1, 10}), mgl64.Vec3{0, 0, -100}, mgl64.Vec3{0, 0, 1}, 0.02},
		{"bolts in a plate's holes", spread(prism(-20, 20, circle(0, 0, 3, 48, 0.1)...), 14), spread(plate(-3, 3, 3.2, 4.9, 48), 14), mgl64.Vec3{0, 0, 0}, mgl64.Vec3{0, 0, 1}, 0.02},
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

// spread is a square of n by n of them, 10 mm apart.
func spread(m *mesh.Mesh, n int) *mesh.Mesh {
	var ms []*mesh.Mesh
	for i := range n * n {
		ms = append(ms, moved(m, geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{float64(10 * (i % n)), float64(10 * (i / n)), 0}}))
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

// turnedPart is a shaft of three diameters with a bore, as a lathe leaves it,
// with caps of long slivers: each ring of points is joined with the next.
func turnedPart(scale float64, n int) *mesh.Mesh {
	return revolved(n, [2]float64{4, 0}, [2]float64{30, 0}, [2]float64{30, 10}, [2]float64{18, 10}, [2]float64{18, 40},
		[2]float64{10 * scale, 40}, [2]float64{10 * scale, 60}, [2]float64{4, 60})
}

// revolved turns an outline (r, z), anticlockwise, about the axis.
func revolved(n int, outline ...[2]float64) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, q := range outline {
		for _, p := range circle(0, 0, q[0], n, 0) {
			m.Vertices = append(m.Vertices, mgl64.Vec3{p[0], p[1], q[1]})
		}
	}
	for i := range outline {
		a, b := i*n, (i+1)%len(outline)*n
		for j := range n {
			k := (j + 1) % n
			p, q, r, s := int32(a+j), int32(a+k), int32(b+k), int32(b+j)
			m.Triangles = append(m.Triangles, [3]int32{p, q, r}, [3]int32{p, r, s})
		}
	}
	return m
}
