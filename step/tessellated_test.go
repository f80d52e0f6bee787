package step

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	solids "stepscan/geom/mesh/shape"
	"stepscan/geom/tess"
	"stepscan/step/p21"
)

// coords writes a list of coordinates.
func (m *maker) coords(points ...mgl64.Vec3) string {
	list := make([]string, len(points))
	for i, p := range points {
		list[i] = fmt.Sprintf("(%s,%s,%s)", num(p[0]), num(p[1]), num(p[2]))
	}
	return m.add("COORDINATES_LIST('',%d,(%s))", len(points), strings.Join(list, ","))
}

// rows writes lists of numbers as STEP has them.
func rows[S ~[]int](lists ...S) string {
	out := make([]string, len(lists))
	for i, l := range lists {
		out[i] = strings.ReplaceAll(strings.Trim(fmt.Sprint(l), "[]"), " ", ",")
	}
	return "(" + strings.Join(out, "),(") + ")"
}

// tessellated writes a mesh as a solid with a face of triangles for each of its
// faces, all over one list of coordinates.
func (m *maker) tessellated(ms *mesh.Mesh, link string) string {
	list := m.coords(ms.Vertices...)
	byFace := map[int32][][]int{}
	last := int32(0)
	for i, t := range ms.Triangles {
		f := ms.FaceOf[i]
		byFace[f] = append(byFace[f], []int{int(t[0]) + 1, int(t[1]) + 1, int(t[2]) + 1})
		last = max(last, f)
	}
	var faces []string
	for f := range last + 1 {
		if len(byFace[f]) > 0 {
			faces = append(faces, m.add("TRIANGULATED_FACE('',%s,%d,(),$,(),(%s))", list, len(ms.Vertices), rows(byFace[f]...)))
		}
	}
	return m.add("TESSELLATED_SOLID('',(%s),%s)", strings.Join(faces, ","), link)
}

// tetra is the corner of a cube of edge 1: volume 1/6.
func (m *maker) tetra() (list, face string) {
	list = m.coords(mgl64.Vec3{}, mgl64.Vec3{1, 0, 0}, mgl64.Vec3{0, 1, 0}, mgl64.Vec3{0, 0, 1})
	return list, m.add("TRIANGULATED_FACE('',%s,4,(),$,(),((1,3,2),(1,2,4),(1,4,3),(2,3,4)))", list)
}

// cubePoints are the corners of a box at the origin, as boxFaces numbers them.
func cubePoints(x, y, z float64) []mgl64.Vec3 {
	out := make([]mgl64.Vec3, 8)
	for i := range out {
		out[i] = boxCorner(mgl64.Vec3{}, mgl64.Vec3{x, y, z}, i)
	}
	return out
}

// meshed is a body's mesh; faults fail the test.
func meshed(t testing.TB, b *brep.Body) *mesh.Mesh {
	t.Helper()
	ms, faults := tess.Bodies(context.Background(), []*brep.Body{b}, tess.Default, 1)
	if len(faults[0]) > 0 {
		t.Errorf("faults %+v", faults[0])
	}
	return ms[0]
}

// onlyBody is the only body of an assembly in which nothing was left out.
func onlyBody(t testing.TB, a *Assembly) *brep.Body {
	t.Helper()
	if len(a.Skips) > 0 {
		t.Errorf("left out: %+v", a.Skips)
	}
	var all []*brep.Body
	for i := range a.Parts {
		all = append(all, a.Parts[i].Bodies...)
	}
	if len(all) != 1 {
		t.Fatalf("%d bodies, want 1", len(all))
	}
	return all[0]
}

