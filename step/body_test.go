package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/curve"
	"stepscan/step/p21"
)

// However the four orientation flags are set, a box is the same box: its
// volume is positive, normals point outward and edges run as they say.
func TestOrientationFlags(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		bits := func(name string) func(int) bool {
			x := rapid.Uint16().Draw(rt, name)
			return func(i int) bool { return x>>i&1 == 1 }
		}
		f := flags{bits("edges"), bits("bounds"), bits("faces"), rapid.Bool().Draw(rt, "shell")}
		var m maker
		ctx := m.context(unitMM)
		s := m.add("MANIFOLD_SOLID_BREP('b',%s)", m.shell(mgl64.Vec3{1, 2, 3}, mgl64.Vec3{3, 5, 7}, f))
		m.shape(m.product("p"), ctx, s)
		b := m.read(t).Parts[0].Bodies[0]
		if len(b.Faces) != 6 || len(b.Edges) != 12 || len(b.Vertices) != 8 {
			rt.Fatalf("%d faces, %d edges, %d vertices", len(b.Faces), len(b.Edges), len(b.Vertices))
		}
		if v := flatVolume(b); math.Abs(v-24) > 1e-9 {
			rt.Fatalf("volume %g, want 24", v)
		}
		if !normalsAgree(b) {
			rt.Fatal("a normal points inward")
		}
		if !linesAgree(b) {
			rt.Fatal("an edge runs against its flag")
		}
		checkBody(t, b)
	})
}

func TestVoids(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	outer := m.shell(mgl64.Vec3{}, mgl64.Vec3{10, 10, 10}, plain)
	// The void is written as a box of its own, turned round by its .F.
	inner := m.add("ORIENTED_CLOSED_SHELL('',*,%s,.F.)", m.shell(mgl64.Vec3{2, 2, 2}, mgl64.Vec3{5, 5, 5}, plain))
	m.shape(m.product("p"), ctx, m.add("BREP_WITH_VOIDS('',%s,(%s))", outer, inner))
	b := m.read(t).Parts[0].Bodies[0]
	if v := flatVolume(b); math.Abs(v-(1000-27)) > 1e-9 {
		t.Errorf("volume %g, want 973", v)
	}
	if len(b.Shells) != 2 || b.Shells[0].Void || !b.Shells[1].Void || !b.Shells[1].Closed {
		t.Errorf("shells %+v", b.Shells)
	}
	if !normalsAgree(b) {
		t.Error("a normal points into the material")
	}
}

// A faceted box has polygons for loops, with and without planes given.
func TestFaceted(t *testing.T) {
	for _, bare := range []bool{false, true} {
		t.Run(fmt.Sprintf("without planes %v", bare), func(t *testing.T) {
			var m maker
			ctx := m.context(unitMM)
			lo, hi := mgl64.Vec3{}, mgl64.Vec3{1, 2, 3}
			var pt [8]string
			for i := range pt {
				p := boxCorner(lo, hi, i)
				pt[i] = m.point(p[0], p[1], p[2])
			}
			var faces []string
			for _, c := range boxFaces {
				b := m.add("FACE_OUTER_BOUND('',%s,.T.)", m.add("POLY_LOOP('',(%s,%s,%s,%s))", pt[c[0]], pt[c[1]], pt[c[2]], pt[c[3]]))
				p0, p1, p2 := boxCorner(lo, hi, c[0]), boxCorner(lo, hi, c[1]), boxCorner(lo, hi, c[2])
				if bare {
					faces = append(faces, m.add("FACE('',(%s))", b))
				} else {
					pl := m.add("PLANE('',%s)", m.place(p0, p1.Sub(p0).Cross(p2.Sub(p1)), p1.Sub(p0)))
					faces = append(faces, m.add("FACE_SURFACE('',(%s),%s,.T.)", b, pl))
				}
			}
			s := m.add("FACETED_BREP('',%s)", m.add("CLOSED_SHELL('',(%s))", strings.Join(faces, ",")))
			m.shape(m.product("p"), ctx, s)
			b := m.read(t).Parts[0].Bodies[0]
			if v := flatVolume(b); math.Abs(v-6) > 1e-9 || len(b.Edges) != 12 || !normalsAgree(b) || !linesAgree(b) || !b.Solid {
				t.Errorf("volume %g (want 6), %d edges (want 12)", v, len(b.Edges))
			}
		})
	}
}

