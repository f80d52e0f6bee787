package fastener

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// referenceNuts are the rows of the reference table: standard, size, d, s and
// height, mm, and the least minor diameter of the thread by ISO 68-1.
func referenceNuts(t *testing.T) (out []table.Nut, minor []float64) {
	t.Helper()
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	f, err := os.Open(filepath.Join(shared, "reference", "nuts.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, l := range lines[1:] {
		n := table.Nut{Standard: l[1], Size: l[3], D: number(l[4]), Pitch: number(l[5]), S: number(l[6]), MMax: number(l[8])}
		out, minor = append(out, n), append(minor, n.D-1.082532*n.Pitch)
	}
	return out, minor
}

// Every row of the reference table, drawn as a plain hexagon with its bore at
// the minor and at the major diameter, has its own size back; the word for the
// head is that of the row.
func TestNutsOfTheReference(t *testing.T) {
	rows, minor := referenceNuts(t)
	for i, n := range rows {
		for _, bore := range []float64{minor[i], n.D} {
			f := pile{}.add(0, ft.Nut(n.S, n.MMax, bore)).kinds()[0]
			if f.Kind != Nut || !sameThread(n.Size, f.Size) && f.Size != n.Size || f.Drive != OuterHex {
				t.Errorf("%s %s, bore %.3f: %s %q %q; %q", n.Standard, n.Size, bore, f.Kind, f.Head, f.Size, f.Evidence)
			}
		}
	}
}

// withCollar is a hexagon nut with a round collar above it that holds a ring.
func withCollar(s, h, bore, ring float64) product.Part {
	low := 0.68 * h
	return ft.Turn("", ft.Circle(0, bore/2), ft.Polygon(0, s, 6), ft.Polygon(low, s, 6), ft.Circle(low, 0.45*s), ft.Circle(h, 0.42*s),
		ft.Circle(h, ring/2), ft.Circle(low-0.2, ring/2), ft.Circle(low-0.2, bore/2), ft.Circle(0, bore/2))
}

// cappedNut is a cap nut: hexagon m high, dome to h, blind bore t deep from below.
func cappedNut(s, m, h, bore, t float64) product.Part {
	rings := []ft.Ring{ft.Circle(t+bore/4, 0), ft.Circle(t, bore/2), ft.Circle(0, bore/2), ft.Polygon(0, s, 6), ft.Polygon(m, s, 6)}
	r := 0.47 * s
	for k := range 8 { // a half ball, or what there is room for
		sin, cos := math.Sincos(float64(k) / 8 * math.Pi / 2)
		rings = append(rings, ft.Circle(m+(h-m)*sin, r*cos))
	}
	return ft.Turn("", append(rings, ft.Circle(h, 0))...)
}

// teeShaped is a nut for a T-slot: foot e × e and k high under a neck a wide up
// to h.
func teeShaped(a, e, k, h, bore float64) product.Part {
	hole := shape.Circle(0, 0, bore/2, 48)
	return ft.Solid("", shape.Plate(mgl64.Vec3{-e / 2, -e / 2, 0}, mgl64.Vec3{e / 2, e / 2, k}, hole),
		shape.Plate(mgl64.Vec3{-e / 2, -a / 2, k}, mgl64.Vec3{e / 2, a / 2, h}, hole))
}

// winged is a wing nut: a hub with two wings that rise above it.
func winged(hub, low, high, span, thick, bore float64) product.Part {
	lumps := []*mesh.Mesh{shape.Plate(mgl64.Vec3{-hub / 2, -hub / 2, 0}, mgl64.Vec3{hub / 2, hub / 2, low})}
	lumps[0] = shape.Prism(zAxis(0), low, shape.Circle(0, 0, hub/2, 96), shape.Circle(0, 0, bore/2, 48))
	for _, s := range []float64{1, -1} {
		x0, x1 := s*0.7*hub/2, s*span/2
		lumps = append(lumps, shape.Box(mgl64.Vec3{min(x0, x1), -thick / 2, 0.3 * low}, mgl64.Vec3{max(x0, x1), thick / 2, high}))
	}
	return ft.Solid("", lumps...)
}

// caged is a square nut in a cage of sheet with two ears, in one lump.
func caged(a, m, sheet, ear, bore float64) product.Part {
	lumps := []*mesh.Mesh{shape.Plate(mgl64.Vec3{-a / 2, -a / 2, 0}, mgl64.Vec3{a / 2, a / 2, m}, shape.Circle(0, 0, bore/2, 48))}
	for _, s := range []float64{1, -1} {
		x0, x1 := s*a/2, s*(a/2+sheet)
		lumps = append(lumps, shape.Box(mgl64.Vec3{min(x0, x1), -0.4 * a, 0}, mgl64.Vec3{max(x0, x1), 0.4 * a, m + ear}))
	}
	return ft.Solid("", lumps...)
}

// Measures from memory of DIN 557, 562, 1587, 508, 315, 6334, 985 and EN 1661;
// D1 is d - 1.0825 P.
func TestNutsByForm(t *testing.T) {
	for _, c := range []struct {
		name      string
		part      product.Part
		head      string // "-" for no nut
		size      string
		drive     Drive
		driveSize string
		call      string
	}{
		{"DIN 557 M8", squareNut(13, 6.5, 6.647, 0), "square", "M8", Square, "13", "DIN 557 M8"},
		{"DIN 562 M4, tapping drill", squareNut(7, 2.2, 3.3, 0), "square", "M4", Square, "7", "DIN 562 M4"},
		{"DIN 562 M5, bore at d, chamfered", squareNut(8, 2.7, 5, 5.2), "square", "M5", Square, "8", "DIN 562 M5"},
		{"a plate with a plain hole of 5", squareNut(8, 2.7, 5, 0), "-", "", "", "", ""},
		{"a plate with a clearance hole", squareNut(8, 2.7, 5.5, 0), "-", "", "", "", ""},
		{"a plate of no standard", squareNut(12, 2.7, 4.134, 0), "-", "", "", "", ""},
		{"ISO 10511 M6, which is as high as DIN 985, ring narrower than the thread", withCollar(10, 6, 6, 5.4), "lock", "M6", OuterHex, "10", "ISO 10511 M6"},
		{"DIN 985 M10 by its collar", withCollar(17, 10, 8.376, 8.376), "lock", "M10", OuterHex, "17", "DIN 985 M10"},
		{"a collar on a nut of no table", withCollar(13, 8.4, 6.647, 6.3), "lock", "M8", OuterHex, "13", ""},
		{"DIN 1587 M6", cappedNut(10, 5, 12, 4.917, 8), "cap", "M6", OuterHex, "10", "DIN 1587 M6"},
		{"a low cap nut, in no table", cappedNut(10, 4, 8.5, 4.917, 6), "cap", "M6", OuterHex, "10", ""},
		{"the cap of a gland: too wide a bore", cappedNut(17, 7, 14, 13.6, 10), "-", "", "", "", ""},
		{"a hexagon with a dome and a shallow dent", cappedNut(10, 5, 12, 4.917, 2), "-", "", "", "", ""},
		{"DIN 508 M8", teeShaped(10, 15, 6, 12, 6.647), "tee", "M8", NoDrive, "", "DIN 508 M8"},
		{"a slide with a plain hole", teeShaped(10.6, 15, 6, 13, 6.647), "-", "", "", "", ""},
		{"a carriage with a wide foot", teeShaped(10, 40, 6, 12, 6.647), "-", "", "", "", ""},
		{"DIN 315 M6", winged(13, 8, 17, 33, 2.3, 4.917), "wing", "M6", NoDrive, "", ""},
		{"an arm on a shaft: wings no higher than the hub", winged(13, 8, 8, 33, 2.3, 6), "-", "", "", "", ""},
		{"a long lever", winged(13, 8, 17, 70, 2.3, 6), "-", "", "", "", ""},
		{"a thick yoke", winged(13, 8, 17, 33, 7, 6), "-", "", "", "", ""},
		{"cage nut M6", caged(10.8, 5, 0.8, 2, 4.917), "cage", "M6", NoDrive, "", ""},
		{"a block with two legs as thick as its bore", caged(10.8, 5, 5, 2, 6), "-", "", "", "", ""},
		{"a block between cheeks without ears", caged(10.8, 5, 0.8, 0, 6), "-", "", "", "", ""},
		{"a holder with a wide bore", caged(10.8, 5, 0.8, 2, 8), "-", "", "", "", ""},
		{"DIN 6334 M10", ft.Nut(17, 30, 8.376), "coupling", "M10", OuterHex, "17", "DIN 6334 M10"},
		{"EN 1661 M8 without its flange", ft.Nut(13, 8, 6.647), "lock", "M8", OuterHex, "13", "DIN 985 M8"},
	} {
		f, ok := pile{}.add(0, c.part).kinds()[0]
		if c.head == "-" {
			if ok && f.Kind == Nut {
				t.Errorf("%s: found as %s %q %q; %q", c.name, f.Kind, f.Head, f.Size, f.Evidence)
			}
			continue
		}
		if f.Kind != Nut || f.Head != c.head || f.Size != c.size || f.Drive != c.drive || f.DriveSize != c.driveSize || f.Designation != c.call {
			t.Errorf("%s: %s %q %q, %s %q, %q; %q", c.name, f.Kind, f.Head, f.Size, f.Drive, f.DriveSize, f.Designation, f.Evidence)
		}
	}
}

// squareNut is a square plate with a bore, chamfered to a diameter at both ends
// where that is not 0.
func squareNut(s, m, bore, chamfer float64) product.Part {
	if chamfer == 0 {
		return ft.Turn("", ft.Circle(0, bore/2), ft.Polygon(0, s, 4), ft.Polygon(m, s, 4), ft.Circle(m, bore/2), ft.Circle(0, bore/2))
	}
	c := (chamfer - bore) / 2
	return ft.Turn("", ft.Circle(0, chamfer/2), ft.Polygon(0, s, 4), ft.Polygon(m, s, 4), ft.Circle(m, chamfer/2),
		ft.Circle(m-c, bore/2), ft.Circle(c, bore/2), ft.Circle(0, chamfer/2))
}

// A nut that only one way goes on its screw leaves it the other way: a cap nut
// by its dome, a wing nut by its wings, a cage nut away from its ears.
func TestNutsLeaveTheirScrew(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		up   bool
	}{
		{"cap", cappedNut(10, 5, 12, 4.917, 8), true}, {"wing", winged(13, 8, 17, 33, 2.3, 4.917), true}, {"cage", caged(10.8, 5, 0.8, 2, 4.917), false},
		{"tee", teeShaped(10, 15, 6, 12, 6.647), false}, // the foot is below
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Symmetric || (f.Axis.D[2] > 0) != c.up || f.Head != c.name {
			t.Errorf("%s %q: axis %v, symmetric %v", c.name, f.Head, f.Axis.D, f.Symmetric)
		}
		if lo, hi := f.Axis.At(f.Back)[2], f.Axis.At(f.Front)[2]; math.Abs(math.Min(lo, hi)-c.part.Box.Min[2]) > 1e-6 || math.Abs(math.Max(lo, hi)-c.part.Box.Max[2]) > 1e-6 {
			t.Errorf("%s: from %g to %g, the part's box is %v", c.name, lo, hi, c.part.Box)
		}
	}
}

