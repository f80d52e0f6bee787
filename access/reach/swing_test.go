package reach

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/tool"
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

// besideWall is a 10 mm bolt head beside a long wall x mm from its axis, its
// nut captive or free.
func besideWall(x float64, captive bool) *kit {
	k := newKit()
	a := k.part("plate", plate(200, -5, 0, hole(0, 0, 3.3)))
	w := k.part("wall", box(x, -200, 0, x+5, 200, 50))
	k.joints = []joint.Joint{{Kind: joint.Press, Solids: solids{a, w}}}
	b := k.hexBolt(mgl64.Vec3{0, 0, 4}, up, 17, solids{a})
	k.nut(mgl64.Vec3{0, 0, -10}, down, b)
	k.holds[1].CaptiveNut = captive
	return k
}

// The head of a 10 mm open-end spanner is 28 mm wide and its tips stand 5 mm
// ahead of the axis. Beside a long wall the mouth looks to the wall; the tips'
// corners come nearest when it is turned away from the wall's normal by t:
// 5 cos t + 14 sin t. A swing turns the mouth 30° to either side, so it needs
// 11.33 mm; with less the swing is what the mouth has less twice the offset.
func TestSpannerBesideAWall(t *testing.T) {
	for _, c := range []struct {
		x    float64
		fits bool
	}{{14, true}, {11.4, true}, {11.3, false}, {9, false}} {
		got := &besideWall(c.x, true).judge(nil).Reaches[0].Tried[1]
		if got.Tool.Name != "open-end spanner 10" || got.Fits != c.fits {
			t.Fatalf("%s beside a wall at %g: fits %v", got.Tool.Name, c.x, got.Fits)
		}
		if c.fits {
			continue
		}
		mouth := math.Asin(c.x/math.Hypot(5, 14)) - math.Atan2(5, 14)
		near(t, "free angle", mgl64.RadToDeg(got.Free), mgl64.RadToDeg(2*mouth)-30, 0.01)
		near(t, "needed angle", mgl64.RadToDeg(got.Needed), 30, 1e-9)
	}
	// Nothing gets between a head, its corners 5.77 mm from the axis, and a
	// wall that touches it.
	if got := &besideWall(5.7, true).judge(nil).Reaches[0]; got.Verdict != Blocked || got.Tried[1].Limit != ByTool {
		t.Errorf("%s by %s", got.Verdict, got.Tried[1].Limit)
	}
}

// A head that no tool has room to turn can still be held while its nut is
// turned. At 7 mm neither socket (7.35) nor ring (8.1) goes over the head; the
// spanner's mouth has 8.1° to either side, which no swing is, but a place. At
// 5.9 mm it has less than the 5° that a tool needs to be put on.
func TestHeadBesideAWallIsHeld(t *testing.T) {
	if d := cmp.Diff([]Verdict{Blocked, Blocked}, verdicts(besideWall(5.5, false).judge(nil))); d != "" {
		t.Error(d)
	}
	r := besideWall(7, false).judge(nil)
	if d := cmp.Diff([]Verdict{TwoSided, TwoSided}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if h, n := &r.Reaches[0], &r.Reaches[1]; !h.Held || n.Held || h.Tool.Name != "open-end spanner 10" || n.Tool.Name != "socket 10 (3/8 in) with extension and ratchet" {
		t.Errorf("%s holds (%v), %s turns (%v)", h.Tool.Name, h.Held, n.Tool.Name, !n.Held)
	}
	if want := "Held from above (+z) with the open-end spanner 10, which has no room to turn it, while its nut is turned"; !strings.HasPrefix(r.Reaches[0].Why, want) {
		t.Error(r.Reaches[0].Why)
	}
	r = besideWall(7, true).judge(nil)
	if got := r.Reaches[0].Verdict; got != Blocked {
		t.Errorf("a head that must be turned is %s", got)
	}
}

// Where both halves can only be held nothing turns.
func TestTwoHeldHalvesAreBlocked(t *testing.T) {
	k := besideWall(7, false)
	k.joints = append(k.joints, joint.Joint{Kind: joint.Press, Solids: solids{0, k.part("lower wall", box(7, -200, -40, 12, 200, -5))}})
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Blocked, Blocked}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if want := "It can be held, and so can its nut, but there is no room to turn either"; r.Reaches[0].Why != want {
		t.Error(r.Reaches[0].Why)
	}
}

