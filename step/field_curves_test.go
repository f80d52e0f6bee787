package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
)

// wall writes a straight prism of height h over the region between the x axis
// and a curve from (a, 0) to (b, 0), above the axis, run from b to a. The curve
// is written once for each height; its side is a surface of extrusion unless
// another one is given.
func (m *maker) wall(a, b, h float64, curve func(z float64) string, same bool, side ...string) string {
	var v [2][2]string
	var arc, base [2]string
	for i, z := range []float64{0, h} {
		v[i] = [2]string{m.vertex(vec{a, 0, z}), m.vertex(vec{b, 0, z})}
		arc[i] = m.edge(curve(z), v[i][1], v[i][0], same)
		base[i] = m.edge(m.line(vec{a, 0, z}, vec{b, 0, z}), v[i][0], v[i][1], true)
	}
	ua := m.edge(m.line(vec{a, 0, 0}, vec{a, 0, h}), v[0][0], v[1][0], true)
	ub := m.edge(m.line(vec{b, 0, 0}, vec{b, 0, h}), v[0][1], v[1][1], true)
	if side == nil {
		side = []string{m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", curve(0), m.add("VECTOR('',%s,1.)", m.dir(0, 0, 1)))}
	}
	return m.solid(
		m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+arc[0], "-"+base[0])),
		m.face(m.plane(vec{0, 0, h}, ez), true, m.loop(base[1], arc[1])),
		m.face(m.plane(vec{}, vec{0, -1, 0}), true, m.loop(base[0], ub, "-"+base[1], "-"+ua)),
		m.face(side[0], same, m.loop(arc[0], ua, "-"+arc[1], "-"+ub)))
}

