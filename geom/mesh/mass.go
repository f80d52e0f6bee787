package mesh

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Volume is the volume in mm³ by the divergence theorem, positive where the
// triangles turn anticlockwise seen from outside. Of an open mesh it is
// meaningless.
func (m *Mesh) Volume() float64 {
	v, _ := m.firstMoment(m.centre())
	return v
}

// Centroid is the centre of volume. Where the volume is 0 (open, flat or empty
// meshes) the centre of the box stands in.
func (m *Mesh) Centroid() mgl64.Vec3 {
	o := m.centre()
	v, s := m.firstMoment(o)
	if c := s.Mul(1 / v); v != 0 && geom.Finite(c) {
		return o.Add(c)
	}
	return o
}

// centre is where the integrals are taken from: near the mesh, so that a part
// a kilometre away loses no digits.
func (m *Mesh) centre() mgl64.Vec3 {
	b := m.Box()
	if b.IsEmpty() {
		return mgl64.Vec3{}
	}
	return b.Centre()
}

// firstMoment sums the tetrahedra from o to each triangle: V = Σ a·(b×c)/6 and
// ∫p dV = Σ a·(b×c) (a+b+c)/24, both relative to o.
func (m *Mesh) firstMoment(o mgl64.Vec3) (float64, mgl64.Vec3) {
	var v, sx, sy, sz float64
	for i := range m.Triangles {
		t := &m.Triangles[i]
		a, b, c := &m.Vertices[t[0]], &m.Vertices[t[1]], &m.Vertices[t[2]]
		ax, ay, az := a[0]-o[0], a[1]-o[1], a[2]-o[2]
		bx, by, bz := b[0]-o[0], b[1]-o[1], b[2]-o[2]
		cx, cy, cz := c[0]-o[0], c[1]-o[1], c[2]-o[2]
		d := ax*(by*cz-bz*cy) + ay*(bz*cx-bx*cz) + az*(bx*cy-by*cx)
		v += d
		sx += d * (ax + bx + cx)
		sy += d * (ay + by + cy)
		sz += d * (az + bz + cz)
	}
	return v / 6, mgl64.Vec3{sx / 24, sy / 24, sz / 24}
}

// Area is the sum of the triangles' areas, mm².
func (m *Mesh) Area() float64 {
	s := 0.0
	for i := range m.Triangles {
		s += m.Cross(i).Len()
	}
	return s / 2
}

// Cross is the outward normal of triangle i with twice its area as length.
func (m *Mesh) Cross(i int) mgl64.Vec3 {
	t := &m.Triangles[i]
	a, b, c := &m.Vertices[t[0]], &m.Vertices[t[1]], &m.Vertices[t[2]]
	ux, uy, uz := b[0]-a[0], b[1]-a[1], b[2]-a[2]
	vx, vy, vz := c[0]-a[0], c[1]-a[1], c[2]-a[2]
	return mgl64.Vec3{uy*vz - uz*vy, uz*vx - ux*vz, ux*vy - uy*vx}
}

// Box is the smallest box that holds all vertices; empty without any.
func (m *Mesh) Box() geom.Box {
	b := geom.EmptyBox()
	for _, p := range m.Vertices {
		b = b.Add(p)
	}
	return b
}
