package p21

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
)

// warned writes the warnings of a scan as they are told.
func warned(list []Warning) []string {
	var out []string
	for _, w := range list {
		out = append(out, w.String())
	}
	return out
}

// sameWarnings compares warnings by how they start: place, number and words.
func sameWarnings(t *testing.T, got []Warning, want []string) {
	t.Helper()
	list := warned(got)
	if len(list) != len(want) {
		t.Errorf("warnings %q, want %q", list, want)
		return
	}
	for i, w := range want {
		if !strings.HasPrefix(list[i], w) {
			t.Errorf("warning %q, want one that starts %q", list[i], w)
		}
	}
}

// What files do that programs have written: the text of records. Each row is
// the data section, whose first line is line 8 of the file.
func TestFieldRecords(t *testing.T) {
	rows := []struct {
		point, data string
		want        []string
		warnings    []string
	}{
		{"blanks round # and =, and before ;", "# 1 = A ( 1. ) ;\n #2\t=\tB(#1 , # 1)\t;", []string{"#1 A [1.]", "#2 B [#1] [# 1]"}, nil},
		{"line breaks inside of numbers, keywords and names of instances", "#1\r\n2=CARTE\r\nSIAN\r\n_POINT\r\n2('',1.\r\n5,#1\r\n3);", []string{"#12 CARTESIAN_POINT2 [''] [1.\r\n5] [#1\r\n3]"}, nil},
		{"control characters inside of a keyword", "#1=CAR\x00TE\tSIAN(1);", []string{"#1 CARTESIAN [1]"}, nil},
		{"a blank inside of a keyword is no line break", "#1=CARTE SIAN(1);\n#2=B();", []string{"#2 B"}, []string{`#1 (line 8, column 1): expected an entity name and (, found "SIAN(1);"`}},
		{"carriage returns alone", "#1=A(1.);\r#2=B(2.);\r", []string{"#1 A [1.]", "#2 B [2.]"}, nil},
		{"no line break at all", "#1=A(1.);#2=B(2.);#3=(C()D());", []string{"#1 A [1.]", "#2 B [2.]", "#3 (C D)"}, nil},
		{"comments anywhere, with quote, comma, semicolon and record", "/* don't; #8=X(); */#1/*,*/=/*'*/A/*(*/(/*it's*/1./*;#9=Y();*/,2.)/*')*/;#2=B();", []string{"#1 A [1.] [2.]", "#2 B"}, nil},
		{"comment over lines with a record", "/*\n#7=X();\n*/\n#1=A();", []string{"#1 A"}, nil},
		{"comment without end", "#1=A(1.);\n/* open\n#2=B(2.);", []string{"#1 A [1.]", "#2 B [2.]"}, []string{"line 9, column 1: comment without end"}},
		{"string without end: look ahead to the next record", "#1=A(1.,'open);\n#2=B('x');", []string{"#2 B ['x']"}, []string{"#1 (line 8, column 9): string without end: the record is dropped"}},
		{"comment without end in a record", "#1=A(/* open;\n#2=B(2.);", []string{"#2 B [2.]"}, []string{"#1 (line 8, column 6): comment without end: the record is dropped"}},
		{"empty list", "#1=ANNOTATION_PLANE('',(),#2,());", []string{"#1 ANNOTATION_PLANE [''] [()] [#2] [()]"}, nil},
		{"strings with ; #12 ( ENDSEC", "#1=A('a;','#12=','(','ENDSEC;');\n#2=B();", []string{"#1 A ['a;'] ['#12='] ['('] ['ENDSEC;']", "#2 B"}, nil},
		{"strings that end in S or backslash", `#1=A('\S','S','C:\dir\','\\');` + "\n#2=B('x');", []string{`#1 A ['\S'] ['S'] ['C:\dir\'] ['\\']`, "#2 B ['x']"}, nil},
		{"keywords in lower and mixed case", "#1=cartesian_Point(1.);\n#2=(b_spline()Curve());", []string{"#1 CARTESIAN_POINT [1.]", "#2 (B_SPLINE CURVE)"}, nil},
		{"leading zeros in numbers", "#0001=A(#01);", []string{"#1 A [#01]"}, nil},
		{"number beyond 2^31", "#4294967299=A();", []string{"#4294967299 A"}, nil},
		{"number beyond 2^63", "#9223372036854775809=A();\n#2=B();", []string{"#2 B"}, []string{"line 8, column 1: expected an instance number"}},
		{"number beyond 2^64", "#18446744073709551617=A();\n#1=B();", []string{"#1 B"}, []string{"line 8, column 1: expected an instance number"}},
		{"number with a sign", "#+29=A();\n#2=B();", []string{"#2 B"}, []string{`line 8, column 1: expected an instance number of at most 14 digits behind #, found "+29=A();"`}},
		{"number with letters", "#12f4=A();\n#2=B();", []string{"#2 B"}, []string{`#12 (line 8, column 1): expected = behind the instance number, found "f4=A();"`}},
		{"number 0", "#0=A();\n#2=B(#0);", []string{"#2 B [#0]"}, []string{"line 8, column 5: #0 is no instance number"}},
		{"user-defined keyword", "#1=!MY_OWN('x',#2);\n#2=B();", []string{"#1 !MY_OWN ['x'] [#2]", "#2 B"}, nil},
		{"missing ;", "#1=A(1.)\n#2=B(2.);", []string{"#1 A [1.]", "#2 B [2.]"}, []string{"#1 (line 8, column 1): ; is missing at the end of the record"}},
		{"missing ; in the last record", "#1=A(1.);\n#2=B(2.)\n", []string{"#1 A [1.]", "#2 B [2.]"}, []string{"#2 (line 9, column 1): ; is missing at the end of the record"}},
		{"missing ; in the last record, a complex one", "#1=A(1.);\n#2=(B(2.)C());\n#3=(B(3.)\nC())", []string{"#1 A [1.]", "#2 (B C)", "#3 (B C)"}, []string{"#3 (line 10, column 1): ; is missing at the end of the record"}},
		{"several DATA sections have one space of numbers", "#1=A(#2);\nENDSEC;\nDATA('b',('S'));\n#2=B(#1);\n#1=C();", []string{"#1 A [#2]", "#2 B [#1]"}, []string{"#1 (line 12, column 1): number used twice with different content; the first (line 8, column 1) is kept"}},
		{"records in any order", "#3=A(#1);\n#1=B(#2);\n#2=C();", []string{"#3 A [#1]", "#1 B [#2]", "#2 C"}, nil},
		{"same number and text twice", "#1=A(1.);\n#1=A(1.);", []string{"#1 A [1.]"}, nil},
		{"same number, other text: both places are told", "#1=A(1.);\n  #1 = A(2.);", []string{"#1 A [1.]"}, []string{"#1 (line 9, column 3): number used twice with different content; the first (line 8, column 1) is kept"}},
		{"same number, other text, numbers far apart", "#9000000001=A(1.);\n#9000000001=A(2.);", []string{"#9000000001 A [1.]"}, []string{"#9000000001 (line 9, column 1): number used twice with different content; the first (line 8, column 1) is kept"}},
		{"what is no record is stepped over", "#1=A();\n??? = !;\n#2=B();", []string{"#1 A", "#2 B"}, []string{`line 9, column 1: expected an instance, found "???"`}},
		{"complex instance with its leaves in any order", "#1=(REPRESENTATION_ITEM('n')CURVE()B_SPLINE_CURVE(2));", []string{"#1 (B_SPLINE_CURVE CURVE REPRESENTATION_ITEM)"}, nil},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			f, err := Scan([]byte(top+r.data+"\n"+bottom), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(r.want, dump(f)); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			sameWarnings(t, f.Warnings, r.warnings)
		})
	}
}

