package step

import (
	"bytes"
	"os"
	"regexp"
	"strconv"
	"testing"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// The lines of bodies and faces are those on which a plain search finds their
// records.
func TestLines(t *testing.T) {
	const file = "../fixtures/logger-b.step"
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	start := regexp.MustCompile(`^#(\d+)\s*=\s*([A-Z_0-9]+)`)
	type place struct {
		entity string
		line   int
	}
	want := map[brep.Tag]place{}
	for i, l := range bytes.Split(src, []byte("\n")) {
		if m := start.FindSubmatch(l); m != nil {
			n, _ := strconv.ParseUint(string(m[1]), 10, 64)
			want[brep.Tag(p21.ID(n))] = place{string(m[2]), i + 1}
		}
	}
	asm, err := ReadFile(t.Context(), file, Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	check := func(p *Part, tag brep.Tag) {
		n++
		if e, l := p.Lines.Of(tag); (place{e, l}) != want[tag] || l == 0 {
			t.Errorf("#%d: %s on line %d, want %v", tag, e, l, want[tag])
		}
	}
	for i := range asm.Parts {
		p := &asm.Parts[i]
		for _, b := range p.Bodies {
			check(p, b.Tag)
			for k := range b.Faces {
				check(p, b.Faces[k].Tag)
			}
		}
	}
	if n < 500 {
		t.Errorf("only %d records were looked at", n)
	}
	if e, l := Lines(nil).Of(7); e != "" || l != 0 {
		t.Errorf("no lines say %q, %d", e, l)
	}
}
