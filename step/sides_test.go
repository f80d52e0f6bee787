package step

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Surfaces that are made from others, and the forms of splines that have no
// knots, as the side of a closed body of height 8.
func TestSidesOfEveryKind(t *testing.T) {
	straight := func(float64) float64 { return 5 }
	conical := func(z float64) float64 { return 5 + z/4 }
	cone := func(m *maker, r float64) string {
		return m.add("CONICAL_SURFACE('',%s,%s,%s)", m.at(0, 0, 0), num(r), num(math.Atan(0.25)))
	}
	offset := func(m *maker, s string, d float64) string {
		return m.add("OFFSET_SURFACE('',%s,%s,.F.)", s, num(d))
	}
	ball := func(m *maker, r float64) string {
		return m.add("SPHERICAL_SURFACE('',%s,%s)", m.at(0, 0, 4), num(r))
	}
	round := func(r float64) func(z float64) float64 {
		return func(z float64) float64 { return math.Sqrt(r*r - (z-4)*(z-4)) }
	}
	tube := func(m *maker, r float64) string {
		return m.add("TOROIDAL_SURFACE('',%s,10.,%s)", m.at(0, 0, 4), num(r))
	}
	outside := func(z float64) float64 { return 10 + math.Sqrt(25-(z-4)*(z-4)) }
	bulge := func(m *maker) string { // barrel of radius 4 at the ends and 5 in the middle
		c := m.add("BEZIER_CURVE('',2,%s,.UNSPECIFIED.,.F.,.F.)", m.outline([2]float64{4, 0}, [2]float64{6, 4}, [2]float64{4, 8}))
		return m.add("SURFACE_OF_REVOLUTION('',%s,%s)", c, m.axis())
	}
	bulging := func(z float64) float64 { s := z / 8; return 4 + 4*s*(1-s) }
	stretch := func(v vec, k float64) func(m *maker) string {
		return func(m *maker) string {
			return m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 5), m.vector(v, k))
		}
	}
	for _, c := range []struct {
		name string
		same bool
		side func(m *maker) string
		r    func(z float64) float64
	}{
		{"extruded by a long vector", true, stretch(ez, 250), straight},
		{"extruded by a short one", true, stretch(ez, 0.001), straight},
		{"extruded by a direction that is no unit", true, stretch(vec{0, 0, 40}, 3), straight},
		{"extruded backwards", false, stretch(vec{0, 0, -0.2}, 3), straight},
		{"offset of a cone", true, func(m *maker) string {
			return offset(m, cone(m, 5-2*math.Sqrt(1+1./16)), 2)
		}, conical},
		{"offset of a sphere", true, func(m *maker) string { return offset(m, ball(m, 4), 2) }, round(6)},
		{"offset of a torus", true, func(m *maker) string { return offset(m, tube(m, 6), -1) }, outside},
		{"offset of an extrusion", true, func(m *maker) string {
			e := m.add("SURFACE_OF_LINEAR_EXTRUSION('',%s,%s)", m.circle(vec{}, ez, ex, 4), m.vector(ez, 3))
			return offset(m, e, 1)
		}, straight},
		{"offset of an offset", true, func(m *maker) string { return offset(m, offset(m, m.cylinder(3), 5), -3) }, straight},
		{"offset of an offset of a spline", true, func(m *maker) string {
			return offset(m, offset(m, m.splineSide(4, ".T."), 1.5), -0.5)
		}, straight},
		{"offset beyond the axis", true, func(m *maker) string { return offset(m, m.cylinder(2), -7) }, straight},
		{"trimmed offset", true, func(m *maker) string { return m.rect(offset(m, m.cylinder(3), 2), 0, 6, 0, 8, true, true) }, straight},
		{"offset of a trimmed one, turned", false, func(m *maker) string {
			return offset(m, m.rect(m.cylinder(3), 0, 6, 8, 0, true, false), -2)
		}, straight},
		{"trimmed twice, turned twice", true, func(m *maker) string {
			return m.rect(m.rect(m.cylinder(5), 0, 6, 8, 0, true, false), 0, 6, 8, 0, true, false)
		}, straight},
		{"trimmed cone", true, func(m *maker) string { return m.rect(cone(m, 5), 0, 6, 0, 8, true, true) }, conical},
		{"trimmed sphere", true, func(m *maker) string { return m.rect(ball(m, 6), 0, 6, -1, 1, true, true) }, round(6)},
		{"trimmed torus", true, func(m *maker) string { return m.rect(tube(m, 5), 0, 6, -1, 1, true, true) }, outside},
		{"trimmed revolution", true, func(m *maker) string { return m.rect(bulge(m), 0, 6, 0, 1, true, true) }, bulging},
		{"bounded by curves, of a trimmed one", true, func(m *maker) string {
			return m.add("CURVE_BOUNDED_SURFACE('',%s,(),.T.)", m.rect(bulge(m), 0, 6, 0, 1, true, true))
		}, bulging},
		{"degenerate torus, its outer part", true, func(m *maker) string {
			return m.add("DEGENERATE_TOROIDAL_SURFACE('',%s,3.,6.,.T.)", m.at(0, 0, 4))
		}, func(z float64) float64 { return 3 + math.Sqrt(36-(z-4)*(z-4)) }},
		// The tube's circle is beyond the axis, so that away from it is outward here too.
		{"degenerate torus, its inner part", true, func(m *maker) string {
			return m.add("DEGENERATE_TOROIDAL_SURFACE('',%s,3.,6.,.F.)", m.at(0, 0, 4))
		}, func(z float64) float64 { return math.Sqrt(36-(z-4)*(z-4)) - 3 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			side := c.side(&m)
			o := m.through(t, m.between(side, c.same, c.r(0), c.r(8)))
			o.sound(t, turnedVolume(c.r), 0)
		})
	}
}

