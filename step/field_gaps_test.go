package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
)

// soup writes each face of a box with edges and vertices of its own, off mm
// beside each other.
func (m *maker) soup(lo, hi vec, off float64) string {
	var faces []string
	for k, c := range boxFaces {
		var p [4]vec
		for i := range p {
			p[i] = boxCorner(lo, hi, c[i]).Add(vec{float64(k%3) - 1, float64(k%2) - 0.5, float64(i%3) - 1}.Mul(off / 4))
		}
		var v, loop [4]string
		for i := range v {
			v[i] = m.vertex(p[i])
		}
		for i := range loop {
			loop[i] = m.edge(m.line(p[i], p[(i+1)%4]), v[i], v[(i+1)%4], true)
		}
		if k%2 == 1 { // half of them inside out
			loop = [4]string{"-" + loop[3], "-" + loop[2], "-" + loop[1], "-" + loop[0]}
		}
		n := p[1].Sub(p[0]).Cross(p[2].Sub(p[0])).Mul(1 - 2*float64(k%2))
		faces = append(faces, m.face(m.plane(p[0], n), true, m.loop(loop[:]...)))
	}
	return m.solid(faces...)
}

// Faces that share nothing are welded by distance and turned to fit.
func TestSoup(t *testing.T) {
	for _, off := range []float64{0, 1e-5} {
		t.Run(fmt.Sprint(off), func(t *testing.T) {
			var m maker
			o := m.through(t, m.soup(vec{}, vec{10, 20, 30}, off))
			o.mended(t, 6000, 2200, "turned over")
		})
	}
}

// Vertices of one corner that the file gives apart, though edges are shared.
func TestLoopGaps(t *testing.T) {
	for _, c := range []struct {
		gap    float64
		closed bool
	}{{0, true}, {1e-6, true}, {5e-3, true}, {0.5, false}} {
		t.Run(fmt.Sprint(c.gap), func(t *testing.T) {
			var m maker
			hi := vec{10, 20, 30}
			edges := map[[2]int]string{}
			var faces []string
			for _, f := range boxFaces {
				var loop []string
				for i := range 4 {
					a, b := f[i], f[(i+1)%4]
					e, back := edges[[2]int{b, a}], "-"
					if e == "" { // with vertices of its own, each a little short
						p, q := boxCorner(vec{}, hi, a), boxCorner(vec{}, hi, b)
						d := q.Sub(p).Normalize().Mul(c.gap / 2)
						e, back = m.straight(p.Add(d), q.Sub(d)), ""
						edges[[2]int{a, b}] = e
					}
					loop = append(loop, back+e)
				}
				p := boxCorner(vec{}, hi, f[0])
				n := boxCorner(vec{}, hi, f[1]).Sub(p).Cross(boxCorner(vec{}, hi, f[2]).Sub(p))
				faces = append(faces, m.face(m.plane(p, n), true, m.loop(loop...)))
			}
			o := m.through(t, m.solid(faces...))
			switch {
			case !c.closed:
				o.open(t, "do not follow each other")
			case c.gap > 1e-3:
				o.mended(t, 6000, 2200, "gap")
			default:
				o.sound(t, 6000, 2200)
			}
		})
	}
}

// A vertex that is not on its edges' curves is where the edges end all the
// same; from about a chord on it is said.
func TestVertexOffItsCurve(t *testing.T) {
	for _, off := range []float64{1e-6, 5e-3, 0.05} {
		t.Run(fmt.Sprint(off), func(t *testing.T) {
			var m maker
			v, w := m.vertex(vec{5 + off, 0, 0}), m.vertex(vec{5, 0, 8 + off})
			lo := m.edge(m.circle(vec{}, ez, ex, 5), v, v, true)
			hi := m.edge(m.circle(vec{0, 0, 8}, ez, ey, 5), w, w, true)
			o := m.through(t, m.solid(
				m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo)),
				m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
				m.face(m.cylinder(5), true, m.loop(lo), m.loop("-"+hi))))
			if !o.mesh.IsClosed() || math.Abs(o.props.Volume-200*math.Pi) > 0.01*200*math.Pi {
				t.Errorf("closed %v, volume %g: %s", o.mesh.IsClosed(), o.props.Volume, o.told())
			}
			if said := strings.Contains(o.told(), "beside its vertices"); said != (off > 0.01) {
				t.Errorf("said %v:\n%s", said, o.told())
			}
		})
	}
}

