package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"stepscan/access"
	"stepscan/render/sheet"
)

const hostile = "<script>alert(1)</script>\"'&`\u202e\x1b[31m\x00 {{.}} &amp; ]]> -->"

// shown is how the page shows it: unfit characters are dots, NUL is what HTML
// makes of it.
const shown = "<script>alert(1)</script>\"'&`··[31m\ufffd {{.}} &amp; ]]> -->"

// specimen has one of everything, with a hostile name wherever a file has a say.
func specimen() *access.Report {
	limiter, n, box := "o1", 12, [6]access.Number{0, 0, 0, 10, 20, 30}
	d := "joints/f1.svg"
	r := &access.Report{
		Program: access.Program{Version: "test"},
		Source:  access.Source{File: hostile, Schemas: []string{hostile}, System: hostile, Preprocessor: hostile, Written: hostile, LengthUnit: hostile},
		Read:    access.Read{Skipped: []access.Skip{{ID: "#1", Line: 2, Entity: hostile, Why: hostile}}},
		Parts: []access.Part{
			{ID: "p1", Name: hostile, Solids: 1, Triangles: &n, BoxMM: &box, Material: hostile, MaterialFrom: "file", Color: "#102030"},
			{ID: "p2", Name: hostile, Solids: 1, Color: `red" onload="alert(1)`, VolumeMM3: access.Unknown()},
		},
		Occurrences: []access.Occurrence{{ID: "o1", Part: "p1", Name: hostile, Path: hostile}},
		Joints:      []access.Joint{{ID: "j1", Kind: "fastened", Text: hostile, Fasteners: []string{"f1"}}},
		Findings: []access.Finding{
			{Rule: "one working side", Level: "warn", Fasteners: []string{"f1"}, Text: hostile, Value: 3, Limit: 4, Unit: "mm", Source: hostile, Drawing: &d},
			{Rule: "few drives", Level: "fail", Text: hostile, Value: access.Unknown(), Limit: access.Unknown()},
		},
		Sides:   []access.Side{{Side: access.Vector{0, 0, 1}, Turn: 1}},
		Verdict: access.Verdict{Trust: "partial", TrustText: hostile},
	}
	for i, v := range []string{"clear", "blocked", "turn"} {
		f := access.Fastener{ID: "f" + strconv.Itoa(i+1), Occurrences: []string{"o1"}, Kind: "screw", Designation: hostile}
		f.Reach = access.Reach{Verdict: v, Tool: hostile, Limiter: &limiter, After: []string{"o1"}, FreeDeg: access.Unknown(), Side: access.Vector{1, 0, 0}}
		r.Fasteners = append(r.Fasteners, f)
	}
	return r
}

func written(t *testing.T, r *access.Report, d Drawings) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, r, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// element is one of the page, with its text.
type element struct {
	name string
	attr map[string]string
	text string
}

// parse reads the page as XML, which it is as well.
func parse(t *testing.T, page string) (out []element) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	var open []int
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		switch x := tok.(type) {
		case xml.StartElement:
			e := element{name: x.Name.Local, attr: map[string]string{}}
			for _, a := range x.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			open, out = append(open, len(out)), append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			for _, i := range open {
				out[i].text += string(x)
			}
		}
	}
}

// TestHostileNames: a name is text wherever it stands; nothing runs, loads or
// turns the direction of writing.
func TestHostileNames(t *testing.T) {
	page := written(t, specimen(), nil)
	seen := 0
	for _, e := range parse(t, page) {
		if slices.Contains([]string{"script", "iframe", "object", "embed", "link", "img", "base", "form"}, e.name) {
			t.Errorf("the page has a %s", e.name)
		}
		for k, v := range e.attr {
			if strings.HasPrefix(k, "on") || k == "style" || k == "src" {
				t.Errorf("%s has %s=%q", e.name, k, v)
			}
			if k == "href" && !strings.HasPrefix(v, "#") {
				t.Errorf("a link to %q", v)
			}
		}
		if e.name == "bdi" && e.text == shown {
			seen++
		}
		if e.name == "title" && e.text != shown+": how it comes apart" {
			t.Errorf("title %q", e.text)
		}
	}
	if seen < 15 {
		t.Errorf("the name stands whole in %d places, want 15 and more", seen)
	}
	if strings.Contains(page, "ZgotmplZ") {
		t.Error("a value stands where html/template cannot make it safe")
	}
}

