package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"stepscan/geom/surface"
	"stepscan/step/p21"
)

// rod writes a straight rod of radius r, height 8, whose side is any surface
// that is that cylinder; same is the side's sense.
func (m *maker) rod(r float64, side string, same bool) string {
	lo, hi := m.ring(r, 0, 0), m.ring(r, 8, 2)
	return m.solid(
		m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo)),
		m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
		m.face(side, same, m.loop(lo), m.loop("-"+hi)))
}

func (m *maker) axis() string {
	return m.add("AXIS1_PLACEMENT('',%s,%s)", m.point(0, 0, 0), m.dir(0, 0, 1))
}

func (m *maker) vector(d vec, k float64) string {
	return m.add("VECTOR('',%s,%s)", m.dir(d[0], d[1], d[2]), num(k))
}

// splineSide is a rational B-spline cylinder of radius r from z = 0 to 8.
func (m *maker) splineSide(r float64, closed string) string {
	at := [][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}, {1, 0}}
	var rows, weights []string
	for i, p := range at {
		rows = append(rows, fmt.Sprintf("(%s,%s)", m.point(r*p[0], r*p[1], 0), m.point(r*p[0], r*p[1], 8)))
		w := num([]float64{1, math.Sqrt2 / 2}[i%2])
		weights = append(weights, fmt.Sprintf("(%s,%s)", w, w))
	}
	return m.add("(BOUNDED_SURFACE()B_SPLINE_SURFACE(2,1,(%s),.UNSPECIFIED.,%s,.F.,.F.)B_SPLINE_SURFACE_WITH_KNOTS((3,2,2,2,3),(2,2),(0.,1.,2.,3.,4.),(0.,1.),.UNSPECIFIED.)GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_SURFACE((%s))REPRESENTATION_ITEM('')SURFACE())",
		strings.Join(rows, ","), closed, strings.Join(weights, ","))
}

// One cylinder in many words, none with a seam edge: a rod's side.
func TestSidesOfARod(t *testing.T) {
	for _, c := range []struct {
		name string
		same bool
		side func(m *maker) string
		kind string // of the surface that is recognised
	}{
		{"cylinder", true, func(m *maker) string { return m.cylinder(5) }, "Cylinder"},
		{"extruded circle", true, func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 5), m.vector(ez, 3))
		}, "Cylinder"},
		{"extruded circle, downwards", false, func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 5), m.vector(vec{0, 0, -1}, 3))
		}, "Cylinder"},
		{"turned line", true, func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.line(vec{5, 0, 0}, vec{5, 0, 1}), m.axis())
		}, "Cylinder"},
		{"turned line, downwards", false, func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.line(vec{0, 5, 8}, vec{0, 5, 1}), m.axis())
		}, "Cylinder"},
		{"offset of a thinner one", true, func(m *maker) string {
			return m.add("OFFSET_SURFACE('',%s,2.,.F.)", m.cylinder(3))
		}, "Cylinder"},
		{"offset of a thicker one", true, func(m *maker) string {
			return m.add("OFFSET_SURFACE('',%s,-2.,.F.)", m.cylinder(7))
		}, "Cylinder"},
		{"offset of a rational spline", true, func(m *maker) string {
			return m.add("OFFSET_SURFACE('',%s,1.,.F.)", m.splineSide(4, ".T."))
		}, "Cylinder"},
		{"trimmed cylinder", true, func(m *maker) string {
			return m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,6.283185307179586,0.,8.,.T.,.T.)", m.cylinder(5))
		}, "Cylinder"},
		{"trimmed cylinder, turned", false, func(m *maker) string {
			return m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,6.283185307179586,8.,0.,.T.,.F.)", m.cylinder(5))
		}, "Cylinder"},
		{"bounded by curves", true, func(m *maker) string {
			return m.add("CURVE_BOUNDED_SURFACE('',%s,(),.F.)", m.cylinder(5))
		}, "Cylinder"},
		{"composite of one patch", true, func(m *maker) string {
			p := m.add("SURFACE_PATCH(%s,.CONTINUOUS.,.CONTINUOUS.,.T.,.T.)", m.splineSide(5, ".T."))
			return m.add("RECTANGULAR_COMPOSITE_SURFACE('',((%s)))", p)
		}, "Cylinder"},
		{"composite of two patches of one cylinder", true, func(m *maker) string {
			patch := func(v0, v1 string) string {
				c := m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,6.283185307179586,%s,%s,.T.,.T.)", m.cylinder(5), v0, v1)
				return m.add("SURFACE_PATCH(%s,.CONTINUOUS.,.CONTINUOUS.,.T.,.T.)", c)
			}
			return m.add("RECTANGULAR_COMPOSITE_SURFACE('',((%s,%s)))", patch("0.", "4."), patch("4.", "8."))
		}, "Cylinder"},
		{"spline that says it is closed", true, func(m *maker) string { return m.splineSide(5, ".T.") }, "Cylinder"},
		{"spline closed but not declared", true, func(m *maker) string { return m.splineSide(5, ".F.") }, "Cylinder"},
		{"spline that does not know", true, func(m *maker) string { return m.splineSide(5, ".U.") }, "Cylinder"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.rod(5, c.side(&m), c.same))
			o.sound(t, 200*math.Pi, 130*math.Pi)
			k, _, ok := surface.Canonical(o.body.Faces[2].Surface, 1e-4)
			if got := fmt.Sprintf("%T", k); !ok || !strings.HasSuffix(got, "."+c.kind) {
				t.Errorf("recognised as %s (%v), want %s", got, ok, c.kind)
			}
		})
	}
}

