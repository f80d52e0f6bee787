package step

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// A turning is a body of height 8 about z: a profile, turned, between two flat
// ends, of which one of radius 0 is left away.
type turning struct {
	name    string
	same    bool // the profile goes up, so that its normal points away from z
	profile func(m *maker) string
	r       func(z float64) float64
}

// body writes the turned body; its rings begin at the angle zero.
func (c turning) body(m *maker) string {
	side := m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c.profile(m), m.axis())
	return m.between(side, c.same, c.r(0), c.r(8))
}

// between writes a solid from a side that is round z and flat ends at 0 and 8.
func (m *maker) between(side string, same bool, r0, r8 float64) string {
	var faces, loops []string
	if r0 > 1e-9 {
		lo := m.ring(r0, 0, 0)
		faces = append(faces, m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo)))
		loops = append(loops, m.loop(lo))
	}
	if r8 > 1e-9 {
		hi := m.ring(r8, 8, 2)
		faces = append(faces, m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)))
		loops = append(loops, m.loop("-"+hi))
	}
	return m.solid(append(faces, m.face(side, same, loops...))...)
}

// turnedVolume is the sum of discs, π ∫ r² dz from 0 to 8, by Simpson's rule
// with the places crowded towards both ends, where r may rise vertically.
func turnedVolume(r func(z float64) float64) float64 {
	const n = 4000
	sum := 0.0
	for i := range n + 1 {
		a := math.Pi * float64(i) / n
		x := r(4 - 4*math.Cos(a))
		w := []float64{2, 4}[i%2]
		if i == 0 || i == n {
			w = 1
		}
		sum += w * x * x * 4 * math.Sin(a)
	}
	return math.Pi * sum * math.Pi / n / 3
}

// profile writes points of the plane y = 0, given as radius and height.
func (m *maker) outline(p ...[2]float64) string {
	var ids []string
	for _, q := range p {
		ids = append(ids, m.point(q[0], 0, q[1]))
	}
	return "(" + strings.Join(ids, ",") + ")"
}

// standing is a placement in the plane y = 0 whose angles rise from x to z.
func (m *maker) standing(x, z float64) string { return m.place(vec{x, 0, z}, vec{0, -1, 0}, ex) }

// barrel is an arc's radius: a circle of radius 5 about (2, 4).
func barrel(z float64) float64 { return 2 + math.Sqrt(25-(z-4)*(z-4)) }

// segment of a composite curve.
func (m *maker) segment(c string, same bool) string {
	return m.add("COMPOSITE_CURVE_SEGMENT(.CONTINUOUS.,%s,%s)", tf(same), c)
}

