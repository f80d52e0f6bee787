package p21

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

const top = "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('n','2020-01-01T00:00:00',('a'),('o'),'pre','sys','auth');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\n"
const bottom = "ENDSEC;\nEND-ISO-10303-21;\n"

// dump writes what was indexed, one record a line, as "#1 NAME [params]".
func dump(f *File) []string {
	var out []string
	for r := range f.All() {
		s := fmt.Sprintf("%v %s", r.ID(), r.Name())
		if !r.IsComplex() {
			p := r.Params()
			for i := range p.Len() {
				s += fmt.Sprintf(" [%s]", p.Value(i).bytes())
			}
		}
		out = append(out, s)
	}
	return out
}

func TestScan(t *testing.T) {
	cases := []struct {
		name, data string
		want       []string
		warnings   []string // a piece of each
	}{
		{"plain", "#1=A(1,2.,'x',#2,$,*,.T.,(1,(2,3)));", []string{"#1 A [1] [2.] ['x'] [#2] [$] [*] [.T.] [(1,(2,3))]"}, nil},
		{"blanks everywhere", "# 1 =\n A ( 1 , ( 2 ,\r\n3 ) ) ;", []string{"#1 A [1] [( 2 ,\r\n3 )]"}, nil},
		{"one line", "#1=A(1);#2=B(2);", []string{"#1 A [1]", "#2 B [2]"}, nil},
		{"no parameters", "#1=A();", []string{"#1 A"}, nil},
		{"leading zeros", "#001=A();", []string{"#1 A"}, nil},
		{"lower case keyword", "#1=cartesian_Point('',(1.,2.,3.));", []string{"#1 CARTESIAN_POINT [''] [(1.,2.,3.)]"}, nil},
		{"user-defined keyword", "#1=!MY_OWN(1);", []string{"#1 !MY_OWN [1]"}, nil},
		{"semicolon in a string", "#1=A('a;b');#2=B('c');", []string{"#1 A ['a;b']", "#2 B ['c']"}, nil},
		{"doubled quotes", "#1=A('it''s; so','''');#2=B();", []string{"#1 A ['it''s; so'] ['''']", "#2 B"}, nil},
		{"record in a string", "#1=A('#9=B(1);');", []string{"#1 A ['#9=B(1);']"}, nil},
		{"string that ends in S", "#1=A('\\S');#2=B('x');", []string{"#1 A ['\\S']", "#2 B ['x']"}, nil},
		{"ENDSEC in a string", "#1=A('ENDSEC;');#2=B();", []string{"#1 A ['ENDSEC;']", "#2 B"}, nil},
		{"comment with quote, comma and record", "/* don't, #7=X(); */#1=A(/*it's ;*/1/*,*/,2);#2=B();", []string{"#1 A [1] [2]", "#2 B"}, nil},
		{"comments behind values", "#1=A(1/*c,*/ ,2 /*d*/ /*)*/\n, /*e*/ /*f*/ 3/*g*/4 /*h*/ );", []string{"#1 A [1] [2] [3/*g*/4]"}, nil},
		{"slash in a string", "#1=A('a/*b');#2=B('*/');", []string{"#1 A ['a/*b']", "#2 B ['*/']"}, nil},
		{"keyword cut by a line break", "#1=CARTE\nSIAN_POINT('');", []string{"#1 CARTESIAN_POINT ['']"}, nil},
		{"complex", "#1=( B(2) A(1,'(') );", []string{"#1 (A B)"}, nil},
		{"complex over lines", "#1 = (\nB ( 2 )\n/* x */ A(1) ) ;", []string{"#1 (A B)"}, nil},
		{"missing semicolon", "#1=A(1)\n#2=B(2);", []string{"#1 A [1]", "#2 B [2]"}, []string{"; is missing"}},
		{"string without end", "#1=A('abc);\n#2=B('x');\n#3=C();", []string{"#2 B ['x']", "#3 C"}, []string{"string without end"}},
		{"string without end in the last record", "#1=A(1);\n#2=A('abc);", []string{"#1 A [1]"}, []string{"string without end"}},
		{"comment without end", "#1=A(1);\n/* open\n#2=A(1);", []string{"#1 A [1]", "#2 A [1]"}, []string{"comment without end"}},
		{"comment without end behind the records", "#1=A(1);/* open", []string{"#1 A [1]"}, []string{"comment without end"}},
		{"comment without end in a record", "#1=A(/* open;\n#2=A(2);", []string{"#2 A [2]"}, []string{"comment without end: the record is dropped"}},
		{"equals sign for a comma", "#1=A(#2=#3);\n#2=B();", []string{"#1 A [#2=#3]", "#2 B"}, nil},
		{"missing semicolons, one line", "#1=A(1)#2=B(2) #3=(C())#4=D();", []string{"#1 A [1]", "#2 B [2]", "#3 (C)", "#4 D"}, []string{"; is missing", "; is missing", "; is missing"}},
		{"missing semicolon in a complex one", "#1=(A(1)\n#2=B(2);", []string{"#2 B [2]"}, []string{"; is missing", "parentheses"}},
		{"number with letters", "#12f4=A();\n#2=B();", []string{"#2 B"}, []string{"expected ="}},
		{"number with a sign", "#+2=A();\n#3=B();", []string{"#3 B"}, []string{"instance number"}},
		{"number of 20 digits", "#99999999999999999999=A();\n#3=B();", []string{"#3 B"}, []string{"instance number"}},
		{"junk between records", "#1=A();\nwhat is this;\n#2=B();", []string{"#1 A", "#2 B"}, []string{"expected an instance"}},
		{"same number, same text", "#1=A(1);#1=A(1);", []string{"#1 A [1]"}, nil},
		{"same number, other text", "#1=A(1);\n#1=A(2);", []string{"#1 A [1]"}, []string{"number used twice"}},
		{"extra parenthesis", "#1=A(1));#2=B();", []string{"#1 A", "#2 B"}, nil},
		{"unclosed parenthesis", "#1=A((1);#2=B();", []string{"#1 A", "#2 B"}, nil},
		{"unclosed complex", "#1=(A(1;\n#2=B();", []string{"#2 B"}, []string{"parentheses"}},
		{"empty complex", "#1=();\n#2=B();", []string{"#2 B"}, []string{"without content"}},
		{"sparse numbers", "#1000000007=A();#5=B();", []string{"#1000000007 A", "#5 B"}, nil},
		{"several sections", "#1=A();ENDSEC;\nDATA('second',('S'));#2=B();", []string{"#1 A", "#2 B"}, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := Scan([]byte(top+c.data+"\n"+bottom), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(c.want, dump(f)); d != "" {
				t.Errorf("%s\n(-want +got)\n%s", c.data, d)
			}
			if len(f.Warnings) != len(c.warnings) {
				t.Fatalf("warnings %v, want %q", f.Warnings, c.warnings)
			}
			for i, w := range c.warnings {
				if !strings.Contains(f.Warnings[i].Text, w) {
					t.Errorf("warning %q, want one about %q", f.Warnings[i].Text, w)
				}
			}
			for r := range f.All() {
				if back, ok := f.Lookup(r.ID()); !ok || back != r {
					t.Errorf("%v is not found by its number", r.ID())
				}
			}
		})
	}
}

