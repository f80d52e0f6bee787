package access_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// An assembly of a part in the file and one in another file: where that is
// missing the report lists it and the verdict rests on a part of the product.
func TestMissingLinkedFile(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "step", "testdata", "box.stp"))
	if err != nil {
		t.Fatal(err)
	}
	const asm = "#900=PRODUCT('asm','asm','',());\n#901=PRODUCT_DEFINITION_FORMATION('','',#900);\n#902=PRODUCT_DEFINITION('','',#901,$);\n" +
		"#903=PRODUCT('q','q','',());\n#904=PRODUCT_DEFINITION_FORMATION('','',#903);\n#905=PRODUCT_DEFINITION('','',#904,$);\n" +
		"#910=CARTESIAN_POINT('',(0.,0.,0.));\n#911=AXIS2_PLACEMENT_3D('',#910,$,$);\n#912=CARTESIAN_POINT('',(50.,0.,0.));\n#913=AXIS2_PLACEMENT_3D('',#912,$,$);\n" +
		"#920=SHAPE_REPRESENTATION('',(#921,#923),#7);\n#921=MAPPED_ITEM('',#922,#911);\n#922=REPRESENTATION_MAP(#911,#158);\n" +
		"#923=MAPPED_ITEM('',#924,#913);\n#924=REPRESENTATION_MAP(#911,#925);\n#925=SHAPE_REPRESENTATION('',(#911),#7);\n" +
		"#930=PRODUCT_DEFINITION_SHAPE('','',#902);\n#931=SHAPE_DEFINITION_REPRESENTATION(#930,#920);\n" +
		"#932=PRODUCT_DEFINITION_SHAPE('','',#905);\n#933=SHAPE_DEFINITION_REPRESENTATION(#932,#925);\n" +
		"#940=NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','here','',#902,#3,$);\n#941=NEXT_ASSEMBLY_USAGE_OCCURRENCE('2','there','',#902,#905,$);\n" +
		"#950=DOCUMENT_FILE('there.stp','','',$,'',$);\n#951=APPLIED_DOCUMENT_REFERENCE(#950,'',(#905));\nENDSEC;\nEND-ISO"
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	main := write("main.stp", strings.Replace(string(text), "ENDSEC;\nEND-ISO", asm, 1))
	r := judged(t, main, nil).Report
	if r.Verdict.Trust != "partial" || r.Read.Solids != 1 {
		t.Errorf("trust %s on %d solids, want partial on 1", r.Verdict.Trust, r.Read.Solids)
	}
	listed := false
	for _, s := range r.Read.Skipped {
		listed = listed || strings.Contains(s.Why, `"there.stp" is not beside this file`)
	}
	if !listed {
		t.Errorf("the missing file is not listed: %+v", r.Read.Skipped)
	}
	write("there.stp", string(text))
	r = judged(t, main, nil).Report
	if r.Verdict.Trust != "full" || r.Read.Solids != 2 {
		t.Errorf("trust %s on %d solids with the file there, want full on 2: %+v", r.Verdict.Trust, r.Read.Solids, r.Read.Skipped)
	}
}
