package step

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// ball writes a shell of one face that is a whole sphere, facing outward, or
// inward by its sense.
func (m *maker) ball(o vec, r float64, outward bool) string {
	s := m.add("SPHERICAL_SURFACE('',%s,%s)", m.at(o[0], o[1], o[2]), num(r))
	return m.add("CLOSED_SHELL('',(%s))", m.face(s, outward))
}

// brick is a box's closed shell, facing outward or inward by its faces' senses.
func (m *maker) brick(lo, hi vec, outward bool) string {
	f := plain
	f.shellBack = !outward
	s := m.shell(lo, hi, f)
	if !outward { // less the oriented shell that turns it outward again
		s = fmt.Sprintf("#%d", m.n-1)
	}
	return s
}

func (m *maker) oriented(shell string, same bool) string {
	return m.add("ORIENTED_CLOSED_SHELL('',*,%s,%s)", shell, tf(same))
}

// Bodies of several shells in each way of writing them, to their volume and
// area.
func TestBodiesOfSeveralShells(t *testing.T) {
	ballVolume, ballArea := 4./3*math.Pi, 4*math.Pi
	outer := func(m *maker) string { return m.brick(vec{}, vec{10, 10, 10}, true) }
	for _, c := range []struct {
		name         string
		body         func(m *maker) string
		volume, area float64
	}{
		{"void that faces outward, turned", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), m.oriented(m.ball(vec{3, 3, 3}, 1, true), false))
		}, 1000 - ballVolume, 600 + ballArea},
		{"void that faces inward, as it is", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), m.oriented(m.ball(vec{3, 3, 3}, 1, false), true))
		}, 1000 - ballVolume, 600 + ballArea},
		{"void that is no oriented shell", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), m.ball(vec{3, 3, 3}, 1, false))
		}, 1000 - ballVolume, 600 + ballArea},
		{"void turned twice", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), m.oriented(m.oriented(m.ball(vec{3, 3, 3}, 1, false), false), false))
		}, 1000 - ballVolume, 600 + ballArea},
		{"void of flat faces that face inward", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), m.oriented(m.brick(vec{2, 2, 2}, vec{5, 5, 5}, false), true))
		}, 1000 - 27, 600 + 54},
		{"outside turned as well", func(m *maker) string {
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", m.oriented(m.brick(vec{}, vec{10, 10, 10}, false), false), m.ball(vec{3, 3, 3}, 1, false))
		}, 1000 - ballVolume, 600 + ballArea},
		{"three voids", func(m *maker) string {
			var v []string
			for _, z := range []float64{2, 5, 8} {
				v = append(v, m.oriented(m.ball(vec{5, 5, z}, 1, true), false))
			}
			return m.add("BREP_WITH_VOIDS('',%s,(%s))", outer(m), strings.Join(v, ","))
		}, 1000 - 3*ballVolume, 600 + 3*ballArea},
		{"complex form", func(m *maker) string {
			v := m.oriented(m.ball(vec{3, 3, 3}, 1, true), false)
			return m.add("(BREP_WITH_VOIDS((%s))GEOMETRIC_REPRESENTATION_ITEM()MANIFOLD_SOLID_BREP(%s)REPRESENTATION_ITEM('')SOLID_MODEL())", v, outer(m))
		}, 1000 - ballVolume, 600 + ballArea},
		{"faceted with a void", func(m *maker) string {
			v := m.oriented(m.polyhedron(vec{2, 2, 2}, vec{5, 5, 5}, true), false)
			return m.add("(BREP_WITH_VOIDS((%s))FACETED_BREP()GEOMETRIC_REPRESENTATION_ITEM()MANIFOLD_SOLID_BREP(%s)REPRESENTATION_ITEM('')SOLID_MODEL())",
				v, m.polyhedron(vec{}, vec{10, 10, 10}, true))
		}, 1000 - 27, 600 + 54},
		{"faceted, planes against the faces", func(m *maker) string {
			return m.add("FACETED_BREP('',%s)", m.polyhedron(vec{}, vec{1, 2, 3}, false))
		}, 6, 22},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, c.body(&m))
			o.sound(t, c.volume, c.area)
			if !o.body.Solid {
				t.Error("no solid")
			}
		})
	}
}

// polyhedron is a box of polygons with planes given, whose normals are outward
// or inward; the faces say which.
func (m *maker) polyhedron(lo, hi vec, outward bool) string {
	var pt [8]string
	for i := range pt {
		p := boxCorner(lo, hi, i)
		pt[i] = m.point(p[0], p[1], p[2])
	}
	var faces []string
	for _, c := range boxFaces {
		l := m.add("POLY_LOOP('',(%s,%s,%s,%s))", pt[c[0]], pt[c[1]], pt[c[2]], pt[c[3]])
		p0, p1, p2 := boxCorner(lo, hi, c[0]), boxCorner(lo, hi, c[1]), boxCorner(lo, hi, c[2])
		n := p1.Sub(p0).Cross(p2.Sub(p1))
		if !outward {
			n = n.Mul(-1)
		}
		faces = append(faces, m.add("FACE_SURFACE('',(%s),%s,%s)", m.bound(l), m.add("PLANE('',%s)", m.place(p0, n, p1.Sub(p0))), tf(outward)))
	}
	return m.add("CLOSED_SHELL('',(%s))", strings.Join(faces, ","))
}

// Surface models have an area and are no solids.
func TestSurfaceModelsOfSeveralShells(t *testing.T) {
	open := func(m *maker, z float64) string { // a disc of radius 2
		return m.add("OPEN_SHELL('',(%s))", m.face(m.plane(vec{0, 0, z}, ez), true, m.loop(m.ring(2, z, 1))))
	}
	for _, c := range []struct {
		name   string
		body   func(m *maker) string
		shells int
		area   float64
	}{
		{"one open shell", func(m *maker) string { return m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", open(m, 0)) }, 1, 4 * math.Pi},
		{"two open shells", func(m *maker) string {
			return m.add("SHELL_BASED_SURFACE_MODEL('',(%s,%s))", open(m, 0), open(m, 5))
		}, 2, 8 * math.Pi},
		{"an open shell and a closed one", func(m *maker) string {
			return m.add("SHELL_BASED_SURFACE_MODEL('',(%s,%s))", open(m, 9), m.brick(vec{}, vec{1, 2, 3}, true))
		}, 2, 4*math.Pi + 22},
		{"an open shell turned round", func(m *maker) string {
			return m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", m.add("ORIENTED_OPEN_SHELL('',*,%s,.F.)", open(m, 0)))
		}, 1, 4 * math.Pi},
		{"face based", func(m *maker) string {
			s := m.add("CONNECTED_FACE_SET('',(%s))", m.face(m.plane(vec{}, ez), true, m.loop(m.ring(2, 0, 1))))
			return m.add("FACE_BASED_SURFACE_MODEL('',(%s))", s)
		}, 1, 4 * math.Pi},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			o := m.through(t, c.body(&m))
			if len(o.body.Shells) != c.shells || o.body.Solid {
				t.Errorf("%d shells, solid %v: %s", len(o.body.Shells), o.body.Solid, o.told())
			}
			if math.Abs(o.props.Area-c.area) > 1e-3*c.area {
				t.Errorf("area %g, want %g: %s", o.props.Area, c.area, o.told())
			}
		})
	}
}
