package step

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// rect writes a rectangle of a surface's parameters.
func (m *maker) rect(s string, u0, u1, v0, v1 float64, uSense, vSense bool) string {
	return m.add("RECTANGULAR_TRIMMED_SURFACE('',%s,%s,%s,%s,%s,%s,%s)", s, num(u0), num(u1), num(v0), num(v1), tf(uSense), tf(vSense))
}

func (m *maker) patch(s string, uSense, vSense bool) string {
	return m.add("SURFACE_PATCH(%s,.CONTINUOUS.,.CONTINUOUS.,%s,%s)", s, tf(uSense), tf(vSense))
}

func (m *maker) patchwork(rows ...string) string {
	return m.add("RECTANGULAR_COMPOSITE_SURFACE('',((%s)))", strings.Join(rows, "),("))
}

// Patches of different surfaces side by side, as the side of a closed body.
func TestCompositeOfDifferentSurfaces(t *testing.T) {
	cone := func(m *maker, turn float64) string { // from radius 5 at height 4 to 7 at 8
		a := num(math.Atan(0.5) * turn / (2 * math.Pi))
		return m.add("CONICAL_SURFACE('',%s,5.,%s)", m.at(0, 0, 4), a)
	}
	kinked := func(z float64) float64 { return 5 + max(0, z-4)/2 }
	ball := func(m *maker) string { return m.add("SPHERICAL_SURFACE('',%s,5.)", m.at(0, 0, 4)) }
	domed := func(z float64) float64 { return math.Sqrt(25 - max(0, z-4)*max(0, z-4)) }
	quarter := func(m *maker, i int) string { // of a rational cylinder
		at := [][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}, {1, 0}}
		var rows []string
		for _, p := range at[2*i : 2*i+3] {
			rows = append(rows, fmt.Sprintf("(%s,%s)", m.point(5*p[0], 5*p[1], 0), m.point(5*p[0], 5*p[1], 8)))
		}
		w := num(math.Sqrt2 / 2)
		return m.add("(BEZIER_SURFACE()BOUNDED_SURFACE()B_SPLINE_SURFACE(2,1,(%s),.UNSPECIFIED.,.F.,.F.,.F.)RATIONAL_B_SPLINE_SURFACE(((1.,1.),(%s,%[2]s),(1.,1.)))SURFACE())", strings.Join(rows, ","), w)
	}
	for _, c := range []struct {
		name    string
		degrees bool
		side    func(m *maker, turn float64) string
		same    bool
		r       func(z float64) float64
	}{
		{name: "cylinder and cone", same: true, r: kinked, side: func(m *maker, turn float64) string {
			lo, hi := m.rect(m.cylinder(5), 0, turn, 0, 4, true, true), m.rect(cone(m, turn), 0, turn, 0, 4, true, true)
			return m.patchwork(m.patch(lo, true, true) + "," + m.patch(hi, true, true))
		}},
		{name: "cylinder and cone in degrees", degrees: true, same: true, r: kinked, side: func(m *maker, turn float64) string {
			lo, hi := m.rect(m.cylinder(5), 0, turn, 0, 4, true, true), m.rect(cone(m, turn), 0, turn, 0, 4, true, true)
			return m.patchwork(m.patch(lo, true, true) + "," + m.patch(hi, true, true))
		}},
		{name: "cylinder and sphere, one upside down", same: true, r: domed, side: func(m *maker, turn float64) string {
			// Downwards in the rectangle, upwards again in the patch.
			lo := m.rect(m.cylinder(5), 0, turn, 4, 0, true, false)
			hi := m.rect(ball(m), 0, turn, 0, math.Asin(0.8), true, true)
			return m.patchwork(m.patch(lo, true, false) + "," + m.patch(hi, true, true))
		}},
		{name: "inside out", same: false, r: domed, side: func(m *maker, turn float64) string {
			lo := m.rect(m.cylinder(5), 0, turn, 0, 4, true, true)
			hi := m.rect(ball(m), 0, turn, 0, math.Asin(0.8), true, true)
			return m.patchwork(m.patch(lo, false, true) + "," + m.patch(hi, false, true))
		}},
		{name: "four quarters of splines", same: true, r: func(float64) float64 { return 5 }, side: func(m *maker, turn float64) string {
			var rows []string
			for i := range 4 {
				rows = append(rows, m.patch(quarter(m, i), true, true))
			}
			return m.patchwork(rows...)
		}},
		{name: "two by two", same: true, r: kinked, side: func(m *maker, turn float64) string {
			var rows []string
			for i := range 2 {
				u0, u1 := turn/2*float64(i), turn/2*float64(i+1)
				lo, hi := m.rect(m.cylinder(5), u0, u1, 0, 4, true, true), m.rect(cone(m, turn), u0, u1, 0, 4, true, true)
				rows = append(rows, m.patch(lo, true, true)+","+m.patch(hi, true, true))
			}
			return m.patchwork(rows...)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			turn, ctx := 2*math.Pi, ""
			if c.degrees {
				turn, ctx = 360, m.degrees()
			}
			side := c.side(&m, turn)
			o := m.throughIn(t, ctx, m.between(side, c.same, c.r(0), c.r(8)))
			o.sound(t, turnedVolume(c.r), 0)
		})
	}
}

// What cannot be put side by side costs its face.
func TestPatchesThatDoNotFit(t *testing.T) {
	for _, c := range []struct {
		name string
		side func(m *maker) string
	}{
		{"no patches", func(m *maker) string { return m.add("RECTANGULAR_COMPOSITE_SURFACE('',())") }},
		{"an empty row", func(m *maker) string { return m.add("RECTANGULAR_COMPOSITE_SURFACE('',(()))") }},
		{"without ends", func(m *maker) string {
			return m.patchwork(m.patch(m.cylinder(5), true, true) + "," + m.patch(m.cylinder(6), true, true))
		}},
		{"ragged", func(m *maker) string {
			a, b := m.patch(m.rect(m.cylinder(5), 0, 1, 0, 1, true, true), true, true), m.patch(m.rect(m.cylinder(6), 0, 1, 0, 1, true, true), true, true)
			return m.patchwork(a+","+b, a)
		}},
		{"of no width", func(m *maker) string {
			a, b := m.patch(m.rect(m.cylinder(5), 0, 1, 3, 3, true, true), true, true), m.patch(m.rect(m.cylinder(6), 0, 1, 0, 1, true, true), true, true)
			return m.patchwork(a + "," + b)
		}},
		{"patches of patches of themselves", func(m *maker) string {
			self := m.n + 2
			return m.patchwork(m.patch(fmt.Sprintf("#%d", self), true, true))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, m.rod(5, c.side(&m), true))
			o.open(t, "face left out")
		})
	}
}
