package reach_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

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
	ctx := context.Background()
	asm, err := step.ReadFile(ctx, path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: geom.Tolerance{Chord: 0.05, Angle: mgl64.DegToRad(20)}})
	if err != nil {
		t.Fatal(err)
	}
	fs := fastener.Find(ctx, p)
	holds, joints := joint.Find(ctx, p, fs)
	return judged{p, fs, reach.Judge(ctx, p, fs, holds, joints, reach.Options{})}
}

// truth is what the script that made a demo file knows about it. A verdict is
// null where the designer does not say.
type truth struct {
	File        string
	WorkingSide mgl64.Vec3 `json:"working_side"`
	Fasteners   []struct {
		Path    string
		Verdict *reach.Verdict
		Side    mgl64.Vec3
		Hidden  bool
	}
}

// Every fastener of the demo revisions is judged as its designer says.
func TestDemoTruth(t *testing.T) {
	files, err := filepath.Glob("../../fixtures/*.truth.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no truth beside the demo: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) { checkTruth(t, file) })
	}
}

func checkTruth(t *testing.T, file string) {
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var want truth
	if err := json.Unmarshal(src, &want); err != nil {
		t.Fatal(err)
	}
	got := judgeFile(t, filepath.Join(filepath.Dir(file), want.File))
	if got.r.Side != want.WorkingSide {
		t.Errorf("working side %v, want %v", got.r.Side, want.WorkingSide)
	}
	byPath := map[string]*reach.Reach{}
	for i := range got.fs {
		byPath[got.p.Occ(got.fs[i].Solids[0]).Path] = &got.r.Reaches[i]
	}
	for _, w := range want.Fasteners {
		r := byPath[w.Path]
		switch {
		case r == nil:
			t.Errorf("%s was not recognised", w.Path)
		case w.Verdict != nil && r.Verdict != *w.Verdict:
			t.Errorf("%s: %s, want %s: %s", w.Path, r.Verdict, *w.Verdict, r.Why)
		case r.Hidden != w.Hidden:
			t.Errorf("%s: hidden %v, want %v", w.Path, r.Hidden, w.Hidden)
		case r.Side.Dot(w.Side) < 0.9999:
			t.Errorf("%s: from %v, want %v", w.Path, r.Side, w.Side)
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
