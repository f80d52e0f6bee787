package extent_test

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/extent"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/geom/surface"
	"stepscan/geom/tess"
)

// closeMM is what a box may be off by, mm.
const closeMM = 1e-9

// coarse is so rough that every mesh here falls short by much more than closeMM.
var coarse = geom.Tolerance{Chord: 0.1, Angle: 0.5}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// body is an exact body by hand.
type body struct{ brep.Body }

func (b *body) vertex(p mgl64.Vec3) brep.VertexIndex {
	b.Vertices = append(b.Vertices, brep.Vertex{P: p})
	return brep.VertexIndex(len(b.Vertices) - 1)
}

// circle is a whole circle about the frame's z.
func (b *body) circle(f geom.Frame, r float64) brep.EdgeIndex {
	v := b.vertex(f.Point(mgl64.Vec3{r, 0, 0}))
	b.Edges = append(b.Edges, brep.Edge{Curve: must(curve.NewCircle(f, r)), Start: v, End: v, SameSense: true})
	return brep.EdgeIndex(len(b.Edges) - 1)
}

// face has one loop of one edge for each number: edge + 1, negative in reverse.
func (b *body) face(s surface.Surface, edges ...int) {
	f := brep.Face{Surface: s, SameSense: true}
	for _, e := range edges {
		c := brep.Coedge{Edge: brep.EdgeIndex(max(e, -e) - 1), Reversed: e < 0}
		f.Loops = append(f.Loops, brep.Loop{Vertex: brep.NoVertex, Coedges: []brep.Coedge{c}})
	}
	b.Faces = append(b.Faces, f)
}

// lid is a disc at height z whose normal is the frame's z, turned over for down.
func (b *body) lid(f geom.Frame, z float64, edge int) {
	if f.O = f.Point(mgl64.Vec3{0, 0, z}); edge < 0 {
		f.Z, f.Y = f.Z.Mul(-1), f.Y.Mul(-1)
	}
	b.face(must(surface.NewPlane(f)), edge)
}

func at(f geom.Frame, z float64) geom.Frame {
	f.O = f.Point(mgl64.Vec3{0, 0, z})
	return f
}

// cone is a frustum; equal radii make it a cylinder.
func cone(f geom.Frame, r0, r1, h float64) *brep.Body {
	b := new(body)
	lo, hi := int(b.circle(f, r0))+1, int(b.circle(at(f, h), r1))+1
	b.lid(f, 0, -lo)
	b.lid(f, h, hi)
	if r0 == r1 {
		b.face(must(surface.NewCylinder(f, r0)), lo, -hi)
	} else {
		b.face(must(surface.NewCone(f, r0, math.Atan2(r1-r0, h))), lo, -hi)
	}
	return &b.Body
}

// capBody is what a plane leaves of a ball above the height r cos(half).
func capBody(f geom.Frame, r, half float64) *brep.Body {
	b := new(body)
	e := int(b.circle(at(f, r*math.Cos(half)), r*math.Sin(half))) + 1
	b.lid(f, r*math.Cos(half), -e)
	b.face(must(surface.NewSphere(f, r)), e)
	return &b.Body
}

func whole(s surface.Surface) *brep.Body {
	b := new(body)
	b.face(s)
	return &b.Body
}

func meshed(t tester, b *brep.Body, tol geom.Tolerance) *mesh.Mesh {
	t.Helper()
	m, faults := tess.Bodies(context.Background(), []*brep.Body{b}, tol, 1)
	for _, f := range faults[0] {
		t.Fatalf("face %d: %s", f.Face, f.Why)
	}
	if len(m[0].Triangles) == 0 {
		t.Fatalf("no mesh")
	}
	return m[0]
}

type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// frames are where the bodies stand: straight, and at odd angles.
var frames = []geom.Frame{
	geom.World(),
	must(geom.NewFrame(mgl64.Vec3{100, -70, 30}, mgl64.Vec3{1, 2, 3}, mgl64.Vec3{0, 1, 0.3})),
	must(geom.NewFrame(mgl64.Vec3{-3, 500, 90}, mgl64.Vec3{-0.2, 1e-3, -1}, mgl64.Vec3{1, 0.7, 0})),
}

// placed is a body with its mesh.
type placed struct {
	body *brep.Body
	mesh *mesh.Mesh
	at   geom.Frame
}

// everywhere is the body made by f in all frames.
func everywhere(t tester, make func(f geom.Frame) *brep.Body) []placed {
	t.Helper()
	var out []placed
	for _, f := range frames {
		b := make(f)
		out = append(out, placed{b, meshed(t, b, coarse), f})
	}
	return out
}

