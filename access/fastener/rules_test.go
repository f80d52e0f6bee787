package fastener

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// turned makes a part of corners (height, radius), from the lower pole up.
func turned(name string, zr ...float64) product.Part {
	var rings []ft.Ring
	for i := 0; i+1 < len(zr); i += 2 {
		rings = append(rings, ft.Circle(zr[i], zr[i+1]))
	}
	return ft.Turn(name, rings...)
}

// pile is parts at heights along z.
type pile struct {
	parts []product.Part
	uses  []ft.Placed
}

func (h pile) add(z float64, p product.Part) pile { return h.beside(0, z, p) }

func (h pile) beside(x, z float64, p product.Part) pile {
	at := geom.Identity()
	at.T = mgl64.Vec3{x, 0, z}
	h.uses = append(h.uses[:len(h.uses):len(h.uses)], ft.Placed{Part: len(h.parts), At: at})
	h.parts = append(h.parts[:len(h.parts):len(h.parts)], p)
	return h
}

// again places the last part once more.
func (h pile) again(x, z float64) pile {
	h = h.beside(x, z, product.Part{})
	h.parts = h.parts[:len(h.parts)-1]
	h.uses[len(h.uses)-1].Part = len(h.parts) - 1
	return h
}

func (h pile) product() *product.Product { return ft.Assemble(h.parts, h.uses...) }

// kinds are what is found, by the solids' order.
func (h pile) kinds() map[product.SolidIndex]Fastener {
	out := map[product.SolidIndex]Fastener{}
	for _, f := range Find(context.Background(), h.product()) {
		out[f.Solids[0]] = f
	}
	return out
}

// expect compares one solid with a kind, "" for none, and a size.
func (h pile) expect(t *testing.T, what string, s product.SolidIndex, kind Kind, size string) {
	t.Helper()
	if f := h.kinds()[s]; f.Kind != kind || f.Size != size {
		t.Errorf("%s: found as %q %q, want %q %q; %q", what, f.Kind, f.Size, kind, size, f.Evidence)
	}
}

// grooved is a screw whose thread is drawn as grooves down to d3, pitch apart,
// below plain mm of full shank.
func grooved(d, d3, pitch, l, plain float64, head []ft.Ring, pocket func(float64) ft.Ring, depth float64) product.Part {
	rings := []ft.Ring{ft.Circle(-l, 0), ft.Circle(-l, d3/2)}
	for z := -l + 0.6*pitch; z+pitch < -plain; z += pitch {
		rings = append(rings, ft.Circle(z, d/2), ft.Circle(z+pitch/8, d/2), ft.Circle(z+pitch/2, d3/2), ft.Circle(z+0.65*pitch, d3/2))
	}
	rings = append(rings, ft.Circle(-plain, d/2), ft.Circle(0, d/2))
	rings = append(rings, head...)
	top := head[len(head)-1].Z
	if pocket != nil {
		return ft.Turn("", append(rings, pocket(top), pocket(top-depth), ft.Circle(top-depth-0.2, 0))...)
	}
	return ft.Turn("", append(rings, ft.Circle(top, 0))...)
}

// m8 is an M8 × 30 hexagon screw with its thread.
func m8(plain float64) product.Part {
	return grooved(8, 6.466, 1.25, 30, plain, ft.Hexagon(13, 5.3), nil, 0)
}

// m2 is an M2 × 12, whose thread is coarse for its size.
func m2(plain float64) product.Part {
	return grooved(2, 1.509, 0.4, 12, plain, ft.Hexagon(4, 1.4), nil, 0)
}

// turned8 is a plain M8 × 30 with a pilot as thick as the dog point of ISO 4028.
func turned8() product.Part {
	return ft.Turn("", ft.Circle(-30, 0), ft.Circle(-30, 2.75), ft.Circle(-24, 2.75), ft.Circle(-24, 4), ft.Circle(0, 4),
		ft.Polygon(0, 13, 6), ft.Polygon(5.3, 13, 6), ft.Circle(5.3, 0))
}

