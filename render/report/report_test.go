package report

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"stepscan/access"
)

// sample is a report with one of everything, the values invented.
func sample() *access.Report {
	mate, limiter, parent, drawing, n := "f2", "o2", "o0", "joints/f1.svg", 12
	v, b := access.Vector{0, 0, 1}, [6]access.Number{0, 0, 0, 10, 20, 30}
	return &access.Report{
		Format: access.Format, Program: access.Program{Version: "test"},
		Source: access.Source{File: "rig.step", Schemas: []string{"AP242"}},
		Read: access.Read{Solids: 2, SolidsMeshed: 2, Faces: 9, FacesMeshed: 8,
			Skipped: []access.Skip{{ID: "#12", Line: 34, Entity: "FACE", Why: "no bounds"}}},
		Parts: []access.Part{
			{ID: "p1", Name: "rig", VolumeMM3: access.Unknown()},
			{ID: "p2", Name: "lid", Solids: 1, Faces: 6, VolumeMM3: 6000, CentroidMM: &v, BoxMM: &b, Closed: true, Triangles: &n},
		},
		Occurrences: []access.Occurrence{
			{ID: "o0", Part: "p1", Name: "rig", Path: "rig"},
			{ID: "o1", Parent: &parent, Part: "p2", Name: "lid", Path: "rig/lid", Depth: 1},
			{ID: "o2", Parent: &parent, Part: "p2", Name: "盖子\x1b[31m", Path: "rig/x", Depth: 1},
		},
		Fasteners: []access.Fastener{{
			ID: "f1", Occurrences: []string{"o1"}, Kind: "screw", Size: "M4", Designation: "ISO 4762 M4×12",
			Drive: "hex socket", DriveSize: "3", Mate: &mate, Evidence: []string{}, Passes: []string{}, Bites: []string{},
			Reach: access.Reach{Verdict: "blocked", Hidden: true, Limiter: &limiter, After: []string{}, Tried: []access.Trial{{}}},
		}},
		Joints:    []access.Joint{{ID: "j1", Kind: "fastened"}},
		Plan:      &access.Plan{Steps: []access.Step{{N: 1}}, Stuck: []access.Stuck{{}}},
		Targets:   []access.Target{{Occurrence: "o1"}},
		Materials: []access.Material{{Material: "ABS"}},
		Findings:  []access.Finding{{Rule: "room for the tool", Level: "warn", Text: "no room", Value: math.MaxInt8, Drawing: &drawing}},
		Sides:     []access.Side{{Side: v, Clear: 0, Blocked: 1}},
		Verdict:   access.Verdict{Pass: true, Fasteners: 1, Blocked: 1, Hidden: 1, Trust: "partial", TrustText: "rests on 8 of 9 faces"},
	}
}