// TestPolicy: what the page may do is what its own style needs.
func TestPolicy(t *testing.T) {
	page := written(t, specimen(), nil)
	_, css, _ := strings.Cut(page, "<style>")
	css, _, _ = strings.Cut(css, "</style>")
	sum := sha256.Sum256([]byte(css))
	want := fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; form-action 'none'", base64.StdEncoding.EncodeToString(sum[:]))
	for _, e := range parse(t, page) {
		if e.attr["http-equiv"] == "Content-Security-Policy" {
			if e.attr["content"] != want {
				t.Errorf("policy %q, want %q", e.attr["content"], want)
			}
			return
		}
	}
	t.Error("no policy")
}

// TestAccessible: language, headings in order, a caption and scopes for each
// table, links that lead somewhere, ids that stand once.
func TestAccessible(t *testing.T) {
	ids, links, level := map[string]bool{}, []string{}, 0
	captions, tables := 0, 0
	for _, e := range parse(t, written(t, specimen(), nil)) {
		if e.name == "html" && e.attr["lang"] != "en" {
			t.Error("the page has no language")
		}
		if id := e.attr["id"]; id != "" {
			if ids[id] {
				t.Errorf("id %q stands twice", id)
			}
			ids[id] = true
		}
		links = append(links, strings.Fields(e.attr["aria-labelledby"])...)
		if to, ok := strings.CutPrefix(e.attr["href"], "#"); ok {
			links = append(links, to)
		}
		switch e.name {
		case "h1", "h2", "h3":
			n := int(e.name[1] - '0')
			if n > level+1 {
				t.Errorf("heading %q jumps from level %d to %d", e.text, level, n)
			}
			level = n
		case "th":
			if e.attr["scope"] == "" {
				t.Errorf("heading cell %q has no scope", e.text)
			}
		case "table":
			tables++
		case "caption":
			captions++
		}
	}
	for _, l := range links {
		if !ids[l] {
			t.Errorf("a link to %q leads nowhere", l)
		}
	}
	if tables != 5 || captions != tables {
		t.Errorf("%d tables, %d captions, want five of each", tables, captions)
	}
}

// TestWorstFirst: the table of fasteners starts with what matters.
func TestWorstFirst(t *testing.T) {
	var order []string
	for _, e := range parse(t, written(t, specimen(), nil)) {
		if id := strings.TrimSpace(e.text); e.name == "th" && regexp.MustCompile(`^f\d$`).MatchString(id) {
			order = append(order, id)
		}
	}
	if !slices.Equal(order, []string{"f2", "f3", "f1"}) {
		t.Errorf("order %v, want blocked, turn, clear", order)
	}
}

// many is a report with n problem joints, told apart by their text, the last ten
// of which are alike.
func many(n int) *access.Report {
	r := specimen()
	r.Fasteners, r.Findings = nil, nil
	for i := range n {
		id := "f" + strconv.Itoa(i+1)
		d := "joints/" + id + ".svg"
		r.Fasteners = append(r.Fasteners, access.Fastener{ID: id, Kind: "screw", Reach: access.Reach{Verdict: "turn"}})
		r.Findings = append(r.Findings, access.Finding{Fasteners: []string{id}, Text: strconv.Itoa(min(i, n-10)), Drawing: &d})
	}
	return r
}

// TestSizeIsBounded: a page of very many joints shows some drawings, each group's
// first one before any other, and names the rest.
func TestSizeIsBounded(t *testing.T) {
	small := Wanted(many(20))
	if len(small) != 21 {
		t.Errorf("%d drawings of a small report, want all 20 and the overview", len(small))
	}
	r := many(maxDrawings + 5) // 56 groups, the last with ten
	want := Wanted(r)
	if len(want) != maxDrawings+1 || !want["joints/f56.svg"] || !want["joints/f60.svg"] || want["joints/f61.svg"] {
		t.Errorf("%d drawings: %v", len(want), want)
	}
	r = many(3000)
	page := written(t, r, Drawings{Overview: drawnSheet})
	if !strings.Contains(page, `<a href="joints/f1000.svg">`) || !strings.Contains(page, fmt.Sprintf("And %d more: fasteners.csv has all", 3000-maxRows)) {
		t.Error("what there is no room for is not named")
	}
	if len(page) > 3e6 {
		t.Errorf("%d bytes", len(page))
	}
}

