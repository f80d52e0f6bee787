package joint_test

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener"
	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
)

// No mesh and no placement, however broken, may end in a panic, and the answer
// is the same on one core and on two, and a second time.
func TestBrokenProducts(t *testing.T) {
	if testing.Short() {
		t.Skip("every stage, three times each draw")
	}
	rapid.Check(t, brokenProduct)
}

func FuzzFind(f *testing.F) { f.Fuzz(rapid.MakeFuzz(brokenProduct)) }

func brokenProduct(t *rapid.T) {
	p := drawBroken(t)
	one := answers(p, 1)
	for range 2 {
		if again := answers(p, 2); again != one {
			t.Fatalf("on one core and on two:\n%s\n%s", one, again)
		}
	}
}

// answers is all that the stages find, in words.
func answers(p *product.Product, cores int) string {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
	ctx := context.Background()
	fs, doubts := fastener.FindAll(ctx, p)
	holds, joints := joint.Find(ctx, p, fs)
	return fmt.Sprintf("%+v %+v %+v %+v %+v", fs, doubts, holds, joints, *joint.Touch(ctx, p, fs, holds, joints))
}

// sound are the parts that are broken: what recognition knows, so that it looks
// at them closely.
func sound(t *rapid.T) product.Part {
	const n = 24 // corners a ring: coarse, for speed
	c := ft.Circle
	switch rapid.IntRange(0, 8).Draw(t, "shape") {
	case 0:
		return ft.Facetted("M4", n, c(-12, 0), c(-12, 1.6), c(-11.6, 2), c(0, 2), c(0, 3.5), c(4, 3.5), ft.Polygon(4, 3, 6), ft.Polygon(2, 3, 6), c(1.8, 0))
	case 1:
		return ft.Facetted("", n, c(0, 1.65), ft.Polygon(0, 7, 6), ft.Polygon(3.2, 7, 6), c(3.2, 1.65), c(0, 1.65))
	case 2:
		return ft.Facetted("washer", n, c(0, 2.15), c(0, 4.5), c(0.8, 4.5), c(0.8, 2.15), c(0, 2.15))
	case 3:
		return ft.Facetted("", n, append([]ft.Ring{c(0, 0)}, append(ft.Turns(6, 4.77, 1, 0, 20, 0), c(20, 0))...)...)
	case 4:
		return ft.Facetted("pin", n, c(0, 0), c(0, 1.9), c(0.2, 2), c(12, 2), c(12, 0))
	case 5:
		return ft.Open(1, 0.4, 2*math.Pi-0.4, ft.Same(4.5), ft.Same(6))
	case 6:
		return ft.Facetted("M3", n, c(0, 1.25), ft.Notched(0, 2.3, 12, 0.25, 0.6), ft.Notched(2, 2.3, 12, 0.25, 0.6), c(2, 1.9), c(3, 1.9), ft.Notched(3, 2.3, 12, 0.25, 0.6), ft.Notched(5.7, 2.3, 12, 0.25, 0.6), c(5.7, 1.25), c(0, 1.25))
	case 7:
		return ft.Facetted("", n, c(-9, 1.65), c(-9, 15), c(0, 15), c(0, 2.2), c(-4, 2.2), c(-4, 1.65), c(-9, 1.65))
	}
	return product.Part{Name: "nothing"}
}

