package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// commonOf asks both ways round, which must give the same.
func commonOf(t testing.TB, a, b *mesh.Mesh, place geom.Transform) float64 {
	t.Helper()
	v, ok := CommonVolume(Build(a), Build(b), place)
	back, _ := place.Inverse()
	w, ok2 := CommonVolume(Build(b), Build(a), back)
	if !ok || !ok2 || !(math.Abs(v-w) <= 1e-9*(1+v)) {
		t.Fatalf("%g %v one way round, %g %v the other", v, ok, w, ok2)
	}
	return v
}

func shifted(x, y, z float64) geom.Transform {
	return geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{x, y, z}}
}

// Meshes with flat faces have their exact common volume, whichever way the pair
// is turned: 1e-12 is rounding.
func TestCommonVolumeOfFlatBodies(t *testing.T) {
	unit := box(0, 0, 0, 1, 1, 1)
	turned := geom.Transform{M: mgl64.Rotate3DZ(math.Pi / 4)}
	mirror := geom.Transform{M: mgl64.Diag3(mgl64.Vec3{-1, 1, 1})}
	octagon := prism(0, 3, circle(0, 0, 2, 8, 0)...)
	for name, c := range map[string]struct {
		a, b  *mesh.Mesh
		place geom.Transform
		want  float64
	}{
		"corner in corner":     {unit, unit, shifted(0.75, 0.5, 0.25), 0.25 * 0.5 * 0.75},
		"bar through a box":    {box(-5, 0.25, 0.25, 5, 0.5, 0.75), unit, geom.Identity(), 0.25 * 0.5},
		"the same box":         {unit, unit, geom.Identity(), 1},
		"box in box":           {box(0.25, 0.25, 0.25, 0.5, 0.5, 0.5), unit, geom.Identity(), 1. / 64},
		"box on the inside":    {box(0, 0.25, 0.25, 0.5, 0.5, 0.5), unit, geom.Identity(), 1. / 32},
		"touching faces":       {unit, unit, shifted(1, 0, 0), 0},
		"touching edges":       {unit, unit, shifted(1, 1, 0), 0},
		"touching corners":     {unit, unit, shifted(1, 1, 1), 0},
		"part of a face":       {unit, box(1, 0.25, 0.25, 2, 0.5, 0.5), geom.Identity(), 0},
		"far apart":            {unit, unit, shifted(9, 0, 0), 0},
		"one above the other":  {unit, unit, shifted(0, 0, 3), 0},
		"squares at 45":        {box(-1, -1, 0, 1, 1, 1), box(-1, -1, 0, 1, 1, 1), turned, 8 * (math.Sqrt2 - 1)},
		"mirrored":             {box(-0.25, 0, 0, 3, 1, 1), unit, mirror, 0.25},
		"inside out":           {flipped(unit), unit, shifted(0.5, 0, 0), 0.5},
		"both inside out":      {flipped(unit), flipped(unit), shifted(0.5, 0, 0), 0.5},
		"in the hole":          {box(-1, -1, -5, 1, 1, 5), plate(0, 2, 3, 6, 40), geom.Identity(), 0},
		"plate in itself":      {plate(0, 2, 3, 6, 40), plate(0, 2, 3, 6, 40), geom.Identity(), 2 * 40 * 0.5 * 27 * math.Sin(math.Pi/20)},
		"two shells":           {join(unit, box(2, 0, 0, 3, 1, 1)), box(0.5, 0, 0, 2.25, 1, 1), geom.Identity(), 0.75},
		"void":                 {join(box(-3, -3, -3, 3, 3, 3), flipped(box(-1, -1, -1, 1, 1, 1))), box(0, 0, 0, 2, 2, 2), geom.Identity(), 7},
		"standing in the void": {join(box(-3, -3, -3, 3, 3, 3), flipped(box(-1, -1, -1, 1, 1, 1))), unit, geom.Identity(), 0},
		"octagon in itself":    {octagon, octagon, shifted(0, 0, 1), 2 * 8 * 0.5 * 4 * math.Sin(math.Pi/4)},
	} {
		for i, p := range []geom.Transform{geom.Identity(), {M: mgl64.Rotate3DX(0.7).Mul3(mgl64.Rotate3DY(1.9)), T: mgl64.Vec3{3, 4, 5}}} {
			if got := commonOf(t, c.a, moved(c.b, p), p.Mul(c.place)); !(math.Abs(got-c.want) <= 1e-12*(1+c.want)*10) {
				t.Errorf("%s, turn %d: %.15g mm³, want %.15g", name, i, got, c.want)
			}
		}
	}
}

