package feature_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// A stepped bush, read back from its mesh alone: two holes, one shaft, and
// their extents; values are those it was drawn with.
func TestOfReadsHolesAndBosses(t *testing.T) {
	part := fastenertest.Turn("",
		fastenertest.Circle(0, 2), fastenertest.Circle(0, 6), fastenertest.Circle(10, 6),
		fastenertest.Circle(10, 3), fastenertest.Circle(4, 3), fastenertest.Circle(4, 2), fastenertest.Circle(0, 2))
	f := feature.Of(&part)
	if len(f.Holes) != 2 || len(f.Bosses) != 1 {
		t.Fatalf("%d holes, %d bosses: %+v", len(f.Holes), len(f.Bosses), f)
	}
	up := geom.Axis{D: mgl64.Vec3{0, 0, 1}}
	want := []feature.Segment{{Z0: 4, Z1: 10, R: 3}, {Z0: 0, Z1: 4, R: 2}}
	got := f.Around(up, 0.01, 1.99*math.Pi)
	if len(got) != 2 {
		t.Fatalf("around the axis: %+v", got)
	}
	for i, w := range want {
		g := got[i]
		if math.Abs(g.Z0-w.Z0)+math.Abs(g.Z1-w.Z1)+math.Abs(g.R-w.R) > 1e-6 {
			t.Errorf("hole %d: %+v, want %+v", i, g, w)
		}
	}
	if s := f.Inside(up, 0.01, math.Pi); len(s) != 1 || math.Abs(s[0].R-6) > 1e-6 {
		t.Errorf("shaft: %+v", s)
	}
	if s := f.Around(geom.Axis{O: mgl64.Vec3{0.5, 0, 0}, D: up.D}, 0.1, math.Pi); len(s) != 0 {
		t.Errorf("half a millimetre beside the axis: %+v", s)
	}
	down := geom.Axis{O: mgl64.Vec3{0, 0, 10}, D: mgl64.Vec3{0, 0, -1}}
	if s := f.Around(down, 0.01, math.Pi); len(s) != 2 || math.Abs(s[0].Z0) > 1e-6 || math.Abs(s[0].Z1-6) > 1e-6 {
		t.Errorf("seen from above: %+v", s)
	}
}

// Near must answer as looking at every box does.
func TestNearMatchesBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &product.Product{Parts: []product.Part{{}}}
		num := rapid.Float64Range(-100, 100)
		draw := func() geom.Box {
			b := geom.EmptyBox()
			a := mgl64.Vec3{num.Draw(t, "x"), num.Draw(t, "y"), num.Draw(t, "z")}
			return b.Add(a).Add(a.Add(mgl64.Vec3{rapid.Float64Range(0, 60).Draw(t, "dx"), 20, 20}))
		}
		for range rapid.IntRange(0, 70).Draw(t, "n") {
			p.Solids = append(p.Solids, product.Solid{Box: draw()})
		}
		s := feature.NewScene(context.Background(), p)
		q := draw()
		var want []product.SolidIndex
		for i := range p.Solids {
			if p.Solids[i].Box.Overlaps(q) {
				want = append(want, product.SolidIndex(i))
			}
		}
		if got := s.Near(q); !slices.Equal(got, want) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}

// A solid is asked where it stands: a tube with a bore of 3 mm, moved by 100 mm,
// is as near to its moved axis as its bore is wide, and only over its height.
func TestFreeRadiusOfAPlacedSolid(t *testing.T) {
	at := geom.Identity()
	at.T = mgl64.Vec3{100, 0, 0}
	p := fastenertest.Assemble([]product.Part{fastenertest.Tube(10, 2, 3)}, fastenertest.Placed{At: at})
	s := feature.NewScene(context.Background(), p)
	axis := geom.Axis{O: mgl64.Vec3{100, 0, 0}, D: mgl64.Vec3{0, 0, 1}}
	const chord = 0.001 // of the bore's 240 corners
	if free, hit := s.FreeRadius(0, axis, -1, 5, 4); !hit || math.Abs(free.R-1.5) > chord {
		t.Errorf("free radius %+v, %v", free, hit)
	}
	if free, hit := s.FreeRadius(0, axis, 2.1, 5, 4); hit {
		t.Errorf("above the tube: %+v", free)
	}
	if free, hit := s.FreeRadius(0, geom.Axis{D: axis.D}, -1, 5, 4); hit {
		t.Errorf("where it does not stand: %+v", free)
	}
}