// damage spoils a part's mesh in place.
func damage(t *rapid.T, p *product.Part) {
	m := p.Mesh
	if m == nil {
		return
	}
	pick := func(n int) int { return rapid.IntRange(0, max(0, n-1)).Draw(t, "at") }
	odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 1e-300, 0, 1e9})
	switch rapid.IntRange(0, 10).Draw(t, "damage") {
	case 0:
		m.Vertices[pick(len(m.Vertices))][pick(3)] = odd.Draw(t, "value")
	case 1:
		v := mgl64.Vec3{odd.Draw(t, "x"), odd.Draw(t, "y"), odd.Draw(t, "z")}
		for i := range m.Vertices {
			m.Vertices[i] = v
		}
	case 2:
		k := rapid.SampledFrom([]float64{0, 1e-9, 1e-3, 10, 1e6, 1e150, -1}).Draw(t, "scale")
		for i := range m.Vertices {
			m.Vertices[i] = m.Vertices[i].Mul(k)
		}
	case 3:
		axis := pick(3)
		for i := range m.Vertices {
			m.Vertices[i][axis] = 0
		}
	case 4:
		n := pick(len(m.Triangles))
		m.Triangles, m.FaceOf = m.Triangles[:n], m.FaceOf[:min(n, len(m.FaceOf))]
	case 5:
		for i := range m.Triangles {
			m.Triangles[i][0], m.Triangles[i][1] = m.Triangles[i][1], m.Triangles[i][0]
		}
	case 6:
		m.Triangles, m.FaceOf = append(m.Triangles, m.Triangles...), append(m.FaceOf, m.FaceOf...)
	case 7:
		if m.FaceOf == nil {
			return
		}
		m.FaceOf[pick(len(m.FaceOf))] = rapid.SampledFrom([]int32{-1, math.MinInt32, math.MaxInt32, 7}).Draw(t, "face")
	case 8:
		m.FaceOf = nil
	case 9:
		for range 20 {
			m.Triangles[pick(len(m.Triangles))][pick(3)] = int32(pick(len(m.Vertices)))
		}
	default:
		m.Chord = odd.Draw(t, "chord")
	}
}

// drawBroken is a product of some broken parts in some broken places.
func drawBroken(t *rapid.T) *product.Product {
	var parts []product.Part
	for range rapid.IntRange(1, 4).Draw(t, "parts") {
		p := sound(t)
		if p.Mesh != nil {
			m := *p.Mesh
			p.Mesh = &m
			for range rapid.IntRange(0, 2).Draw(t, "damages") {
				if len(m.Triangles) > 0 {
					damage(t, &p)
				}
			}
			p = finished(p.Name, p.Mesh, rapid.Bool().Draw(t, "closed"))
		}
		parts = append(parts, p)
	}
	var uses []ft.Placed
	for range rapid.IntRange(0, 6).Draw(t, "uses") {
		uses = append(uses, ft.Placed{Part: rapid.IntRange(0, len(parts)-1).Draw(t, "part"), At: drawAnyPlace(t)})
	}
	return ft.Assemble(parts, uses...)
}

func finished(name string, m *mesh.Mesh, closed bool) product.Part {
	return product.Part{ID: "p", Name: name, Mesh: m, Tree: bvh.Build(m), Closed: closed, Box: m.Box(), Volume: m.Volume(), Centroid: m.Centroid()}
}

// drawAnyPlace is mostly near the origin, so that parts meet, and sometimes a
// mirror, a scale, flat, or no placement at all.
func drawAnyPlace(t *rapid.T) geom.Transform {
	at := geom.Identity()
	num := rapid.SampledFrom([]float64{0, 0, 0, 0.8, -3, 4, -12, 1e-7})
	at.T = mgl64.Vec3{num.Draw(t, "x"), num.Draw(t, "y"), num.Draw(t, "z")}
	switch rapid.IntRange(0, 9).Draw(t, "place") {
	case 0:
		at.M = mgl64.HomogRotate3DX(math.Pi).Mat3()
	case 1:
		at.M = mgl64.Diag3(mgl64.Vec3{1, 1, -1})
	case 2:
		at.M = mgl64.Diag3(mgl64.Vec3{1, 2, 1e3})
	case 3:
		at.M = mgl64.Mat3{}
	case 4:
		at.M[rapid.IntRange(0, 8).Draw(t, "cell")] = math.NaN()
	case 5:
		at.T[0] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 1e300, 1e9}).Draw(t, "far")
	}
	return at
}