// Patches of different surfaces can stand side by side only where each ends.
func TestCompositeOfEndlessSurfacesIsNamed(t *testing.T) {
	var m maker
	patch := func(s string) string { return m.add("SURFACE_PATCH(%s,.CONTINUOUS.,.CONTINUOUS.,.T.,.T.)", s) }
	s := m.add("RECTANGULAR_COMPOSITE_SURFACE('',((%s,%s)))", patch(m.cylinder(5)), patch(m.cylinder(6)))
	o := m.through(t, m.rod(5, s, true))
	o.open(t, "RECTANGULAR_COMPOSITE_SURFACE is not supported")
}

// Recognised surfaces of the other elementary kinds.
func TestTurnedAndPulledKinds(t *testing.T) {
	for _, c := range []struct {
		kind string
		side func(m *maker) string
	}{
		{"Plane", func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.line(vec{}, ex), m.vector(ey, 1))
		}},
		{"Plane", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.line(vec{1, 0, 3}, vec{2, 0, 3}), m.axis())
		}},
		{"Cone", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.line(vec{5, 0, 0}, vec{6, 0, 2}), m.axis())
		}},
		{"Sphere", func(m *maker) string {
			half := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", m.circle(vec{}, vec{0, -1, 0}, ex, 5), m.point(0, 0, -5), m.point(0, 0, 5))
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", half, m.axis())
		}},
		{"Sphere", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.circle(vec{}, ey, ex, 5), m.axis())
		}},
		{"Sphere", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.circle(vec{0, 0, 3}, ey, ez, 5), m.axis())
		}},
		{"Torus", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.circle(vec{20, 0, 0}, ey, ex, 5), m.axis())
		}},
	} {
		t.Run(c.kind, func(t *testing.T) {
			var m maker
			c.side(&m)
			k, _, ok := surface.Canonical(oneSurface(t, &m), 1e-4)
			if got := fmt.Sprintf("%T", k); !ok || !strings.HasSuffix(got, "."+c.kind) {
				t.Errorf("recognised as %s (%v), want %s", got, ok, c.kind)
			}
		})
	}
}