// Every kind of curve as the edge of a prism, whose volume is its height times
// the area under the curve.
func TestEdgeCurveKinds(t *testing.T) {
	const h = 4.0
	half := func(m *maker, z float64) string { return m.circle(vec{0, 0, z}, ez, ex, 5) }
	pt := func(m *maker, x, y, z float64) string { return m.point(x, y, z) }
	parabola := func(m *maker, z float64) string { // y = 4 - x²: focal distance 1/4
		return m.add("PARABOLA('',%s,0.25)", m.place(vec{0, 4, z}, ez, vec{0, -1, 0}))
	}
	bezier := func(m *maker, z float64) string {
		return fmt.Sprintf("(%s,%s,%s)", pt(m, 5, 0, z), pt(m, 0, 8, z), pt(m, -5, 0, z))
	}
	// Area under a quadratic Bézier from (5,0) over (0,8) to (-5,0): 2/3 of its triangle.
	const bezierArea = 2. / 3 * 40
	// y = 3 - cosh t, x = sinh t: run backwards, like the parabola.
	hyper := func(m *maker, z float64) string {
		return m.add("HYPERBOLA('',%s,1.,1.)", m.place(vec{0, 3, z}, ez, vec{0, -1, 0}))
	}
	x0 := math.Sqrt(8) // where cosh t is 3
	hyperArea := 2*3*x0 - (x0*3 + math.Asinh(x0))
	for _, c := range []struct {
		name  string
		a, b  float64
		same  bool
		curve func(m *maker, z float64) string
		area  float64
	}{
		{"circle", -5, 5, true, half, math.Pi * 12.5},
		{"circle run backwards", -5, 5, false, func(m *maker, z float64) string { return m.circle(vec{0, 0, z}, vec{0, 0, -1}, ex, 5) }, math.Pi * 12.5},
		{"ellipse", -5, 5, true, func(m *maker, z float64) string { return m.add("ELLIPSE('',%s,5.,3.)", m.at(0, 0, z)) }, math.Pi * 7.5},
		{"ellipse along y", -3, 3, true, func(m *maker, z float64) string {
			return m.add("ELLIPSE('',%s,5.,3.)", m.place(vec{0, 0, z}, ez, ey))
		}, math.Pi * 7.5},
		{"parabola", -2, 2, false, parabola, 32. / 3},
		{"hyperbola", -x0, x0, false, hyper, hyperArea},
		{"polyline", -5, 5, true, func(m *maker, z float64) string {
			return m.add("POLYLINE('',(%s,%s,%s))", pt(m, 5, 0, z), pt(m, 0, 4, z), pt(m, -5, 0, z))
		}, 20},
		{"Bézier", -5, 5, true, func(m *maker, z float64) string {
			return m.add("BEZIER_CURVE('',2,%s,.UNSPECIFIED.,.F.,.F.)", bezier(m, z))
		}, bezierArea},
		{"quasi-uniform", -5, 5, true, func(m *maker, z float64) string {
			return m.add("(BOUNDED_CURVE()B_SPLINE_CURVE(2,%s,.UNSPECIFIED.,.F.,.F.)CURVE()GEOMETRIC_REPRESENTATION_ITEM()QUASI_UNIFORM_CURVE()REPRESENTATION_ITEM(''))", bezier(m, z))
		}, bezierArea},
		{"rational", -5, 5, true, func(m *maker, z float64) string {
			return m.add("(BOUNDED_CURVE()B_SPLINE_CURVE(2,(%s,%s,%s,%s,%s),.CIRCULAR_ARC.,.F.,.F.)B_SPLINE_CURVE_WITH_KNOTS((3,2,3),(0.,1.,2.),.UNSPECIFIED.)CURVE()GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_CURVE((1.,%s,1.,%[6]s,1.))REPRESENTATION_ITEM(''))",
				pt(m, 5, 0, z), pt(m, 5, 5, z), pt(m, 0, 5, z), pt(m, -5, 5, z), pt(m, -5, 0, z), num(math.Sqrt2/2))
		}, math.Pi * 12.5},
		{"trimmed by points", -5, 5, true, func(m *maker, z float64) string {
			return m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", half(m, z), pt(m, 5, 0, z), pt(m, -5, 0, z))
		}, math.Pi * 12.5},
		{"trimmed, against", -5, 5, true, func(m *maker, z float64) string {
			c := m.circle(vec{0, 0, z}, vec{0, 0, -1}, ex, 5)
			return m.add("TRIMMED_CURVE('',%s,(%s),(%s),.F.,.CARTESIAN.)", c, pt(m, 5, 0, z), pt(m, -5, 0, z))
		}, math.Pi * 12.5},
		{"composite", -5, 5, true, func(m *maker, z float64) string {
			arc := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", m.circle(vec{3, 0, z}, ez, ex, 2), pt(m, 5, 0, z), pt(m, 3, 2, z))
			l := m.add("POLYLINE('',(%s,%s))", pt(m, -3, 2, z), pt(m, 3, 2, z)) // against the chain
			end := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", m.circle(vec{-3, 0, z}, ez, ex, 2), pt(m, -3, 2, z), pt(m, -5, 0, z))
			s := func(c string, same bool) string {
				return m.add("COMPOSITE_CURVE_SEGMENT(.CONTINUOUS.,%s,%s)", tf(same), c)
			}
			return m.add("COMPOSITE_CURVE('',(%s,%s,%s),.F.)", s(arc, true), s(l, false), s(end, true))
		}, 12 + 2*math.Pi},
		{"offset inward", -5, 5, true, func(m *maker, z float64) string {
			return m.add("OFFSET_CURVE_3D('',%s,2.,.F.,%s)", m.circle(vec{0, 0, z}, ez, ex, 7), m.dir(0, 0, 1))
		}, math.Pi * 12.5},
		{"surface curve", -5, 5, true, func(m *maker, z float64) string {
			return m.add("SURFACE_CURVE('',%s,(#1),.CURVE_3D.)", half(m, z))
		}, math.Pi * 12.5},
		{"intersection curve", -5, 5, true, func(m *maker, z float64) string {
			return m.add("INTERSECTION_CURVE('',%s,(#1,#2),.PCURVE_S1.)", half(m, z))
		}, math.Pi * 12.5},
		{"seam curve", -5, 5, true, func(m *maker, z float64) string {
			return m.add("SEAM_CURVE('',%s,(#1,#2),.CURVE_3D.)", half(m, z))
		}, math.Pi * 12.5},
		{"bounded surface curve", -5, 5, true, func(m *maker, z float64) string {
			arc := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", half(m, z), pt(m, 5, 0, z), pt(m, -5, 0, z))
			return m.add("(BOUNDED_CURVE()BOUNDED_SURFACE_CURVE()CURVE()GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM('')SURFACE_CURVE(%s,(#1),.CURVE_3D.))", arc)
		}, math.Pi * 12.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.wall(c.a, c.b, h, func(z float64) string { return c.curve(&m, z) }, c.same))
			o.sound(t, c.area*h, 0)
		})
	}
}

