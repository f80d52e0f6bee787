package feature

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// fitTol is how far, mm, the vertices of a face may lie from the plane or
// cylinder that is fitted to them: vertices lie on the exact surface, so this
// covers the slack of free-form surfaces that only imitate a cylinder.
const fitTol = 0.005

// fit recognises a plane or a cylinder from the facets of one face, for
// surfaces whose exact form says nothing: free-form and swept ones.
func fit(m *mesh.Mesh, tris []int32) (Face, bool) {
	normals := make([]mgl64.Vec3, 0, len(tris))
	var sum mgl64.Vec3
	area := 0.0
	for _, t := range tris {
		tri := m.Triangles[t]
		a := m.Vertices[tri[0]]
		v := m.Vertices[tri[1]].Sub(a).Cross(m.Vertices[tri[2]].Sub(a))
		n, ok := geom.Unit(v)
		if !ok {
			continue // a sliver has no direction
		}
		normals = append(normals, n)
		sum, area = sum.Add(v), area+v.Len()
	}
	if len(normals) == 0 {
		return Face{}, false
	}
	if f, ok := fitPlane(m, tris, sum, area); ok {
		return f, true
	}
	return fitCylinder(m, tris, normals)
}

func fitPlane(m *mesh.Mesh, tris []int32, sum mgl64.Vec3, area float64) (Face, bool) {
	n, ok := geom.Unit(sum)
	if !ok || sum.Len() < area*(1-1e-6) {
		return Face{}, false
	}
	f := Face{Kind: Plane, Axis: geom.Axis{O: m.Vertices[m.Triangles[tris[0]][0]], D: n}}
	for _, t := range tris {
		for _, v := range m.Triangles[t] {
			if math.Abs(f.Axis.Height(m.Vertices[v])) > fitTol {
				return Face{}, false
			}
		}
	}
	return f, true
}

func fitCylinder(m *mesh.Mesh, tris []int32, normals []mgl64.Vec3) (Face, bool) {
	axis, ok := crossing(normals)
	if !ok {
		return Face{}, false
	}
	x := geom.Perpendicular(axis)
	y := axis.Cross(x)
	o := m.Vertices[m.Triangles[tris[0]][0]]
	cx, cy, r, ok := circle(m, tris, o, x, y)
	if !ok {
		return Face{}, false
	}
	f := Face{Kind: Cylinder, R: r, Axis: geom.Axis{O: o.Add(x.Mul(cx)).Add(y.Mul(cy)), D: axis}}
	for _, t := range tris {
		for _, v := range m.Triangles[t] {
			if math.Abs(f.Axis.Distance(m.Vertices[v])-r) > fitTol {
				return Face{}, false
			}
		}
	}
	return f, true
}

// crossing is the direction that all normals are perpendicular to.
func crossing(normals []mgl64.Vec3) (mgl64.Vec3, bool) {
	const (
		leastTurn = 0.2  // rad: a flatter piece has no axis to speak of
		lean      = 2e-3 // rad: what a normal may lean along the axis
	)
	var best mgl64.Vec3
	for _, n := range normals {
		if c := normals[0].Cross(n); c.Len() > best.Len() {
			best = c
		}
	}
	if best.Len() < math.Sin(leastTurn) {
		return mgl64.Vec3{}, false
	}
	axis, _ := geom.Unit(best)
	for _, n := range normals {
		if math.Abs(n.Dot(axis)) > lean {
			return mgl64.Vec3{}, false
		}
	}
	return axis, true
}

// circle fits x²+y² = 2ax+2by+c to the vertices in the plane x, y about o by
// least squares (Kåsa 1976); the centre comes back relative to o.
func circle(m *mesh.Mesh, tris []int32, o, x, y mgl64.Vec3) (cx, cy, r float64, ok bool) {
	var n, sx, sy, sxx, sxy, syy, sz, sxz, syz float64
	for _, t := range tris {
		for _, v := range m.Triangles[t] {
			d := m.Vertices[v].Sub(o)
			u, w := d.Dot(x), d.Dot(y)
			z := u*u + w*w
			n, sx, sy, sz = n+1, sx+u, sy+w, sz+z
			sxx, sxy, syy, sxz, syz = sxx+u*u, sxy+u*w, syy+w*w, sxz+u*z, syz+w*z
		}
	}
	a := mgl64.Mat3{sxx, sxy, sx, sxy, syy, sy, sx, sy, n}
	det := a.Det()
	if n < 5 || !(math.Abs(det) > 1e-9*math.Abs(sxx*syy*n)) {
		return 0, 0, 0, false
	}
	s := a.Inv().Mul3x1(mgl64.Vec3{sxz, syz, sz})
	cx, cy = s[0]/2, s[1]/2
	r2 := s[2] + cx*cx + cy*cy
	if !(r2 > 0) || math.IsInf(r2, 1) {
		return 0, 0, 0, false
	}
	return cx, cy, math.Sqrt(r2), true
}