// drawnSheet has the form of a sheet, with one element of many classes.
var drawnSheet = []byte(`<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" role="img" aria-labelledby="title desc">
<title id="title">T</title>
<desc id="desc">D</desc>
<style type="text/css">.a{fill:red}</style>
<g id="across"><path class="part" d="M0 0"/></g>
</svg>
`)

func TestDrawingsInline(t *testing.T) {
	r := specimen()
	page := written(t, r, Drawings{Overview: drawnSheet, "joints/f1.svg": drawnSheet})
	var ids []string
	for _, e := range parse(t, page) {
		if strings.HasSuffix(e.attr["id"], "-across") {
			ids = append(ids, e.attr["id"])
		}
	}
	if !slices.Equal(ids, []string{"overview-across", "f1-across"}) {
		t.Errorf("drawings %v", ids)
	}
	if strings.Contains(page, ".a{fill:red}") {
		t.Error("a drawing's own style reaches the page")
	}
	var b bytes.Buffer
	if err := Write(&b, r, Drawings{Overview: []byte("<svg/>")}); err == nil || b.Len() > 0 {
		t.Error("a foreign drawing is taken")
	}
}

// TestNothingFound: a page of a file without fasteners says so and is whole.
func TestNothingFound(t *testing.T) {
	r := specimen()
	r.Fasteners, r.Findings, r.Joints = nil, nil, nil
	page := written(t, r, nil)
	parse(t, page)
	if !strings.Contains(page, "No fasteners were recognised.") || strings.Contains(page, "<h2 id=\"h-fasteners\"") || strings.Contains(page, "h-sides") {
		t.Error("want the sentence, and no table of fasteners or sides")
	}
}

// TestClassesKeepApart: the page's style does not reach into a drawing by a class
// that both have.
func TestClassesKeepApart(t *testing.T) {
	class := regexp.MustCompile(`\.([a-zA-Z][a-zA-Z0-9_-]*)`)
	inSheet := map[string]bool{"picture": true, "title": true, "verdict": true, "legend": true, "problems": true, "mark": true, "areas": true, "lines": true, "product": true}
	for rule := range strings.SplitSeq(sheet.StyleWithin(""), "\n") {
		selectors, _, _ := strings.Cut(rule, "{")
		for _, m := range class.FindAllStringSubmatch(selectors, -1) {
			inSheet[m[1]] = true
		}
	}
	if len(inSheet) < 40 {
		t.Fatalf("only %d classes found in the sheets' style", len(inSheet))
	}
	for _, m := range class.FindAllStringSubmatch(style, -1) {
		if inSheet[m[1]] {
			t.Errorf("the class %q is the page's and the drawings'", m[1])
		}
	}
}

func TestSameBytes(t *testing.T) {
	d := Drawings{Overview: drawnSheet, "joints/f1.svg": drawnSheet}
	if a, b := written(t, specimen(), d), written(t, specimen(), d); a != b {
		t.Error("two runs differ")
	}
}

// The unit and the size of the whole stand above the answer.
func TestScaleStandsAboveTheAnswer(t *testing.T) {
	r := specimen()
	r.Source.LengthUnit, r.Source.LengthUnitAssumed = "mm", true
	r.Read.BoxMM = &[6]access.Number{0, 0, 0, 182, 120, 64}
	head, _, _ := strings.Cut(written(t, r, nil), `<div class="answer">`)
	if want := "lengths taken for mm, since the file does not say; 182.0 × 120.0 × 64.0 mm over all"; !strings.Contains(head, want) {
		t.Errorf("the head does not say %q:\n%s", want, head)
	}
}
