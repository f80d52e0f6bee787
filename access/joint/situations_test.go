package joint

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stepscan/access/fastener"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// What joining has to reach over the groups of fixtures/make/joints.py, by
// shape alone: the share of answers that are right. The aim is 0.98 for what a
// shank passes and bites and what it is screwed to. When first measured, before
// anything was mended for it, 1365 of 1407 answers were right: kind 0.964, size
// 1, passes 0.953, bites 0.962, mate 0.991, washers 0.875, grip 0.985,
// engagement 0.952, captive 1, joints 0.821, planar contact 0.995, fit 1, fault
// of the model 1, what holds a part 0.957, no false fastener 1.
var situationsRight = map[string]float64{
	"kind": 0.97, "size": 1, "passes": 0.99, "bites": 0.99, "mate": 0.99, "washers": 1, "grip": 1,
	"engagement": 1, "captive": 1, "joints": 0.94, "planar contact": 1, "fit": 1, "fault of the model": 1,
	"what holds a part": 0.99, "no false fastener": 1,
}

// situation is what the script says of one group of parts. A pointer that is
// nil, or a nil list, is not judged there.
type situation struct {
	Name, Note, File string
	Parts            []string
	Fasteners        []heldTruth
	Joints           []struct {
		Kind      Kind
		Parts, By []string
	}
	Contacts []struct {
		A, B string
		Area float64 `json:"planar_mm2"`
	}
	Fits []struct {
		Shaft, Hole string
		Class       contact.Class
		Overlap     float64 `json:"overlap_mm"`
	}
	Faults []struct {
		A, B   string
		Volume float64 `json:"volume_mm3"`
	}
	Loose map[string]string
}

type heldTruth struct {
	Name        string
	Kind        fastener.Kind
	OrKind      fastener.Kind `json:"or_kind"`
	Size        string
	Passes      *[]string
	Bites       *[]string
	Mate        *string
	Washers     []string
	Grip        *float64 `json:"grip_mm"`
	Engagement  *float64 `json:"engagement_mm"`
	CaptiveNut  *bool    `json:"captive_nut"`
	CaptiveHead bool     `json:"captive_head"`
	Falls       bool
	AnyOrder    bool `json:"any_order"`
}

