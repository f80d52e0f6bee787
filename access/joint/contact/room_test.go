package contact

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// spread is n tubes at random places and turned at random within a cube.
func spread(n int, size float64) *product.Product {
	r := rand.New(rand.NewPCG(3, 4))
	num := func() float64 { return 2*r.Float64() - 1 }
	uses := make([]fastenertest.Placed, n)
	for i := range uses {
		q := mgl64.Quat{W: num(), V: mgl64.Vec3{num(), num(), num()}}.Normalize()
		uses[i].At = geom.Transform{M: q.Mat4().Mat3(), T: mgl64.Vec3{num(), num(), num()}.Mul(size / 2)}
	}
	return fastenertest.Assemble([]product.Part{fastenertest.Tube(9, 3, 4)}, uses...)
}

// What is looked at costs no more than there is room for, each pair is either
// looked at or told, and a sound product loses none.
func TestHeapsAreBounded(t *testing.T) {
	for _, c := range []struct {
		name string
		p    *product.Product
		left bool
	}{
		{"400 tubes in each other", spread(400, 12), true},
		{"400 tubes with room between them", spread(400, 400), false},
	} {
		s := newStudy(context.Background(), feature.NewScene(context.Background(), c.p))
		near, tooFar := s.near()
		cases, of := s.distinct(near)
		left := s.affordable(cases, of)
		if (left > 0) != c.left || tooFar > 0 {
			t.Errorf("%s: %d of %d pairs left", c.name, left, len(near))
		}
		work, nested := 0.0, 0
		for i := range cases {
			if x := &cases[i]; !x.skip {
				a, b := s.shares(x)
				work += a*float64(s.triangles(x.a)) + b*float64(s.triangles(x.b))
				if a > nestedShare && b > nestedShare {
					nested++
				}
			}
		}
		if work > s.room() || nested > maxNested {
			t.Errorf("%s: work %g in room for %g, %d nested", c.name, work, s.room(), nested)
		}
		looked := 0
		for _, k := range of {
			if k != tooMuch {
				looked++
			}
		}
		if looked+left != len(near) {
			t.Errorf("%s: %d pairs looked at, %d left, of %d", c.name, looked, left, len(near))
		}
	}
}

// All volumes together cost no more pairs of triangles than is said.
func TestVolumesAreBounded(t *testing.T) {
	for _, n := range []int{1, 3, 500, 501, 100_000} {
		sum := 0
		for k := range n {
			sum += pairs(k, n)
		}
		if sum > maxAllPairs || pairs(0, n) < 1<<16 {
			t.Errorf("%d volumes cost up to %d pairs, the first %d", n, sum, pairs(0, n))
		}
	}
}

// A search in a large face, and among many walls, misses nothing that looking
// through all of them finds.
func TestWindowsMissNothing(t *testing.T) {
	p := spread(60, 14)
	s := newStudy(context.Background(), feature.NewScene(context.Background(), p))
	near, _ := s.near()
	cases, _ := s.distinct(near)
	large := 0
	for i := range cases {
		m, ok := s.meet(&cases[i])
		if !ok {
			continue
		}
		for f := range m.y.boxes {
			found := cornersIn(m.y, int32(f), geom.Identity(), m.box)
			want := 0
			for _, k := range m.y.of(f) {
				c := m.y.corners(k)
				if geom.EmptyBox().Add(c[0]).Add(c[1]).Add(c[2]).Overlaps(m.box) {
					want++
				}
			}
			if len(found) != want {
				t.Fatalf("%d triangles of face %d, want %d", len(found), f, want)
			}
			if len(m.y.of(f)) > few {
				large++
			}
		}
	}
	if large == 0 {
		t.Error("no large face")
	}
}