func TestSurfaceModel(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	sh := m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, plain)
	m.shape(m.product("p"), ctx, m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", sh))
	a := m.read(t)
	if b := a.Parts[0].Bodies[0]; b.Solid || len(b.Faces) != 6 {
		t.Errorf("solid %v with %d faces, want a surface model with 6", b.Solid, len(b.Faces))
	}
	if a.SolidCount() != 0 || a.RequireBodies() != nil {
		t.Error("a surface model counts as a solid, or as nothing")
	}
}

// One face that cannot be read costs that face, and says so.
func TestBadFaceCostsOnlyItself(t *testing.T) {
	good := func() string {
		var m maker
		m.shape(m.product("p"), m.context(unitMM), m.box(1, 2, 3))
		return string(m.text())
	}()
	first := func(kind string) string { // the first record of a kind, whole
		i := strings.Index(good, "="+kind+"(")
		from := strings.LastIndexByte(good[:i], '\n') + 1
		return good[from : from+strings.IndexByte(good[from:], '\n')]
	}
	cases := []struct {
		name, old, new, why string
		lost                int
	}{
		{"unknown surface", first("PLANE"), strings.Replace(first("PLANE"), "PLANE", "TRULY_ODD_SURFACE", 1), "TRULY_ODD_SURFACE is not supported", 1},
		{"missing surface", first("PLANE"), "", "is not in the file", 1},
		{"too few parameters", first("PLANE"), strings.Split(first("PLANE"), ",")[0] + ");", "only 1 parameters", 1},
		{"unknown curve", first("LINE"), strings.Replace(first("LINE"), "LINE", "TRULY_ODD_CURVE", 1), "TRULY_ODD_CURVE is not supported", 2},
		{"number too large", first("CARTESIAN_POINT"), strings.Replace(first("CARTESIAN_POINT"), "0.", "1E999", 1), "expected up to three numbers", 3},
		{"vector without length", first("VECTOR"), strings.Replace(first("VECTOR"), "1.)", "0.)", 1), "without length", 2},
		{"vertex that is a point", first("VERTEX_POINT"), strings.Replace(first("VERTEX_POINT"), "VERTEX_POINT", "CARTESIAN_POINT", 1), "where VERTEX_POINT is wanted", 3},
		{"loop without edges", first("EDGE_LOOP"), strings.Split(first("EDGE_LOOP"), "(")[0] + "('',());", "loop without edges", 1},
		{"edge round itself", first("ORIENTED_EDGE"), strings.ReplaceAll(first("ORIENTED_EDGE"), "*,*,#", "*,*,"+strings.Split(first("ORIENTED_EDGE"), "=")[0]+"/*")[:len(first("ORIENTED_EDGE"))] + "*/,.T.);", "circle", 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			src := strings.Replace(good, c.old, c.new, 1)
			a, err := Read(t.Context(), "bad.stp", []byte(src), Options{})
			if err != nil {
				t.Fatal(err)
			}
			faces := 0
			for _, p := range a.Parts {
				for _, b := range p.Bodies {
					faces += len(b.Faces)
				}
			}
			told := 0
			for _, s := range a.Skips {
				if strings.Contains(s.Why, "face left out") && strings.Contains(s.Why, c.why) && s.Tag > 0 && s.Pos.Line > 0 {
					told++
				}
			}
			if faces != 6-c.lost || told != c.lost {
				t.Errorf("%d faces read and %d told as left out for %q, want %d and %d; skips %+v", faces, told, c.why, 6-c.lost, c.lost, a.Skips)
			}
		})
	}
}

