package reach

import (
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh/shape"
)

// seat adds a base with its top at z = -3, into which a screw with the top of
// its head at z = 0 bites 10 mm deep.
func seat(k *kit) product.SolidIndex {
	return k.part("base", plate(40, -23, -3, hole(0, 0, 1.3)))
}

// oneScrew is a screw on a base with one obstacle.
func oneScrew(build func(k *kit) product.SolidIndex) *kit {
	k := newKit()
	base := seat(k)
	if build != nil {
		build(k)
	}
	k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
	return k
}

func TestOpenScrewIsClear(t *testing.T) {
	k := oneScrew(nil)
	r := k.judge(nil)
	got := &r.Reaches[0]
	if got.Verdict != Clear || got.Side != up || got.Hidden || got.Step != 0 || len(got.After) > 0 {
		t.Errorf("%+v", got)
	}
	if r.Side != up || !got.As.Fits || got.Tool.Name != "bit hex 2.5 in 1/4 in holder" || len(got.Tried) != 4 {
		t.Errorf("side %v, tool %q, %d tried", r.Side, got.Tool.Name, len(got.Tried))
	}
	if r.Sides[0].Clear != 1 || r.Sides[1].Turn != 1 {
		t.Errorf("sides: %+v", r.Sides)
	}
}

// A well of radius 4 mm, 40 mm deep: the bit's hexagon (3.65) goes in, the
// holder (5.5 from 25 mm on) does not; a screwdriver's blade does.
func TestWell(t *testing.T) {
	var well product.SolidIndex
	k := oneScrew(func(k *kit) product.SolidIndex {
		well = k.part("well", plate(20, -3, 40, hole(0, 0, 4)))
		return well
	})
	got := &k.judge(nil).Reaches[0]
	first := &got.Tried[0]
	if first.Fits || first.Section != "holder" || first.Limiter != well || got.Verdict != Clear || got.Tool.Name != "screwdriver hex 2.5" {
		t.Fatalf("%+v", got)
	}
	near(t, "free radius", first.Free, 4, 0.01)
	near(t, "needed radius", first.Needed, 5.5, 1e-9)
	if h := first.AtHeight; h < 25 || h > 40 {
		t.Errorf("limited at %g mm", h)
	}
	if !strings.Contains(got.Why, "with the screwdriver hex 2.5") || !strings.Contains(got.Why, `(holder) needs 5.5 mm about the axis and "well" leaves 4.0 mm`) {
		t.Error(got.Why)
	}
	near(t, "screwdriver's room", got.As.Free-got.As.Needed, 4-2.89/2, 0.01)
}

// A rib whose face stands 4.2 mm from the axis and rises to 37 mm.
func TestRib(t *testing.T) {
	for _, c := range []struct {
		x    float64
		fits bool
	}{{4.2, false}, {5.49, false}, {5.51, true}, {7, true}} {
		k := oneScrew(func(k *kit) product.SolidIndex {
			return k.part("rib", box(c.x, -10, -3, c.x+2, 10, 37))
		})
		got := &k.judge(nil).Reaches[0].Tried[0]
		near(t, "free radius", got.Free, c.x, 1e-9)
		near(t, "distance of the point", got.At[0], c.x, 1e-9)
		if got.Fits != c.fits {
			t.Errorf("rib at %g: fits %v", c.x, got.Fits)
		}
	}
}

// An overhang 60 mm up, its edge 3 mm beside the axis, stops everything that
// is thicker there: the holder, but neither the blade of a screwdriver nor the
// screw's own head (2.75 mm). At 2.6 mm it stops the head.
func TestOverhang(t *testing.T) {
	shelf := func(x float64) *Reach {
		k := oneScrew(func(k *kit) product.SolidIndex {
			s := k.part("shelf", box(x, -50, 60, 80, 50, 65))
			k.joints = []joint.Joint{{Kind: joint.Press, Solids: solids{0, s}}} // never comes off
			return s
		})
		return &k.judge(nil).Reaches[0]
	}
	got := shelf(3)
	near(t, "free radius", got.Tried[0].Free, 3, 1e-9)
	if h := got.Tried[0].AtHeight; h < 60 || h > 65 || got.Verdict != Clear || got.Tool.Name != "screwdriver hex 2.5" {
		t.Errorf("%s with %s, limited at %g mm", got.Verdict, got.Tool.Name, h)
	}
	got = shelf(2.6)
	if got.Verdict != Blocked || got.As.Limit != ByWayOut || !strings.Contains(got.Why, "cannot come out: it needs 2.8 mm about its axis") {
		t.Errorf("%s: %s", got.Verdict, got.Why)
	}
	near(t, "free radius of the way out", got.As.Free, 2.6, 1e-9)
}

