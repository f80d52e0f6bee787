package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"stepscan/geom/brep"
)

// ORIENTED_EDGE derives its ends: writers leave them as * and some as $.
func TestOrientedEdgeWithoutEnds(t *testing.T) {
	for _, ends := range []string{"*,*", "$,$"} {
		var m maker
		b := m.box(1, 2, 3)
		text := strings.ReplaceAll(m.b.String(), "ORIENTED_EDGE('',*,*", "ORIENTED_EDGE('',"+ends)
		m.b.Reset()
		m.b.WriteString(text)
		o := m.through(t, b)
		o.sound(t, 6, 22)
	}
}

// An oriented edge round an oriented edge turns it once more.
func TestOrientedEdgeRoundOrientedEdge(t *testing.T) {
	var m maker
	var faces []string
	edges := map[[2]int]string{}
	var v [8]string
	for i := range v {
		v[i] = m.vertex(boxCorner(vec{}, vec{1, 2, 3}, i))
	}
	for k, c := range boxFaces {
		var loop []string
		for i := range 4 {
			a, b := c[i], c[(i+1)%4]
			e, back := edges[[2]int{b, a}], true
			if e == "" {
				e, back = m.edge(m.line(boxCorner(vec{}, vec{1, 2, 3}, a), boxCorner(vec{}, vec{1, 2, 3}, b)), v[a], v[b], true), false
				edges[[2]int{a, b}] = e
			}
			inner := m.add("ORIENTED_EDGE('',*,*,%s,%s)", e, tf(back == (k%2 == 0)))
			loop = append(loop, m.add("ORIENTED_EDGE('',*,*,%s,%s)", inner, tf(k%2 != 0)))
		}
		p := boxCorner(vec{}, vec{1, 2, 3}, c[0])
		n := boxCorner(vec{}, vec{1, 2, 3}, c[1]).Sub(p).Cross(boxCorner(vec{}, vec{1, 2, 3}, c[2]).Sub(p))
		faces = append(faces, m.face(m.plane(p, n), true, m.add("EDGE_LOOP('',(%s))", strings.Join(loop, ","))))
	}
	o := m.through(t, m.solid(faces...))
	o.sound(t, 6, 22)
}

// An edge that is none costs the faces that use it and leaves the rest.
func TestEdgeElementOfWrongType(t *testing.T) {
	var m maker
	b := m.box(1, 2, 3)
	text := m.b.String()
	i := strings.Index(text, "*,*,#")
	j := i + strings.IndexByte(text[i+5:], ',') + 5
	m.b.Reset()
	m.b.WriteString(text[:i] + "*,*,#1" + text[j:]) // #1 is a point
	o := m.through(t, b)
	o.open(t, "CARTESIAN_POINT where")
	if len(o.body.Faces) != 5 {
		t.Errorf("%d faces, want 5", len(o.body.Faces))
	}
}

// Each of the four flags, in every combination, leaves the same box.
func TestSixteenOrientations(t *testing.T) {
	every := func(on bool) func(int) bool { return func(int) bool { return on } }
	for k := range 16 {
		t.Run(fmt.Sprintf("%04b", k), func(t *testing.T) {
			var m maker
			f := flags{every(k&1 != 0), every(k&2 != 0), every(k&4 != 0), k&8 != 0}
			o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", m.shell(vec{1, 2, 3}, vec{3, 5, 7}, f)))
			o.sound(t, 24, 52)
			if v := o.mesh.Volume(); math.Abs(v-24) > 1e-9 {
				t.Errorf("volume %g, want 24", v)
			}
		})
	}
}