func TestScanWholeTexts(t *testing.T) {
	cases := []struct {
		name, text string
		records    int
		warning    string
		truncated  bool
	}{
		{"byte order mark", "\xEF\xBB\xBF" + top + "#1=A();" + bottom, 1, "byte order mark", false},
		{"comment in front", "/* hello */\n" + top + "#1=A();" + bottom, 1, "", false},
		{"text in front", "From: me\n\n" + top + "#1=A();" + bottom, 1, "in front", false},
		{"no ENDSEC", top + "#1=A();END-ISO-10303-21;", 1, "ENDSEC is missing", false},
		{"no end", top + "#1=A();\n#2=B();\n", 2, "without END-ISO", true},
		{"cut in a record", top + "#1=A();\n#2=B('x", 1, "inside of a string of #2", true},
		{"cut in a comment", top + "#1=A();\n/* x", 1, "without END-ISO", true},
		{"cut before the last semicolon", top + "#1=A();\n#2=B(1)", 2, "; is missing", true},
		{"cut in a number", top + "#1=A();\n#2", 1, "inside of a record", true},
		{"two files", top + "#1=A();" + bottom + top + "#1=B();" + bottom, 1, "second exchange structure", false},
		{"NUL behind the end", top + "#1=A();" + bottom + "\x00\x00", 1, "", false},
		{"no header", "ISO-10303-21;\nDATA;\n#1=A();\n" + bottom, 1, "", false},
		{"no magic", strings.TrimPrefix(top, "ISO-10303-21;\n") + "#1=A();" + bottom, 1, "is missing at the start", false},
		{"edition 3 sections", strings.Replace(top, "DATA;", "ANCHOR;\n<x>=#1;\nENDSEC;\nREFERENCE;\n#5=<a.stp#x>;\nENDSEC;\nDATA;", 1) + "#1=A();" + bottom, 1, "ANCHOR", false},
		{"signature", top + "#1=A();ENDSEC;\nEND-ISO-10303-21;\nSIGNATURE;\nabc\nENDSEC;\n", 1, "SIGNATURE section skipped", false},
		{"lower case sections", strings.ToLower(top) + "#1=a();\nendsec;\nend-iso-10303-21;", 1, "", false},
		{"carriage returns only", strings.ReplaceAll(top+"#1=A();\n#2=B();\n"+bottom, "\n", "\r"), 2, "", false},
		{"empty data", top + bottom, 0, "no entities", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := Scan([]byte(c.text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if f.Len() != c.records {
				t.Errorf("%d records, want %d", f.Len(), c.records)
			}
			if f.Truncated != c.truncated {
				t.Errorf("truncated %v, want %v", f.Truncated, c.truncated)
			}
			if c.warning == "" && len(f.Warnings) > 0 {
				t.Errorf("warnings %v, want none", f.Warnings)
			}
			if c.warning != "" && (len(f.Warnings) == 0 || !strings.Contains(f.Warnings[0].Text, c.warning)) {
				t.Errorf("warnings %v, want one about %q", f.Warnings, c.warning)
			}
		})
	}
}

func TestHeader(t *testing.T) {
	f, err := Scan([]byte("ISO-10303-21;HEADER;/* c */FILE_SCHEMA(('A','B {1 2}'));\nFILE_NAME('n.stp',/* t */'2020',('x'),(''),'p\\X\\E9',$,'');FILE_DESCRIPTION('only','1');ENDSEC;DATA;ENDSEC;END-ISO-10303-21;"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := Header{
		Description: []string{"only"}, Level: "1", Name: "n.stp", Written: "2020", Author: []string{"x"},
		Organization: []string{""}, Preprocessor: "pé", Schemas: []string{"A", "B {1 2}"},
	}
	if d := cmp.Diff(want, f.Header); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

func TestNotStep(t *testing.T) {
	cases := map[string]string{
		"":                                        "empty",
		" \r\n\t":                                 "blanks",
		strings.Repeat("\x00", 600):               "zero bytes",
		"<!DOCTYPE html><html>":                   "HTML",
		"\n<HTML><body>":                          "HTML",
		"<?xml version=\"1.0\"?><uos>":            "XML",
		"version https://git-lfs.github.com/x":    "LFS",
		"\x1F\x8B\x08\x00":                        "gzip",
		"PK\x03\x04abc":                           "zip",
		"\xFF\xFEI\x00S\x00O\x00":                 "UTF-16",
		"solid cube\nfacet normal 0 0 1":          "STL",
		"%PDF-1.7":                                "PDF",
		"hello world":                             "ISO-10303-21",
		"\x00\x01\x02\x03":                        "ISO-10303-21",
		strings.Repeat(" ", 72) + "S      1\n123": "IGES",
		"#1=A();":                                 "ISO-10303-21",
	}
	for text, want := range cases {
		_, err := Scan([]byte(text), Options{})
		var no *NotStepError
		if !errors.As(err, &no) || !strings.Contains(no.What, want) {
			t.Errorf("%.20q: error %v, want a NotStepError about %s", text, err, want)
		}
	}
}

func TestNoDataSection(t *testing.T) {
	_, err := Scan([]byte("ISO-10303-21;\nHEADER;\nENDSEC;\nEND-ISO-10303-21;\n"), Options{})
	var bad *SyntaxError
	if !errors.As(err, &bad) || bad.Pos.Line != 5 {
		t.Errorf("error %v, want a SyntaxError in line 5", err)
	}
}

func TestPositions(t *testing.T) {
	src := top + "#1=A();\n  #2=CIRCLE('',#1,\n   x);\n" + bottom
	f, err := Scan([]byte(src), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _ := f.Lookup(2)
	if got, want := r.Pos(), (Pos{Line: 9, Col: 3}); got != want {
		t.Errorf("record at %v, want %v", got, want)
	}
	p := r.Params()
	p.Real(2)
	var bad *ParamError
	if !errors.As(p.Err(), &bad) || bad.Pos() != (Pos{Line: 10, Col: 4}) {
		t.Errorf("error %v, want it in line 10, column 4", p.Err())
	}
	if want := `#2 CIRCLE, parameter 3 (line 10, column 4): expected a number, found "x"`; p.Err().Error() != want {
		t.Errorf("error %q, want %q", p.Err(), want)
	}
}

// Of lists by word, or walks over all: the answer is that of asking each record.
func TestOfMatchesAsking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := top
		for i := range rapid.SampledFrom([]int{10, 300, 400}).Draw(t, "records") {
			kind := "POINT(1)"
			if rapid.IntRange(0, 30).Draw(t, "rare") == 0 {
				kind = rapid.SampledFrom([]string{"A()", "B()", "(A()B())", "C()", "D()"}).Draw(t, "kind")
			}
			src += fmt.Sprintf("#%d=%s;", 1+i*7%290, kind)
		}
		f, err := Scan([]byte(src+bottom), Options{})
		if err != nil {
			t.Fatal(err)
		}
		names := rapid.SliceOf(rapid.SampledFrom([]string{"POINT", "A", "B", "C", "C", "D", "D", "E"})).Draw(t, "names")
		var want, got []ID
		for r := range f.All() {
			if r.Is(names...) {
				want = append(want, r.ID())
			}
		}
		for r := range f.Of(names...) {
			got = append(got, r.ID())
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("%q (-asked +Of)\n%s", names, d)
		}
	})
}

// Positions worked out through the line table are those of counting.
func TestPosAtMatchesCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3*lineBlock).Draw(t, "size")
		step := rapid.IntRange(1, 500).Draw(t, "line")
		src := []byte(strings.Repeat("x", n))
		for i := step; i < n; i += step {
			src[i] = '\n'
		}
		off := rapid.IntRange(0, n).Draw(t, "offset")
		want := Pos{Line: 1 + strings.Count(string(src[:off]), "\n"), Col: off - strings.LastIndexByte(string(src[:off]), '\n')}
		if got := (&File{src: src}).PosAt(off); got != want {
			t.Fatalf("offset %d: %v, counting gives %v", off, got, want)
		}
	})
}