// lids stacks n lids over a screw, each held by a screw of its own beside.
func lids(n int) *kit {
	k := newKit()
	base := k.part("base", plate(40, -30, -3, hole(0, 0, 1.3), hole(30, 0, 1.3), hole(-30, 0, 1.3), hole(0, 30, 1.3)))
	k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
	at := []mgl64.Vec3{{30, 0, 0}, {-30, 0, 0}, {0, 30, 0}}
	for i := range n {
		// Each lid covers the screws of all lids below it.
		z := 10 + 10*float64(i)
		c := hole(at[i][0], at[i][1], 1.7)
		lid := k.part("lid "+string(rune('A'+i)), plate(40, z, z+4, c))
		p := at[i]
		p[2] = z + 4 + 3
		k.screw(p, up, z+4+3+10, solids{lid}, solids{base})
	}
	return k
}

func TestLidComesOffFirst(t *testing.T) {
	r := lids(1).judge(nil)
	if d := cmp.Diff([]Verdict{ClearAfter, Clear}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	got := &r.Reaches[0]
	if d := cmp.Diff(solids{2}, got.After); d != "" || got.Step != 1 {
		t.Errorf("round %d after %v", got.Step, got.After)
	}
	if d := cmp.Diff(solids{3, 2, 1}, r.Removed); d != "" {
		t.Error(d)
	}
	if !strings.Contains(got.Why, `once "lid A" is off`) {
		t.Error(got.Why)
	}
}

func TestChainOfThreeLids(t *testing.T) {
	k := lids(3)
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{ClearAfter, ClearAfter, ClearAfter, Clear}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	for i, want := range []int{3, 2, 1, 0} {
		if got := r.Reaches[i].Step; got != want {
			t.Errorf("screw %d comes out in round %d, want %d", i, got, want)
		}
	}
	if d := cmp.Diff(solids{2, 4, 6}, r.Reaches[0].After); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(SideScore{Side: up, Clear: 1, After: 3}, r.Sides[0]); d != "" {
		t.Error(d)
	}
	// From below nothing comes off, and every screw needs a turn.
	r = k.judge(&down)
	if d := cmp.Diff([]Verdict{Turn, Turn, Turn, Turn}, verdicts(r)); d != "" || r.Side != down {
		t.Error(d)
	}
}

// A tray with a board on it comes off under the lid as one; its own screw is
// undone on the bench. Everything comes off once.
func TestScrewOfALiftedTray(t *testing.T) {
	k := lids(1)
	tray := k.part("tray", box(5, -20, 1, 20, 20, 3))
	board := k.part("board", box(5, -20, 3, 20, 20, 4))
	k.screw(mgl64.Vec3{12, 0, 7}, up, 5, solids{board}, solids{tray})
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{ClearAfter, Clear, ClearAfter}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if d := cmp.Diff(solids{3, 2, 4, 5, 6, 1}, r.Removed); d != "" {
		t.Error(d)
	}
}

// Three screws from above and one from below: the working side is above.
func TestScrewFromBelowNeedsATurn(t *testing.T) {
	k := lids(1)
	base := k.part("foot", plate(40, -50, -31, hole(20, 20, 1.7)))
	k.screw(mgl64.Vec3{20, 20, -53}, down, 30, solids{base}, solids{0})
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{ClearAfter, Clear, Turn}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if got := &r.Reaches[2]; got.Side != down || !strings.Contains(got.Why, "below (-z)") {
		t.Errorf("%v: %s", got.Side, got.Why)
	}
}

func TestScrewUnderLabel(t *testing.T) {
	k := newKit()
	base := k.part("base", plate(40, -23, 1, hole(0, 0, 3)))
	label := k.part("label", box(-10, -10, 1, 10, 10, 1.2))
	k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
	got := &k.judge(nil).Reaches[0]
	if got.Verdict != ClearAfter || !got.Hidden {
		t.Fatalf("%s hidden %v: %s", got.Verdict, got.Hidden, got.Why)
	}
	if d := cmp.Diff(solids{label}, got.HiddenBy); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(solids{label}, got.After); d != "" {
		t.Error(d)
	}
}

// A screw in a closed box of two halves that are pressed together.
func shutIn() *kit {
	k := newKit()
	base := k.part("base", plate(40, -23, -3))
	lower := k.part("lower half", shape.Revolve(geom.Axis{O: mgl64.Vec3{0, 0, -3}, D: up},
		[]mgl64.Vec2{{20, 0}, {25, 0}, {25, 30}, {20, 30}}, corners))
	upper := k.part("upper half", shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, 27}, D: up}, 25, 5, corners))
	k.joints = []joint.Joint{{Kind: joint.Press, Solids: solids{lower, upper}}, {Kind: joint.Press, Solids: solids{base, lower}}}
	k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
	return k
}