// Flags that are wrong in the file: faces are turned to fit their neighbours,
// the whole by its volume, and both are said.
func TestWrongFlags(t *testing.T) {
	wrong := func(turn func(string) string) outcome {
		var m maker
		b := m.box(1, 2, 3)
		text := turn(m.b.String())
		m.b.Reset()
		m.b.WriteString(text)
		return m.through(t, b)
	}
	t.Run("one face says the wrong side", func(t *testing.T) {
		o := wrong(func(s string) string { // the first face's flag alone
			i := strings.Index(s, "ADVANCED_FACE")
			return s[:i] + strings.Replace(s[i:], ",.T.)", ",.F.)", 1)
		})
		o.mended(t, 6, 22, "turned over")
	})
	t.Run("one face is turned with its loop", func(t *testing.T) {
		o := wrong(func(s string) string {
			i := strings.LastIndex(s, "FACE_OUTER_BOUND")
			return s[:i] + strings.NewReplacer(".T.);\n", ".F.);\n").Replace(s[i:])
		})
		o.mended(t, 6, 22, "turned over")
	})
	t.Run("all faces are inside out", func(t *testing.T) {
		var m maker
		s := m.shell(vec{}, vec{1, 2, 3}, plain)
		o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", m.add("ORIENTED_CLOSED_SHELL('',*,%s,.F.)", s)))
		o.mended(t, 6, 22, "inside out")
	})
	t.Run("a void is written as a solid", func(t *testing.T) {
		var m maker
		outer := m.shell(vec{}, vec{10, 10, 10}, plain)
		inner := m.shell(vec{2, 2, 2}, vec{5, 5, 5}, plain)
		o := m.through(t, m.add("BREP_WITH_VOIDS('',%s,(%s))", outer, inner))
		o.mended(t, 1000-27, 600+54, "void")
	})
	t.Run("the outside of a body with a void is inside out", func(t *testing.T) {
		var m maker
		turned := func(s string) string { return m.add("ORIENTED_CLOSED_SHELL('',*,%s,.F.)", s) }
		outer := turned(m.shell(vec{}, vec{10, 10, 10}, plain))
		inner := turned(m.shell(vec{2, 2, 2}, vec{5, 5, 5}, plain))
		o := m.through(t, m.add("BREP_WITH_VOIDS('',%s,(%s))", outer, inner))
		o.mended(t, 1000-27, 600+54, "inside out")
	})
}

// A void in its right sense, to the volume.
func TestVoidToItsVolume(t *testing.T) {
	var m maker
	outer := m.shell(vec{}, vec{10, 10, 10}, plain)
	inner := m.add("ORIENTED_CLOSED_SHELL('',*,%s,.F.)", m.shell(vec{2, 2, 2}, vec{5, 5, 5}, plain))
	o := m.through(t, m.add("BREP_WITH_VOIDS('',%s,(%s))", outer, inner))
	o.sound(t, 1000-27, 600+54)
}

// A tube's ends are rings: which loop is the outer one must follow from where
// they are, whatever the file marks.
func TestOuterBound(t *testing.T) {
	for _, c := range []struct {
		name       string
		holeFirst  bool
		outer      [2]bool // the outside, the hole is marked as FACE_OUTER_BOUND
		sameSenses bool    // the hole runs as the outside does
	}{
		{name: "none marked"},
		{name: "none marked, hole first", holeFirst: true},
		{name: "marked", outer: [2]bool{true, false}},
		{name: "marked, hole first", holeFirst: true, outer: [2]bool{true, false}},
		{name: "both marked", outer: [2]bool{true, true}},
		{name: "hole marked", outer: [2]bool{false, true}},
		{name: "hole in the outside's sense", sameSenses: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			lo, hi, li, hi2 := m.ring(10, 0, 1), m.ring(10, 50, 0), m.ring(8, 0, 0), m.ring(8, 50, 3)
			mark := func(outer bool, loop string) string {
				if outer {
					return m.add("FACE_OUTER_BOUND('',%s,.T.)", loop)
				}
				return m.bound(loop)
			}
			end := func(z float64, n vec, out, hole string) string {
				a, b := mark(c.outer[0], m.loop(out)), mark(c.outer[1], m.loop(hole))
				if c.holeFirst {
					a, b = b, a
				}
				return m.add("ADVANCED_FACE('',(%s,%s),%s,.T.)", a, b, m.plane(vec{0, 0, z}, n))
			}
			hole := li
			if c.sameSenses {
				hole = "-" + li
			}
			o := m.through(t, m.solid(
				end(0, vec{0, 0, -1}, "-"+lo, hole), end(50, ez, hi, "-"+hi2),
				m.face(m.cylinder(10), true, m.loop(lo), m.loop("-"+hi)),
				m.face(m.cylinder(8), false, m.loop("-"+li), m.loop(hi2))))
			v, a := math.Pi*36*50, 2*math.Pi*(18*50+36)
			if c.sameSenses {
				o.mended(t, v, a, "sense taken from their place")
			} else {
				o.sound(t, v, a)
			}
		})
	}
}

