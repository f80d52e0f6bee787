package contact

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// two puts two meshes into one product, both moved by t.
func two(a, b *mesh.Mesh, place, t geom.Transform) *product.Product {
	parts := []product.Part{fastenertest.Meshed("a", a), fastenertest.Meshed("b", b)}
	return fastenertest.Assemble(parts,
		fastenertest.Placed{Part: 0, At: t, Name: "a"},
		fastenertest.Placed{Part: 1, At: t.Mul(place), Name: "b"})
}

func shift(x, y, z float64) geom.Transform {
	t := geom.Identity()
	t.T = mgl64.Vec3{x, y, z}
	return t
}

func spin(angle float64, axis mgl64.Vec3) geom.Transform {
	return geom.Transform{M: mgl64.Rotate3DZ(0).Mul3(mgl64.HomogRotate3D(angle, axis.Normalize()).Mat3())}
}

// anyPlace is a rigid placement.
func anyPlace(t *rapid.T) geom.Transform {
	n := func(label string) float64 { return rapid.Float64Range(-1, 1).Draw(t, label) }
	out := spin(math.Pi*n("angle"), mgl64.Vec3{n("x"), n("y"), n("z")}.Add(mgl64.Vec3{0, 0, 1.7}))
	out.T = mgl64.Vec3{200 * n("tx"), 200 * n("ty"), 200 * n("tz")}
	return out
}

func box(x, y, z float64) *mesh.Mesh { return shape.Box(mgl64.Vec3{}, mgl64.Vec3{x, y, z}) }

// fataler is a test, or a draw of one.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func pairOf(t fataler, p *product.Product) (Pair, bool) {
	t.Helper()
	r := Pairs(context.Background(), p)
	if len(r.Pairs) > 1 || r.Left > 0 {
		t.Fatalf("%d pairs, %d left", len(r.Pairs), r.Left)
	}
	if len(r.Pairs) == 0 {
		return Pair{}, false
	}
	return r.Pairs[0], true
}

// A box on a box, not turned against it: the common rectangle.
func TestBoxOnBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := func(label string) float64 { return rapid.Float64Range(1, 40).Draw(t, label) }
		ax, ay, bx, by := size("ax"), size("ay"), size("bx"), size("by")
		dx, dy := rapid.Float64Range(-bx+0.5, ax-0.5).Draw(t, "dx"), rapid.Float64Range(-by+0.5, ay-0.5).Draw(t, "dy")
		gap := rapid.Float64Range(-0.9*Touch, 0.9*Touch).Draw(t, "gap")
		at := anyPlace(t)
		p := two(box(ax, ay, 5), box(bx, by, 3), shift(dx, dy, 5+gap), at)
		want := (min(ax, dx+bx) - max(0, dx)) * (min(ay, dy+by) - max(0, dy))
		c := Find(context.Background(), p)
		if len(c) != 1 || c[0].Kind != Planar || !(math.Abs(c[0].Area-want) <= 1e-6*want) {
			t.Fatalf("%+v, want %g mm²", c, want)
		}
		if up := at.Dir(mgl64.Vec3{0, 0, 1}); c[0].Normal.Sub(up).Len() > 1e-9 {
			t.Fatalf("normal %v, want %v from a to b", c[0].Normal, up)
		}
	})
}

// A box turned on a box: the area against a count of places on a grid.
func TestTurnedBoxOnBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(0, math.Pi).Draw(t, "angle")
		turned := spin(angle, mgl64.Vec3{0, 0, 1})
		turned.T = mgl64.Vec3{rapid.Float64Range(2, 18).Draw(t, "x"), rapid.Float64Range(2, 8).Draw(t, "y"), 4}
		p := two(box(20, 10, 4), box(12, 7, 2), turned, anyPlace(t))
		back, _ := turned.Inverse()
		const n = 200
		count := 0
		for i := range 2 * n {
			for k := range n {
				q := back.Point(mgl64.Vec3{(float64(i) + 0.5) * 10 / n, (float64(k) + 0.5) * 10 / n, 4})
				if q[0] > 0 && q[0] < 12 && q[1] > 0 && q[1] < 7 {
					count++
				}
			}
		}
		want := float64(count) * 100 / n / n
		pair, ok := pairOf(t, p)
		if !ok || len(pair.Contacts) != 1 || math.Abs(pair.Area()-want) > 0.6 || pair.Deep {
			t.Fatalf("%+v, want %g mm²", pair, want)
		}
	})
}