// A nut that is held needs no way out of its own: its screw is turned out of
// it. Over this one there is room for the spanner, 7 mm thick, and not for the
// nut to rise.
func TestHeldNutNeedsNoWayOut(t *testing.T) {
	k := bolted()
	c := k.part("ceiling", plate(200, -20, -11))
	k.joints = []joint.Joint{{Kind: joint.Press, Solids: solids{1, c}}}
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{TwoSided, TwoSided}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if r.Reaches[0].Held || !r.Reaches[1].Held {
		t.Errorf("head held %v, nut held %v", r.Reaches[0].Held, r.Reaches[1].Held)
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

// rect is a rectangle in the plane: middle, half sides, and the angle of its
// first side.
type rect struct{ x, y, a, b, turn float64 }

// touch reports whether two rectangles overlap: no side of either parts them.
func (r rect) touch(q rect) bool {
	for _, v := range []float64{r.turn, r.turn + math.Pi/2, q.turn, q.turn + math.Pi/2} {
		s, c := math.Sincos(v)
		reach := func(p rect) float64 {
			return p.a*math.Abs(math.Cos(p.turn-v)) + p.b*math.Abs(math.Sin(p.turn-v))
		}
		if math.Abs((r.x-q.x)*c+(r.y-q.y)*s) > reach(r)+reach(q) {
			return false
		}
	}
	return true
}

// bar is a rectangle from r0 to r1 along an angle.
func bar(r0, r1, halfW, angle float64) rect {
	s, c := math.Sincos(angle)
	m := (r0 + r1) / 2
	return rect{m * c, m * s, (r1 - r0) / 2, halfW, angle}
}

// A spanner among pillars has the room that trying every quarter of a degree
// finds, to turn and to hold.
func TestSpannersGapMatchesTrying(t *testing.T) {
	const graze = 0.1 // mm: what is only grazed, trying may step over
	rapid.Check(t, func(t *rapid.T) {
		k := newKit()
		a := k.part("plate", plate(200, -5, 0, hole(0, 0, 3.3)))
		var pillars []rect
		for range rapid.IntRange(1, 3).Draw(t, "pillars") {
			p := rect{
				x: rapid.Float64Range(-45, 45).Draw(t, "x"), y: rapid.Float64Range(-45, 45).Draw(t, "y"),
				a: rapid.Float64Range(1, 12).Draw(t, "a"), b: rapid.Float64Range(1, 12).Draw(t, "b"),
			}
			if p.touch(rect{a: 6, b: 6}) {
				continue // on the bolt's head
			}
			pillars = append(pillars, p)
			k.part("pillar", box(p.x-p.a, p.y-p.b, 0, p.x+p.a, p.y+p.b, 60))
		}
		k.nut(mgl64.Vec3{0, 0, -10}, down, k.hexBolt(mgl64.Vec3{0, 0, 4}, up, 17, solids{a}))
		m := newMatter(k.p, k.fs, k.holds, nil)
		m.measure(context.Background(), 1)
		for _, w := range m.units[0].ways {
			got, swing := mgl64.RadToDeg(w.gap(1, everything)), w.tools[1].Swing
			least, most := tried(swing, w.held, grown(pillars, graze)), tried(swing, w.held, grown(pillars, -graze))
			if got < least-0.51 || got > most+0.51 {
				t.Fatalf("held %v: %.2f° free, trying finds %.2f° to %.2f°: %v", w.held, got, least, most, pillars)
			}
		}
	})
}

// grown adds d mm to all sides.
func grown(list []rect, d float64) []rect {
	out := slices.Clone(list)
	for i := range out {
		out[i].a, out[i].b = out[i].a+d, out[i].b+d
	}
	return out
}

// tried is the longest run of angles, in degrees, at which an arm with its
// head touches no pillar.
func tried(w *tool.Swing, held bool, pillars []rect) float64 {
	const n = 4 * 360
	hits := func(parts ...rect) bool {
		return slices.ContainsFunc(parts, func(q rect) bool { return slices.ContainsFunc(pillars, q.touch) })
	}
	head := func(mouth float64) bool {
		var parts []rect
		for _, b := range w.Head {
			parts = append(parts, bar(b.From, b.To, b.HalfW, mouth))
		}
		return hits(parts...)
	}
	run, most := 0, 0
	for i := range 2 * n {
		v := float64(i) * 2 * math.Pi / n
		one, other := head(v+math.Pi+w.Offset), head(v+math.Pi-w.Offset)
		blocked := one || other
		if held {
			blocked = one && other
		}
		if run++; blocked || hits(bar(0, w.R, w.HalfW, v)) {
			run = 0
		}
		most = max(most, min(run, n))
	}
	return float64(most) / 4
}
