package reach_test

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/reach"
	"stepscan/fixtures"
	"stepscan/geom"
	"stepscan/step"
)

// demo reads revision A, or what a change made of its text.
func demo(t *testing.T, change func([]byte) []byte) *step.Assembly {
	t.Helper()
	src := fixtures.LoggerA()
	if change != nil {
		src = change(src)
	}
	asm, err := step.Read(context.Background(), "logger-a.step", src, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return asm
}

// What must not matter does not, on a real product.
func TestDemoUnderChange(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the demo a dozen times")
	}
	as := judge(t, demo(t, nil), 0.05, nil)
	for name, check := range map[string]func(*testing.T, judged){
		"turned": turnedDemo, "shuffled": shuffledDemo, "in inches": demoInInches, "with less": demoWithLess, "finer": finerDemo,
	} {
		t.Run(name, func(t *testing.T) { check(t, as) })
	}
}

// byPath finds the answers of a judgement by the paths of their fasteners.
func (j *judged) byPath() map[string]*reach.Reach {
	out := map[string]*reach.Reach{}
	for i := range j.fs {
		out[j.p.Occ(j.fs[i].Solids[0]).Path] = &j.r.Reaches[i]
	}
	return out
}

// sameAnswers compares two judgements of one product; free radii may differ by
// tol mm, swings by tol rad.
func sameAnswers(t *testing.T, want, got judged, tol float64) {
	t.Helper()
	a, b := want.byPath(), got.byPath()
	if len(a) != len(b) || len(a) == 0 {
		t.Fatalf("%d fasteners, want %d", len(b), len(a))
	}
	for path, w := range a {
		g := b[path]
		if g == nil {
			t.Fatalf("%s is gone", path)
		}
		if g.Verdict != w.Verdict || g.Hidden != w.Hidden || g.Tool.Name != w.Tool.Name {
			t.Errorf("%s: %s, hidden %v, %s; want %s, %v, %s", path, g.Verdict, g.Hidden, g.Tool.Name, w.Verdict, w.Hidden, w.Tool.Name)
		}
		xs, ys := inOrder(w.Tried), inOrder(g.Tried)
		for i := range xs {
			x, y := &xs[i], &ys[i]
			if x.Fits != y.Fits || x.Limit != y.Limit || x.Free != y.Free && !(math.Abs(x.Free-y.Free) <= tol) {
				t.Errorf("%s, %s: fits %v, %.9g by %s; want %v, %.9g by %s", path, x.Tool.Name, y.Fits, y.Free, y.Limit, x.Fits, x.Free, x.Limit)
			}
		}
	}
}

// inOrder sorts trials by tool and outcome: which end of a pin comes first
// depends on how it lies.
func inOrder(tried []reach.Trial) []reach.Trial {
	return slices.SortedFunc(slices.Values(tried), func(a, b reach.Trial) int {
		return cmp.Or(strings.Compare(a.Tool.Name, b.Tool.Name), strings.Compare(fmt.Sprint(a.Fits), fmt.Sprint(b.Fits)), cmp.Compare(a.Free, b.Free))
	})
}

// The demo turned and moved as a whole is judged alike from the turned side.
// Its walls then lie across the candidate directions of the root's frame, and
// lifts along the fasteners' own.
func turnedDemo(t *testing.T, want judged) {
	r := rand.New(rand.NewPCG(7, 1))
	for range 2 {
		q := mgl64.AnglesToQuat(6*r.Float64(), 6*r.Float64(), 6*r.Float64(), mgl64.XYZ).Normalize()
		move := geom.Transform{M: q.Mat4().Mat3(), T: mgl64.Vec3{300 * r.Float64(), -200, 10_000}}
		asm := demo(t, nil)
		for i := range asm.Occurrences {
			o := &asm.Occurrences[i]
			o.Placement = move.Mul(o.Placement)
		}
		side := move.Dir(want.r.Side)
		got := judge(t, asm, 0.05, &side)
		sameAnswers(t, want, got, 1e-6)
		sameKnowledge(t, want, got)
	}
}

// The order in which a file lists its occurrences says nothing.
func shuffledDemo(t *testing.T, want judged) {
	r := rand.New(rand.NewPCG(7, 2))
	for range 2 {
		asm := demo(t, nil)
		shuffle(asm, r)
		got := judge(t, asm, 0.05, nil)
		sameAnswers(t, want, got, 0)
		sameKnowledge(t, want, got)
	}
}

// shuffle puts the occurrences in any order in which parents come first.
func shuffle(asm *step.Assembly, r *rand.Rand) {
	old := asm.Occurrences
	at := make([]step.OccIndex, len(old)) // by old index: the new one
	out := old[:1:1]
	for ready := children(old, 0); len(ready) > 0; {
		k := r.IntN(len(ready))
		i := ready[k]
		ready = append(slices.Delete(ready, k, k+1), children(old, i)...)
		o := old[i]
		o.Parent = at[o.Parent]
		at[i] = step.OccIndex(len(out))
		out = append(out, o)
	}
	asm.Occurrences = out
}