// direction is any, or one of the axes: extremes are then circles and lines, not
// points.
func direction(t *rapid.T) mgl64.Vec3 {
	axes := []mgl64.Vec3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, -1}, {1, 1, 0}}
	if k := rapid.IntRange(0, 2*len(axes)).Draw(t, "axis"); k < len(axes) {
		return axes[k].Normalize()
	}
	c := func(s string) float64 { return rapid.Float64Range(-1, 1).Draw(t, s) }
	d, ok := geom.Unit(mgl64.Vec3{c("dx"), c("dy"), c("dz")})
	if !ok {
		return axes[0]
	}
	return d
}

// reaches demands the greatest height along a direction over the frame's origin.
func (p *placed) reaches(t tester, what string, local mgl64.Vec3, want float64) {
	t.Helper()
	d := p.at.Dir(local)
	_, hi := extent.Of(p.body, p.mesh).Along(d)
	if got := hi - p.at.O.Dot(d); !(math.Abs(got-want) <= closeMM*(1+want)) {
		t.Errorf("%s along %v: %.12g mm, want %.12g (off by %.3g)", what, d, got, want, got-want)
	}
}

// Closed forms along any direction: with s the share of the direction across the
// axis and c the one along it,
//
//	sphere r, torus R s + r, frustum max(r₀ s, r₁ s + h c).
func TestKnownSolids(t *testing.T) {
	spheres := everywhere(t, func(f geom.Frame) *brep.Body { return whole(must(surface.NewSphere(f, 10))) })
	tori := everywhere(t, func(f geom.Frame) *brep.Body { return whole(must(surface.NewTorus(f, 20, 5))) })
	cylinders := everywhere(t, func(f geom.Frame) *brep.Body { return cone(f, 6, 6, 8) })
	frusta := everywhere(t, func(f geom.Frame) *brep.Body { return cone(f, 6, 3, 8) })
	rapid.Check(t, func(t *rapid.T) {
		d := direction(t)
		s, c := math.Hypot(d[0], d[1]), d[2]
		for i := range frames {
			spheres[i].reaches(t, "sphere", d, 10)
			tori[i].reaches(t, "torus", d, 20*s+5)
			cylinders[i].reaches(t, "cylinder", d, 6*s+max(0, 8*c))
			frusta[i].reaches(t, "frustum", d, max(6*s, 3*s+8*c))
		}
	})
}

// A cap of a ball ends on a circle: within half its opening the ball's own top
// counts, beyond it the circle's. Directions a hair's breadth beside that limit
// are where a chord of the circle would decide wrongly.
func TestCapEndsOnItsCircle(t *testing.T) {
	halves := []float64{0.2, 0.7, math.Pi / 2, 2.5}
	caps := make([][]placed, len(halves))
	for i, half := range halves {
		caps[i] = everywhere(t, func(f geom.Frame) *brep.Body { return capBody(f, 10, half) })
	}
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(halves)-1).Draw(t, "cap")
		half := halves[i]
		off := rapid.SampledFrom([]float64{0, 1e-6, -1e-6, 1e-4, -1e-4, 3e-3, -3e-3, 0.02, -0.02, 0.3, -0.2}).Draw(t, "beside")
		theta := min(max(half+off, 0), math.Pi)
		turn := rapid.Float64Range(0, 7).Draw(t, "round")
		d := mgl64.Vec3{math.Sin(theta) * math.Cos(turn), math.Sin(theta) * math.Sin(turn), math.Cos(theta)}
		want := 10.0
		if theta > half {
			want *= math.Cos(theta - half)
		}
		for k := range frames {
			caps[i][k].reaches(t, "cap", d, want)
		}
	})
}

// vault is the Bézier patch z = k (2 - x² - y²) over -1..1 squared, times 10 mm,
// with its four edges: an open body of one B-spline face.
func vault(f geom.Frame) *brep.Body {
	// x² over -1..1 has the Bézier values 1, -1, 1.
	x, q, flat := [3]float64{-1, 0, 1}, [3]float64{1, -1, 1}, []float64{0, 0, 0, 1, 1, 1}
	poles := make([][]mgl64.Vec3, 3)
	for i := range 3 {
		for j := range 3 {
			poles[i] = append(poles[i], f.Point(mgl64.Vec3{10 * x[i], 10 * x[j], 3 * (2 - q[i] - q[j])}))
		}
	}
	b := new(body)
	b.Faces = []brep.Face{{Surface: must(surface.NewBSpline(2, 2, poles, nil, flat, flat)), SameSense: true}}
	corner := [4]brep.VertexIndex{b.vertex(poles[0][0]), b.vertex(poles[2][0]), b.vertex(poles[2][2]), b.vertex(poles[0][2])}
	sides := [4][3]mgl64.Vec3{
		{poles[0][0], poles[1][0], poles[2][0]}, {poles[2][0], poles[2][1], poles[2][2]},
		{poles[2][2], poles[1][2], poles[0][2]}, {poles[0][2], poles[0][1], poles[0][0]},
	}
	loop := brep.Loop{Vertex: brep.NoVertex}
	for i, p := range sides {
		c := must(curve.NewBSpline(2, p[:], nil, flat, false))
		b.Edges = append(b.Edges, brep.Edge{Curve: c, Start: corner[i], End: corner[(i+1)%4], SameSense: true})
		loop.Coedges = append(loop.Coedges, brep.Coedge{Edge: brep.EdgeIndex(i)})
	}
	b.Faces[0].Loops = []brep.Loop{loop}
	return &b.Body
}

