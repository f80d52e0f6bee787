package tess

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mass"
	"stepscan/geom/surface"
)

// fine is what closed forms are compared at.
var fine = geom.Tolerance{Chord: 0.01, Angle: 0.2}

// One face may hold several bands of its surface: loops that wind belong
// together in pairs, wherever they stand in the list.
func TestSeveralBandsOnOneFace(t *testing.T) {
	disc := func(m *maker, e brep.EdgeIndex, z float64, top bool) {
		if top {
			m.face(m.plane(mgl64.Vec3{0, 0, z}, up), true, []int{n(e)})
		} else {
			m.face(m.plane(mgl64.Vec3{0, 0, z}, down), true, []int{-n(e)})
		}
	}
	for _, c := range []struct {
		name   string
		make   func(m *maker)
		volume float64
	}{
		{"two rods", func(m *maker) {
			var e [4]brep.EdgeIndex
			for i, z := range []float64{0, 2, 5, 8} {
				e[i] = m.circle(5, z, float64(i))
				disc(m, e[i], z, i%2 == 1)
			}
			m.face(m.cylinder(5), true, []int{-n(e[3])}, []int{n(e[0])}, []int{n(e[2])}, []int{-n(e[1])})
		}, math.Pi * 25 * 5},
		{"two slices of a sphere", func(m *maker) {
			var e [4]brep.EdgeIndex
			for i, z := range []float64{-8, -2, 1, 6} {
				e[i] = m.circle(math.Sqrt(100-z*z), z, float64(i))
				disc(m, e[i], z, i%2 == 1)
			}
			m.face(m.sphere(10), true, []int{n(e[2])}, []int{-n(e[3])}, []int{-n(e[1])}, []int{n(e[0])})
		}, ballBetween(10, -8, -2) + ballBetween(10, 1, 6)},
		{"two pieces of a torus", func(m *maker) {
			var e [4]brep.EdgeIndex
			at := []float64{-0.4, 0.5, 2, 4}
			for i, u := range at {
				s, k := math.Sincos(u)
				v := m.vertex(25*k, 25*s, 0)
				ring, err := curve.NewCircle(m.frame(mgl64.Vec3{20 * k, 20 * s, 0}, mgl64.Vec3{s, -k, 0}, mgl64.Vec3{k, s, 0}), 5)
				e[i] = m.edge(must(m, ring, err), v, v, true)
				sign := float64(1 - 2*(i%2)) // outward of the piece's end
				m.face(m.plane(mgl64.Vec3{20 * k, 20 * s, 0}, mgl64.Vec3{s, -k, 0}.Mul(sign)), true, []int{(1 - 2*(i%2)) * n(e[i])})
			}
			m.face(m.torus(20, 5), true, []int{-n(e[0])}, []int{n(e[1])}, []int{-n(e[2])}, []int{n(e[3])})
		}, (0.9 + 2) * 20 * math.Pi * 25},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMaker(t)
			c.make(m)
			out, faults := meshOne(context.Background(), m.b, fine)
			if len(faults) > 0 || !out.IsClosed() {
				t.Errorf("closed %v, faults %v", out.IsClosed(), faults)
			}
			if v := mass.Of(m.b, out).Volume; math.Abs(v-c.volume) > 1e-3*c.volume {
				t.Errorf("volume %g mm³, want %g", v, c.volume)
			}
		})
	}
}

// ballBetween is the volume of a ball of radius r between two heights.
func ballBetween(r, a, b float64) float64 {
	f := func(z float64) float64 { return math.Pi * (r*r*z - z*z*z/3) }
	return f(b) - f(a)
}

// How wide a gap in a loop may be follows the body's size.
func TestGapsCloseBySize(t *testing.T) {
	for _, c := range []struct {
		size, gap float64
		closed    bool
	}{{10, 5e-3, true}, {10, 0.05, false}, {2000, 0.05, true}, {2000, 0.9, false}, {0.05, 5e-4, true}, {0.05, 5e-3, false}} {
		m := newMaker(t)
		cubeOf(m, mgl64.Vec3{}, mgl64.Vec3{c.size, c.size, c.size})
		for i := range m.b.Edges { // an end of its own for every edge, gap mm short
			e := &m.b.Edges[i]
			p, q := m.b.Vertices[e.Start].P, m.b.Vertices[e.End].P
			m.b.Vertices = append(m.b.Vertices, brep.Vertex{P: q.Add(p.Sub(q).Normalize().Mul(c.gap))})
			e.End = brep.VertexIndex(len(m.b.Vertices) - 1)
		}
		out, faults := meshOne(context.Background(), m.b, fine)
		if out.IsClosed() != c.closed {
			t.Errorf("%g mm, gaps of %g mm: closed %v, want %v: %v", c.size, c.gap, out.IsClosed(), c.closed, faults)
		}
		if c.closed && c.gap > gapToTell && (len(faults) != 6 || !strings.Contains(faults[0].Why, "gaps")) {
			t.Errorf("%g mm, gaps of %g mm: told %v", c.size, c.gap, faults)
		}
	}
}

