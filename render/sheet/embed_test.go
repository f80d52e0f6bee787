package sheet

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"strings"
	"testing"
)

// idsOf parses XML and lists the ids, and all that refers to one.
func idsOf(t *testing.T, doc []byte) (ids, refs []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(doc))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return ids, refs
		}
		if err != nil {
			t.Fatal(err)
		}
		s, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		for _, a := range s.Attr {
			switch a.Name.Local {
			case "id":
				ids = append(ids, a.Value)
			case "aria-labelledby":
				refs = append(refs, strings.Fields(a.Value)...)
			case "style":
				t.Errorf("style attribute %q, which a strict page refuses", a.Value)
			}
		}
	}
}

// TestFragments: sheets side by side in one page share no id, and hold all that
// they refer to, whatever stands in a name.
func TestFragments(t *testing.T) {
	p, fs, holds, res := bench()
	p.Occs[3].Name, p.Source.File = `a <style> id="title" </style>`, `<desc id="desc"> & "x`
	b := New(p, fs, holds, res, Meta{})
	var page bytes.Buffer
	page.WriteString("<div>")
	for prefix, svg := range map[string][]byte{"overview": b.Overview(), "f1": b.Joint(0), "f2": b.Joint(1)} {
		part, err := Fragment(svg, prefix)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(part, []byte("<style")) || bytes.Contains(part, []byte("<?xml")) {
			t.Errorf("%s keeps its own head", prefix)
		}
		if got, want := textOf(t, part), textOf(t, styleOf.ReplaceAll(svg, nil)); got != want {
			t.Errorf("%s: other text:\n%s\nwant\n%s", prefix, got, want)
		}
		page.Write(part)
	}
	page.WriteString("</div>")
	ids, refs := idsOf(t, page.Bytes())
	seen := map[string]bool{}
	for _, id := range ids {
		if seen[id] {
			t.Errorf("id %q stands twice", id)
		}
		seen[id] = true
	}
	for _, r := range refs {
		if !seen[r] {
			t.Errorf("nothing has the id %q", r)
		}
	}
	if len(ids) < 12 || len(refs) != 6 {
		t.Errorf("%d ids and %d references", len(ids), len(refs))
	}
	if _, err := Fragment([]byte("<svg/>"), "f1"); err == nil {
		t.Error("a foreign drawing is taken")
	}
}

// textOf is all text of a document, its blanks joined.
func textOf(t *testing.T, doc []byte) string {
	t.Helper()
	var b strings.Builder
	for d := xml.NewDecoder(bytes.NewReader(doc)); ; {
		tok, err := d.Token()
		if err == io.EOF {
			return strings.Join(strings.Fields(b.String()), " ")
		}
		if err != nil {
			t.Fatal(err)
		}
		if c, ok := tok.(xml.CharData); ok {
			b.Write(c)
		}
	}
}

// TestStyleWithin: every selector is kept inside, with its declarations.
func TestStyleWithin(t *testing.T) {
	got := StyleWithin(".in")
	for sel := range strings.SplitSeq(regexp.MustCompile(`\{[^}]*\}\n`).ReplaceAllString(got, ","), ",") {
		if sel != "" && !strings.HasPrefix(sel, ".in ") || strings.Contains(sel, "#") {
			t.Errorf("selector %q reaches outside", sel)
		}
	}
	if a, b := strings.Count(got, "{"), strings.Count(style, "{"); a != b {
		t.Errorf("%d rules of %d", a, b)
	}
	for _, want := range []string{
		".in path,.in line,.in circle", `.in [id$="-across"] .obstacle .contour{stroke-width:.35}`, ".in .v-blocked{fill:#D55E00}",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("lacks %q", want)
		}
	}
}
