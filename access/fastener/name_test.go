package fastener

import (
	"context"
	"strings"
	"testing"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
)

// cap4 is ISO 4762 M4×12: head 7 × 4, socket 3.
func cap4(name string) product.Part {
	p := ft.Screw(4, 12, ft.Barrel(7, 4), ft.HexPocket(3), 2)
	p.Name = name
	return p
}

// A name is held against every measure; conflict is part of what is told, ""
// for none.
func TestNameAgainstMeasures(t *testing.T) {
	for name, conflict := range map[string]string{
		"ISO 4762 - M4 x 12":     "",
		"DIN912-M4x12":           "",
		"Schraube M4":            "",
		"Bolt M4x12":             "",
		"M4x12 Gewindestift":     "", // the trade's words for shanks are one
		"Senkschraube":           "the name says a head that is countersunk, the shape one that is cylindrical",
		"ISO 10642 M4x12":        "the name says a head that is countersunk, the shape one that is cylindrical",
		"ISO 14579 M4x12":        "the name says the drive is hexalobular (ISO 14579), the shape hex socket",
		"ISO 4762 - M5 x 12":     "the name says M5, the shape says M4 (shank Ø4)",
		"screw M3":               "the name says M3, the shape says M4 (shank Ø4)",
		"ISO 4762 M4x16":         "the name says 16 mm long, the shape 12",
		"ISO 4762 - M5 x 16":     "the shape says M4 (shank Ø4); the name says 16 mm long",
		"nut":                    `the name says "nut", the shape says screw`,
		"Unterlegscheibe M4":     `the name says "unterlegscheibe", the shape says screw`,
		"bolt cover":             "",
		"":                       "",
		"SHCS 1/4-20 x 1/2":      "the name says 1/4-20, the shape says M4 (shank Ø4)",
		"Zylinderstift ISO 2338": `the name says "ISO 2338", the shape says screw`,
		"screw and washer M4x12": "", // says both
		"内六角圆柱头螺钉 M4×12 GB/T70.1": "",
	} {
		found, doubts := FindAll(context.Background(), ft.Alone(cap4(name)))
		if len(found) != 1 || len(doubts) != 0 {
			t.Errorf("%q: %d found, doubts %v", name, len(found), doubts)
			continue
		}
		f := found[0]
		if f.Kind != Screw || f.Size != "M4" || f.Length != 12 || f.Designation != "ISO 4762 M4×12" {
			t.Errorf("%q changed the shape's finding: %+v", name, f)
		}
		if !strings.Contains(f.Conflict, conflict) || (f.Conflict == "") != (conflict == "") {
			t.Errorf("%q: conflict %q, want %q", name, f.Conflict, conflict)
		}
	}
}

// Confidence rises with a name that agrees, more with a whole designation, and
// falls with a conflict.
func TestConfidenceByName(t *testing.T) {
	at := func(name string) float64 { return Find(context.Background(), ft.Alone(cap4(name)))[0].Confidence }
	if against, none, word, all := at("nut"), at(""), at("screw"), at("ISO 4762 M4x12"); !(against < none && none < word && word < all && all < 1) {
		t.Errorf("confidence %g against, %g without, %g by word, %g by designation", against, none, word, all)
	}
}

// A plain shank of 3 mm is too thin for M4, one of 3.3 is M4 drawn near its
// minor diameter if the name says so.
func TestSizeOfAShankByName(t *testing.T) {
	for _, c := range []struct {
		d                    float64
		name, size, conflict string
	}{
		{3, "screw M4", "M3", "the name says M4, the shape says M3 (shank Ø3)"},
		{3.5, "screw M4x10", "M4", ""},
		{3.5, "", "M4", ""}, // d2 of M4, and a socket for M4
		{3.3, "screw M4", "M4", ""},
		{4.4, "screw M4", "M5", "the name says M4, the shape says M5 (shank Ø4.4)"},
	} {
		p := ft.Screw(c.d, 10, ft.Barrel(8.8, 2.2), ft.HexPocket(3), 1.4) // a head of no table
		p.Name = c.name
		f := Find(context.Background(), ft.Alone(p))
		if len(f) != 1 || f[0].Size != c.size || f[0].Conflict != c.conflict {
			t.Errorf("Ø%g called %q: %+v, want %q, conflict %q", c.d, c.name, f, c.size, c.conflict)
		}
	}
}

// The designation of a screw whose drive is not modelled is filled in by the
// name, and that it is so is said.
func TestDesignationByName(t *testing.T) {
	p := ft.Screw(4, 12, ft.Barrel(8.8, 2.2), ft.HexPocket(3), 1.4)
	p.Name = "DIN 6912 - M4 x 12"
	f := Find(context.Background(), ft.Alone(p))
	if len(f) != 1 || f[0].Designation != "DIN 6912 M4×12" || f[0].Evidence[len(f[0].Evidence)-1] != "the designation is by the name" {
		t.Errorf("%+v", f)
	}
}

// A thing that is called a fastener and has no shape of one is in doubt, once a
// part; words that mean other things as well raise none, and where the shape is
// a fastener there is none either.
func TestDoubts(t *testing.T) {
	block := func(name string) product.Part {
		p := ft.Turn(name, ft.Circle(0, 0), ft.Polygon(0, 20, 4), ft.Polygon(30, 20, 4), ft.Circle(30, 0))
		return p
	}
	for name, text := range map[string]string{
		"Schraube M3": `the name says "schraube", the shape is none of a fastener that is known`,
		"ISO 4762 M3": `the name says "ISO 4762", the shape is none of a fastener that is known`,
		"pin 3":       "", "Scheibe": "", "bolt cover": "", "block": "",
	} {
		found, doubts := FindAll(context.Background(), pile{}.add(0, block(name)).again(50, 0).product())
		switch {
		case len(found) != 0 || (text == "") != (len(doubts) == 0):
			t.Errorf("%q: found %v, doubts %v", name, found, doubts)
		case text != "" && (len(doubts) != 1 || doubts[0].Text != text || len(doubts[0].Solids) != 2):
			t.Errorf("%q: %+v, want %q of two solids", name, doubts, text)
		}
	}
	ring := ft.Tube(9, 2, 3.4)
	ring.Name = "tornillo"
	if _, doubts := FindAll(context.Background(), ft.Alone(ring)); len(doubts) != 1 || !strings.Contains(doubts[0].Text, "could only be a washer") {
		t.Errorf("a ring called screw: %+v", doubts)
	}
}
