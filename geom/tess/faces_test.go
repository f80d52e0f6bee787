package tess

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
)

// tiltedCircle lies on a sphere of radius 10 round the origin: all points at
// the angle a from the direction d, anticlockwise seen from outside.
func (m *maker) tiltedCircle(d mgl64.Vec3, a float64) brep.EdgeIndex {
	d, _ = geom.Unit(d)
	x := geom.Perpendicular(d)
	s, c := math.Sincos(a)
	p := d.Mul(10 * c).Add(x.Mul(10 * s))
	v := m.vertex(p[0], p[1], p[2])
	k, err := curve.NewCircle(m.frame(d.Mul(10*c), d, x), 10*s)
	return m.edge(must(m, k, err), v, v, true)
}

// capArea is the area of the sphere's cap within the angle a.
func capArea(a float64) float64 { return 2 * math.Pi * 100 * (1 - math.Cos(a)) }

// Single faces, open at their edges, against the area they must have: what
// seams, poles, holes and senses do to a parameter plane.
func TestFacesAgainstTheirArea(t *testing.T) {
	sphere := 4 * math.Pi * 100
	for _, c := range []struct {
		name string
		make func(m *maker)
		area float64
	}{
		{"cap on the equator, across the seam", func(m *maker) {
			m.face(m.sphere(10), true, []int{n(m.tiltedCircle(mgl64.Vec3{1, 0, 0}, 0.6))})
		}, capArea(0.6)},
		{"cap on the equator, away from the seam", func(m *maker) {
			m.face(m.sphere(10), true, []int{n(m.tiltedCircle(mgl64.Vec3{-1, 0.2, 0}, 0.6))})
		}, capArea(0.6)},
		{"cap inside a hollow sphere", func(m *maker) {
			m.face(m.sphere(10), false, []int{-n(m.tiltedCircle(mgl64.Vec3{1, 0, 0}, 0.6))})
		}, capArea(0.6)},
		{"cap that holds the pole off its middle", func(m *maker) {
			m.face(m.sphere(10), true, []int{n(m.tiltedCircle(mgl64.Vec3{0.3, 0.1, 1}, 0.6))})
		}, capArea(0.6)},
		{"cap that touches the pole", func(m *maker) {
			m.face(m.sphere(10), true, []int{n(m.tiltedCircle(mgl64.Vec3{math.Sin(0.6), 0, math.Cos(0.6)}, 0.6))})
		}, capArea(0.6)},
		{"all but a cap on the equator", func(m *maker) {
			m.face(m.sphere(10), true, []int{-n(m.tiltedCircle(mgl64.Vec3{1, 0, 0}, 0.6))})
		}, sphere - capArea(0.6)},
		{"all but a cap at the south pole", func(m *maker) {
			m.face(m.sphere(10), true, []int{-n(m.tiltedCircle(mgl64.Vec3{0, 0.1, -1}, 0.6))})
		}, sphere - capArea(0.6)},
		{"all but three caps", func(m *maker) {
			m.face(m.sphere(10), true,
				[]int{-n(m.tiltedCircle(mgl64.Vec3{1, 0, 0}, 0.3))},
				[]int{-n(m.tiltedCircle(mgl64.Vec3{-1, 1, 0}, 0.4))},
				[]int{-n(m.tiltedCircle(mgl64.Vec3{0, -1, 0.4}, 0.2))})
		}, sphere - capArea(0.3) - capArea(0.4) - capArea(0.2)},
		{"polar cap with a hole", func(m *maker) {
			m.face(m.sphere(10), true, []int{n(m.tiltedCircle(up, 1.2))}, []int{-n(m.tiltedCircle(mgl64.Vec3{1, 0, 1}, 0.2))})
		}, capArea(1.2) - capArea(0.2)},
		{"eighth of a sphere, two sides through the pole", func(m *maker) {
			a, b, p := m.vertex(10, 0, 0), m.vertex(0, 10, 0), m.vertex(0, 0, 10)
			arc := func(z, x mgl64.Vec3, s, e brep.VertexIndex) int {
				k, err := curve.NewCircle(m.frame(mgl64.Vec3{}, z, x), 10)
				return n(m.edge(must(m, k, err), s, e, true))
			}
			x, y, z := mgl64.Vec3{1, 0, 0}, mgl64.Vec3{0, 1, 0}, up
			m.face(m.sphere(10), true, []int{arc(z, x, a, b), arc(x, y, b, p), arc(y, z, p, a)})
		}, sphere / 8},
		{"half of a sphere between two meridians", func(m *maker) {
			a, b := m.vertex(0, 0, -10), m.vertex(0, 0, 10)
			arc := func(z mgl64.Vec3, s, e brep.VertexIndex) int {
				k, err := curve.NewCircle(m.frame(mgl64.Vec3{}, z, down), 10)
				return n(m.edge(must(m, k, err), s, e, true))
			}
			m.face(m.sphere(10), true, []int{arc(mgl64.Vec3{0, -1, 0}, a, b), arc(mgl64.Vec3{0, -1, 0}, b, a)})
		}, sphere / 2},
		{"all but a window of a torus", func(m *maker) { torusWindow(m, true) }, 4*math.Pi*math.Pi*100 - windowArea()},
		{"window of a torus, across both seams", func(m *maker) { torusWindow(m, false) }, windowArea()},
		{"outer part of a torus between two circles", func(m *maker) {
			m.face(m.torus(20, 5), true, []int{n(m.circle(20, -5, 0))}, []int{-n(m.circle(20, 5, 0))})
		}, 4*math.Pi*math.Pi*50 + 4*math.Pi*25},
		{"sieve: three rows of windows, no straight way between them", func(m *maker) {
			loops := [][]int{{n(m.circle(10, 0, 0))}, {-n(m.circle(10, 20, 1))}}
			for row := range 3 {
				for k := range 9 {
					u := (float64(k) + float64(row)/3) * 2 * math.Pi / 9
					z := 3 + 5*float64(row)
					loops = append(loops, m.window(10, u, u+0.55, z, z+4))
				}
			}
			m.face(m.cylinder(10), true, loops...)
		}, 2*math.Pi*10*20 - 27*10*0.55*4},
		{"inner part of a torus between two circles", func(m *maker) {
			m.face(m.torus(20, 5), true, []int{n(m.circle(20, 5, 0))}, []int{-n(m.circle(20, -5, 0))})
		}, 4*math.Pi*math.Pi*50 - 4*math.Pi*25},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMaker(t)
			c.make(m)
			out, faults := meshOne(context.Background(), m.b, geom.Tolerance{Chord: 0.005, Angle: 0.1})
			for _, f := range faults {
				t.Errorf("%s (repaired %v)", f.Why, f.Repaired)
			}
			if got := out.Area(); !(math.Abs(got-c.area) <= 2e-3*c.area) {
				t.Errorf("area %.7g mm², want %.7g", got, c.area)
			}
			if off, _ := deviation(m.b, out); off > 0.006 {
				t.Errorf("%g mm off the surface", off)
			}
			borderIsEdges(t, out)
		})
	}
}

