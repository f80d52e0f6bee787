package reach

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/geom"
)

func TestSight(t *testing.T) {
	a := geom.Axis{D: up}
	for _, c := range []struct {
		name   string
		build  func(k *kit)
		all    bool // all of it is seen
		hidden bool
		covers solids
	}{
		{"nothing near", func(k *kit) {}, true, false, nil},
		{"a well as deep as can be", func(k *kit) { k.part("well", plate(20, -3, 200, hole(0, 0, 3.5))) }, true, false, nil},
		{"half covered from close above", func(k *kit) { k.part("half", box(0.1, -40, 1, 40, 40, 2)) }, false, false, nil},
		// A strip of 12 mm at 100 mm: looking past it takes 3.4°.
		{"a strip far above", func(k *kit) { k.part("strip", box(-6, -40, 100, 6, 40, 101)) }, true, false, nil},
		// A roof of 200 mm at 50 mm: past it takes 63°, more than the cone.
		{"a roof", func(k *kit) { k.part("roof", box(-100, -100, 50, 100, 100, 51)) }, false, true, solids{0}},
		{"a label", func(k *kit) {
			k.part("label", box(-5, -5, 0.05, 5, 5, 0.2))
			k.part("far away", box(50, 50, 0, 60, 60, 10))
		}, false, true, solids{0}},
		// Open straight above, but the walls and a lid beside leave no view:
		// none, the eye looks straight down the hole.
		{"a lid with a hole", func(k *kit) { k.part("lid", plate(100, 20, 25, hole(0, 0, 3))) }, true, false, nil},
	} {
		k := newKit()
		c.build(k)
		s := newScene(k.p).see(a, 2.75, nil, everything)
		if (s.share == 1) != c.all || (s.share == 0) != c.hidden {
			t.Errorf("%s: share %g", c.name, s.share)
		}
		if d := cmp.Diff(c.covers, s.covers); d != "" {
			t.Errorf("%s: %s", c.name, d)
		}
	}
}

// Two slanted roofs that meet above the head cover it although neither does
// alone; both are named.
func TestTwoCoversAreBothNamed(t *testing.T) {
	k := newKit()
	k.part("left", box(-100, -100, 20, 0, 100, 21))
	k.part("right", box(0, -100, 20, 100, 100, 21))
	s := newScene(k.p).see(geom.Axis{D: up}, 2.75, nil, everything)
	if d := cmp.Diff(solids{0, 1}, s.covers); d != "" || s.share != 0 {
		t.Errorf("share %g: %s", s.share, d)
	}
}

func TestCandidatesAreDistinct(t *testing.T) {
	k := oneScrew(nil)
	d, _ := geom.Unit(mgl64.Vec3{1, 0, 1})
	k.screw(mgl64.Vec3{30, 0, 30}, d, 10, nil, nil)
	tilted, _ := geom.Unit(mgl64.Vec3{1.05, 0, 1}) // 1.4° off
	k.screw(mgl64.Vec3{30, 20, 30}, tilted, 10, nil, nil)
	m := newMatter(k.p, k.fs, k.holds, nil)
	got := m.candidates(nil)
	if want := []mgl64.Vec3{up, down, right, left, back, front, d}; cmp.Diff(want, got) != "" {
		t.Errorf("%v", got)
	}
	asked := mgl64.Vec3{0, 3, 4}
	if got := m.candidates(&asked); len(got) != 8 || !(got[6].Sub(mgl64.Vec3{0, 0.6, 0.8}).Len() < 1e-12) {
		t.Errorf("%v", got)
	}
	if got := m.candidates(&mgl64.Vec3{}); len(got) != 7 {
		t.Errorf("a direction without length: %v", got)
	}
}
