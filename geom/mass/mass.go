package mass

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
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
	mids := midpointsOf(b, m)
	var sum Properties
	for _, t := range m.Triangles {
		c := [3]mgl64.Vec3{m.Vertices[t[0]].Sub(o), m.Vertices[t[1]].Sub(o), m.Vertices[t[2]].Sub(o)}
		bent := [3]mgl64.Vec3{mids.of(t[0], t[1]), mids.of(t[1], t[2]), mids.of(t[2], t[0])}
		if bent == ([3]mgl64.Vec3{}) {
			sum = sum.Add(triangle(&c))
		} else {
			sum = sum.Add(patch(&c, &bent))
		}
	}
	sum.Moment = sum.Moment.Add(o.Mul(sum.Volume))
	return sum
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