// TestContractKeys holds every key of the published contract against what is
// written. Source: contract.md, "report.json", in the shared folder.
func TestContractKeys(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	doc, err := os.ReadFile(filepath.Join(shared, "contract.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, block, ok := strings.Cut(string(doc), "## report.json")
	if !ok {
		t.Fatal("contract.md has no section on report.json")
	}
	block, _, _ = strings.Cut(block, "`stepscan tree --format json`")
	var out bytes.Buffer
	if err := JSON(&out, sample()); err != nil {
		t.Fatal(err)
	}
	keys := regexp.MustCompile(`"([a-z0-9_]+)": `).FindAllStringSubmatch(block, -1)
	if len(keys) < 80 {
		t.Fatalf("only %d keys found in the contract: has its form changed?", len(keys))
	}
	for _, k := range keys {
		if !strings.Contains(out.String(), `"`+k[1]+`": `) {
			t.Errorf("key %q of the contract is not written", k[1])
		}
	}
}

func TestJSONHasNoNumbersThatAreNone(t *testing.T) {
	r := sample()
	r.Parts[1].AreaMM2 = access.Number(math.NaN())
	r.Parts[1].MassG = access.Number(math.Inf(1))
	r.Parts[1].VolumeMM3 = access.Number(0.1 + 0.2)
	r.Parts[0].VolumeMM3 = access.Number(-math.MaxFloat64) // a millionth of it is no step, and rounding it no number
	r.Parts[1].CentroidMM = &access.Vector{access.Number(math.Copysign(0, -1)), 1e-9, 123456789.0000004}
	var out bytes.Buffer
	if err := JSON(&out, r); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Parts []struct {
			Area     *float64  `json:"area_mm2"`
			Mass     *float64  `json:"mass_g"`
			Volume   float64   `json:"volume_mm3"`
			Centroid []float64 `json:"centroid_mm"`
		}
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if v := got.Parts[0].Volume; v != -math.MaxFloat64 {
		t.Errorf("the greatest number is written as %v", v)
	}
	p := got.Parts[1]
	if p.Area != nil || p.Mass != nil {
		t.Errorf("NaN and infinity must be null, got %v and %v", p.Area, p.Mass)
	}
	if p.Volume != 0.3 {
		t.Errorf("0.1+0.2 must be written as 0.3, got %v", p.Volume)
	}
	if strings.Contains(out.String(), "-0,") {
		t.Error("minus zero is written")
	}
	if p.Centroid[1] != 0 || p.Centroid[2] != 123456789 {
		t.Errorf("centroid %v: want values rounded to a millionth", p.Centroid)
	}
}

// TestTextIsSafeAndAligned: a name may hold colour codes or wide characters.
func TestTextIsSafeAndAligned(t *testing.T) {
	r := sample()
	second := r.Fasteners[0]
	second.ID, second.Occurrences, second.Designation = "f2", []string{"o2"}, "ISO 4762 M5×12"
	r.Fasteners = append(r.Fasteners, second)
	var out bytes.Buffer
	if err := Text(&out, r, Style{}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "\x1b") {
		t.Error("a name's colour code reached the terminal")
	}
	var at []int
	for _, l := range strings.Split(out.String(), "\n") {
		if before, _, ok := strings.Cut(l, "ISO 4762"); ok {
			at = append(at, columns(before))
		}
	}
	if len(at) != 2 || at[0] != at[1] {
		t.Errorf("the third column starts at %v: want the same twice\n%s", at, out.String())
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		s    string
		n    int
		want []string
	}{
		{"", 5, []string{""}},
		{"one two three", 7, []string{"one two", "three"}},
		{"螺钉 螺钉", 8, []string{"螺钉", "螺钉"}}, // nine columns with the blank
		{"\x1b[1mone\x1b[0m two", 7, []string{"\x1b[1mone\x1b[0m two"}},
		{"unbreakable is long", 5, []string{"unbreakable", "is", "long"}},
	} {
		if got := wrap(c.s, c.n); !slices.Equal(got, c.want) {
			t.Errorf("wrap(%q, %d) = %q, want %q", c.s, c.n, got, c.want)
		}
	}
}

// TestManyProblems: a summary of very many different problems stays short, no
// line of prose is wide, and every fastener is still named.
func TestManyProblems(t *testing.T) {
	r := sample()
	r.Fasteners, r.Findings = nil, nil
	f, x := sample().Fasteners[0], sample().Findings[0]
	for i := range 100 {
		f.ID = "f" + strconv.Itoa(i+1)
		f.Reach.Verdict = []string{"turn", "blocked"}[i%2]
		x.Fasteners, x.Text = []string{f.ID}, strings.Repeat("a part called "+f.ID+" is in the way ", 6)
		r.Fasteners, r.Findings = append(r.Fasteners, f), append(r.Findings, x)
	}
	var out bytes.Buffer
	if err := Text(&out, r, Style{}); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(out.String(), "\n")
	if len(lines) > 120 {
		t.Errorf("%d lines, want at most 120", len(lines))
	}
	for _, l := range lines {
		if columns(l) > maxColumns {
			t.Errorf("%d columns: %s", columns(l), l)
		}
	}
	for _, want := range []string{"and 80 more", "turn  f1, f3, f5,", "f99", "f100"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is missing in:\n%s", want, out.String())
		}
	}
}

func TestClip(t *testing.T) {
	for _, c := range []struct {
		s    string
		n    int
		want string
	}{
		{"short", 5, "short"},
		{"longer", 5, "long…"},
		{"螺钉螺钉", 5, "螺钉…"}, // each takes two columns (UAX 11)
	} {
		if got := clip(c.s, c.n); got != c.want {
			t.Errorf("clip(%q, %d) = %q, want %q", c.s, c.n, got, c.want)
		}
	}
}

// TestAlikeTogether: what is to be said twice is said once, and what differs
// stays apart.
func TestAlikeTogether(t *testing.T) {
	r := sample()
	r.Findings[0].Fasteners = []string{"f1"}
	for i, text := range []string{"no room", "a lid is over it"} {
		f, x := r.Fasteners[0], r.Findings[0]
		f.ID = []string{"f2", "f3"}[i]
		x.Fasteners, x.Text = []string{f.ID}, text
		r.Fasteners, r.Findings = append(r.Fasteners, f), append(r.Findings, x)
	}
	var out bytes.Buffer
	if err := Text(&out, r, Style{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"  f1, f2  lid", "  f3  lid", "3×"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is missing in:\n%s", want, out.String())
		}
	}
}

// The unit and the size of the whole stand in the head, before the verdict and
// before the tree.
func TestScaleStandsAtTheHead(t *testing.T) {
	box := [6]access.Number{-1, 0, 2, 181, 120, 66}
	for _, c := range []struct {
		unit    string
		assumed bool
		box     *[6]access.Number
		want    string
	}{
		{"inch", false, &box, "lengths in inch; 182.0 × 120.0 × 64.0 mm over all"},
		{"mm", false, nil, "lengths in mm"},
		{"mm", true, &box, "lengths taken for mm, since the file does not say; 182.0 × 120.0 × 64.0 mm over all"},
		{"m\x1b", true, nil, "lengths in m·, some taken for mm, since the file does not say"},
		{"", false, nil, ""},
	} {
		r := sample()
		r.Source.LengthUnit, r.Source.LengthUnitAssumed, r.Read.BoxMM = c.unit, c.assumed, c.box
		if got := Scale(r); got != c.want {
			t.Errorf("%q %v: %q, want %q", c.unit, c.assumed, got, c.want)
		}
		var check, tree bytes.Buffer
		if err := Text(&check, r, Style{}); err != nil {
			t.Fatal(err)
		}
		if err := TreeText(&tree, r, func(func(*access.Occurrence) bool) {}, Style{}); err != nil {
			t.Fatal(err)
		}
		for _, out := range []string{check.String(), tree.String()} {
			head, _, _ := strings.Cut(out, "\n\n")
			if head = strings.Join(strings.Fields(head), " "); !strings.HasSuffix(head, c.want) {
				t.Errorf("head %q, want it to end with %q", head, c.want)
			}
		}
	}
}