// oneCurve reads a single curve out of records.
func oneCurve(t testing.TB, ext extent, rad float64, build func(m *maker) string) (curve.Curve, bool, error) {
	t.Helper()
	var m maker
	id := build(&m)
	f, err := p21.Scan(m.text(), p21.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var n p21.ID
	if _, err := fmt.Sscanf(id, "#%d", &n); err != nil {
		t.Fatal(err)
	}
	u := unitless
	u.rad = rad
	g := geometry{r: newReader(t.Context(), f, Options{}), u: u}
	return g.curve(n, 0, ext)
}

// One and the same Bézier arc, written in every form that B-splines have.
func TestSplineForms(t *testing.T) {
	poles := func(m *maker) string {
		return "(" + strings.Join([]string{m.point(0, 0, 0), m.point(1, 2, 0), m.point(3, 3, 1), m.point(4, 0, 0)}, ",") + ")"
	}
	forms := map[string]string{
		"with knots":            "B_SPLINE_CURVE_WITH_KNOTS('',3,%s,.UNSPECIFIED.,.F.,.F.,(4,4),(0.,1.),.UNSPECIFIED.)",
		"degree as a real":      "B_SPLINE_CURVE_WITH_KNOTS('',3.,%s,.UNSPECIFIED.,.F.,.U.,(4,4),(0,1),.UNSPECIFIED.)",
		"ends one short":        "B_SPLINE_CURVE_WITH_KNOTS('',3,%s,.UNSPECIFIED.,.F.,.F.,(3,3),(0.,1.),.UNSPECIFIED.)",
		"Bézier":                "BEZIER_CURVE('',3,%s,.UNSPECIFIED.,.F.,.F.)",
		"quasi-uniform":         "QUASI_UNIFORM_CURVE('',3,%s,.UNSPECIFIED.,.F.,.F.)",
		"complex":               "(BOUNDED_CURVE()B_SPLINE_CURVE(3,%s,.UNSPECIFIED.,.F.,.F.)B_SPLINE_CURVE_WITH_KNOTS((4,4),(0.,1.),.UNSPECIFIED.)CURVE()GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM(''))",
		"rational, equal":       "(RATIONAL_B_SPLINE_CURVE((2.,2.,2.,2.))B_SPLINE_CURVE(3,%s,.UNSPECIFIED.,.F.,.F.)B_SPLINE_CURVE_WITH_KNOTS((4,4),(0.,1.),.UNSPECIFIED.)REPRESENTATION_ITEM(''))",
		"rational quasi":        "(B_SPLINE_CURVE(3,%s,.UNSPECIFIED.,.F.,.F.)QUASI_UNIFORM_CURVE()RATIONAL_B_SPLINE_CURVE((1.,1.,1.,1.)))",
		"in a surface curve":    "BEZIER_CURVE('',3,%s,.UNSPECIFIED.,.F.,.F.)",
		"lower case":            "bezier_curve('',3,%s,.unspecified.,.f.,.f.)",
		"complex without leafs": "(B_SPLINE_CURVE(3,%s,.UNSPECIFIED.,.F.,.F.)BEZIER_CURVE())",
	}
	for name, form := range forms {
		t.Run(name, func(t *testing.T) {
			c, _, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
				id := m.add(form, poles(m))
				if name == "in a surface curve" {
					return m.add("SURFACE_CURVE('',%s,(#1),.PCURVE_S1.)", id)
				}
				return id
			})
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range []float64{0, 0.25, 0.5, 1} {
				q := 1 - s
				b := [4]float64{q * q * q, 3 * q * q * s, 3 * q * s * s, s * s * s} // Bernstein
				want := mgl64.Vec3{b[1] + 3*b[2] + 4*b[3], 2*b[1] + 3*b[2], b[2]}
				if got := c.Point(s); got.Sub(want).Len() > 1e-12 {
					t.Errorf("at %g: %v, want %v", s, got, want)
				}
			}
		})
	}
}

