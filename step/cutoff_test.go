package step

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"stepscan/step/p21"
)

// TestCutOff: a file that stops among its records is told from one that only
// lacks its last lines.
func TestCutOff(t *testing.T) {
	const whole = "ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=CARTESIAN_POINT('',(0.,0.,0.));\n#2=CARTESIAN_POINT('a;b',(0.,0.,1.));\nENDSEC;\nEND-ISO-10303-21;\n"
	for _, c := range []struct {
		name, upTo string
		line       int // 0: whole
	}{
		{"whole", "END-ISO-10303-21;", 0},
		{"last line missing", "1.));\nENDSEC;", 0},
		{"between records", "(0.,0.,0.));\n", 6},
		{"inside a record", "(0.,0.,1", 6},
		{"inside a string", "'a;", 6},
		{"before the first record", "DATA;\n", 5},
	} {
		i := strings.Index(whole, c.upTo)
		a, err := Read(t.Context(), "cut.stp", []byte(whole[:i+len(c.upTo)]), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var cut *CutOffError
		switch err := a.RequireWhole(); {
		case c.line == 0 && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.line > 0 && (!errors.As(err, &cut) || cut.Pos.Line != c.line):
			t.Errorf("%s: %v, want it cut off in line %d", c.name, err, c.line)
		}
	}
}

// TestCutOffPacked: a compressed file that stops early is read as far as it
// goes and told as a cut text is; where nothing can be made of it, it is no STEP
// file. The last eight bytes are a checksum and the length (RFC 1952, 2.3.1).
func TestCutOffPacked(t *testing.T) {
	box := oneBox()
	packed := pack(t, box)
	const tail, checks = 40, 8 // where records may all be there, and all of the text
	read, tried := 0, 0
	for n := 0; n < len(packed); n++ {
		if n < len(packed)-tail {
			n += 6
		}
		tried++
		a, err := Read(t.Context(), "cut.stp.gz", packed[:n], Options{})
		if err != nil {
			var not *p21.NotStepError
			if !errors.As(err, &not) || n > len(packed)/2 {
				t.Fatalf("%d of %d bytes: %v", n, len(packed), err)
			}
			continue
		}
		read++
		wantSkip(t, a, "read out of a compressed file that is cut off")
		whole := a.RequireWhole() == nil
		switch {
		case n < len(packed)-tail && (whole || !a.Source.Truncated), n >= len(packed)-checks && (!whole || a.Source.Truncated):
			t.Errorf("%d of %d bytes: %v, truncated %v", n, len(packed), a.RequireWhole(), a.Source.Truncated)
		case whole && a.SolidCount() != 1:
			t.Errorf("%d of %d bytes: %d solids", n, len(packed), a.SolidCount())
		}
	}
	if read < tried/2 {
		t.Errorf("only %d of %d cuts were read", read, tried)
	}
	broken := slices.Clone(packed)
	broken[len(broken)-6] ^= 1 // of the checksum
	if _, err := Read(t.Context(), "broken.stp.gz", broken, Options{}); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Errorf("a wrong checksum: %v", err)
	}
}