func turnings() []turning {
	circle := func(m *maker) string { return m.add("CIRCLE('',%s,5.)", m.standing(2, 4)) }
	trim := func(m *maker, c, a, b string, sense bool, master string) string {
		return m.add("TRIMMED_CURVE('',%s,(%s),(%s),%s,.%s.)", c, a, b, tf(sense), master)
	}
	arc := func(m *maker) string {
		return trim(m, circle(m), m.point(5, 0, 0), m.point(5, 0, 8), true, "CARTESIAN")
	}
	const bulge = "B_SPLINE_CURVE(2,%s,.UNSPECIFIED.,.F.,.F.)"
	poles := func(m *maker) string { return m.outline([2]float64{5, 0}, [2]float64{9, 4}, [2]float64{6, 8}) }
	bezier := func(z float64) float64 { s := z / 8; return 5*(1-s)*(1-s) + 18*s*(1-s) + 6*s*s }
	// The half circle of radius 3 about (2, 4) as a rational spline.
	half := func(m *maker) string {
		w := num(math.Sqrt2 / 2)
		return m.add("(BOUNDED_CURVE()B_SPLINE_CURVE(2,%s,.UNSPECIFIED.,.F.,.F.)B_SPLINE_CURVE_WITH_KNOTS((3,2,3),(0.,1.,2.),.UNSPECIFIED.)CURVE()GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_CURVE((1.,%s,1.,%[2]s,1.))REPRESENTATION_ITEM(''))",
			m.outline([2]float64{2, 1}, [2]float64{5, 1}, [2]float64{5, 4}, [2]float64{5, 7}, [2]float64{2, 7}), w)
	}
	waist := func(z float64) float64 { return 5 + (z-4)*(z-4)/4 }
	parabola := func(m *maker) string { return m.add("PARABOLA('',%s,1.)", m.standing(5, 4)) }
	neck := func(z float64) float64 { return 2 + 3*math.Sqrt(1+(z-4)*(z-4)/16) }
	hyperbola := func(m *maker) string { return m.add("HYPERBOLA('',%s,3.,4.)", m.standing(2, 4)) }
	// Upwards along z: a line of 5 and an arc that swings out from it.
	swing := func(z float64) float64 { return 11 - math.Sqrt(36-max(z-4, 0)*max(z-4, 0)) }
	swung := func(m *maker, back bool) string {
		l := m.add("POLYLINE('',%s)", m.outline([2]float64{5, 4}, [2]float64{5, 0})) // against the chain
		k := m.add("CIRCLE('',%s,6.)", m.place(vec{11, 0, 4}, ey, ex))
		a := trim(m, k, m.point(5, 0, 4), m.point(swing(8), 0, 8), true, "CARTESIAN")
		if back {
			return m.add("COMPOSITE_CURVE('',(%s,%s),.F.)", m.segment(a, false), m.segment(l, true))
		}
		return m.add("COMPOSITE_CURVE('',(%s,%s),.F.)", m.segment(l, false), m.segment(a, true))
	}
	up := func(f func(m *maker) string, r func(z float64) float64) turning {
		return turning{same: true, profile: f, r: r}
	}
	named := func(name string, t turning) turning { t.name = name; return t }
	down := func(t turning) turning { t.same = false; return t }
	return []turning{
		named("line", up(func(m *maker) string { return m.line(vec{5, 0, 0}, vec{7, 0, 8}) }, func(z float64) float64 { return 5 + z/4 })),
		named("line beside the axis", up(func(m *maker) string { return m.line(vec{5, -3, 0}, vec{5, 3, 8}) }, func(z float64) float64 { return math.Hypot(5, 0.75*z-3) })),
		named("whole circle, across the axis", up(circle, barrel)),
		named("whole circle, its inner side", turning{profile: func(m *maker) string { return m.add("CIRCLE('',%s,5.)", m.standing(10, 4)) }, r: func(z float64) float64 { return 12 - barrel(z) }}),
		named("arc", up(arc, barrel)),
		named("arc, against the circle", down(up(func(m *maker) string {
			return trim(m, circle(m), m.point(5, 0, 8), m.point(5, 0, 0), false, "CARTESIAN")
		}, barrel))),
		named("arc of an arc", up(func(m *maker) string {
			return trim(m, trim(m, circle(m), m.point(2, 0, -1), m.point(2, 0, 9), true, "CARTESIAN"), m.point(5, 0, 0), m.point(5, 0, 8), true, "CARTESIAN")
		}, barrel)),
		named("arc of a surface curve", up(func(m *maker) string {
			return trim(m, m.add("SURFACE_CURVE('',%s,(),.CURVE_3D.)", circle(m)), m.point(5, 0, 0), m.point(5, 0, 8), true, "CARTESIAN")
		}, barrel)),
		named("ellipse", up(func(m *maker) string {
			return m.add("ELLIPSE('',%s,5.,3.)", m.place(vec{2, 0, 4}, vec{0, -1, 0}, ez.Mul(-1)))
		}, func(z float64) float64 { return 2 + 3*math.Sqrt(1-(z-4)*(z-4)/25) })),
		named("parabola", up(parabola, waist)),
		named("parabola, trimmed", up(func(m *maker) string {
			return trim(m, parabola(m), "PARAMETER_VALUE(-2.)", "PARAMETER_VALUE(2.)", true, "PARAMETER")
		}, waist)),
		named("hyperbola", up(hyperbola, neck)),
		named("hyperbola, trimmed", up(func(m *maker) string {
			t := num(math.Asinh(1))
			return trim(m, hyperbola(m), "PARAMETER_VALUE(-"+t+")", "PARAMETER_VALUE("+t+")", true, "PARAMETER")
		}, neck)),
		named("polyline", up(func(m *maker) string {
			return m.add("POLYLINE('',%s)", m.outline([2]float64{5, 0}, [2]float64{7, 2}, [2]float64{4, 8}))
		}, func(z float64) float64 { return min(5+z, 7-(z-2)/2) })),
		named("Bézier", up(func(m *maker) string { return m.add("(BEZIER_CURVE()"+bulge+")", poles(m)) }, bezier)),
		named("quasi-uniform", up(func(m *maker) string { return m.add("(QUASI_UNIFORM_CURVE()"+bulge+")", poles(m)) }, bezier)),
		named("uniform", up(func(m *maker) string { // ends in the middles of its legs
			return m.add("(UNIFORM_CURVE()"+bulge+")", m.outline([2]float64{1, -4}, [2]float64{9, 4}, [2]float64{3, 12}))
		}, bezier)),
		named("spline that leaves its plane", up(func(m *maker) string {
			return m.add("BEZIER_CURVE('',2,(%s,%s,%s),.UNSPECIFIED.,.F.,.F.)", m.point(5, -3, 0), m.point(9, 0, 4), m.point(5, 3, 8))
		}, func(z float64) float64 { s := z / 8; return math.Hypot(5+8*s*(1-s), 6*s-3) })),
		named("offset of a rational spline", up(func(m *maker) string {
			return m.add("OFFSET_CURVE_3D('',%s,-2.,.F.,%s)", half(m), m.dir(0, -1, 0))
		}, barrel)),
		named("offset of an offset", up(func(m *maker) string {
			o := m.add("OFFSET_CURVE_3D('',%s,-3.,.F.,%s)", half(m), m.dir(0, -1, 0))
			return m.add("OFFSET_CURVE_3D('',%s,1.,.F.,%s)", o, m.dir(0, -1, 0))
		}, barrel)),
		named("offset of an arc", up(func(m *maker) string {
			a := trim(m, m.add("CIRCLE('',%s,4.)", m.standing(2, 4)), m.point(2, 0, 0), m.point(2, 0, 8), true, "CARTESIAN")
			return m.add("OFFSET_CURVE_3D('',%s,-1.,.F.,%s)", a, m.dir(0, -1, 0))
		}, barrel)),
		named("composite", up(func(m *maker) string { return swung(m, false) }, swing)),
		named("composite, downwards", down(up(func(m *maker) string { return swung(m, true) }, swing))),
		named("composite inside a composite, turned", up(func(m *maker) string {
			return m.add("COMPOSITE_CURVE('',(%s),.F.)", m.segment(swung(m, true), false))
		}, swing)),
		named("arc of a composite", up(func(m *maker) string {
			return trim(m, swung(m, false), m.point(5, 0, 0), m.point(swing(8), 0, 8), true, "CARTESIAN")
		}, swing)),
		named("curve on a plane", up(func(m *maker) string {
			s := m.add("PLANE('',%s)", m.standing(0, 0))
			k := m.flatCircle([2]float64{2, 4}, 5)
			p := func(z float64) string { return m.add("CARTESIAN_POINT('',(%s,%s))", num(5), num(z)) }
			return m.pcurve(s, m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", k, p(0), p(8)))
		}, barrel)),
		named("line on a cylinder", up(func(m *maker) string {
			return m.pcurve(m.cylinder(5), m.flatLine([2]float64{}, [2]float64{0.1, 1}))
		}, func(z float64) float64 { return 5 })),
		named("parabola about its own axis", turning{same: true, profile: func(m *maker) string {
			return m.add("PARABOLA('',%s,1.)", m.place(vec{}, vec{0, 1, 0}, ez))
		}, r: func(z float64) float64 { return 2 * math.Sqrt(z) }}),
		named("hyperbola about its own axis", turning{same: true, profile: func(m *maker) string {
			return m.add("HYPERBOLA('',%s,3.,2.)", m.place(vec{0, 0, -3}, vec{0, 1, 0}, ez))
		}, r: func(z float64) float64 { return 2 * math.Sqrt((z+3)*(z+3)/9-1) }}),
		named("ellipse about its own axis", turning{same: false, profile: func(m *maker) string {
			return m.add("ELLIPSE('',%s,8.,3.)", m.place(vec{}, vec{0, 1, 0}, ez))
		}, r: func(z float64) float64 { return 3 * math.Sqrt(1-z*z/64) }}),
		named("half an ellipse, from axis to axis", turning{same: true, profile: func(m *maker) string {
			e := m.add("ELLIPSE('',%s,4.,3.)", m.place(vec{0, 0, 4}, vec{0, -1, 0}, ez.Mul(-1)))
			return trim(m, e, "PARAMETER_VALUE(0.)", "PARAMETER_VALUE("+num(math.Pi)+")", true, "PARAMETER")
		}, r: func(z float64) float64 { return 3 * math.Sqrt(max(0, 1-(z-4)*(z-4)/16)) }}),
		named("spline to the axis", turning{same: true, profile: func(m *maker) string {
			return m.add("BEZIER_CURVE('',2,%s,.UNSPECIFIED.,.F.,.F.)", m.outline([2]float64{0, 0}, [2]float64{9, 4}, [2]float64{6, 8}))
		}, r: func(z float64) float64 { s := z / 8; return 18*s*(1-s) + 6*s*s }}),
		named("spline that touches the axis half way", turning{same: true, profile: func(m *maker) string {
			return m.add("BEZIER_CURVE('',2,%s,.UNSPECIFIED.,.F.,.F.)", m.outline([2]float64{4, 0}, [2]float64{-4, 4}, [2]float64{4, 8}))
		}, r: func(z float64) float64 { return 4 * (z/4 - 1) * (z/4 - 1) }}),
	}
}

// Every kind of curve turned round an axis, as the side of a closed body.
func TestRevolutionOfEveryCurve(t *testing.T) {
	for _, c := range turnings() {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, c.body(&m))
			o.sound(t, turnedVolume(c.r), 0)
		})
	}
}

