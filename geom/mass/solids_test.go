package mass_test

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
	"stepscan/geom/tess"
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func meshed(t testing.TB, b *brep.Body, tol geom.Tolerance) *mesh.Mesh {
	t.Helper()
	m, faults := tess.Bodies(context.Background(), []*brep.Body{b}, tol, 1)
	for _, f := range faults[0] {
		t.Fatalf("face %d: %s", f.Face, f.Why)
	}
	if !m[0].IsClosed() {
		t.Fatal("the mesh is open")
	}
	return m[0]
}

// frustum has its lower circle of radius r0 at the frame's origin and the upper
// one, or the tip where r1 is 0, at height h. Equal radii make it a cylinder.
func frustum(f geom.Frame, r0, r1, h float64) *brep.Body {
	b := &brep.Body{Solid: true}
	lift := func(z float64) geom.Frame {
		g := f
		g.O = f.Point(mgl64.Vec3{0, 0, z})
		return g
	}
	ring := func(z, r float64) brep.Coedge {
		g := lift(z)
		v := brep.VertexIndex(len(b.Vertices))
		b.Vertices = append(b.Vertices, brep.Vertex{P: g.Point(mgl64.Vec3{r, 0, 0})})
		b.Edges = append(b.Edges, brep.Edge{Curve: must(curve.NewCircle(g, r)), Start: v, End: v, SameSense: true})
		return brep.Coedge{Edge: brep.EdgeIndex(len(b.Edges) - 1)}
	}
	back := func(c brep.Coedge) brep.Coedge {
		c.Reversed = true
		return c
	}
	face := func(s surface.Surface, rings ...brep.Coedge) {
		out := brep.Face{Surface: s, SameSense: true}
		for _, c := range rings {
			out.Loops = append(out.Loops, brep.Loop{Vertex: brep.NoVertex, Coedges: []brep.Coedge{c}})
		}
		b.Faces = append(b.Faces, out)
	}
	low := ring(0, r0)
	down := f
	down.Y, down.Z = f.Y.Mul(-1), f.Z.Mul(-1)
	face(must(surface.NewPlane(down)), back(low))
	rings := []brep.Coedge{low}
	if r1 > 0 {
		high := ring(h, r1)
		face(must(surface.NewPlane(lift(h))), high)
		rings = append(rings, back(high))
	}
	if r0 == r1 {
		face(must(surface.NewCylinder(f, r0)), rings...)
	} else {
		face(must(surface.NewCone(f, r0, math.Atan2(r1-r0, h))), rings...)
	}
	if r1 == 0 {
		b.Vertices = append(b.Vertices, brep.Vertex{P: f.Point(mgl64.Vec3{0, 0, h})})
		side := &b.Faces[len(b.Faces)-1]
		side.Loops = append(side.Loops, brep.Loop{Vertex: brep.VertexIndex(len(b.Vertices) - 1)})
	}
	return b
}

// ofFrustum are the closed forms: by slices, with the radius linear over the
// height, so that ∫ r², ∫ z r², ∫ z² r² and ∫ r⁴ are those of polynomials.
func ofFrustum(f geom.Frame, r0, r1, h float64) mass.Properties {
	// ∫ over 0..1 of t^i (1-t)^j is i! j!/(i+j+1)!.
	sq := math.Pi * h * (r0*r0 + r0*r1 + r1*r1) / 3
	z := math.Pi * h * h * (r0*r0 + 2*r0*r1 + 3*r1*r1) / 12
	zz := math.Pi * h * h * h * (2*r0*r0 + 6*r0*r1 + 12*r1*r1) / 60
	four := math.Pi * h * (math.Pow(r0, 4) + math.Pow(r0, 3)*r1 + r0*r0*r1*r1 + r0*math.Pow(r1, 3) + math.Pow(r1, 4)) / 5
	about := four / 2              // ∫ r² dV: a disc has π r⁴/2
	across := four/4 + zz - z*z/sq // through the centroid
	axes := mgl64.Mat3FromCols(f.X, f.Y, f.Z)
	return mass.Properties{
		Volume:  sq,
		Moment:  f.Point(mgl64.Vec3{0, 0, z / sq}).Mul(sq),
		Area:    math.Pi * (r0*r0 + r1*r1 + (r0+r1)*math.Hypot(r0-r1, h)),
		Inertia: axes.Mul3(mgl64.Diag3(mgl64.Vec3{across, across, about})).Mul3(axes.Transpose()),
	}
}

