package step

import (
	"fmt"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
	"stepscan/step/p21"
)

// Every kind of surface in a context of centimetres: a point that lies on it,
// mm, and the file's normal there, as ISO 10303-42 defines them.
func TestSurfaces(t *testing.T) {
	s2 := math.Sqrt2 / 2
	z, x := mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0}
	world := func(m *maker) string { return m.at(0, 0, 0) }
	plane := func(m *maker) string { return m.add("PLANE('',%s)", world(m)) }
	lineUp := func(m *maker) string {
		return m.add("LINE('',%s,%s)", m.point(2, 0, 0), m.add("VECTOR('',%s,3.)", m.dir(0, 0, 7)))
	}
	circle := func(m *maker) string { return m.add("CIRCLE('',%s,2.)", world(m)) }
	axis := func(m *maker) string { return m.add("AXIS1_PLACEMENT('',%s,%s)", m.point(0, 0, 0), m.dir(0, 0, 1)) }
	up := func(m *maker) string { return m.add("VECTOR('',%s,1.)", m.dir(0, 0, 1)) }
	grid := func(m *maker) string {
		return fmt.Sprintf("((%s,%s),(%s,%s))", m.point(0, 0, 0), m.point(0, 3, 0), m.point(4, 0, 0), m.point(4, 3, 0))
	}
	cases := []struct {
		name          string
		build         func(m *maker) string
		point, normal mgl64.Vec3
	}{
		{"plane", func(m *maker) string { return m.add("PLANE('',%s)", m.place(mgl64.Vec3{0, 0, 1}, x, z)) }, mgl64.Vec3{0, 5, 5}, x},
		{"cylinder", func(m *maker) string { return m.add("CYLINDRICAL_SURFACE('',%s,2.)", world(m)) }, mgl64.Vec3{20, 0, 5}, x},
		{"cone", func(m *maker) string { return m.add("CONICAL_SURFACE('',%s,1.,%s)", world(m), num(math.Pi/4)) }, mgl64.Vec3{15, 0, 5}, mgl64.Vec3{s2, 0, -s2}},
		{"sphere", func(m *maker) string { return m.add("SPHERICAL_SURFACE('',%s,2.)", world(m)) }, mgl64.Vec3{0, 20, 0}, mgl64.Vec3{0, 1, 0}},
		{"torus", func(m *maker) string { return m.add("TOROIDAL_SURFACE('',%s,5.,1.)", world(m)) }, mgl64.Vec3{50, 0, 10}, z},
		{"degenerate torus", func(m *maker) string { return m.add("DEGENERATE_TOROIDAL_SURFACE('',%s,1.,2.,.T.)", world(m)) }, mgl64.Vec3{30, 0, 0}, x},
		{"revolution", func(m *maker) string { return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", lineUp(m), axis(m)) }, mgl64.Vec3{20, 0, 30}, x},
		{"revolution of a line turned round", func(m *maker) string {
			c := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.F.,.CARTESIAN.)", lineUp(m), m.point(2, 0, 6), m.point(2, 0, 0))
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c, axis(m))
		}, mgl64.Vec3{20, 0, 30}, x.Mul(-1)},
		{"revolution of a line turned round, trims unreadable", func(m *maker) string {
			c := m.add("TRIMMED_CURVE('',%s,$,$,.F.,.CARTESIAN.)", lineUp(m))
			return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c, axis(m))
		}, mgl64.Vec3{20, 0, 30}, x.Mul(-1)},
		{"extrusion", func(m *maker) string { return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", circle(m), up(m)) }, mgl64.Vec3{20, 0, 30}, x},
		{"extrusion of an arc turned round", func(m *maker) string {
			c := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.F.,.CARTESIAN.)", circle(m), m.point(0, 2, 0), m.point(0, -2, 0))
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", c, up(m))
		}, mgl64.Vec3{20, 0, 30}, x.Mul(-1)},
		{"offset", func(m *maker) string { return m.add("OFFSET_SURFACE('',%s,0.5,.F.)", plane(m)) }, mgl64.Vec3{1, 1, 5}, z},
		{"trimmed, one sense turned", func(m *maker) string {
			return m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,1.,0.,1.,.F.,.T.)", plane(m))
		}, mgl64.Vec3{1, 1, 0}, z.Mul(-1)},
		{"trimmed, both senses turned", func(m *maker) string {
			return m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,1.,0.,1.,.F.,.F.)", plane(m))
		}, mgl64.Vec3{1, 1, 0}, z},
		{"offset of one that is turned", func(m *maker) string {
			return m.add("OFFSET_SURFACE('',%s,0.5,.F.)", m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,0.,1.,0.,1.,.T.,.F.)", plane(m)))
		}, mgl64.Vec3{1, 1, -5}, z.Mul(-1)},
		{"bounded", func(m *maker) string { return m.add("CURVE_BOUNDED_SURFACE('',%s,(),.T.)", plane(m)) }, mgl64.Vec3{1, 1, 0}, z},
		{"spline", func(m *maker) string {
			return m.add("B_SPLINE_SURFACE_WITH_KNOTS('',1,1,%s,.PLANE_SURF.,.F.,.F.,.F.,(2,2),(2,2),(0.,1.),(0.,1.),.UNSPECIFIED.)", grid(m))
		}, mgl64.Vec3{40, 30, 0}, z},
		{"rational spline, complex", func(m *maker) string {
			return m.add("(BOUNDED_SURFACE()B_SPLINE_SURFACE(1,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)B_SPLINE_SURFACE_WITH_KNOTS((2,2),(2,2),(0.,1.),(0.,1.),.UNSPECIFIED.)RATIONAL_B_SPLINE_SURFACE(((1.,2.),(1.,1.)))REPRESENTATION_ITEM('')SURFACE())", grid(m))
		}, mgl64.Vec3{20, 15, 0}, z},
		{"Bézier", func(m *maker) string { return m.add("BEZIER_SURFACE('',1,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)", grid(m)) }, mgl64.Vec3{10, 20, 0}, z},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			var id p21.ID
			if _, err := fmt.Sscanf(c.build(&m), "#%d", &id); err != nil {
				t.Fatal(err)
			}
			f, err := p21.Scan(m.text(), p21.Options{})
			if err != nil {
				t.Fatal(err)
			}
			u := unitless
			u.mm = 10
			s, turned, err := (&geometry{r: newReader(t.Context(), f, Options{}), u: u}).surface(id, 0)
			if err != nil {
				t.Fatal(err)
			}
			su, sv := s.Param(c.point, surface.Hint{})
			if d := s.Point(su, sv).Sub(c.point).Len(); d > 1e-9 {
				t.Errorf("%v is %g mm off", c.point, d)
			}
			n := s.Normal(su, sv)
			if turned {
				n = n.Mul(-1)
			}
			if n.Sub(c.normal).Len() > 1e-9 {
				t.Errorf("normal %v, want %v", n, c.normal)
			}
		})
	}
}

