package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stepscan/access"
)

// The counts as a person reads them; a set that holds several parts is praised.
func TestCountsInWords(t *testing.T) {
	r := sample()
	r.Counts = &access.Counts{
		Kinds: []access.Count{{What: "screw", N: 4}, {What: "nut", N: 1}, {What: "pin", N: 1}},
		Sizes: []access.Count{{What: "M4", N: 5}, {What: "3 mm", N: 1}}, Lengths: []access.Count{{What: "M4×12", N: 4}, {What: "3×20 mm", N: 1}},
		Drives: []access.Count{{What: "hex socket 3", N: 4}, {What: "outer hex 7", N: 1}}, Tools: 2,
		Sets: []access.Set{
			{Joint: "j1", Fasteners: []string{"f1"}, Layers: 2, Occurrences: []string{"o1", "o2"}},
			{Joint: "j2", Fasteners: []string{"f2", "f3"}, Layers: 3, Occurrences: []string{"o1", "o0", "o2"}},
		},
	}
	want := []Tallied{
		{"kinds", "4 screws, 1 nut, 1 pin"},
		{"sizes", "nuts included: 5 × M4, 1 × Ø3 mm"},
		{"lengths", "4 × M4×12, 1 × Ø3×20 mm"},
		{"drives", "2 to fit a tool to: 4 × hex socket 3, 1 × outer hex 7"},
		{"sets", "2 sets of fasteners, one for each joint: 1 through 2 parts, 1 through 3 parts"},
		{"good", `f2, f3 hold 3 parts at once: "lid", "rig", "盖子·[31m"`},
	}
	if d := cmp.Diff(want, Counted(r)); d != "" {
		t.Error(d)
	}
	var out bytes.Buffer
	if err := Text(&out, r, Style{}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "\nCounts\n  kinds    4 screws, 1 nut, 1 pin\n  sizes    nuts included: 5 × M4, 1 × Ø3 mm\n") {
		t.Error(out.String())
	}
}

// A product with very many sizes and sets still has a short summary.
func TestCountsAreBounded(t *testing.T) {
	r := sample()
	r.Counts = &access.Counts{}
	for i := range 1000 {
		r.Counts.Kinds = append(r.Counts.Kinds, access.Count{What: fmt.Sprint("kind ", i), N: 1})
		r.Counts.Sets = append(r.Counts.Sets, access.Set{Layers: 3})
	}
	list := Counted(r)
	if n := strings.Count(list[0].Text, ","); n != maxTally || !strings.HasSuffix(list[0].Text, "988 more") {
		t.Errorf("%d commas in %q", n, list[0].Text)
	}
	if len(list) != 3+maxSets {
		t.Errorf("%d lines", len(list))
	}
}
