package tess

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
)

// tester is what testing.TB and rapid.T have in common.
type tester interface {
	Helper()
	Fatal(args ...any)
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// maker builds exact bodies by hand, from coordinates in the frame at.
type maker struct {
	t  tester
	b  *brep.Body
	at geom.Frame
}

func newMaker(t tester) *maker { return &maker{t, &brep.Body{Solid: true}, geom.World()} }

func must[T any](m *maker, v T, err error) T {
	m.t.Helper()
	if err != nil {
		m.t.Fatal(err)
	}
	return v
}

func (m *maker) frame(o, z, x mgl64.Vec3) geom.Frame {
	f, err := geom.NewFrame(o, z, x)
	f = must(m, f, err)
	return geom.Frame{O: m.at.Point(f.O), X: m.at.Dir(f.X), Y: m.at.Dir(f.Y), Z: m.at.Dir(f.Z)}
}

func (m *maker) world() geom.Frame { return m.at }

func (m *maker) vertex(x, y, z float64) brep.VertexIndex {
	m.b.Vertices = append(m.b.Vertices, brep.Vertex{P: m.at.Point(mgl64.Vec3{x, y, z})})
	return brep.VertexIndex(len(m.b.Vertices) - 1)
}

func (m *maker) edge(c curve.Curve, a, b brep.VertexIndex, same bool) brep.EdgeIndex {
	m.b.Edges = append(m.b.Edges, brep.Edge{Curve: c, Start: a, End: b, SameSense: same})
	return brep.EdgeIndex(len(m.b.Edges) - 1)
}

func (m *maker) line(a, b brep.VertexIndex) brep.EdgeIndex {
	p, q := m.b.Vertices[a].P, m.b.Vertices[b].P
	c, err := curve.NewLine(p, q.Sub(p))
	return m.edge(must(m, c, err), a, b, true)
}

// circle is a full circle about z at height z through (r, 0, z), where its
// vertex is; its own zero may lie elsewhere.
func (m *maker) circle(r, z, zero float64) brep.EdgeIndex {
	v := m.vertex(r, 0, z)
	s, c := math.Sincos(zero)
	f := m.frame(mgl64.Vec3{0, 0, z}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{c, s, 0})
	k, err := curve.NewCircle(f, r)
	return m.edge(must(m, k, err), v, v, true)
}

// face adds a face; each loop lists edges as 1 + index, negative when used in
// reverse.
func (m *maker) face(s surface.Surface, same bool, loops ...[]int) {
	f := brep.Face{Surface: s, SameSense: same}
	for _, l := range loops {
		lp := brep.Loop{Vertex: brep.NoVertex}
		for _, e := range l {
			lp.Coedges = append(lp.Coedges, brep.Coedge{Edge: brep.EdgeIndex(max(e, -e) - 1), Reversed: e < 0})
		}
		f.Loops = append(f.Loops, lp)
	}
	m.b.Faces = append(m.b.Faces, f)
}

func (m *maker) plane(o, z mgl64.Vec3) surface.Surface {
	s, err := surface.NewPlane(m.frame(o, z, mgl64.Vec3{}))
	return must(m, s, err)
}

func (m *maker) cylinder(r float64) surface.Surface {
	s, err := surface.NewCylinder(m.frame(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0}), r)
	return must(m, s, err)
}

func (m *maker) sphere(r float64) surface.Surface {
	s, err := surface.NewSphere(m.world(), r)
	return must(m, s, err)
}

func (m *maker) torus(R, r float64) surface.Surface {
	s, err := surface.NewTorus(m.world(), R, r)
	return must(m, s, err)
}

// n is the 1-based number of an edge, as face wants it.
func n(e brep.EdgeIndex) int { return int(e) + 1 }

var up, down = mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 0, -1}

func cube(m *maker) { cubeOf(m, mgl64.Vec3{}, mgl64.Vec3{10, 20, 30}) }

// cubeOf has the faces -z, +z, -y, +y, -x, +x; every other one lies on a plane
// whose normal points inward.
func cubeOf(m *maker, lo, hi mgl64.Vec3) {
	var p [8]mgl64.Vec3
	var v [8]brep.VertexIndex
	for i := range v {
		p[i] = lo
		for k := range 3 {
			if i>>k&1 == 1 {
				p[i][k] = hi[k]
			}
		}
		v[i] = m.vertex(p[i][0], p[i][1], p[i][2])
	}
	edges := map[[2]int]int{}
	use := func(a, b int) int {
		if e, ok := edges[[2]int{b, a}]; ok {
			return -e
		}
		e, ok := edges[[2]int{a, b}]
		if !ok {
			e = n(m.line(v[a], v[b]))
			edges[[2]int{a, b}] = e
		}
		return e
	}
	for i, q := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		z := p[q[1]].Sub(p[q[0]]).Cross(p[q[2]].Sub(p[q[1]]))
		same := i%2 == 0
		if !same {
			z = z.Mul(-1)
		}
		m.face(m.plane(p[q[0]], z), same, []int{use(q[0], q[1]), use(q[1], q[2]), use(q[2], q[3]), use(q[3], q[0])})
	}
}

