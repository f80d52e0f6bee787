package fastener

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom/mesh/shape"
)

// splitRing is a flat ring with a gap of so many degrees.
func splitRing(d1, d2, h, gap float64) product.Part {
	var p []mgl64.Vec2
	a0, a1 := gap/2*math.Pi/180, 2*math.Pi-gap/2*math.Pi/180
	const n = 120
	for k := range n + 1 {
		sin, cos := math.Sincos(a0 + (a1-a0)*float64(k)/n)
		p = append(p, mgl64.Vec2{d2 / 2 * cos, d2 / 2 * sin})
	}
	for k := range n + 1 {
		sin, cos := math.Sincos(a1 - (a1-a0)*float64(k)/n)
		p = append(p, mgl64.Vec2{d1 / 2 * cos, d1 / 2 * sin})
	}
	m := shape.Prism(zAxis(0), h, shape.Contour{Points: p})
	for i, f := range m.FaceOf { // a face for each round wall
		switch {
		case f < 2: // the ends
		case f < 2+n:
			m.FaceOf[i] = 2
		case f == 2+n:
			m.FaceOf[i] = 3
		case f < 3+2*n:
			m.FaceOf[i] = 4
		default:
			m.FaceOf[i] = 5
		}
	}
	return ft.Solid("", m)
}

// risen is a strip of height s along one turn of a helix of that lead.
func risen(d1, d2, s, lead float64) product.Part {
	bend := splitRing(d1, d2, s, 8)
	m := bend.Mesh
	for i, v := range m.Vertices {
		a := math.Atan2(v[1], v[0])
		if a < 0 {
			a += 2 * math.Pi
		}
		m.Vertices[i][2] += lead * a / (2 * math.Pi)
	}
	return ft.Solid("", m)
}

// toothedRing has n teeth at its rim down to radius deep, or at its bore.
func toothedRing(d1, d2, h float64, n int, rootIn, rootOut float64) product.Part {
	wave := func(z, tip, root float64) ft.Ring {
		return ft.Ring{Z: z, R: func(t float64) float64 {
			if math.Mod(t*float64(n)/(2*math.Pi)+1e-9, 1) < 0.5 {
				return tip
			}
			return root
		}}
	}
	in := func(z float64) ft.Ring { return wave(z, d1/2, rootIn) }
	return ft.Turn("", in(0), wave(0, d2/2, rootOut), wave(h, d2/2, rootOut), in(h), in(0))
}

// bondedRing is a ring of metal h thick with a bead of rubber in its bore,
// whose crest is as wide as d1.
func bondedRing(d1, d2, h, proud float64) product.Part {
	r, w := d1/2, (d2-d1)/5
	return turned("", h/2, r, -proud, r+0.3*w, -proud, r+0.6*w, 0, r+w, 0, d2/2, h, d2/2, h, r+w, h+proud, r+0.6*w, h+proud, r+0.3*w, h/2, r)
}

// Each row of DIN 127 and DIN 6797 that we hold, drawn as it is, has its own
// size back.
func TestSpringAndToothedWashersOfTheTable(t *testing.T) {
	n := 0
	for _, w := range table.Washers() {
		var p product.Part
		switch {
		case w.Head == "spring":
			p = splitRing(w.D1, w.D2, w.H, 6)
		case w.Standard == "DIN 6797":
			p = toothedRing(w.D1, w.D2, w.H, 8, w.D1/2, (w.D1+2*w.D2)/6)
		default:
			continue
		}
		n++
		f := pile{}.add(0, p).kinds()[0]
		if f.Kind != Washer || f.Head != w.Head || f.Size != w.Size || f.Designation != w.Standard+" "+w.Size || f.Drive != NoDrive {
			t.Errorf("%s %s: %s %q %q %q; %q", w.Standard, w.Size, f.Kind, f.Head, f.Size, f.Designation, f.Evidence)
		}
	}
	if n < 20 {
		t.Errorf("%d rows", n)
	}
}

func TestWashersByForm(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		head string // "-" for none
		size string
	}{
		{"DIN 127 M8, risen by twice its height", risen(8.1, 14.8, 2, 4), "spring", "M8"},
		{"DIN 127 M5, gap of 20 degrees", splitRing(5.1, 9.2, 1.2, 20), "spring", "M5"},
		{"a ring that snaps over a shaft", splitRing(5.1, 9.2, 1.2, 90), "-", ""},
		{"a slotted tube", splitRing(5.1, 9.2, 12, 6), "-", ""},
		{"a split ring of no table", splitRing(5.1, 8, 1, 6), "-", ""},
		{"a split bearing shell", splitRing(12, 14, 1, 3), "-", ""},
		{"DIN 6797 M4, teeth inside", toothedRing(4.3, 8, 0.5, 8, 2.7, 4), "toothed", "M4"},
		{"a gear of sheet", toothedRing(4, 20, 0.5, 30, 2, 9), "-", ""},
		{"a thick gear", toothedRing(4.3, 8, 3, 8, 2.15, 3.4), "-", ""},
		{"a ring with three lugs", toothedRing(4.3, 8, 0.5, 3, 2.15, 3.4), "-", ""},
		{"bonded, for M8", bondedRing(8.7, 16, 1.5, 0.35), "bonded", "M8"},
		{"a bead on a bore that clears no thread", bondedRing(12.5, 22, 1.5, 0.35), "-", ""},
		{"a wheel with a hub", turned("", -0.4, 4.35, -0.4, 5, 0, 5, 0, 9, 1.5, 9, 1.5, 5, 1.9, 5, 1.9, 4.35, -0.4, 4.35), "-", ""},
		{"a wheel with a hub, bore chamfered", turned("", -0.4, 4.6, -0.4, 5, 0, 5, 0, 9, 1.5, 9, 1.5, 5, 1.9, 5, 1.9, 4.6, 1.65, 4.35, -0.15, 4.35, -0.4, 4.6), "-", ""},
	} {
		f, ok := pile{}.add(0, c.part).kinds()[0]
		if c.head == "-" && ok || c.head != "-" && (f.Kind != Washer || f.Head != c.head || f.Size != c.size) {
			t.Errorf("%s: %s %q %q; %q", c.name, f.Kind, f.Head, f.Size, f.Evidence)
		}
	}
}

// A split ring that no table has is a washer under a head.
func TestSplitRingUnderAHead(t *testing.T) {
	screw := ft.Screw(5, 20, ft.Barrel(8.5, 5), ft.HexPocket(4), 2.5)
	pile{}.add(0, screw).add(-1, splitRing(5.1, 8, 1, 6)).expect(t, "under the head", 1, Washer, "M5")
}

// A ring of metal about one of rubber that stands proud of it is one bonded
// washer; with a ring that does not it is two parts.
func TestBondedWasherOfTwoSolids(t *testing.T) {
	metal := ft.Tube(16, 1.5, 11)
	rubber := func(h float64) product.Part { return ft.Tube(11, h, 8.7) }
	f := pile{}.add(0, metal).add(-0.25, rubber(2)).kinds()[0]
	if f.Kind != Washer || f.Head != "bonded" || f.Size != "M8" || len(f.Solids) != 2 || math.Abs(f.Bore-8.7) > 0.01 {
		t.Errorf("%s %q %q, bore %g, solids %v; %q", f.Kind, f.Head, f.Size, f.Bore, f.Solids, f.Evidence)
	}
	pile{}.add(0, metal).add(0, rubber(1.5)).expect(t, "flush", 0, "", "")
	pile{}.add(0, metal).add(-5, rubber(12)).expect(t, "a bush", 0, "", "")
}
