package extent

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// slack is how many chord errors the exact surface may stand above a facet. A
// facet keeps the chord at the places where it was measured; 2 leaves room for
// those between.
const slack = 2

// Extent is a body made ready to be asked how far it reaches. It remembers what
// it looked up, so it is not for several goroutines at once.
type Extent struct {
	body   *brep.Body
	mesh   *mesh.Mesh
	reach  float64 // mm: how far the exact body may stand above its mesh
	chords []chord
	domed  []int32             // triangles of faces that may be highest between their edges
	border mesh.Sides          // the curved sides at which a face ends, made when first asked for
	owner  []int32             // the chord of each of them
	breaks map[int32][]float64 // of splines, by edge, as they are asked for
}

// Of prepares the body that m is the mesh of.
func Of(b *brep.Body, m *mesh.Mesh) *Extent {
	x := &Extent{body: b, mesh: m, reach: slack * m.Chord}
	for i := range min(len(m.Edges), len(b.Edges)) {
		if c := b.Edges[i].Curve; c != nil && !straight(c) {
			v := m.Edges[i].Verts
			for k := 1; k < len(v); k++ {
				x.chords = append(x.chords, chord{a: v[k-1], b: v[k], edge: int32(i)})
			}
		}
	}
	for i := range min(len(m.Triangles), len(m.FaceOf)) {
		if s := x.surfaceOf(i); s != nil && domed(s) {
			x.domed = append(x.domed, int32(i))
		}
	}
	return x
}

func straight(c curve.Curve) bool {
	switch c.(type) {
	case curve.Line, curve.Polyline: // whose corners are vertices of the mesh
		return true
	}
	return false
}

// domed is false for surfaces on which a straight line runs through every
// place: along it the height is nowhere greater than at one of its ends, so that
// the highest point of a face is on an edge.
func domed(s surface.Surface) bool {
	switch s := s.(type) {
	case surface.Plane, surface.Cylinder, surface.Cone, surface.Extrusion:
		return false
	case surface.Offset:
		return domed(s.Base())
	}
	return true
}

func (x *Extent) surfaceOf(tri int) surface.Surface {
	if f := x.mesh.FaceOf[tri]; f >= 0 && int(f) < len(x.body.Faces) {
		return x.body.Faces[f].Surface
	}
	return nil
}

// Along is the least and the greatest height, mm, of the body along d, which may
// have any length: p·d divided by the length of d. A body without a mesh has
// none: +Inf and -Inf.
func (x *Extent) Along(d mgl64.Vec3) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	d, ok := geom.Unit(d)
	if !ok || len(x.mesh.Vertices) == 0 {
		return lo, hi
	}
	h := make([]float64, len(x.mesh.Vertices))
	for i := range x.mesh.Vertices {
		p := &x.mesh.Vertices[i]
		z := p[0]*d[0] + p[1]*d[1] + p[2]*d[2]
		h[i] = z
		lo, hi = min(lo, z), max(hi, z)
	}
	hi = x.top(d, h, hi)
	for i := range h {
		h[i] = -h[i]
	}
	return -x.top(d.Mul(-1), h, -lo), hi
}

// Box is the exact box of the body placed by t, empty without a mesh. It is not
// the placed box of the body, which is wider under a rotation: it is looked for
// along the axes as they lie in the body.
func (x *Extent) Box(t geom.Transform) geom.Box {
	box := geom.EmptyBox()
	for k := range 3 {
		row := t.M.Row(k)
		lo, hi := x.Along(row)
		if lo > hi {
			return box
		}
		l := row.Len()
		box.Min[k], box.Max[k] = lo*l+t.T[k], hi*l+t.T[k]
	}
	return box
}

// top is the greatest height of the body, which is best or more. h are the
// vertices' heights along the unit direction d.
func (x *Extent) top(d mgl64.Vec3, h []float64, best float64) float64 {
	if !(x.reach > 0) {
		return best
	}
	for i := range x.chords {
		c := &x.chords[i]
		if z := max(h[c.a], h[c.b]); z >= best-x.reach {
			if z, ok := x.onCurve(c, d, z+x.reach); ok {
				best = max(best, z)
			}
		}
	}
	var near nearby
	for _, i := range x.domed {
		t := &x.mesh.Triangles[i]
		if z := max(h[t[0]], h[t[1]], h[t[2]]); z >= best-x.reach {
			if z, ok := x.onSurface(int(i), d, z+x.reach, &near); ok {
				best = max(best, z)
			}
		}
	}
	return best
}
