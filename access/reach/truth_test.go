package reach_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/step"
)

// judged is a file carried through every stage up to the verdicts.
type judged struct {
	p  *product.Product
	fs []fastener.Fastener
	r  *reach.Result
}

func judgeFile(t *testing.T, path string) judged {
	t.Helper()
	asm, err := step.ReadFile(context.Background(), path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return judge(t, asm, 0.05, nil)
}

// judge carries an assembly through every stage; chord in mm.
func judge(t *testing.T, asm *step.Assembly, chord float64, side *mgl64.Vec3) judged {
	t.Helper()
	ctx := context.Background()
	p, err := product.Build(ctx, asm, product.Options{Tol: geom.Tolerance{Chord: chord, Angle: mgl64.DegToRad(20)}})
	if err != nil {
		t.Fatal(err)
	}
	fs := fastener.Find(ctx, p)
	holds, joints := joint.Find(ctx, p, fs)
	return judged{p, fs, reach.Judge(ctx, p, fs, holds, joints, reach.Options{Side: side})}
}

// Every fastener of the demo revisions is judged as its designer says.
func TestDemoTruth(t *testing.T) {
	for _, rev := range []string{"a", "b"} {
		got, want := stated(t, rev)
		if got.r.Side != mgl64.Vec3(want.WorkingSide) {
			t.Errorf("logger-%s: working side %v, want %v", rev, got.r.Side, want.WorkingSide)
		}
		byPath := got.byPath()
		for _, w := range want.Fasteners {
			r := byPath[w.Path]
			switch {
			case r == nil:
				t.Errorf("%s was not recognised", w.Path)
			case w.Verdict != nil && string(r.Verdict) != *w.Verdict: // nil where the designer does not say
				t.Errorf("%s: %s, want %s: %s", w.Path, r.Verdict, *w.Verdict, r.Why)
			case r.Hidden != w.Hidden:
				t.Errorf("%s: hidden %v, want %v", w.Path, r.Hidden, w.Hidden)
			case r.Side.Dot(w.Side) < 0.9999:
				t.Errorf("%s: from %v, want %v", w.Path, r.Side, w.Side)
			}
		}
	}
}

// Six bolts hold two brackets to a plate, each with a nut below: every one
// needs two tools, and the two nuts of the rod between the brackets do not.
func TestBoltsOfTheBracketsAreTwoSided(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	for _, name := range []string{"as1-oc-214.stp", "as1-tu-203.stp"} {
		t.Run(name, func(t *testing.T) {
			got := judgeFile(t, filepath.Join(shared, "data", name))
			count := map[fastener.Kind]map[reach.Verdict]int{fastener.Bolt: {}, fastener.Nut: {}}
			for i := range got.fs {
				if c := count[got.fs[i].Kind]; c != nil {
					c[got.r.Reaches[i].Verdict]++
				}
				for _, n := range names(got.p, got.r.Reaches[i].After) { // neighbours' nuts need not go
					if !strings.HasPrefix(strings.ToLower(n), "rod") {
						t.Errorf("%s once %q is off", got.fs[i].ID, n)
					}
				}
			}
			if n := count[fastener.Bolt]; n[reach.TwoSided] != 6 || len(n) != 1 {
				t.Errorf("bolts: %v", n)
			}
			if n := count[fastener.Nut]; n[reach.TwoSided] != 6 || n[reach.Turn] != 2 || len(n) != 2 {
				t.Errorf("nuts: %v", n)
			}
			if got.r.Side != (mgl64.Vec3{0, 0, 1}) {
				t.Errorf("working side %v", got.r.Side)
			}
		})
	}
}

// The screws of the extruder's flange stand beside a tube of insulation, which
// leaves 11.5 mm about each nut: too little for a 17 mm socket or ring, and
// the gear box hangs over them besides. A fitter holds the nuts with an
// open-end spanner, its mouth towards the tube, and turns the screws.
func TestNutsBesideTheTubeAreHeld(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	got := judgeFile(t, filepath.Join(shared, "data", "products", "recycler", "02_00_00-extruder_unit.STEP"))
	count := map[string]int{}
	for i := range got.fs {
		r := &got.r.Reaches[i]
		count[fmt.Sprintf("%s %s, held %v: %s", got.fs[i].Kind, r.Verdict, r.Held, r.Tool.Name)]++
	}
	want := map[string]int{
		"bolt two-sided, held false: bit hex 8 in 1/4 in holder":   4,
		"nut two-sided, held true: open-end spanner 17":            4,
		"washer two-sided, held false: bit hex 8 in 1/4 in holder": 4,
	}
	if d := cmp.Diff(want, count); d != "" {
		t.Error(d)
	}
}