// A string or comment that the end of the text cuts is told where it starts.
func TestFieldOpenAtTheEnd(t *testing.T) {
	for data, want := range map[string]string{
		"#1=A();\n#2=B(1.,'open":      "line 9, column 9: the text ends inside of a string of #2, at byte ",
		"#1=A();\n#2=B(1.,/* open":    "line 9, column 9: the text ends inside of a comment of #2, at byte ",
		"#1=A();\n#2=B(1.,":           "line 9, column 1: the text ends inside of #2, at byte ",
		"#1=A();\n#2=B(1.);\n\n#3=CA": "line 11, column 1: the text ends inside of a record, at byte ",
	} {
		f, err := Scan([]byte(top+data), Options{})
		if err != nil {
			t.Fatal(err)
		}
		last := "#1"
		if f.Len() == 2 {
			last = "#2"
		}
		sameWarnings(t, f.Warnings, []string{want + fmt.Sprintf("%d after record %s", len(top+data), last)})
		if !f.Truncated || f.CutOff == (Pos{}) {
			t.Errorf("%q is not told as cut off", data)
		}
	}
}

// Values: what is read out of one parameter, the fault where it cannot be, and
// the remark where it is odd. The record starts at line 8, its parameter at
// column 6.
func TestFieldValues(t *testing.T) {
	ref := func(p *Params) any { return p.Ref(0) }
	whole := func(p *Params) any { return p.Int(0) }
	number := func(p *Params) any { return p.Real(0) }
	numbers := func(p *Params) any { return p.Reals(0, nil) }
	coords := func(p *Params) any { x, n := p.Coords(0); return fmt.Sprint(x, n) }
	refs := func(p *Params) any { return p.Refs(0, nil) }
	truth := func(p *Params) any { return p.Bool(0) }
	text := func(p *Params) any { return p.String(0) }
	enum := func(p *Params) any { return p.Enum(0) }
	const (
		at        = "#1 (line 8, column 6): "
		asReal    = at + oddIntegerText
		asInteger = at + "a real stands where an integer is wanted"
		withD     = at + "the exponent of a number is written with D"
		asBool    = at + "a truth value is not written as .T. or .F."
		fault     = "#1 A, parameter 1 (line 8, column 6): expected "
	)
	rows := []struct {
		point, param string
		ask          func(p *Params) any
		want         any
		fault        string
		remark       string
	}{
		{"integer where a real is wanted", "1", number, 1., "", asReal},
		{"integer in a list of reals", "(0.,5)", numbers, []float64{0, 5}, "", "#1 (line 8, column 10): " + oddIntegerText},
		{"integers as coordinates", "(1,2,3)", coords, "[1 2 3] 3", "", "#1 (line 8, column 7): " + oddIntegerText},
		{"real where an integer is wanted", "3.0", whole, 3, "", asInteger},
		{"real with a fraction where an integer is wanted", "3.5", whole, 0, fault + "a whole number", ""},
		{"real without digits before the point", ".5", number, .5, "", ""},
		{"1.E3", "1.E3", number, 1000., "", ""},
		{"1.e3", "1.e3", number, 1000., "", ""},
		{"0.E+000", "0.E+000", number, 0., "", ""},
		{"plus sign", "+1.", number, 1., "", ""},
		{"blank between sign and digits", "- 1.5", number, -1.5, "", ""},
		{"line break inside of a number", "1.2\n5E\r\n1", number, 12.5, "", ""},
		{"D exponent", "1.D5", number, 1e5, "", withD},
		{"d exponent", "1.5d-1", number, .15, "", withD},
		{"underscore", "1_000.", number, 0., fault + "a number", ""},
		{"decimal comma in a list", "(1,5,2,5,3,5)", coords, "[0 0 0] 0", fault + "up to three numbers", "#1 (line 8, column 7): " + oddIntegerText},
		{"NaN", "NaN", number, 0., fault + "a number", ""},
		{"-nan(ind)", "-nan(ind)", number, 0., fault + "a number", ""},
		{"1.#QNAN", "1.#QNAN", number, 0., fault + "a number", ""},
		{"INF", "-INF", number, 0., fault + "a number", ""},
		{"1E999999", "1E999999", number, 0., fault + "a number", ""},
		{"1e400 in a list", "(0.,1.e400)", numbers, []float64{0}, fault + "a list of numbers", ""},
		{"missing comma between numbers", "(1. 2.,3.)", coords, "[0 0 0] 0", fault + "up to three numbers", ""},
		{"missing comma between integers", "(1 2,3)", coords, "[0 0 0] 0", fault + "up to three numbers", ""},
		{"missing comma between references", "(#1 #2)", refs, []ID(nil), fault + "a list of references", ""},
		{"missing comma between a reference and a number", "#1 2", ref, ID(0), fault + "a reference", ""},
		{"missing comma between strings", "'a' 'b'", text, "", fault + "a string", ""},
		{"missing comma between lists", "(1.)(2.)", numbers, []float64{1}, fault + "a list with a comma", ""},
		{"missing comma between truth values", ".T. .F.", truth, false, fault + ".T. or .F.", ""},
		{"extra parenthesis", "1.)", number, 0., "#1 A (line 8, column 5): expected parentheses that match", ""},
		{"missing parenthesis", "(1.", numbers, []float64(nil), "#1 A (line 8, column 5): expected parentheses that match", ""},
		{"reference with leading zeros", "#0012", ref, ID(12), "", ""},
		{"reference beyond 2^64", "#18446744073709551617", ref, ID(0), fault + "a reference", ""},
		{"reference with a sign", "#+29", ref, ID(0), fault + "a reference", ""},
		{"reference without digits", "#", ref, ID(0), fault + "a reference", ""},
		{"reference to a value of edition 3", "@12", ref, ID(0), fault + "a reference", ""},
		{".TRUE.", ".TRUE.", truth, true, "", asBool},
		{".FALSE.", ".FALSE.", truth, false, "", asBool},
		{".t.", ".t.", truth, true, "", asBool},
		{"T", "T", truth, true, "", asBool},
		{".U. is no truth value", ".U.", truth, false, fault + ".T. or .F.", ""},
		{"enumeration in lower case", ".milli.", enum, "MILLI", "", ""},
		{"$ for a string", "$", text, "", "", ""},
		{"* for a string", "*", text, "", "", ""},
		{"empty list of references", "()", refs, []ID(nil), "", ""},
		{"unset items in a list of references", "($,#7,*)", refs, []ID{7}, "", ""},
		{"typed number", "LENGTH_MEASURE(25.4)", number, 25.4, "", ""},
		{"typed number with blanks and a comment", "length_measure /*(*/ ( 25.4 )", number, 25.4, "", ""},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			f, err := Scan([]byte(top+"#1=A("+r.param+");\n#2=B(7.);\n"+bottom), Options{})
			if err != nil {
				t.Fatal(err)
			}
			rec, _ := f.Lookup(1)
			p := rec.Params()
			if d := cmp.Diff(r.want, r.ask(&p)); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			if got := fmt.Sprint(p.Err()); r.fault == "" && p.Err() != nil || !strings.HasPrefix(got, r.fault) && r.fault != "" {
				t.Errorf("fault %q, want one that starts %q", got, r.fault)
			}
			var want []string
			if r.remark != "" {
				want = []string{r.remark}
			}
			sameWarnings(t, f.Remarks(), want)
			next, _ := f.Lookup(2)
			if q := next.Params(); q.Real(0) != 7 || q.Err() != nil {
				t.Error("the record behind it is lost")
			}
		})
	}
}