// One arched roof, z = 4 - x² over -1 <= x <= 1, in each form of a spline
// surface: the uniform one has the poles whose ends are the middles of its legs.
func TestFormsOfSplineSurfaces(t *testing.T) {
	clamped := [][2]float64{{-1, 3}, {0, 5}, {1, 3}} // z = 4 - x²
	loose := [][2]float64{{-2, 1}, {0, 5}, {2, 1}}
	grid := func(m *maker, p [][2]float64, y [2]float64) string {
		var rows []string
		for _, q := range p {
			rows = append(rows, fmt.Sprintf("(%s,%s)", m.point(q[0], y[0], q[1]), m.point(q[0], y[1], q[1])))
		}
		return "(" + strings.Join(rows, ",") + ")"
	}
	const base = "B_SPLINE_SURFACE(2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)"
	const equal = "RATIONAL_B_SPLINE_SURFACE(((2.,2.),(2.,2.),(2.,2.)))"
	for _, c := range []struct {
		name  string
		poles [][2]float64
		y     [2]float64
		form  string // with a place for the poles
	}{
		{"with knots", clamped, [2]float64{0, 5}, "B_SPLINE_SURFACE_WITH_KNOTS('',2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.,(3,3),(2,2),(0.,1.),(-2.,7.),.UNSPECIFIED.)"},
		{"Bézier", clamped, [2]float64{0, 5}, "BEZIER_SURFACE('',2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)"},
		{"quasi-uniform", clamped, [2]float64{0, 5}, "QUASI_UNIFORM_SURFACE('',2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)"},
		{"uniform", loose, [2]float64{0, 5}, "UNIFORM_SURFACE('',2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.)"},
		{"Bézier, complex", clamped, [2]float64{0, 5}, "(BEZIER_SURFACE()BOUNDED_SURFACE()" + base + "REPRESENTATION_ITEM('')SURFACE())"},
		{"quasi-uniform, complex", clamped, [2]float64{0, 5}, "(BOUNDED_SURFACE()" + base + "QUASI_UNIFORM_SURFACE()SURFACE())"},
		{"uniform, complex", loose, [2]float64{0, 5}, "(BOUNDED_SURFACE()" + base + "SURFACE()UNIFORM_SURFACE())"},
		{"rational Bézier", clamped, [2]float64{0, 5}, "(BEZIER_SURFACE()" + base + equal + ")"},
		{"rational quasi-uniform", clamped, [2]float64{0, 5}, "(" + base + "QUASI_UNIFORM_SURFACE()" + equal + ")"},
		{"rational uniform", loose, [2]float64{0, 5}, "(" + base + equal + "UNIFORM_SURFACE())"},
		{"rational with knots", clamped, [2]float64{0, 5}, "(" + base + "B_SPLINE_SURFACE_WITH_KNOTS((3,3),(2,2),(0.,1.),(-2.,7.),.U.)" + equal + ")"},
		{"unclamped", loose, [2]float64{0, 5}, "B_SPLINE_SURFACE_WITH_KNOTS('',2,1,%s,.UNSPECIFIED.,.F.,.F.,.F.,(1,1,1,1,1,1),(2,2),(0.,1.,2.,3.,4.,5.),(0.,1.),.UNSPECIFIED.)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			roof := m.add(c.form, grid(&m, c.poles, c.y))
			o := m.through(t, m.hall(roof))
			o.sound(t, 5*(8-2./3), 0) // the area under 4 - x² from -1 to 1
		})
	}
}

// hall writes a body of length 5 along y with four flat walls of height 3, a
// floor, and a roof z = 4 - x² whose u runs along x.
func (m *maker) hall(roof string) string {
	p := [2][4]vec{}
	var v [2][4]string
	var ring [2][4]string // of each end: floor, right wall, arch from right to left, left wall
	for i, y := range []float64{0, 5} {
		p[i] = [4]vec{{-1, y, 0}, {1, y, 0}, {1, y, 3}, {-1, y, 3}}
		for k, q := range p[i] {
			v[i][k] = m.vertex(q)
		}
		for k := range 4 {
			c := m.line(p[i][k], p[i][(k+1)%4])
			if k == 2 {
				c = m.add("BEZIER_CURVE('',2,(%s,%s,%s),.UNSPECIFIED.,.F.,.F.)", m.point(1, y, 3), m.point(0, y, 5), m.point(-1, y, 3))
			}
			ring[i][k] = m.edge(c, v[i][k], v[i][(k+1)%4], true)
		}
	}
	var along [4]string
	for k := range 4 {
		along[k] = m.edge(m.line(p[0][k], p[1][k]), v[0][k], v[1][k], true)
	}
	near, far := ring[0], ring[1]
	faces := []string{
		m.face(m.plane(vec{}, vec{0, -1, 0}), true, m.loop(near[0], near[1], near[2], near[3])),
		m.face(m.plane(vec{0, 5, 0}, ey), true, m.loop("-"+far[3], "-"+far[2], "-"+far[1], "-"+far[0])),
	}
	for k, s := range []string{m.plane(vec{}, vec{0, 0, -1}), m.plane(vec{1, 0, 0}, ex), roof, m.plane(vec{-1, 0, 0}, vec{-1, 0, 0})} {
		faces = append(faces, m.face(s, true, m.loop("-"+near[k], along[k], far[k], "-"+along[(k+1)%4])))
	}
	return m.solid(faces...)
}
