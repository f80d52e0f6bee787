package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"stepscan/access"
	"stepscan/fixtures"
)

// worldName is a name that a part of the demo gets, and how it must arrive:
// the reader leaves out control characters, nothing else.
type worldName struct {
	old, given, want string
	wide             int // columns on a terminal, by Unicode's annex 11
}

var worldNames = []worldName{
	{"type label", "铭牌（防水型）", "铭牌（防水型）", 14},
	{"wall bracket", "壁　取付け金具", "壁　取付け金具", 14},
	{"housing screw 5", "Gehäuseschraube ß", "Gehäuseschraube ß", 17},
	{"port cover", "capot d’œillet à vis", "capot d’œillet à vis", 20},
	{"cover", "крышка щитка Ё", "крышка щитка Ё", 14},
	{"hinge pin", "🔩 ось 👩\u200d🔧", "🔩 ось 👩\u200d🔧", 11},
	{"tray screw", "Gru\u0308n e\u0301crou", "Gru\u0308n e\u0301crou", 10},
	{"base", "בסיס\u200f", "בסיס\u200f", 4}, // with the mark that keeps what follows in its place
	{"board", `<b>"R&D" 'x'`, `<b>"R&D" 'x'`, 12},
	{"gasket", "<script>alert(1)</script>", "<script>alert(1)</script>", 25},
	{"display window", "=1+1", "=1+1", 4},
	{"sensor cap", "@SUM(A1)", "@SUM(A1)", 8},
	{"cell tray", "-2+3", "-2+3", 4},
	{"cable gland", "a\x1b[31mb\a", "a[31mb", 6},
	{"radio module", "ﾈｼﾞ｡", "ﾈｼﾞ｡", 4},
	{"controller", "'quoted", "'quoted", 7},
	{"humidity sensor", "\u1102\u1161\u1109\u1161", "\u1102\u1161\u1109\u1161", 4},
	{"terminal block", `C:\a\b`, `C:\a\b`, 6},
}