// windowArea is the area of the torus (20, 5) for |u| < 0.3, |v| < 0.4.
func windowArea() float64 { return 0.6 * (20*5*0.8 + 25*2*math.Sin(0.4)) }

// torusWindow is bounded by parameter lines, |u| = 0.3, |v| = 0.4.
func torusWindow(m *maker, outside bool) {
	const a, b = 0.3, 0.4
	corner := func(u, v float64) brep.VertexIndex {
		r := 20 + 5*math.Cos(v)
		return m.vertex(r*math.Cos(u), r*math.Sin(u), 5*math.Sin(v))
	}
	p := [4]brep.VertexIndex{corner(-a, -b), corner(a, -b), corner(a, b), corner(-a, b)}
	along := func(v float64, s, e brep.VertexIndex) int {
		k, err := curve.NewCircle(m.frame(mgl64.Vec3{0, 0, 5 * math.Sin(v)}, up, mgl64.Vec3{1, 0, 0}), 20+5*math.Cos(v))
		return n(m.edge(must(m, k, err), s, e, true))
	}
	round := func(u float64, s, e brep.VertexIndex) int {
		x := mgl64.Vec3{math.Cos(u), math.Sin(u), 0}
		k, err := curve.NewCircle(m.frame(x.Mul(20), x.Cross(up), x), 5)
		return n(m.edge(must(m, k, err), s, e, true))
	}
	e := []int{along(-b, p[0], p[1]), round(a, p[1], p[2]), -along(b, p[3], p[2]), -round(-a, p[0], p[3])}
	if outside {
		e = []int{-e[3], -e[2], -e[1], -e[0]}
	}
	m.face(m.torus(20, 5), true, e)
}

// window is a hole in the cylinder of radius r between parameter lines.
func (m *maker) window(r, u0, u1, z0, z1 float64) []int {
	corner := func(u, z float64) brep.VertexIndex { s, c := math.Sincos(u); return m.vertex(r*c, r*s, z) }
	arc := func(z float64, p, q brep.VertexIndex) int {
		k, err := curve.NewCircle(m.frame(mgl64.Vec3{0, 0, z}, up, mgl64.Vec3{1, 0, 0}), r)
		return n(m.edge(must(m, k, err), p, q, true))
	}
	a, b, c, d := corner(u0, z0), corner(u1, z0), corner(u1, z1), corner(u0, z1)
	return []int{-n(m.line(d, a)), arc(z1, d, c), -n(m.line(b, c)), -arc(z0, a, b)}
}

