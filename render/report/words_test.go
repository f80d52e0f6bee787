package report

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"stepscan/access"
)

func TestRecord(t *testing.T) {
	for _, c := range []struct {
		skip access.Skip
		want string
	}{
		{access.Skip{}, ""},
		{access.Skip{Line: 5}, "line 5: "},
		{access.Skip{ID: "#7", Entity: "ADVANCED_FACE", Line: 5}, "#7 ADVANCED_FACE (line 5): "},
		{access.Skip{ID: "#7", Entity: "(A B C)"}, "#7 (A …): "},
		{access.Skip{Entity: "zip"}, "zip: "},
	} {
		if got := Record(&c.skip); got != c.want {
			t.Errorf("%+v is named %q, want %q", c.skip, got, c.want)
		}
	}
}

// What names a thing by diameter with one unit for both measures.
func TestWhatWithoutDesignation(t *testing.T) {
	for _, c := range []struct {
		f    access.Fastener
		want string
	}{
		{access.Fastener{Kind: "pin", Size: "1.1 mm", LengthMM: 4}, "pin 1.1×4 mm"},
		{access.Fastener{Kind: "bolt", Size: "M10", LengthMM: 34}, "bolt M10×34"},
		{access.Fastener{Kind: "nut", Size: "M10", LengthMM: 8}, "nut M10"},
		{access.Fastener{Kind: "washer"}, "washer"},
		{access.Fastener{Kind: "nut", Head: "wing", Size: "M6", LengthMM: 17}, "wing nut M6"},
		{access.Fastener{Kind: "washer", Head: "bonded", Size: "M8", LengthMM: 2}, "bonded washer M8"},
	} {
		if got := What(&c.f); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A small thing has a size too.
func TestFigure(t *testing.T) {
	for v, want := range map[float64]string{0: "0.0", 0.02: "0.02", 0.25: "0.25", -0.004: "-0.004", 0.999: "1.0", 12.34: "12.3"} {
		if got := figure(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}

// The tree of a structure has no columns for what only a mesh can tell.
func TestTreeOfStructure(t *testing.T) {
	for faces, want := range map[int]string{0: "solids", 6: "volume mm³"} {
		r := &access.Report{
			Read:  access.Read{Solids: 1, Faces: faces},
			Parts: []access.Part{{ID: "p1", Name: "lid", Solids: 1, Faces: faces, VolumeMM3: access.Unknown(), MassG: access.Unknown()}},
		}
		occs := []*access.Occurrence{{ID: "o0", Part: "p1", Name: "lid"}}
		var out bytes.Buffer
		if err := TreeText(&out, r, slices.Values(occs), Style{}); err != nil {
			t.Fatal(err)
		}
		if s := out.String(); !strings.Contains(s, want) || strings.Contains(s, "nothing was meshed") != (faces == 0) {
			t.Errorf("%d faces: no %q in\n%s", faces, want, s)
		}
	}
}
