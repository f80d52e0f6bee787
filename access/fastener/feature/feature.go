package feature

import (
	"context"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// Kind is the simple surface that a face lies on.
type Kind uint8

// The kinds.
const (
	Other Kind = iota
	Plane
	Cylinder
	Cone
	Sphere
	Torus
)

// Face is a face read as a simple shape, in its part's coordinates.
type Face struct {
	Kind Kind
	// Axis is the axis of a cylinder, cone or torus. For a plane it goes
	// through the face and D is the outward normal. A sphere has its centre in
	// O and no direction.
	Axis geom.Axis
	// R is the radius of a cylinder or sphere and the major radius of a torus;
	// for a cone the radius at Axis.O. R2 is the minor radius of a torus, Half
	// the half angle of a cone, rad, positive where it widens along D.
	R, R2, Half float64
	// Inward: the outward normal looks towards the axis, as in a hole.
	Inward bool
	// Z0 and Z1 are the heights along Axis between which the face lies; R0 and
	// R1 the least and greatest distance of its vertices from the axis.
	Z0, Z1, R0, R1 float64
	Area           float64 // mm², of the mesh
}

// Hole is a circular hole: inward cylinders of one axis and radius that touch
// along it, in the part's coordinates.
type Hole struct {
	Axis   geom.Axis
	R      float64 // mm
	Z0, Z1 float64 // heights along Axis
	// Sweep is the mean angle, rad, that its wall covers: 2π for a full hole,
	// less where a slot or an edge cuts it.
	Sweep float64
}

// Part is a part's faces, counted through its bodies as mesh.FaceOf does.
type Part struct {
	Faces []Face
	Holes []Hole // sorted by the first of their faces
	// Bosses are the outward counterparts of holes: shafts, shanks, pins.
	Bosses []Hole

	holes, bosses lines
}

// Of reads a part.
func Of(p *product.Part) *Part { return of(context.Background(), p) }

// of reads a part whose faces are many on all cores: a single part with
// thousands of free-form faces would otherwise keep one core waiting.
func of(ctx context.Context, p *product.Part) *Part {
	var surfaces []surface.Surface
	for _, b := range p.Bodies {
		for i := range b.Faces {
			surfaces = append(surfaces, b.Faces[i].Surface)
		}
	}
	out := &Part{Faces: make([]Face, len(surfaces))}
	each(ctx, len(surfaces), func(i int) { out.Faces[i] = simple(surfaces[i]) })
	if p.HasShape() {
		if len(p.Bodies) == 0 { // a part that arrived as a mesh
			out.Faces = make([]Face, faceCount(p.Mesh))
		}
		measure(ctx, out.Faces, p)
	}
	out.Holes = merge(out.Faces, true)
	out.Bosses = merge(out.Faces, false)
	return out
}

// faceCount is how many faces the mesh speaks of.
func faceCount(m *mesh.Mesh) int {
	n := int32(-1)
	for _, f := range m.FaceOf {
		n = max(n, f)
	}
	return min(int(n)+1, len(m.Triangles))
}

// measure fits what the exact surfaces left open and sets the extents.
func measure(ctx context.Context, faces []Face, p *product.Part) {
	m := p.Mesh
	if len(m.FaceOf) != len(m.Triangles) {
		return
	}
	first, tris := ByFace(m.FaceOf, len(faces))
	each(ctx, len(faces), func(i int) {
		mine := tris[first[i]:first[i+1]]
		if faces[i].Kind == Other && len(mine) > 0 {
			if f, ok := fit(m, mine); ok {
				faces[i] = f
			}
		}
		faces[i].measure(m, mine)
	})
}

// fewFaces are read sooner than a second core is called.
const fewFaces = 64

// each calls f(0..n-1), each once.
func each(ctx context.Context, n int, f func(int)) {
	if n > fewFaces {
		Parallel(ctx, n, f)
		return
	}
	for i := range n {
		f(i)
	}
}

// ByFace sorts the triangles by face: face i has tris[first[i]:first[i+1]].
func ByFace(faceOf []int32, n int) (first, tris []int32) {
	first = make([]int32, n+1)
	for _, f := range faceOf {
		if f >= 0 && int(f) < n {
			first[f+1]++
		}
	}
	for i := range n {
		first[i+1] += first[i]
	}
	tris = make([]int32, first[n])
	next := append([]int32(nil), first...)
	for t, f := range faceOf {
		if f >= 0 && int(f) < n {
			tris[next[f]] = int32(t)
			next[f]++
		}
	}
	return first, tris
}

// measure sets the extent, area and sense of one face from its triangles.
func (f *Face) measure(m *mesh.Mesh, tris []int32) {
	f.Z0, f.Z1, f.R0, f.R1, f.Area = math.Inf(1), math.Inf(-1), math.Inf(1), 0, 0
	look := 0.0 // area-weighted: normal along the radius, or along D
	for _, t := range tris {
		tri := m.Triangles[t]
		a, b, c := m.Vertices[tri[0]], m.Vertices[tri[1]], m.Vertices[tri[2]]
		n := b.Sub(a).Cross(c.Sub(a)).Mul(0.5) // area vector
		f.Area += n.Len()
		look += n.Dot(f.outward(a.Add(b).Add(c).Mul(1. / 3)))
		f.reach(a)
		f.reach(b)
		f.reach(c)
	}
	f.settle(look)
}

// outward is the direction at p that would be the normal of a boss: away from
// the axis or centre, or along D for a plane.
func (f *Face) outward(p mgl64.Vec3) mgl64.Vec3 {
	d := p.Sub(f.Axis.O)
	switch f.Kind {
	case Plane:
		return f.Axis.D
	case Torus:
		h := d.Dot(f.Axis.D)
		radial, ok := geom.Unit(d.Sub(f.Axis.D.Mul(h)))
		if !ok {
			return mgl64.Vec3{}
		}
		d = d.Sub(radial.Mul(f.R)) // from the circle in the tube's middle
	case Cylinder, Cone:
		d = d.Sub(f.Axis.D.Mul(d.Dot(f.Axis.D)))
	}
	u, _ := geom.Unit(d)
	return u
}

// reach takes a vertex into the face's extent.
func (f *Face) reach(p mgl64.Vec3) {
	d := p.Sub(f.Axis.O)
	h := d.Dot(f.Axis.D)
	r := d.Sub(f.Axis.D.Mul(h)).Len()
	f.Z0, f.Z1 = min(f.Z0, h), max(f.Z1, h)
	f.R0, f.R1 = min(f.R0, r), max(f.R1, r)
}

// settle turns the area-weighted look into the sense of the face.
func (f *Face) settle(look float64) {
	if f.Area == 0 {
		f.Z0, f.Z1, f.R0, f.R1 = 0, 0, 0, 0
	}
	f.Inward = look < 0
	if f.Kind == Plane && look < 0 {
		f.Axis.D = f.Axis.D.Mul(-1)
		f.Z0, f.Z1 = -f.Z1, -f.Z0
		f.Inward = false
	}
}