// turned writes a solid of revolution from a closed profile of a curve with
// both ends on the axis.
func (m *maker) turned(profile string) string {
	return m.solid(m.face(m.add("SURFACE_OF_REVOLUTION('',%s,%s)", profile, m.axis()), true))
}

// A curve that meets the axis is turned to a pole.
func TestRevolutionToPoles(t *testing.T) {
	t.Run("half circle", func(t *testing.T) {
		var m maker
		arc := m.circle(vec{}, vec{0, -1, 0}, vec{0, 0, -1}, 5) // from the lower end by +x
		o := m.through(t, m.turned(m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", arc, m.point(0, 0, -5), m.point(0, 0, 5))))
		o.sound(t, 4./3*math.Pi*125, 4*math.Pi*25)
	})
	t.Run("polyline", func(t *testing.T) { // two cones, base to base
		var m maker
		o := m.through(t, m.turned(m.add("POLYLINE('',(%s,%s,%s))", m.point(0, 0, 0), m.point(4, 0, 3), m.point(0, 0, 6))))
		o.sound(t, 2*math.Pi*16, 2*math.Pi*4*5)
	})
	t.Run("spline", func(t *testing.T) { // r = 4 s (1-s)·..., z = 6 s: ∫ π r² dz
		var m maker
		b := m.add("BEZIER_CURVE('',2,(%s,%s,%s),.UNSPECIFIED.,.F.,.F.)", m.point(0, 0, 0), m.point(8, 0, 3), m.point(0, 0, 6))
		o := m.through(t, m.turned(b)) // r = 16 s (1-s): ∫ r² ds = 256/30
		o.sound(t, math.Pi*256/30*6, 0)
	})
}

// A line that crosses the axis makes both halves of a cone, a circle round a
// point of the axis is taken for its half: turned, that is the whole sphere.
func TestRevolutionAcrossTheAxis(t *testing.T) {
	for _, c := range []struct {
		name   string
		curve  func(m *maker) string
		r, z   float64 // of the face's rim
		same   bool
		volume float64
	}{
		{"cone above", func(m *maker) string { return m.line(vec{-5, 0, -5}, vec{5, 0, 5}) }, 4, 4, true, math.Pi * 64 / 3},
		{"cone below", func(m *maker) string { return m.line(vec{-5, 0, -5}, vec{5, 0, 5}) }, 4, -4, true, math.Pi * 64 / 3},
		{"dome above", func(m *maker) string { return m.circle(vec{}, vec{0, -1, 0}, ex, 5) }, 4, 3, true, math.Pi * 4 * (15 - 2) / 3},
		{"dome below", func(m *maker) string { return m.circle(vec{}, vec{0, -1, 0}, ex, 5) }, 4, -3, true, math.Pi * 4 * (15 - 2) / 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			side := m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c.curve(&m), m.axis())
			rim := m.ring(c.r, c.z, 1)
			out := vec{0, 0, math.Copysign(1, c.z)}
			lid, rest := rim, "-"+rim
			if c.z < 0 != (c.name[:4] == "dome") {
				lid, rest = rest, lid
			}
			if c.name[:4] == "dome" {
				out = out.Mul(-1)
			}
			o := m.through(t, m.solid(m.face(m.plane(vec{0, 0, c.z}, out), true, m.loop(lid)), m.face(side, c.same, m.loop(rest))))
			o.sound(t, c.volume, 0)
		})
	}
}

// Sweeps that make no surface cost their face, which is named.
func TestSweepsThatMakeNoSurface(t *testing.T) {
	for _, c := range []struct {
		name, why string
		side      func(m *maker) string
	}{
		{"line pulled along itself", "along itself", func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.line(vec{5, 0, 0}, vec{5, 0, 1}), m.vector(ez, 1))
		}},
		{"vector of no length", "without length", func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 5), m.vector(ez, 0))
		}},
		{"direction of no length", "without length", func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 5), m.vector(vec{}, 1))
		}},
		{"line turned about itself", "on its axis", func(m *maker) string {
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", m.line(vec{}, ez), m.axis())
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.rod(5, c.side(&m), true))
			o.open(t, c.why)
			if len(o.body.Faces) != 2 {
				t.Errorf("%d faces, want the two ends", len(o.body.Faces))
			}
		})
	}
}

