package fastener_test

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"stepscan/access/fastener"
	"stepscan/access/product"
)

// What recognition has to reach over the specimens, by shape alone. The aim is
// 0.98 for kind, size and drive right together, and no false fastener.
const (
	specimensRight = 0.98
	specimensFalse = 0 // parts that are no fasteners and are taken for one
)

// specimen is what the script in fixtures/make says of one part.
type specimen struct {
	Name        string
	File        string
	With        string // the specimen that it stands with
	Note        string
	Kind        fastener.Kind // "" for what is no fastener
	OrKind      fastener.Kind `json:"or_kind"` // as right
	Head        string
	Size        string // "" is not judged
	Thread      string
	Drive       fastener.Drive
	DriveSize   string  `json:"drive_size"`
	Length      float64 `json:"length_mm"`
	Volume      float64 `json:"volume_mm3"` // by Open CASCADE
	Designation string
}

func readSpecimens(t *testing.T, truth string) []specimen {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "fixtures", truth))
	if err != nil {
		t.Fatal(err)
	}
	var out []specimen
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestSpecimens recognises the parts that the parametric script makes, of each
// kind, head and drive and of what looks like them, with all names blanked.
func TestSpecimens(t *testing.T) {
	judgeSpecimens(t, "specimens.truth.json").judge(t, specimensRight, specimensFalse)
}

// judgeSpecimens recognises every part of a set, names blanked.
func judgeSpecimens(t *testing.T, truth string) *score {
	t.Helper()
	if testing.Short() {
		t.Skip("meshes every specimen")
	}
	all := readSpecimens(t, truth)
	fasteners := 0
	byFile := map[string][]specimen{}
	for _, s := range all {
		byFile[s.File] = append(byFile[s.File], s)
		if s.Kind != "" {
			fasteners++
		}
	}
	if others := len(all) - fasteners; fasteners < 150 || others < 50 {
		t.Fatalf("%d fasteners and %d others; 150 and 50 are meant", fasteners, others)
	}
	y := &score{table: map[[2]fastener.Kind]int{}, kinds: map[fastener.Kind]*tries{}}
	for _, file := range slices.Sorted(maps.Keys(byFile)) {
		y.file(t, file, byFile[file])
	}
	return y
}

// tries counts the specimens of one kind.
type tries struct{ all, kind, size, drive, whole, head, length int }

// score counts over all files.
type score struct {
	table map[[2]fastener.Kind]int // by what they are and what they are found as
	kinds map[fastener.Kind]*tries
	wrong []string
	false int
}

// file recognises the specimens of one file.
func (y *score) file(t *testing.T, file string, list []specimen) {
	t.Helper()
	p := meshed(t, filepath.Join("..", "..", "fixtures", file))
	part := map[string]int{}
	for i := range p.Parts {
		part[p.Parts[i].Name] = i
	}
	apart(t, p, list)
	forget(p)
	found := foundByPart(p)
	for _, s := range list {
		i, ok := part[s.Name]
		if !ok {
			t.Fatalf("%s has no %s", file, s.Name)
		}
		if v := p.Parts[i].Volume; math.Abs(v-s.Volume) > 1e-3*s.Volume {
			t.Errorf("%s %s: volume %g, the script's is %g", file, s.Name, v, s.Volume)
		}
		y.count(&s, found[i])
	}
}

// apart checks that only those specimens are near each other that stand
// together.
func apart(t *testing.T, p *product.Product, list []specimen) {
	t.Helper()
	group := map[string]string{}
	for _, s := range list {
		group[s.Name] = cmp.Or(s.With, s.Name)
	}
	name := func(i int) string { return p.Parts[p.Solids[i].Part].Name }
	for i := range p.Solids {
		for j := range i {
			if a, b := name(i), name(j); group[a] != group[b] && p.Solids[i].Box.Overlaps(p.Solids[j].Box) {
				t.Errorf("%s and %s are too near each other", a, b)
			}
		}
	}
}

// foundByPart gives each part the first fastener that it is found as.
func foundByPart(p *product.Product) []*fastener.Fastener {
	out := make([]*fastener.Fastener, len(p.Parts))
	list := fastener.Find(context.Background(), p)
	for i := range list {
		for _, s := range list[i].Solids {
			if part := p.Solids[s].Part; out[part] == nil {
				out[part] = &list[i]
			}
		}
	}
	return out
}