// A hexagon screw with a shank of its own is a bolt. Up to 4 mm without thread
// under the head have those that ISO 4017 threads up to the head (M8, a max; M2: 1.2 mm).
func TestShankOfItsOwn(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		kind Kind
		call string
	}{
		{"8 mm of plain shank", m8(8), Bolt, "ISO 4014 M8×30"},
		{"22 mm of plain shank", m8(22), Bolt, "ISO 4014 M8×30"},
		{"a pilot of 5.5 instead of a thread", turned8(), Screw, "ISO 4017 M8×30"},
		{"threaded up to the head", m8(3.9), Screw, "ISO 4017 M8×30"},
		{"M2 with 2 mm of plain shank", m2(2), Bolt, "ISO 4014 M2×12"},
		{"M2 threaded up to the head", m2(1.2), Screw, "ISO 4017 M2×12"},
		{"no thread modelled", ft.Screw(8, 30, ft.Hexagon(13, 5.3), nil, 0), Screw, "ISO 4017 M8×30"},
		{"a socket head is a screw's", grooved(8, 6.466, 1.25, 30, 8, ft.Barrel(13, 8), ft.HexPocket(6), 4), Screw, "ISO 4762 M8×30"},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || f.Designation != c.call {
			t.Errorf("%s: %s %q; %q", c.name, f.Kind, f.Designation, f.Evidence)
		}
	}
}

// tallNut is a hexagon with a bore, chamfered to a diameter at its top and to
// another at its foot.
func tallNut(s, h, bore, chamfer, below float64) product.Part {
	c, b := (chamfer-bore)/2, (below-bore)/2
	return ft.Turn("", ft.Circle(0, below/2), ft.Polygon(0, s, 6), ft.Polygon(h, s, 6), ft.Circle(h, chamfer/2),
		ft.Circle(h-c, bore/2), ft.Circle(b, bore/2), ft.Circle(0, below/2))
}

// A nut of a size or height that no table has shows its thread by bore and
// chamfers: D1 = d - 1.0825 P is 19.294 for M22 × 2.5, 8.376 for M10 × 1.5.
func TestNutsByTheirThread(t *testing.T) {
	for _, c := range []struct {
		name                       string
		s, h, bore, chamfer, below float64
		nut                        bool
	}{
		{"M22, 1.5 d high", 32, 33, 19.294, 22, 22, true},
		{"M22, cut into by a spherical seat", 32, 33, 19.294, 22, 21, true},
		{"M10, 1.5 d high", 16, 15, 8.376, 10.3, 10.3, true},
		{"no chamfers", 32, 33, 19.294, 19.3, 19.3, false},
		{"chamfered at one end", 32, 33, 19.294, 22, 19.3, false},
		{"edges broken only", 32, 33, 19.294, 20.9, 20.9, false},
		{"chamfered too wide", 32, 33, 19.294, 29, 29, false},
		{"bore of a bush", 32, 33, 20, 22, 22, false},
		{"as high as a coupling", 32, 44, 19.294, 22, 22, false},
	} {
		f, ok := pile{}.add(0, tallNut(c.s, c.h, c.bore, c.chamfer, c.below)).kinds()[0]
		if got := ok && f.Kind == Nut; got != c.nut {
			t.Errorf("%s: %s %q; %q", c.name, f.Kind, f.Size, f.Evidence)
		}
		if c.nut && (f.Length != c.h || f.Drive != OuterHex) {
			t.Errorf("%s: %g mm high, %s", c.name, f.Length, f.Drive)
		}
	}
}

// soldered is a stand-off 6 × 10 with a stud and a foot to solder: a groove of
// diameter neck between both.
func soldered(body, neck, tip float64) product.Part {
	return turned("", 0, 0, 0, tip/2, 0.3, 1.5, 4.5, 1.5, 4.9, neck/2, 5.5, neck/2, 5.5, 3, 5.5+body, 3, 5.5+body, 0.4, 6+body, 0.4, 6+body, 0)
}

// The undercut of M3 is 2.2 wide (DIN 76-1), its thread's minor diameter 2.387;
// a journal of the same diameter is relieved by a few tenths or not at all.
func TestStandOffsWithAStud(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		kind Kind
	}{
		{"undercut", soldered(10, 2.2, 2.3), StandOff},
		{"relief of a ground journal", soldered(10, 2.8, 2.3), ""},
		{"no groove", soldered(10, 3, 2.3), ""},
		{"no point", soldered(10, 2.2, 3), ""},
		{"a groove too deep for a thread", soldered(10, 1.4, 2.3), ""},
		{"a body in steps", turned("", 0, 0, 0, 1.15, 0.3, 1.5, 4.5, 1.5, 4.9, 1.1, 5.5, 1.1, 5.5, 3, 10, 3, 10, 2.8, 15.5, 2.8, 15.5, 0), ""},
		{"a long shaft", soldered(90, 2.2, 2.3), ""},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || c.kind != "" && (f.Size != "M3" || f.Length != 10 || f.Drive != NoDrive) {
			t.Errorf("%s: %q %q %g; %q", c.name, f.Kind, f.Size, f.Length, f.Evidence)
		}
	}
}