// Writers differ in which side of a curve a positive offset is on: the edge's
// vertices tell.
func TestOffsetToTheOtherSide(t *testing.T) {
	for _, d := range []float64{2, -2} { // from 3 outward and from 7 inward, both with the wrong sign
		var m maker
		o := m.through(t, m.wall(-5, 5, 4, func(z float64) string {
			return m.add("OFFSET_CURVE_3D('',%s,%s,.F.,%s)", m.circle(vec{0, 0, z}, ez, ex, 5-d), num(d), m.dir(0, 0, 1))
		}, true, m.cylinder(5)))
		o.sound(t, 50*math.Pi, 0)
	}
}

// A body of two-edge loops of splines: the edges differ only between their
// ends.
func TestLoopsOfTwoSplines(t *testing.T) {
	const h = 2.0
	var m maker
	spline := func(y, z float64) string {
		return m.add("B_SPLINE_CURVE_WITH_KNOTS('',2,(%s,%s,%s),.UNSPECIFIED.,.F.,.F.,(3,3),(0.,1.),.UNSPECIFIED.)", m.point(-5, 0, z), m.point(0, y, z), m.point(5, 0, z))
	}
	var v, up, lo, hi [2]string
	for i, x := range []float64{-5, 5} {
		v[i] = m.vertex(vec{x, 0, 0})
		hi[i] = m.vertex(vec{x, 0, h})
		up[i] = m.edge(m.line(vec{x, 0, 0}, vec{x, 0, h}), v[i], hi[i], true)
	}
	top := hi
	for i, y := range []float64{-4, 6} {
		lo[i], hi[i] = m.edge(spline(y, 0), v[0], v[1], true), m.edge(spline(y, h), top[0], top[1], true)
	}
	side := func(y float64) string {
		return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", spline(y, 0), m.add("VECTOR('',%s,1.)", m.dir(0, 0, 1)))
	}
	o := m.through(t, m.solid(
		m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop(lo[1], "-"+lo[0])),
		m.face(m.plane(vec{0, 0, h}, ez), true, m.loop(hi[0], "-"+hi[1])),
		m.face(side(-4), true, m.loop(lo[0], up[1], "-"+hi[0], "-"+up[0])),
		m.face(side(6), false, m.loop(up[0], hi[1], "-"+up[1], "-"+lo[1]))))
	o.sound(t, h*2./3*(20+30), 0) // 2/3 of the triangles of their poles
}

// pcurve writes a curve in the parameter plane of a surface.
func (m *maker) pcurve(surface, flat string) string {
	ctx := m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(2)PARAMETRIC_REPRESENTATION_CONTEXT()REPRESENTATION_CONTEXT('2D SPACE',''))")
	return m.add("PCURVE('',%s,%s)", surface, m.add("DEFINITIONAL_REPRESENTATION('',(%s),%s)", flat, ctx))
}

func (m *maker) flatLine(p, d mgl64.Vec2) string {
	return m.add("LINE('',%s,%s)", m.add("CARTESIAN_POINT('',(%s,%s))", num(p[0]), num(p[1])),
		m.add("VECTOR('',%s,1.)", m.add("DIRECTION('',(%s,%s))", num(d[0]), num(d[1]))))
}

func (m *maker) flatCircle(o mgl64.Vec2, r float64) string {
	at := m.add("AXIS2_PLACEMENT_2D('',%s,%s)", m.add("CARTESIAN_POINT('',(%s,%s))", num(o[0]), num(o[1])), m.add("DIRECTION('',(1.,0.))"))
	return m.add("CIRCLE('',%s,%s)", at, num(r))
}

