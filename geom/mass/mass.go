package mass

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// Properties are integrals over a body's surface, in the body's coordinates.
type Properties struct {
	Volume float64    // mm³, negative where the body is inside out; meaningless for an open one
	Moment mgl64.Vec3 // ∫ p dV, mm⁴
	Area   float64    // mm²
}

// Centroid is the centre of volume, and false without a volume.
func (p Properties) Centroid() (mgl64.Vec3, bool) {
	if p.Volume == 0 {
		return mgl64.Vec3{}, false
	}
	return p.Moment.Mul(1 / p.Volume), true
}

// Add joins the properties of two bodies.
func (p Properties) Add(q Properties) Properties {
	return Properties{p.Volume + q.Volume, p.Moment.Add(q.Moment), p.Area + q.Area}
}

// Of integrates over the body that m is the mesh of. Faces whose mesh is a
// makeshift, so that it leaves the surface by more than slack chords, are
// taken as they are meshed.
func Of(b *brep.Body, m *mesh.Mesh) Properties {
	box := m.Box()
	if box.IsEmpty() {
		return Properties{}
	}
	// From the middle of the mesh, so that a part far from its origin loses
	// no digits.
	o := box.Centre()
	mids := midpoints(b, m)
	var sum Properties
	for _, t := range m.Triangles {
		c := [3]mgl64.Vec3{m.Vertices[t[0]].Sub(o), m.Vertices[t[1]].Sub(o), m.Vertices[t[2]].Sub(o)}
		var bent [3]mgl64.Vec3 // how far each side's middle leaves its chord
		for k := range 3 {
			bent[k] = mids[key(t[k], t[(k+1)%3])]
		}
		if bent == ([3]mgl64.Vec3{}) {
			sum = sum.Add(triangle(&c))
		} else {
			sum = sum.Add(patch(&c, &bent))
		}
	}
	sum.Moment = sum.Moment.Add(o.Mul(sum.Volume))
	return sum
}

// pair is an edge of the mesh in either direction.
type pair [2]int32

func key(a, b int32) pair { return pair{min(a, b), max(a, b)} }

// slack is how many chord errors a facet's middle may stand off its surface
// before the mesh there is taken for a makeshift. A facet keeps the chord at
// the places where it was measured; 4 leaves room for those between.
const slack = 4

// midpoints finds for each curved edge of the mesh how far the exact boundary
// or surface is from the middle of its chord; straight ones have 0 or nothing.
func midpoints(b *brep.Body, m *mesh.Mesh) map[pair]mgl64.Vec3 {
	out := make(map[pair]mgl64.Vec3, 3*len(m.Triangles)/2)
	limit := slack * m.Chord
	set := func(k pair, exact func(mgl64.Vec3) mgl64.Vec3) {
		if _, done := out[k]; done {
			return
		}
		mid := m.Vertices[k[0]].Add(m.Vertices[k[1]]).Mul(0.5)
		d := exact(mid).Sub(mid)
		if !(d.Len() <= limit) { // a NaN is refused as well
			d = mgl64.Vec3{}
		}
		out[k] = d
	}
	for i := range min(len(m.Edges), len(b.Edges)) {
		c := b.Edges[i].Curve
		if _, straight := c.(curve.Line); straight || c == nil {
			for _, k := range chain(m.Edges[i].Verts) {
				out[k] = mgl64.Vec3{}
			}
			continue
		}
		for _, k := range chain(m.Edges[i].Verts) {
			set(k, func(p mgl64.Vec3) mgl64.Vec3 { return c.Point(c.Param(p)) })
		}
	}
	for i, t := range m.Triangles {
		s := faceSurface(b, m, i)
		if _, plane := s.(surface.Plane); plane || s == nil {
			continue
		}
		for k := range 3 {
			set(key(t[k], t[(k+1)%3]), func(p mgl64.Vec3) mgl64.Vec3 { return s.Point(s.Param(p, surface.Hint{})) })
		}
	}
	return out
}

func chain(verts []int32) []pair {
	var out []pair
	for i := 1; i < len(verts); i++ {
		out = append(out, key(verts[i-1], verts[i]))
	}
	return out
}

func faceSurface(b *brep.Body, m *mesh.Mesh, tri int) surface.Surface {
	if tri >= len(m.FaceOf) {
		return nil
	}
	if f := m.FaceOf[tri]; f >= 0 && int(f) < len(b.Faces) {
		return b.Faces[f].Surface
	}
	return nil
}