// What a recess turns is a screw of some kind.
func TestTallHeadIsNoStandOff(t *testing.T) {
	part := ft.Turn("", ft.Circle(0, 0), ft.Circle(0, 1.15), ft.Circle(0.3, 1.5), ft.Circle(4.5, 1.5), ft.Circle(4.9, 1.1), ft.Circle(5.5, 1.1),
		ft.Circle(5.5, 3), ft.Circle(15.5, 3), ft.Polygon(15.5, 2.5, 6), ft.Polygon(13.5, 2.5, 6), ft.Circle(13.3, 0))
	if f := (pile{}).add(0, part).kinds()[0]; f.Kind == StandOff {
		t.Errorf("found as a stand-off: %q", f.Evidence)
	}
}

// Round bodies with holes are stand-offs where the holes show a thread: 2.459
// is the minor diameter of M3.
func TestRoundStandOffs(t *testing.T) {
	sleeve := func(bore, chamfer float64) product.Part {
		c := (chamfer - bore) / 2
		return turned("", 0, chamfer/2, 0, 3, 10, 3, 10, chamfer/2, 10-c, bore/2, c, bore/2, 0, chamfer/2)
	}
	pile{}.add(0, sleeve(2.459, 3.1)).expect(t, "chamfered", 0, StandOff, "M3")
	pile{}.add(0, sleeve(2.459, 2.6)).expect(t, "edges broken only", 0, "", "")
	pile{}.add(0, sleeve(3.2, 3.8)).expect(t, "clearance hole", 0, "", "")
}

// odd is a ring of a size that no table of washers has.
func odd() product.Part { return ft.Tube(6.5, 0.8, 3.5) }

// A ring on the end of a screw that stands out of it is its washer, where it
// bears on a part and its other face is free.
func TestWasherOnTheEndOfAShank(t *testing.T) {
	screw := ft.Screw(3, 20, ft.Barrel(5.5, 3), ft.HexPocket(2.5), 1.6)
	on := pile{}.add(0, screw).add(-15, ft.Tube(10, 15, 3.3)) // the block's foot is at -15
	on.add(-15.8, odd()).expect(t, "on the block's foot", 2, Washer, "M3")
	on.add(-15.8, odd()).add(-18, ft.Tube(10, 2.2, 3.3)).expect(t, "between two parts", 2, "", "")
	on.add(-17, odd()).expect(t, "with air on both sides", 2, "", "")
	on.add(-20.2, odd()).expect(t, "beyond the tip", 2, "", "")
	on.add(-15.8, ft.Tube(8, 0.8, 4.2)).expect(t, "with too wide a bore", 2, "", "")
	shaft := pile{}.add(0, turned("", -20, 0, -20, 1.5, 0, 1.5, 0, 3, 6, 3, 6, 0)).add(-15, ft.Tube(10, 15, 3.3))
	shaft.add(-15.8, odd()).expect(t, "on a shaft", 2, "", "")
}

// A ring over a tapped hole is a washer whose screw is not modelled: 2.5 is the
// tap drill of M3.
func TestWasherOverATappedHole(t *testing.T) {
	over := func(hole float64) pile { return pile{}.add(-20, ft.Tube(10, 20, hole)) }
	over(2.5).add(0, odd()).expect(t, "over the tap drill of M3", 1, Washer, "M3")
	over(2.5).add(0, odd()).add(0.8, ft.Tube(10, 5, 3.4)).expect(t, "under a part", 1, "", "")
	over(2.5).add(0.5, odd()).expect(t, "half a millimetre above", 1, "", "")
	over(3.1).add(0, odd()).expect(t, "over a hole that no M3 bites in", 1, "", "")
	counterbored := turned("", -20, 1.25, -20, 5, 0, 5, 0, 2, -3, 2, -3, 1.25, -20, 1.25)
	pile{}.add(0, counterbored).add(0, odd()).expect(t, "over a counterbore", 1, "", "")
	over(2.5).add(0, ft.Tube(13, 0.8, 3.5)).expect(t, "a wide disc", 1, "", "")
	over(2.5).add(0, ft.Tube(6.5, 2, 3.5)).expect(t, "a thick ring", 1, "", "")
}

