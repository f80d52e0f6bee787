package step

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding/japanese"
	"pgregory.net/rapid"

	"stepscan/step/p21"
)

// records splits a made text into what is in front of its records, these, and
// what is behind.
func records(text []byte) (head string, lines []string, tail string) {
	s := string(text)
	from, to := strings.Index(s, "DATA;\n")+len("DATA;\n"), strings.LastIndex(s, "ENDSEC;")
	return s[:from], strings.SplitAfter(s[from:to], "\n"), s[to:]
}

// firstOf is the first record of an entity, by its place among the lines.
func firstOf(t *testing.T, lines []string, entity string) int {
	t.Helper()
	for i, l := range lines {
		if strings.Contains(l, "="+entity+"(") {
			return i
		}
	}
	t.Fatalf("no %s", entity)
	return 0
}

// One damaged record costs itself, and the face that needs it; it is told with
// its number, line and column.
func TestFieldDamagedRecord(t *testing.T) {
	head, lines, tail := records(oneBox())
	rows := []struct {
		point, entity string
		damage        func(line string) string
		faces         int // lost
		why           string
	}{
		{"missing ;", "PLANE", func(l string) string { return strings.Replace(l, ";", "", 1) }, 0, "; is missing at the end of the record"},
		{"missing comma", "PLANE", func(l string) string { return strings.Replace(l, "'',", "'' ", 1) }, 1, "expected a reference"},
		{"extra parenthesis", "PLANE", func(l string) string { return strings.Replace(l, ");", "));", 1) }, 1, "expected parentheses that match"},
		{"missing parenthesis", "CARTESIAN_POINT", func(l string) string { return strings.Replace(l, "));", ");", 1) }, 3, "expected parentheses that match"},
		{"decimal commas in a point", "CARTESIAN_POINT", func(l string) string { return strings.ReplaceAll(l, ".", ",0") }, 3, "expected up to three numbers"},
		{"underscore in a number", "CARTESIAN_POINT", func(l string) string { return strings.Replace(l, "0.", "1_000.", 1) }, 3, "expected up to three numbers"},
		{"no number", "CARTESIAN_POINT", func(l string) string { return strings.Replace(l, "0.", "NaN", 1) }, 3, "expected up to three numbers"},
		{"number beyond all", "CARTESIAN_POINT", func(l string) string { return strings.Replace(l, "0.", "1E999999", 1) }, 3, "expected up to three numbers"},
		{"number of the instance with letters", "PLANE", func(l string) string { return strings.Replace(l, "=", "f4=", 1) }, 1, "expected = behind the instance number"},
		{"sign in the number of the instance", "PLANE", func(l string) string { return strings.Replace(l, "#", "#+", 1) }, 1, "expected an instance number"},
		{"keyword in two", "PLANE", func(l string) string { return strings.Replace(l, "PLANE", "PLA NE", 1) }, 1, "expected an entity name"},
		{"no keyword", "PLANE", func(l string) string { return strings.Replace(l, "PLANE", "", 1) }, 1, "complex instance"},
		{"string without end", "PLANE", func(l string) string { return strings.Replace(l, "''", "'", 1) }, 1, "string without end"},
		{"comment without end", "PLANE", func(l string) string { return strings.Replace(l, "(", "(/*", 1) }, 1, "comment without end"},
		{"no parameters", "PLANE", func(l string) string { return l[:strings.Index(l, "(")] + "();\n" }, 1, "only 0 parameters"},
		{"too many parameters", "PLANE", func(l string) string { return strings.Replace(l, ");", ",.T.);", 1) }, 0, "PLANE with 3 parameters, which has 2"},
		{"record dropped", "PLANE", func(l string) string { return "\n" }, 1, "which is not in the file"},
		{"record of another kind", "PLANE", func(l string) string { return strings.Replace(l, "PLANE", "PRODUCT", 1) }, 1, "PRODUCT"},
		{"user-defined record", "PLANE", func(l string) string { return strings.Replace(l, "PLANE", "!MY_PLANE", 1) }, 1, "!MY_PLANE"},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			i := firstOf(t, lines, r.entity)
			bad := append([]string(nil), lines...)
			bad[i] = r.damage(lines[i])
			if bad[i] == lines[i] {
				t.Fatalf("%s is not damaged", lines[i])
			}
			a, err := Read(t.Context(), "it.stp", []byte(head+strings.Join(bad, "")+tail), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := len(a.Parts[0].Bodies[0].Faces); got != 6-r.faces {
				t.Errorf("%d faces, want %d", got, 6-r.faces)
			}
			for _, s := range a.Skips {
				if strings.Contains(s.Why, r.why) && s.Pos.Line > 0 && s.Pos.Col > 0 && (s.Tag > 0 || strings.Contains(s.Why, "instance number")) {
					return
				}
			}
			t.Errorf("skips %+v, want one with number and place about %q", a.Skips, r.why)
		})
	}
}

