package tess_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stepscan/geom"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/step"
)

// goldenPart is what Open CASCADE says about a part; see oracle/README.md.
type goldenPart struct {
	Name    string
	Solids  int
	Faces   int
	Closed  bool
	Valid   bool
	Volume  float64
	Area    float64
	Mesh    struct{ Triangles int }
	matched bool
}

func shared(t *testing.T) string {
	dir := os.Getenv("STEPSCAN_SHARED")
	if dir == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	return dir
}

func readGolden(t *testing.T, dir, file string) []goldenPart {
	data, err := os.ReadFile(filepath.Join(dir, "oracle", "golden", strings.ReplaceAll(file, "/", "__")+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var g struct{ Parts []goldenPart }
	if err := json.Unmarshal(data, &g); err != nil {
		t.Fatal(err)
	}
	return g.Parts
}

// meshedPart is one of our parts with its mesh.
type meshedPart struct {
	name             string
	faces            int
	failed, repaired []tess.Fault
	m                *mesh.Mesh
	solid            bool
}

// readShared reads a real file; nil where it holds no body.
func readShared(t *testing.T, dir, file string) *step.Assembly {
	t.Helper()
	a, err := step.ReadFile(context.Background(), filepath.Join(dir, "data", file), step.Options{})
	var none *step.NoBodiesError
	if errors.As(err, &none) || a == nil && err != nil {
		t.Logf("%s: %v", file, err)
		return nil
	}
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return a
}

func meshFile(t *testing.T, dir, file string, tol geom.Tolerance) []meshedPart {
	a := readShared(t, dir, file)
	if a == nil {
		return nil
	}
	var out []meshedPart
	for _, p := range a.Parts {
		if len(p.Bodies) == 0 {
			continue
		}
		meshes, faults := tess.Bodies(context.Background(), p.Bodies, tol, 2)
		mp := meshedPart{name: p.Name}
		var faces []int
		for i, b := range p.Bodies {
			mp.faces += len(b.Faces)
			mp.solid = mp.solid || b.Solid
			faces = append(faces, len(b.Faces))
			for _, f := range faults[i] {
				if f.Repaired {
					mp.repaired = append(mp.repaired, f)
				} else {
					mp.failed = append(mp.failed, f)
				}
			}
		}
		mp.m = mesh.Join(meshes, faces)
		out = append(out, mp)
	}
	return out
}

// matchAll gives each of our parts its golden part: of the same number of
// faces and nearest volume first; then bodies that were split ("name 2") are
// put together under their common name. Parts without a partner get nil.
func matchAll(parts []meshedPart, golden []goldenPart) ([]meshedPart, []*goldenPart) {
	var out []meshedPart
	var with []*goldenPart
	var rest []meshedPart
	for _, p := range parts {
		if g := nearest(&p, golden, 0.1); g != nil {
			out, with = append(out, p), append(with, g)
		} else {
			rest = append(rest, p)
		}
	}
	for _, p := range joined(rest) {
		out, with = append(out, p), append(with, nearest(&p, golden, math.Inf(1)))
	}
	return out, with
}

func nearest(p *meshedPart, golden []goldenPart, within float64) *goldenPart {
	v := p.m.Volume()
	var best *goldenPart
	score := func(g *goldenPart) float64 { return math.Abs(v - g.Volume) }
	for i := range golden {
		g := &golden[i]
		if g.matched || g.Faces != p.faces || score(g) > within*math.Abs(g.Volume) {
			continue
		}
		if best == nil || score(g) < score(best) {
			best = g
		}
	}
	if best != nil {
		best.matched = true
	}
	return best
}

// joined merges parts whose names differ only in a number at the end.
func joined(parts []meshedPart) []meshedPart {
	var out []meshedPart
	at := map[string]int{}
	for _, p := range parts {
		name := strings.TrimRight(strings.TrimRight(p.name, "0123456789"), " ")
		i, ok := at[name]
		if !ok {
			at[name] = len(out)
			out = append(out, p)
			continue
		}
		o := &out[i]
		o.m = mesh.Join([]*mesh.Mesh{o.m, p.m}, []int{o.faces, p.faces})
		o.faces += p.faces
		o.failed, o.repaired = append(o.failed, p.failed...), append(o.repaired, p.repaired...)
	}
	return out
}

// The two assemblies of the same product from different systems must come out
// right in every part.
func TestAssemblyPartsAgainstGolden(t *testing.T) {
	dir := shared(t)
	for _, file := range []string{"as1-oc-214.stp", "as1-tu-203.stp"} {
		golden := readGolden(t, dir, file)
		parts := meshFile(t, dir, file, geom.Tolerance{Chord: 0.02, Angle: 0.2})
		if len(parts) != len(golden) {
			t.Errorf("%s: %d parts with shape, want %d", file, len(parts), len(golden))
		}
		parts, with := matchAll(parts, golden)
		for i := range parts {
			p, g := &parts[i], with[i]
			for _, f := range p.failed {
				t.Errorf("%s %s #%d: %s", file, p.name, f.Tag, f.Why)
			}
			for _, f := range p.repaired {
				t.Logf("%s %s #%d: %s", file, p.name, f.Tag, f.Why)
			}
			if err := p.m.Check(); err != nil || !p.m.IsClosed() {
				t.Errorf("%s %s: closed %v: %v", file, p.name, p.m.IsClosed(), err)
			}
			if v := p.m.Volume(); g != nil && !(math.Abs(v-g.Volume) <= 0.005*g.Volume) {
				t.Errorf("%s %s: volume %.7g mm³, want %.7g", file, p.name, v, g.Volume)
			}
			if g != nil {
				t.Logf("%s %s: volume %.7g of %.7g, %d triangles of %d", file, p.name, p.m.Volume(), g.Volume, len(p.m.Triangles), g.Mesh.Triangles)
			}
		}
	}
}

// wrongInGolden are parts where the reference is mistaken; see
// TestHalfShellIsThin.
var wrongInGolden = map[string]bool{"HEAD_BACK": true}

// tally counts what came out of a file.
type tally struct{ faces, failed, repaired, closed, want, near, triangles, golden int }

func (a *tally) add(b tally) {
	a.faces, a.failed, a.repaired = a.faces+b.faces, a.failed+b.failed, a.repaired+b.repaired
	a.closed, a.want, a.near = a.closed+b.closed, a.want+b.want, a.near+b.near
	a.triangles, a.golden = a.triangles+b.triangles, a.golden+b.golden
}

// All files, as the program meshes them. What is closed for the reference must
// be closed for us, with a volume that the chord explains: area × chord.
// STEPSCAN_FILE names a part of a path to look at one file more closely.
func TestAllFilesAgainstGolden(t *testing.T) {
	dir := shared(t)
	only := os.Getenv("STEPSCAN_FILE")
	var total tally
	for _, file := range stepFiles(t, filepath.Join(dir, "data")) {
		if !strings.Contains(file, only) {
			continue
		}
		c := tallyFile(t, dir, file, only != "")
		t.Logf("%-60s faces %4d failed %d repaired %d closed %d of %d, volume right %d, triangles %d, golden (finer) %d",
			file, c.faces, c.failed, c.repaired, c.closed, c.want, c.near, c.triangles, c.golden)
		total.add(c)
	}
	t.Logf("total %+v", total)
	if only != "" {
		return
	}
	// Floors of what has been reached: 11,685 faces in 182 closed parts, two
	// faces repaired, none failed. Three files hold the same screw, whose void
	// the file turns over once too often.
	if total.failed > 0 || total.repaired > 5 {
		t.Errorf("%d faces failed, %d repaired; want 0 and at most 5", total.failed, total.repaired)
	}
	if total.faces < 11000 || total.want < 170 {
		t.Errorf("only %d faces and %d closed parts were compared", total.faces, total.want)
	}
}

func stepFiles(t *testing.T, root string) []string {
	var files []string
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if ext := strings.ToLower(filepath.Ext(path)); err == nil && !d.IsDir() && (ext == ".stp" || ext == ".step" || ext == ".p21") {
			rel, relErr := filepath.Rel(root, path)
			files = append(files, filepath.ToSlash(rel))
			return relErr
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(files)
	return files
}

func tallyFile(t *testing.T, dir, file string, verbose bool) tally {
	var c tally
	parts, with := matchAll(meshFile(t, dir, file, tess.Default), readGolden(t, dir, file))
	for i := range parts {
		p, g := &parts[i], with[i]
		for _, f := range slices.Concat(p.failed, p.repaired) {
			t.Logf("%s %s face %d #%d: %s", file, p.name, f.Face, f.Tag, f.Why)
		}
		closed := p.m.IsClosed()
		c.add(tally{faces: p.faces, failed: len(p.failed), repaired: len(p.repaired), triangles: len(p.m.Triangles)})
		if closed {
			c.closed++
		}
		if g == nil || !g.Closed || g.Volume == 0 {
			continue
		}
		c.want++
		c.golden += g.Mesh.Triangles
		if !closed {
			t.Errorf("%s %s: %v", file, p.name, p.m.Check())
		}
		v, w := p.m.Volume(), math.Abs(g.Volume)
		switch {
		case math.Abs(v-w) <= 1.1*g.Area*tess.Default.Chord+1e-6*w:
			c.near++
		case !wrongInGolden[p.name]:
			t.Errorf("%s %s: volume %.7g mm³, want %.7g", file, p.name, v, w)
		}
		if verbose {
			t.Logf("%s: closed %v, volume %.7g of %.7g (%+.3f %%), faces %d, triangles %d of %d", p.name, closed, v, w, 100*(v-w)/w, p.faces, len(p.m.Triangles), g.Mesh.Triangles)
		}
	}
	return c
}

// HEAD_BACK is half of a hollow ball with a neck. A loop on a sphere leaves two
// faces to choose from; ISO 10303-42 (face_bound, face_surface) decides: seen
// with the face's normal towards the eye, the material is on the left of each
// loop. All six spherical faces say the same:
//
//	#243, #314  r = 60, normal outward. On #70, from z = 60 to z = -60 through
//	            (250, 60, 0): normal +y, way -z, left is y × -z = -x.
//	#329, #339  r = 59, normal inward. On #130, from z = -59 to z = 59 through
//	            (250, 59, 0): normal -y, way +z, left is -y × z = -x.
//	#587, #592  r = 60, normal outward. On #582, from z = 17 to z = -17 through
//	            (190, 0, 0): normal -x, way -z, left is -x × -z = -y: #587 is
//	            the half of the small cap with y < 0, which closes the neck.
//
// All keep to x < 250, where the ring #161 between r = 59 and 60 ends them. The
// reference takes the complement of spherical faces: its box goes on to x = 310,
// and its part fills the space of its neighbour HEAD_FRONT.
func TestHalfShellIsThin(t *testing.T) {
	a, err := step.ReadFile(context.Background(), filepath.Join(shared(t), "data", "caxif", "s1-c5-214", "HEAD_BACK.stp"), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	bodies := a.Parts[0].Bodies
	m, _ := tess.Bodies(context.Background(), bodies, tess.Default, 2)
	if x := m[0].Box().Max[0]; math.Abs(x-250) > 1e-6 {
		t.Errorf("ends at x = %g, want 250", x)
	}
	// Between the half balls, and the neck (17 < ρ < 18) from x = 180 to the
	// outer ball: ∫ 2πρ (70 - √(60² - ρ²)) dρ.
	ball := func(rho float64) float64 { return math.Pow(60*60-rho*rho, 1.5) }
	want := 2.0/3*math.Pi*(60*60*60-59*59*59) + math.Pi*70*(18*18-17*17) - 2.0/3*math.Pi*(ball(17)-ball(18))
	if got := mass.Of(bodies[0], m[0]).Volume; math.Abs(got-want) > 1e-4*want {
		t.Errorf("volume %.7g mm³, want %.7g", got, want)
	}
}
