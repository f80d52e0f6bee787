package step

import (
	"errors"
	"strings"
	"testing"
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
