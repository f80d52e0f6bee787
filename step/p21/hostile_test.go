package p21

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// Texts made to be searched over and over: each is short work if every byte is
// looked at a few times, and hours if each record looks for something far away.
// None may take much more memory than its size either.
func TestHostileTexts(t *testing.T) {
	const size = 1 << 20
	cases := map[string]string{
		"no semicolons":                    "#1=A(1)\n",
		"no semicolons, complex":           "#1=(A(1)\n",
		"no semicolons, no parameters":     "#1=\n",
		"no semicolons, blanks":            "#1   \n",
		"numbers only":                     "#1\n",
		"unclosed complex":                 "#1=(A((((1;\n",
		"open strings":                     "#1=A(';\n",
		"open strings over lines":          "#1=A('\n",
		"open comments":                    "#1=A(/*\n",
		"open comments in sections":        "ENDSEC;DATA;/*\n",
		"open comments between records":    "#1=A();/*\n",
		"open and closed comments":         "#1=A(/*;*/'/*'\n",
		"equals signs":                     "=",
		"equals signs in a record":         "#1=A(   =   =   =",
		"digits and equals signs":          "#1=A(11111111=",
		"semicolons":                       ";",
		"junk":                             "x;",
		"hashes":                           "#",
		"parentheses":                      "(",
		"leaves":                           "A()",
		"shortest records":                 "#1=A();",
		"sections":                         "ENDSEC;DATA;",
		"skipped sections, open comments":  "ENDSEC;ANCHOR;/*ENDSEC;",
		"skipped sections, open strings":   "ENDSEC;ANCHOR;'ENDSEC;",
		"numbers cut by line breaks":       "#1\n2\n",
		"names cut by line breaks":         "#1=A\n",
		"blanks":                           " ",
		"one long keyword":                 "A",
		"digits":                           "1",
		"records, blanks for their starts": ";            #",
	}
	for name, piece := range cases {
		t.Run(name, func(t *testing.T) {
			for _, head := range []string{"", "#1=(", "#1=A("} {
				src := []byte(top + head + strings.Repeat(piece, size/len(piece)))
				var before, after runtime.MemStats
				runtime.ReadMemStats(&before)
				f, err := scan(src, Options{Jobs: 2}, 8)
				runtime.ReadMemStats(&after)
				if err != nil {
					t.Fatal(err)
				}
				// In all, garbage included: a table of damaged records grows by
				// doubling, once in its chunk and once in the whole.
				if got := after.TotalAlloc - before.TotalAlloc; got > 64*size {
					t.Errorf("behind %q: %d bytes allocated for a text of %d, want at most 64 times as many", head, got, size)
				}
				for i := range min(f.Len(), 100) {
					_ = Record{f: f, i: int32(i)}.Pos()
				}
			}
		})
	}
}

// A file of one line must answer for places as fast as one of many.
func TestPositionsInOneLine(t *testing.T) {
	f := &File{src: []byte(strings.Repeat("x", 16<<20))}
	for i := range 20_000 {
		off := len(f.src) - i
		if got, want := f.PosAt(off), (Pos{Line: 1, Col: off + 1}); got != want {
			t.Fatalf("offset %d: %v, want %v", off, got, want)
		}
	}
}

// A new name in each record costs many times the text; the limit on names does
// not depend on the chunks.
func TestTooManyNames(t *testing.T) {
	var b strings.Builder
	b.WriteString(top)
	for i := range maxWords + 2000 {
		if i%3 == 0 {
			fmt.Fprintf(&b, "#%d=(A%d()B());\n", i+1, i)
		} else {
			fmt.Fprintf(&b, "#%d=A%d();\n", i+1, i)
		}
	}
	b.WriteString("#100000=A1();\n" + bottom)
	src := []byte(b.String())
	f, err := Scan(src, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.words.all) > maxWords {
		t.Errorf("%d words, want at most %d", len(f.words.all), maxWords)
	}
	if len(f.Warnings) == 0 || !strings.Contains(f.Warnings[0].Text, "different entity names") {
		t.Errorf("warnings %v, want them about the names", f.Warnings)
	}
	if _, ok := f.Lookup(100000); !ok {
		t.Error("a record of a known name behind the limit is lost")
	}
	for _, chunks := range []int{2, 5, 9} {
		sameScan(t, src, chunks, Options{})
	}
}

func TestLimits(t *testing.T) {
	long := strings.Repeat("N", maxName+1)
	set := strings.Repeat("A()", maxSet+1)
	f, err := Scan([]byte(top+"#1="+long+"();\n#2=("+set+");\n#3=A();\n"+bottom), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f.Len() != 1 || len(f.Warnings) != 2 {
		t.Errorf("%d records, warnings %v; want only the last record", f.Len(), f.Warnings)
	}
	src := []byte(top + strings.Repeat("#1=A();\n", 1000) + bottom)
	var limit *LimitError
	if _, err := Scan(src, Options{MaxMemory: 1000}); !errors.As(err, &limit) {
		t.Errorf("error %v, want a LimitError", err)
	}
	if _, err := Scan(src, Options{MaxMemory: 1000 * 30}); err != nil {
		t.Error(err)
	}
}