// Edges that are listed in any order and sense make the same loop.
func TestLoopsInAnyOrder(t *testing.T) {
	order := [][4]int{{0, 1, 2, 3}, {2, 0, 3, 1}, {3, 2, 1, 0}, {1, 0, 3, 2}}
	for i, o := range order {
		for turned := range 4 {
			m := newMaker(t)
			cube(m)
			l := &m.b.Faces[4].Loops[0]
			old := append([]brep.Coedge(nil), l.Coedges...)
			for k := range l.Coedges {
				l.Coedges[k] = old[o[k]]
			}
			if turned > 0 {
				l.Coedges[turned].Reversed = !l.Coedges[turned].Reversed
			}
			out, faults := meshOne(context.Background(), m.b, fine)
			if v := out.Volume(); !out.IsClosed() || math.Abs(v-6000) > 1e-9 {
				t.Errorf("order %v, turned %d: closed %v, volume %g", o, turned, out.IsClosed(), v)
			}
			if right := i == 0 && turned == 0; right != (len(faults) == 0) {
				t.Errorf("order %v, turned %d: told %v", o, turned, faults)
			}
		}
	}
}

// Shells that share an edge are left as they are: which one is turned cannot be
// told.
func TestShellsThatShareEdgesStay(t *testing.T) {
	m := newMaker(t)
	cube(m)
	m.b.Shells = []brep.Shell{{Faces: []brep.FaceIndex{0, 1, 2}, Closed: true}, {Faces: []brep.FaceIndex{3, 4, 5}, Closed: true, Void: true}}
	out, faults := meshOne(context.Background(), m.b, fine)
	if len(faults) > 0 || !out.IsClosed() || math.Abs(out.Volume()-6000) > 1e-9 {
		t.Errorf("closed %v, volume %g, faults %v", out.IsClosed(), out.Volume(), faults)
	}
}

// A torus cut by two curves that wind round it both ways: its halves are bands
// on a plane that leans.
func TestDiagonalsOfATorus(t *testing.T) {
	for _, w := range [][2]float64{{1, 1}, {1, -1}, {1, 3}, {4, 1}, {-2, 1}} {
		m := newMaker(t)
		s := m.torus(20, 5)
		diagonal := func(v0 float64) int {
			l, err := curve.NewLine(mgl64.Vec3{0, v0}, mgl64.Vec3{w[0], w[1]})
			line, err := curve.NewTrimmed(must(m, l, err), 0, 2*math.Pi*math.Hypot(w[0], w[1]))
			c, err := surface.NewTrace(s, must(m, line, err), 1, 1)
			p := must(m, c, err).Point(0)
			v := m.vertex(p[0], p[1], p[2])
			return n(m.edge(c, v, v, true))
		}
		a, b := diagonal(0), diagonal(math.Pi/math.Abs(w[0]))
		m.face(s, true, []int{a}, []int{-b})
		m.face(s, true, []int{-a}, []int{b})
		out, faults := meshOne(context.Background(), m.b, fine)
		if len(faults) > 0 || !out.IsClosed() {
			t.Errorf("%v: closed %v, faults %v", w, out.IsClosed(), faults)
		}
		if v, want := mass.Of(m.b, out).Volume, 2*math.Pi*math.Pi*20*25; math.Abs(v-want) > 1e-3*want {
			t.Errorf("%v: volume %g mm³, want %g", w, v, want)
		}
	}
}

