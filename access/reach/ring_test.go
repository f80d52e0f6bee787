package reach

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/geom"
	"stepscan/geom/mesh/shape"
)

// ringed is a shaft of 12 mm with a ring of DIN 471 on it at z = 0, in a base;
// the ring stands for its own shape: a disc 17 wide and 1 high.
func ringed(build func(k *kit)) *kit {
	k := newKit()
	shaft := k.part("shaft", shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, -30}, D: up}, 5.5, 40, corners))
	k.part("base", plate(40, -40, -2, hole(0, 0, 6.5)))
	ring := k.part("ring", plate(8, -1, 0, hole(0, 0, 5.6)))
	if build != nil {
		build(k)
	}
	k.add(fastener.Fastener{
		Solids: solids{ring}, Kind: fastener.Ring, Head: "shaft", Size: "12 mm", Drive: fastener.NoDrive, Axis: geom.Axis{D: up},
		Symmetric: true, Nominal: 12, Length: 1, HeadD: 17, HeadH: 1, Bore: 11, Back: -1,
	}, nil, solids{shaft})
	return k
}

// Ring pliers stand beside the shaft that the ring is on; what stands about
// them is in their way.
func TestRingOnItsShaft(t *testing.T) {
	got := &ringed(nil).judge(nil).Reaches[0]
	if got.Verdict != Clear || got.Tool.Name != "ring pliers for shafts" || got.Side != up {
		t.Errorf("%s with %s from %v: %s", got.Verdict, got.Tool.Name, got.Side, got.Why)
	}
	tight := ringed(func(k *kit) { k.part("tube", plate(30, -2, 30, hole(0, 0, 8.4))) })
	if got := &tight.judge(nil).Reaches[0]; got.Verdict == Clear {
		t.Errorf("in a tube: %s: %s", got.Verdict, got.Why)
	}
}

// An E ring leaves sideways: what lies on both its faces does not hold it, a
// wall before its rim does.
func TestERingLeavesSideways(t *testing.T) {
	left := mgl64.Vec3{-1, 0, 0}
	build := func(wall bool) *kit {
		k := newKit()
		shaft := k.part("shaft", shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, -20}, D: up}, 2.5, 40, corners))
		k.part("upper", plate(3, 0.36, 2, hole(0, 0, 2.6)))
		k.part("lower", plate(3, -2, -0.36, hole(0, 0, 2.6)))
		if wall {
			k.part("wall", shape.Cylinder(geom.Axis{O: mgl64.Vec3{-10, 0, 0}, D: left}, 30, 5, corners))
		}
		ring := k.part("ring", plate(5.5, -0.35, 0.35, hole(0, 0, 2.6)))
		k.add(fastener.Fastener{
			Solids: solids{ring}, Kind: fastener.Ring, Head: "E", Size: "5 mm", Drive: fastener.NoDrive, Axis: geom.Axis{D: left},
			Point: mgl64.Vec3{-5.5, 0, 0}, Nominal: 5, Length: 0.7, HeadD: 11, HeadH: 0.7, Bore: 5, Back: -9,
		}, nil, solids{shaft})
		return k
	}
	got := &build(false).judge(nil).Reaches[0]
	if got.Verdict != Clear && got.Verdict != Turn || got.Tool.Name != "needle-nose pliers" || got.Side != left {
		t.Errorf("%s with %s from %v: %s", got.Verdict, got.Tool.Name, got.Side, got.Why)
	}
	if got := &build(true).judge(nil).Reaches[0]; got.Verdict == Clear {
		t.Errorf("before a wall: %s: %s", got.Verdict, got.Why)
	}
}
