package fastener

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/table"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// teeth is the inner edge of an E ring with its mouth at angle 0: r at the three
// bearing points, back elsewhere; both ends of the edge lie at half.
func teeth(r, back, half float64) func(float64) float64 {
	return func(t float64) float64 {
		t = math.Mod(t, 2*math.Pi)
		for _, at := range []float64{half, math.Pi, 2*math.Pi - half} {
			if math.Abs(t-at) < 0.3 {
				return r
			}
		}
		return back
	}
}

// eRing is DIN 6799 for a groove of 5 mm: 11 wide, 0.7 thick, mouth 4.11.
func eRing(mouth, back, h float64) product.Part {
	half := math.Asin(mouth / 2 / 2.5)
	return ft.Open(h, half, 2*math.Pi-half, teeth(2.5, back, half), ft.Same(5.5))
}

// An E ring clasps its groove with a mouth narrower than it, and leaves away
// from it.
func TestERings(t *testing.T) {
	f := pile{}.add(0, eRing(4.11, 3.2, 0.7)).kinds()[0]
	if f.Kind != Ring || f.Size != "5 mm" || f.Designation != "DIN 6799 5×0.7" || f.Head != "E" || f.Symmetric {
		t.Errorf("found as %q %q %q; %q", f.Kind, f.Size, f.Designation, f.Evidence)
	}
	if d := f.Axis.D.Sub(mgl64.Vec3{-1, 0, 0}).Len(); d > 0.02 || math.Abs(f.Point[0]+5.5) > 0.02 {
		t.Errorf("it leaves along %v from %v, want -x from -5.5", f.Axis.D, f.Point)
	}
	pile{}.add(0, eRing(4.99, 3.2, 0.7)).expect(t, "a mouth as wide as the groove", 0, "", "")
	pile{}.add(0, eRing(4.11, 2.5, 0.7)).expect(t, "no bearing points: a slotted disc", 0, "", "")
	pile{}.add(0, eRing(4.11, 3.2, 2.5)).expect(t, "too thick for a spring", 0, "", "")
	pile{}.add(0, eRing(2, 3.2, 0.7)).expect(t, "a mouth that never passes the groove", 0, "", "")
}

// An open ring without eyes may be anything: a contact, a turn of a spring.
func TestOpenRingsWithoutEyes(t *testing.T) {
	pile{}.add(0, ft.Open(1, 0.1, 6.1, ft.Same(5.5), ft.Same(7.3))).expect(t, "flat", 0, "", "")
	pile{}.add(0, ft.Open(4, 0.5, 5.7, ft.Same(5.5), ft.Same(6))).expect(t, "a bent strip", 0, "", "")
}

// Slit tubes are spring pins where they fill holes; by the wall and its chamfers
// alone the specimens tell.
func TestSlitTubes(t *testing.T) {
	tube := func(wall float64) product.Part {
		return ft.Open(12, 0.12, 2*math.Pi-0.12, ft.Same(1.5-wall), ft.Same(1.5))
	}
	pile{}.add(0, tube(0.6)).expect(t, "without chamfers, alone", 0, "", "")
	pile{}.add(0, tube(0.6)).add(2, ft.Tube(10, 8, 3)).expect(t, "in a hole", 0, Pin, "3 mm")
	pile{}.add(0, tube(0.6)).add(2, ft.Tube(10, 8, 3.3)).expect(t, "with play", 0, "", "")
	wide := ft.Open(12, 0.9, 2*math.Pi-0.9, ft.Same(0.9), ft.Same(1.5))
	pile{}.add(0, wide).add(2, ft.Tube(10, 8, 3)).expect(t, "a clip with a wide slot", 0, "", "")
}

// Each spring pin of the table is found by its wall, in its hole and free.
func TestSpringPinsByTheirWall(t *testing.T) {
	for _, p := range springPins {
		for _, d := range []float64{p.d, p.free} {
			if n, ok := springPinFor(d, p.wall); !ok || n != p.d && d == p.d {
				t.Errorf("%g mm drawn as %g × %g: %g, %v", p.d, d, p.wall, n, ok)
			}
		}
	}
}

// The rows of the table name themselves, drawn free, and in their groove where
// no neighbour is as wide when free.
func TestRingsNameThemselves(t *testing.T) {
	name := func(r table.Ring, d float64) float64 {
		s := specimen{}
		s.nameRing(r.Standard, d, r.S, "edge")
		return s.Nominal
	}
	free := map[[3]any]float64{}
	for _, r := range table.Rings() {
		if r.Standard == "DIN 6799" {
			r.Free = r.Groove // what grips
		}
		free[[3]any{r.Standard, r.S, r.Free}] = r.D1
		if got := name(r, r.Free); got != r.D1 {
			t.Errorf("%s %g drawn free as Ø%g: %g", r.Standard, r.D1, r.Free, got)
		}
	}
	for _, r := range table.Rings() {
		got := name(r, r.Groove)
		if other, ok := free[[3]any{r.Standard, r.S, r.Groove}]; ok && got == other {
			continue
		}
		if got != r.D1 {
			t.Errorf("%s %g drawn in its groove as Ø%g: %g", r.Standard, r.D1, r.Groove, got)
		}
	}
}

// The gap of a ring that is drawn open between two angles is what is left of
// the turn.
func TestGapOfAnOpenRing(t *testing.T) {
	for _, c := range []struct{ from, to float64 }{{0.2, 6}, {1, 6.5}, {3, 9}, {-2, 4}} {
		p := ft.Open(1, c.from, c.to, ft.Same(5), ft.Same(6))
		f, err := geom.NewFrame(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0})
		if err != nil {
			t.Fatal(err)
		}
		g, ok := flatten(p.Mesh, f).cut(0.5).gap()
		wide := 2*math.Pi - (c.to - c.from)
		mid := c.to + wide/2
		if !ok || math.Abs(g.wide-wide) > 0.02 || math.Abs(angleTo(g.mid, mid)) > 0.02 {
			t.Errorf("from %g to %g: %+v, want %g about %g", c.from, c.to, g, wide, mid)
		}
	}
	if g, ok := (&section{}).gap(); ok {
		t.Errorf("nothing at all has a gap: %+v", g)
	}
}