// Curves and surfaces made from each other in a long chain, of which each step
// multiplies what the next one costs, end at once and cost their face.
func TestChainsOfDerivedGeometry(t *testing.T) {
	arc := func(m *maker) string {
		return m.add("ELLIPSE('',%s,6.,3.)", m.place(vec{9, 0, 4}, vec{0, -1, 0}, ez.Mul(-1)))
	}
	turn := func(m *maker, c string) string { return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c, m.axis()) }
	for _, c := range []struct {
		name  string
		build func(m *maker, links int) string
	}{
		{"curves beside curves", func(m *maker, links int) string {
			k := arc(m)
			for i := range links {
				a := 0.1 * float64(i)
				k = m.add("OFFSET_CURVE_3D('',%s,0.1,.F.,%s)", k, m.dir(math.Sin(a), -math.Cos(a), 0))
			}
			return turn(m, k)
		}},
		{"surfaces over surfaces", func(m *maker, links int) string {
			s := turn(m, arc(m))
			for range links {
				s = m.add("OFFSET_SURFACE('',%s,0.1,.F.)", s)
			}
			return s
		}},
		{"curves on turned curves", func(m *maker, links int) string {
			s := turn(m, arc(m))
			for range links {
				s = turn(m, m.pcurve(s, m.flatLine([2]float64{}, [2]float64{0.3, 1})))
			}
			return s
		}},
		{"curves on surfaces beside curves", func(m *maker, links int) string {
			s := turn(m, arc(m))
			for range links {
				s = m.add("OFFSET_SURFACE('',%s,0.1,.F.)", turn(m, m.pcurve(s, m.flatLine([2]float64{}, [2]float64{0.3, 1}))))
			}
			return s
		}},
	} {
		for _, links := range []int{1, 2, 3, 4, 8} {
			t.Run(fmt.Sprintf("%s, %d", c.name, links), func(t *testing.T) {
				var m maker
				o := m.through(t, m.between(c.build(&m, links), true, 4, 4))
				if len(o.mesh.Triangles) == 0 {
					t.Error("the flat ends are lost as well")
				}
			})
		}
	}
}

