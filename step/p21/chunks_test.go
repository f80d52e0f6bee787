package p21

import (
	"encoding/binary"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// pieces are what the texts of the tests below are put together from: sound
// records, and whatever makes a guessed start wrong or a scan lose its way.
var pieces = []string{
	"#%d=A(1.,2.);\n", "#%d = B('x',#1) ;\r\n", "#%d=C('it''s;');", "#%d=(A(1) C('('));\n", "#%d=lower(1);\n",
	"#%d=D%d(1);\n", "#%d=A(\n'a\n;#7=A(2);\n');\n", "/* #9=A(1);\n#10=B(');\n */", "#%d=A('open;\n", "#%d=A(1)\n",
	"#%d=A((1);\n", "#%d=(A(1;\n", "#%d=();\n", "#%d=CUT\nNAME(1);\n", "'", "/*", "*/", ";", "\n", "#%d", "=", "(", ")",
	"junk;\n", "ENDSEC;\n", "DATA;\n", "ENDSEC;\nDATA;\n", "END-ISO-10303-21;\n", "#%d=A(/*;*/1/*'*/);\n", "é\x00\x7F",
	"#1=A(1.,2.);\n", "#99999999999999999999=A();\n", "#%d=A!B(1);\n", "/* open\n", "#%d=A(/*\n", "#%d000000000000=A();\n", "#%d=A\n!B(1);\n",
}

// drawText puts pieces together, sound records more often than others.
func drawText(t *rapid.T) string {
	var b strings.Builder
	b.WriteString(top)
	for i := range rapid.IntRange(0, 60).Draw(t, "pieces") {
		k := 0
		if rapid.IntRange(0, 2).Draw(t, "odd") == 0 {
			k = rapid.IntRange(0, len(pieces)-1).Draw(t, "piece")
		}
		b.WriteString(strings.ReplaceAll(pieces[k], "%d", fmt.Sprint(10+i)))
	}
	return b.String() + rapid.SampledFrom([]string{bottom, "", "ENDSEC;\n", "#5=A("}).Draw(t, "end")
}

// sameScan fails unless a text in so many chunks gives what it gives in one.
func sameScan(t interface{ Fatalf(string, ...any) }, src []byte, chunks int, opt Options) {
	opt.Jobs = 3
	want, err1 := scan(src, opt, 1)
	got, err2 := scan(src, opt, chunks)
	if fmt.Sprint(err1) != fmt.Sprint(err2) {
		t.Fatalf("%d chunks: error %v, in one %v\n%q", chunks, err2, err1, src)
	}
	if err1 != nil {
		return
	}
	if d := cmp.Diff(want.Warnings, got.Warnings); d != "" || want.MoreWarnings != got.MoreWarnings {
		t.Fatalf("%d chunks: other warnings, %d more, in one %d\n%s\n%q", chunks, got.MoreWarnings, want.MoreWarnings, d, src)
	}
	switch {
	case !reflect.DeepEqual(want.recs, got.recs) && len(want.recs)+len(got.recs) > 0:
		t.Fatalf("%d chunks: records %v, in one %v\n%q", chunks, dump(got), dump(want), src)
	case !reflect.DeepEqual(want.words.all, got.words.all):
		t.Fatalf("%d chunks: words %v, in one %v\n%q", chunks, got.words.all, want.words.all, src)
	case !reflect.DeepEqual(want.index, got.index):
		t.Fatalf("%d chunks: another index\n%q", chunks, src)
	case want.Truncated != got.Truncated || want.CutOff != got.CutOff || !reflect.DeepEqual(want.Header, got.Header):
		t.Fatalf("%d chunks: truncated %v at %v, in one %v at %v\n%q", chunks, got.Truncated, got.CutOff, want.Truncated, want.CutOff, src)
	}
}

// Cutting a text must change nothing, wherever the cuts fall.
func TestChunksChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := []byte(drawText(t))
		sameScan(t, src, rapid.IntRange(2, 12).Draw(t, "chunks"), Options{MaxWarnings: rapid.IntRange(0, 3).Draw(t, "warnings")})
	})
}

func TestChunksOfRealFiles(t *testing.T) {
	for _, src := range sharedFiles(t) {
		sameScan(t, src, 7, Options{})
	}
	sameScan(t, benchText(), 5, Options{})
}

// A chunk's guess that is wrong must not be used, and most are right.
func TestGuesses(t *testing.T) {
	const fake = "#%d=A('\n;\n',/*\n;#1=B();\n*/1);\n"
	src := top
	for i := range 50 {
		src += fmt.Sprintf(fake, i+10)
	}
	src += bottom
	if f, err := scan([]byte(src), Options{Jobs: 2}, 9); err != nil || f.Len() != 50 || len(f.Warnings) > 0 {
		t.Errorf("%d records (%v), want 50: records in comments were read\n%v", f.Len(), err, f.Warnings)
	}
	long := benchText()[:1<<20]
	if cuts := cutPoints(long, len(top), 8); len(cuts) != 9 {
		t.Errorf("%d cuts in a megabyte of records, want 9", len(cuts))
	}
}

// Records without semicolons outgrow their part of the table, which must not
// reach into the next chunk's.
func TestChunksOutgrown(t *testing.T) {
	var b strings.Builder
	b.WriteString(top)
	for i := range 900 {
		switch {
		case i == 300:
			b.WriteString("/*" + strings.Repeat(";\n#7=B();\n", 100) + "*/\n")
		case i > 300 && i < 600:
			fmt.Fprintf(&b, "#%d=A(%d)\n", i+10, i)
		default:
			fmt.Fprintf(&b, "#%d=A(%d);\n", i+10, i)
		}
	}
	src := []byte(b.String() + bottom)
	for chunks := range 30 {
		sameScan(t, src, chunks+2, Options{})
	}
}

// The searches by words of eight bytes find what a loop over bytes finds.
func TestStopsMatchBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.SliceOfN(rapid.SampledFrom([]byte("ab9 ;='/()&.,:<>!#\x00\x7F\x80\xA7\xBB\xBD\xFF")), 0, 60).Draw(t, "text")
		p := rapid.IntRange(0, len(src)).Draw(t, "from")
		if got, want := nextStop(src, p), p+indexAny(src[p:], ";='/"); got != want {
			t.Fatalf("stop in %q from %d: %d, want %d", src, p, got, want)
		}
		if got, want := nextBracket(src, p), p+indexAny(src[p:], "()'/;"); got != want {
			t.Fatalf("bracket in %q from %d: %d, want %d", src, p, got, want)
		}
	})
}

func indexAny(b []byte, set string) int {
	for i, c := range b {
		if strings.IndexByte(set, c) >= 0 {
			return i
		}
	}
	return len(b)
}

// Eight digits at once are read as strconv reads them one by one.
func TestLeadingNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`[0-9]{0,8}`).Draw(t, "digits")
		rest := rapid.StringMatching(`[ =/:;A\xA0\xFF]`).Draw(t, "rest")
		want, n := uint64(0), len(digits)
		if n == 8 {
			n = 0
		}
		if n > 0 {
			want, _ = strconv.ParseUint(digits, 10, 64)
		}
		text := digits + strings.Repeat(rest, 8)
		if got, k := leadingNumber(binary.LittleEndian.Uint64([]byte(text[:8]))); got != want || k != n {
			t.Fatalf("%q: %d of %d digits, want %d of %d", text, got, k, want, n)
		}
	})
}
