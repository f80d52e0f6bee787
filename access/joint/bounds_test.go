package joint

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
)

// Products that are cheap to write down and dear to look at.

// scattered is n uses of a part at random places within a cube, and turned at
// random if the cube has a size.
func scattered(part product.Part, n int, size float64) *product.Product {
	r := rand.New(rand.NewPCG(1, 2))
	num := func() float64 { return 2*r.Float64() - 1 }
	uses := make([]fastenertest.Placed, n)
	for i := range uses {
		uses[i].At = geom.Identity()
		if size > 0 {
			q := mgl64.Quat{W: num(), V: mgl64.Vec3{num(), num(), num()}}.Normalize()
			uses[i].At = geom.Transform{M: q.Mat4().Mat3(), T: mgl64.Vec3{num(), num(), num()}.Mul(size / 2)}
		}
	}
	return fastenertest.Assemble([]product.Part{part}, uses...)
}

// grille is a plate of n times n cells of 8 mm, 3 mm thick, each with a hole of
// so many corners.
func grille(n int, d float64, corners int) product.Part {
	const cell, thick = 8.0, 3.0
	m := &mesh.Mesh{Chord: d / 2 * (1 - math.Cos(math.Pi/float64(corners)))}
	at := map[[3]float64]int32{}
	put := func(x, y, z float64) int32 {
		p := [3]float64{math.Round(x*1e9) / 1e9, math.Round(y*1e9) / 1e9, z}
		k, ok := at[p]
		if !ok {
			k = int32(len(m.Vertices))
			at[p] = k
			m.Vertices = append(m.Vertices, mgl64.Vec3(p))
		}
		return k
	}
	quad := func(f, a, b, c, e int32) {
		m.Triangles = append(m.Triangles, [3]int32{a, b, c}, [3]int32{a, c, e})
		m.FaceOf = append(m.FaceOf, f, f)
	}
	rim := func(x, y float64, k int, r float64) (a, b float64) { // r 0: on the cell's square
		sin, cos := math.Sincos(2 * math.Pi * (float64(k%corners) + 0.5) / float64(corners))
		if r == 0 {
			r = cell / 2 / max(math.Abs(sin), math.Abs(cos))
		}
		return x + r*cos, y + r*sin
	}
	last := float64(n-1) * cell
	for i := range n * n {
		x, y, hole := float64(i%n)*cell, float64(i/n)*cell, int32(6+i)
		for k := range corners {
			var in, out [2][2]int32 // by height and end
			for h, z := range []float64{0, -thick} {
				for e := range 2 {
					ix, iy := rim(x, y, k+e, d/2)
					ox, oy := rim(x, y, k+e, 0)
					in[h][e], out[h][e] = put(ix, iy, z), put(ox, oy, z)
				}
			}
			quad(0, in[0][0], out[0][0], out[0][1], in[0][1])
			quad(1, in[1][0], in[1][1], out[1][1], out[1][0])
			quad(hole, in[1][0], in[0][0], in[0][1], in[1][1])
			mid := m.Vertices[out[0][0]].Add(m.Vertices[out[0][1]]).Mul(0.5)
			for side, edge := range []bool{mid[0] < -cell/2+1e-6, mid[0] > last+cell/2-1e-6, mid[1] < -cell/2+1e-6, mid[1] > last+cell/2-1e-6} {
				if edge {
					quad(int32(2+side), out[1][0], out[1][1], out[0][1], out[0][0])
				}
			}
		}
	}
	return fastenertest.Solid("", m)
}

// screwed is a grille of n holes with a screw in each.
func screwed(n int) *product.Product {
	side := int(math.Round(math.Sqrt(float64(n))))
	uses := []fastenertest.Placed{{Part: 0, At: geom.Identity(), Name: "plate"}}
	for i := range side * side {
		t := geom.Identity()
		t.T = mgl64.Vec3{float64(i%side) * 8, float64(i/side) * 8, 0}
		uses = append(uses, fastenertest.Placed{Part: 1, At: t, Name: "screw"})
	}
	return fastenertest.Assemble([]product.Part{grille(side, 4.5, 24), capM4(10)}, uses...)
}

// column is n washers on each other.
func column(n int) *product.Product {
	uses := make([]fastenertest.Placed, n)
	for i := range uses {
		uses[i] = fastenertest.Placed{At: at(0.8 * float64(i)), Name: "washer"}
	}
	return fastenertest.Assemble([]product.Part{disc(9, 0.8, 4.3)}, uses...)
}