// A full circle that begins and ends at two vertices in one place.
func TestRingOfTwoVertices(t *testing.T) {
	for _, off := range []float64{0, 1e-7, 2e-4} {
		var m maker
		ring := func(z, a float64) string {
			v, w := m.vertex(vec{5, 0, z}), m.vertex(vec{5 * math.Cos(a), 5 * math.Sin(a), z})
			return m.edge(m.circle(vec{0, 0, z}, ez, ey, 5), v, w, true)
		}
		lo, hi := ring(0, off/5), ring(8, -off/5)
		o := m.through(t, m.solid(
			m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo)),
			m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
			m.face(m.cylinder(5), true, m.loop(lo), m.loop("-"+hi))))
		o.sound(t, 200*math.Pi, 130*math.Pi)
	}
}

// A loop that lists its edges out of order, or one of them the wrong way round,
// is put in order and named.
func TestLoopOutOfOrder(t *testing.T) {
	for name, list := range map[string][]int{"swapped": {0, 2, 1, 3}, "backward": {3, 2, 1, 0}, "one turned": {0, 1, -2, 3}} {
		t.Run(name, func(t *testing.T) {
			var m maker
			b := m.box(1, 2, 3)
			text := m.b.String()
			i := strings.Index(text, "EDGE_LOOP('',(") + len("EDGE_LOOP('',(")
			j := i + strings.Index(text[i:], "))")
			edges := strings.Split(text[i:j], ",")
			var now []string
			for _, k := range list {
				now = append(now, edges[max(k, -k)])
			}
			text = text[:i] + strings.Join(now, ",") + text[j:]
			if name == "one turned" {
				k := strings.Index(text, edges[2]+"=ORIENTED_EDGE")
				line, rest, _ := strings.Cut(text[k:], "\n")
				turn := strings.NewReplacer(".T.", ".F.", ".F.", ".T.")
				text = text[:k] + turn.Replace(line) + "\n" + rest
			}
			m.b.Reset()
			m.b.WriteString(text)
			o := m.through(t, b)
			o.mended(t, 6, 22, "put in order")
		})
	}
}

// prism writes a straight prism over a polygon, from z = 0 to h.
func (m *maker) prism(h float64, poly ...mgl64.Vec2) string {
	n := len(poly)
	var lo, hi [64]string
	var vlo, vhi, up [64]string
	at := func(i int, z float64) vec { return vec{poly[i%n][0], poly[i%n][1], z} }
	for i := range n {
		vlo[i], vhi[i] = m.vertex(at(i, 0)), m.vertex(at(i, h))
	}
	for i := range n {
		j := (i + 1) % n
		lo[i] = m.edge(m.line(at(i, 0), at(j, 0)), vlo[i], vlo[j], true)
		hi[i] = m.edge(m.line(at(i, h), at(j, h)), vhi[i], vhi[j], true)
		up[i] = m.edge(m.line(at(i, 0), at(i, h)), vlo[i], vhi[i], true)
	}
	var faces, bottom, top []string
	for i := range n {
		j := (i + 1) % n
		faces = append(faces, m.face(m.plane(at(i, 0), at(j, 0).Sub(at(i, 0)).Cross(ez)), true, m.loop(lo[i], up[j], "-"+hi[i], "-"+up[i])))
		bottom, top = append(bottom, "-"+lo[n-1-i]), append(top, hi[i])
	}
	faces = append(faces, m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop(bottom...)), m.face(m.plane(vec{0, 0, h}, ez), true, m.loop(top...)))
	return m.solid(faces...)
}

// Edges shorter than any tolerance, and the slivers beside them, neither open
// the body nor fold it.
func TestShortEdges(t *testing.T) {
	for _, d := range []float64{1e-2, 1e-4, 1e-6, 1e-8} {
		t.Run(fmt.Sprint(d), func(t *testing.T) {
			var m maker
			o := m.through(t, m.prism(5, mgl64.Vec2{0, 0}, mgl64.Vec2{10, 0}, mgl64.Vec2{10, 10}, mgl64.Vec2{d, 10}, mgl64.Vec2{0, 10 - d}))
			o.sound(t, 500, 400)
		})
	}
}

