package contact

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// planes compares two plane faces that look at each other.
func (m *meeting) planes(i, j int32) {
	f, g := &m.x.feat.Faces[i], &m.y.feat.Faces[j]
	n := m.place.Dir(f.Axis.D)
	if n.Dot(g.Axis.D) > -1+oneLine*oneLine/2 {
		return
	}
	box := m.window(i, j)
	if box.IsEmpty() {
		return
	}
	x := geom.Perpendicular(g.Axis.D)
	on := sheet{g.Axis, x, g.Axis.D.Cross(x)}
	mine, where := on.region(cornersIn(m.x, i, m.place, box), m.touch)
	if len(mine) == 0 {
		return
	}
	theirs, _ := on.region(cornersIn(m.y, j, geom.Identity(), box), m.touch)
	if area := overlap(mine, theirs); area > leastArea {
		m.take(Contact{Kind: Planar, Area: area, Normal: n, Axis: geom.Axis{O: where}})
	}
}

// leastArea, mm², is what two edges of rounded coordinates have in common.
const leastArea = 1e-4

// window is where both faces are.
func (m *meeting) window(i, j int32) geom.Box {
	return common3(m.x.boxes[i].Transformed(m.place), m.y.boxes[j], m.touch)
}

// sheet is a plane with two directions in it.
type sheet struct {
	plane geom.Axis
	x, y  mgl64.Vec3
}

// region flattens the triangles that lie within gap mm of the plane, and gives
// a place among them.
func (s *sheet) region(tris [][3]mgl64.Vec3, gap float64) (region, mgl64.Vec3) {
	var out region
	var where mgl64.Vec3
	for _, c := range tris {
		mid := c[0].Add(c[1]).Add(c[2]).Mul(1. / 3)
		if abs(s.plane.Height(mid)) > gap {
			continue
		}
		where = mid
		var t flat
		for k := range c {
			d := c[k].Sub(s.plane.O)
			t[k] = mgl64.Vec2{d.Dot(s.x), d.Dot(s.y)}
		}
		out.add(t)
	}
	return out, where
}
