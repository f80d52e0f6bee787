package step

import (
	"context"
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"stepscan/geom/brep"
)

// shared is the folder with the reference data; the test is skipped without.
func shared(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("STEPSCAN_SHARED")
	if dir == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	if _, err := os.Stat(filepath.Join(dir, "data")); err != nil {
		t.Fatal(err)
	}
	return dir
}

// realFiles lists the STEP files under shared/data by their path in it.
func realFiles(t testing.TB) []string {
	root := filepath.Join(shared(t), "data")
	var out []string
	err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		switch strings.ToLower(filepath.Ext(path)) {
		case ".stp", ".step", ".p21":
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return err
			}
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(out)
	return out
}

// golden is what the reference program says of a file.
type golden struct {
	Parts     []goldenPart
	Tree      []goldenNode
	Roots     int
	FileUnits []string `json:"file_units"`
}

type goldenNode struct {
	Name, Product, Path string
	Parent              *int
	Depth               int
	Placement           [12]float64
	Part                *int
	Bbox                []float64
}

type goldenPart struct {
	Name                         string
	Occurrences                  int
	Solids, Faces, Edges, Shells int
	Bbox                         []float64
	Volume                       float64
	FileVolume                   float64   `json:"file_volume"`
	FileArea                     float64   `json:"file_area"`
	FileCentre                   []float64 `json:"file_centre"`
	Colour                       string
	Surfaces, Curves             map[string]int
	Material                     *struct{ Name string }
	FaceColours                  map[string]int `json:"face_colours"`
}

// flat parts have straight edges only, so that their vertices span their box.
func (p goldenPart) flat() bool {
	return len(p.Surfaces) == 1 && p.Surfaces["plane"] > 0 && len(p.Curves) == 1 && p.Curves["line"] > 0
}

func readGolden(t testing.TB, name string) golden {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(shared(t), "oracle", "golden", strings.ReplaceAll(name, "/", "__")+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var g golden
	if err := json.Unmarshal(b, &g); err != nil {
		t.Fatal(err)
	}
	return g
}

func readReal(t testing.TB, name string) *Assembly {
	t.Helper()
	a, err := ReadFile(context.Background(), filepath.Join(shared(t), "data", name), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// placeTol is what two readers may differ by in a placement, mm in the last
// column; the reference prints ten digits, half a unit of the last of which
// comes on top.
const placeTol = 1e-6

func samePlace(a, b [12]float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= placeTol+5e-10*math.Abs(b[i])) {
			return false
		}
	}
	return true
}

// checkBody checks what holds for every body: indices in range, loops that
// chain, ends on their curves.
func checkBody(t *testing.T, b *brep.Body) {
	t.Helper()
	for i := range b.Faces {
		f := &b.Faces[i]
		if f.Surface == nil {
			t.Errorf("body #%d face #%d without a surface", b.Tag, f.Tag)
		}
		for _, l := range f.Loops {
			for k, c := range l.Coedges {
				_, end := ends(b, c)
				next, _ := ends(b, l.Coedges[(k+1)%len(l.Coedges)])
				if end != next {
					t.Errorf("body #%d face #%d: edge #%d does not end where #%d starts", b.Tag, f.Tag, b.Edges[c.Edge].Tag, b.Edges[l.Coedges[(k+1)%len(l.Coedges)].Edge].Tag)
				}
			}
		}
	}
}

func ends(b *brep.Body, c brep.Coedge) (from, to brep.VertexIndex) {
	e := &b.Edges[c.Edge]
	if c.Reversed {
		return e.End, e.Start
	}
	return e.Start, e.End
}

// A closed solid uses each edge twice, once in each direction. This breaks
// when any one of the four orientation flags is taken wrongly.
func TestSolidsUseEdgesTwice(t *testing.T) {
	for _, name := range realFiles(t) {
		a := readReal(t, name)
		for _, p := range a.Parts {
			for _, b := range p.Bodies {
				if !b.Solid {
					continue
				}
				use := make([]int, len(b.Edges))
				dir := make([]int, len(b.Edges))
				for i := range b.Faces {
					for _, l := range b.Faces[i].Loops {
						for _, c := range l.Coedges {
							use[c.Edge]++
							if c.Reversed {
								dir[c.Edge]--
							} else {
								dir[c.Edge]++
							}
						}
					}
				}
				bad := 0
				for e := range use {
					if use[e] != 2 || dir[e] != 0 {
						bad++
					}
				}
				if bad > 0 {
					t.Errorf("%s: part %q body #%d: %d of %d edges are not used once in each direction", name, p.Name, b.Tag, bad, len(b.Edges))
				}
			}
		}
	}
}

// The mass properties that files state are the reference's to all its digits.
func TestDeclaredProperties(t *testing.T) {
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-8*(1+math.Abs(b)) }
	n := 0
	for _, name := range realFiles(t) {
		a, g := readReal(t, name), readGolden(t, name)
		for _, p := range g.Parts {
			i := slices.IndexFunc(a.Parts, func(q Part) bool { return q.Name == clean(p.Name) })
			if i < 0 || p.FileVolume == 0 {
				continue
			}
			n++
			d := a.Parts[i].Declared
			if !near(d.Volume, p.FileVolume) || !near(d.Area, p.FileArea) {
				t.Errorf("%s: part %q: volume %.10g, area %.10g; the reference says %.10g and %.10g", name, p.Name, d.Volume, d.Area, p.FileVolume, p.FileArea)
			}
			for k, x := range p.FileCentre {
				if !near(d.Centre[k], x) {
					t.Errorf("%s: part %q: centre %v, the reference says %v", name, p.Name, d.Centre, p.FileCentre)
				}
			}
		}
	}
	if n < 13 {
		t.Errorf("only %d parts to compare", n)
	}
}