// A coupling nut joins two threaded ends; a stand-off of its measures has parts
// on both its ends, and where nothing shows the doubt is said.
func TestCouplingNutOrStandOff(t *testing.T) {
	m6, m4 := ft.Nut(10, 18, 4.917), ft.Nut(7, 12, 3.242) // DIN 6334 begins with M6
	screw := func(d float64) product.Part {
		return ft.Screw(d, 20, ft.Barrel(1.75*d, d), ft.HexPocket(0.75*d), 0.5*d)
	}
	pile{}.add(0, m6).expect(t, "M6 × 18 alone", 0, Nut, "M6")
	pile{}.add(0, m4).expect(t, "M4 × 12 alone", 0, StandOff, "M4")
	if f := (pile{}.add(0, m6)).kinds()[0]; !strings.Contains(strings.Join(f.Evidence, ";"), "stand-off of the same measures") {
		t.Errorf("no doubt is said: %q", f.Evidence)
	}
	plate := ft.Tube(20, 2, 6.6)
	pile{}.add(0, m6).add(-2, plate).add(18, plate).expect(t, "M6 × 18 between two plates", 0, StandOff, "M6")
	pile{}.add(0, m6).add(-2, plate).expect(t, "M6 × 18 on a plate", 0, Nut, "M6")
	joined := pile{}.add(0, m4).add(24, screw(4)).turned(-12, screw(4))
	joined.expect(t, "M4 × 12 between two screws", 0, Nut, "M4")
	if f := joined.kinds()[0]; f.Head != "coupling" {
		t.Errorf("head %q", f.Head)
	}
}