func TestBadSplines(t *testing.T) {
	for name, form := range map[string]string{
		"multiplicities too few":  "B_SPLINE_CURVE_WITH_KNOTS('',3,(#1,#1,#2,#2),.U.,.F.,.F.,(4,1),(0.,1.),.U.)",
		"multiplicity huge":       "B_SPLINE_CURVE_WITH_KNOTS('',3,(#1,#1,#2,#2),.U.,.F.,.F.,(4,1000000000),(0.,1.),.U.)",
		"multiplicity negative":   "B_SPLINE_CURVE_WITH_KNOTS('',3,(#1,#1,#2,#2),.U.,.F.,.F.,(12,-4),(0.,1.),.U.)",
		"knots fall":              "B_SPLINE_CURVE_WITH_KNOTS('',3,(#1,#1,#2,#2),.U.,.F.,.F.,(4,4),(1.,0.),.U.)",
		"degree huge":             "B_SPLINE_CURVE_WITH_KNOTS('',2000000000,(#1,#1,#2,#2),.U.,.F.,.F.,(4,4),(0.,1.),.U.)",
		"degree negative":         "BEZIER_CURVE('',-1,(#1,#2),.U.,.F.,.F.)",
		"no poles":                "BEZIER_CURVE('',3,(),.U.,.F.,.F.)",
		"pole missing":            "BEZIER_CURVE('',1,(#1,#99),.U.,.F.,.F.)",
		"weights too few":         "(B_SPLINE_CURVE(1,(#1,#2),.U.,.F.,.F.)BEZIER_CURVE()RATIONAL_B_SPLINE_CURVE((1.)))",
		"weight zero":             "(B_SPLINE_CURVE(1,(#1,#2),.U.,.F.,.F.)BEZIER_CURVE()RATIONAL_B_SPLINE_CURVE((1.,0.)))",
		"no base leaf":            "(BEZIER_CURVE()RATIONAL_B_SPLINE_CURVE((1.,0.)))",
		"trimmed round itself":    "TRIMMED_CURVE('',#3,(#1),(#2),.T.,.CARTESIAN.)",
		"composite round itself":  "COMPOSITE_CURVE('',(#4),.F.)",
		"circle without radius":   "CIRCLE('',#5,0.)",
		"circle negative":         "CIRCLE('',#5,-1.)",
		"ellipse without b":       "ELLIPSE('',#5,1.)",
		"polyline of one point":   "POLYLINE('',(#1))",
		"surface curve, no curve": "SURFACE_CURVE('',$,(),.CURVE_3D.)",
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
				m.point(0, 0, 0)
				m.point(1, 0, 0)
				id := m.add(form, []any{}...)
				m.add("COMPOSITE_CURVE_SEGMENT(.CONTINUOUS.,.T.,#3)")
				m.add("AXIS2_PLACEMENT_3D('',#1,$,$)")
				return id
			})
			if err == nil {
				t.Error("read without a fault")
			}
		})
	}
}

// Trims by parameter and by point, with and against the curve, in radians and
// in degrees, all make the same arc from start to end.
func TestTrimmedArcs(t *testing.T) {
	const r = 2.0
	at := func(deg float64) mgl64.Vec3 {
		s, c := math.Sincos(deg * math.Pi / 180)
		return mgl64.Vec3{r * c, r * s, 0}
	}
	pt := func(m *maker, deg float64) string { p := at(deg); return m.point(p[0], p[1], p[2]) }
	for _, c := range []struct {
		name      string
		from, to  float64 // degrees
		sense     bool
		mid       float64
		degrees   bool
		byParam   bool
		bothTrims bool
	}{
		{name: "points", from: 10, to: 100, sense: true, mid: 55},
		{name: "points over zero", from: 350, to: 20, sense: true, mid: 5},
		{name: "points, against", from: 100, to: 10, sense: false, mid: 55},
		{name: "points, against over zero", from: 20, to: 350, sense: false, mid: 5},
		{name: "the long way", from: 10, to: 100, sense: false, mid: 235},
		{name: "parameters in radians", from: 10, to: 100, sense: true, mid: 55, byParam: true},
		{name: "parameters in degrees", from: 10, to: 100, sense: true, mid: 55, byParam: true, degrees: true},
		{name: "both, parameters wrong", from: 10, to: 100, sense: true, mid: 55, bothTrims: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			rad := 1.0
			if c.degrees {
				rad = math.Pi / 180
			}
			got, turned, err := oneCurve(t, asTrimmed, rad, func(m *maker) string {
				circle := m.add("CIRCLE('',%s,%s)", m.at(0, 0, 0), num(r))
				trim := func(deg float64) string {
					switch {
					case c.byParam:
						return fmt.Sprintf("PARAMETER_VALUE(%s)", num(deg*math.Pi/180/rad))
					case c.bothTrims:
						return fmt.Sprintf("PARAMETER_VALUE(77.),%s", pt(m, deg))
					}
					return pt(m, deg)
				}
				return m.add("TRIMMED_CURVE('',%s,(%s),(%s),%s,.PARAMETER.)", circle, trim(c.from), trim(c.to), tf(c.sense))
			})
			if err != nil || turned {
				t.Fatalf("turned %v, error %v", turned, err)
			}
			t0, t1 := got.Domain()
			for _, w := range []struct{ t, deg float64 }{{t0, c.from}, {(t0 + t1) / 2, c.mid}, {t1, c.to}} {
				if p := got.Point(w.t); p.Sub(at(w.deg)).Len() > 1e-9 {
					t.Errorf("at %g: %v, want %v", w.t, p, at(w.deg))
				}
			}
		})
	}
}