// seenColour is the colour of most of the faces, where they have styles of their
// own, else the part's.
func (p *goldenPart) seenColour() string {
	for c, n := range p.FaceColours {
		if 2*n > p.Faces {
			return c
		}
	}
	return p.Colour
}

// The reference says the colour and the material of a part where the file does.
func TestColoursAndMaterials(t *testing.T) {
	for _, name := range realFiles(t) {
		a, g := readReal(t, name), readGolden(t, name)
		for _, p := range g.Parts {
			same := func(q Part) bool { return q.Name == clean(p.Name) && len(q.Bodies) > 0 }
			i := slices.IndexFunc(a.Parts, same)
			if i < 0 || slices.ContainsFunc(a.Parts[i+1:], same) {
				continue // names that occur twice tell nothing
			}
			if got := a.Parts[i].Color; got != p.seenColour() && p.Solids == 1 {
				t.Errorf("%s: part %q has colour %q, the reference says %q", name, p.Name, got, p.seenColour())
			}
			if want := p.Material; want != nil && a.Parts[i].Material != want.Name {
				t.Errorf("%s: part %q is made of %q, the reference says %q", name, p.Name, a.Parts[i].Material, want.Name)
			}
		}
	}
}

// No face of a real file is left out; the log says what each file holds.
func TestEveryFaceIsRead(t *testing.T) {
	for _, name := range realFiles(t) {
		a := readReal(t, name)
		faces, bodies, lost := 0, 0, 0
		for _, p := range a.Parts {
			for _, b := range p.Bodies {
				bodies++
				faces += len(b.Faces)
			}
		}
		for _, s := range a.Skips {
			if strings.Contains(s.Why, "left out") && strings.Contains(s.Why, "face") {
				lost++
				t.Errorf("%s: #%d %s: %s", name, s.Tag, s.Entity, s.Why)
			}
		}
		t.Logf("%s: %d occurrences, %d parts, %d bodies (%d solid), %d faces read, %d lost, %d notes",
			name, len(a.Occurrences), len(a.Parts), bodies, a.SolidCount(), faces, lost, len(a.Skips))
		for i, s := range a.Skips {
			if i < 3 {
				t.Logf("    #%d %s: %s", s.Tag, s.Entity, s.Why)
			}
		}
	}
}
