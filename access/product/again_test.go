package product

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stepscan/geom/tess"
	"stepscan/step"
)

// Three uses of a box, two of them in the same place: two solids, and it is
// told that one use too many was there.
func TestPlacedWhereItLiesAlready(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "step", "testdata", "box.stp"))
	if err != nil {
		t.Fatal(err)
	}
	asm := `#900=PRODUCT('asm','asm','',());
#901=PRODUCT_DEFINITION_FORMATION('','',#900);
#902=PRODUCT_DEFINITION('','',#901,$);
#903=CARTESIAN_POINT('',(0.,0.,0.));
#904=AXIS2_PLACEMENT_3D('',#903,$,$);
#905=REPRESENTATION_MAP(#904,#158);
#906=CARTESIAN_POINT('',(50.,0.,0.));
#907=AXIS2_PLACEMENT_3D('',#906,$,$);
#910=MAPPED_ITEM('',#905,#904);
#911=MAPPED_ITEM('',#905,#907);
#912=MAPPED_ITEM('',#905,#907);
#990=SHAPE_REPRESENTATION('',(#910,#911,#912),#7);
#991=PRODUCT_DEFINITION_SHAPE('','',#902);
#992=SHAPE_DEFINITION_REPRESENTATION(#991,#990);
ENDSEC;
END-ISO`
	src := strings.Replace(string(text), "ENDSEC;\nEND-ISO", asm, 1)
	a, err := step.Read(t.Context(), "again.stp", []byte(src), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Build(t.Context(), a, Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for _, s := range p.Skips {
		if strings.Contains(s.Why, "placed where it lies already, once too often") && !s.Aside {
			told++
		}
	}
	if len(p.Solids) != 2 || told != 1 {
		t.Errorf("%d solids, told %d times: %v", len(p.Solids), told, p.Skips)
	}
}