// The parameter of a line counts lengths of its vector, in the file's unit.
func TestTrimmedLine(t *testing.T) {
	var m maker
	l := m.add("LINE('',%s,%s)", m.point(1, 0, 0), m.add("VECTOR('',%s,2.)", m.dir(0, 5, 0)))
	m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(0.5)),(PARAMETER_VALUE(1.5)),.T.,.PARAMETER.)", l)
	f, err := p21.Scan(m.text(), p21.Options{})
	if err != nil {
		t.Fatal(err)
	}
	u := unitless
	u.mm = 10
	c, turned, err := (&geometry{r: newReader(t.Context(), f, Options{}), u: u}).curve(p21.ID(m.n), 0, asTrimmed)
	if err != nil || turned {
		t.Fatalf("turned %v, error %v", turned, err)
	}
	t0, t1 := c.Domain()
	if p, q := c.Point(t0), c.Point(t1); p.Sub(mgl64.Vec3{10, 10, 0}).Len() > 1e-9 || q.Sub(mgl64.Vec3{10, 30, 0}).Len() > 1e-9 {
		t.Errorf("from %v to %v, want from (10, 10, 0) to (10, 30, 0)", p, q)
	}
}

// An edge takes the whole of a trimmed curve, and its sense with it.
func TestTrimmedEdgeCurve(t *testing.T) {
	for _, sense := range []bool{true, false} {
		_, turned, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
			c := m.add("CIRCLE('',%s,2.)", m.at(0, 0, 0))
			return m.add("TRIMMED_CURVE('',%s,(%s),(%s),%s,.CARTESIAN.)", c, m.point(2, 0, 0), m.point(0, 2, 0), tf(sense))
		})
		if err != nil || turned == sense {
			t.Errorf("sense %v: turned %v, error %v", sense, turned, err)
		}
	}
}

// A chain of a line and a half circle turned round runs from end to end.
func TestCompositeCurve(t *testing.T) {
	c, _, err := oneCurve(t, wholeCurve, 1, func(m *maker) string {
		l := m.add("POLYLINE('',(%s,%s))", m.point(0, 0, 0), m.point(4, 0, 0))
		arc := m.add("TRIMMED_CURVE('',%s,(%s),(%s),.T.,.CARTESIAN.)", m.add("CIRCLE('',%s,1.)", m.at(5, 0, 0)), m.point(6, 0, 0), m.point(4, 0, 0))
		a := m.add("COMPOSITE_CURVE_SEGMENT(.CONTINUOUS.,.T.,%s)", l)
		b := m.add("COMPOSITE_CURVE_SEGMENT(.DISCONTINUOUS.,.F.,%s)", arc)
		return m.add("COMPOSITE_CURVE('',(%s,%s),.F.)", a, b)
	})
	if err != nil {
		t.Fatal(err)
	}
	t0, t1 := c.Domain()
	if p, q := c.Point(t0), c.Point(t1); p.Len() > 1e-9 || q.Sub(mgl64.Vec3{6, 0, 0}).Len() > 1e-9 {
		t.Errorf("from %v to %v, want from the origin to (6, 0, 0)", p, q)
	}
}