// Two prisms over one regular polygon that cross at right angles have in common
// what ∫ w² dz says, with w their width at the height z, which is linear between
// the corners' heights. With more sides this goes to Archimedes' 16 r³/3.
func TestCommonVolumeOfCrossedCylinders(t *testing.T) {
	const r = 3.0
	last := math.Inf(1)
	for _, n := range []int{8, 16, 32, 64, 128} {
		turn := math.Pi / float64(n) // sides are square to the axes
		along := prism(-5, 5, circle(0, 0, r, n, turn)...)
		x := moved(along, geom.Transform{M: mgl64.Rotate3DY(math.Pi / 2)})
		y := moved(along, geom.Transform{M: mgl64.Rotate3DX(math.Pi / 2)})
		want := 0.0
		for k := range n/2 - 1 { // the slabs between the corners' heights, by Simpson's rule
			s0, c0 := math.Sincos(turn + 2*math.Pi*float64(k)/float64(n) - math.Pi/2)
			s1, c1 := math.Sincos(turn + 2*math.Pi*float64(k+1)/float64(n) - math.Pi/2)
			a, b := 2*r*c0, 2*r*c1
			want += r * (s1 - s0) / 6 * (a*a + (a+b)*(a+b) + b*b)
		}
		got := commonOf(t, x, y, geom.Identity())
		if !(math.Abs(got-want) <= 1e-10*want) {
			t.Errorf("%d sides: %.12g mm³, want %.12g", n, got, want)
		}
		off := 16*r*r*r/3 - got
		if !(off > 0 && off < 0.3*last) {
			t.Errorf("%d sides: %g mm³ below 16 r³/3, with half the sides %g", n, off, last)
		}
		last = off
	}
}

// Two spheres have a lens in common; finer ones come nearer to it by four times.
func TestCommonVolumeOfSpheres(t *testing.T) {
	const r, s, d = 5.0, 3.0, 6.0
	// Both caps: π (R + r - d)² (d² + 2 d (R + r) - 3 (R - r)²) / 12 d.
	want := math.Pi * (r + s - d) * (r + s - d) * (d*d + 2*d*(r+s) - 3*(r-s)*(r-s)) / (12 * d)
	last := math.Inf(1)
	for _, n := range []int{12, 24, 48} {
		got := commonOf(t, sphere(mgl64.Vec3{}, r, n), sphere(mgl64.Vec3{}, s, n), shifted(0, 0, d))
		if off := want - got; !(off > 0 && off < 0.3*last) {
			t.Errorf("%d rings: %g mm³, %g below the lens of %g; with half of them %g", n, got, off, want, last)
		} else {
			last = off
		}
	}
	if !(last < 0.01*want) {
		t.Errorf("%g mm³ below the lens of %g", last, want)
	}
}