// An edge of no length whose two vertices are one place.
func TestEdgeWithoutLength(t *testing.T) {
	var k maker // a triangle prism's end with an edge from a corner to itself
	a, b, c := k.vertex(vec{}), k.vertex(vec{10, 0, 0}), k.vertex(vec{0, 10, 0})
	dot := k.edge(k.line(vec{}, ex), a, a, true)
	e1, e2, e3 := k.edge(k.line(vec{}, vec{10, 0, 0}), a, b, true), k.edge(k.line(vec{10, 0, 0}, vec{0, 10, 0}), b, c, true), k.edge(k.line(vec{0, 10, 0}, vec{}), c, a, true)
	p := k.through(t, k.add("SHELL_BASED_SURFACE_MODEL('',(%s))", k.add("OPEN_SHELL('',(%s))", k.face(k.plane(vec{}, ez), true, k.loop(e1, e2, e3, dot)))))
	if math.Abs(p.props.Area-50) > 1e-9 || p.told() != "" {
		t.Errorf("area %g, want 50; told %q", p.props.Area, p.told())
	}
}

// A loop that crosses itself is meshed as far as that goes, and flagged.
func TestSelfIntersectingLoops(t *testing.T) {
	for name, poly := range map[string][]mgl64.Vec2{
		"figure eight": {{0, 0}, {10, 10}, {10, 0}, {0, 10}},
		"touches":      {{0, 0}, {5, 5}, {10, 0}, {10, 10}, {5, 5}, {0, 10}}, // two triangles: nothing is wrong
	} {
		t.Run(name, func(t *testing.T) {
			var m maker
			var v, loop []string
			for _, p := range poly {
				v = append(v, m.vertex(vec{p[0], p[1], 0}))
			}
			for i, p := range poly {
				j := (i + 1) % len(poly)
				loop = append(loop, m.edge(m.line(vec{p[0], p[1], 0}, vec{poly[j][0], poly[j][1], 0}), v[i], v[j], true))
			}
			o := m.through(t, m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", m.add("OPEN_SHELL('',(%s))", m.face(m.plane(vec{}, ez), true, m.loop(loop...)))))
			if len(o.mesh.Triangles) == 0 || (o.told() == "") != (name == "touches") {
				t.Errorf("%d triangles; told %q", len(o.mesh.Triangles), o.told())
			}
			if name == "touches" && math.Abs(o.props.Area-50) > 1e-9 {
				t.Errorf("area %g, want 50", o.props.Area)
			}
		})
	}
}

// Far from the origin, and tiny there, a body keeps its size: tolerances are
// those of the part.
func TestFarAndTiny(t *testing.T) {
	for _, c := range []struct{ at, size float64 }{{1e6, 10}, {3e7, 10}, {0, 0.02}, {1e6, 0.02}, {0, 2e5}} {
		t.Run(fmt.Sprintf("%g mm at %g", c.size, c.at), func(t *testing.T) {
			o := vec{c.at, -c.at, c.at}
			s := c.size
			var m maker
			b := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", m.shell(o, o.Add(vec{s, 2 * s, 3 * s}), plain)))
			b.sound(t, 6*s*s*s, 22*s*s)
			var k maker
			soup := k.through(t, k.soup(o, o.Add(vec{s, 2 * s, 3 * s}), 0))
			soup.mended(t, 6*s*s*s, 22*s*s, "turned over")
		})
	}
	t.Run("a rod far away", func(t *testing.T) {
		var m maker
		o := vec{1e6, 2e6, -1e6}
		top := o.Add(vec{0, 0, 8})
		ring := func(p vec, zero vec) string {
			v := m.vertex(p.Add(vec{5, 0, 0}))
			return m.edge(m.circle(p, ez, zero, 5), v, v, true)
		}
		lo, hi := ring(o, ex), ring(top, ey)
		cyl := m.add("CYLINDRICAL_SURFACE('',%s,5.)", m.place(o, ez, ex))
		b := m.through(t, m.solid(
			m.face(m.plane(o, vec{0, 0, -1}), true, m.loop("-"+lo)), m.face(m.plane(top, ez), true, m.loop(hi)),
			m.face(cyl, true, m.loop(lo), m.loop("-"+hi))))
		b.sound(t, 200*math.Pi, 130*math.Pi)
	})
}