// borderIsEdges checks that the mesh ends exactly at the edges' chains.
func borderIsEdges(t *testing.T, m *mesh.Mesh) {
	t.Helper()
	count := map[[2]int32]int{}
	for _, tr := range m.Triangles {
		for k := range 3 {
			a, b := tr[k], tr[(k+1)%3]
			count[[2]int32{min(a, b), max(a, b)}]++
		}
	}
	want := 0
	for _, e := range m.Edges {
		for i := 1; i < len(e.Verts); i++ {
			a, b := e.Verts[i-1], e.Verts[i]
			if count[[2]int32{min(a, b), max(a, b)}] != 1 {
				t.Errorf("edge piece %d-%d is not on the border", a, b)
			}
			want++
		}
	}
	if m.Border() != want {
		t.Errorf("border of %d pieces, want %d", m.Border(), want)
	}
}

// What is wrong in a file is mended where it can be, and said.
func TestRepairs(t *testing.T) {
	for _, c := range []struct {
		name   string
		make   func(m *maker)
		volume float64
		why    string // of some fault; all must be repaired
	}{
		{"one face says the wrong side", func(m *maker) {
			cube(m)
			m.b.Faces[2].SameSense = !m.b.Faces[2].SameSense
		}, 6000, "turned over"},
		{"one face is wholly reversed", func(m *maker) {
			cube(m)
			reverseFace(&m.b.Faces[4])
		}, 6000, "looked the other way"},
		{"all faces are reversed", func(m *maker) {
			cube(m)
			for i := range m.b.Faces {
				reverseFace(&m.b.Faces[i])
			}
		}, 6000, "inside out"},
		{"hole marked in the outside's sense", func(m *maker) {
			drilled(m)
			reverseLoop(&m.b.Faces[0].Loops[0])
		}, 5748.672587713, "sense taken from their place"},
		{"cone's loop reversed", func(m *maker) {
			cone(m, "bare")
			reverseLoop(&m.b.Faces[1].Loops[0])
		}, 314.159265359, "opposite sense"},
		{"wrong surface", func(m *maker) {
			cube(m)
			m.b.Faces[3].Surface = m.cylinder(3)
		}, 6000, "plane nearest"},
		{"slit in a plane", func(m *maker) {
			cube(m)
			tip := m.vertex(5, 10, 0)
			f := &m.b.Faces[0]
			start := m.b.Edges[f.Loops[0].Coedges[0].Edge].Start
			e := m.line(start, tip)
			f.Loops[0].Coedges = append([]brep.Coedge{{Edge: e}, {Edge: e, Reversed: true}}, f.Loops[0].Coedges...)
		}, 6000, ""},
		{"every face with edges of its own", func(m *maker) { cube(m); unshare(m.b, 1e-5) }, 6000, ""},
		{"every face with edges of its own, round", func(m *maker) { drilled(m); unshare(m.b, 1e-5) }, 5748.672587713, ""},
		{"edge runs against its flag", func(m *maker) {
			cylinder(m, true, 0)
			m.b.Edges[2].SameSense = false // a line: its place does not change
		}, 1570.796326795, ""},
		{"face of two edges that lie on each other", func(m *maker) {
			cube(m)
			e := m.b.Faces[0].Loops[0].Coedges[0]
			twin := m.b.Edges[e.Edge]
			m.b.Edges = append(m.b.Edges, twin)
			m.face(m.plane(mgl64.Vec3{}, up), true, []int{n(e.Edge), -len(m.b.Edges)})
		}, 6000, "without area"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMaker(t)
			c.make(m)
			out, faults := meshOne(context.Background(), m.b, geom.Tolerance{Chord: 0.01, Angle: 0.2})
			found := c.why == ""
			for _, f := range faults {
				t.Logf("face %d: %s", f.Face, f.Why)
				found = found || strings.Contains(f.Why, c.why)
				if !f.Repaired {
					t.Errorf("face %d not repaired: %s", f.Face, f.Why)
				}
			}
			if !found {
				t.Errorf("no fault says %q", c.why)
			}
			if err := out.Check(); err != nil || !out.IsClosed() {
				t.Errorf("closed %v: %v", out.IsClosed(), err)
			}
			if v := out.Volume(); !(math.Abs(v-c.volume) <= 5e-3*c.volume) {
				t.Errorf("volume %g mm³, want %g", v, c.volume)
			}
		})
	}
}

func reverseFace(f *brep.Face) {
	f.SameSense = !f.SameSense
	for i := range f.Loops {
		reverseLoop(&f.Loops[i])
	}
}