// Faces without bounds, or with a vertex for a bound, are whole surfaces.
func TestFacesWithoutBounds(t *testing.T) {
	const sphereV, sphereA = 4. / 3 * math.Pi * 1000, 4 * math.Pi * 100
	torus := func(m *maker) string { return m.add("TOROIDAL_SURFACE('',%s,20.,5.)", m.at(0, 0, 0)) }
	pole := func(m *maker) string { return m.add("VERTEX_LOOP('',%s)", m.vertex(vec{0, 0, -10})) }
	for _, c := range []struct {
		name         string
		face         func(m *maker) string
		volume, area float64
	}{
		{"sphere", func(m *maker) string { return m.face(m.sphere(10), true) }, sphereV, sphereA},
		{"sphere with a vertex loop", func(m *maker) string { return m.face(m.sphere(10), true, pole(m)) }, sphereV, sphereA},
		{"torus", func(m *maker) string { return m.face(torus(m), true) }, 2 * math.Pi * math.Pi * 20 * 25, 4 * math.Pi * math.Pi * 100},
		{"torus with a vertex loop", func(m *maker) string {
			return m.face(torus(m), true, m.add("VERTEX_LOOP('',%s)", m.vertex(vec{25, 0, 0})))
		}, 2 * math.Pi * math.Pi * 20 * 25, 4 * math.Pi * math.Pi * 100},
		{"sphere as a seam loop", func(m *maker) string {
			a, b := m.vertex(vec{0, 0, -10}), m.vertex(vec{0, 0, 10})
			e := m.edge(m.circle(vec{}, vec{0, -1, 0}, vec{0, 0, -1}, 10), a, b, true)
			return m.face(m.sphere(10), true, m.loop(e, "-"+e))
		}, sphereV, sphereA},
		{"sphere as a seam loop, the other way", func(m *maker) string {
			a, b := m.vertex(vec{0, 0, -10}), m.vertex(vec{0, 0, 10})
			e := m.edge(m.circle(vec{}, vec{0, -1, 0}, vec{0, 0, -1}, 10), a, b, true)
			return m.face(m.sphere(10), true, m.loop("-"+e, e))
		}, sphereV, sphereA},
		{"spline sphere as revolved arc, seam loop", func(m *maker) string {
			a, b := m.vertex(vec{0, 0, -10}), m.vertex(vec{0, 0, 10})
			arc := m.circle(vec{}, vec{0, -1, 0}, vec{0, 0, -1}, 10)
			half := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", arc, m.point(0, 0, -10), m.point(0, 0, 10))
			s := m.add("SURFACE_OF_REVOLUTION('',%s,%s)", half, m.add("AXIS1_PLACEMENT('',%s,%s)", m.point(0, 0, 0), m.dir(0, 0, 1)))
			e := m.edge(arc, a, b, true)
			return m.face(s, true, m.loop(e, "-"+e))
		}, sphereV, sphereA},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.solid(c.face(&m)))
			o.sound(t, c.volume, c.area)
		})
	}
}