// Faces further apart than MaxTouch touch nothing; nor do faces that look the
// same way.
func TestApart(t *testing.T) {
	for _, place := range []geom.Transform{shift(0, 0, 5+MaxTouch+0.01), shift(20+MaxTouch+0.01, 0, 0)} {
		if pair, ok := pairOf(t, two(box(20, 20, 5), box(20, 20, 5), place, geom.Identity())); ok {
			t.Errorf("%+v, want nothing", pair)
		}
	}
	if pair, ok := pairOf(t, two(box(20, 20, 5), box(20, 20, 5), shift(20, 20, 5), geom.Identity())); !ok || pair.Area() != 0 {
		t.Errorf("boxes that touch in a corner: %+v, want a contact without area", pair)
	}
}

var up = geom.Axis{D: mgl64.Vec3{0, 0, 1}}

// A shaft in a through hole: 2πrl of contact where the diameters agree, and the
// class of the fit.
func TestShaftInHole(t *testing.T) {
	plate := shape.Plate(mgl64.Vec3{-15, -15, 0}, mgl64.Vec3{15, 15, 8}, shape.Circle(0, 0, 5, 90))
	for _, c := range []struct {
		d, down, length float64
		class           Class
		touches, deep   bool
	}{
		{10, -3, 8, Transition, true, false},
		{10, 3, 5, Transition, true, false},
		{10.02, -3, 8, Interference, true, false},
		{10.09, 3, 5, Interference, true, true},
		{9.9, -3, 8, Clearance, false, false},
		{11.5, -3, 8, Bite, false, true},
		{8, -3, 0, "", false, false},
	} {
		shaft := shape.Cylinder(up, c.d/2, 20, 84)
		for k, at := range []geom.Transform{geom.Identity(), spin(1, mgl64.Vec3{1, 2, 3})} {
			pair, ok := pairOf(t, two(plate, shaft, shift(0, 0, c.down), at))
			if c.class == "" {
				if ok {
					t.Errorf("Ø%g: %+v, want nothing", c.d, pair)
				}
				continue
			}
			if !ok || len(pair.Fits) != 1 {
				t.Errorf("Ø%g: %+v, want a fit", c.d, pair)
				continue
			}
			f := pair.Fits[0]
			if f.Class != c.class || math.Abs(f.Overlap-(c.d-10)) > 1e-6 || math.Abs(f.Length-c.length) > 1e-6 || f.Shaft != 1 || f.Hole != 0 {
				t.Errorf("Ø%g: %+v, want %s over %g mm", c.d, f, c.class, c.length)
			}
			want := 0.0
			if c.touches {
				want = 10 * math.Pi * c.length
			}
			if math.Abs(pair.Area()-want) > 1e-6*want || c.touches && (pair.Contacts[0].Kind != Cylindrical || pair.Contacts[0].Inner) {
				t.Errorf("Ø%g: %+v, want %g mm² on a cylinder", c.d, pair.Contacts, want)
			}
			if pair.Deep != c.deep {
				t.Errorf("Ø%g, place %d: deep %v, %g mm³", c.d, k, pair.Deep, pair.Shared)
			}
		}
	}
}