// among is one part of very many faces under n small ones.
func among(n int) *product.Product {
	uses := []fastenertest.Placed{{Part: 0, At: geom.Identity(), Name: "grille"}}
	for i := range n {
		t := geom.Identity()
		t.T = mgl64.Vec3{float64(i%100) * 24, float64(i/100) * 24, 0}
		uses = append(uses, fastenertest.Placed{Part: 1, At: t, Name: "chip"})
	}
	return fastenertest.Assemble([]product.Part{grille(316, 4.5, 8), disc(7, 2, 1)}, uses...)
}

// BenchmarkBounds runs all stages over them.
func BenchmarkBounds(b *testing.B) {
	for _, c := range []struct {
		name string
		make func() *product.Product
	}{
		{"1500 screws in one place", func() *product.Product { return scattered(capM4(12), 1500, 0) }},
		{"1500 screws in each other", func() *product.Product { return scattered(capM4(12), 1500, 10) }},
		{"10000 screws in 10000 holes", func() *product.Product { return screwed(10000) }},
		{"50000 washers in a stack", func() *product.Product { return column(50000) }},
		{"100000 faces under 10000 parts", func() *product.Product { return among(10000) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			p := c.make()
			b.ReportAllocs()
			var spent [4]time.Duration
			for b.Loop() {
				ctx := context.Background()
				from := time.Now()
				stage := func(k int) { spent[k] += time.Since(from); from = time.Now() }
				s := feature.NewScene(ctx, p)
				stage(0)
				fs, _ := fastener.FindIn(ctx, s)
				stage(1)
				hs, js := FindIn(ctx, s, fs)
				stage(2)
				x := TouchIn(ctx, s, fs, hs, js)
				stage(3)
				b.ReportMetric(float64(x.Left), "left")
				b.ReportMetric(float64(len(fs)), "fasteners")
			}
			for k, name := range []string{"s-features", "s-recognise", "s-join", "s-touch"} {
				b.ReportMetric(spent[k].Seconds()/float64(b.N), name)
			}
		})
	}
}

// Of more loose situations than are tried for ways out the rest is told.
func TestUntriedLoosePartsAreTold(t *testing.T) {
	const n = maxEnclosed + 20
	parts := []product.Part{
		fastenertest.Facetted("plate", 8, fastenertest.Circle(0, 0), fastenertest.Circle(0, 4000), fastenertest.Circle(2, 4000), fastenertest.Circle(2, 0)),
		fastenertest.Facetted("chip", 8, fastenertest.Circle(0, 0), fastenertest.Circle(0, 2), fastenertest.Circle(1, 2), fastenertest.Circle(1, 0)),
	}
	uses := []fastenertest.Placed{{Part: 0, At: geom.Identity(), Name: "plate"}}
	for i := range n {
		up := at(2)
		up.T[0] = float64(i)*6 - 1500
		uses = append(uses, fastenertest.Placed{Part: 1, At: up, Name: "chip"})
	}
	x := Touch(context.Background(), fastenertest.Assemble(parts, uses...), nil, nil, nil)
	if loose := len(x.Loose); loose != n+1 || x.Untried < 20 || x.Untried > 21 { // the plate is one of those tried
		t.Errorf("%d loose, %d not tried, want %d and 21", loose, x.Untried, n+1)
	}
	sum := 0
	for k := range n {
		sum += share(k, n)
	}
	if sum > maxTrials {
		t.Errorf("all trials cost %d, at most %d is said", sum, maxTrials)
	}
}

// The first pair that is firmly one is found without comparing all with all.
func TestPinchedMatchesComparingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n = 12
		solids := rapid.SliceOfN(rapid.Int32Range(0, n-1), 0, 8)
		l := &looseness{}
		for range n {
			l.firm = append(l.firm, product.SolidIndex(rapid.Int32Range(0, 4).Draw(t, "firm")))
		}
		index := func(in []int32) (out []product.SolidIndex) {
			for _, s := range in {
				out = append(out, product.SolidIndex(s))
			}
			return out
		}
		before, behind := index(solids.Draw(t, "before")), index(solids.Draw(t, "behind"))
		var want []product.SolidIndex
		for _, a := range before {
			for _, b := range behind {
				if want == nil && a != b && l.firm[a] == l.firm[b] {
					want = []product.SolidIndex{min(a, b), max(a, b)}
				}
			}
		}
		if got, ok := l.pinched(before, behind); !slices.Equal(got, want) || ok != (want != nil) {
			t.Fatalf("%v and %v: %v, want %v", before, behind, got, want)
		}
	})
}