// A hundred thousand parentheses cost no stack.
func TestDepth(t *testing.T) {
	const n = 100_000
	src := top + "#1=A(" + strings.Repeat("(", n) + strings.Repeat(")", n) + ",7);\n#2=" + strings.Repeat("(", n) + ";\n#3=B();" + bottom
	f, err := Scan([]byte(src), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _ := f.Lookup(1)
	p := r.Params()
	if p.Int(1) != 7 || p.Err() != nil {
		t.Errorf("parameter behind %d parentheses: %v", n, p.Err())
	}
	if _, ok := f.Lookup(3); !ok {
		t.Error("record behind the broken one is lost")
	}
}

func seeds(f *testing.F) {
	files, err := filepath.Glob("testdata/*.stp")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
}

// No input panics or hangs, and every record and value can be looked at.
func FuzzScan(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, src []byte) {
		sameScan(t, src, 2+len(src)%5, Options{MaxWarnings: 1 + len(src)%3})
		file, err := Scan(src, Options{})
		if err != nil {
			return
		}
		if file.Len() > len(src) {
			t.Fatalf("%d records from %d bytes", file.Len(), len(src))
		}
		for r := range file.All() {
			_, _ = r.Pos(), r.Bytes()
			p := r.Params()
			touch(&p)
			for _, l := range r.Leaves() {
				p, ok := r.Leaf(l)
				if !ok {
					t.Fatalf("%v: leaf %s is not found", r.ID(), l)
				}
				touch(&p)
			}
		}
	})
}

// touch asks a record every question.
func touch(p *Params) {
	for i := range p.Len() + 1 {
		_, _ = p.Value(i).Real()
		_, _ = p.Value(i).Bool()
		_, _ = p.Value(i).Text()
		_, _, _ = p.Value(i).Typed()
		q := *p
		_ = q.Strings(i)
		q = *p
		_ = q.RefGrid(i)
		q = *p
		_ = q.Reals(i, nil)
		_, _ = q.Coords(i)
		if err := q.Err(); err != nil {
			_ = err.Error()
		}
	}
}
