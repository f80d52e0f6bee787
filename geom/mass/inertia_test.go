package mass_test

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// block is a box of facets anywhere, with its closed forms.
type block struct {
	mesh *mesh.Mesh
	at   geom.Transform
	size mgl64.Vec3
}

func drawVec(t *rapid.T, name string, within float64) (v mgl64.Vec3) {
	for i := range v {
		v[i] = rapid.Float64Range(-within, within).Draw(t, name)
	}
	return v
}

func drawBlock(t *rapid.T) block {
	b := block{at: geom.Identity()}
	for i := range b.size {
		b.size[i] = rapid.Float64Range(0.5, 20).Draw(t, "size")
	}
	if axis, ok := geom.Unit(drawVec(t, "axis", 1)); ok {
		b.at.M = mgl64.QuatRotate(rapid.Float64Range(0, 6).Draw(t, "angle"), axis).Mat4().Mat3()
	}
	b.at.T = drawVec(t, "place", 50)
	b.mesh = shape.Box(b.size.Mul(-0.5), b.size.Mul(0.5)).Transformed(b.at)
	return b
}

func (b *block) properties() mass.Properties { return mass.Of(&brep.Body{}, b.mesh) }

func (b *block) volume() float64 { return b.size[0] * b.size[1] * b.size[2] }

// about is the tensor about any point: that of the block about its middle,
// V (b²+c²)/12 and so on, and the mass's own V (|d|² E - d dᵀ) at a distance d.
func (b *block) about(o mgl64.Vec3) mgl64.Mat3 {
	sq := func(i int) float64 { return b.size[i] * b.size[i] / 12 }
	own := mgl64.Diag3(mgl64.Vec3{sq(1) + sq(2), sq(2) + sq(0), sq(0) + sq(1)})
	d := b.at.T.Sub(o)
	away := mgl64.Ident3().Mul(d.Dot(d)).Sub(d.OuterProd3(d))
	return b.at.M.Mul3(own).Mul3(b.at.M.Transpose()).Add(away).Mul(b.volume())
}

// alike demands equal tensors but for rounding against size, mm⁵.
func alike(t *rapid.T, what string, got, want mgl64.Mat3, size float64) {
	t.Helper()
	for i := range got {
		if d := got[i] - want[i]; !(d <= 1e-11*size && -d <= 1e-11*size) {
			t.Fatalf("%s: %v, want %v", what, got, want)
		}
	}
}

// The parallel axis step: about any point the tensor is that of the closed form,
// and going there does not depend on the way.
func TestParallelAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBlock(t)
		p, o := b.properties(), drawVec(t, "about", 80)
		size := b.about(o).Trace() + b.about(mgl64.Vec3{}).Trace()
		alike(t, "about a point", p.InertiaAbout(o), b.about(o), size)
		c, ok := p.Centroid()
		if !ok {
			t.Fatal("no centroid")
		}
		alike(t, "about the centroid", p.InertiaAbout(c), p.Inertia, size)
		there := p.Transformed(geom.Transform{M: mgl64.Ident3(), T: o.Mul(-1)})
		alike(t, "moved there", there.InertiaAbout(mgl64.Vec3{}), p.InertiaAbout(o), size)
		// The centroid has the least moment about any axis.
		if rise := p.InertiaAbout(o).Sub(p.Inertia); !(min(rise[0], rise[4], rise[8]) >= -1e-11*size) {
			t.Fatalf("less about %v than about the centroid: %v", o, rise)
		}
	})
}

// Add joins bodies as integrating over all of them at once does, in any order,
// and about one point the tensors are simply summed.
func TestAdd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawBlock(t), drawBlock(t), drawBlock(t)
		all := []*mesh.Mesh{a.mesh, b.mesh, c.mesh}
		p, q, r := a.properties(), b.properties(), c.properties()
		sum := p.Add(q).Add(r)
		o := drawVec(t, "about", 50)
		want := a.about(o).Add(b.about(o)).Add(c.about(o))
		size := want.Trace()
		alike(t, "sum", sum.InertiaAbout(o), want, size)
		for name, other := range map[string]mass.Properties{
			"at once":           mass.Of(&brep.Body{}, mesh.Join(all, []int{6, 6, 6})),
			"in another order":  r.Add(p).Add(q),
			"otherwise grouped": p.Add(q.Add(r)),
			"with nothing":      mass.Properties{}.Add(sum).Add(mass.Properties{}),
			"more and less":     sum.Add(p).Add(taken(p)),
		} {
			alike(t, name, other.Inertia, sum.Inertia, size)
			d := other.Moment.Sub(sum.Moment).Len()
			if dv := other.Volume - sum.Volume; !(max(dv, -dv) <= 1e-11*sum.Volume && d <= 1e-11*100*sum.Volume) {
				t.Fatalf("%s: %v, want %v", name, other, sum)
			}
			if da := other.Area - sum.Area; name != "more and less" && !(max(da, -da) <= 1e-11*sum.Area) {
				t.Fatalf("%s: area %g mm², want %g", name, other.Area, sum.Area)
			}
		}
	})
}

// taken is the body turned inside out: a hole of its shape.
func taken(p mass.Properties) mass.Properties {
	return mass.Properties{Volume: -p.Volume, Moment: p.Moment.Mul(-1), Area: p.Area, Inertia: p.Inertia.Mul(-1)}
}