// A body cut up by a wall of boxes is the sum of what it has in common with them,
// and has itself in common with itself, however it lies.
func TestCommonVolumeAddsUp(t *testing.T) {
	bodies := []*mesh.Mesh{
		sphere(mgl64.Vec3{1, 2, 3}, 5, 9), plate(-2, 2, 3, 6, 24), helix(5, 0.6, 1.2, 3, 20),
		join(sphere(mgl64.Vec3{}, 5, 7), flipped(sphere(mgl64.Vec3{}, 3, 6))), prism(-3, 1, circle(0, 0, 4, 7, 0.1)...),
	}
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(bodies).Draw(t, "body")
		body, place := Build(m), drawPlace(t)
		want := m.Volume()
		box0 := body.Box().Transformed(place).Grow(1)
		cut := mgl64.Vec3{}
		for k := range 3 {
			cut[k] = box0.Min[k] + rapid.Float64Range(0.01, 0.99).Draw(t, "cut")*(box0.Max[k]-box0.Min[k])
		}
		sum := 0.0
		for i := range 8 {
			lo, hi := box0.Min, cut
			for k := range 3 {
				if i>>k&1 == 1 {
					lo[k], hi[k] = cut[k], box0.Max[k]
				}
			}
			v, ok := CommonVolume(body, Build(box(lo[0], lo[1], lo[2], hi[0], hi[1], hi[2])), place)
			if !ok {
				t.Fatal("not closed")
			}
			sum += v
		}
		if !(math.Abs(sum-want) <= 1e-9*want) {
			t.Fatalf("the pieces hold %.12g mm³, the whole %.12g", sum, want)
		}
		if v, ok := CommonVolume(body, body.Placed(place), place); !ok || !(math.Abs(v-want) <= 1e-9*want) {
			t.Fatalf("%.12g mm³ in common with itself, of %.12g", v, want)
		}
	})
}

// Two bodies moved together have the same in common, and not more than either.
func TestCommonVolumeIsRigid(t *testing.T) {
	bodies := []*mesh.Mesh{
		sphere(mgl64.Vec3{1, 2, 3}, 5, 9), plate(-2, 2, 3, 6, 24), helix(5, 0.6, 1.2, 3, 20), box(-3, -2, -1, 4, 5, 2),
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.SampledFrom(bodies).Draw(t, "a"), rapid.SampledFrom(bodies).Draw(t, "b")
		at, p := drawPlace(t), drawPlace(t)
		at.T = at.T.Mul(0.3)
		v, _ := CommonVolume(Build(a), Build(b), at)
		w, _ := CommonVolume(Build(a), Build(b).Placed(p), p.Mul(at))
		if !(math.Abs(v-w) <= 1e-9*(1+v)) || !(v <= 1e-9+(1+1e-9)*min(a.Volume(), b.Volume())) {
			t.Fatalf("%.12g mm³, moved %.12g, of %g and %g", v, w, a.Volume(), b.Volume())
		}
		if v > 1e-6 && !Intersects(Build(a), Build(b), at) {
			q := at.Point(a.Vertices[0])
			back, _ := at.Inverse()
			if !Build(b).Contains(q) && !Build(a).Contains(back.Point(b.Vertices[0])) {
				t.Fatalf("%g mm³ in common, but they neither meet nor hold each other", v)
			}
		}
	})
}

func TestCommonVolumeOfNothing(t *testing.T) {
	unit := box(0, 0, 0, 1, 1, 1)
	open := &mesh.Mesh{Vertices: unit.Vertices, Triangles: unit.Triangles[1:]}
	for name, c := range map[string][2]*Tree{
		"nil":   {nil, Build(unit)},
		"empty": {Build(unit), Build(&mesh.Mesh{})},
		"open":  {Build(unit), Build(open)},
	} {
		if v, ok := CommonVolume(c[0], c[1], geom.Identity()); v != 0 || ok {
			t.Errorf("%s: %g %v, want no answer", name, v, ok)
		}
	}
}

func BenchmarkCommonVolume(b *testing.B) {
	ball := Build(sphere(mgl64.Vec3{}, 50, 72))
	thread, like := Build(helix(5, 0.6, 1, 20, 160)), Build(helix(5.2, 0.6, 1, 20, 170))
	peg, bore := Build(prism(0, 40, circle(0, 0, 10, 5000, 0)...)), Build(plate(0, 40, 9.98, 30, 2500))
	for _, c := range []struct {
		name string
		a, b *Tree
		at   geom.Transform
	}{
		{"spheres 20k x 20k", ball, ball, shifted(30, 20, 10)},
		{"spheres nearly in one place 20k x 20k", ball, ball, shifted(0.1, 0.2, 0.3)},
		{"threads 19k x 20k", thread, like, shifted(0, 0, 0.1)},
		{"peg in bore 20k x 20k", peg, bore, geom.Identity()},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			var v float64
			for b.Loop() {
				v, _ = CommonVolume(c.a, c.b, c.at)
			}
			b.ReportMetric(v, "mm³")
		})
	}
}