// Curves that are rarely written, as the rim of a prism on a half disc: the arc
// is a curve on the prism's floor and lid.
func TestRareEdgeCurves(t *testing.T) {
	floor := func(m *maker, z float64) string { return m.add("PLANE('',%s)", m.at(0, 0, z)) }
	flat := func(m *maker, x, y float64) string { return m.add("CARTESIAN_POINT('',(%s,%s))", num(x), num(y)) }
	half := func(m *maker, r float64) string {
		return m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", m.flatCircle([2]float64{}, r), flat(m, r, 0), flat(m, -r, 0))
	}
	composite := func(kind string) func(m *maker, z float64) string {
		return func(m *maker, z float64) string {
			k := m.circle(vec{0, 0, z}, ez, ex, 5)
			top := m.point(0, 5, z)
			a := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", k, m.point(5, 0, z), top)
			b := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.F.,.CARTESIAN.)", k, m.point(-5, 0, z), top)
			return m.add("%s('',(%s,%s),.F.)", kind, m.segment(a, true), m.segment(b, false))
		}
	}
	for _, c := range []struct {
		name  string
		curve func(m *maker, z float64) string
	}{
		{"composite", composite("COMPOSITE_CURVE")},
		{"composite on a surface", composite("COMPOSITE_CURVE_ON_SURFACE")},
		{"boundary", composite("BOUNDARY_CURVE")},
		{"outer boundary", composite("OUTER_BOUNDARY_CURVE")},
		{"bounded curve on a surface", func(m *maker, z float64) string {
			ctx := m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(2)PARAMETRIC_REPRESENTATION_CONTEXT()REPRESENTATION_CONTEXT('2D SPACE',''))")
			def := m.add("DEFINITIONAL_REPRESENTATION('',(%s),%s)", half(m, 5), ctx)
			return m.add("(BOUNDED_CURVE()BOUNDED_PCURVE()CURVE()GEOMETRIC_REPRESENTATION_ITEM()PCURVE(%s,%s)REPRESENTATION_ITEM(''))", floor(m, z), def)
		}},
		{"offset in the parameter plane, inward", func(m *maker, z float64) string {
			return m.pcurve(floor(m, z), m.add("OFFSET_CURVE_2D('',%s,2.,.F.)", half(m, 7)))
		}},
		{"offset in the parameter plane, outward", func(m *maker, z float64) string {
			return m.pcurve(floor(m, z), m.add("OFFSET_CURVE_2D('',%s,-2.,.F.)", half(m, 3)))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.wall(-5, 5, 4, func(z float64) string { return c.curve(&m, z) }, true))
			o.sound(t, 50*math.Pi, 0)
		})
	}
}