func readSituations(t *testing.T) []situation {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "fixtures", "joints.truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var out []situation
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestSituations judges the groups of joined parts that the parametric script
// makes, with all names blanked.
func TestSituations(t *testing.T) {
	if testing.Short() {
		t.Skip("meshes all groups")
	}
	all := readSituations(t)
	if len(all) < 60 {
		t.Fatalf("%d groups, 60 are meant", len(all))
	}
	j := jury{right: map[string]int{}, asked: map[string]int{}}
	var last *bench
	for i := range all {
		if s := &all[i]; last == nil || last.file != s.File {
			last = seat(t, s.File)
		}
		j.group(last, &all[i])
	}
	j.say(t)
}

// bench is one file, examined: solids by the names that they had.
type bench struct {
	file  string
	p     *product.Product
	name  []string
	solid map[string]product.SolidIndex
	fs    []fastener.Fastener
	of    []int
	hs    []Hold
	t     *Touching
}

func seat(t *testing.T, file string) *bench {
	t.Helper()
	path := filepath.Join("..", "..", "fixtures", file)
	named := build(t, path, false)
	b := &bench{file: file, p: build(t, path, true), solid: map[string]product.SolidIndex{}}
	for i := range named.Solids {
		n := named.Name(product.SolidIndex(i))
		b.name = append(b.name, n)
		b.solid[n] = product.SolidIndex(i)
	}
	ctx := context.Background()
	b.fs = fastener.Find(ctx, b.p)
	hs, js := Find(ctx, b.p, b.fs)
	b.hs, b.t = hs, Touch(ctx, b.p, b.fs, hs, js)
	b.of = ownersOf(b.p, b.fs)
	return b
}

func (b *bench) names(list []product.SolidIndex) []string {
	out := []string{}
	for _, s := range list {
		out = append(out, b.name[s])
	}
	return out
}

// fastened are the names of fasteners by their index.
func (b *bench) fastened(list []int) []string {
	out := []string{}
	for _, i := range list {
		out = append(out, b.name[b.fs[i].Solids[0]])
	}
	slices.Sort(out)
	return out
}

// jury counts right answers by question.
type jury struct {
	right, asked map[string]int
	order, wrong []string
}

func (j *jury) ask(question string, s *situation, ok bool, format string, args ...any) {
	if j.asked[question] == 0 {
		j.order = append(j.order, question)
	}
	j.asked[question]++
	if ok {
		j.right[question]++
		return
	}
	j.wrong = append(j.wrong, fmt.Sprintf("%s (%s): %s: %s", s.Name, s.Note, question, fmt.Sprintf(format, args...)))
}

func (j *jury) say(t *testing.T) {
	var b strings.Builder
	sum, all := 0, 0
	for _, q := range j.order {
		share := float64(j.right[q]) / float64(j.asked[q])
		fmt.Fprintf(&b, "%-28s %3d of %3d = %.3f\n", q, j.right[q], j.asked[q], share)
		sum, all = sum+j.right[q], all+j.asked[q]
		if least := situationsRight[q]; !(share >= least) {
			t.Errorf("%s: %.3f are right, want %.3f", q, share, least)
		}
	}
	for q := range situationsRight {
		if j.asked[q] == 0 {
			t.Errorf("nothing is asked about %q", q)
		}
	}
	t.Logf("%d of %d answers are right\n%s", sum, all, &b)
	t.Logf("wrong:\n%s", strings.Join(j.wrong, "\n"))
}

func (j *jury) group(b *bench, s *situation) {
	known := map[product.SolidIndex]bool{}
	for i := range s.Fasteners {
		known[b.solid[s.Fasteners[i].Name]] = true
		j.fastener(b, s, &s.Fasteners[i])
	}
	for _, n := range s.Parts {
		k := b.solid[n]
		if !known[k] {
			j.ask("no false fastener", s, b.of[k] < 0, "%s is taken for one", n)
		}
	}
	j.joints(b, s)
	j.touching(b, s)
	j.loose(b, s)
}

func (j *jury) fastener(b *bench, s *situation, w *heldTruth) {
	i := b.of[b.solid[w.Name]]
	if i < 0 {
		j.ask("kind", s, false, "%s, a %s, is none", w.Name, w.Kind)
		return
	}
	f, h := &b.fs[i], &b.hs[i]
	screw := func(k fastener.Kind) bool { return k == fastener.Screw || k == "tapping screw" }
	j.ask("kind", s, f.Kind == w.Kind || w.OrKind != "" && f.Kind == w.OrKind || screw(w.Kind) && screw(f.Kind), "%s is a %s, found %s (%s)", w.Name, w.Kind, f.Kind, strings.Join(f.Evidence, "; "))
	if w.Size != "" {
		plain, _, _ := strings.Cut(w.Size, "-")
		j.ask("size", s, f.Size == w.Size || f.Size == plain, "%s is %s, found %s", w.Name, w.Size, f.Size)
	}
	evidence := strings.Join(h.Evidence, "; ")
	same := func(question string, want *[]string, got []string) {
		if want != nil {
			if w.AnyOrder {
				slices.Sort(*want)
				slices.Sort(got)
			}
			j.ask(question, s, slices.Equal(*want, got), "%s: want %v, got %v (%s)", w.Name, *want, got, evidence)
		}
	}
	same("passes", w.Passes, b.names(h.Passes))
	same("bites", w.Bites, b.names(h.Bites))
	washers := slices.Clone(w.Washers)
	slices.Sort(washers)
	if len(washers) > 0 || len(h.Washers) > 0 {
		same("washers", &washers, b.fastened(h.Washers))
	}
	if w.Mate != nil {
		mate := ""
		if h.Mate >= 0 {
			mate = b.fastened([]int{h.Mate})[0]
		}
		j.ask("mate", s, mate == *w.Mate, "%s: want %q, got %q", w.Name, *w.Mate, mate)
	}
	within := 0.1 + b.p.Tol.Chord
	if w.Grip != nil {
		j.ask("grip", s, math.Abs(h.Grip-*w.Grip) <= within, "%s: want %g, got %g (%s)", w.Name, *w.Grip, h.Grip, evidence)
	}
	if w.Engagement != nil {
		j.ask("engagement", s, math.Abs(h.Engagement-*w.Engagement) <= within, "%s: want %g, got %g (%s)", w.Name, *w.Engagement, h.Engagement, evidence)
	}
	if w.CaptiveNut != nil {
		j.ask("captive", s, h.CaptiveNut == *w.CaptiveNut && h.CaptiveHead == w.CaptiveHead && h.Falls == w.Falls, "%s: want nut %v, head %v, falls %v, got %v, %v, %v (%s)",
			w.Name, *w.CaptiveNut, w.CaptiveHead, w.Falls, h.CaptiveNut, h.CaptiveHead, h.Falls, evidence)
	}
}

// joints compares those that hold, by kind, parts and fasteners.
func (j *jury) joints(b *bench, s *situation) {
	mine := map[string]bool{}
	for _, n := range s.Parts {
		mine[n] = true
	}
	var found []string
	for i := range b.t.Joints {
		x := &b.t.Joints[i]
		if n := b.names(x.Solids); mine[n[0]] && x.Kind != Contact {
			slices.Sort(n)
			found = append(found, fmt.Sprint(x.Kind, n, b.fastened(x.Fasteners)))
		}
	}
	for _, w := range s.Joints {
		by := slices.Sorted(slices.Values(w.By))
		want := fmt.Sprint(w.Kind, w.Parts, by)
		k := slices.Index(found, want)
		j.ask("joints", s, k >= 0, "want %s, got %v", want, found)
		if k >= 0 {
			found = slices.Delete(found, k, k+1)
		}
	}
	if len(found) > 0 {
		j.ask("joints", s, false, "not meant: %v", found)
	}
}

// touching compares planar contacts, fits and faults.
func (j *jury) touching(b *bench, s *situation) {
	pair := map[[2]string]*contact.Pair{}
	for i := range b.t.Pairs {
		q := &b.t.Pairs[i]
		x, y := b.name[q.A], b.name[q.B]
		pair[[2]string{min(x, y), max(x, y)}] = q
	}
	area := map[[2]string]float64{}
	for _, c := range s.Contacts {
		area[[2]string{min(c.A, c.B), max(c.A, c.B)}] = c.Area
	}
	for i, a := range s.Parts {
		for _, c := range s.Parts[:i] {
			k := [2]string{min(a, c), max(a, c)}
			got, want := 0.0, area[k]
			if q := pair[k]; q != nil {
				for _, x := range q.Contacts {
					if x.Kind == contact.Planar {
						got += x.Area
					}
				}
			}
			if got > 0.05 || want > 0 {
				// Facets of 20 degrees lose 2 % of a disc; of a ring or what a slot leaves
				// of one the loss is the same and the area less.
				j.ask("planar contact", s, math.Abs(got-want) <= 0.05+0.04*want, "%v: want %.3f mm², got %.3f", k, want, got)
			}
		}
	}
	for _, w := range s.Fits {
		q, ok, text := pair[[2]string{min(w.Shaft, w.Hole), max(w.Shaft, w.Hole)}], false, "no fit"
		if q != nil {
			for _, f := range q.Fits {
				text = fmt.Sprintf("%s in %s %s by %g", b.name[f.Shaft], b.name[f.Hole], f.Class, f.Overlap)
				ok = ok || b.name[f.Shaft] == w.Shaft && f.Class == w.Class && math.Abs(f.Overlap-w.Overlap) <= 1e-6
			}
		}
		j.ask("fit", s, ok, "%+v: got %s", w, text)
	}
	j.faults(b, s)
}

func (j *jury) faults(b *bench, s *situation) {
	want := map[string]float64{}
	for _, f := range s.Faults {
		want[fmt.Sprint(min(f.A, f.B), max(f.A, f.B))] = f.Volume
	}
	for _, o := range b.t.Overlaps {
		x, y := b.name[o.A], b.name[o.B]
		if o.Why != "" || o.Screwed || !slices.Contains(s.Parts, x) {
			continue
		}
		k := fmt.Sprint(min(x, y), max(x, y))
		v, ok := want[k]
		j.ask("fault of the model", s, ok && math.Abs(v-o.Volume) <= 0.02*v, "%s share %g, want %g", k, o.Volume, v)
		delete(want, k)
	}
	for k := range want {
		j.ask("fault of the model", s, false, "%s is not seen", k)
	}
}

// loose compares the parts that nothing holds.
func (j *jury) loose(b *bench, s *situation) {
	got := map[string]string{}
	for _, l := range b.t.Loose {
		for _, k := range l.Solids {
			how := [...]string{Floating: "floating", Unexplained: "unexplained", Between: "between"}[l.How]
			if l.Base {
				how = "base"
			}
			got[b.name[k]] = how
		}
	}
	for _, n := range s.Parts {
		if b.of[b.solid[n]] < 0 {
			j.ask("what holds a part", s, got[n] == s.Loose[n], "%s: want %q, got %q", n, s.Loose[n], got[n])
		}
	}
}
