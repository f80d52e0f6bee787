package step

import (
	"fmt"
	"math"
	"path"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
)

// carried lists what is left out by kind: the number, the first record and, with
// a star, that nothing of the shape is missing.
func carried(a *Assembly) []string {
	var out []string
	for _, s := range a.Skips {
		for _, text := range carrierTexts {
			if what, _, ok := strings.Cut(s.Why, ":"); ok && text.what != "" && strings.HasPrefix(what, text.what+" (") {
				star := ""
				if s.Aside {
					star = "*"
				}
				out = append(out, fmt.Sprintf("#%d %s%s", s.Tag, what, star))
			}
		}
	}
	return out
}

func TestCarriers(t *testing.T) {
	one := func(record string) func(m *maker) []string {
		return func(m *maker) []string { return []string{m.add("%s", record)} }
	}
	cases := []struct {
		name  string
		items func(m *maker) []string // beside a box, in the part's representation
		want  string                  // with N for the number of the first
	}{
		{"nothing", func(m *maker) []string { return nil }, ""},
		{"placements and points", one("CARTESIAN_POINT('',(0.,0.,0.))"), ""},
		{"curve set", one("GEOMETRIC_CURVE_SET('',())"), "#N wireframes or sets of curves (1)*"},
		{"wireframe", one("EDGE_BASED_WIREFRAME_MODEL('',())"), "#N wireframes or sets of curves (1)*"},
		{"bare curve", one("POLYLINE('',())"), "#N wireframes or sets of curves (1)*"},
		{"point set", one("POINT_SET('',())"), "#N points or sets of points (1)*"},
		{"tessellated solid", one("TESSELLATED_SOLID('',(),$)"), "#N tessellated copies of exact bodies (1)*"},
		{"tessellated faces", one("COMPLEX_TRIANGULATED_SURFACE_SET('',$,0,(),(),(),())"), "#N tessellated copies of exact bodies (1)*"},
		{"more tessellated than exact", func(m *maker) []string {
			return []string{m.add("TESSELLATED_SOLID('',(),$)"), m.add("TESSELLATED_SHELL('',(),$)")}
		}, "#N tessellated shapes (2)"},
		{"curved tessellated face", one("CUBIC_BEZIER_TRIANGULATED_FACE('',$,0,(),$,())"), "#N tessellated shapes (1)"},
		{"tessellated set of curves", func(m *maker) []string {
			set := m.add("TESSELLATED_CURVE_SET('',$,())")
			return []string{m.add("TESSELLATED_GEOMETRIC_SET('',(%s))", set)}
		}, "#N wireframes or sets of curves (1)*"},
		{"tessellated curves", one("TESSELLATED_CURVE_SET('',$,())"), "#N wireframes or sets of curves (1)*"},
		{"tessellated copy", func(m *maker) []string { return []string{m.add("TESSELLATED_SOLID('',(),#%d)", m.n)} }, "#N tessellated copies of exact bodies (1)*"},
		{"constructive solid", func(m *maker) []string {
			a, b := m.add("BLOCK('',$,1.,1.,1.)"), m.add("SPHERE('',1.,$)")
			return []string{m.add("CSG_SOLID('',%s)", m.add("BOOLEAN_RESULT('',.UNION.,%s,%s)", a, b))}
		}, "#N constructive or swept solids (1)"},
		{"swept solids", func(m *maker) []string {
			return []string{m.add("EXTRUDED_AREA_SOLID('',$,$,1.)"), m.add("SURFACE_CURVE_SWEPT_AREA_SOLID('',$,$,$,$)")}
		}, "#N constructive or swept solids (2)"},
		{"loose surface", one("ADVANCED_FACE('',(),$,.T.)"), "#N surfaces or faces outside of any body (1)"},
		{"something else", one("NODE_SET('',())"), "#N items that are no bodies (1)"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx := m.context(unitMM)
			items := append([]string{m.box(1, 1, 1)}, c.items(&m)...)
			m.shape(m.product("p"), ctx, items...)
			var want []string
			if c.want != "" {
				want = []string{strings.Replace(c.want, "#N", items[1], 1)}
			}
			if d := cmp.Diff(want, carried(m.read(t))); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
		})
	}
}