// Closed forms of the same few bodies in every way of writing them.
func TestTessellatedForms(t *testing.T) {
	// strip and fan of a side: its corners round, and zigzag
	round := func(c [4]int) []int { return []int{c[0] + 1, c[1] + 1, c[2] + 1, c[3] + 1} }
	zigzag := func(c [4]int) []int { return []int{c[0] + 1, c[1] + 1, c[3] + 1, c[2] + 1} }
	cube := func(write func(m *maker, side [4]int) string) func(m *maker) string {
		return func(m *maker) string {
			var faces []string
			for _, side := range boxFaces {
				faces = append(faces, write(m, side))
			}
			return m.add("TESSELLATED_SOLID('',(%s),$)", strings.Join(faces, ","))
		}
	}
	cases := []struct {
		name   string
		build  func(m *maker) string
		unit   string
		volume float64 // mm³
		faces  int
		solid  bool
	}{
		{"tetrahedron", func(m *maker) string {
			_, f := m.tetra()
			return m.add("TESSELLATED_SOLID('',(%s),$)", f)
		}, unitMM, 1. / 6, 1, true},
		{"in metres", func(m *maker) string {
			_, f := m.tetra()
			return m.add("TESSELLATED_SOLID('',(%s),$)", f)
		}, unitM, 1e9 / 6, 1, true},
		{"in inches", func(m *maker) string {
			_, f := m.tetra()
			return m.add("TESSELLATED_SOLID('',(%s),$)", f)
		}, "inch", 25.4 * 25.4 * 25.4 / 6, 1, true},
		{"shell", func(m *maker) string {
			_, f := m.tetra()
			return m.add("TESSELLATED_SHELL('',(%s),$)", f)
		}, unitMM, 1. / 6, 1, false},
		{"bare face", func(m *maker) string {
			_, f := m.tetra()
			return f
		}, unitMM, 1. / 6, 1, false},
		{"cube of strips", cube(func(m *maker, side [4]int) string {
			return m.add("COMPLEX_TRIANGULATED_FACE('',%s,8,(),$,(),(%s),())", m.coords(cubePoints(1, 2, 3)...), rows(zigzag(side)))
		}), unitMM, 6, 6, true},
		{"cube of fans", cube(func(m *maker, side [4]int) string {
			return m.add("COMPLEX_TRIANGULATED_FACE('',%s,8,(),$,(),(),(%s))", m.coords(cubePoints(1, 2, 3)...), rows(round(side)))
		}), unitMM, 6, 6, true},
		{"cube with numbered points", cube(func(m *maker, side [4]int) string {
			return m.add("TRIANGULATED_FACE('',%s,4,((0.,0.,1.)),$,%s,((1,2,3),(1,3,4)))", m.coords(cubePoints(1, 2, 3)...), rows(round(side)))
		}), unitMM, 6, 6, true},
		{"sets in a shell", func(m *maker) string {
			list := m.coords(cubePoints(1, 2, 3)...)
			var strips, fans [][]int
			for i, side := range boxFaces {
				if i < 3 {
					strips = append(strips, zigzag(side))
				} else {
					fans = append(fans, round(side))
				}
			}
			set := m.add("COMPLEX_TRIANGULATED_SURFACE_SET('',%s,8,(),(),(%s),(%s))", list, rows(strips...), rows(fans...))
			return m.add("TESSELLATED_SHELL('',(%s),$)", set)
		}, unitMM, 6, 1, false},
		{"set of triangles", func(m *maker) string {
			list, _ := m.tetra()
			return m.add("TRIANGULATED_SURFACE_SET('',%s,4,(),(),((1,3,2),(1,2,4),(1,4,3),(2,3,4)))", list)
		}, unitMM, 1. / 6, 1, false},
		{"geometric set", func(m *maker) string {
			_, f := m.tetra()
			return m.add("TESSELLATED_GEOMETRIC_SET('',(%s,%s))", m.add("TESSELLATED_CURVE_SET('',$,())"), f)
		}, unitMM, 1. / 6, 1, false},
		{"one strip that turns", func(m *maker) string { // round the sides and over the lids, corners twice where it turns
			list := m.coords(cubePoints(1, 2, 3)...)
			f := m.add("COMPLEX_TRIANGULATED_FACE('',%s,8,(),$,(),((1,5,2,6,4,8,3,7,1,5),(1,2,3,4),(5,7,6,8)),())", list)
			return m.add("TESSELLATED_SOLID('',(%s),$)", f)
		}, unitMM, 6, 1, true},
		{"complex instances", func(m *maker) string {
			list, _ := m.tetra()
			f := m.add("(GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM('')TESSELLATED_FACE(%s,4,(),$)TESSELLATED_ITEM()TESSELLATED_STRUCTURED_ITEM()TRIANGULATED_FACE((),((1,3,2),(1,2,4),(1,4,3),(2,3,4))))", list)
			return m.add("(GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM('')TESSELLATED_ITEM()TESSELLATED_SOLID((%s),$))", f)
		}, unitMM, 1. / 6, 1, true},
		{"edges beside faces", func(m *maker) string {
			list, f := m.tetra()
			e := m.add("TESSELLATED_CONNECTING_EDGE('',%s,$,(),(),(),$)", list)
			v := m.add("TESSELLATED_VERTEX('',%s,$,1)", list)
			return m.add("TESSELLATED_SOLID('',(%s,%s,%s),$)", e, f, v)
		}, unitMM, 1. / 6, 1, true},
		{"inside out", func(m *maker) string {
			list, _ := m.tetra()
			f := m.add("TRIANGULATED_FACE('',%s,4,(),$,$,((1,2,3),(1,4,2),(1,3,4),(2,4,3)))", list)
			return m.add("TESSELLATED_SOLID('',(%s),$)", f)
		}, unitMM, 1. / 6, 1, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			unit := c.unit
			if unit == "inch" {
				unit = m.inch()
			}
			m.shape(m.product("p"), m.context(unit), c.build(&m))
			b := onlyBody(t, m.read(t))
			ms, _ := tess.Bodies(t.Context(), []*brep.Body{b}, tess.Default, 1)
			if v := ms[0].Volume(); !(math.Abs(v-c.volume) < 1e-9*c.volume) || !ms[0].IsClosed() {
				t.Errorf("closed %v, volume %.9g mm³, want %.9g", ms[0].IsClosed(), v, c.volume)
			}
			if len(b.Faces) != c.faces || b.Solid != c.solid {
				t.Errorf("%d faces, solid %v; want %d, %v", len(b.Faces), b.Solid, c.faces, c.solid)
			}
		})
	}
}