// The height a x + b y + c z is separate in x and y: each part is a parabola
// over -1..1, whose greatest value is at its vertex or at an end.
func TestSplineVault(t *testing.T) {
	vaults := everywhere(t, vault)
	rapid.Check(t, func(t *rapid.T) {
		local := direction(t)
		part := func(a float64) float64 { // of 10 a s + 3 c (1 - s²)
			c := local[2]
			best := math.Abs(10 * a)
			if s := 10 * a / (6 * c); c > 0 && math.Abs(s) <= 1 {
				best = 10*a*s + 3*c*(1-s*s)
			}
			return best
		}
		for i := range frames {
			vaults[i].reaches(t, "vault", local, part(local[0])+part(local[1]))
		}
	})
}

// A surface goes on beyond the edges of its face, and rises there: a disc cut out
// of a larger flat patch reaches as far as its circle.
func TestSurfaceBeyondItsEdges(t *testing.T) {
	discs := everywhere(t, func(f geom.Frame) *brep.Body {
		flat := []float64{0, 0, 1, 1}
		corner := func(x, y float64) mgl64.Vec3 { return f.Point(mgl64.Vec3{x, y, 0}) }
		poles := [][]mgl64.Vec3{{corner(-3.1, -3.1), corner(-3.1, 3.1)}, {corner(3.1, -3.1), corner(3.1, 3.1)}}
		b := new(body)
		b.face(must(surface.NewBSpline(1, 1, poles, nil, flat, flat)), int(b.circle(f, 3))+1)
		return &b.Body
	})
	rapid.Check(t, func(t *rapid.T) {
		d := direction(t)
		for i := range frames {
			discs[i].reaches(t, "disc", d, 3*math.Hypot(d[0], d[1]))
		}
	})
}

// ripples is a plane face under a spline that rises and falls by less than any
// chord, all along.
func ripples(f geom.Frame) (*brep.Body, curve.Curve) {
	const n = 40
	var poles []mgl64.Vec3
	knots := []float64{0, 0, 0}
	for i := range n {
		poles = append(poles, f.Point(mgl64.Vec3{float64(i), 0, 10 + 1e-3*math.Sin(2.3*float64(i)) - 4e-6*float64((i-7)*(i-7))}))
		knots = append(knots, float64(min(i, n-3)))
	}
	knots = append(knots, n-3)
	b := new(body)
	top := must(curve.NewBSpline(3, poles, nil, knots, false))
	corner := [4]brep.VertexIndex{b.vertex(poles[0]), b.vertex(poles[n-1]),
		b.vertex(f.Point(mgl64.Vec3{n - 1, 0, 0})), b.vertex(f.Point(mgl64.Vec3{0, 0, 0}))}
	loop := brep.Loop{Vertex: brep.NoVertex}
	for i, v := range corner {
		to := corner[(i+1)%4]
		p, q := b.Vertices[v].P, b.Vertices[to].P
		var c curve.Curve = must(curve.NewLine(p, q.Sub(p)))
		if i == 0 {
			c = top
		}
		b.Edges = append(b.Edges, brep.Edge{Curve: c, Start: v, End: to, SameSense: true})
		loop.Coedges = append(loop.Coedges, brep.Coedge{Edge: brep.EdgeIndex(i)})
	}
	plane := geom.Frame{O: f.O, X: f.X, Y: f.Z, Z: f.Y.Mul(-1)}
	b.Faces = []brep.Face{{Surface: must(surface.NewPlane(plane)), SameSense: false, Loops: []brep.Loop{loop}}}
	return &b.Body, top
}

// A spline may have several summits along one chord: the highest counts. Half a
// million places along the curve miss it by next to nothing.
func TestSplineWithRipples(t *testing.T) {
	for _, f := range frames {
		b, top := ripples(f)
		want := math.Inf(-1)
		t0, t1 := top.Domain()
		for i := range 500001 {
			p := top.Point(t0 + (t1-t0)*float64(i)/500000)
			want = max(want, p.Sub(f.O).Dot(f.Z))
		}
		p := placed{b, meshed(t, b, coarse), f}
		if n := len(p.mesh.Edges[0].Verts); n > 20 {
			t.Errorf("%d chords: too many for this test to prove anything", n-1)
		}
		p.reaches(t, "ripples", mgl64.Vec3{0, 0, 1}, want)
	}
}