// The name gives a size that the shape leaves open, and none that it denies.
func TestSizeByName(t *testing.T) {
	for name, size := range map[string]string{
		"Rondelle M3": "M3", "washer_m3": "M3", "Rondelle M5": "", "washer M2": "", "washer M3 M4": "", "washer 3": "", "washer XM3": "",
	} {
		ring := odd()
		ring.Name = name
		pile{}.add(0, ring).expect(t, name, 0, Washer, size)
	}
}

// rivet is a smooth shank of 2 × 2.6 with a flat head.
func rivet() product.Part { return ft.Screw(2, 2.6, ft.Barrel(3, 0.3), nil, 0) }

// A smooth headed shank that closes a stack of parts with holes of its own
// diameter is a rivet.
func TestRivetsByTheirStack(t *testing.T) {
	sheet := func(h, hole float64) product.Part { return ft.Tube(10, h, hole) }
	two := pile{}.add(0, rivet()).add(-1.3, sheet(1.3, 2)).add(-2.3, sheet(1, 2))
	two.expect(t, "two sheets", 0, Rivet, "2 mm")
	if f := two.kinds()[0]; math.Abs(f.Length-2.6) > 1e-9 || math.Abs(f.Nominal-2) > 1e-9 || f.Drive != NoDrive {
		t.Errorf("length %g, nominal %g, drive %s", f.Length, f.Nominal, f.Drive)
	}
	pile{}.add(0, rivet()).expect(t, "alone", 0, "", "")
	pile{}.add(0, rivet()).add(-2.3, sheet(2.3, 2)).expect(t, "one sheet", 0, "", "")
	pile{}.add(0, rivet()).add(-1, sheet(1, 2)).add(-2.3, sheet(1, 2)).expect(t, "a gap between the sheets", 0, "", "")
	pile{}.add(0, rivet()).add(-1.3, sheet(1.3, 2.2)).add(-2.3, sheet(1, 2)).expect(t, "play in one", 0, "", "")
	two.add(-4, ft.Tube(10, 1.4, 0.5)).expect(t, "a part before the tip", 0, "", "")
	grooved := turned("", -2.6, 0, -2.6, 1, -2, 1, -2, 0.8, -1.2, 0.8, -1.2, 1, 0, 1, 0, 1.5, 0.3, 1.5, 0.3, 0)
	pile{}.add(0, grooved).add(-1.3, sheet(1.3, 2)).add(-2.3, sheet(1, 2)).expect(t, "a groove", 0, "", "")
	cap := ft.Screw(4, 10, ft.Barrel(7, 4), nil, 0) // the head of ISO 4762 M4: a screw drawn plain
	pile{}.add(0, cap).add(-5, sheet(5, 4)).add(-9.5, sheet(4.5, 4)).expect(t, "the head of a screw", 0, "", "")
}

// A smooth shank with a thin head that one part holds, and that stands out of
// it, is a pin that something turns on.
func TestHeadedPins(t *testing.T) {
	pin := ft.Screw(1.1, 4.1, ft.Barrel(2, 0.2), nil, 0)
	lever := func(hole float64) product.Part { return ft.Tube(6, 3.3, hole) }
	held := pile{}.add(-3.3, lever(1.1)).add(0, pin)
	held.expect(t, "in a lever", 1, Pin, "1.1 mm")
	pile{}.add(-3.3, lever(1.25)).add(0, pin).expect(t, "with play", 1, "", "")
	pile{}.add(-1, ft.Tube(6, 1, 1.1)).add(0, pin).expect(t, "in a thin wall", 1, "", "")
	pile{}.add(-3.3, lever(1.1)).add(0, ft.Screw(1.1, 4.1, ft.Barrel(2, 1.5), nil, 0)).expect(t, "a button", 1, "", "")
	held.again(2, 0).again(-2, 0).expect(t, "one of three contacts", 1, "", "")
}