// Bytes struck at random in the records of one body leave the bodies in front of
// it and behind it as they were.
func TestFieldDamageStaysWhereItIs(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	first := m.n
	before := m.box(1, 2, 3)
	from := m.n
	middle := m.box(4, 5, 6)
	to := m.n
	behind := m.box(7, 8, 9)
	m.shape(m.product("a"), ctx, before)
	m.shape(m.product("b"), ctx, middle)
	m.shape(m.product("c"), ctx, behind)
	head, lines, tail := records(m.text())
	if first == 0 || !strings.HasPrefix(lines[from-1], before+"=") {
		t.Fatalf("line %d is %s", from, lines[from-1])
	}
	rapid.Check(t, func(t *rapid.T) {
		bad := append([]string(nil), lines...)
		for range rapid.IntRange(1, 4).Draw(t, "strikes") {
			// Two records at the end of the body are spared: a lost quote may
			// cost the record behind it.
			i := rapid.IntRange(from, to-4).Draw(t, "record")
			k := strings.IndexByte(bad[i], '=')
			if k < 0 || len(bad[i]) < k+3 {
				continue
			}
			k = rapid.IntRange(k+1, len(bad[i])-2).Draw(t, "byte")
			c := rapid.SampledFrom([]byte("'();,#$*/.=x0\x00\xFF \"!-+E")).Draw(t, "by")
			bad[i] = bad[i][:k] + string([]byte{c}) + bad[i][k+1:]
		}
		a, err := Read(t.Context(), "it.stp", []byte(head+strings.Join(bad, "")+tail), Options{Jobs: 1})
		if err != nil {
			t.Fatal(err)
		}
		sound := 0
		for _, p := range a.Parts {
			if p.Name == "a" || p.Name == "c" {
				want := map[string]float64{"a": 6, "c": 504}[p.Name]
				if len(p.Bodies) == 1 && len(p.Bodies[0].Faces) == 6 && flatVolume(p.Bodies[0]) == want {
					sound++
				}
			}
		}
		if sound != 2 {
			t.Fatalf("%d of the two other bodies are sound\n%s", sound, strings.Join(bad[from:to], ""))
		}
	})
}

// The order of the records means nothing.
func TestFieldAnyOrder(t *testing.T) {
	p := newPair(unitM, unitMM)
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	head, lines, tail := records(p.m.text())
	read := func() *Assembly {
		a, err := Read(t.Context(), "it.stp", []byte(head+strings.Join(lines, "")+tail), Options{})
		if err != nil {
			t.Fatal(err)
		}
		noSkips(t, a)
		return a
	}
	want := outline(read())
	rng := rand.New(rand.NewPCG(1, 2))
	for range 5 {
		rng.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		wantOutline(t, read(), want)
	}
}

// Records that are there twice: the same text says nothing new, another text is
// told with both places, and the first counts.
func TestFieldDuplicates(t *testing.T) {
	head, lines, tail := records(oneBox())
	want := outline(mustRead(t, head+strings.Join(lines, "")+tail))
	again := mustRead(t, head+strings.Join(lines, "")+strings.Join(lines, "")+tail)
	wantOutline(t, again, want)
	noSkips(t, again)

	i := firstOf(t, lines, "CARTESIAN_POINT")
	other := strings.Replace(lines[i], "(0.,", "(77.,", 1)
	a := mustRead(t, head+strings.Join(lines, "")+other+tail)
	wantOutline(t, a, want)
	ahead := strings.Count(head, "\n")
	wantSkip(t, a, fmt.Sprintf("number used twice with different content; the first (line %d, column 1) is kept", ahead+i+1))
	if s := a.Skips[0]; s.Pos.Line != ahead+len(lines) || s.Tag == 0 {
		t.Errorf("told at %v of #%d, want line %d", s.Pos, s.Tag, ahead+len(lines))
	}
}

