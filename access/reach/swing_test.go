package reach

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// slotted is a wall all round the axis with a radial slot of the given angle
// about +x.
func slotted(k *kit, slot float64) product.SolidIndex {
	return k.part("wall", wedge(slot/2, 2*math.Pi-slot/2))
}

// wedge is a wall from 10 to 80 mm about the axis, between two angles. It is
// 48 mm high.
func wedge(from, to float64) *mesh.Mesh {
	var c shape.Contour
	for i := range 2 * (corners + 1) {
		r, step := 80.0, i
		if i > corners { // back along the inner side
			r, step = 10, 2*corners+1-i
		}
		s, co := math.Sincos(from + float64(step)/corners*(to-from))
		c.Points = append(c.Points, mgl64.Vec2{r * co, r * s})
	}
	f := geom.World()
	f.O = mgl64.Vec3{0, 0, -3}
	return shape.Extrude(f, 48, c)
}

// A key's arm of half width w, in a slot with radial sides that begin at
// radius 10, touches first at the slot's inner corners: its middle has the
// slot's angle less 2 asin(w/10) to swing.
func TestSlotForAKey(t *testing.T) {
	const w = 2.89 / 2
	for _, c := range []struct {
		swing float64
		fits  bool
	}{{50, false}, {59.9, false}, {60.1, true}, {70, true}} {
		k := oneScrew(func(k *kit) product.SolidIndex {
			return slotted(k, mgl64.DegToRad(c.swing)+2*math.Asin(w/10))
		})
		got := &k.judge(nil).Reaches[0].Tried[3]
		if got.Fits != c.fits {
			t.Errorf("swing of %g°: fits %v", c.swing, got.Fits)
		}
		if !c.fits {
			near(t, "free angle", mgl64.RadToDeg(got.Free), c.swing, 0.01)
			near(t, "needed angle", mgl64.RadToDeg(got.Needed), 60, 1e-9)
			if got.Limit != BySwing || got.Limiter != 1 || len(got.Blockers) != 1 {
				t.Errorf("limited by %s of %d", got.Limit, got.Limiter)
			}
		}
	}
}

// A wall all round but no slot: the arm in the screw is short, the other one
// has to go somewhere.
func TestNoSlotNoSwing(t *testing.T) {
	k := oneScrew(func(k *kit) product.SolidIndex { return slotted(k, 0.01) })
	if got := &k.judge(nil).Reaches[0].Tried[3]; got.Fits || got.Free != 0 {
		t.Errorf("free %g", got.Free)
	}
}

// A spanner beside one long wall: half a turn less what its width takes is
// free. Two walls at the distance of the jaws leave nothing for a 10 mm
// spanner of 130 mm that is 28 mm wide.
func TestSpannerBesideAWall(t *testing.T) {
	for _, c := range []struct {
		x    float64
		fits bool
	}{{14.1, true}, {13.9, false}} {
		k := newKit()
		a := k.part("plate", plate(200, -5, 0, hole(0, 0, 3.3)))
		k.part("wall", box(c.x, -200, 0, c.x+5, 200, 50))
		b := k.hexBolt(mgl64.Vec3{0, 0, 4}, up, 17, solids{a})
		k.nut(mgl64.Vec3{0, 0, -10}, down, b)
		k.holds[1].CaptiveNut = true
		got := &k.judge(nil).Reaches[0].Tried[1]
		if got.Tool.Name != "open-end spanner 10" || got.Fits != c.fits {
			t.Fatalf("%s beside a wall at %g: fits %v", got.Tool.Name, c.x, got.Fits)
		}
		near(t, "free radius", got.Free, c.x, 1e-9)
		near(t, "needed radius", got.Needed, 14, 1e-9)
	}
}

// What comes along the axis brings its widest part through all that is above:
// the extension would pass a hole of 7 mm radius 60 mm up, but the socket of
// 14.7 mm must have come through it.
func TestSocketMustComeThrough(t *testing.T) {
	for _, c := range []struct {
		r    float64
		fits bool
	}{{7, false}, {7.4, true}} {
		k := newKit()
		a := k.part("plate", plate(40, -5, 0, hole(0, 0, 3.3)))
		k.part("gate", plate(40, 60, 65, hole(0, 0, c.r)))
		b := k.hexBolt(mgl64.Vec3{0, 0, 4}, up, 17, solids{a})
		k.nut(mgl64.Vec3{0, 0, -10}, down, b)
		k.holds[1].CaptiveNut = true
		got := &k.judge(nil).Reaches[0].Tried[0]
		if got.Fits != c.fits || got.Section != "socket" {
			t.Errorf("hole of %g mm: fits %v, limited at the %s", c.r, got.Fits, got.Section)
		}
		near(t, "free radius", got.Free, c.r, 0.01)
		near(t, "needed radius", got.Needed, (1.25*10+2.2)/2, 1e-9)
	}
}

// The same holds above the tool's own top, 245 mm.
func TestDriverMustComeThrough(t *testing.T) {
	for _, c := range []struct {
		r    float64
		fits bool
	}{{29, false}, {31, true}} {
		k := oneScrew(func(k *kit) product.SolidIndex { return k.part("gate", plate(60, 300, 305, hole(0, 0, c.r))) })
		if got := &k.judge(nil).Reaches[0].Tried[0]; got.Fits != c.fits || math.Abs(got.Free-c.r) > 0.05 {
			t.Errorf("hole of %g mm: fits %v, free %g", c.r, got.Fits, got.Free)
		}
	}
}

// A head cast in: the spanner's room is inside solid material, whose faces are
// all too far to be met.
func TestCastInHead(t *testing.T) {
	k := newKit()
	a := k.part("block", box(-200, -200, -200, 200, 200, 200))
	b := k.hexBolt(mgl64.Vec3{0, 0, 4}, up, 17, solids{a})
	k.nut(mgl64.Vec3{0, 0, -10}, down, b)
	for i, got := range k.judge(nil).Reaches[0].Tried {
		if got.Fits || got.Free != 0 || got.Limiter != a || got.Limit != ByTool {
			t.Errorf("%d: %s fits %v, free %g by %s", i, got.Tool.Name, got.Fits, got.Free, got.Limit)
		}
	}
}

// A nut leaves a pocket of its own shape: only its flats count.
func TestNutLeavesItsPocket(t *testing.T) {
	for _, c := range []struct {
		flats float64
		open  bool
	}{{10.1, true}, {9.8, false}} {
		k := bolted()
		k.part("pocket", plate(40, -30, -5.01, shape.Hexagon(0, 0, c.flats)))
		m := newMatter(k.p, k.fs, k.holds, nil)
		m.measure(context.Background(), 1)
		if got := m.units[0].nutWays[0].open(m.s.skin(), everything); got != c.open {
			t.Errorf("a pocket of %g mm across flats: open %v", c.flats, got)
		}
	}
}