// A rod whose edges are known only on its surfaces: circles as lines round the
// cylinder, as circles on the end planes, and on an end's sketch as a spline.
func TestEdgesKnownOnSurfacesOnly(t *testing.T) {
	for _, c := range []struct {
		name    string
		degrees bool // the file's angles
		inDeg   bool // those of the curves in parameter planes
		edge    func(m *maker, cyl, end string, z, turn float64) string
		said    string
	}{
		{name: "line round the cylinder", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.pcurve(cyl, m.flatLine(mgl64.Vec2{0, z}, mgl64.Vec2{1, 0}))
		}},
		{name: "line on another turn", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.pcurve(cyl, m.flatLine(mgl64.Vec2{3 * turn, z}, mgl64.Vec2{1, 0}))
		}},
		{name: "line round the cylinder, degrees", degrees: true, inDeg: true, edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.pcurve(cyl, m.flatLine(mgl64.Vec2{0, z}, mgl64.Vec2{1, 0}))
		}},
		{name: "circle on the end", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.pcurve(end, m.flatCircle(mgl64.Vec2{}, 5))
		}},
		{name: "surface curve without its curve", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.add("SURFACE_CURVE('',$,(%s),.PCURVE_S1.)", m.pcurve(cyl, m.flatLine(mgl64.Vec2{0, z}, mgl64.Vec2{1, 0})))
		}, said: "stands in"},
		{name: "intersection curve whose curve is not there", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.add("INTERSECTION_CURVE('',#99999,(%s,%s),.CURVE_3D.)", m.pcurve(end, m.flatCircle(mgl64.Vec2{}, 5)), m.pcurve(cyl, m.flatLine(mgl64.Vec2{0, z}, mgl64.Vec2{1, 0})))
		}, said: "stands in"},
		{name: "surface curve whose pcurve is a turn off", edge: func(m *maker, cyl, end string, z, turn float64) string {
			return m.add("SURFACE_CURVE('',%s,(%s),.PCURVE_S1.)", m.circle(vec{0, 0, z}, ez, ex, 5), m.pcurve(cyl, m.flatLine(mgl64.Vec2{5 * turn, z}, mgl64.Vec2{1, 0})))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			turn := 2 * math.Pi
			ctx := ""
			if c.degrees {
				turn, ctx = 360, m.degrees()
			}
			cyl := m.cylinder(5)
			bottom := m.add("PLANE('',%s)", m.at(0, 0, 0)) // normal up: its parameters run as the circle does
			top := m.add("PLANE('',%s)", m.at(0, 0, 8))
			v, w := m.vertex(vec{5, 0, 0}), m.vertex(vec{5, 0, 8})
			lo := m.edge(c.edge(&m, cyl, bottom, 0, turn), v, v, true)
			hi := m.edge(c.edge(&m, cyl, top, 8, turn), w, w, true)
			o := m.throughIn(t, ctx, m.solid(
				m.face(bottom, false, m.loop("-"+lo)), m.face(top, true, m.loop(hi)),
				m.face(cyl, true, m.loop(lo), m.loop("-"+hi))))
			if c.said != "" {
				o.mended(t, 200*math.Pi, 130*math.Pi, c.said)
			} else {
				o.sound(t, 200*math.Pi, 130*math.Pi)
			}
		})
	}
}

// A half rod whose arcs are pcurves: an arc between two vertices must come out
// in the file's unit of angle, and in radians where the writer keeps to those.
func TestArcsKnownOnSurfacesOnly(t *testing.T) {
	for _, c := range []struct {
		name string
		deg  bool
		k    float64 // of the parameters that are written, in one radian
	}{{"radians", false, 1}, {"degrees", true, 180 / math.Pi}, {"radians in a file of degrees", true, 1}} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx := ""
			if c.deg {
				ctx = m.degrees()
			}
			cyl := m.cylinder(5)
			o := m.throughIn(t, ctx, m.wall(-5, 5, 4, func(z float64) string {
				// A spline in the parameter plane: it has an end at π, unlike a line.
				q := func(u float64) string { return m.add("CARTESIAN_POINT('',(%s,%s))", num(u*c.k), num(z)) }
				return m.pcurve(cyl, m.add("B_SPLINE_CURVE_WITH_KNOTS('',1,(%s,%s),.UNSPECIFIED.,.F.,.F.,(2,2),(0.,1.),.UNSPECIFIED.)", q(0), q(math.Pi)))
			}, true, cyl))
			o.sound(t, 50*math.Pi, 0)
		})
	}
}