func cylinder(m *maker, seam bool, zero float64) {
	lo, hi := m.circle(5, 0, zero), m.circle(5, 20, -2*zero)
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{-n(lo)})
	m.face(m.plane(mgl64.Vec3{0, 0, 20}, down), false, []int{n(hi)})
	if seam {
		s := m.line(m.b.Edges[lo].Start, m.b.Edges[hi].Start)
		m.face(m.cylinder(5), true, []int{n(s), -n(hi), -n(s), n(lo)})
		return
	}
	m.face(m.cylinder(5), true, []int{-n(hi)}, []int{n(lo)})
}

func tube(m *maker) {
	lo, hi, li, hi2 := m.circle(10, 0, 1), m.circle(10, 50, 0), m.circle(8, 0, 0), m.circle(8, 50, 3)
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{n(li)}, []int{-n(lo)}) // hole first
	m.face(m.plane(mgl64.Vec3{0, 0, 50}, up), true, []int{n(hi)}, []int{-n(hi2)})
	m.face(m.cylinder(10), true, []int{n(lo)}, []int{-n(hi)})
	m.face(m.cylinder(8), false, []int{-n(li)}, []int{n(hi2)})
}

func (m *maker) cone(r, a float64) surface.Surface {
	s, err := surface.NewCone(m.world(), r, a)
	return must(m, s, err)
}

// cone has its tip at z = 12; way says how the file gives the tip.
func cone(m *maker, way string) {
	lo := m.circle(5, 0, 0)
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{-n(lo)})
	side := m.cone(5, -math.Atan2(5, 12))
	switch way {
	case "bare":
		m.face(side, true, []int{n(lo)})
	case "vertex loop":
		m.face(side, true, []int{n(lo)})
		tip := m.vertex(0, 0, 12)
		f := &m.b.Faces[len(m.b.Faces)-1]
		f.Loops = append(f.Loops, brep.Loop{Vertex: tip})
	case "seam":
		tip := m.vertex(0, 0, 12)
		e := m.line(m.b.Edges[lo].Start, tip)
		m.face(side, true, []int{n(lo), n(e), -n(e)})
	}
}

func frustum(m *maker) {
	lo, hi := m.circle(6, 0, 0), m.circle(3, 8, 0)
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{-n(lo)})
	m.face(m.plane(mgl64.Vec3{0, 0, 8}, up), true, []int{n(hi)})
	m.face(m.cone(6, -math.Atan2(3, 8)), true, []int{n(lo)}, []int{-n(hi)})
}

func (m *maker) meridian(r float64) brep.EdgeIndex {
	a, b := m.vertex(0, 0, -r), m.vertex(0, 0, r)
	f := m.frame(mgl64.Vec3{}, mgl64.Vec3{0, -1, 0}, mgl64.Vec3{0, 0, -1})
	k, err := curve.NewCircle(f, r)
	return m.edge(must(m, k, err), a, b, true)
}

func torusWithSeams(m *maker) {
	v := m.vertex(25, 0, 0)
	a, err := curve.NewCircle(m.world(), 25)
	along := m.edge(must(m, a, err), v, v, true)
	b, err := curve.NewCircle(m.frame(mgl64.Vec3{20, 0, 0}, mgl64.Vec3{0, -1, 0}, mgl64.Vec3{1, 0, 0}), 5)
	round := m.edge(must(m, b, err), v, v, true)
	m.face(m.torus(20, 5), true, []int{n(along), n(round), -n(along), -n(round)})
}

// quarterTorus is closed by two discs; its side is bounded by circles that
// wind in v.
func quarterTorus(m *maker) {
	ring := func(o, z, x mgl64.Vec3) brep.EdgeIndex {
		p := o.Add(x.Mul(5))
		v := m.vertex(p[0], p[1], p[2])
		k, err := curve.NewCircle(m.frame(o, z, x), 5)
		return m.edge(must(m, k, err), v, v, true)
	}
	a := ring(mgl64.Vec3{20, 0, 0}, mgl64.Vec3{0, 1, 0}, mgl64.Vec3{1, 0, 0})
	b := ring(mgl64.Vec3{0, 20, 0}, mgl64.Vec3{-1, 0, 0}, mgl64.Vec3{0, 1, 0})
	m.face(m.plane(mgl64.Vec3{20, 0, 0}, mgl64.Vec3{0, -1, 0}), true, []int{-n(a)})
	m.face(m.plane(mgl64.Vec3{0, 20, 0}, mgl64.Vec3{-1, 0, 0}), true, []int{n(b)})
	m.face(m.torus(20, 5), true, []int{-n(b)}, []int{n(a)})
}