// What hangs under no product is named as well, operands are not.
func TestCarriersWithoutProduct(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	a, b := m.add("BLOCK('',$,1.,1.,1.)"), m.add("SPHERE('',1.,$)")
	csg := m.add("CSG_SOLID('',%s)", m.add("BOOLEAN_RESULT('',.UNION.,%s,%s)", a, b))
	wire := m.add("GEOMETRIC_CURVE_SET('',())")
	m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", csg, wire, ctx)
	want := []string{
		csg + " constructive or swept solids (1)",
		wire + " wireframes or sets of curves (1)*",
	}
	if d := cmp.Diff(want, carried(m.read(t))); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// An annotation counts once, whatever lists it and whatever it shows.
func TestAnnotationsAndTolerances(t *testing.T) {
	var m maker
	ctx, box := m.context(unitMM), m.box(1, 1, 1)
	text, curves := m.add("TEXT_LITERAL('','a',$,'',.LEFT.,$)"), m.add("GEOMETRIC_CURVE_SET('',())")
	first := m.add("ANNOTATION_TEXT_OCCURRENCE('',(),%s)", text)
	second := m.add("(ANNOTATION_CURVE_OCCURRENCE()ANNOTATION_OCCURRENCE()REPRESENTATION_ITEM('')STYLED_ITEM((),%s))", curves)
	plane := m.add("ANNOTATION_PLANE('',(),$,())")
	drawn := m.add("GEOMETRIC_CURVE_SET('',())") // in the drawing only
	m.add("DRAUGHTING_MODEL('',(%s,%s,%s,%s),%s)", first, second, curves, drawn, ctx)
	m.add("MECHANICAL_DESIGN_AND_DRAUGHTING_REPRESENTATION('',(%s),%s)", drawn, ctx)
	m.shape(m.product("p"), ctx, box, text, second)
	tol := m.add("FLATNESS_TOLERANCE('','',$,$)")
	m.add("(GEOMETRIC_TOLERANCE('','',$,$)GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE(())POSITION_TOLERANCE())")
	m.add("DATUM('',$,$,.F.,'A')")
	m.add("CONSTRUCTIVE_GEOMETRY_REPRESENTATION('',(%s,%s),%s)", plane, m.at(0, 0, 0), ctx)
	want := []string{first + " annotations (2)*", tol + " tolerances, dimensions and datums (3)*", plane + " items of construction geometry (2)*"}
	if d := cmp.Diff(want, carried(m.read(t))); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// What the real files hold beside bodies, counted in their text by grep.
func TestRealCarriers(t *testing.T) {
	want := map[string][]string{
		"nist_ctc_01_asme1_ap242-e1.stp": {"#634 wireframes or sets of curves (1)*", "#515 annotations (23)*", "#21 tolerances, dimensions and datums (21)*"},
		"nist_ctc_03_asme1_ap203.stp":    {"#4678 wireframes or sets of curves (1)*", "#3623 annotations (29)*", "#4711 items of construction geometry (5)*"},
		"nist_ftc_06_asme1_rd.stp":       {"#95 wireframes or sets of curves (1)*"},
		"io1-cm-214.stp":                 {"#7490 annotations (9)*"},
		"step_boundary_colors.stp":       {"#208 items of construction geometry (1)*"},
		"cube1.p21":                      {"#9160 wireframes or sets of curves (1)*"},
		"ATS1-out.stp":                   {"#637538251 items that are no bodies (2)"},
	}
	for _, name := range realFiles(t) {
		if d := cmp.Diff(want[path.Base(name)], carried(readReal(t, name))); d != "" {
			t.Errorf("%s (-want +got)\n%s", name, d)
		}
	}
}

// Surface models of every kind become bodies; a shell that a representation
// lists is one too, unless it bounds another body.
func TestSurfaceCarriers(t *testing.T) {
	shell := func(m *maker) string { return m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, plain) }
	cases := []struct {
		name  string
		items func(m *maker) []string
		want  int // bodies, each closed and of 1 mm³
		solid bool
	}{
		{"shell-based", func(m *maker) []string {
			return []string{m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", shell(m))}
		}, 1, false},
		{"face-based", func(m *maker) []string {
			return []string{m.add("FACE_BASED_SURFACE_MODEL('',(%s))", shell(m))}
		}, 1, false},
		{"bare shell", func(m *maker) []string { return []string{shell(m)} }, 1, false},
		{"bare shell turned round", func(m *maker) []string {
			return []string{m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, flags{never, never, never, true})}
		}, 1, false},
		{"shell beside its body", func(m *maker) []string {
			s := shell(m)
			return []string{s, m.add("MANIFOLD_SOLID_BREP('',%s)", s)}
		}, 1, true},
		{"two shells", func(m *maker) []string { return []string{shell(m), shell(m)} }, 2, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for _, product := range []bool{true, false} {
				var m maker
				ctx := m.context(unitMM)
				if items := c.items(&m); product {
					m.shape(m.product("p"), ctx, items...)
				} else {
					m.add("MANIFOLD_SURFACE_SHAPE_REPRESENTATION('',(%s),%s)", strings.Join(items, ","), ctx)
				}
				a := m.read(t)
				n := 0
				for i := range a.Parts {
					for _, b := range a.Parts[i].Bodies {
						n++
						if ms := meshed(t, b); !ms.IsClosed() || math.Abs(ms.Volume()-1) > 1e-12 || b.Solid != c.solid {
							t.Errorf("product %v: closed %v, volume %g mm³, solid %v", product, ms.IsClosed(), ms.Volume(), b.Solid)
						}
					}
				}
				if err := a.RequireBodies(); n != c.want || err != nil || product && len(a.Skips) > 0 {
					t.Errorf("product %v: %d bodies, want %d; %v, left out %+v", product, n, c.want, err, a.Skips)
				}
			}
		})
	}
}