// Where a trim gives a point and a parameter, the master stands if it leads to
// the point, and the point otherwise.
func TestTrimMaster(t *testing.T) {
	for _, c := range []struct {
		name     string
		from, to string // parameters
		master   string
		length   float64 // of the parameter range
		points   bool
	}{
		{name: "parameters lead to the points", from: "0.", to: "1.5707963267948966", master: "PARAMETER", points: true, length: math.Pi / 2},
		{name: "parameters a turn on", from: "6.283185307179586", to: "7.853981633974483", master: "PARAMETER", points: true, length: math.Pi / 2},
		{name: "parameters in the wrong unit", from: "0.", to: "90.", master: "PARAMETER", points: true, length: math.Pi / 2},
		{name: "points are the master", from: "0.", to: "3.", master: "CARTESIAN", points: true, length: math.Pi / 2},
		{name: "parameters alone", from: "0.", to: "1.5707963267948966", master: "PARAMETER", length: math.Pi / 2},
		{name: "parameters over the zero", from: "6.", to: "1.", master: "PARAMETER", length: 2*math.Pi - 5},
		{name: "a short arc", from: "1.", to: "1.0001", master: "PARAMETER", length: 1e-4},
		{name: "a whole turn", from: "0.", to: "6.283185307179586", master: "PARAMETER", length: 2 * math.Pi},
		{name: "the same point twice", from: "1.", to: "1.", master: "PARAMETER", length: 2 * math.Pi},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := oneCurve(t, asTrimmed, 1, func(m *maker) string {
				a, b := "", ""
				if c.points {
					a, b = ","+m.point(5, 0, 0), ","+m.point(0, 5, 0)
				}
				return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(%s)%s),(PARAMETER_VALUE(%s)%s),.T.,.%s.)", m.circle(vec{}, ez, ex, 5), c.from, a, c.to, b, c.master)
			})
			if err != nil {
				t.Fatal(err)
			}
			t0, t1 := got.Domain()
			if math.Abs(t1-t0-c.length) > 1e-9 {
				t.Errorf("arc of %g rad, want %g", t1-t0, c.length)
			}
			if p, q := got.Point(t0), got.Point(t1); c.points && (p.Sub(vec{5, 0, 0}).Len() > 1e-9 || q.Sub(vec{0, 5, 0}).Len() > 1e-9) {
				t.Errorf("from %v to %v", p, q)
			}
		})
	}
	t.Run("only a parameter tells the ends of a closed curve apart", func(t *testing.T) {
		got, _, err := oneCurve(t, asTrimmed, 1, func(m *maker) string {
			p := m.point(5, 0, 0)
			b := m.add("B_SPLINE_CURVE_WITH_KNOTS('',2,(%s,%s,%s,%[1]s),.UNSPECIFIED.,.T.,.F.,(3,1,3),(0.,1.,2.),.UNSPECIFIED.)", p, m.point(5, 9, 0), m.point(-9, 5, 0))
			return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(1.)),(PARAMETER_VALUE(2.),%s),.T.,.PARAMETER.)", b, p)
		})
		if err != nil {
			t.Fatal(err)
		}
		if t0, t1 := got.Domain(); t1-t0 != 1 {
			t.Errorf("from %g to %g, want half of it", t0, t1)
		}
	})
}