// turned places a part upside down.
func (h pile) turned(z float64, p product.Part) pile {
	h = h.add(z, p)
	u := &h.uses[len(h.uses)-1]
	u.At.M = mgl64.Diag3(mgl64.Vec3{1, -1, -1})
	return h
}

// A square nut in a cage of sheet of its own part is one fastener of two
// solids; one in a pocket of something larger is a square nut.
func TestCageNutOfTwoSolids(t *testing.T) {
	cage := func(wall float64) product.Part { // walls on two sides, a floor with a hole
		lumps := []*mesh.Mesh{shape.Plate(mgl64.Vec3{-5 - wall, -4, -0.8}, mgl64.Vec3{5 + wall, 4, -0.3}, shape.Circle(0, 0, 3.5, 48))}
		for _, s := range []float64{1, -1} {
			x0, x1 := s*4.6, s*(4.6+wall)
			lumps = append(lumps, shape.Box(mgl64.Vec3{min(x0, x1), -4, -0.3}, mgl64.Vec3{max(x0, x1), 4, 5}))
		}
		return ft.Solid("", lumps...)
	}
	nut := squareNut(8, 4, 4.134, 0) // DIN 557 M5
	f := pile{}.add(0, nut).add(0, cage(0.6)).kinds()[0]
	if f.Kind != Nut || f.Head != "cage" || f.Drive != NoDrive || len(f.Solids) != 2 {
		t.Errorf("in a cage: %s %q, %s, solids %v; %q", f.Kind, f.Head, f.Drive, f.Solids, f.Evidence)
	}
	if f := (pile{}.add(0, nut).add(0, cage(9))).kinds()[0]; f.Head != "square" || len(f.Solids) != 1 {
		t.Errorf("in a pocket: %s %q, solids %v", f.Kind, f.Head, f.Solids)
	}
}

