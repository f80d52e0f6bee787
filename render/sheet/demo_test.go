package sheet

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/geom"
	"stepscan/render/view"
	"stepscan/step"
)

// judged reads a file and judges it.
func judged(t *testing.T, path string) *Book {
	t.Helper()
	ctx := context.Background()
	asm, err := step.ReadFile(ctx, path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: geom.Tolerance{Chord: 0.05, Angle: 0.35}})
	if err != nil {
		t.Fatal(err)
	}
	fs := fastener.Find(ctx, p)
	holds, joints := joint.Find(ctx, p, fs)
	res := reach.Judge(ctx, p, fs, holds, joints, reach.Options{})
	return New(p, fs, holds, res, Meta{Version: "test"})
}

// drawAll draws every sheet of a file and checks each.
func drawAll(t *testing.T, b *Book, name string) {
	t.Helper()
	over := b.Overview()
	keepSheet(t, name+"-overview", over)
	checkTexts(t, parse(t, over))
	for i := range b.fs {
		svg := b.Joint(i)
		keepSheet(t, name+"-"+b.fs[i].ID, svg)
		checkTexts(t, parse(t, svg))
	}
}

func TestDemoSheets(t *testing.T) {
	files, err := filepath.Glob("../../fixtures/logger-*.step")
	if err != nil || len(files) == 0 {
		t.Fatalf("no demo files (%v)", err)
	}
	for _, f := range files {
		t.Run(filepath.Base(f), func(t *testing.T) {
			drawAll(t, judged(t, f), strings.TrimSuffix(filepath.Base(f), ".step"))
		})
	}
}

func TestRealSheets(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	for _, f := range []string{"as1-oc-214.stp", "as1-tu-203.stp"} {
		t.Run(f, func(t *testing.T) {
			drawAll(t, judged(t, filepath.Join(shared, "data", f)), strings.TrimSuffix(f, ".stp"))
		})
	}
}

// leaders are the leader lines of a sheet's main picture.
func leaders(t *testing.T, svg []byte) [][]view.Point {
	t.Helper()
	_, main, _ := strings.Cut(string(svg), `<g id="across"`)
	main, _, _ = strings.Cut(main, `<g id="along"`)
	var out [][]view.Point
	for _, m := range regexp.MustCompile(`class="leader" d="M([^"]*)"`).FindAllStringSubmatch(main, -1) {
		var l []view.Point
		for _, xy := range strings.Split(m[1], "L") {
			f := strings.Fields(xy)
			l = append(l, view.Point{X: number(t, f[0]), Y: number(t, f[1])})
		}
		out = append(out, l)
	}
	return out
}

// TestLeadersOfTheDemo: no two leaders of a sheet cross.
func TestLeadersOfTheDemo(t *testing.T) {
	b := judged(t, "../../fixtures/logger-a.step")
	n := 0
	for i := range b.fs {
		ls := leaders(t, b.Joint(i))
		n += len(ls)
		for k, l := range ls {
			for _, o := range ls[:k] {
				if cross(l, o) {
					t.Errorf("%s: leaders %.1f and %.1f cross", b.fs[i].ID, o, l)
				}
			}
		}
	}
	if n < 4*len(b.fs) {
		t.Errorf("only %d leaders on %d sheets", n, len(b.fs))
	}
}

func cross(a, b []view.Point) bool {
	for i := 1; i < len(a); i++ {
		for k := 1; k < len(b); k++ {
			if crosses(view.Segment{A: a[i-1], B: a[i]}, view.Segment{A: b[k-1], B: b[k]}) {
				return true
			}
		}
	}
	return false
}