func capOf(m *maker, height float64) {
	z := 10 - height
	e := m.circle(math.Sqrt(100-z*z), z, 0)
	m.face(m.plane(mgl64.Vec3{0, 0, z}, down), true, []int{-n(e)})
	m.face(m.sphere(10), true, []int{n(e)})
}

func segment(m *maker) {
	lo, hi := m.circle(math.Sqrt(96), -2, 0), m.circle(8, 6, 0)
	m.face(m.plane(mgl64.Vec3{0, 0, -2}, down), true, []int{-n(lo)})
	m.face(m.plane(mgl64.Vec3{0, 0, 6}, up), true, []int{n(hi)})
	m.face(m.sphere(10), true, []int{n(lo)}, []int{-n(hi)})
}

// drilled is a plate of 40 x 30 x 5 with a hole of 8.
func drilled(m *maker) {
	cubeOf(m, mgl64.Vec3{-20, -15, 0}, mgl64.Vec3{20, 15, 5})
	lo, hi := m.circle(4, 0, 2), m.circle(4, 5, 1)
	m.b.Faces[0].Loops = append([]brep.Loop{{Vertex: brep.NoVertex, Coedges: []brep.Coedge{{Edge: lo}}}}, m.b.Faces[0].Loops...)
	m.b.Faces[1].Loops = append(m.b.Faces[1].Loops, brep.Loop{Vertex: brep.NoVertex, Coedges: []brep.Coedge{{Edge: hi, Reversed: true}}})
	m.face(m.cylinder(4), false, []int{-n(lo)}, []int{n(hi)})
}

// boss is a plate with a round boss of 8 x 5 on it.
func boss(m *maker) {
	cubeOf(m, mgl64.Vec3{-20, -15, 0}, mgl64.Vec3{20, 15, 5})
	lo, hi := m.circle(4, 5, 2), m.circle(4, 10, 1)
	m.b.Faces[1].Loops = append(m.b.Faces[1].Loops, brep.Loop{Vertex: brep.NoVertex, Coedges: []brep.Coedge{{Edge: lo, Reversed: true}}})
	m.face(m.cylinder(4), true, []int{n(lo)}, []int{-n(hi)})
	m.face(m.plane(mgl64.Vec3{0, 0, 10}, up), true, []int{n(hi)})
}

// dome is a cylinder that goes over into half a sphere.
func dome(m *maker) {
	lo, hi := m.circle(5, -10, 0), m.circle(5, 0, 1)
	m.face(m.plane(mgl64.Vec3{0, 0, -10}, down), true, []int{-n(lo)})
	m.face(m.cylinder(5), true, []int{n(lo)}, []int{-n(hi)})
	m.face(m.sphere(5), true, []int{n(hi)})
}

// slotted is a tube (10, 8, 20 high) with a window of 0.8 rad, 5 high, through
// its wall where u passes through 0.
func slotted(m *maker) {
	lo, hi, li, hi2 := m.circle(10, 0, 0), m.circle(10, 20, 2), m.circle(8, 0, 1), m.circle(8, 20, 3)
	const a = 0.4
	corner := func(r, u, z float64) brep.VertexIndex { s, c := math.Sincos(u); return m.vertex(r*c, r*s, z) }
	arc := func(r, z float64, p, q brep.VertexIndex) int {
		k, err := curve.NewCircle(m.frame(mgl64.Vec3{0, 0, z}, up, mgl64.Vec3{1, 0, 0}), r)
		return n(m.edge(must(m, k, err), p, q, true))
	}
	var p [2][4]brep.VertexIndex // outside and inside: low -a, low +a, high +a, high -a
	var e [2][4]int
	for i, r := range [2]float64{10, 8} {
		p[i] = [4]brep.VertexIndex{corner(r, -a, 5), corner(r, a, 5), corner(r, a, 10), corner(r, -a, 10)}
		e[i] = [4]int{arc(r, 5, p[i][0], p[i][1]), n(m.line(p[i][1], p[i][2])), -arc(r, 10, p[i][3], p[i][2]), n(m.line(p[i][3], p[i][0]))}
	}
	var x [4]int
	for k := range x {
		x[k] = n(m.line(p[0][k], p[1][k]))
	}
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{n(li)}, []int{-n(lo)})
	m.face(m.plane(mgl64.Vec3{0, 0, 20}, up), true, []int{n(hi)}, []int{-n(hi2)})
	m.face(m.cylinder(10), true, []int{-e[0][3], -e[0][2], -e[0][1], -e[0][0]}, []int{n(lo)}, []int{-n(hi)})
	m.face(m.cylinder(8), false, []int{e[1][0], e[1][1], e[1][2], e[1][3]}, []int{-n(li)}, []int{n(hi2)})
	s, c := math.Sincos(a)
	m.face(m.plane(mgl64.Vec3{0, 0, 5}, up), true, []int{e[0][0], x[1], -e[1][0], -x[0]})
	m.face(m.plane(mgl64.Vec3{}, mgl64.Vec3{s, -c, 0}), true, []int{e[0][1], x[2], -e[1][1], -x[1]})
	m.face(m.plane(mgl64.Vec3{0, 0, 10}, down), true, []int{e[0][2], x[3], -e[1][2], -x[2]})
	m.face(m.plane(mgl64.Vec3{}, mgl64.Vec3{s, c, 0}), true, []int{e[0][3], x[0], -e[1][3], -x[3]})
}