// A plane has no natural bounds: without any the face is dropped and named; a
// point among its bounds is dropped alone.
func TestPlaneWithoutBounds(t *testing.T) {
	t.Run("none", func(t *testing.T) {
		var m maker
		b := m.shell(vec{}, vec{1, 2, 3}, plain)
		extra := m.face(m.plane(vec{}, ez), true)
		text := strings.Replace(m.b.String(), "CLOSED_SHELL('',(", "CLOSED_SHELL('',("+extra+",", 1)
		m.b.Reset()
		m.b.WriteString(text)
		o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", b))
		o.holds(t, 6, 22)
		o.says(t, "no bounds")
	})
	t.Run("a point among others", func(t *testing.T) {
		var m maker
		lo, hi := m.ring(5, 0, 0), m.ring(5, 8, 0)
		o := m.through(t, m.solid(
			m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo), m.add("VERTEX_LOOP('',%s)", m.vertex(vec{1, 1, 0}))),
			m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
			m.face(m.cylinder(5), true, m.loop(lo), m.loop("-"+hi))))
		o.mended(t, 200*math.Pi, 130*math.Pi, "bounded by a point")
	})
}

// What lists nothing is said and costs only itself.
func TestEmptyLists(t *testing.T) {
	t.Run("loop beside others", func(t *testing.T) {
		var m maker
		lo, hi := m.ring(5, 0, 0), m.ring(5, 8, 0)
		o := m.through(t, m.solid(
			m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo), m.loop()),
			m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
			m.face(m.cylinder(5), true, m.loop(lo), m.loop("-"+hi))))
		o.mended(t, 200*math.Pi, 130*math.Pi, "loop without edges")
	})
	t.Run("shell", func(t *testing.T) {
		var m maker
		outer := m.shell(vec{}, vec{1, 2, 3}, plain)
		o := m.through(t, m.add("BREP_WITH_VOIDS('',%s,(%s))", outer, m.add("CLOSED_SHELL('',())")))
		o.mended(t, 6, 22, "shell without faces")
	})
	t.Run("solid", func(t *testing.T) {
		var m maker
		m.shape(m.product("p"), m.context(unitMM), m.solid())
		a := m.read(t)
		if n := len(a.Parts[0].Bodies); n != 0 || len(a.Skips) == 0 {
			t.Errorf("%d bodies, skips %v", n, a.Skips)
		}
	})
	t.Run("surface model", func(t *testing.T) {
		var m maker
		m.shape(m.product("p"), m.context(unitMM), m.add("SHELL_BASED_SURFACE_MODEL('',())"))
		if a := m.read(t); len(a.Skips) == 0 {
			t.Error("nothing is said")
		}
	})
}

// A body that does not close stays an obstacle: it has triangles, and its mesh
// says that it is open.
func TestOpenShells(t *testing.T) {
	shell := func(m *maker, kind string, drop int) string {
		s := m.shell(vec{}, vec{1, 2, 3}, plain)
		text := m.b.String()
		i := strings.LastIndex(text, "CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(")
		list := strings.Split(text[i:strings.LastIndex(text, "));")], ",")
		m.b.Reset()
		m.b.WriteString(strings.Replace(text[:i], "CLOSED_SHELL", kind, 1) + strings.Join(list[drop:], ",") + "));\n")
		return s
	}
	for _, c := range []struct {
		name, kind, solid string
		drop              int
	}{
		{"closed shell with a face missing", "CLOSED_SHELL", "MANIFOLD_SOLID_BREP('',%s)", 1},
		{"solid of an open shell", "OPEN_SHELL", "MANIFOLD_SOLID_BREP('',%s)", 1},
		{"open shell of a surface model", "OPEN_SHELL", "SHELL_BASED_SURFACE_MODEL('',(%s))", 2},
		{"set of faces", "CONNECTED_FACE_SET", "FACE_BASED_SURFACE_MODEL('',(%s))", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.add(c.solid, shell(&m, c.kind, c.drop)))
			o.open(t, "")
			if len(o.body.Faces) != 6-c.drop {
				t.Errorf("%d faces, want %d", len(o.body.Faces), 6-c.drop)
			}
		})
	}
	t.Run("solid of an open shell that does close", func(t *testing.T) {
		var m maker
		o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", shell(&m, "OPEN_SHELL", 0)))
		o.sound(t, 6, 22)
	})
}

