package tool

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stepscan/access/fastener"
)

func TestCatalogueByDrive(t *testing.T) {
	for _, c := range []struct {
		f    fastener.Fastener
		want string
	}{
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.HexSocket, DriveSize: "3", Nominal: 4, RecessDepth: 2},
			"bit hex 3 in 1/4 in holder; screwdriver hex 3; hex key 3, long arm in the screw; hex key 3, short arm in the screw"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Hexalobular, DriveSize: "T10", Nominal: 3},
			"bit T10 in 1/4 in holder; screwdriver T10"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Cross, DriveSize: "PH2", Nominal: 4},
			"bit PH2 in 1/4 in holder; screwdriver PH2"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Slot, DriveSize: "0.8x4", Nominal: 3},
			"bit slot 0.8x4 in 1/4 in holder; screwdriver slot 0.8x4"},
		{fastener.Fastener{Kind: fastener.Bolt, Drive: fastener.OuterHex, DriveSize: "10", Nominal: 6, HeadH: 4},
			"socket 10 (3/8 in) with extension and ratchet; open-end spanner 10; ring spanner 10"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.UnknownDrive, Nominal: 3, Head: "pan"},
			"bit PH1 in 1/4 in holder (assumed: drive not modelled); screwdriver PH1 (assumed: drive not modelled)"},
		{fastener.Fastener{Kind: fastener.Bolt, Drive: fastener.UnknownDrive, Nominal: 6, Head: "cylindrical"},
			"bit hex 5 in 1/4 in holder (assumed: drive not modelled); screwdriver hex 5 (assumed: drive not modelled); " +
				"hex key 5, long arm in the screw (assumed: drive not modelled); hex key 5, short arm in the screw (assumed: drive not modelled)"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Hexalobular, Nominal: 4},
			"bit T20 in 1/4 in holder (assumed: size of drive not modelled); screwdriver T20 (assumed: size of drive not modelled)"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.HexSocket, DriveSize: "1.3", Nominal: 1.6},
			"micro bit hex 1.3 in pencil driver; screwdriver hex 1.3; hex key 1.3, long arm in the screw; hex key 1.3, short arm in the screw"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.HexSocket, DriveSize: "14", Nominal: 16},
			"bit hex 14 in 1/2 in socket with extension and ratchet; hex key 14, long arm in the screw; hex key 14, short arm in the screw"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.PinHexalobular, DriveSize: "T20", Nominal: 4, RecessDepth: 1.4},
			"bit T20 with bore in 1/4 in holder; screwdriver T20 with bore; key T20 with bore, long arm in the screw; key T20 with bore, short arm in the screw"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Combination, DriveSize: "10 + 1.6x10", Nominal: 6, HeadH: 4,
			Grips: []fastener.Grip{{Drive: fastener.OuterHex, Size: "10"}, {Drive: fastener.Slot, Size: "1.6x10", Depth: 1.6}}},
			"socket 10 (3/8 in) with extension and ratchet; open-end spanner 10; ring spanner 10; bit slot 1.6x10 in 1/4 in holder; screwdriver slot 1.6x10"},
		{fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Combination, DriveSize: "PZ2 + 1.2x6.5", Nominal: 4,
			Grips: []fastener.Grip{{Drive: fastener.Cross, Size: "PZ2"}, {Drive: fastener.Slot, Size: "1.2x6.5"}}},
			"bit PZ2 in 1/4 in holder; screwdriver PZ2; bit slot 1.2x6.5 in 1/4 in holder; screwdriver slot 1.2x6.5"},
		{fastener.Fastener{Kind: fastener.Screw, Head: "knurled", Drive: fastener.NoDrive, Nominal: 4, HeadD: 16, HeadH: 9.5}, "fingers"},
		{fastener.Fastener{Kind: fastener.Nut, Head: "wing", Drive: fastener.NoDrive, Nominal: 4}, "fingers"},
		{fastener.Fastener{Kind: fastener.Screw, Head: "knurled", Drive: fastener.Slot, DriveSize: "1x5.5", Nominal: 4, HeadD: 16},
			"bit slot 1x5.5 in 1/4 in holder; screwdriver slot 1x5.5; fingers"},
		{fastener.Fastener{Kind: fastener.Pin, Drive: fastener.NoDrive, Nominal: 3, Length: 12}, "pin punch 3 mm; pliers"},
		{fastener.Fastener{Kind: fastener.Pin, Head: "split", Drive: fastener.NoDrive, Nominal: 3.2, Length: 20, HeadD: 6, HeadH: 5}, "pliers"},
		{fastener.Fastener{Kind: fastener.Rivet, Drive: fastener.NoDrive, Nominal: 3.2}, "drill 3.2 mm (destroys the rivet)"},
		{fastener.Fastener{Kind: fastener.Ring, Head: "shaft", Drive: fastener.NoDrive, Nominal: 12, HeadD: 17}, "ring pliers for shafts"},
		{fastener.Fastener{Kind: fastener.Ring, Head: "bore", Drive: fastener.NoDrive, Nominal: 16}, "ring pliers for bores"},
		{fastener.Fastener{Kind: fastener.Ring, Head: "E", Drive: fastener.NoDrive, Nominal: 4}, "needle-nose pliers"},
		{fastener.Fastener{Kind: fastener.Clip, Drive: fastener.NoDrive, Nominal: 5, HeadD: 10, HeadH: 1}, "trim lever"},
		{fastener.Fastener{Kind: fastener.Clip, Drive: fastener.NoDrive, Nominal: 5}, "pliers"},
		{fastener.Fastener{Kind: fastener.CableTie, Drive: fastener.NoDrive, Nominal: 16}, "side cutters (destroys the tie)"},
		{fastener.Fastener{Kind: fastener.Washer, Drive: fastener.NoDrive, Nominal: 3}, ""},
		{fastener.Fastener{Kind: fastener.Nut, Head: "cage", Drive: fastener.NoDrive, Nominal: 6}, ""},
		{fastener.Fastener{Kind: fastener.Nut, Head: "tee", Drive: fastener.NoDrive, Nominal: 6}, ""},
		{fastener.Fastener{Kind: fastener.Nut, Head: "square", Drive: fastener.Square, DriveSize: "8", Nominal: 5, HeadD: 11.3, HeadH: 4},
			"socket 8 (3/8 in) with extension and ratchet; open-end spanner 8; ring spanner 8"},
		{fastener.Fastener{Kind: fastener.StandOff, Drive: fastener.NoDrive, Nominal: 3, HeadH: 10}, ""},
		{fastener.Fastener{Kind: fastener.StandOff, Drive: fastener.OuterHex, DriveSize: "10", Nominal: 6}, ""},
		{fastener.Fastener{Kind: fastener.StandOff, Drive: fastener.OuterHex, DriveSize: "10", Nominal: 6, HeadH: 12},
			"socket 10 (3/8 in) with extension and ratchet; open-end spanner 10; ring spanner 10"},
	} {
		var names []string
		for _, tl := range For(&c.f) {
			names = append(names, tl.Name)
		}
		if got := strings.Join(names, "; "); got != c.want {
			t.Errorf("%s %s %q: %s\nwant %s", c.f.Kind, c.f.Drive, c.f.DriveSize, got, c.want)
		}
	}
}

