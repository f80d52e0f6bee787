package access_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"stepscan/access"
	"stepscan/access/product"
	"stepscan/geom/tess"
	"stepscan/step"
)

// judged reads, meshes and judges a file; change may alter the assembly first.
func judged(t *testing.T, path string, change func(*step.Assembly)) *access.Judgement {
	t.Helper()
	ctx := context.Background()
	asm, err := step.ReadFile(ctx, path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(asm)
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	j, err := access.Judge(ctx, p, access.Options{Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// blank removes every name, as a translator that loses them does.
func blank(a *step.Assembly) {
	for i := range a.Parts {
		a.Parts[i].Name, a.Parts[i].RawID = "", ""
		for _, b := range a.Parts[i].Bodies {
			b.Name = ""
		}
	}
	for i := range a.Occurrences {
		a.Occurrences[i].Name, a.Occurrences[i].RefDes, a.Occurrences[i].Path = "", "", ""
	}
}

// truth is what the demo's generator says of one fastener.
type truth struct {
	Path      string     `json:"path"`
	Kind      string     `json:"kind"`
	Size      string     `json:"size"`
	Drive     string     `json:"drive"`
	DriveSize string     `json:"drive_size"`
	Length    float64    `json:"length_mm"`
	Axis      [3]float64 `json:"axis"`
	Point     [3]float64 `json:"point_mm"`
	Verdict   string     `json:"verdict"`
	Hidden    bool       `json:"hidden"`
	Side      [3]float64 `json:"side"`
	After     []string   `json:"after"`
}

type truths struct {
	WorkingSide [3]float64 `json:"working_side"`
	Fasteners   []truth    `json:"fasteners"`
	Parts       []struct {
		Name   string  `json:"name"`
		Volume float64 `json:"volume_mm3"` // by Open CASCADE, exact
	} `json:"parts"`
}

func readTruth(t *testing.T, name string) truths {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "fixtures", name))
	if err != nil {
		t.Fatal(err)
	}
	var tr truths
	if err := json.Unmarshal(b, &tr); err != nil {
		t.Fatal(err)
	}
	if len(tr.Fasteners) == 0 || len(tr.Parts) == 0 {
		t.Fatalf("%s says nothing", name)
	}
	slices.SortFunc(tr.Fasteners, func(a, b truth) int { return strings.Compare(a.Path, b.Path) })
	return tr
}

// TestDemo compares both revisions of the demo with what its generator script
// states: every fastener, and nothing else, with its kind, size, drive and
// verdict; with the names as they are and blanked out. The script computes
// the statements from the same numbers that place the parts, and checks its
// clearances with Open CASCADE.
func TestDemo(t *testing.T) {
	for _, rev := range []string{"a", "b"} {
		want := readTruth(t, "logger-"+rev+".truth.json")
		file := filepath.Join("..", "fixtures", "logger-"+rev+".step")
		paths := map[string]string{} // occurrence id to path
		t.Run(rev+"/named", func(t *testing.T) {
			j := judged(t, file, nil)
			for _, o := range j.Report.Occurrences {
				paths[o.ID] = o.Path
			}
			compare(t, want, found(j, paths))
			if got := j.Report.Verdict.Side; got != side(want.WorkingSide) {
				t.Errorf("working side %v, want %v", got, want.WorkingSide)
			}
		})
		t.Run(rev+"/blank", func(t *testing.T) { compare(t, want, found(judged(t, file, blank), paths)) })
	}
}

func side(v [3]float64) access.Vector {
	return access.Vector{access.Number(v[0]), access.Number(v[1]), access.Number(v[2])}
}

// compare holds what was found against the statements. A point may be off by
// the sag of a domed head over its recess. Of the parts that must be off first
// a statement names those it is about: one of them must be found, and none
// where it names none.
func compare(t *testing.T, want truths, got []truth) {
	t.Helper()
	stated := map[string][]string{}
	for i := range want.Fasteners {
		stated[want.Fasteners[i].Path] = want.Fasteners[i].After
	}
	for i := range got {
		after := stated[got[i].Path]
		if slices.ContainsFunc(got[i].After, func(n string) bool { return slices.Contains(after, n) }) {
			got[i].After = after
		}
	}
	const sag = 0.25 // mm, of the recess's mouth below the top of a pan head
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= sag })
	if d := cmp.Diff(want.Fasteners, got, near, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("- the generator's statement, + found:\n%s", d)
	}
}

// found writes a judgement's fasteners in the generator's form.
func found(j *access.Judgement, paths map[string]string) []truth {
	last := func(id string) string { p := paths[id]; return p[strings.LastIndex(p, "/")+1:] }
	var out []truth
	for _, f := range j.Report.Fasteners {
		x := truth{
			Path: paths[f.Occurrences[0]], Kind: f.Kind, Size: f.Size, Drive: f.Drive, DriveSize: f.DriveSize,
			Length: float64(f.LengthMM), Verdict: f.Reach.Verdict, Hidden: f.Reach.Hidden,
		}
		for k := range 3 {
			x.Axis[k], x.Point[k], x.Side[k] = float64(f.Axis[k]), float64(f.PointMM[k]), float64(f.Reach.Side[k])
		}
		for _, id := range f.Reach.After {
			x.After = append(x.After, last(id))
		}
		slices.Sort(x.After)
		out = append(out, x)
	}
	slices.SortFunc(out, func(a, b truth) int { return strings.Compare(a.Path, b.Path) })
	return out
}