// Repositioned items stand where their placements say, in the file's units; one
// inside the other adds up.
func TestRepositionedItem(t *testing.T) {
	var m maker
	_, f := m.tetra()
	inner := m.add("(GEOMETRIC_REPRESENTATION_ITEM()REPOSITIONED_TESSELLATED_ITEM(%s)REPRESENTATION_ITEM('')TESSELLATED_GEOMETRIC_SET((%s))TESSELLATED_ITEM())",
		m.place(mgl64.Vec3{0, 0, 2}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0}), f)
	outer := m.add("(GEOMETRIC_REPRESENTATION_ITEM()REPOSITIONED_TESSELLATED_ITEM(%s)REPRESENTATION_ITEM('')TESSELLATED_GEOMETRIC_SET((%s))TESSELLATED_ITEM())", m.at(10, 0, 0), inner)
	m.shape(m.product("p"), m.context(m.inch()), outer)
	got := meshed(t, onlyBody(t, m.read(t))).Box()
	// turned by 90° about z: x to y, y to -x; then moved by (10, 0, 2) inches
	want := geom.Box{Min: mgl64.Vec3{9 * 25.4, 0, 2 * 25.4}, Max: mgl64.Vec3{10 * 25.4, 25.4, 3 * 25.4}}
	if !got.Min.ApproxEqualThreshold(want.Min, 1e-9) || !got.Max.ApproxEqualThreshold(want.Max, 1e-9) {
		t.Errorf("box %v, want %v", got, want)
	}
}

// A mirrored use is placed like any other.
func TestMirroredTessellated(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	_, f := m.tetra()
	source := m.add("TESSELLATED_SHAPE_REPRESENTATION('',(%s),%s)", m.add("TESSELLATED_SOLID('half',(%s),$)", f), ctx)
	rm := m.add("REPRESENTATION_MAP(%s,%s)", m.at(0, 0, 0), source)
	mirror := m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,$,%s)", m.dir(-1, 0, 0), m.dir(0, 1, 0), m.point(5, 0, 0), m.dir(0, 0, 1))
	m.shape(m.product("p"), ctx, m.add("MAPPED_ITEM('',%s,%s)", rm, mirror))
	a := m.read(t)
	wantSkip(t, a, "placement that mirrors")
	a.Skips = nil
	b := onlyBody(t, a)
	last := a.Occurrences[len(a.Occurrences)-1]
	if got := last.Placement.Point(mgl64.Vec3{1, 0, 0}); got != (mgl64.Vec3{4, 0, 0}) || !last.Placement.IsMirror() {
		t.Errorf("(1, 0, 0) comes to %v, want (4, 0, 0); mirror %v", got, last.Placement.IsMirror())
	}
	if v := meshed(t, b).Transformed(last.Placement).Volume(); math.Abs(v-1./6) > 1e-12 || last.Name != "half" {
		t.Errorf("%q has %g mm³, want half with 1/6", last.Name, v)
	}
}