func TestShutInIsBlocked(t *testing.T) {
	r := shutIn().judge(nil)
	got := &r.Reaches[0]
	if got.Verdict != Blocked || got.Step != -1 || got.As.Fits || len(got.After) > 0 || r.Sides[0].Blocked != 1 {
		t.Fatalf("%+v", got)
	}
	if !strings.Contains(got.Why, `"upper half"`) {
		t.Error(got.Why)
	}
}

// bolted is two plates with a bolt from above and its nut below.
func bolted() *kit {
	k := newKit()
	a := k.part("upper plate", plate(40, 0, 5, hole(0, 0, 3.3)))
	b := k.part("lower plate", plate(40, -5, 0, hole(0, 0, 3.3)))
	bolt := k.hexBolt(mgl64.Vec3{0, 0, 9}, up, 17, solids{a, b})
	k.nut(mgl64.Vec3{0, 0, -10}, down, bolt)
	return k
}

func TestFreeNutIsTwoSided(t *testing.T) {
	r := bolted().judge(nil)
	if d := cmp.Diff([]Verdict{TwoSided, TwoSided}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	for i, side := range []mgl64.Vec3{up, down} {
		if got := &r.Reaches[i]; got.Side != side || !got.As.Fits || !strings.HasPrefix(got.Tool.Name, "socket 10") {
			t.Errorf("%v with %s: %s", got.Side, got.Tool.Name, got.Why)
		}
	}
}

func TestCaptiveNutNeedsNoSecondTool(t *testing.T) {
	k := bolted()
	k.holds[1].CaptiveNut = true
	if d := cmp.Diff([]Verdict{Clear, Clear}, verdicts(k.judge(nil))); d != "" {
		t.Fatal(d)
	}
}

// A nut that a single wall keeps from turning needs no second tool either, and
// comes off with its screw.
func TestNutAlongAWallFallsOff(t *testing.T) {
	k := bolted()
	k.holds[1].CaptiveNut, k.holds[1].Falls = true, true
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Clear, Clear}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if got := len(r.Removed); got < 2 || r.Removed[0] != 2 || r.Removed[1] != 3 {
		t.Errorf("came off %v, want the bolt 2 and the nut 3 first", r.Removed)
	}
	if w := r.Reaches[1].Why; !strings.Contains(w, "wall along its flat") {
		t.Error(w)
	}
}

// A bolt whose head cannot turn is undone at its nut alone, and stays where its
// head is held.
func TestHeldHeadNeedsNoSecondTool(t *testing.T) {
	k := bolted()
	k.holds[0].CaptiveHead, k.holds[0].HeldBy = true, solids{0}
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Clear, Clear}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if r.Side != down || r.Reaches[1].Side != down {
		t.Errorf("worked from %v, the nut from %v, want both from below", r.Side, r.Reaches[1].Side)
	}
	if w := r.Reaches[0].Why; w != "Its head cannot turn: only its nut is undone" || r.Reaches[0].Tool.Name != "" {
		t.Errorf("%q with %q", w, r.Reaches[0].Tool.Name)
	}
	if slices.Contains(r.Removed, product.SolidIndex(2)) && !slices.Contains(r.Removed, product.SolidIndex(0)) {
		t.Errorf("came off %v: the bolt without the part that holds its head", r.Removed)
	}
}