// solid is a body with its closed-form volume and area. fat is the sign of the
// mesh's error in volume: -1 for convex bodies, 0 where it may go either way
// or must be exact.
type solid struct {
	name         string
	make         func(m *maker)
	volume, area float64
	fat          int
}

// The numbers are those of the reference table of geometry checks (closed
// forms, textbook geometry).
var solids = []solid{
	{"box", cube, 6000, 2200, 0},
	{"cylinder with seam", func(m *maker) { cylinder(m, true, 0) }, 1570.796326795, 785.398163397, -1},
	{"cylinder with seam, circle's zero elsewhere", func(m *maker) { cylinder(m, true, 2) }, 1570.796326795, 785.398163397, -1},
	{"cylinder without seam", func(m *maker) { cylinder(m, false, 0) }, 1570.796326795, 785.398163397, -1},
	{"cylinder without seam, circle's zero elsewhere", func(m *maker) { cylinder(m, false, 1) }, 1570.796326795, 785.398163397, -1},
	{"tube", tube, 5654.866776462, 5881.061447520, 0},
	{"cone", func(m *maker) { cone(m, "bare") }, 314.159265359, 282.743338823, -1},
	{"cone with a vertex loop", func(m *maker) { cone(m, "vertex loop") }, 314.159265359, 282.743338823, -1},
	{"cone with a seam to the tip", func(m *maker) { cone(m, "seam") }, 314.159265359, 282.743338823, -1},
	{"frustum", frustum, 527.787565803, 382.947683998, -1},
	{"sphere without bounds", func(m *maker) { m.face(m.sphere(10), true) }, 4188.790204786, 1256.637061436, -1},
	{"sphere as a seam loop", func(m *maker) { e := n(m.meridian(10)); m.face(m.sphere(10), true, []int{e, -e}) }, 4188.790204786, 1256.637061436, -1},
	{"spherical cap", func(m *maker) { capOf(m, 4) }, 435.634181298, 452.389342117, -1},
	{"half sphere", func(m *maker) { capOf(m, 10) }, 2094.395102393, 942.477796077, -1},
	{"spherical cap beyond the equator", func(m *maker) { capOf(m, 16) }, 4188.790204786 - 435.634181298, 1256.637061436 - 251.327412287 + 201.061929830, -1},
	{"spherical segment", segment, 2278.701871404, 1005.309649149, -1},
	{"torus without bounds", func(m *maker) { m.face(m.torus(20, 5), true) }, 9869.604401089, 3947.841760436, 0},
	{"torus with seams", torusWithSeams, 9869.604401089, 3947.841760436, 0},
	{"quarter torus", quarterTorus, 2467.401100272, 1144.040072788, 0},
	{"boss on a plate", boss, 40*30*5 + math.Pi*16*5, 2*40*30 + 2*5*(40+30) + 2*math.Pi*4*5, 0},
	{"cylinder with round end", dome, math.Pi*25*10 + 2*math.Pi/3*125, math.Pi*25 + 2*math.Pi*5*10 + 2*math.Pi*25, -1},
	{"cylinder with a slot across the seam", slotted, math.Pi*36*20 - 36*0.4*5, 2*math.Pi*(10+8)*20 - 0.8*(10+8)*5 + 2*math.Pi*36 + 2*36*0.4 + 2*2*5, 0},
	{"plate with through hole", drilled, 5748.672587713, 3125.132741229, 0},
}