// Never both: an exact body goes before its copy, which stands in only where
// nothing of the body can be used.
func TestTessellatedCopies(t *testing.T) {
	broken := func(m *maker) string { return m.add("MANIFOLD_SOLID_BREP('',%s)", m.add("CLOSED_SHELL('',())")) }
	solid := func(m *maker, link string) string {
		_, f := m.tetra()
		return m.add("TESSELLATED_SOLID('',(%s),%s)", f, link)
	}
	cases := []struct {
		name  string
		items func(m *maker) []string
		want  string // bodies: e exact, t tessellated
		says  string
	}{
		{"linked", func(m *maker) []string {
			b := m.box(1, 1, 1)
			return []string{solid(m, b), b}
		}, "e", ""},
		{"linked to the shell", func(m *maker) []string {
			sh := m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, flags{never, never, never, true})
			b := m.add("MANIFOLD_SOLID_BREP('',%s)", sh)
			_, f := m.tetra()
			return []string{b, m.add("TESSELLATED_SHELL('',(%s),%s)", f, sh)}
		}, "e", ""},
		{"linked only", func(m *maker) []string { return []string{solid(m, m.box(1, 1, 1))} }, "e", ""},
		{"two linked", func(m *maker) []string {
			a, b := m.box(1, 1, 1), m.box(2, 2, 2)
			return []string{a, b, solid(m, b), solid(m, a), solid(m, b)}
		}, "ee", ""},
		{"beside", func(m *maker) []string { return []string{m.box(1, 1, 1), solid(m, "$")} }, "e", ""},
		{"dangling link", func(m *maker) []string { return []string{m.box(1, 1, 1), solid(m, "#99999")} }, "e", ""},
		{"linked to what is no body", func(m *maker) []string { return []string{solid(m, m.point(0, 0, 0))} }, "t", ""},
		{"more than exact ones", func(m *maker) []string { return []string{solid(m, "$"), m.box(1, 1, 1), solid(m, "$")} }, "e", "tessellated shapes (2)"},
		{"linked to a broken one", func(m *maker) []string {
			b := broken(m)
			return []string{b, solid(m, b)}
		}, "t", "its tessellated copy stands in"},
		{"beside a broken one", func(m *maker) []string { return []string{broken(m), solid(m, "$")} }, "t", "its tessellated copy stands in"},
		{"both broken", func(m *maker) []string {
			b := broken(m)
			return []string{b, m.add("TESSELLATED_SOLID('',(),%s)", b)}
		}, "", "body without a usable face"},
		{"one of two broken", func(m *maker) []string {
			a, b := m.box(1, 1, 1), broken(m)
			return []string{a, b, solid(m, b), solid(m, a)}
		}, "et", "its tessellated copy stands in"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for _, product := range []bool{true, false} {
				var m maker
				ctx := m.context(unitMM)
				if items := c.items(&m); product {
					m.shape(m.product("p"), ctx, items...)
				} else {
					m.add("SHAPE_REPRESENTATION('',(%s),%s)", strings.Join(items, ","), ctx)
				}
				a := m.read(t)
				got := ""
				for i := range a.Parts {
					for _, b := range a.Parts[i].Bodies {
						if b.Facets == nil {
							got += "e"
						} else {
							got += "t"
						}
					}
				}
				if got != c.want {
					t.Errorf("product %v: bodies %q, want %q; %+v", product, got, c.want, a.Skips)
				}
				if c.says != "" {
					wantSkip(t, a, c.says)
				}
			}
		})
	}
}

// A copy in a representation of its own, tied by a relation, is found as well;
// faces of one representation that stand for themselves are one body.
func TestTessellatedRepresentations(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	box := m.box(1, 2, 3)
	exact := m.shape(m.product("p"), ctx, box)
	_, f := m.tetra()
	own := m.add("TESSELLATED_SHAPE_REPRESENTATION('',(%s),%s)", m.add("TESSELLATED_SOLID('',(%s),%s)", f, box), ctx)
	m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", exact, own)
	a := m.read(t)
	if len(a.Parts) != 1 || len(a.Parts[0].Bodies) != 1 || a.Parts[0].Bodies[0].Facets != nil {
		t.Errorf("%d parts, want one exact body", len(a.Parts))
	}
	for _, product := range []bool{true, false} {
		var m maker
		ctx := m.context(unitMM)
		list := m.coords(cubePoints(1, 2, 3)...)
		var faces []string
		for _, c := range boxFaces {
			faces = append(faces, m.add("TRIANGULATED_FACE('',%s,8,(),$,(),(%s))", list,
				rows([]int{c[0] + 1, c[1] + 1, c[2] + 1}, []int{c[0] + 1, c[2] + 1, c[3] + 1})))
		}
		if product {
			m.shape(m.product("p"), ctx, faces...)
		} else {
			m.add("TESSELLATED_SHAPE_REPRESENTATION('',(%s),%s)", strings.Join(faces, ","), ctx)
		}
		a := m.read(t)
		if !product {
			wantSkip(t, a, "1 bodies belong to no product")
			a.Skips = nil
		}
		b := onlyBody(t, a)
		if v := meshed(t, b).Volume(); math.Abs(v-6) > 1e-12 || len(b.Faces) != 6 {
			t.Errorf("product %v: volume %g mm³ of %d faces, want 6 of 6", product, v, len(b.Faces))
		}
	}
}