func reverseLoop(l *brep.Loop) {
	var c []brep.Coedge
	for i := len(l.Coedges) - 1; i >= 0; i-- {
		c = append(c, brep.Coedge{Edge: l.Coedges[i].Edge, Reversed: !l.Coedges[i].Reversed})
	}
	l.Coedges = c
}

// unshare gives each use of an edge its own copy with its own vertices, up to
// off mm beside the first; every other copy runs the other way.
func unshare(b *brep.Body, off float64) {
	old := b.Edges
	oldV := b.Vertices
	b.Edges, b.Vertices = nil, nil
	k := 0
	vertex := func(v brep.VertexIndex) brep.VertexIndex {
		k++
		d := mgl64.Vec3{float64(k%3) - 1, float64(k%5)/2 - 1, float64(k%7)/3 - 1}
		b.Vertices = append(b.Vertices, brep.Vertex{P: oldV[v].P.Add(d.Mul(off / 2))})
		return brep.VertexIndex(len(b.Vertices) - 1)
	}
	for i := range b.Faces {
		for j := range b.Faces[i].Loops {
			l := &b.Faces[i].Loops[j]
			ends := map[brep.VertexIndex]brep.VertexIndex{}
			end := func(v brep.VertexIndex) brep.VertexIndex {
				if _, ok := ends[v]; !ok {
					ends[v] = vertex(v)
				}
				return ends[v]
			}
			for c := range l.Coedges {
				e := old[l.Coedges[c].Edge]
				e.Start, e.End = end(e.Start), end(e.End)
				if c%2 == 1 {
					e.Start, e.End, e.SameSense = e.End, e.Start, !e.SameSense
					l.Coedges[c].Reversed = !l.Coedges[c].Reversed
				}
				b.Edges = append(b.Edges, e)
				l.Coedges[c].Edge = brep.EdgeIndex(len(b.Edges) - 1)
			}
		}
	}
}

// Whatever is done to a body, meshing ends, does not panic, returns sound
// indices, and says so when a face is missing.
func TestSpoiledBodiesEndInFaults(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(solids).Draw(t, "solid")
		m := newMaker(t)
		s.make(m)
		for range rapid.IntRange(1, 3).Draw(t, "spoils") {
			spoil(t, m.b)
		}
		out, faults := meshOne(context.Background(), m.b, Default)
		for i, tr := range out.Triangles {
			for _, v := range tr {
				if v < 0 || int(v) >= len(out.Vertices) {
					t.Fatalf("triangle %d: vertex %d of %d", i, v, len(out.Vertices))
				}
			}
		}
		meshed := map[int32]bool{}
		for _, f := range out.FaceOf {
			meshed[f] = true
		}
		said := map[brep.FaceIndex]bool{}
		for _, f := range faults {
			said[f.Face] = true
		}
		for i := range m.b.Faces {
			if !meshed[int32(i)] && !said[brep.FaceIndex(i)] {
				t.Fatalf("face %d has neither mesh nor fault", i)
			}
		}
	})
}

func spoil(t *rapid.T, b *brep.Body) {
	pick := func(name string, n int) int { return rapid.IntRange(0, max(0, n-1)).Draw(t, name) }
	f := &b.Faces[pick("face", len(b.Faces))]
	switch kind := rapid.IntRange(0, 10).Draw(t, "kind"); {
	case kind == 0:
		f.Surface = nil
	case kind == 1:
		f.SameSense = !f.SameSense
	case kind == 2:
		f.Loops = nil
	case kind == 3 && len(f.Loops) > 0:
		reverseLoop(&f.Loops[0])
	case kind == 4 && len(f.Loops) > 0:
		f.Loops[0].Coedges = f.Loops[0].Coedges[:pick("coedge", len(f.Loops[0].Coedges))]
	case kind == 5 && len(b.Edges) > 0:
		b.Edges[pick("edge", len(b.Edges))].Start = brep.VertexIndex(rapid.IntRange(-2, len(b.Vertices)+2).Draw(t, "vertex"))
	case kind == 6 && len(b.Edges) > 0:
		b.Edges[pick("edge", len(b.Edges))].Curve = nil
	case kind == 7 && len(b.Vertices) > 0:
		x := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 1e300, 1e9, 0, -7}).Draw(t, "x")
		b.Vertices[pick("vertex", len(b.Vertices))].P[pick("axis", 3)] = x
	case kind == 8 && len(f.Loops) > 0 && len(f.Loops[0].Coedges) > 0:
		f.Loops[0].Coedges[0].Edge = brep.EdgeIndex(rapid.IntRange(-1, len(b.Edges)).Draw(t, "edge"))
	case kind == 9:
		f.Surface = b.Faces[pick("other", len(b.Faces))].Surface
	case kind == 10 && len(b.Edges) > 1:
		b.Edges[pick("edge", len(b.Edges))].Curve = b.Edges[pick("other", len(b.Edges))].Curve
	}
}
