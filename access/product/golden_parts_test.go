package product

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/tess"
)

// partRule says that parts of the reference are not followed in some figures,
// and why.
type partRule struct {
	why   string
	part  string
	files []string // one part in each
	// mend replaces the volume and area that the reference has wrong, and its
	// centre is not compared; without mend neither these nor the box are.
	mend func(w *goldenPart)
}

var partRules = []partRule{
	{
		// By ISO 10303-42 a face's material is on the left of its loops, seen with
		// the normal towards the eye: on all of these at x < 250. TestHalfShellIsThin
		// in geom/tess goes through the loops and holds the volume against the
		// closed formula.
		why: "half of a hollow ball: the reference takes the other side of the loops on its spheres, and so fills " +
			"the ball and the space of the neighbour HEAD_FRONT up to x = 310",
		part:  "HEAD_BACK",
		files: []string{"caxif/s1-c5-214/HEAD.stp", "caxif/s1-c5-214/HEAD_BACK.stp", "caxif/s1-c5-214/s1-c5-214.stp"},
	},
	{
		why: "the reference's integrals count the rounded ends of two pins, #1603 and #1636, twice; its own mesh at " +
			"a chord of 0.0005 mm has 3532.94 mm³, 0.1 % less than its integral",
		part:  "Keystone_2468_2xAAA",
		files: []string{"electronics/BatteryHolder_Keystone_2468_2xAAA.step"},
		mend: func(w *goldenPart) {
			// A quarter of a circle of radius r = 4/11 mm, which ends at the radius
			// R = 0.4 - r, turned round the pin's axis (Pappus).
			const r = 4.0 / 11
			w.Area -= 2 * 2 * math.Pi * ((0.4-r)*r*math.Pi/2 + r*r)
			w.Volume = 3532.938
		},
	},
}

// repaired are the bodies and faces of real files that are not meshed as the file
// has them, one a file at most, and what their fault says. No face is left out.
var repaired = map[string]struct {
	tag brep.Tag
	why string
}{
	// A screw whose void is oriented against the rules: the file turns it over
	// once too often.
	"products/recycler/02_00_00-extruder_unit.STEP":                {13780, "void #16606 was inside out"},
	"products/recycler/02_05_00-cylinder_screw_M10x30-DIN912.step": {597, "void #1304 was inside out"},
	"products/recycler/Extrudergruppe.step":                        {16874, "void #12576 was inside out"},
	// A wire wound to a spring: the loop of its surface crosses itself once cut.
	"products/recycler/Klemmmechanismus Touch kpl..step": {9143, "slits left out"},
}

// Every part of every real file against Open CASCADE: volume, area and centre of
// the exact surfaces, the box, closedness, and that each face is meshed. At the
// settings of the reference's meshes ours must also lose no more volume and area
// than chord and angle explain. What the reference has wrong is a rule.
func TestPartsAgainstOpenCascade(t *testing.T) {
	shared := sharedFolder(t)
	files := realFiles(t, shared)
	if testing.Short() {
		files = slices.DeleteFunc(files, func(f string) bool { return filepath.Dir(f) != "." && filepath.Dir(f) != "kernels" })
	}
	ruled, parts, faces, ours, theirs := map[string]int{}, 0, 0, 0, 0
	for _, file := range files {
		g := readGolden(t, shared, file)
		p, _ := buildAt(t, filepath.Join(shared, "data", file), goldenTol, 0)
		c := pair(p, &g)
		a, b := 0, 0
		for k := range g.Parts {
			w := &g.Parts[k]
			if w.Faces == 0 {
				continue // curves, or nothing at all
			}
			h, ok := c.of(k)
			if !ok {
				t.Errorf("%s: no occurrence of ours stands for the reference's part %q", file, w.Name)
				continue
			}
			parts, faces = parts+1, faces+w.Faces
			a, b = a+h.triangles, b+w.Mesh.Triangles
			for _, wrong := range h.differences(w, file, ruled) {
				t.Errorf("%s: part %q: %s", file, w.Name, wrong)
			}
		}
		checkFaults(t, file, p)
		if b > 0 {
			t.Logf("%7d triangles, the reference has %7d: %.2f  %s", a, b, float64(a)/float64(b), file)
		}
		if float64(a) > 1.5*float64(b) {
			t.Errorf("%s: %d triangles, the reference makes do with %d", file, a, b)
		}
		ours, theirs = ours+a, theirs+b
	}
	t.Logf("%d parts with %d faces in %d files; %d triangles, the reference has %d", parts, faces, len(files), ours, theirs)
	if testing.Short() {
		return
	}
	for i := range partRules {
		if r := &partRules[i]; ruled[r.part] != len(r.files) {
			t.Errorf("the rule for %s was used %d times, want %d", r.part, ruled[r.part], len(r.files))
		}
	}
	if parts < 180 || faces < 11000 || ours > theirs {
		t.Errorf("%d parts with %d faces compared; %d triangles, the reference has %d", parts, faces, ours, theirs)
	}
}