// A half shell about a shaft, turned at random: the unrolled regions meet over
// the seam at ±π.
func TestHalfShellOnShaft(t *testing.T) {
	half := []mgl64.Vec2{}
	for i := 0; i <= 60; i++ {
		s, c := math.Sincos(math.Pi * float64(i) / 60)
		half = append(half, mgl64.Vec2{5 * c, 5 * s})
	}
	half = append(half, mgl64.Vec2{-8, 0}, mgl64.Vec2{-8, 8}, mgl64.Vec2{8, 8}, mgl64.Vec2{8, 0})
	shell := shape.Prism(up, 6, shape.Contour{Points: half})
	for i := range shell.Triangles { // the facets of the bore are one face
		if onBore(shell, i) {
			shell.FaceOf[i] = 99
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		turn := spin(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"), mgl64.Vec3{0, 0, 1})
		pair, ok := pairOf(t, two(shell, shape.Cylinder(up, 5, 9, 72), shift(0, 0, 2).Mul(turn), anyPlace(t)))
		want := math.Pi * 5 * 4
		if !ok || math.Abs(pair.Area()-want) > 0.02*want {
			t.Fatalf("%+v, want %g mm²", pair, want)
		}
	})
}

func onBore(m *mesh.Mesh, tri int) bool {
	for _, v := range m.Triangles[tri] {
		if p := m.Vertices[v]; math.Abs(math.Hypot(p[0], p[1])-5) > 1e-6 {
			return false
		}
	}
	return math.Abs(m.Cross(tri)[2]) < 1e-9
}

// A countersunk cone in its sink: the common part of the frustum's side.
func TestConeInSink(t *testing.T) {
	profile := []mgl64.Vec2{{4, 0}, {12, 0}, {12, 4}, {8, 4}, {4, 0}}
	sink := shape.Revolve(up, profile[:4], 90)
	head := shape.Cone(up, 4, 8, 4, 72)
	pair, ok := pairOf(t, two(sink, head, shift(0, 0, 0), spin(0.4, mgl64.Vec3{1, 0, 1})))
	want := math.Pi * (4 + 8) * math.Hypot(4, 4)
	if !ok || len(pair.Contacts) != 1 || pair.Contacts[0].Kind != Other || math.Abs(pair.Area()-want) > 0.03*want || pair.Deep {
		t.Errorf("%+v, want %g mm² on another surface", pair, want)
	}
}

// A ball on a plate touches it in a point.
func TestBallOnPlate(t *testing.T) {
	ball := shape.Sphere(mgl64.Vec3{10, 10, 8}, 3, 48)
	ball.Chord = 0.01
	pair, ok := pairOf(t, two(box(20, 20, 5), ball, geom.Identity(), geom.Identity()))
	if !ok || len(pair.Contacts) != 1 || pair.Contacts[0].Area != 0 || pair.Deep {
		t.Errorf("%+v, want one contact without area", pair)
	}
}

// Boxes in each other: the common volume, and how far one has to move.
func TestOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deep := rapid.Float64Range(0.1, 4).Draw(t, "deep")
		dx := rapid.Float64Range(-10, 14).Draw(t, "dx")
		at := shift(30, -7, 2)
		p := two(box(20, 20, 5), box(12, 30, 8), shift(dx, -5, 5-deep), at)
		pair, ok := pairOf(t, p)
		wide := min(20, dx+12) - max(0, dx)
		want := wide * 20 * deep
		if !ok || !pair.Deep || math.Abs(pair.Shared-want) > 1e-6*want {
			t.Fatalf("%+v, want %g mm³", pair, want)
		}
		if d, want := Depth(p, 0, 1), min(deep, 20-max(0, dx), dx+12); math.Abs(d-want) > 0.05+0.02*want {
			t.Fatalf("depth %g, want %g mm", d, want)
		}
	})
}

// No overlap comes of facets alone: a coarse shaft in a coarse hole of the same
// diameter, however one is turned in the other.
func TestFacetsAreNoOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(1, 50).Draw(t, "r")
		n, k := rapid.IntRange(20, 60).Draw(t, "n"), rapid.IntRange(20, 60).Draw(t, "k")
		chord := r * (1 - math.Cos(math.Pi/float64(min(n, k))))
		plate := shape.Plate(mgl64.Vec3{-2 * r, -2 * r, 0}, mgl64.Vec3{2 * r, 2 * r, r}, shape.Circle(0, 0, r, n))
		shaft := shape.Cylinder(up, r, r, k)
		plate.Chord, shaft.Chord = chord, chord
		turn := spin(rapid.Float64Range(0, 7).Draw(t, "turn"), mgl64.Vec3{0, 0, 1})
		pair, ok := pairOf(t, two(plate, shaft, turn, anyPlace(t)))
		if !ok || pair.Deep {
			t.Fatalf("%+v: want a contact and no overlap", pair)
		}
		if want := 2 * math.Pi * r * r; math.Abs(pair.Area()-want) > 1e-3*want {
			t.Fatalf("%g mm², want %g", pair.Area(), want)
		}
	})
}

// The answer does not depend on which solid comes first.
func TestOrder(t *testing.T) {
	a, b := box(20, 20, 5), shape.Plate(mgl64.Vec3{2, 2, 5}, mgl64.Vec3{9, 30, 7}, shape.Circle(5, 5, 1, 40))
	one, _ := pairOf(t, two(a, b, geom.Identity(), geom.Identity()))
	other, _ := pairOf(t, two(b, a, geom.Identity(), geom.Identity()))
	if math.Abs(one.Area()-other.Area()) > 1e-9 || one.Contacts[0].Normal.Add(other.Contacts[0].Normal).Len() > 1e-9 {
		t.Errorf("%+v and %+v", one.Contacts, other.Contacts)
	}
}
