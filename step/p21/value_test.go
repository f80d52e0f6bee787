package p21

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
	"pgregory.net/rapid"
)

// record makes one record of the given parameters.
func oneRecord(t testing.TB, params string) Params {
	t.Helper()
	f, err := Scan([]byte(top+"#1=A("+params+");"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, ok := f.Lookup(1)
	if !ok {
		t.Fatalf("no record of %q", params)
	}
	return r.Params()
}

func TestReal(t *testing.T) {
	good := map[string]float64{
		"1": 1, "-1": -1, "+1.": 1, "1.": 1, ".5": .5, "-.5": -.5, "1.5E3": 1500, "1.e-3": 1e-3,
		"0.E+000": 0, "1.E+02": 100, "1.D5": 1e5, "1.d-2": 1e-2, "123456789012345678901234567890": 123456789012345678901234567890,
		"3.1415926535897932384626": math.Pi, "2.2250738585072014E-308": 2.2250738585072014e-308, "1E22": 1e22, "1E23": 1e23,
		"1.797693134862315E308": 1.797693134862315e308, "1\n23.": 123, "- 5": -5, "LENGTH_MEASURE(25.4)": 25.4, "x( 1. )": 1, "1E-999": 0,
		"9007199254740993": 9007199254740993,
	}
	for s, want := range good {
		p := oneRecord(t, s)
		if got := p.Real(0); got != want || p.Err() != nil {
			t.Errorf("%q is %v (%v), want %v", s, got, p.Err(), want)
		}
	}
	for _, s := range []string{"1E999", "-1.E+400", "NaN", "INF", "Infinity", "1_000.", "0x10", "1.2.3", "--1", "$", "*", "'1'", "#1", ".T.", "", "()", "1E", "E5", "+", "."} {
		p := oneRecord(t, s)
		if got := p.Real(0); p.Err() == nil || got != 0 {
			t.Errorf("%q is read as %v, want a fault", s, got)
		}
	}
}

// The fast path must give strconv's answer to the last bit.
func TestRealMatchesStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sameReal(t, rapid.Custom(func(t *rapid.T) string {
			x := rapid.Float64().Draw(t, "x")
			format := rapid.SampledFrom([]byte{'e', 'f', 'g', 'E', 'G'}).Draw(t, "format")
			return strconv.FormatFloat(x, format, rapid.IntRange(-1, 17).Draw(t, "digits"), 64)
		}).Draw(t, "number"))
	})
}

// Spellings near the fast path's limits: 15 to 20 digits, powers around 22.
func TestRealMatchesStrconvAtLimits(t *testing.T) {
	number := rapid.StringMatching(`[-+]?(0{0,3}[0-9]{1,20}\.[0-9]{0,20}|\.[0-9]{1,20}|[0-9]{1,20})([eE][-+]?[0-9]{1,3})?`)
	rapid.Check(t, func(t *rapid.T) { sameReal(t, number.Draw(t, "number")) })
	for k := range 10 { // just above 2^64, where the digits do not fit
		sameReal(t, fmt.Sprintf("1844674407370955161%d", k))
		sameReal(t, fmt.Sprintf("0.1844674407370955162%d", k))
	}
	for m := uint64(1<<53 - 3); m <= 1<<53+3; m++ {
		for e := -24; e <= 24; e++ {
			sameReal(t, fmt.Sprintf("%d.E%d", m, e))
			sameReal(t, fmt.Sprintf("-%d.%dE%d", m/1000, m%1000, e))
		}
	}
}

func sameReal(t interface{ Fatalf(string, ...any) }, s string) {
	want, err := strconv.ParseFloat(s, 64)
	got, ok := parseReal([]byte(s))
	if ok != (err == nil) || ok && math.Float64bits(got) != math.Float64bits(want) {
		t.Fatalf("%q: %v (%v), strconv says %v (%v)", s, got, ok, want, err)
	}
}