// The box of a turned body is looked for in its new place: the placed box of the
// body would be wider. Mirrors and scales are no exception.
func TestPlacedBox(t *testing.T) {
	b := whole(must(surface.NewTorus(geom.World(), 20, 5)))
	x := extent.Of(b, meshed(t, b, coarse))
	for name, c := range map[string]struct {
		m    mgl64.Mat3
		half mgl64.Vec3
	}{
		"as it is":            {mgl64.Ident3(), mgl64.Vec3{25, 25, 5}},
		"tilted 45 degrees":   {mgl64.Rotate3DX(math.Pi / 4), mgl64.Vec3{25, 20*math.Sqrt2/2 + 5, 20*math.Sqrt2/2 + 5}},
		"tilted and mirrored": {mgl64.Diag3(mgl64.Vec3{-1, 1, 1}).Mul3(mgl64.Rotate3DX(math.Pi / 6)), mgl64.Vec3{25, 20*math.Cos(math.Pi/6) + 5, 15}},
		"twice as large":      {mgl64.Ident3().Mul(2), mgl64.Vec3{50, 50, 10}},
	} {
		o := mgl64.Vec3{1, -2, 3}
		got := x.Box(geom.Transform{M: c.m, T: o})
		want := geom.Box{Min: o.Sub(c.half), Max: o.Add(c.half)}
		if d := max(got.Min.Sub(want.Min).Len(), got.Max.Sub(want.Max).Len()); !(d <= 1e-8) {
			t.Errorf("%s: box %v, want %v", name, got, want)
		}
	}
}

// Where curves and surfaces do not stand for the mesh the box is the mesh's.
func TestMakeshift(t *testing.T) {
	m := shape.Box(mgl64.Vec3{}, mgl64.Vec3{10, 10, 10})
	m.Chord = 0.05
	b := new(body)
	for range 6 {
		b.face(must(surface.NewSphere(geom.World(), 100)))
	}
	for range m.Edges {
		b.circle(geom.World(), 100)
	}
	if got := extent.Of(&b.Body, m).Box(geom.Identity()); got != m.Box() {
		t.Errorf("a cube's box is %v", got)
	}
	if got := extent.Of(&brep.Body{}, &mesh.Mesh{}).Box(geom.Identity()); !got.IsEmpty() {
		t.Errorf("nothing has the box %v", got)
	}
	if got := extent.Of(&brep.Body{}, m).Box(geom.Identity()); got != m.Box() {
		t.Errorf("facets have the box %v", got)
	}
}

// Whatever the body, its box holds the mesh and goes beyond it by a chord at
// most, along any direction.
func TestHoldsTheMesh(t *testing.T) {
	bodies := []*brep.Body{whole(must(surface.NewTorus(geom.World(), 20, 5))), vault(geom.World()), cone(geom.World(), 6, 3, 8), capBody(geom.World(), 10, 1)}
	chords := []float64{0.5, 0.1}
	var meshes [2][]*mesh.Mesh
	for i, chord := range chords {
		for _, b := range bodies {
			meshes[i] = append(meshes[i], meshed(t, b, geom.Tolerance{Chord: chord, Angle: 1}))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		k, i := rapid.IntRange(0, len(bodies)-1).Draw(t, "body"), rapid.IntRange(0, 1).Draw(t, "chord")
		b, m, chord := bodies[k], meshes[i][k], chords[i]
		d := direction(t)
		lo, hi := extent.Of(b, m).Along(d)
		top, bottom := math.Inf(-1), math.Inf(1)
		for _, v := range m.Vertices {
			top, bottom = max(top, v.Dot(d)), min(bottom, v.Dot(d))
		}
		if lo > bottom+1e-12 || hi < top-1e-12 || hi-top > 1.2*chord || bottom-lo > 1.2*chord {
			t.Errorf("%g to %g mm, vertices %g to %g, chord %g", lo, hi, bottom, top, chord)
		}
	})
}

func BenchmarkBox(b *testing.B) {
	for name, x := range map[string]*brep.Body{
		"torus": whole(must(surface.NewTorus(geom.World(), 20, 5))), "vault": vault(geom.World()),
	} {
		b.Run(name, func(b *testing.B) {
			m := meshed(b, x, geom.Tolerance{Chord: 0.002, Angle: 0.1})
			for b.Loop() {
				extent.Of(x, m).Box(geom.Identity())
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(m.Triangles)), "ns/triangle")
		})
	}
}