// TestDemoVolumes: 0.5 % is what the project promises for the volumes of its
// parts; the reference is Open CASCADE's exact integral.
func TestDemoVolumes(t *testing.T) {
	for _, rev := range []string{"a", "b"} {
		want := readTruth(t, "logger-"+rev+".truth.json")
		j := judged(t, filepath.Join("..", "fixtures", "logger-"+rev+".step"), nil)
		volume := map[string]float64{}
		for _, p := range j.Report.Parts {
			volume[p.Name] = float64(p.VolumeMM3)
		}
		for _, p := range want.Parts {
			if v := volume[p.Name]; !(math.Abs(v-p.Volume) <= 0.005*p.Volume) {
				t.Errorf("logger-%s, %s: volume %.3f mm³, Open CASCADE gives %.3f", rev, p.Name, v, p.Volume)
			}
		}
	}
}

// TestSameBytesAtAnyNumberOfCores: the report of one core and of two.
func TestSameBytesAtAnyNumberOfCores(t *testing.T) {
	file := filepath.Join("..", "fixtures", "logger-a.step")
	write := func(cores int) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		b, err := json.Marshal(judged(t, file, nil).Report)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	one := write(1)
	for _, n := range []int{2, 2, 7} {
		if d := cmp.Diff(one, write(n)); d != "" {
			t.Fatalf("%d cores give another report than one:\n%s", n, d)
		}
	}
}

// TestNutsAndBolts: the assembly as1 of the CAx-IF test rounds, written by two
// CAD systems: 18 solids, 6 bolts and 8 nuts where Open CASCADE places the
// parts called so, each bolt with its nut, no bracket, plate or rod among
// them; and the same without names.
func TestNutsAndBolts(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	for _, name := range []string{"as1-oc-214.stp", "as1-tu-203.stp"} {
		want := golden(t, filepath.Join(shared, "oracle", "golden", name+".json"))
		for _, c := range []struct {
			name   string
			change func(*step.Assembly)
		}{{"named", nil}, {"blank", blank}} {
			t.Run(name+"/"+c.name, func(t *testing.T) {
				nutsAndBolts(t, judged(t, filepath.Join(shared, "data", name), c.change).Report, want)
			})
		}
	}
}

// oracle is a golden file of Open CASCADE, as far as it is asked here.
type oracle struct {
	Parts []struct {
		Name   string
		Volume float64
		BBox   [6]float64
	}
	Tree []struct {
		Part   *int
		BBox   [6]float64
		Volume float64
		Centre [3]float64
	}
}

func golden(t *testing.T, path string) oracle {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var o oracle
	if err := json.Unmarshal(b, &o); err != nil {
		t.Fatal(err)
	}
	return o
}

func nutsAndBolts(t *testing.T, r *access.Report, want oracle) {
	t.Helper()
	if r.Read.Solids != 18 || r.Read.SolidsMeshed != 18 {
		t.Errorf("%d solids, %d meshed, want 18", r.Read.Solids, r.Read.SolidsMeshed)
	}
	byID := map[string]access.Fastener{}
	got := map[string]int{}
	for _, f := range r.Fasteners {
		byID[f.ID] = f
		got[f.Kind+" in "+middle(r, f.Occurrences[0])]++
	}
	expected := map[string]int{}
	for _, n := range want.Tree {
		if n.Part != nil && slices.Contains([]string{"nut", "bolt"}, want.Parts[*n.Part].Name) {
			expected[want.Parts[*n.Part].Name+" in "+rounded(n.BBox)]++
		}
	}
	if d := cmp.Diff(expected, got); d != "" {
		t.Errorf("- where Open CASCADE has them, + found:\n%s", d)
	}
	for _, f := range r.Fasteners {
		if f.Kind == "bolt" && (f.Mate == nil || byID[*f.Mate].Kind != "nut" || *byID[*f.Mate].Mate != f.ID) {
			t.Errorf("bolt %s has mate %v: want its nut, and the nut back", f.ID, f.Mate)
		}
	}
	for i, p := range r.Parts {
		if p.Solids == 0 {
			continue
		}
		k := slices.IndexFunc(want.Parts, func(w struct {
			Name   string
			Volume float64
			BBox   [6]float64
		}) bool {
			return sameBox(w.BBox, p.BoxMM, 0.05) // the chord
		})
		if k < 0 {
			t.Errorf("part %d has box %v: Open CASCADE has none such", i, *p.BoxMM)
			continue
		}
		if v, w := float64(p.VolumeMM3), want.Parts[k].Volume; !(math.Abs(v-w) <= 0.005*w) {
			t.Errorf("%s: volume %.3f mm³, Open CASCADE gives %.3f", want.Parts[k].Name, v, w)
		}
	}
}

func sameBox(a [6]float64, b *[6]access.Number, tol float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-float64(b[i])) <= tol) {
			return false
		}
	}
	return true
}

// middle is the middle of an occurrence's box in the root's frame, to the
// tenth of a millimetre.
func middle(r *access.Report, occ string) string {
	for _, o := range r.Occurrences {
		if o.ID != occ {
			continue
		}
		for _, p := range r.Parts {
			if p.ID == o.Part {
				return placedMiddle(o.Placement, p.BoxMM)
			}
		}
	}
	return "nowhere"
}

// placedMiddle maps the middle of a box by a 3×4 matrix given row by row.
func placedMiddle(m [12]access.Number, b *[6]access.Number) string {
	var c [3]float64
	for i := range 3 {
		c[i] = float64(m[4*i+3])
		for k := range 3 {
			c[i] += float64(m[4*i+k]) * float64(b[k]+b[k+3]) / 2
		}
	}
	return place(c)
}

func rounded(b [6]float64) string {
	return place([3]float64{(b[0] + b[3]) / 2, (b[1] + b[4]) / 2, (b[2] + b[5]) / 2})
}

func place(c [3]float64) string {
	for i := range c {
		c[i] = math.Round(c[i]*10)/10 + 0
	}
	return fmt.Sprintf("(%.1f, %.1f, %.1f)", c[0], c[1], c[2])
}
