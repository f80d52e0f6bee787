package mass

import (
	"context"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/workers"
)

// Properties are integrals over a body's surface, in the body's coordinates.
type Properties struct {
	Volume float64    // mm³, negative where the body is inside out; meaningless for an open one
	Moment mgl64.Vec3 // ∫ p dV, mm⁴
	Area   float64    // mm²
	// Inertia is the tensor about the centroid for a density of 1, mm⁵:
	// ∫ (|q|² E - q qᵀ) dV with q from the centroid, so that the products of
	// inertia stand in it with a minus. Times kg/mm³ it is kg mm². Zero without
	// a volume.
	Inertia mgl64.Mat3
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
	return Properties{
		Volume: p.Volume + q.Volume, Moment: p.Moment.Add(q.Moment), Area: p.Area + q.Area,
		Inertia: p.inertiaWith(q),
	}
}

// Of integrates over the body that m is the mesh of. Faces whose mesh is a
// makeshift, so that it leaves the surface by more than slack chords, are
// taken as they are meshed.
func Of(b *brep.Body, m *mesh.Mesh) Properties {
	return All(context.Background(), []*brep.Body{b}, []*mesh.Mesh{m}, 1)[0]
}

// atOnce is how many triangles, about, are worked on together: enough to keep
// all cores busy, and 100 bytes each.
const atOnce = 1 << 16

// All is Of for many bodies, on up to w cores (0: all), which share large bodies
// as well; the figures do not depend on w. When ctx ends they are incomplete:
// the caller asks ctx.
func All(ctx context.Context, bodies []*brep.Body, meshes []*mesh.Mesh, w int) []Properties {
	out := make([]Properties, len(bodies))
	for from, to := 0, 0; from < len(bodies) && ctx.Err() == nil; from = to {
		for n := 0; to < len(bodies) && (to == from || n+len(meshes[to].Triangles) <= atOnce); to++ {
			n += len(meshes[to].Triangles)
		}
		together(ctx, bodies[from:to], meshes[from:to], w, out[from:to])
	}
	return out
}

// together integrates over a few bodies: all that is shared by faces first, so
// that then each piece of each face is its own work.
func together(ctx context.Context, bodies []*brep.Body, meshes []*mesh.Mesh, w int, out []Properties) {
	skins := make([]*skin, len(bodies))
	workers.Run(ctx, len(skins), w, func(i int) { skins[i] = skinOf(bodies[i], meshes[i]) })
	if ctx.Err() != nil {
		return
	}
	var pieces []piece
	var measure []func()
	for i, s := range skins {
		for k := range s.arcs {
			measure = append(measure, func() { s.onCurve(&s.arcs[k]) })
		}
		for _, p := range s.pieces {
			p.skin = int32(i)
			pieces = append(pieces, p)
			if p.curved() {
				measure = append(measure, func() { s.onSurface(p) })
			}
		}
	}
	workers.Run(ctx, len(measure), w, func(k int) { measure[k]() })
	part := make([]sums, len(pieces))
	workers.Run(ctx, len(pieces), w, func(k int) { part[k] = skins[pieces[k].skin].integrate(pieces[k]) })
	for i, k := 0, 0; i < len(skins); i++ {
		var sum sums
		for ; k < len(pieces) && int(pieces[k].skin) == i; k++ {
			sum.add(&part[k])
		}
		out[i] = sum.properties(skins[i].o)
	}
}

// sums are the integrals from an origin near the body.
type sums struct {
	volume, area           float64
	x, y, z                float64 // ∫ p dV
	xx, yy, zz, xy, yz, zx float64 // ∫ p pᵀ dV
}

// add joins integrals from the same origin.
func (s *sums) add(q *sums) {
	s.volume, s.area = s.volume+q.volume, s.area+q.area
	s.x, s.y, s.z = s.x+q.x, s.y+q.y, s.z+q.z
	s.xx, s.yy, s.zz = s.xx+q.xx, s.yy+q.yy, s.zz+q.zz
	s.xy, s.yz, s.zx = s.xy+q.xy, s.yz+q.yz, s.zx+q.zx
}

// properties are those of the body whose integrals were taken from o.
func (s *sums) properties(o mgl64.Vec3) Properties {
	m := mgl64.Vec3{s.x, s.y, s.z}
	p := Properties{Volume: s.volume, Moment: m.Add(o.Mul(s.volume)), Area: s.area}
	if s.volume != 0 {
		about := inertiaOf(s.xx, s.yy, s.zz, s.xy, s.yz, s.zx)
		p.Inertia = about.Sub(steiner(s.volume, m.Mul(1/s.volume)))
	}
	return p
}

// Transformed are the properties of the body placed by t. Where t scales
// differently in different directions the area does not follow from these
// figures and is NaN.
func (p Properties) Transformed(t geom.Transform) Properties {
	det := math.Abs(t.M.Det()) // a mirrored body is turned round, and so stays positive
	out := Properties{Volume: det * p.Volume, Area: p.Area * areaFactor(t)}
	out.Moment = t.Dir(p.Moment).Add(t.T.Mul(p.Volume)).Mul(det)
	// ∫ q qᵀ dV follows any linear map, and is half the trace less the tensor.
	spread := mgl64.Ident3().Mul(p.Inertia.Trace() / 2).Sub(p.Inertia)
	spread = t.M.Mul3(spread).Mul3(t.M.Transpose()).Mul(det)
	out.Inertia = mgl64.Ident3().Mul(spread.Trace()).Sub(spread)
	return out
}

// areaFactor is how a placement changes areas, NaN where that differs from
// direction to direction.
func areaFactor(t geom.Transform) float64 {
	if t.IsRigid() || t.IsMirror() {
		return 1
	}
	s := t.M.Col(0).LenSqr()
	u := geom.Transform{M: t.M.Mul(1 / math.Sqrt(s))}
	if !(s > 0) || !u.IsRigid() && !u.IsMirror() {
		return math.NaN()
	}
	return s
}