var stepQuotes = strings.NewReplacer("'", "''", `\`, `\\`)

// asBytes writes a STEP string with its characters as UTF-8 (edition 3, and
// field practice before).
func asBytes(s string) string { return stepQuotes.Replace(s) }

// asCode writes what is not printable ASCII as \X2\ (ISO 10303-21:2016, 6.4.3.4).
func asCode(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r >= ' ' && r < 0x7f {
			b.WriteString(stepQuotes.Replace(string(r)))
			continue
		}
		b.WriteString(`\X2\`)
		for _, u := range utf16.Encode([]rune{r}) {
			fmt.Fprintf(&b, "%04X", u)
		}
		b.WriteString(`\X0\`)
	}
	return b.String()
}

// TestNamesOfTheWorld: names in any script, and names made to do harm, stand in
// every output as they are in the file, once a real parser has read it.
func TestNamesOfTheWorld(t *testing.T) {
	for form, encode := range map[string]func(string) string{"bytes": asBytes, "code": asCode} {
		t.Run(form, func(t *testing.T) {
			text := string(fixtures.LoggerA())
			for _, n := range worldNames {
				if !strings.Contains(text, "'"+n.old+"'") {
					t.Fatalf("the demo has no %q", n.old)
				}
				text = strings.ReplaceAll(text, "'"+n.old+"'", "'"+encode(n.given)+"'")
			}
			file, out := write(t, "测试 Prüfling.step", []byte(text)), filepath.Join(t.TempDir(), "out")
			summary := mustRun(t, "check", "--drawings", "all", "--out", out, file)

			var r access.Report
			if err := json.Unmarshal([]byte(contents(t, out, "report.json")), &r); err != nil {
				t.Fatal(err)
			}
			names := partNames(&r)
			for _, n := range worldNames {
				if !slices.Contains(names, n.want) {
					t.Errorf("report.json lacks %q", n.want)
				}
			}
			checkSummary(t, summary)
			checkTables(t, out, file)
			checkDrawings(t, out)
			checkPage(t, contents(t, out, "report.html"))
			checkTree(t, file)
		})
	}
}

func mustRun(t *testing.T, args ...string) string {
	t.Helper()
	code, out, errs := runTool(args...)
	if code != exitOK || errs != "" {
		t.Fatalf("%v: exit code %d, %s", args, code, errs)
	}
	return out
}

func contents(t *testing.T, dir, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func partNames(r *access.Report) []string {
	var names []string
	for i := range r.Parts {
		names = append(names, r.Parts[i].Name)
	}
	for i := range r.Occurrences {
		names = append(names, r.Occurrences[i].Name)
	}
	return names
}

// oneLine undoes the wrapping of lines.
func oneLine(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' }), " ")
}

// told are the names that the summary and the drawings tell of: of the
// fasteners with problems and of what is in the way.
var told = []string{"type label", "wall bracket", "housing screw 5", "cover", "hinge pin", "tray screw", "base", "board", "terminal block"}

func toldNames() []string {
	var names []string
	for _, n := range worldNames {
		if slices.Contains(told, n.old) {
			names = append(names, n.want)
		}
	}
	return names
}

func checkSummary(t *testing.T, summary string) {
	t.Helper()
	if strings.ContainsAny(summary, "\x1b\a") {
		t.Error("the summary has control characters")
	}
	for _, want := range append(toldNames(), "测试 Prüfling.step") {
		if !strings.Contains(oneLine(summary), want) {
			t.Errorf("the summary lacks %q", want)
		}
	}
}

// table reads a CSV with the one rule for texts that a spreadsheet would take
// for formulas: a leading apostrophe is not theirs.
func table(t *testing.T, text string) []map[string]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\ufeff"))).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, c := range row {
			if numeric := strings.HasSuffix(rows[0][i], "_mm") || strings.HasPrefix(rows[0][i], "axis"); !numeric && c != "" && strings.ContainsAny(c[:1], "=+-@\t\r") {
				t.Errorf("%s: a spreadsheet would run %q", rows[0][i], c)
			}
			m[rows[0][i]] = strings.TrimPrefix(c, "'")
		}
		out = append(out, m)
	}
	return out
}

func column(rows []map[string]string, name string) (out []string) {
	for _, r := range rows {
		out = append(out, r[name])
	}
	return out
}

func checkTables(t *testing.T, out, file string) {
	t.Helper()
	tree := table(t, mustRun(t, "tree", "--structure", "--format", "csv", file))
	parts := table(t, contents(t, out, "parts.csv"))
	names := append(column(tree, "name"), column(parts, "name")...)
	fasteners := table(t, contents(t, out, "fasteners.csv"))
	for _, n := range worldNames {
		if !slices.Contains(names, n.want) {
			t.Errorf("the tables lack %q", n.want)
		}
	}
	for _, id := range []string{"housing screw 5", "tray screw"} {
		i := slices.IndexFunc(worldNames, func(n worldName) bool { return n.old == id })
		if !slices.ContainsFunc(column(fasteners, "path"), func(p string) bool { return strings.HasSuffix(p, "/"+worldNames[i].want) }) {
			t.Errorf("fasteners.csv lacks %q", worldNames[i].want)
		}
	}
}

// texts parses XML and gathers the text of each element of a kind.
func texts(t *testing.T, doc, kind string) []string {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(doc))
	var out []string
	var text bytes.Buffer
	for depth := 0; ; {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		switch x := tok.(type) {
		case xml.StartElement:
			if x.Name.Local == "script" {
				t.Error("a name became a script")
			}
			if x.Name.Local == kind {
				depth++
				text.Reset()
			}
		case xml.CharData:
			if depth > 0 {
				text.Write(x)
			}
		case xml.EndElement:
			if x.Name.Local == kind {
				depth--
				out = append(out, text.String())
			}
		}
	}
}

func checkDrawings(t *testing.T, out string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(out, "joints", "*.svg"))
	if err != nil || len(files) == 0 {
		t.Fatal("no drawings", err)
	}
	var all []string
	for _, f := range files {
		all = append(all, texts(t, contents(t, out, "joints/"+filepath.Base(f)), "text")...)
	}
	for _, want := range toldNames() {
		if !slices.ContainsFunc(all, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("the drawings lack %q", want)
		}
	}
	overview := contents(t, out, "overview.svg")
	lines := append(texts(t, overview, "text"), texts(t, overview, "desc")...)
	for _, want := range []string{"测试 Prüfling.step", "铭牌（防水型）", "壁　取付け金具", "крышка щитка Ё", "בסיס"} {
		if !slices.ContainsFunc(lines, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("the overview lacks %q", want)
		}
	}
}

func checkPage(t *testing.T, page string) {
	t.Helper()
	names := texts(t, page, "bdi")
	for _, n := range worldNames {
		if n.old != "controller" && !slices.Contains(names, n.want) {
			t.Errorf("report.html lacks %q", n.want)
		}
	}
	if title := texts(t, page, "title"); !strings.HasPrefix(title[0], "测试 Prüfling.step") {
		t.Errorf("the page's title is %q", title[0])
	}
}

// checkTree: whatever is wide, narrow or combining, the columns stand under each
// other.
func checkTree(t *testing.T, file string) {
	t.Helper()
	text := mustRun(t, "tree", "--structure", file)
	var r access.Report
	if err := json.Unmarshal([]byte(mustRun(t, "tree", "--structure", "--format", "json", file)), &r); err != nil {
		t.Fatal(err)
	}
	start := strings.Index(text, "occurrence")
	lines := strings.Split(text[start:], "\n")
	at := strings.Index(lines[0], " id ") + 1
	for i := range r.Occurrences {
		o := &r.Occurrences[i]
		wide := len(o.Name)
		if k := slices.IndexFunc(worldNames, func(n worldName) bool { return n.want == o.Name }); k >= 0 {
			wide = worldNames[k].wide
		}
		blanks := strings.Repeat(" ", max(0, at-2*o.Depth-wide))
		if want := strings.Repeat("  ", o.Depth) + o.Name + blanks + o.ID + " "; !strings.HasPrefix(lines[i+1], want) {
			t.Errorf("line %q, want it to start with %q", lines[i+1], want)
		}
	}
}