// zAxis is the z axis from a height.
func zAxis(z float64) geom.Axis {
	return geom.Axis{O: mgl64.Vec3{0, 0, z}, D: mgl64.Vec3{0, 0, 1}}
}

// A modelled thread shows by its turns, in a blind hole as well as in one right
// through: crests at D1, roots at d. A bellows goes in and out far more.
func TestBoresInTurns(t *testing.T) {
	capNut := func(crest, root float64) product.Part {
		rings := []ft.Ring{ft.Circle(8.3, 0), ft.Circle(8, crest/2)}
		for z := 7.0; z > 0; z-- {
			rings = append(rings, ft.Circle(z+0.5, root/2), ft.Circle(z, crest/2))
		}
		rings = append(rings, ft.Circle(0, root/2), ft.Polygon(0, 10, 6), ft.Polygon(5, 10, 6), ft.Circle(5, 4.7))
		for k := range 8 {
			sin, cos := math.Sincos(float64(k) / 8 * math.Pi / 2)
			rings = append(rings, ft.Circle(6.5+5.5*sin, 4.7*cos))
		}
		return ft.Turn("", append(rings, ft.Circle(12, 0))...)
	}
	pile{}.add(0, capNut(4.917, 6)).expect(t, "M6", 0, Nut, "M6")
	pile{}.add(0, capNut(4.917, 8)).expect(t, "bellows", 0, "", "")
}