func mustRead(t *testing.T, text string) *Assembly {
	t.Helper()
	a, err := Read(t.Context(), "it.stp", []byte(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A reference to what is not there counts as unset, and is told once, with the
// first place that has it, however many there are.
func TestFieldDanglingReferences(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	asm, part := m.product("asm"), m.product("part")
	origin := m.at(0, 0, 0)
	o := m.point(5, 0, 0)
	axis := m.add("AXIS2_PLACEMENT_3D('',%s,#7777,$)", o)
	two := m.add("AXIS2_PLACEMENT_3D('',%s,#7777,#8888)", o)
	ar, pr := m.shape(asm, ctx, axis, two), m.shape(part, ctx, origin, m.box(1, 2, 3))
	m.tie(m.use("one", asm, part), pr, ar, origin, axis)
	m.tie(m.use("two", asm, part), pr, ar, origin, two)
	a := m.read(t)
	wantOutline(t, a, "asm\n one of part [5 0 0] [6 2 3]\n two of part [5 0 0] [6 2 3]\n")
	told := map[string]Skip{}
	for _, s := range a.Skips {
		if strings.Contains(s.Why, "which is not in the file") {
			if _, twice := told[s.Why]; twice {
				t.Errorf("told twice: %s", s.Why)
			}
			told[s.Why] = s
		}
	}
	for id, from := range map[string]string{"#7777": axis, "#8888": two} {
		s, ok := told["refers to "+id+", which is not in the file: taken for unset"]
		if !ok || fmt.Sprintf("#%d", s.Tag) != from || s.Entity != "AXIS2_PLACEMENT_3D" || s.Pos.Line == 0 || s.Pos.Col < 20 {
			t.Errorf("%s is told as %+v, want it at its place in %s; all: %+v", id, s, from, a.Skips)
		}
	}
}

// What stands behind a reference is looked at before it is used.
func TestFieldWrongTypeBehindReference(t *testing.T) {
	head, lines, tail := records(oneBox())
	id := func(entity string) string { return strings.Split(lines[firstOf(t, lines, entity)], "=")[0] }
	rows := []struct {
		point, entity string
		param         int
		to            string
		faces         int
		why           string
	}{
		{"point for direction", "AXIS2_PLACEMENT_3D", 2, id("CARTESIAN_POINT"), 6, "CARTESIAN_POINT where DIRECTION is wanted"},
		{"direction for point", "VERTEX_POINT", 1, id("DIRECTION"), 3, "DIRECTION where CARTESIAN_POINT is wanted"},
		{"vertex for edge", "ORIENTED_EDGE", 3, id("VERTEX_POINT"), 5, "VERTEX_POINT where"},
		{"plane for curve", "EDGE_CURVE", 3, id("PLANE"), 4, "PLANE is not supported"},
		{"line for surface", "ADVANCED_FACE", 2, id("LINE"), 5, "LINE is not supported"},
		{"face for loop", "FACE_OUTER_BOUND", 1, id("ADVANCED_FACE"), 5, "ADVANCED_FACE"},
		{"product for placement", "PLANE", 1, id("PRODUCT"), 5, "PRODUCT where AXIS2_PLACEMENT_3D is wanted"},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			bad := append([]string(nil), lines...)
			i := firstOf(t, lines, r.entity)
			bad[i] = withParam(bad[i], r.param, r.to)
			a := mustRead(t, head+strings.Join(bad, "")+tail)
			faces := len(a.Parts[0].Bodies[0].Faces)
			if faces != r.faces {
				t.Errorf("%d faces, want %d", faces, r.faces)
			}
			for _, s := range a.Skips {
				if strings.Contains(s.Why, r.why) && s.Tag > 0 && s.Pos.Line > 0 {
					return
				}
			}
			t.Errorf("skips %+v, want one with number and place about %q", a.Skips, r.why)
		})
	}
}

// withParam replaces a parameter of a record that has none with commas before.
func withParam(line string, i int, to string) string {
	open, end := strings.Index(line, "("), strings.LastIndex(line, ")")
	params := strings.Split(line[open+1:end], ",")
	params[i] = to
	return line[:open+1] + strings.Join(params, ",") + line[end:]
}

// Twenty thousand levels of assembly, of mapped items and of parentheses end
// where the limits are, without a deep stack.
func TestFieldDepth(t *testing.T) {
	const levels = 20_000
	var m maker
	ctx := m.context(unitMM)
	at := m.at(0, 0, 0)
	above := m.product("top")
	rep := m.shape(above, ctx, at)
	for range levels {
		below := m.product("next")
		next := m.shape(below, ctx, at)
		m.tie(m.use("u", above, below), next, rep, at, at)
		above, rep = below, next
	}
	m.shape(above, ctx, m.box(1, 1, 1))
	a := m.read(t)
	if n := len(a.Occurrences); n != maxDepth+1 || len(a.Skips) != 1 {
		t.Fatalf("%d occurrences and %d skips, want %d and 1", n, len(a.Skips), maxDepth+1)
	}
	wantSkip(t, a, "deeper than")

	m = maker{}
	ctx = m.context(unitMM)
	at = m.at(0, 0, 0)
	item := m.box(1, 1, 1)
	for range levels {
		rep := m.add("SHAPE_REPRESENTATION('',(%s),%s)", item, ctx)
		item = m.add("MAPPED_ITEM('',%s,%s)", m.add("REPRESENTATION_MAP(%s,%s)", at, rep), at)
	}
	m.shape(m.product("p"), ctx, item)
	wantSkip(t, m.read(t), errDeep.Error())

	m = maker{}
	m.add("CARTESIAN_POINT('',%s0.%s)", strings.Repeat("(", 100_000), strings.Repeat(")", 100_000))
	m.shape(m.product("p"), m.context(unitMM), m.box(1, 1, 1))
	if a := m.read(t); a.SolidCount() != 1 {
		t.Error("the body beside the parentheses is lost")
	}
}

// A string longer than the old limit of 32,769 is read; for display it is cut.
func TestFieldLongName(t *testing.T) {
	var m maker
	m.shape(m.product(strings.Repeat("é", 100_000)), m.context(unitMM), m.box(1, 1, 1))
	a := m.read(t)
	if n := len(a.Parts[0].Name); n > maxName+len("…") || !strings.HasSuffix(a.Parts[0].Name, "é…") {
		t.Errorf("name of %d bytes, want it cut at a character near %d", n, maxName)
	}
	noSkips(t, a)
}

// Lists and record counts of a hostile file end in a limit, not in memory.
func TestFieldLimits(t *testing.T) {
	var m maker
	poles := strings.Repeat("#1,", 1_000_000) + "#1"
	m.add("CARTESIAN_POINT('',(0.,0.,0.))")
	m.add("B_SPLINE_CURVE_WITH_KNOTS('',3,(%s),.U.,.F.,.F.,(4,4),(0.,1.),.U.)", poles)
	m.shape(m.product("p"), m.context(unitMM), m.box(1, 1, 1))
	if a := m.read(t); a.SolidCount() != 1 {
		t.Error("the body beside a long list is lost")
	}
	_, err := Read(t.Context(), "it.stp", m.text(), Options{MaxMemory: 1000})
	var limit *LimitError
	if !errors.As(err, &limit) || !strings.Contains(err.Error(), "it.stp: the index of some") || !strings.Contains(err.Error(), "the limit is 1000") {
		t.Errorf("error %v, want a LimitError about the index", err)
	}
}

// Names in an encoding of old systems: the guess is told, and a named encoding
// takes its place.
func TestFieldEncoding(t *testing.T) {
	raw, err := japanese.ShiftJIS.NewEncoder().String("表示") // 表 ends in a backslash
	if err != nil {
		t.Fatal(err)
	}
	var m maker
	m.shape(m.product(raw), m.context(unitMM), m.box(1, 1, 1))
	enc, err := p21.EncodingNamed("shift_jis")
	if err != nil {
		t.Fatal(err)
	}
	a, err := Read(t.Context(), "it.stp", m.text(), Options{Encoding: enc})
	if err != nil || a.Parts[0].Name != "表示" {
		t.Errorf("named: %q, %v", a.Parts[0].Name, err)
	}
	noSkips(t, a)
	wantSkip(t, m.read(t), "which is a guess; if names look wrong, --encoding says how they are written")
}

// The numbers of parameters are those of real files.
func TestArityOfRealRecords(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range realFiles(t) {
		src, err := os.ReadFile(filepath.Join(shared(t), "data", name))
		if err != nil {
			t.Fatal(err)
		}
		f, err := p21.Scan(src, p21.Options{Arity: arityOf})
		if err != nil {
			t.Logf("%s: %v", name, err)
			continue
		}
		for rec := range f.All() {
			if arityOf(rec.Name()) > 0 {
				_ = rec.Params()
				seen[rec.Name()] = true
			}
		}
		for _, w := range f.Remarks() {
			if strings.Contains(w.Text, "parameters, which has") {
				t.Errorf("%s: %v", name, w)
			}
		}
	}
	if len(seen) < len(arities)*2/3 {
		t.Errorf("only %d of %d entities occur", len(seen), len(arities))
	}
	for e := range arities {
		if !seen[e] {
			t.Logf("%s does not occur", e)
		}
	}
}

// What is odd about a value is told once a file, and takes nothing from the
// trust in it.
func TestFieldRemarks(t *testing.T) {
	box := string(oneBox())
	rows := []struct{ point, old, new, why string }{
		{"integers for reals", "(0.,0.,0.)", "(0,0,0)", "a number without a decimal point"},
		{"exponent with D", "(0.,", "(0.D0,", "exponent of a number is written with D"},
		{"long truth values", ".T.", ".TRUE.", "truth value is not written"},
		{"bare truth values", ".T.", "T", "truth value is not written"},
	}
	want := outline(mustRead(t, box))
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			a := mustRead(t, strings.ReplaceAll(box, r.old, r.new))
			wantOutline(t, a, want)
			if d := cmp.Diff(1, len(a.Skips)); d != "" {
				t.Fatalf("skips %+v, want one", a.Skips)
			}
			if s := a.Skips[0]; !strings.Contains(s.Why, r.why) || !s.Aside || s.Pos.Line == 0 || s.Pos.Col == 0 || s.Tag == 0 || s.Entity == "" {
				t.Errorf("told as %+v, want it with its place, about %q", s, r.why)
			}
		})
	}
}