// Names, colours, layers and visibility are those of other bodies; what an
// annotation is drawn with is no body.
func TestTessellatedLooks(t *testing.T) {
	paint := func(m *maker, item string, r, g, b float64) string {
		c := m.add("COLOUR_RGB('',%s,%s,%s)", num(r), num(g), num(b))
		s := m.add("SURFACE_STYLE_USAGE(.BOTH.,%s)", m.add("SURFACE_SIDE_STYLE('',(%s))",
			m.add("SURFACE_STYLE_FILL_AREA(%s)", m.add("FILL_AREA_STYLE('',(%s))", m.add("FILL_AREA_STYLE_COLOUR('',%s)", c)))))
		return m.add("STYLED_ITEM('',(%s),%s)", m.add("PRESENTATION_STYLE_ASSIGNMENT((%s))", s), item)
	}
	var m maker
	ctx := m.context(unitMM)
	_, f1 := m.tetra()
	_, f2 := m.tetra()
	_, f3 := m.tetra()
	_, f4 := m.tetra()
	red := m.add("TESSELLATED_SOLID('red one',(%s),$)", f1)
	byFace := m.add("TESSELLATED_SHELL('green one',(%s),$)", f2)
	gone := m.add("TESSELLATED_SOLID('gone',(%s),$)", f3)
	note := m.add("TESSELLATED_GEOMETRIC_SET('',(%s))", f4)
	m.add("TESSELLATED_ANNOTATION_OCCURRENCE('',(),%s)", note)
	paint(&m, red, 1, 0, 0)
	paint(&m, f2, 0, 1, 0)
	m.add("INVISIBILITY((%s))", paint(&m, gone, 0, 0, 1))
	m.add("PRESENTATION_LAYER_ASSIGNMENT('tools','',(%s))", red)
	m.shape(m.product("p"), ctx, red, byFace, gone, note)
	a := m.read(t)
	var got []string
	for _, p := range a.Parts {
		if len(p.Bodies) > 0 {
			got = append(got, fmt.Sprintf("%s %s %v", p.Name, p.Color, p.Layers))
		}
	}
	if d := cmp.Diff([]string{"red one #ff0000 [tools]", "green one #00ff00 []"}, got); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if len(a.Hidden) != 1 || a.Hidden[0].Name != "gone" {
		t.Errorf("hidden %+v", a.Hidden)
	}
}

