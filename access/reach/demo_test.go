package reach_test

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stepscan/access/product"
	"stepscan/access/reach"
	"stepscan/fixtures"
	"stepscan/geom"
)

// stated is a judged revision with the truth about it.
func stated(t *testing.T, rev string) (judged, *fixtures.Truth) {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("../../fixtures", "logger-"+rev+".truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	want, err := fixtures.ReadTruth(src)
	if err != nil {
		t.Fatal(err)
	}
	return judgeFile(t, filepath.Join("../../fixtures", want.File)), want
}

// trialOf is the trial of the first tool whose name has the word in it.
func trialOf(r *reach.Reach, word string) *reach.Trial {
	i := slices.IndexFunc(r.Tried, func(t reach.Trial) bool { return strings.Contains(t.Tool.Name, word) })
	if i < 0 {
		return nil
	}
	return &r.Tried[i]
}

func names(p *product.Product, list []product.SolidIndex) []string {
	out := []string{}
	for _, s := range list {
		out = append(out, p.Name(s))
	}
	slices.Sort(out)
	return out
}

// lowest is the least height along an axis, mm, of a solid's box.
func lowest(p *product.Product, s product.SolidIndex, a geom.Axis) float64 {
	b, h := &p.Solids[s].Box, math.Inf(1)
	for i := range 8 {
		q := b.Min
		for k := range 3 {
			if i>>k&1 == 1 {
				q[k] = b.Max[k]
			}
		}
		h = min(h, a.Height(q))
	}
	return h
}

// The parts in a tool's way are those that Open CASCADE cut with the tool's
// solid when the demo was made. The modeller raises the screw by its own length
// only: what stands higher may be in its way as well.
func TestBlockersAreThoseOfTheModeller(t *testing.T) {
	words := map[string]string{"bit in holder": "in 1/4 in holder", "screwdriver": "screwdriver"}
	for _, rev := range []string{"a", "b"} {
		got, want := stated(t, rev)
		byPath, seen := got.byPath(), 0
		for _, w := range want.Fasteners {
			for tool, blockers := range w.Blockers {
				r := byPath[w.Path]
				trial := trialOf(r, words[tool])
				if words[tool] == "" || trial == nil {
					continue
				}
				seen++
				ours := slices.DeleteFunc(slices.Clone(trial.Blockers), func(s product.SolidIndex) bool {
					return !slices.Contains(blockers, got.p.Name(s)) && lowest(got.p, s, r.Axis) > w.Length
				})
				if d := cmp.Diff(blockers, names(got.p, ours)); d != "" {
					t.Errorf("logger-%s, %s, %s: - modeller, + ours\n%s", rev, w.Path, tool, d)
				}
			}
		}
		if seen < 10 {
			t.Errorf("logger-%s: %d sets compared", rev, seen)
		}
	}
}

// What runs beside an axis is as near as the modeller says, within the chord
// error.
func TestPartBesideTheAxisIsAsNear(t *testing.T) {
	got, want := stated(t, "a")
	byPath, seen := got.byPath(), 0
	for _, w := range want.Fasteners {
		if w.Beside == nil {
			continue
		}
		seen++
		r := byPath[w.Path]
		trial := &r.Reached[0]
		if n := got.p.Name(trial.Limiter); n != w.Beside.Part || math.Abs(trial.Free-w.Beside.Free) > got.p.Tol.Chord {
			t.Errorf("%s: %q leaves %.3f mm, the modeller says %q and %.3f", w.Path, n, trial.Free, w.Beside.Part, w.Beside.Free)
		}
		if trial.Fits || trial.Limit != reach.ByTool || trial.Section != "holder" {
			t.Errorf("%s: fits %v, limited by %s at the %s", w.Path, trial.Fits, trial.Limit, trial.Section)
		}
		if !strings.HasPrefix(r.Tool.Name, w.Only) {
			t.Errorf("%s: undone with %s, want only the %s", w.Path, r.Tool.Name, w.Only)
		}
	}
	if seen == 0 {
		t.Error("the truth names nothing beside an axis")
	}
}