// A face that a shell lists twice is taken once; faces that share an edge three
// times over stay, and the mesh is not closed.
func TestFacesTwiceAndFins(t *testing.T) {
	t.Run("listed twice", func(t *testing.T) {
		var m maker
		s := m.shell(vec{}, vec{1, 2, 3}, plain)
		text := m.b.String()
		i := strings.LastIndex(text, "CLOSED_SHELL('',(") + len("CLOSED_SHELL('',(")
		first := strings.Split(text[i:], ",")[0]
		m.b.Reset()
		m.b.WriteString(text[:i] + first + "," + text[i:])
		o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", s))
		o.mended(t, 6, 22, "listed twice")
	})
	t.Run("fin on an edge", func(t *testing.T) {
		var m maker
		s := m.shell(vec{}, vec{1, 2, 3}, plain)
		text := m.b.String()
		i := strings.Index(text, "=EDGE_CURVE(")
		edge := text[strings.LastIndexByte(text[:i], '\n')+1 : i]
		var ends [2]string
		if _, err := fmt.Sscanf(strings.NewReplacer(",", " ").Replace(text[i+len("=EDGE_CURVE('',"):]), "%s %s", &ends[0], &ends[1]); err != nil {
			t.Fatal(err)
		}
		p, q := boxCorner(vec{}, vec{1, 2, 3}, boxFaces[0][0]), boxCorner(vec{}, vec{1, 2, 3}, boxFaces[0][1])
		tip := p.Add(vec{-1, 0, 0})
		v := m.vertex(tip)
		fin := m.face(m.plane(p, q.Sub(p).Cross(tip.Sub(p))), true,
			m.loop(edge, m.edge(m.line(q, tip), ends[1], v, true), m.edge(m.line(tip, p), v, ends[0], true)))
		text = m.b.String()
		m.b.Reset()
		m.b.WriteString(strings.Replace(text, "CLOSED_SHELL('',(", "CLOSED_SHELL('',("+fin+",", 1))
		o := m.through(t, m.add("MANIFOLD_SOLID_BREP('',%s)", s))
		o.open(t, "")
		if n := len(o.body.Faces); n != 7 {
			t.Errorf("%d faces, want 7", n)
		}
	})
}

// Constructive and swept solids are named as such.
func TestOtherSolidsAreNamed(t *testing.T) {
	for _, item := range []string{
		"BLOCK('',%s,1.,2.,3.)", "CSG_SOLID('',%s)", "EXTRUDED_AREA_SOLID('',$,%s,$,1.)", "BOOLEAN_RESULT('',.UNION.,%s,%[1]s)",
	} {
		var m maker
		b := m.box(1, 2, 3)
		s := m.add(item, m.at(0, 0, 0))
		m.shape(m.product("p"), m.context(unitMM), b, s)
		a := m.read(t)
		if len(a.Parts) == 0 || !strings.Contains(fmt.Sprint(a.Skips), "constructive or swept solids") {
			t.Errorf("%s: %v", item, a.Skips)
		}
	}
}

// A faceted body, to its volume.
func TestFacetedToItsVolume(t *testing.T) {
	var m maker
	var pt [8]string
	for i := range pt {
		p := boxCorner(vec{}, vec{1, 2, 3}, i)
		pt[i] = m.point(p[0], p[1], p[2])
	}
	var faces []string
	for _, c := range boxFaces {
		l := m.add("POLY_LOOP('',(%s,%s,%s,%s))", pt[c[0]], pt[c[1]], pt[c[2]], pt[c[3]])
		faces = append(faces, m.add("FACE('',(%s))", m.bound(l)))
	}
	o := m.through(t, m.add("FACETED_BREP('',%s)", m.add("CLOSED_SHELL('',(%s))", strings.Join(faces, ","))))
	o.sound(t, 6, 22)
}

// A vertex of a body is one vertex however many edges use it.
func TestVerticesAreShared(t *testing.T) {
	var m maker
	o := m.through(t, m.box(1, 2, 3))
	uses := map[brep.VertexIndex]int{}
	for _, e := range o.body.Edges {
		uses[e.Start]++
		uses[e.End]++
	}
	for v, n := range uses {
		if n != 3 {
			t.Errorf("vertex %d ends %d edges, want 3", v, n)
		}
	}
}
