package report

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stepscan/access"
)

// read parses a table as RFC 4180 has it and returns its heading and rows.
func read(t *testing.T, text string) (head []string, rows []map[string]string) {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines[1:] {
		m := map[string]string{}
		for i, c := range l {
			m[lines[0][i]] = c
		}
		rows = append(rows, m)
	}
	return lines[0], rows
}

func TestFastenersCSV(t *testing.T) {
	r := sample()
	f := &r.Fasteners[0]
	f.Passes, f.Bites, f.Axis, f.LengthMM = []string{"o1"}, []string{"o2"}, access.Vector{0, 0, -1}, 12.5
	f.Washers, f.GripMM, f.EngagementMM, f.Captive = []string{"f3", "f4"}, 8.5, access.Unknown(), true
	f.Reach.FreeMM, f.Reach.NeededMM, f.Reach.Side = access.Unknown(), 3, access.Vector{0, 0, -1}
	var out bytes.Buffer
	if err := FastenersCSV(&out, r, CSV{}); err != nil {
		t.Fatal(err)
	}
	_, rows := read(t, out.String())
	for name, want := range map[string]string{
		"id": "f1", "occurrences": "o1", "washers": "f3; f4", "grip_mm": "8.5", "engagement_mm": "", "captive": "true", "path": "rig/lid", "designation": "ISO 4762 M4×12", "length_mm": "12.5", "axis_z": "-1",
		"hidden": "true", "side": "below (-z)", "free_mm": "", "needed_mm": "3", "limiter": "rig/x", "holds": "rig/lid; rig/x", "mate": "f2",
	} {
		if got, ok := rows[0][name]; got != want || !ok {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

func TestPartsCSV(t *testing.T) {
	var out bytes.Buffer
	if err := PartsCSV(&out, sample(), CSV{}); err != nil {
		t.Fatal(err)
	}
	_, rows := read(t, out.String())
	if len(rows) != 2 {
		t.Fatalf("%d rows, want one for each of two parts", len(rows))
	}
	for i, want := range []map[string]string{
		{"id": "p1", "occurrences": "1", "closed": "", "triangles": "", "volume_mm3": "", "box_z_mm": ""},
		{"id": "p2", "occurrences": "2", "closed": "true", "triangles": "12", "volume_mm3": "6000", "box_z_mm": "30"},
	} {
		for name, w := range want {
			if got := rows[i][name]; got != w {
				t.Errorf("row %d, %s: %q, want %q", i, name, got, w)
			}
		}
	}
}

// TestTableForm: two files make one table, marked files start with the mark, and
// lines end as RFC 4180 asks.
func TestTableForm(t *testing.T) {
	var out bytes.Buffer
	for i := range 2 {
		if err := FastenersCSV(&out, sample(), CSV{File: true, Headless: i > 0}); err != nil {
			t.Fatal(err)
		}
	}
	head, rows := read(t, out.String())
	if head[0] != "file" || len(rows) != 2 || rows[1]["file"] != "rig.step" || rows[1]["id"] != "f1" {
		t.Errorf("two files give %q and %q", head, rows)
	}
	if strings.Count(out.String(), "\n") != 3 || strings.Count(out.String(), "\r\n") != 3 {
		t.Errorf("want three lines that end in CR LF: %q", out.String())
	}
	out.Reset()
	if err := TreeCSV(&out, sample(), each(sample().Occurrences), CSV{Mark: true}); err != nil {
		t.Fatal(err)
	}
	text, marked := strings.CutPrefix(out.String(), "\xef\xbb\xbf")
	head, rows = read(t, text)
	if !marked || len(rows) != 3 || rows[2]["part_name"] != "lid" || rows[2]["name"] != "盖子·[31m" || !slices.Contains(head, "mass_g") {
		t.Errorf("marked %v, tree %q", marked, rows)
	}
}

// TestWord: no text is left that a spreadsheet would run, and each can be had
// back.
func TestWord(t *testing.T) {
	for in, want := range map[string]cell{
		"lid": "lid", "": "", "a=b": "a=b", "M4×12": "M4×12", "(-z)": "(-z)",
		"=1+1": "'=1+1", "+x": "'+x", "-z": "'-z", "@A1": "'@A1", " =1": "' =1", "\u200b=1": "'\u200b=1", "\u3000=1": "'\u3000=1",
		"＝1": "'＝1", "'s": "''s", "\t=1": "·=1", "\r=1": "·=1", "a\x00b\nc": "a·b·c", "\xff": "\ufffd",
	} {
		if got := word(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOfN(rapid.RuneFrom([]rune("=+-@' ab\u3000é螺")), 0, 6, -1).Draw(t, "name")
		got := string(word(s))
		if got != "" && strings.ContainsRune(formula, []rune(strings.TrimSpace(got))[:1:1][0]) {
			t.Fatalf("%q becomes %q, which would run", s, got)
		}
		if strings.TrimPrefix(got, "'") != s {
			t.Fatalf("%q becomes %q: one apostrophe less is not the same", s, got)
		}
	})
}

// TestBlanksOfNames: a wide or unbreakable blank belongs to the name.
func TestBlanksOfNames(t *testing.T) {
	if got := wrap("ねじ　取付 M4\u00a0x", 30); !slices.Equal(got, []string{"ねじ　取付 M4\u00a0x"}) {
		t.Errorf("wrapped to %q", got)
	}
}

func TestCommon(t *testing.T) {
	for _, c := range []struct {
		names []string
		want  string
		ok    bool
	}{
		{nil, "", true},
		{[]string{"M"}, "M", true},
		{[]string{"screw 1", "screw 2"}, "screw", true},
		{[]string{"螺钉一", "螺钉二"}, "螺钉", true}, // they part inside a letter's bytes
		{[]string{"bolt", "nut"}, "bolt", false},
	} {
		if got, ok := Common(c.names); got != c.want || ok != c.ok {
			t.Errorf("%q have %q in common (%v), want %q (%v)", c.names, got, ok, c.want, c.ok)
		}
	}
}