// share is by how much the figures differ, as a share of the second ones.
func share(got, want mass.Properties) float64 {
	entries := func(m mgl64.Mat3) float64 {
		s := 0.0
		for _, x := range m {
			s += x * x
		}
		return math.Sqrt(s)
	}
	size := math.Sqrt(want.Area)
	gc, _ := got.Centroid()
	wc, _ := want.Centroid()
	return max(
		math.Abs(got.Volume-want.Volume)/want.Volume,
		math.Abs(got.Area-want.Area)/want.Area,
		gc.Sub(wc).Len()/size,
		entries(got.Inertia.Sub(want.Inertia))/entries(want.Inertia),
	)
}

// Cones are as good as cylinders, whatever their opening and taper: the facets
// reach from end to end and taper with them. What a rod of the same circles loses
// is the measure; that of a cone is at most a sixth more, as its volume lies
// nearer to the axis.
func TestConesAsGoodAsCylinders(t *testing.T) {
	askew := must(geom.NewFrame(mgl64.Vec3{400, -90, 30}, mgl64.Vec3{1, 2, 3}, mgl64.Vec3{0, 1, 0.3}))
	off := func(r0, r1, h float64) float64 {
		b := frustum(askew, r0, r1, h)
		return share(mass.Of(b, meshed(t, b, tess.Default)), ofFrustum(askew, r0, r1, h))
	}
	for _, half := range []float64{0.5, 5, 15, 30, 45, 59, 75, 88} { // degrees
		for _, top := range []float64{0, 0.01, 0.3, 0.5, 0.9} { // of the lower radius
			const r = 6.0
			h := r * (1 - top) / math.Tan(half*math.Pi/180)
			cone, rod := off(r, top*r, h), off(r, r, h)
			if !(rod <= 2e-5 && cone <= 1.2*rod) {
				t.Errorf("half angle %g°, top %g: off by %.2g of it, a rod by %.2g", half, top, cone, rod)
			}
		}
	}
}

// TestConeCutAslant: a plane z = m x cuts a cone of tip height h in an ellipse,
// whose projection along the axis has the half axes below. The volume up to the
// tip is the projection's area times h/3, and as the cone has one slope its area
// is that of its projection divided by the sine of its half angle.
func TestConeCutAslant(t *testing.T) {
	const h, r1 = 20.0, 1.5
	f := must(geom.NewFrame(mgl64.Vec3{40, -9, 3}, mgl64.Vec3{1, -2, 3}, mgl64.Vec3{0, 1, 0.3}))
	for _, k := range []float64{0.1, 0.3, 0.6} { // tangent of the half angle
		for _, m := range []float64{0.1, 0.5, 1} {
			bend := 1 - k*k*m*m
			xc := -k * k * h * m / bend
			ax := math.Sqrt(k*k*h*h/bend + xc*xc)
			ay := ax * math.Sqrt(bend)
			top := h - r1/k
			b := frustum(f, k*h, r1, top)
			aslant := geom.Frame{O: f.Point(mgl64.Vec3{xc, 0, m * xc}), X: f.Dir(mgl64.Vec3{1, 0, m}.Normalize()), Y: f.Y}
			aslant.Z = aslant.X.Cross(aslant.Y)
			ellipse := must(curve.NewEllipse(aslant, ax*math.Hypot(1, m), ay))
			b.Edges[0].Curve = ellipse
			b.Vertices[0].P = ellipse.Point(0)
			down := aslant
			down.Y, down.Z = aslant.Y.Mul(-1), aslant.Z.Mul(-1)
			b.Faces[0].Surface = must(surface.NewPlane(down))

			got := mass.Of(b, meshed(t, b, tess.Default))
			volume := math.Pi * (ax*ay*h - r1*r1*(h-top)) / 3
			area := math.Pi * (ax*ay*math.Hypot(1, m) + r1*r1 + (ax*ay-r1*r1)*math.Hypot(1, k)/k)
			if !(math.Abs(got.Volume/volume-1) <= 5e-5 && math.Abs(got.Area/area-1) <= 5e-5) {
				t.Errorf("tan %g cut at %g: volume off by %.2g of it, area by %.2g", k, m, got.Volume/volume-1, got.Area/area-1)
			}
		}
	}
}