// Without room for the nut's spanner the whole joint is blocked, and both
// halves say so.
func TestNutWithoutRoomBlocksItsBolt(t *testing.T) {
	k := bolted()
	wall := k.part("wall", plate(40, -30, -5.01, shape.Hexagon(0, 0, 10.5)))
	k.joints = []joint.Joint{{Kind: joint.Press, Solids: solids{1, wall}}}
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Blocked, Blocked}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if w := r.Reaches[0].Why; !strings.Contains(w, "reaches it, but no tool reaches its nut. The ") {
		t.Error(w)
	}
	if w := r.Reaches[1].Why; !strings.Contains(w, `"wall" leaves 5.2 mm`) {
		t.Error(w)
	}
}

func TestNutOnARodIsJudgedByItself(t *testing.T) {
	k := newKit()
	a := k.part("bracket", plate(40, -5, 0, hole(0, 0, 3.3)))
	k.part("rod", shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, -50}, D: up}, 3, 60, corners))
	n := k.nut(mgl64.Vec3{0, 0, 5}, up, -1)
	k.holds[n].Bites = solids{1}
	k.holds[n].Passes = solids{a}
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Clear}, verdicts(r)); d != "" {
		t.Fatalf("%s%s", d, r.Reaches[0].Why)
	}
}

// A washer shares its screw's fate.
func TestWasherFollowsItsScrew(t *testing.T) {
	k := newKit()
	base := k.part("base", plate(40, -23, -3.5, hole(0, 0, 1.3)))
	w := k.part("washer", shape.Tube(geom.Axis{O: mgl64.Vec3{0, 0, -3.5}, D: up}, 1.6, 3.5, 0.5, corners))
	s := k.screw(mgl64.Vec3{}, up, 10, nil, solids{base})
	i := k.add(fastener.Fastener{Solids: solids{w}, Kind: fastener.Washer, Drive: fastener.NoDrive, Axis: geom.Axis{D: up}, Nominal: 3, Symmetric: true}, nil, nil)
	k.holds[s].Washers = []int{i}
	r := k.judge(nil)
	if d := cmp.Diff([]Verdict{Clear, Clear}, verdicts(r)); d != "" {
		t.Fatal(d)
	}
	if w := r.Reaches[i].Why; w != `Comes off with "screw 1"` {
		t.Error(w)
	}
}

// pin sits in a base from z = -20 to its top at -3, pressed.
func pinned(through bool) *kit {
	k := newKit()
	var base product.SolidIndex
	if through {
		base = k.part("base", plate(40, -20, -3, hole(0, 0, 1.5)))
	} else {
		base = k.part("base", shape.Revolve(geom.Axis{O: mgl64.Vec3{}, D: up},
			[]mgl64.Vec2{{0, -30}, {40, -30}, {40, -3}, {1.5, -3}, {1.5, -20}, {0, -20}}, corners))
	}
	pin := k.part("pin", shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, -20}, D: up}, 1.5, 17, corners))
	k.add(fastener.Fastener{
		Solids: solids{pin}, Kind: fastener.Pin, Drive: fastener.NoDrive, Axis: geom.Axis{D: up}, Point: mgl64.Vec3{0, 0, -3},
		Symmetric: true, Nominal: 3, Length: 17, Back: -17,
	}, nil, solids{base})
	return k
}

func TestPins(t *testing.T) {
	r := pinned(true).judge(nil)
	got := &r.Reaches[0]
	if got.Verdict != Clear || got.Tool.Name != "pin punch 3 mm" || r.Side != up || got.Side != up {
		t.Errorf("%s with %s from %v: %s", got.Verdict, got.Tool.Name, got.Side, got.Why)
	}
	// A pin that is flush in a blind hole cannot be pushed nor gripped.
	if got := &pinned(false).judge(nil).Reaches[0]; got.Verdict != Blocked {
		t.Errorf("%s with %s: %s", got.Verdict, got.Tool.Name, got.Why)
	}
}
