package product

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/tess"
)

// leafBoxes are the reference's boxes of placed leaves, by node; nil for others,
// and for leaves without a face: the annotations beside a body, which the
// reference makes a leaf of their own.
func leafBoxes(t *testing.T, shared, file string, from *golden) []*geom.Box {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(shared, "oracle", "golden", strings.ReplaceAll(file, "/", "__")+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var g struct{ Tree []struct{ Bbox []float64 } }
	if err := json.Unmarshal(b, &g); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	out := make([]*geom.Box, len(g.Tree))
	for i, n := range g.Tree {
		part := from.Tree[i].Part
		if b := n.Bbox; len(b) == 6 && part != nil && from.Parts[*part].Faces > 0 {
			out[i] = &geom.Box{Min: mgl64.Vec3{b[0], b[1], b[2]}, Max: mgl64.Vec3{b[3], b[4], b[5]}}
		}
	}
	return out
}

// boxUnder is the exact box of an occurrence's solid, or of those of the bodies
// of its product, which are occurrences below it.
func (c *pairing) boxUnder(at int) geom.Box {
	box := geom.EmptyBox()
	for _, i := range append([]int{at}, c.ours[at]...) {
		if o := &c.p.Occs[i]; (i == at || o.Body) && o.Solid != NoSolid {
			box = box.Union(c.p.Solids[o.Solid].Exact)
		}
	}
	return box
}

// boxesDiffer are the leaves whose boxes differ by more than nearBox, by
// the part's or occurrence's name: by how much, mm, and why.
var boxesDiffer = map[string]float64{
	// The reference takes the other side of spherical faces: see partRules.
	"HEAD_BACK": 61, "*DIT38": 61,
	// A ball of radius 60: the reference ends one side of it at 59.99998596.
	"HEAD_FRONT": 2e-5, "*DIT37": 2e-5,
	// Both sides bulge by 0.001 beyond 73; the reference has it on one only.
	"MAINBODY_FRONT": 1.1e-3, "MAINBODY_BACK": 1.1e-3, "*DIT40": 1.1e-3, "*DIT41": 1.1e-3,
	// The edges at which two tori end (#17171, #18168) stand off them by up to
	// 9e-5. They and all vertices end at -181.96251933, as here; the tori, which
	// the reference takes, end up to 6e-5 beyond.
	"MirrorAeroFrame_LandingGear": 6e-5,
}

// nearBox is what the rest may differ by, mm: the reference is up to 1e-7 too
// wide on each side and written with ten digits.
const nearBox = 2e-6

// TestBoxesAgainstOpenCascade: the exact box of each placed leaf of each real
// file, meshed as by default.
func TestBoxesAgainstOpenCascade(t *testing.T) {
	shared := sharedFolder(t)
	if testing.Short() {
		t.Skip("reads every file")
	}
	leaves, near := 0, 0
	for _, file := range realFiles(t, shared) {
		g := readGolden(t, shared, file)
		p, _ := buildAt(t, filepath.Join(shared, "data", file), tess.Default, 0)
		c := pair(p, &g)
		for k, want := range leafBoxes(t, shared, file, &g) {
			i, ok := c.mate[k]
			if !ok || want == nil {
				continue
			}
			got := c.boxUnder(i)
			if got.IsEmpty() {
				continue
			}
			leaves++
			d := farthest(got, *want)
			if d <= nearBox {
				near++
			} else if !(d <= boxesDiffer[p.Occs[i].Name]) {
				t.Errorf("%s: %s: box %v, Open CASCADE gives %v (%.3g mm apart)", file, p.Occs[i].Name, got, *want, d)
			}
		}
	}
	if leaves < 340 || near < 325 {
		t.Errorf("only %d leaves compared, %d of them near", leaves, near)
	}
	t.Logf("%d of %d leaves within %g mm", near, leaves, nearBox)
}