// count compares one specimen with what it is found as, nil for nothing.
func (y *score) count(s *specimen, f *fastener.Fastener) {
	want, got := cmp.Or(s.Kind, nothing), nothing
	if f != nil {
		got = f.Kind
	}
	y.table[[2]fastener.Kind{want, got}]++
	if want == nothing {
		if f != nil {
			y.false++
			y.note(s, f, "is none")
		}
		return
	}
	k := y.kinds[want]
	if k == nil {
		k = &tries{}
		y.kinds[want] = k
	}
	k.all++
	if f == nil {
		y.note(s, f, "is not found")
		return
	}
	kind, size, drive := s.kindIs(f.Kind), s.sizeIs(f.Size), f.Drive == s.Drive && s.driveIs(f.DriveSize)
	add := func(n *int, ok bool) {
		if ok {
			*n++
		}
	}
	add(&k.kind, kind)
	add(&k.size, size)
	add(&k.drive, drive)
	add(&k.whole, kind && size && drive)
	add(&k.head, s.Head == f.Head)
	add(&k.length, math.Abs(s.Length-f.Length) <= 0.02*s.Length+0.05)
	if !kind || !size || !drive {
		y.note(s, f, "is found otherwise")
	}
}

// note keeps a wrong case in words.
func (y *score) note(s *specimen, f *fastener.Fastener, what string) {
	line := fmt.Sprintf("%s (%s %s %s, thread %s, %s %s, %s) %s", s.Name, cmp.Or(string(s.Kind), s.Note), s.Head, s.Size, s.Thread, s.Drive, s.DriveSize, s.Designation, what)
	if f != nil {
		line += fmt.Sprintf(": %s %s %s, %s %s; %s", f.Kind, f.Head, f.Size, f.Drive, f.DriveSize, strings.Join(f.Evidence, "; "))
	}
	y.wrong = append(y.wrong, line)
}

// kindIs allows for words that the trade does not keep apart: a screw without
// its nut is a bolt or a screw, and a tapping screw is told by its size.
func (s *specimen) kindIs(k fastener.Kind) bool {
	switch s.Kind {
	case k:
		return true
	case fastener.Screw, fastener.Bolt, "tapping screw":
		return k == fastener.Screw || k == fastener.Bolt
	}
	return s.OrKind != "" && s.OrKind == k
}

// sizeIs compares sizes; inch threads may lack their pitch.
func (s *specimen) sizeIs(size string) bool {
	plain, _, _ := strings.Cut(s.Size, "-")
	return s.Size == "" || size == s.Size || size == plain
}

// driveIs compares the size of a drive, part by part for a combination.
func (s *specimen) driveIs(size string) bool {
	want, got := strings.Split(s.DriveSize, " + "), strings.Split(size, " + ")
	if len(want) != len(got) {
		return false
	}
	slices.Sort(want)
	slices.Sort(got)
	for i := range want {
		slot := s.Drive == fastener.Slot || s.Drive != fastener.HexSocket && strings.Contains(got[i], "x")
		if !sameDrive(want[i], got[i], slot) {
			return false
		}
	}
	return true
}

// sameDrive compares words ("T10"), widths in mm within 1 % (inch sizes are
// rounded in many ways), and the width of a slot with a blade for it, thickness
// x width, which is 0.6 to 1 times as thick.
func sameDrive(want, got string, slot bool) bool {
	if want == got {
		return true
	}
	if blade, _, ok := strings.Cut(got, "x"); ok && slot {
		n, err1 := strconv.ParseFloat(want, 64)
		a, err2 := strconv.ParseFloat(blade, 64)
		return err1 == nil && err2 == nil && a >= 0.6*n && a <= n+1e-9
	}
	w, err1 := strconv.ParseFloat(want, 64)
	g, err2 := strconv.ParseFloat(got, 64)
	return err1 == nil && err2 == nil && math.Abs(w-g) <= 0.01*w
}

// judge prints all and compares with the bounds: the share that is right in
// kind, size and drive, and how many parts may be falsely taken for fasteners.
func (y *score) judge(t *testing.T, right float64, falsely int) {
	t.Helper()
	var sum tries
	var b strings.Builder
	for _, kind := range slices.Sorted(maps.Keys(y.kinds)) {
		k := y.kinds[kind]
		fmt.Fprintf(&b, "%-14s %3d of %3d right (kind %d, size %d, drive %d; head %d, length %d)\n", kind, k.whole, k.all, k.kind, k.size, k.drive, k.head, k.length)
		sum.all, sum.whole = sum.all+k.all, sum.whole+k.whole
		sum.kind, sum.size, sum.drive = sum.kind+k.kind, sum.size+k.size, sum.drive+k.drive
	}
	share := float64(sum.whole) / float64(sum.all)
	t.Logf("kind, size and drive right: %d of %d = %.3f (kind %d, size %d, drive %d)\n%s", sum.whole, sum.all, share, sum.kind, sum.size, sum.drive, &b)
	t.Logf("specimens by what they are (down) and what they are found as (across):\n%s", &tally{table: y.table})
	t.Logf("wrong:\n%s", strings.Join(y.wrong, "\n"))
	if !(share >= right) { // written so that 0 of 0 fails
		t.Errorf("%.3f are right, want %.3f", share, right)
	}
	if y.false > falsely {
		t.Errorf("%d parts are falsely taken for fasteners, want %d at most", y.false, falsely)
	}
}