// Pliers for a bore go in through it.
func TestPliersGoIntoTheBore(t *testing.T) {
	f := fastener.Fastener{Kind: fastener.Ring, Head: "bore", Nominal: 10}
	if jaws := For(&f)[0].Sections[0]; jaws.R >= f.Nominal/2 || jaws.From != 0 {
		t.Errorf("jaws %+v in a bore of %g", jaws, f.Nominal)
	}
}

// The figures of one driver, from the tables by hand: T10 has a tip of
// 2.74 mm, a bit of 7.3 mm over corners from 10 mm, a holder of 11 mm from 25.
func TestBitDriverIsAsTall(t *testing.T) {
	f := fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Hexalobular, DriveSize: "T10", Nominal: 3}
	tl := For(&f)[0]
	for _, c := range []struct{ h, r float64 }{{5, 1.37}, {15, 3.65}, {60, 5.5}, {100, 30}} {
		got := math.NaN()
		for _, s := range tl.Sections {
			if s.From <= c.h && c.h < s.To {
				got = s.R
			}
		}
		if !(math.Abs(got-c.r) < 1e-12) {
			t.Errorf("radius %g at %g mm, want %g", got, c.h, c.r)
		}
	}
	if top := tl.Sections[len(tl.Sections)-1].To; top != 245 {
		t.Errorf("the driver ends at %g mm, want 245", top)
	}
}

// A spanner grips level with the head's top, a socket goes down to the bearing
// plane.
func TestOuterToolsSurroundTheHead(t *testing.T) {
	f := fastener.Fastener{Kind: fastener.Bolt, Drive: fastener.OuterHex, DriveSize: "13", Nominal: 8, HeadH: 5.3}
	tools := For(&f)
	want := []Section{{-5.3, 30 - 5.3, (1.25*13 + 2.2) / 2, "socket"}, {-5.3, 1.2, 13 / math.Sqrt(3), "jaws"}, {-5.3, 10.2 - 5.3, (1.375*13 + 2.41) / 2, "ring"}}
	for i, w := range want {
		g := tools[i].Sections[0]
		if math.Abs(g.From-w.From)+math.Abs(g.To-w.To)+math.Abs(g.R-w.R) > 1e-9 || g.Name != w.Name {
			t.Errorf("%s: %+v, want %+v", tools[i].Name, g, w)
		}
	}
	if tools[2].Lift != 5.3 || tools[1].Lift != 0 {
		t.Errorf("lifts %g and %g", tools[1].Lift, tools[2].Lift)
	}
}