// Lines and arcs that sweep a surface: their trims count in lengths of the
// line's vector and in the file's unit of angle, from either end.
func TestTrimsInTheFilesUnits(t *testing.T) {
	line := func(m *maker) string {
		return m.add("LINE('',%s,%s)", m.point(1, 0, 0), m.add("VECTOR('',%s,0.25)", m.dir(0, 3, 0)))
	}
	arc := func(m *maker) string { return m.circle(vec{}, ez, ex, 5) }
	for _, c := range []struct {
		name       string
		basis      func(m *maker) string
		t0, t1     float64
		sense      bool
		start, end vec
	}{
		{"line", line, 4, 8, true, vec{1, 1, 0}, vec{1, 2, 0}},
		{"line, against", line, 8, 4, false, vec{1, 2, 0}, vec{1, 1, 0}},
		{"arc in degrees", arc, 90, 180, true, vec{0, 5, 0}, vec{-5, 0, 0}},
		{"arc in degrees over the zero", arc, 270, 90, true, vec{0, -5, 0}, vec{0, 5, 0}},
		{"arc in degrees, against", arc, 90, 0, false, vec{0, 5, 0}, vec{5, 0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, turned, err := oneCurve(t, asTrimmed, math.Pi/180, func(m *maker) string {
				return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(%s)),(PARAMETER_VALUE(%s)),%s,.PARAMETER.)", c.basis(m), num(c.t0), num(c.t1), tf(c.sense))
			})
			if err != nil || turned {
				t.Fatalf("turned %v, %v", turned, err)
			}
			t0, t1 := got.Domain()
			if p, q := got.Point(t0), got.Point(t1); p.Sub(c.start).Len() > 1e-9 || q.Sub(c.end).Len() > 1e-9 {
				t.Errorf("from %v to %v, want %v to %v", p, q, c.start, c.end)
			}
		})
	}
}

// B-spline curves that are not well formed: mended where one meaning is left,
// dropped with their number otherwise.
func TestSplineCurvesMended(t *testing.T) {
	// The same quarter, a quadratic Bézier from (0,0,0) over (1,0,0) to (1,1,0).
	mid := vec{0.75, 0.25, 0}
	for _, c := range []struct{ name, form string }{
		{"plain", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.,(3,3),(0.,1.),.UNSPECIFIED.)"},
		{"ends one short", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.,(2,2),(0.,1.),.UNSPECIFIED.)"},
		{"ends one too many", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.,(4,4),(0.,1.),.UNSPECIFIED.)"},
		{"called closed", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.T.,.F.,(3,3),(0.,1.),.UNSPECIFIED.)"},
		{"closed unknown", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.U.,.U.,(3,3),(0.,1.),.UNSPECIFIED.)"},
		{"flags unset", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,$,$,(3,3),(0.,1.),$)"},
		{"unclamped", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#4,#5,#6),.UNSPECIFIED.,.F.,.F.,(1,1,1,1,1,1),(-2.,-1.,0.,1.,2.,3.),.UNSPECIFIED.)"},
		{"uniform", "UNIFORM_CURVE('',2,(#4,#5,#6),.UNSPECIFIED.,.F.,.F.)"},
		{"quasi-uniform", "QUASI_UNIFORM_CURVE('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.)"},
		{"Bézier", "BEZIER_CURVE('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.)"},
		{"knots that fall by rounding", "B_SPLINE_CURVE_WITH_KNOTS('',2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.,(2,1,3),(0.,-1.E-12,1.),.UNSPECIFIED.)"},
		{"weights all equal", "(B_SPLINE_CURVE(2,(#1,#2,#3),.UNSPECIFIED.,.F.,.F.)B_SPLINE_CURVE_WITH_KNOTS((3,3),(0.,1.),.U.)RATIONAL_B_SPLINE_CURVE((2.,2.,2.)))"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
				m.point(0, 0, 0)
				m.point(1, 0, 0)
				m.point(1, 1, 0)
				m.point(-1, 0, 0) // a uniform quadratic's ends are the middles of its legs
				m.point(1, 0, 0)
				m.point(1, 2, 0)
				return m.add(c.form, []any{}...)
			})
			if err != nil {
				t.Fatal(err)
			}
			t0, t1 := got.Domain()
			for i, want := range []vec{{}, mid, {1, 1, 0}} {
				if p := got.Point(t0 + (t1-t0)*float64(i)/2); p.Sub(want).Len() > 1e-9 {
					t.Errorf("at %d/2: %v, want %v", i, p, want)
				}
			}
			if got.Period() != 0 {
				t.Errorf("period %g of an open curve", got.Period())
			}
		})
	}
}

