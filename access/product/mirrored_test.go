package product

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stepscan/geom/tess"
	"stepscan/step"
)

// A box that one occurrence places as it is, one mirrored and one mirrored and
// twice as large: each placed mesh is closed and turns the right way round, so
// that its volume is positive.
func TestMirroredVolumes(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "step", "testdata", "box.stp"))
	if err != nil {
		t.Fatal(err)
	}
	asm := "#900=PRODUCT('asm','asm','',());\n#901=PRODUCT_DEFINITION_FORMATION('','',#900);\n#902=PRODUCT_DEFINITION('','',#901,$);\n" +
		"#903=CARTESIAN_POINT('',(0.,0.,0.));\n#904=AXIS2_PLACEMENT_3D('',#903,$,$);\n#905=REPRESENTATION_MAP(#904,#158);\n" +
		"#906=DIRECTION('',(1.,0.,0.));\n#907=DIRECTION('',(0.,1.,0.));\n#908=DIRECTION('',(0.,0.,-1.));\n"
	var items []string
	for i, o := range []struct {
		at    float64
		scale string
		axes  string
	}{{100, "1.", "$,$,%s,%s,$"}, {200, "1.", "#906,#907,%s,%s,#908"}, {300, "2.", "#906,#907,%s,%s,#908"}} {
		n := 910 + 10*i
		asm += fmt.Sprintf("#%d=CARTESIAN_POINT('',(%g.,0.,0.));\n", n, o.at)
		asm += fmt.Sprintf("#%d=CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s);\n", n+1, fmt.Sprintf(o.axes, fmt.Sprintf("#%d", n), o.scale))
		asm += fmt.Sprintf("#%d=MAPPED_ITEM('',#905,#%d);\n", n+2, n+1)
		items = append(items, fmt.Sprintf("#%d", n+2))
	}
	asm += fmt.Sprintf("#990=SHAPE_REPRESENTATION('',(%s),#7);\n", strings.Join(items, ",")) +
		"#991=PRODUCT_DEFINITION_SHAPE('','',#902);\n#992=SHAPE_DEFINITION_REPRESENTATION(#991,#990);\nENDSEC;\nEND-ISO"
	src := strings.Replace(string(text), "ENDSEC;\nEND-ISO", asm, 1)
	a, err := step.Read(t.Context(), "mirrored.stp", []byte(src), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Build(t.Context(), a, Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Solids) != 3 {
		t.Fatalf("%d solids; skips %v", len(p.Solids), p.Skips)
	}
	box := p.Parts[p.Solids[0].Part].Box
	size := box.Max.Sub(box.Min)
	volume := size[0] * size[1] * size[2]
	for i, want := range []float64{volume, volume, 8 * volume} {
		s := &p.Solids[i]
		if got := p.Parts[s.Part].Volume; math.Abs(got-want) > 1e-9*want {
			t.Errorf("solid %d: volume %g, want %g", i, got, want)
		}
		placed := p.Parts[s.Part].Mesh.Transformed(s.Place)
		if got := placed.Volume(); math.Abs(got-want) > 1e-9*want || !placed.IsClosed() {
			t.Errorf("solid %d: placed mesh has volume %g, want %g", i, got, want)
		}
		// z is turned round by both mirrors: the box lies below its origin.
		if below := s.Box.Max[2] <= 1e-9; below != (i > 0) {
			t.Errorf("solid %d: box %v", i, s.Box)
		}
	}
}