// slowItems splits a list byte by byte, as the plainest reading of the standard
// has it.
func slowItems(src []byte, p int) []string {
	var out []string
	from, end, depth := -1, p, 0
	for p < len(src) {
		q := p + 1
		switch c := src[p]; {
		case c == '\'':
			q = stringEnd(src, p)
		case space(c), c == '/' && skipBlank(src, p) > p:
			p = skipBlank(src, p)
			continue
		case depth == 0 && (c == ',' || c == ')'):
			if from < 0 {
				from, end = p, p
			}
			if c == ',' || end > from {
				out = append(out, string(src[from:end]))
			}
			if c == ')' {
				return out
			}
			from, p = -1, q
			continue
		case c == '(':
			depth++
		case c == ')':
			depth--
		}
		if from < 0 {
			from = p
		}
		p, end = q, q
	}
	if from >= 0 {
		out = append(out, string(src[from:end]))
	}
	return out
}

func TestItemsMatchSlowSplit(t *testing.T) {
	piece := rapid.SampledFrom([]string{"1.5", "#12", "''", "'a,(b'", "(", ")", ",", ",", " ", "\n", "/*c,*/", "/", "$", "X(", ".T."})
	rapid.Check(t, func(t *rapid.T) {
		src := []byte("(" + strings.Join(rapid.SliceOfN(piece, 0, 20).Draw(t, "pieces"), "") + ")")
		if depth := bracketDepth(src); depth != 0 {
			t.Skip("where a list does not close it is anyone's guess")
		}
		var got []string
		c := cursor{src: src, p: 1}
		for s, ok := c.next(); ok; s, ok = c.next() {
			got = append(got, string(src[s.from:s.to]))
		}
		if d := cmp.Diff(slowItems(src, 1), got); d != "" {
			t.Fatalf("%q (-slow +got)\n%s", src, d)
		}
	})
}

func bracketDepth(src []byte) int {
	end, ok := closing(src, 0)
	if !ok || end != len(src) {
		return -1
	}
	return 0
}

func TestParams(t *testing.T) {
	p := oneRecord(t, "'n',#7,3.,.T.,.FALSE.,(1,2.,3),((#1,#2),(#3)),$,*,.MILLI.,(),T")
	if got := p.String(0); got != "n" {
		t.Errorf("string %q", got)
	}
	if p.Ref(1) != 7 || p.Int(2) != 3 || !p.Bool(3) || p.Bool(4) || !p.Bool(11) || p.Enum(9) != "MILLI" {
		t.Error("simple values are read wrong")
	}
	if d := cmp.Diff([]float64{1, 2, 3}, p.Reals(5, nil)); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]ID{{1, 2}, {3}}, p.RefGrid(6)); d != "" {
		t.Error(d)
	}
	if xyz, n := p.Coords(5); n != 3 || xyz != [3]float64{1, 2, 3} {
		t.Errorf("coordinates %v (%d)", xyz, n)
	}
	if p.Has(7) || p.Has(8) || p.Has(99) || p.OptRef(7) != 0 || p.OptRef(99) != 0 || p.String(7) != "" {
		t.Error("unset parameters count as set")
	}
	if got := p.Refs(10, nil); len(got) != 0 {
		t.Errorf("empty list has %v", got)
	}
	if p.Err() != nil {
		t.Fatalf("fault %v", p.Err())
	}
	p.Ref(0) // the first fault sticks
	p.Real(99)
	if got := p.Int(2); got != 0 {
		t.Errorf("value %d behind a fault, want 0", got)
	}
	if want := `#1 A, parameter 1 (line 8, column 6): expected a reference, found "'n'"`; p.Err().Error() != want {
		t.Errorf("fault %q, want %q", p.Err(), want)
	}
}

func TestParamsBeyondInline(t *testing.T) {
	p := oneRecord(t, "0,1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17,18,19")
	for i := range 20 {
		if p.Int(i) != i {
			t.Errorf("parameter %d is %d", i, p.Int(i))
		}
	}
	if p.Ref(20); p.Err() == nil {
		t.Error("a missing parameter is no fault")
	}
}