// Inner knots repeated degree+1 times make pieces that meet only because their
// poles do: mults (4,4,4,4,4) of degree 3 with 16 poles.
func TestSplineOfSeparatePieces(t *testing.T) {
	got, _, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
		var ids []string
		for i := range 4 {
			for j := range 4 {
				ids = append(ids, m.point(float64(i)+float64(j)/3, 0, 0))
			}
		}
		return m.add("B_SPLINE_CURVE_WITH_KNOTS('',3,(%s),.UNSPECIFIED.,.F.,.F.,(4,4,4,4,4),(0.,1.,2.,3.,4.),.UNSPECIFIED.)", strings.Join(ids, ","))
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 41 {
		s := float64(i) / 10
		if p := got.Point(s); p.Sub(vec{s, 0, 0}).Len() > 1e-9 {
			t.Errorf("at %g: %v", s, p)
		}
	}
}

// A closed spline that does not say so is one turn round a rod.
func TestSplineClosedButNotDeclared(t *testing.T) {
	for _, closed := range []string{".F.", ".T.", ".U."} {
		t.Run(closed, func(t *testing.T) {
			var m maker
			ring := func(z float64) string {
				at := [][2]float64{{5, 0}, {5, 5}, {0, 5}, {-5, 5}, {-5, 0}, {-5, -5}, {0, -5}, {5, -5}, {5, 0}}
				var ids, w []string
				for i, p := range at {
					ids = append(ids, m.point(p[0], p[1], z))
					w = append(w, num([]float64{1, math.Sqrt2 / 2}[i%2]))
				}
				v := m.vertex(vec{0, 5, z}) // not where the spline begins
				c := m.add("(BOUNDED_CURVE()B_SPLINE_CURVE(2,(%s),.UNSPECIFIED.,%s,.F.)B_SPLINE_CURVE_WITH_KNOTS((3,2,2,2,3),(0.,1.,2.,3.,4.),.UNSPECIFIED.)CURVE()GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_CURVE((%s))REPRESENTATION_ITEM(''))", strings.Join(ids, ","), closed, strings.Join(w, ","))
				return m.edge(c, v, v, true)
			}
			lo, hi := ring(0), ring(8)
			o := m.through(t, m.solid(
				m.face(m.plane(vec{}, vec{0, 0, -1}), true, m.loop("-"+lo)),
				m.face(m.plane(vec{0, 0, 8}, ez), true, m.loop(hi)),
				m.face(m.cylinder(5), true, m.loop(lo), m.loop("-"+hi))))
			o.sound(t, 200*math.Pi, 130*math.Pi)
		})
	}
}

// A surface curve that leads back to itself by way of many surfaces ends at
// once and costs its faces only.
func TestSurfaceCurveThatLeadsBackToItself(t *testing.T) {
	var m maker
	b := m.box(1, 2, 3)
	up := m.vector(ez, 1)
	// Records to come: one surface curve, its surface, and many pcurves on that.
	self := m.n + 41
	var list []string
	for range 40 {
		list = append(list, m.add("PCURVE('',#%d,#1)", self+1))
	}
	c := m.add("SURFACE_CURVE('',$,(%s),.PCURVE_S1.)", strings.Join(list, ","))
	m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", c, up)
	text := m.b.String()
	i := strings.Index(text, "=EDGE_CURVE(")
	j := i + strings.IndexByte(text[i:], '\n')
	edge := strings.Split(text[i:j], ",")
	edge[3] = c
	m.b.Reset()
	m.b.WriteString(text[:i] + strings.Join(edge, ",") + text[j:])
	o := m.through(t, b)
	o.open(t, "face left out")
	if len(o.body.Faces) != 4 {
		t.Errorf("%d faces, want 4", len(o.body.Faces))
	}
}