// The trims of curves round other curves count as the inner one does.
func TestTrimsOfWrappedCurves(t *testing.T) {
	for _, c := range []struct {
		name string
		wrap func(m *maker, circle string) string
		r    float64
	}{
		{"surface curve", func(m *maker, k string) string { return m.add("SURFACE_CURVE('',%s,(),.CURVE_3D.)", k) }, 5},
		{"seam curve", func(m *maker, k string) string { return m.add("SEAM_CURVE('',%s,(),.CURVE_3D.)", k) }, 5},
		{"offset", func(m *maker, k string) string { return m.add("OFFSET_CURVE_3D('',%s,2.,.F.,%s)", k, m.dir(0, 0, 1)) }, 3},
		{"trimmed", func(m *maker, k string) string {
			return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(10.)),(PARAMETER_VALUE(200.)),.T.,.PARAMETER.)", k)
		}, 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := oneCurve(t, asTrimmed, math.Pi/180, func(m *maker) string {
				k := c.wrap(m, m.circle(vec{}, ez, ex, 5))
				return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(90.)),(PARAMETER_VALUE(180.)),.T.,.PARAMETER.)", k)
			})
			if err != nil {
				t.Fatal(err)
			}
			t0, t1 := got.Domain()
			if p, q := got.Point(t0), got.Point(t1); p.Sub(vec{0, c.r, 0}).Len() > 1e-9 || q.Sub(vec{-c.r, 0, 0}).Len() > 1e-9 {
				t.Errorf("from %v to %v, want (0, %g, 0) to (-%[3]g, 0, 0)", p, q, c.r)
			}
		})
	}
}