// A socket or ring of a square goes over no oblong nut: 15 mm by 20 mm, 25 mm
// over its corners where a square has 21.2.
func TestOblongNutTakesJawsOnly(t *testing.T) {
	f := fastener.Fastener{Kind: fastener.Nut, Drive: fastener.Square, DriveSize: "15", Nominal: 10, HeadH: 3, HeadD: 25}
	tools := For(&f)
	if len(tools) != 1 || tools[0].Name != "open-end spanner 15" || math.Abs(tools[0].Swing.Arc-150*math.Pi/180) > 1e-12 {
		t.Errorf("%+v", tools)
	}
	if f.HeadD = 21.2; len(For(&f)) != 3 {
		t.Errorf("%d tools for a square nut", len(For(&f)))
	}
	// The collar under a square head is wider than its corners, too, and no plate.
	f = fastener.Fastener{Kind: fastener.Screw, Drive: fastener.Square, DriveSize: "8", Head: "square", Nominal: 8, HeadH: 10, HeadD: 16}
	if len(For(&f)) != 3 {
		t.Errorf("%d tools for a square head with a collar", len(For(&f)))
	}
}

// The bars of an open head cover half a disc behind the axis and the cheeks up
// to the tips, and hardly more.
func TestOpenHeadCoversTheJaws(t *testing.T) {
	f := fastener.Fastener{Kind: fastener.Bolt, Drive: fastener.OuterHex, DriveSize: "13", Nominal: 8, HeadH: 5.3}
	bars := For(&f)[1].Swing.Head
	const r, tip, step = 34.3 / 2, 0.5 * 13, 0.21
	for x := -1.3 * r; x < 1.3*r; x += step {
		for y := -1.3 * r; y < 1.3*r; y += step {
			in := false
			for _, b := range bars {
				in = in || b.From <= x && x <= b.To && math.Abs(y) <= b.HalfW
			}
			switch d := math.Hypot(x, y); {
			case d < r && x < tip && !in:
				t.Fatalf("(%g, %g) of the head is left out", x, y)
			case in && (x > tip || x < 0 && d > 1.23*r): // a bar's corner is at most √1.5 r out
				t.Fatalf("(%g, %g) is far outside the head", x, y)
			}
		}
	}
}

// Whatever a recogniser says, a tool is a solid: finite, not empty, sections
// in order and above each other, with a name and a source.
func TestAnyFastenerHasSoundTools(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fastener.Fastener{
			Kind: rapid.SampledFrom([]fastener.Kind{fastener.Screw, fastener.Bolt, fastener.Nut, fastener.SetScrew,
				fastener.Pin, fastener.Rivet, fastener.Ring, fastener.Clip}).Draw(t, "kind"),
			Drive: rapid.SampledFrom([]fastener.Drive{fastener.HexSocket, fastener.Hexalobular, fastener.Cross,
				fastener.Slot, fastener.OuterHex, fastener.Square, fastener.NoDrive, fastener.UnknownDrive,
				fastener.PinHexalobular, fastener.Combination}).Draw(t, "drive"),
			DriveSize:   rapid.SampledFrom([]string{"", "3", "17", "0.7", "T1", "T10", "T100", "PH0", "PZ4", "PH00", "0.8x4", "0.8×4", "x", "NaN", "-3", "1e9", "T11"}).Draw(t, "size"),
			Head:        rapid.SampledFrom([]string{"", "pan", "hexagon", "cylindrical", "countersunk", "knurled", "wing"}).Draw(t, "head"),
			Nominal:     rapid.Float64Range(0, 40).Draw(t, "nominal"),
			Length:      rapid.Float64Range(0, 100).Draw(t, "length"),
			HeadH:       rapid.Float64Range(0, 20).Draw(t, "head height"),
			RecessDepth: rapid.Float64Range(0, 20).Draw(t, "depth"),
		}
		for range rapid.IntRange(0, 2).Draw(t, "grips") {
			f.Grips = append(f.Grips, fastener.Grip{
				Drive: rapid.SampledFrom([]fastener.Drive{fastener.Cross, fastener.Slot, fastener.OuterHex, fastener.Square}).Draw(t, "grip"), Size: f.DriveSize})
		}
		tools := For(&f)
		if len(tools) == 0 {
			t.Fatal("no tool")
		}
		for _, tl := range tools {
			sound(t, &tl)
		}
	})
}

func sound(t *rapid.T, tl *Tool) {
	if tl.Name == "" || tl.Source == "" || len(tl.Sections) == 0 {
		t.Fatalf("incomplete: %+v", tl)
	}
	for i, s := range tl.Sections {
		if !(s.From < s.To) || !(s.R >= 0) || math.IsInf(s.R, 0) || i > 0 && s.From != tl.Sections[i-1].To {
			t.Fatalf("%s: section %d is %+v", tl.Name, i, s)
		}
	}
	if w := tl.Swing; w != nil && (!(w.From < w.To) || !(w.R > 0) || !(w.HalfW > 0) || !(w.Arc > 0 && w.Arc < 2*math.Pi)) {
		t.Fatalf("%s: swing %+v", tl.Name, *w)
	}
	if tl.Entry == Across && tl.Swing == nil {
		t.Fatalf("%s comes from the side but has no arm", tl.Name)
	}
}