// What is wrong costs the triangle or the face that it is in, and is said once a
// face with its number.
func TestBadTessellated(t *testing.T) {
	const good = "((1,3,2),(1,2,4),(1,4,3),(2,3,4))"
	const points = "((0.,0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))"
	cases := []struct {
		name, list, face string // list: COORDINATES_LIST('',4,<list>)
		triangles        int
		says             string
	}{
		{"nothing", points, "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 4, ""},
		{"wrong counts", points, "TRIANGULATED_FACE('',#L,4000000,(),$,()," + good + ")", 4, ""},
		{"a normal for all", points, "TRIANGULATED_FACE('',#L,4,((0.,0.,1.)),$,()," + good + ")", 4, ""},
		{"no numbers of points", points, "TRIANGULATED_FACE('',#L,4,(),$,$," + good + ")", 4, ""},
		{"too great", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((1,3,2),(1,2,5),(1,4,99999999),(2,3,4)))", 2, "2 of 4 triangles left out: they name points that are not there"},
		{"from zero", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((0,2,1),(0,1,3),(0,3,2),(1,2,3)))", 1, "3 of 4 triangles left out"},
		{"negative", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((-1,3,2),(1,2,4)))", 1, "1 of 2 triangles left out"},
		{"numbered astray", points, "TRIANGULATED_FACE('',#L,4,(),$,(1,2,3,9),((1,3,2),(1,2,4)))", 1, "1 of 2 triangles left out"},
		{"beyond the numbered", points, "TRIANGULATED_FACE('',#L,3,(),$,(1,2,3),((1,3,2),(1,2,4)))", 1, "1 of 2 triangles left out"},
		{"of two and four", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((1,3),(1,2,4,3),(1,3,2)))", 1, "2 of 3 triangles left out: three point numbers"},
		{"not whole", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((1,3,2.5),(1,2,4)))", 1, "1 of 2 triangles left out"},
		{"no list", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((1,3,2),#L,7))", 1, "2 of 3 triangles left out"},
		{"repeated corners", points, "TRIANGULATED_FACE('',#L,4,(),$,(),((1,1,2),(1,2,4)))", 1, ""},
		{"empty", points, "TRIANGULATED_FACE('',#L,4,(),$,(),())", 0, "it has no triangle"},
		{"empty strips and fans", points, "COMPLEX_TRIANGULATED_FACE('',#L,4,(),$,(),(),())", 0, "it has no triangle"},
		{"strip of two", points, "COMPLEX_TRIANGULATED_FACE('',#L,4,(),$,(),((1,2)),((1,2,4)))", 1, "1 of 2 triangles left out"},
		{"too few parameters", points, "TRIANGULATED_FACE('',#L,4,())", 0, "face left out"},
		{"no triangles", points, "TRIANGULATED_FACE('',#L,4,(),$,())", 0, "face left out"},
		{"points of two", "((0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 1, "3 of 4 triangles left out: their points have no coordinates"},
		{"points of four", "((0.,0.,0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 1, "3 of 4 triangles left out"},
		{"infinite", "((1.E999,0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 1, "3 of 4 triangles left out"},
		{"no number", "((NAN,0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 1, "3 of 4 triangles left out"},
		{"out of all bounds", "((1.E300,0.,0.),(1.,0.,0.),(0.,1.,0.),(0.,0.,1.))", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 1, "out of all bounds"},
		{"list without points", "()", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 0, "list without coordinates"},
		{"list that is none", "7", "TRIANGULATED_FACE('',#L,4,(),$,()," + good + ")", 0, "face left out"},
		{"no list of points", points, "TRIANGULATED_FACE('',#99,4,(),$,()," + good + ")", 0, "#99 is not in the file"},
		{"another thing", points, "TRIANGULATED_FACE('',#1,4,(),$,()," + good + ")", 0, "COORDINATES_LIST is wanted"},
		{"curved", points, "CUBIC_BEZIER_TRIANGULATED_FACE('',#L,4,(),$,())", 0, "CUBIC_BEZIER_TRIANGULATED_FACE is not supported"},
		{"itself", points, "TESSELLATED_SHELL('',(#F),$)", 0, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx := m.context(unitMM)
			list := m.add("COORDINATES_LIST('',4,%s)", c.list)
			self := fmt.Sprintf("#%d", m.n+1)
			face := m.add("%s", strings.NewReplacer("#L", list, "#F", self).Replace(c.face))
			_, whole := m.tetra()
			m.shape(m.product("p"), ctx, m.add("TESSELLATED_SOLID('',(%s,%s),$)", face, whole))
			a := m.read(t)
			b := a.Parts[0].Bodies[0]
			if got := len(b.Facets.Triangles) - 4; got != c.triangles {
				t.Errorf("%d triangles, want %d", got, c.triangles)
			}
			said := 0
			for _, s := range a.Skips {
				if strings.Contains(s.Why, "taken for unset") { // said of all references
					continue
				}
				said++
				if !strings.Contains(s.Why, c.says) || fmt.Sprintf("#%d", s.Tag) != face {
					t.Errorf("#%d: %s; want %s: %q", s.Tag, s.Why, face, c.says)
				}
			}
			if want := map[bool]int{true: 0, false: 1}[c.says == ""]; said != want {
				t.Errorf("said %d times, want %d: %+v", said, want, a.Skips)
			}
		})
	}
}

// One list of coordinates for many bodies is read once: the work stays within
// what a file of its size may cost.
func TestSharedCoordinates(t *testing.T) {
	const n = 300
	var m maker
	points := make([]mgl64.Vec3, 0, 4*n)
	for i := range n {
		o := mgl64.Vec3{2 * float64(i), 0, 0}
		points = append(points, o, o.Add(mgl64.Vec3{1, 0, 0}), o.Add(mgl64.Vec3{0, 1, 0}), o.Add(mgl64.Vec3{0, 0, 1}))
	}
	list := m.coords(points...)
	var items []string
	for i := range n {
		k := 4*i + 1
		f := m.add("TRIANGULATED_FACE('',%s,4,(),$,%s,((1,3,2),(1,2,4),(1,4,3),(2,3,4)))", list, rows([]int{k, k + 1, k + 2, k + 3}))
		items = append(items, m.add("TESSELLATED_SOLID('',(%s),$)", f))
	}
	m.shape(m.product("p"), m.context(unitMM), items...)
	a := m.read(t)
	if a.SolidCount() != n || len(a.Skips) > 0 {
		t.Fatalf("%d solids, want %d; %v", a.SolidCount(), n, a.Skips)
	}
	for i := range a.Parts {
		for _, b := range a.Parts[i].Bodies {
			if len(b.Facets.Points) != 4 {
				t.Fatalf("%d points, want the 4 that the body uses", len(b.Facets.Points))
			}
		}
	}
}

// A face that is listed again and again, each time somewhere else, costs no more
// than the file's size allows.
func TestFacesWithoutEnd(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	ball := solids.Sphere(mgl64.Vec3{}, 5, 100)
	item := m.tessellated(ball, "$")
	for range 8 { // ten times as many at every level
		var again []string
		for i := range 10 {
			again = append(again, m.add("(GEOMETRIC_REPRESENTATION_ITEM()REPOSITIONED_TESSELLATED_ITEM(%s)REPRESENTATION_ITEM('')TESSELLATED_GEOMETRIC_SET((%s))TESSELLATED_ITEM())",
				m.at(float64(i), 0, 0), item))
		}
		item = m.add("TESSELLATED_GEOMETRIC_SET('',(%s))", strings.Join(again, ","))
	}
	m.shape(m.product("p"), ctx, item)
	var limit *LimitError
	if _, err := Read(t.Context(), "test.stp", m.text(), Options{}); !errors.As(err, &limit) {
		t.Errorf("error %v, want a limit", err)
	}
}

// Any mesh that is written as a tessellated solid comes back with its volume.
func TestTessellatedRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := func(name string) float64 { return rapid.Float64Range(0.1, 50).Draw(t, name) }
		z := geom.Axis{O: mgl64.Vec3{size("x"), size("y"), size("z")}, D: mgl64.Vec3{0, 0, 1}}
		n := rapid.IntRange(5, 24).Draw(t, "corners")
		r := size("radius")
		var want *mesh.Mesh
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0:
			want = solids.Box(z.O, z.O.Add(mgl64.Vec3{size("a"), size("b"), size("c")}))
		case 1:
			want = solids.Tube(z, r, r+size("wall"), size("height"), n)
		case 2:
			want = solids.Cone(z, r, 0, size("height"), n)
		case 3:
			want = solids.Torus(z, 3*r, r, n, n)
		default:
			want = solids.Sphere(z.O, r, n+n%2)
		}
		var m maker
		m.shape(m.product("p"), m.context(unitMM), m.tessellated(want, "$"))
		a, err := Read(context.Background(), "test.stp", m.text(), Options{})
		if err != nil || len(a.Skips) > 0 {
			t.Fatalf("%v, left out %v", err, a.Skips)
		}
		b := a.Parts[0].Bodies[0]
		got, _ := tess.Bodies(context.Background(), []*brep.Body{b}, tess.Default, 1)
		if v := got[0].Volume(); !(math.Abs(v-want.Volume()) <= 1e-9*want.Volume()) || !got[0].IsClosed() {
			t.Fatalf("closed %v, volume %.12g mm³, want %.12g", got[0].IsClosed(), v, want.Volume())
		}
	})
}

// TestRealTessellatedSets: the letters and arrows of a real file's annotations
// are sets of triangles in a plane of their own, placed by their item, and each
// set gives the normal that all of its triangles have where they stand: what we
// make of strips, fans and placements must look that way.
func TestRealTessellatedSets(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	src, err := os.ReadFile(filepath.Join(shared, "data", "nist", "nist_ctc_01_asme1_ap242-e1.stp"))
	if err != nil {
		t.Fatal(err)
	}
	f, err := p21.Scan(src, p21.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := newReader(t.Context(), f, Options{})
	sets, triangles := 0, 0
	for rec := range r.f.Of("REPOSITIONED_TESSELLATED_ITEM") {
		b := newBodyReader(r, shape{id: rec.ID(), u: unitless})
		body := b.readFacets([]p21.ID{rec.ID()})
		if body == nil || len(b.faults) > 0 {
			t.Fatalf("#%d: %+v", rec.ID(), b.faults)
		}
		normals := make([]mgl64.Vec3, len(body.Faces))
		for i, face := range body.Faces {
			set, _ := r.f.Lookup(p21.ID(face.Tag))
			p := set.Params()
			n := p.RealGrid(3)
			if len(n) != 1 || len(n[0]) != 3 {
				t.Fatalf("#%d: normals %v, want one", face.Tag, n)
			}
			normals[i] = mgl64.Vec3{n[0][0], n[0][1], n[0][2]}
			sets++
		}
		for i, tri := range body.Facets.Triangles {
			q := body.Facets.Points
			c := q[tri[1]].Sub(q[tri[0]]).Cross(q[tri[2]].Sub(q[tri[0]]))
			n := normals[body.Facets.FaceOf[i]]
			if l := c.Len(); l > 1e-6 && c.Dot(n) < 0.999*l {
				t.Fatalf("#%d: facet %v looks along %v, want %v", rec.ID(), tri, c.Mul(1/l), n)
			}
			triangles++
		}
	}
	if t.Logf("%d sets of %d triangles", sets, triangles); sets != 37 { // counted in the text by grep
		t.Errorf("%d sets, want 37", sets)
	}
}

// TestRealTessellatedCopy: parts of real files, meshed and written as
// tessellated solids in inches, come back with Open CASCADE's exact volume, area
// and box within what the chord explains.
func TestRealTessellatedCopy(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	const chord = 0.02
	for _, name := range []string{
		"nist/nist_ctc_01_asme1_ap242-e1.stp", "nist/nist_ctc_03_asme1_ap203.stp", "nist/nist_ftc_06_asme1_rd.stp",
		"nist/nist_ftc_11_asme1_rb.stp", "kernels/bolt.step", "kernels/cube_hole.step",
	} {
		exact, err := ReadFile(t.Context(), filepath.Join(shared, "data", filepath.FromSlash(name)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var golden struct {
			Parts []struct {
				Solids       int
				Volume, Area float64
				BBox         [6]float64
			}
		}
		raw, err := os.ReadFile(filepath.Join(shared, "oracle", "golden", strings.ReplaceAll(name, "/", "__")+".json"))
		if err == nil {
			err = json.Unmarshal(raw, &golden)
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		g := golden.Parts[0] // others are curves without a body
		var bodies []*brep.Body
		for i := range exact.Parts {
			for _, b := range exact.Parts[i].Bodies {
				if b.Solid {
					bodies = append(bodies, b)
				}
			}
		}
		if g.Solids != 1 || len(bodies) != 1 {
			t.Fatalf("%s: %d solids, want %d and 1", name, len(bodies), g.Solids)
		}
		meshes, _ := tess.Bodies(t.Context(), bodies, geom.Tolerance{Chord: chord, Angle: 0.2}, 2)
		var m maker
		var items []string
		inch := m.context(m.inch())
		for _, ms := range meshes {
			small := ms.Transformed(geom.Transform{M: mgl64.Ident3().Mul(1 / 25.4)})
			items = append(items, m.tessellated(small, "$"))
		}
		m.shape(m.product("p"), inch, items...)
		a := m.read(t)
		var sum mass.Properties
		box := geom.EmptyBox()
		faces := 0
		for i := range a.Parts {
			for _, b := range a.Parts[i].Bodies {
				ms, _ := tess.Bodies(t.Context(), []*brep.Body{b}, geom.Tolerance{Chord: chord, Angle: 0.2}, 2)
				if !ms[0].IsClosed() {
					t.Errorf("%s: open", name)
				}
				sum, box, faces = sum.Add(mass.Of(b, ms[0])), box.Union(ms[0].Box()), faces+len(b.Faces)
			}
		}
		dv, da := sum.Volume/g.Volume-1, sum.Area/g.Area-1
		off := 0.0
		for k := range 3 {
			off = max(off, math.Abs(box.Min[k]-g.BBox[k]), math.Abs(box.Max[k]-g.BBox[k+3]))
		}
		t.Logf("%s: %d faces, volume %+.4f %%, area %+.4f %%, box within %.3g mm", name, faces, 100*dv, 100*da, off)
		if limit := chord * g.Area / g.Volume; math.Abs(dv) > limit || math.Abs(da) > 0.005 || off > chord {
			t.Errorf("%s: volume %+.4f %% (limit %.4f), area %+.4f %%, box %.3g mm off", name, 100*dv, 100*limit, 100*da, off)
		}
	}
}

// BenchmarkTessellated reads a ball of 40,000 triangles.
func BenchmarkTessellated(b *testing.B) {
	var m maker
	ball := solids.Sphere(mgl64.Vec3{}, 50, 200)
	m.shape(m.product("p"), m.context(unitMM), m.tessellated(ball, "$"))
	src := m.text()
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(b.Context(), "test.stp", src, Options{Jobs: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