// checkFaults holds what a product's parts had mended against what is known.
func checkFaults(t *testing.T, file string, p *Product) {
	t.Helper()
	known, some := repaired[file]
	for i := range p.Parts {
		for _, f := range p.Parts[i].Faults {
			if !f.Repaired || !some || f.Tag != known.tag || !strings.Contains(f.Why, known.why) {
				t.Errorf("%s: part %q: #%d (repaired %v): %s", file, p.Parts[i].Name, f.Tag, f.Repaired, f.Why)
			}
			some = false
		}
	}
	if some {
		t.Errorf("%s: #%d is no longer told of", file, known.tag)
	}
}

// What two exact integrals may differ by. 0.1 % is asked for; these are what has been
// reached, with a little room.
const (
	volumeShare = 2e-4
	areaShare   = 5e-4
	centreMM    = 5e-3
	boxRounding = 1e-6 // the reference's boxes are up to 1e-7 mm too wide
)

// differences compares what we have with a part of the reference, and counts the
// rules that it used.
func (h *held) differences(w *goldenPart, file string, ruled map[string]int) []string {
	var out []string
	fail := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if h.faces != w.Faces || len(h.meshed) != w.Faces || h.solids != w.Solids {
		fail("%d solids with %d faces, %d meshed; the reference has %d with %d", h.solids, h.faces, len(h.meshed), w.Solids, w.Faces)
	}
	if h.closed != w.Closed || w.Valid && w.Solids > 0 && !h.closed {
		fail("closed %v, the reference says %v, valid %v", h.closed, w.Closed, w.Valid)
	}
	centreToo := true
	for i := range partRules {
		if r := &partRules[i]; r.part == w.Name && slices.Contains(r.files, file) {
			ruled[r.part]++
			if r.mend == nil {
				return out
			}
			r.mend(w)
			centreToo = false
		}
	}
	if off := farthest(h.box, w.box()); !(off <= goldenTol.Chord+boxRounding) {
		fail("box %v is %.3g mm off %v", h.box, off, w.box())
	}
	return append(out, h.integralsOff(w, centreToo)...)
}

// integralsOff compares volume, area and centre: those of the exact surface
// strictly, those of the mesh by what chord and angle explain. An inscribed mesh
// loses at most chord times area of the volume, and of the area half the square
// of a facet's turn from its surface: a facet turns by half the angle at each of
// its sides, in both directions on a doubly bent surface.
func (h *held) integralsOff(w *goldenPart, centreToo bool) []string {
	var out []string
	fail := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if d := math.Abs(h.area - w.Area); !(d <= areaShare*w.Area+w.doubt()) {
		fail("area %.7g mm², the reference has %.7g (%+.4f %%)", h.area, w.Area, 100*(h.area/w.Area-1))
	}
	centre := h.areaCentre
	if w.Solids > 0 {
		centre = h.centre
		if w.VolumeRough || !(math.Abs(h.volume-w.Volume) <= volumeShare*w.Volume) {
			fail("volume %.7g mm³, the reference has %.7g (%+.4f %%)", h.volume, w.Volume, 100*(h.volume/w.Volume-1))
		}
		if d := math.Abs(h.meshVolume - w.Volume); !(d <= goldenTol.Chord*w.Area) {
			fail("the mesh's volume is %.4g mm³ off %.7g, chord × area is %.4g", d, w.Volume, goldenTol.Chord*w.Area)
		}
	}
	if d := centre.Sub(w.Centre).Len(); centreToo && !(d <= centreMM) {
		fail("centre %v is %.3g mm off %v", centre, d, w.Centre)
	}
	if d, half := math.Abs(h.meshArea-w.Area), goldenTol.Angle/2; !(d <= half*half*w.Area) {
		fail("the mesh's area is %.4g mm² off %.7g", d, w.Area)
	}
	return out
}

// farthest is the greatest distance between the sides of two boxes.
func farthest(a, b geom.Box) float64 {
	d := 0.0
	for k := range 3 {
		d = max(d, math.Abs(a.Min[k]-b.Min[k]), math.Abs(a.Max[k]-b.Max[k]))
	}
	return d
}

// At the program's own tolerance, two and a half times as coarse, the integrals
// over the exact surface are nearly as good.
func TestVolumesAtTheDefaultTolerance(t *testing.T) {
	shared := sharedFolder(t)
	if testing.Short() {
		t.Skip("reads every file")
	}
	parts, worst := 0, 0.0
	for _, file := range realFiles(t, shared) {
		g := readGolden(t, shared, file)
		c := pair(build(t, filepath.Join(shared, "data", file), 0), &g)
		for k := range g.Parts {
			w := &g.Parts[k]
			h, ok := c.of(k)
			if !ok || w.Solids == 0 || slices.ContainsFunc(partRules, func(r partRule) bool { return r.part == w.Name }) {
				continue
			}
			parts++
			off := h.volume/w.Volume - 1
			if worst = max(worst, math.Abs(off)); !(math.Abs(off) <= 3e-4) {
				t.Errorf("%s: part %q: volume %.7g mm³, the reference has %.7g (%+.3f %%)", file, w.Name, h.volume, w.Volume, 100*off)
			}
		}
	}
	t.Logf("%d parts, worst %.4f %% at %g mm", parts, 100*worst, tess.Default.Chord)
	if parts < 170 {
		t.Errorf("only %d parts compared: is the folder whole?", parts)
	}
}