// Slits, loops that touch themselves and slivers, on a surface that bends: each
// face is meshed to its area, and without a word. A sliver whose long sides were
// welded has none left, and that is said.
func TestAwkwardLoopsOnACylinder(t *testing.T) {
	const r = 10.0
	for _, c := range []struct {
		name string
		loop func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int
		area float64
	}{
		{"slit that stands free", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, b, c, d := at(0.2, 0), at(1.2, 0), at(1.2, 8), at(0.2, 8)
			s := line(at(0.7, 2), at(0.7, 5))
			return [][]int{{arc(a, b), line(b, c), arc(c, d), line(d, a)}, {s, -s}}
		}, r * 8},
		{"slit from the border", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, m, b, c, d := at(0.2, 0), at(0.8, 0), at(1.2, 0), at(1.2, 8), at(0.2, 8)
			s := line(m, at(0.8, 5))
			return [][]int{{arc(a, m), s, -s, arc(m, b), line(b, c), arc(c, d), line(d, a)}}
		}, r * 8},
		{"loop that touches itself", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, b, c, d := at(0.2, 0), at(0.8, 0), at(0.8, 4), at(0.2, 4)
			e, f, g := at(1.4, 4), at(1.4, 8), at(0.8, 8)
			return [][]int{{arc(a, b), line(b, c), arc(c, e), line(e, f), arc(f, g), line(g, c), arc(c, d), line(d, a)}}
		}, 2 * 0.6 * r * 4},
		{"hole that touches the border", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, m, b, c, d := at(0.2, 0), at(0.6, 0), at(1.2, 0), at(1.2, 8), at(0.2, 8)
			e, f := at(0.6, 3), at(0.9, 3)
			helix := line(f, m) // a chord: a hole's side may leave the surface a little
			return [][]int{{arc(a, m), arc(m, b), line(b, c), arc(c, d), line(d, a)}, {line(m, e), arc(e, f), helix}}
		}, r*8 - 0.3*r*3/2},
		{"sliver a hundredth of a millimetre wide", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, b, c, d := at(0.5, 0), at(0.501, 0), at(0.501, 8), at(0.5, 8)
			return [][]int{{arc(a, b), line(b, c), arc(c, d), line(d, a)}}
		}, 1e-3 * r * 8},
		{"sliver along the circle", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, b, c, d := at(0.2, 0), at(1.2, 0), at(1.2, 0.01), at(0.2, 0.01)
			return [][]int{{arc(a, b), line(b, c), arc(c, d), line(d, a)}}
		}, r * 0.01},
		{"sliver below what is welded", func(at func(u, z float64) brep.VertexIndex, arc, line func(p, q brep.VertexIndex) int) [][]int {
			a, b, c, d := at(0.2, 0), at(1.2, 0), at(1.2, 1e-4), at(0.2, 1e-4)
			return [][]int{{arc(a, b), line(b, c), arc(c, d), line(d, a)}}
		}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMaker(t)
			at := func(u, z float64) brep.VertexIndex { s, k := math.Sincos(u); return m.vertex(r*k, r*s, z) }
			arc := func(p, q brep.VertexIndex) int {
				a, b := m.b.Vertices[p].P, m.b.Vertices[q].P
				z := up
				if a[0]*b[1]-a[1]*b[0] < 0 {
					z = down
				}
				k, err := curve.NewCircle(m.frame(mgl64.Vec3{0, 0, a[2]}, z, mgl64.Vec3{1, 0, 0}), r)
				return n(m.edge(must(m, k, err), p, q, true))
			}
			m.face(m.cylinder(r), true, c.loop(at, arc, func(p, q brep.VertexIndex) int { return n(m.line(p, q)) })...)
			out, faults := meshOne(context.Background(), m.b, fine)
			if told := len(faults) == 1 && strings.Contains(faults[0].Why, "without area left out"); len(faults) > 0 && !told || told != (c.area == 0) {
				t.Errorf("told %v", faults)
			}
			if got := out.Area(); !(math.Abs(got-c.area) <= 5e-3*c.area) {
				t.Errorf("area %.6g mm², want %.6g", got, c.area)
			}
		})
	}
}

// Two edges that lie on each other bound a sliver, not the whole of the closed
// surface that they lie on.
func TestSliverOnASphereIsNotTheSphere(t *testing.T) {
	m := newMaker(t)
	p, q := m.vertex(10, 0, 0), m.vertex(0, 10, 0)
	arc := func() int {
		k, err := curve.NewCircle(m.frame(mgl64.Vec3{}, up, mgl64.Vec3{1, 0, 0}), 10)
		return n(m.edge(must(m, k, err), p, q, true))
	}
	m.face(m.sphere(10), true, []int{arc(), -arc()})
	out, faults := meshOne(context.Background(), m.b, fine)
	if out.Area() > 1e-9 || len(faults) != 1 {
		t.Errorf("area %g mm², faults %v", out.Area(), faults)
	}
}
