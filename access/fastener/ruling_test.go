package fastener

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
)

// ruled is what a part standing alone is found as under a ruling.
func ruled(t *testing.T, p product.Part, r *Ruling) ([]Fastener, []Doubt) {
	t.Helper()
	ctx := context.Background()
	s := feature.NewScene(ctx, ft.Alone(p))
	return FindRuled(ctx, s, func(product.SolidIndex) *Ruling { return r })
}

func TestRuledToBeNone(t *testing.T) {
	p := cap4("screw M4")
	if f, d := ruled(t, p, nil); len(f) != 1 || len(d) != 0 {
		t.Fatalf("without a ruling: %+v, %+v", f, d)
	}
	if f, d := ruled(t, p, &Ruling{No: true, By: "the notes file"}); len(f) != 0 || len(d) != 0 {
		t.Errorf("%+v, %+v; want neither a fastener nor a doubt", f, d)
	}
}

// A ruling changes what it states and leaves the rest as recognised.
func TestRuledOtherwise(t *testing.T) {
	plain, _ := ruled(t, cap4("screw M5"), nil)
	f, _ := ruled(t, cap4("screw M5"), &Ruling{Kind: Screw, Size: "M5", Drive: Hexalobular, DriveSize: "T20", By: "the notes file"})
	if len(f) != 1 {
		t.Fatalf("%+v", f)
	}
	got := f[0]
	if got.Size != "M5" || got.Nominal != 5 || got.Drive != Hexalobular || got.DriveSize != "T20" || got.Designation != "" || got.Confidence != 1 || got.Conflict != "" {
		t.Errorf("%+v", got)
	}
	if got.Axis != plain[0].Axis || got.Length != plain[0].Length || got.HeadD != plain[0].HeadD {
		t.Errorf("%+v, want place and head of %+v", got, plain[0])
	}
	if !slices.Contains(got.Evidence, "the notes file says: screw, M5, hexalobular, T20") {
		t.Errorf("%q", got.Evidence)
	}
}

// A shape that recognition does not accept is a fastener about its axis, its
// head at the wider end, whichever way it is drawn.
func TestRuledToBeOne(t *testing.T) {
	knob := []ft.Ring{ft.Circle(0, 0), ft.Circle(0, 3), ft.Circle(18, 3), ft.Circle(18, 12), ft.Circle(24, 15), ft.Circle(30, 5), ft.Circle(30, 0)}
	for _, up := range []bool{true, false} {
		rings := slices.Clone(knob)
		if !up {
			for i := range rings { // turned over: heights fall, so the order has to
				rings[i] = knob[len(knob)-1-i]
				rings[i].Z = 30 - rings[i].Z
			}
		}
		part := ft.Turn("", rings...)
		if f, _ := ruled(t, part, nil); len(f) != 0 {
			t.Fatalf("recognised by itself: %+v", f)
		}
		f, _ := ruled(t, part, &Ruling{Kind: Screw, Size: "M6", By: "the notes file"})
		if len(f) != 1 {
			t.Fatalf("up %v: %+v", up, f)
		}
		got := f[0]
		sense := 1.0
		if !up {
			sense = -1
		}
		if got.Kind != Screw || got.Nominal != 6 || got.Drive != UnknownDrive || math.Abs(got.HeadD-30) > 0.2 || math.Abs(got.HeadH-12) > 0.2 ||
			math.Abs(got.Length-18) > 0.2 || got.Axis.D[2]*sense < 0.999 || math.Abs(got.Front-got.Back-30) > 1e-6 {
			t.Errorf("up %v: %+v", up, got)
		}
	}
}

func TestRuledWithoutAnAxis(t *testing.T) {
	box := ft.Turn("", ft.Polygon(0, 10, 4), ft.Polygon(8, 10, 4))
	f, d := ruled(t, box, &Ruling{Kind: Clip, By: "the notes file"})
	if len(f) != 0 || len(d) != 1 || !d[0].Ruled || !strings.Contains(d[0].Text, "the notes file says clip") {
		t.Errorf("%+v, %+v; want one doubt", f, d)
	}
}