func children(occs []step.Occurrence, of int) []int {
	var out []int
	for i := range occs {
		if int(occs[i].Parent) == of {
			out = append(out, i)
		}
	}
	return out
}

// The same product written in inches.
func demoInInches(t *testing.T, want judged) {
	got := judge(t, demo(t, inInches), 0.05, nil)
	if u := got.p.Source.LengthUnit; u == want.p.Source.LengthUnit {
		t.Errorf("the unit is still %s", u)
	}
	sameAnswers(t, want, got, 1e-6)
	sameKnowledge(t, want, got)
}

// lengths are the entities whose last numbers, how many is told, are lengths.
// A cone's radius stands before its angle.
var lengths = regexp.MustCompile(`=(CARTESIAN_POINT|CIRCLE|ELLIPSE|HYPERBOLA|CYLINDRICAL_SURFACE|CONICAL_SURFACE|SPHERICAL_SURFACE|TOROIDAL_SURFACE)\('[^']*',(?:#\d+,)?\(?([^)]*)\)`)

// inInches divides every length of the demo's text by 25.4 and changes its unit.
func inInches(src []byte) []byte {
	src = lengths.ReplaceAllFunc(src, func(b []byte) []byte {
		m := lengths.FindSubmatchIndex(b)
		values := strings.Split(string(b[m[4]:m[5]]), ",")
		for i := range values {
			if string(b[m[2]:m[3]]) != "CONICAL_SURFACE" || i == 0 {
				values[i] = inch(values[i])
			}
		}
		return slices.Concat(b[:m[4]], []byte(strings.Join(values, ",")), b[m[5]:])
	})
	const mm = "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))"
	inches := []byte("(CONVERSION_BASED_UNIT('INCH',#900001)LENGTH_UNIT()NAMED_UNIT(#900003))")
	src = bytes.Replace(src, []byte(mm), inches, 1)
	end := []byte("ENDSEC;\nEND-ISO")
	return bytes.Replace(src, end, fmt.Appendf(nil, "#900001=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#900002);\n"+
		"#900002=%s;\n#900003=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n%s", mm, end), 1)
}

func inch(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return "not a length: " + text
	}
	return strings.Replace(strconv.FormatFloat(v/25.4, 'E', 17, 64), "E+", "E", 1)
}

// Taking a part away that no fastener holds makes nothing harder to reach.
func demoWithLess(t *testing.T, all judged) {
	side := all.r.Side
	worse := []reach.Verdict{reach.Clear, reach.ClearAfter, reach.Turn, reach.TwoSided, reach.Blocked}
	for _, gone := range []string{"type label", "terminal block", "cell", "sensor cap", "gasket"} {
		asm := demo(t, nil)
		n := len(asm.Occurrences)
		asm.Occurrences = without(asm.Occurrences, gone)
		if len(asm.Occurrences) != n-1 {
			t.Fatalf("%d occurrences without %q, of %d", len(asm.Occurrences), gone, n)
		}
		less := judge(t, asm, 0.05, &side)
		for path, g := range less.byPath() {
			w := all.byPath()[path]
			if w == nil || slices.Index(worse, g.Verdict) > slices.Index(worse, w.Verdict) {
				t.Errorf("without %q %s is %s: %s", gone, path, g.Verdict, g.Why)
			}
		}
	}
}

func without(occs []step.Occurrence, name string) []step.Occurrence {
	i := slices.IndexFunc(occs, func(o step.Occurrence) bool { return o.Name == name })
	if i < 0 {
		return occs
	}
	out := slices.Delete(slices.Clone(occs), i, i+1)
	for k := range out {
		if int(out[k].Parent) > i {
			out[k].Parent--
		}
	}
	return out
}

// A finer mesh moves a tool's room by less than the coarser one's chord.
func finerDemo(t *testing.T, coarse judged) {
	chord := coarse.p.Tol.Chord
	fine := judge(t, demo(t, nil), chord/2, nil)
	a, b := coarse.byPath(), fine.byPath()
	seen := 0
	for path, w := range a {
		g := b[path]
		if g == nil || g.Verdict != w.Verdict {
			t.Fatalf("%s: %+v, want %s", path, g, w.Verdict)
		}
		for i := range w.Tried {
			x, y := &w.Tried[i], &g.Tried[i]
			if x.Limit != reach.ByTool || math.IsInf(x.Free, 1) {
				continue
			}
			seen++
			if d := math.Abs((x.Free - x.Needed) - (y.Free - y.Needed)); !(d <= chord) {
				t.Errorf("%s, %s: %.4f of %.4f mm, with half the chord %.4f of %.4f", path, x.Tool.Name, x.Free, x.Needed, y.Free, y.Needed)
			}
		}
	}
	if seen < 20 {
		t.Errorf("%d trials compared", seen)
	}
}
