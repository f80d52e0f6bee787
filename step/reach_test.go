package step

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/step/p21"
)

// Lengths beyond all products would overflow in the products of lengths that
// geometry is made of: the record is refused, with the number and the bound.
func TestLengthsOutOfReachAreRefused(t *testing.T) {
	for _, record := range []string{ // #1 is a placement
		"CARTESIAN_POINT('',(0.,1.E10,0.))",
		"CYLINDRICAL_SURFACE('',#1,1.E300)",
		"SPHERICAL_SURFACE('',#1,-1.E10)",
		"TOROIDAL_SURFACE('',#1,5.,2.E9)",
		"CIRCLE('',#1,1.E155)",
		"ELLIPSE('',#1,5.,1.E10)",
	} {
		var m maker
		place := m.place(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0})
		m.add("%s", strings.ReplaceAll(record, "#1,", place+","))
		f, err := p21.Scan(m.text(), p21.Options{})
		if err != nil {
			t.Fatal(err)
		}
		g := geometry{r: newReader(t.Context(), f, Options{}), u: unitless}
		switch n := p21.ID(m.n); {
		case strings.HasPrefix(record, "CARTESIAN"):
			_, err = g.point(n)
		case strings.Contains(record, "SURFACE"):
			_, _, err = g.surface(n, 0)
		default:
			_, _, err = g.curve(n, 0, wholeCurve)
		}
		if err == nil || !strings.Contains(err.Error(), "out of all bounds") {
			t.Errorf("%s: error %v, want one about the bound", record, err)
		}
	}
	if err := withinReach(maxReach, -maxReach, 0); err != nil {
		t.Error(err)
	}
	if withinReach(math.NaN()) == nil || withinReach(0, math.Inf(-1)) == nil {
		t.Error("NaN or Inf within reach")
	}
}

// A pipe that nobody writes to must not outlast the context, and a device has
// no end.
func TestReadingEndsWithTheContext(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Skip(err)
	}
	defer r.Close()
	defer w.Close()
	path := fmt.Sprintf("/dev/fd/%d", r.Fd())
	if _, err := os.Stat(path); err != nil {
		t.Skip("no files for open descriptors here")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := ReadFile(ctx, path, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("pipe: error %v, want the context's", err)
	}
	if _, err := ReadFile(t.Context(), os.DevNull, Options{}); !errors.Is(err, errIsDevice) {
		t.Errorf("device: error %v", err)
	}
}