const oddIntegerText = "a number without a decimal point stands where a real is wanted"

// The first place is told, in whatever order values are read.
func TestRemarksAreOfTheFirstPlace(t *testing.T) {
	f, err := Scan([]byte(top+"#1=A(1.,2,3);\n#2=A(4,5);\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []struct{ id, param int }{{2, 1}, {1, 2}, {2, 0}, {1, 1}, {1, 0}, {2, 1}} {
		rec, _ := f.Lookup(ID(at.id))
		p := rec.Params()
		p.Real(at.param)
	}
	sameWarnings(t, f.Remarks(), []string{"#1 (line 8, column 9): " + oddIntegerText})
}

// A number that is an integer or a real makes no remark.
func TestNumberOfEitherKind(t *testing.T) {
	f, err := Scan([]byte(top+"#1=A(4,COUNT_MEASURE(4),4.);\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	rec, _ := f.Lookup(1)
	p := rec.Params()
	for i := range 3 {
		if x, ok := p.Value(i).Number(); !ok || x != 4 {
			t.Errorf("parameter %d is %v (%v), want 4", i, x, ok)
		}
	}
	sameWarnings(t, f.Remarks(), nil)
}

// Strings: the text, and what is remarked on. raw tells the encoding of the
// row's bytes above 7F.
func TestFieldStrings(t *testing.T) {
	const at = "#1 (line 8, column 6): "
	rows := []struct {
		point, in, want, remark string
	}{
		{`\X\HH, upper case`, `Petit \X\E9tui`, "Petit étui", ""},
		{`\X\hh, lower case`, `Petit \X\e9tui`, "Petit étui", ""},
		{`\X2\, two characters`, `\X2\00C4D83DDE00\X0\!`, "Ä😀!", ""},
		{`\X2\, half a pair`, `a\X2\D83D\X0\b`, "a\uFFFDb", at + "a string has characters that cannot be decoded"},
		{`\X2\, odd digits: whole groups`, `\X2\00E900\X0\x`, "éx", at + `\X2\ or \X4\ in a string has a group cut short`},
		{`\X4\`, `\X4\0001F600\X0\`, "😀", ""},
		{`\X4\ beyond 10FFFF`, `\X4\00110000\X0\`, "\uFFFD", at + "a string has characters that cannot be decoded"},
		{`\X4\ far beyond 10FFFF`, `\X4\FFFFFFFF00000041\X0\`, "\uFFFDA", at + "a string has characters that cannot be decoded"},
		{`\X0\ is missing: ends at the quote`, `\X2\00E9`, "é", at + `\X2\ or \X4\ in a string has a group cut short`},
		{`\X0\ is missing: ends at what is no digit`, `\X2\00E9 and so on`, "é and so on", at + `\X2\ or \X4\ in a string has a group cut short`},
		{`\S\ in the default page`, `\S\d`, "ä", ""},
		{`\S\ with a quote`, `\S\''x`, "§x", ""},
		{`\PA\`, `\PA\\S\d`, "ä", ""},
		{`\PB\`, `\PB\\S\1`, "ą", ""},
		{`\PC\`, `\PC\\S\!`, "Ħ", ""},
		{`\PD\`, `\PD\\S\!`, "Ą", ""},
		{`\PE\`, `\PE\\S\=`, "Н", ""},
		{`\PF\`, `\PF\\S\G`, "ا", ""},
		{`\PG\`, `\PG\\S\a`, "α", ""},
		{`\PH\`, "\\PH\\\\S\\`", "א", ""},
		{`\PI\`, `\PI\\S\p`, "ğ", ""},
		{`\P?\ with a bad letter`, `\PJ\\S\d`, `\PJ\ä`, at + `\P?\ in a string names an alphabet that there is not`},
		{`''`, `it''s`, "it's", ""},
		{`'' alone`, `''`, "'", ""},
		{`\\`, `a\\b\\`, `a\b\`, ""},
		{`a lone backslash`, `C:\dir\`, `C:\dir\`, ""},
		{`\N\ and \F\ are print control`, `a\N\b\F\c`, "a b c", ""},
		{`ends in S`, `BOLTS`, "BOLTS", ""},
		{`ends in \S`, `BOLT\S`, `BOLT\S`, ""},
		{`line break: dropped`, "two\r\nlines", "twolines", ""},
		{`control characters: dropped`, "a\x00\x01\x1Bb\x7F", "ab", ""},
		{`tab`, "a\tb", "a\tb", ""},
		{`raw UTF-8`, "Gehäuse 供给 Винт", "Gehäuse 供给 Винт", ""},
		{`raw Latin-1`, "Geh\xE4use", "Gehäuse", at + "text that is not UTF-8 is read as Windows 1252, which is a guess"},
		{`longer than 32,769`, strings.Repeat("x", 100_000), strings.Repeat("x", 100_000), ""},
		{`longer than 32,769, with escapes`, strings.Repeat(`\X\E9`, 40_000), strings.Repeat("é", 40_000), ""},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			f, err := Scan([]byte(top+"#1=A('"+r.in+"');\n#2=B('next');\n"+bottom), Options{})
			if err != nil {
				t.Fatal(err)
			}
			rec, _ := f.Lookup(1)
			p := rec.Params()
			if got := p.String(0); got != r.want || p.Err() != nil {
				t.Errorf("read as %.60q (%v), want %.60q", got, p.Err(), r.want)
			}
			var want []string
			if r.remark != "" {
				want = []string{r.remark}
			}
			sameWarnings(t, f.Remarks(), want)
			next, _ := f.Lookup(2)
			if q := next.Params(); q.String(0) != "next" {
				t.Error("the record behind it is lost")
			}
		})
	}
}

// The page that \P?\ sets holds for its string and no longer.
func TestAlphabetHoldsForOneString(t *testing.T) {
	p := oneRecord(t, `'\PE\\S\=','\S\d'`)
	if a, b := p.String(0), p.String(1); a != "Н" || b != "ä" {
		t.Errorf("read as %q and %q, want \"Н\" and \"ä\"", a, b)
	}
}

// A named encoding takes the place of UTF-8 and of the guess. 5C, which is a
// backslash, as second byte is a part of its character.
func TestNamedEncoding(t *testing.T) {
	rows := []struct {
		name string
		enc  encoding.Encoding
		text string
	}{
		{"shift_jis", japanese.ShiftJIS, "表示ソ能"},
		{"gbk", simplifiedchinese.GBK, "誠娤 联通"}, // with 5C; 联通 in GBK is valid UTF-8 of something else
		{"windows-1251", charmap.Windows1251, "Винт М4"},
		{"iso-8859-2", charmap.ISO8859_2, "Śruba zębata"},
		{"cp850", charmap.CodePage850, "Gehäuse"},
	}
	for _, r := range rows {
		raw, err := r.enc.NewEncoder().String(r.text)
		if err != nil {
			t.Fatal(err)
		}
		enc, err := EncodingNamed(r.name)
		if err != nil {
			t.Fatal(err)
		}
		head := "ISO-10303-21;\nHEADER;\nFILE_NAME('" + raw + "','',(''),(''),'','','');\nENDSEC;\nDATA;\n"
		f, err := Scan([]byte(head+"#1=A('"+raw+"');\n"+bottom), Options{Encoding: enc})
		if err != nil {
			t.Fatal(err)
		}
		if f.Header.Name != r.text {
			t.Errorf("%s: header read as %q, want %q", r.name, f.Header.Name, r.text)
		}
		rec, _ := f.Lookup(1)
		p := rec.Params()
		if got := p.String(0); got != r.text || len(f.Remarks()) > 0 {
			t.Errorf("%s: read as %q, want %q; remarks %v", r.name, got, r.text, f.Remarks())
		}
	}
}

func TestEncodingNames(t *testing.T) {
	for _, n := range encodingNames {
		if _, err := EncodingNamed(n); err != nil {
			t.Errorf("%s is suggested and refused: %v", n, err)
		}
	}
	for name, near := range map[string]string{"shiftjs": "shift_jis", "utf8x": "utf-8", "windows1251": "windows-1251", "gb1803": "gb18030"} {
		_, err := EncodingNamed(name)
		var e *EncodingError
		if e, _ = err.(*EncodingError); e == nil || e.Near[0] != near {
			t.Errorf("%s: error %v, want %s as the nearest name", name, err, near)
		}
	}
	for _, n := range []string{"", "utf-16", "utf-16le", "iso-2022-jp", "hz-gb-2312", "utf-7", "ibm037", strings.Repeat("x", 1000)} {
		if enc, err := EncodingNamed(n); err == nil {
			t.Errorf("%q is taken for %v", n, enc)
		}
	}
}

// One guess serves the whole file: a string that would be guessed otherwise
// alone is read as its neighbours are.
func TestOneGuessAFile(t *testing.T) {
	raw, err := simplifiedchinese.GB18030.NewEncoder().String("螺钉")
	if err != nil {
		t.Fatal(err)
	}
	// ü alone would be guessed to be Western; beside so much Chinese it is half
	// a character.
	f, err := Scan([]byte(top+strings.Repeat("#1=A('"+raw+"');\n", 50)+"#2=B('"+raw+"','f\xFCr');\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	rec, _ := f.Lookup(2)
	p := rec.Params()
	if a, b := p.String(0), p.String(1); a != "螺钉" || b == "für" {
		t.Errorf("read as %q and %q, want both as GB18030", a, b)
	}
	sameWarnings(t, f.Remarks(), []string{"#2 (line 58, column 6): text that is not UTF-8 is read as GB18030"})
}

// A record with too few or too many parameters is used as far as it goes.
func TestFieldArity(t *testing.T) {
	want := func(entity string) int { return map[string]int{"PLACE": 3, "RADIUS": 2}[entity] }
	rows := []struct {
		point, data string
		radius      float64
		fault       string
		remarks     []string
	}{
		{"as many as there should be", "#1=RADIUS('',2.);", 2, "", nil},
		{"too many", "#1=RADIUS('',2.,3.);\n#2=RADIUS('');", 2, "", []string{"#1 (line 8, column 1): RADIUS with 3 parameters, which has 2"}},
		{"too few", "#1=RADIUS('');", 0, "#1 RADIUS, parameter 2 (line 8, column 10): expected a number, found only 1 parameters", []string{"#1 (line 8, column 1): RADIUS with 1 parameters, which has 2"}},
		{"none", "#1=RADIUS();", 0, "#1 RADIUS, parameter 2 (line 8, column 10): expected a number, found only 0 parameters", []string{"#1 (line 8, column 1): RADIUS with 0 parameters, which has 2"}},
		{"decimal comma", "#1=RADIUS('',2,5);", 0, "#1 RADIUS (line 8, column 10): expected 2 parameters with points for decimals", nil},
		{"negative decimal comma", "#1=RADIUS('',-2,5);", 0, "#1 RADIUS (line 8, column 10): expected 2 parameters with points for decimals", nil},
		{"not known how many", "#1=OTHER('',2.,3.,4.);", 2, "", nil},
	}
	for _, r := range rows {
		t.Run(r.point, func(t *testing.T) {
			f, err := Scan([]byte(top+r.data+"\n"+bottom), Options{Arity: want})
			if err != nil {
				t.Fatal(err)
			}
			rec, _ := f.Lookup(1)
			p := rec.Params()
			if got := p.Real(1); got != r.radius {
				t.Errorf("radius %v, want %v", got, r.radius)
			}
			if got := fmt.Sprint(p.Err()); !strings.HasPrefix(got, r.fault) || r.fault == "" && p.Err() != nil {
				t.Errorf("fault %q, want %q", got, r.fault)
			}
			sameWarnings(t, f.Remarks(), r.remarks)
		})
	}
}

// References finds the first of several places, none in strings or comments.
func TestReferences(t *testing.T) {
	f, err := Scan([]byte(top+"#1=A('#9',/* #9 */#8);\n#2=(B(#90)C((#7,#9)));\n#3=A(#9);\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got := f.References([]ID{9, 8, 5})
	if r := got[0]; r.Record.ID() != 2 || r.Pos != (Pos{Line: 9, Col: 17}) {
		t.Errorf("#9 is referred to in %v at %v, want #2, line 9, column 17", r.Record.ID(), r.Pos)
	}
	if r := got[1]; r.Record.ID() != 1 {
		t.Errorf("#8 is referred to in %v, want #1", r.Record.ID())
	}
	if r := got[2]; r.Record.Valid() {
		t.Errorf("#5 is referred to in %v, want nowhere", r.Record.ID())
	}
}

// A record's place is that of its own number, whatever comments say.
func TestPlaceBesideComments(t *testing.T) {
	f, err := Scan([]byte(top+"  #1 /* #7= */ = /* like #1 */ A /*#3*/ (1);\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	rec, _ := f.Lookup(1)
	if got, want := rec.Pos(), (Pos{Line: 8, Col: 3}); got != want {
		t.Errorf("record at %v, want %v", got, want)
	}
}

// No number that is read is not finite, whatever the spelling.
func TestNumbersAreFinite(t *testing.T) {
	for _, s := range []string{"1E308", "9.E307", "1.E309", "-1.E309", "1D999", "1E+99999999999999999999", strings.Repeat("9", 309), strings.Repeat("9", 399)} {
		x, _ := parseReal([]byte(s))
		if math.IsInf(x, 0) || math.IsNaN(x) {
			t.Errorf("%.20s is read as %v", s, x)
		}
	}
}
