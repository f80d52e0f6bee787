package shape

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// Cylinder stands on axis.O and reaches h mm along the axis. Faces: bottom,
// side, top.
func Cylinder(axis geom.Axis, r, h float64, n int) *mesh.Mesh {
	return Revolve(axis, []mgl64.Vec2{{0, 0}, {r, 0}, {r, h}, {0, h}}, n)
}

// Tube is a cylinder of radius ro with a through bore of radius ri. Faces:
// bottom, outside, top, bore.
func Tube(axis geom.Axis, ri, ro, h float64, n int) *mesh.Mesh {
	return Revolve(axis, []mgl64.Vec2{{ri, 0}, {ro, 0}, {ro, h}, {ri, h}}, n)
}

// Cone is a frustum with radius r0 at axis.O and r1 at height h; either may be
// 0.
func Cone(axis geom.Axis, r0, r1, h float64, n int) *mesh.Mesh {
	return Revolve(axis, []mgl64.Vec2{{0, 0}, {r0, 0}, {r1, h}, {0, h}}, n)
}

// Sphere has its centre at c, n corners round the equator and n/2 bands.
func Sphere(c mgl64.Vec3, r float64, n int) *mesh.Mesh {
	bands := max(2, n/2)
	p := make([]mgl64.Vec2, bands+1)
	for i := range p {
		s, co := math.Sincos(math.Pi * float64(i) / float64(bands))
		p[i] = mgl64.Vec2{r * s, -r * co}
	}
	p[0][0], p[bands][0] = 0, 0
	m := Revolve(geom.Axis{O: c, D: mgl64.Vec3{0, 0, 1}}, p, n)
	return oneFace(m)
}

// Torus has its centre at axis.O, major radius R to the middle of the tube and
// tube radius r < R; n corners round the axis, k round the tube.
func Torus(axis geom.Axis, R, r float64, n, k int) *mesh.Mesh {
	p := make([]mgl64.Vec2, k)
	for i := range p {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(k))
		p[i] = mgl64.Vec2{R + r*c, r * s}
	}
	return oneFace(Revolve(axis, p, n))
}

func oneFace(m *mesh.Mesh) *mesh.Mesh {
	clear(m.FaceOf)
	m.Edges = nil
	return m
}

// Revolve turns a closed profile of (radius, height) points about the axis.
// Radii are 0 or positive; either sense will do. Face i is swept by the side
// from point i to point i+1; sides on the axis sweep nothing.
func Revolve(axis geom.Axis, profile []mgl64.Vec2, n int) *mesh.Mesh {
	f := frameOf(axis)
	p := anticlockwise(profile)
	m := &mesh.Mesh{Chord: maxRadius(p) * (1 - math.Cos(math.Pi/float64(n)))}
	rings := make([]ring, len(p))
	for i, q := range p {
		rings[i] = addRing(m, f, q, n)
	}
	for i := range p {
		sweepSide(m, rings[i], rings[(i+1)%len(p)], int32(i), n)
	}
	for i := range p {
		if p[i][0] > 0 {
			m.Edges = append(m.Edges, rimEdge(p, rings[i], i, n))
		}
	}
	return m
}

// ring is one profile point turned round: n vertices from first on, or a
// single one on the axis.
type ring struct {
	first int32
	apex  bool
}

func (r ring) at(i, n int) int32 {
	if r.apex {
		return r.first
	}
	return r.first + int32(i%n)
}

func addRing(m *mesh.Mesh, f geom.Frame, q mgl64.Vec2, n int) ring {
	r := ring{first: int32(len(m.Vertices)), apex: q[0] == 0}
	if r.apex {
		m.Vertices = append(m.Vertices, f.Point(mgl64.Vec3{0, 0, q[1]}))
		return r
	}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		m.Vertices = append(m.Vertices, f.Point(mgl64.Vec3{q[0] * c, q[0] * s, q[1]}))
	}
	return r
}

func sweepSide(m *mesh.Mesh, a, b ring, face int32, n int) {
	for i := range n {
		a0, a1, b0, b1 := a.at(i, n), a.at(i+1, n), b.at(i, n), b.at(i+1, n)
		for _, t := range [2][3]int32{{a0, a1, b1}, {a0, b1, b0}} {
			if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
				m.Triangles = append(m.Triangles, t)
				m.FaceOf = append(m.FaceOf, face)
			}
		}
	}
}

func rimEdge(p []mgl64.Vec2, r ring, i, n int) mesh.EdgeLine {
	k := len(p)
	before, after := p[i].Sub(p[(i+k-1)%k]), p[(i+1)%k].Sub(p[i])
	turn := turnOf(before, after)
	e := mesh.EdgeLine{Faces: [2]int32{int32((i + k - 1) % k), int32(i)}, Turn: math.Abs(turn), Convex: turn > 0}
	for j := range n + 1 {
		e.Verts = append(e.Verts, r.at(j, n))
	}
	return e
}

// turnOf is the angle from a to b, positive to the left.
func turnOf(a, b mgl64.Vec2) float64 {
	return math.Atan2(a[0]*b[1]-a[1]*b[0], a.Dot(b))
}

func maxRadius(p []mgl64.Vec2) float64 {
	r := 0.0
	for _, q := range p {
		r = max(r, q[0])
	}
	return r
}

// frameOf is a frame whose z is the axis; its x is always the same for the
// same axis.
func frameOf(a geom.Axis) geom.Frame {
	f, err := geom.NewFrame(a.O, a.D, mgl64.Vec3{})
	if err != nil { // an axis without direction: z stands in
		f = geom.World()
		f.O = a.O
	}
	return f
}