// B-spline surfaces that are not well formed.
func TestSplineSurfacesMended(t *testing.T) {
	grid := func(m *maker) string {
		return fmt.Sprintf("((%s,%s),(%s,%s))", m.point(0, 0, 0), m.point(0, 3, 0), m.point(4, 0, 0), m.point(4, 3, 0))
	}
	for _, c := range []struct {
		name, form string
		ok         bool
	}{
		{"ends one short", "B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.U.,.F.,.F.,.F.,(1,1),(1,1),(0.,1.),(0.,1.),.U.)", true},
		{"ends one too many", "B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.U.,.F.,.F.,.F.,(3,3),(2,2),(0.,1.),(0.,1.),.U.)", true},
		{"quasi-uniform", "QUASI_UNIFORM_SURFACE('',1,1,%s,.U.,.F.,.F.,.F.)", true},
		{"called closed", "B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.U.,.T.,.T.,.F.,(2,2),(2,2),(0.,1.),(0.,1.),.U.)", true},
		{"knots fall", "B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.U.,.F.,.F.,.F.,(2,2),(2,2),(1.,0.),(0.,1.),.U.)", false},
		{"too many knots", "B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.U.,.F.,.F.,.F.,(2,1,1,2),(2,2),(0.,1.,2.,3.),(0.,1.),.U.)", false},
		{"weight zero", "(B_SPLINE_SURFACE(1,1,%s,.U.,.F.,.F.,.F.)B_SPLINE_SURFACE_WITH_KNOTS((2,2),(2,2),(0.,1.),(0.,1.),.U.)RATIONAL_B_SPLINE_SURFACE(((1.,0.),(1.,1.))))", false},
		{"weight negative", "(B_SPLINE_SURFACE(1,1,%s,.U.,.F.,.F.,.F.)B_SPLINE_SURFACE_WITH_KNOTS((2,2),(2,2),(0.,1.),(0.,1.),.U.)RATIONAL_B_SPLINE_SURFACE(((1.,-1.),(1.,1.))))", false},
		{"weights of wrong count", "(B_SPLINE_SURFACE(1,1,%s,.U.,.F.,.F.,.F.)B_SPLINE_SURFACE_WITH_KNOTS((2,2),(2,2),(0.,1.),(0.,1.),.U.)RATIONAL_B_SPLINE_SURFACE(((1.,1.))))", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			s := m.add(c.form, grid(&m))
			p := []vec{{0, 0, 0}, {4, 0, 0}, {4, 3, 0}, {0, 3, 0}}
			var v, e []string
			for _, q := range p {
				v = append(v, m.vertex(q))
			}
			for i := range p {
				e = append(e, m.edge(m.line(p[i], p[(i+1)%4]), v[i], v[(i+1)%4], true))
			}
			other := m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+e[3], "-"+e[2], "-"+e[1], "-"+e[0]))
			o := m.through(t, m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", m.add("OPEN_SHELL('',(%s,%s))", m.face(s, true, m.loop(e...)), other)))
			want := 24.0
			if !c.ok {
				want = 12
				o.says(t, "face left out: "+s)
			}
			if math.Abs(o.props.Area-want) > 1e-9 {
				t.Errorf("area %g, want %g: %s", o.props.Area, want, o.told())
			}
		})
	}
}

// oneSurface reads the last record that the maker wrote.
func oneSurface(t testing.TB, m *maker) surface.Surface {
	t.Helper()
	f, err := p21.Scan(m.text(), p21.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := (&geometry{r: newReader(t.Context(), f, Options{}), u: unitless}).surface(p21.ID(m.n), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