func TestLeaf(t *testing.T) {
	f, err := Scan([]byte(top+"#1=(B(2)\n a /*x*/ (1,')')C());#2=B(5);"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _ := f.Lookup(1)
	a, okA := r.Leaf("A")
	b, okB := r.Leaf("B")
	if !okA || !okB || a.Int(0) != 1 || a.String(1) != ")" || b.Int(0) != 2 {
		t.Errorf("leaves are read wrong: %v %v", a.Err(), b.Err())
	}
	if _, ok := r.Leaf("D"); ok {
		t.Error("a leaf that is not there")
	}
	if p := r.Params(); p.Ref(0) != 0 || p.Err() == nil {
		t.Error("a complex instance has no parameters of its own")
	}
	n := 0
	for range f.Of("B") {
		n++
	}
	if n != 2 {
		t.Errorf("%d records are or contain B, want 2", n)
	}
	if d := cmp.Diff(map[string]int{"(A B C)": 1, "B": 1}, f.Census()); d != "" {
		t.Error(d)
	}
}

func TestText(t *testing.T) {
	cases := map[string]string{
		``:                          "",
		`plain`:                     "plain",
		`it''s`:                     "it's",
		`a\\b`:                      `a\b`,
		`ends in S`:                 "ends in S",
		`back\`:                     `back\`,
		`Petit \X\E9tui`:            "Petit étui",
		`\X\e9`:                     "é",
		`\S\d`:                      "ä",
		`\S\''x`:                    "§x",
		`\PB\\S\1`:                  "ą",
		`\PE\\S\=`:                  "Н",
		`\X2\4F9B7ED97CFB7EDF\X0\`:  "供给系统",
		`\X2\00E9\X0\t\X2\00E9\X0\`: "été",
		`\X2\D83DDE00\X0\!`:         "😀!",
		`\X2\D83D\X0\`:              "\uFFFD",
		`\X2\DE00\X0\`:              "\uFFFD",
		`\X2\00E9`:                  "é",
		`\X2\00E90\X0\x`:            "éx",
		`\X4\0001F600\X0\`:          "😀",
		`\X4\00110000\X0\`:          "\uFFFD",
		`a\N\b`:                     "a b",
		`\Q\`:                       `\Q\`,
		"line\r\nbreak":             "linebreak",
		"Gehäuse":                   "Gehäuse",
		"Geh\xE4use":                "Gehäuse",
		"\x80uro":                   "€uro",
	}
	for in, want := range cases {
		p := oneRecord(t, "'"+in+"'")
		if got := p.String(0); got != want || p.Err() != nil {
			t.Errorf("%q is read as %q (%v), want %q", in, got, p.Err(), want)
		}
	}
}

// Names in the encodings that old systems wrote come out readable. The guess
// goes by the whole file, so each case is one.
func TestRawEncodings(t *testing.T) {
	cases := []struct {
		enc   encoding.Encoding
		names []string
	}{
		{charmap.Windows1252, []string{"Gehäuse", "Schraube für Deckel", "créée", "pièce détachée", "Ø5"}},
		{charmap.Windows1252, []string{"Ä"}},
		{simplifiedchinese.GB18030, []string{"螺钉", "外壳 1", "M3×8 内六角圆柱头螺钉"}},
		{japanese.ShiftJIS, []string{"ネジ", "ソケットボルト M4", "表示ソ", "カバー"}}, // ソ and 表 end in a backslash
		{charmap.Windows1251, []string{"Винт М4", "Крышка", "Корпус левый"}},
	}
	for _, c := range cases {
		var params []string
		for _, n := range c.names {
			b, err := c.enc.NewEncoder().String(n)
			if err != nil {
				t.Fatal(err)
			}
			params = append(params, "'"+b+"'")
		}
		p := oneRecord(t, strings.Join(params, ","))
		for i, want := range c.names {
			if got := p.String(i); got != want {
				t.Errorf("%v: %q is read as %q", c.enc, want, got)
			}
		}
	}
}

// Strings come out as valid UTF-8 whatever goes in.
func FuzzString(f *testing.F) {
	for _, s := range []string{`\X2\D83DDE00\X0\`, `\S\''`, `\PZ\\S\d`, "\xE4\\X\\", `\X4\0001F600`, "a\\"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s, _ := decodeText(b, func(b []byte) (encoding.Encoding, bool) { return guessEncoding(b), true })
		if !utf8.ValidString(s) {
			t.Fatalf("%q gives %q, which is not UTF-8", b, s)
		}
		if len(s) > 4*len(b)+4 {
			t.Fatalf("%d bytes grow to %d", len(b), len(s))
		}
	})
}
