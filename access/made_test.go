package access

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stepscan/access/product"
	"stepscan/step"
)

// boxWithText is the seed's box with records that name its product definition
// PRODUCT and its context CONTEXT.
func boxWithText(t *testing.T, records string) *product.Product {
	t.Helper()
	return boxWith(t, boxRefs(t).Replace(records))
}

// A box of 6 mm³ at 7850 kg/m³ weighs 6e-9 m³ · 7850 kg/m³ = 0.0471 g.
func TestMassIsDensityTimesVolume(t *testing.T) {
	p := boxWithText(t, `#9001=(MASS_UNIT()NAMED_UNIT(*)SI_UNIT(.KILO.,.GRAM.));
#9002=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.));
#9003=DERIVED_UNIT_ELEMENT(#9001,1.);#9004=DERIVED_UNIT_ELEMENT(#9002,-3.);#9005=DERIVED_UNIT((#9003,#9004));
#9006=MEASURE_REPRESENTATION_ITEM('density measure',POSITIVE_RATIO_MEASURE(7850.),#9005);
#9007=REPRESENTATION('density',(#9006),$);
#9008=PROPERTY_DEFINITION('material property','density of part',PRODUCT);
#9009=PROPERTY_DEFINITION_REPRESENTATION(#9008,#9007);
#9010=DESCRIPTIVE_REPRESENTATION_ITEM('Steel','Steel');#9011=REPRESENTATION('material name',(#9010),$);
#9012=PROPERTY_DEFINITION('material property','material name',PRODUCT);
#9013=PROPERTY_DEFINITION_REPRESENTATION(#9012,#9011);
`)
	r := Describe(p, "")
	part := r.Parts[len(r.Parts)-1]
	if !(math.Abs(float64(part.MassG)-0.0471) < 1e-9) || !(math.Abs(float64(part.DensityKgM3)-7850) < 1e-6) {
		t.Errorf("mass %v g at %v kg/m³, want 0.0471 at 7850", part.MassG, part.DensityKgM3)
	}
	if part.Material != "Steel" || part.MaterialFrom != "file" || part.MaterialEvidence != nil {
		t.Errorf("made of %q from %q by %q", part.Material, part.MaterialFrom, part.MaterialEvidence)
	}
	if level, text := trust(&r.Read, nil); level != "full" {
		t.Errorf("trust is %s: %s", level, text)
	}
}

// What is not known is null, and what few files have is not there.
func TestPartWithoutMaterial(t *testing.T) {
	r := Describe(boxWithText(t, ""), "")
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"material":""`, `"material_from":"none"`, `"density_kg_m3":null`, `"mass_g":null`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%s is missing in %s", want, b)
		}
	}
	for _, key := range []string{"attributes", "layers", "transparency", "reference_designator", "material_evidence", "raw_name", "length_unit_assumed"} {
		if strings.Contains(string(b), `"`+key+`"`) {
			t.Errorf("%s is written though the file has none", key)
		}
	}
}

// An attribute's mass stands in where density or volume is not known.
func TestMass(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		want float64
	}{
		{"nothing", product.Part{Closed: true, Volume: 1e3}, math.NaN()},
		{"density", product.Part{Closed: true, Volume: 1e3, Made: step.Made{Density: 2700}}, 2.7},
		{"density before the attribute", product.Part{Closed: true, Volume: 1e3, Made: step.Made{Density: 2700, Mass: 9}}, 2.7},
		{"open", product.Part{Volume: 1e3, Made: step.Made{Density: 2700}}, math.NaN()},
		{"open, with the attribute", product.Part{Volume: 1e3, Made: step.Made{Density: 2700, Mass: 9}}, 9},
		{"attribute", product.Part{Closed: true, Volume: 1e3, Made: step.Made{Mass: 9}}, 9},
	} {
		got := float64(mass(&c.part))
		if none := math.IsNaN(got); none != math.IsNaN(c.want) || !none && !(math.Abs(got-c.want) < 1e-12) {
			t.Errorf("%s: %g g, want %g", c.name, got, c.want)
		}
	}
}

// Attributes, layers and the like arrive in the report with the file's own
// values and units.
func TestWhatElseTheFileSays(t *testing.T) {
	p := twoParts()
	p.Parts[1].Attributes = []step.Attribute{{Name: "Wall", Value: "0.25", Unit: "inch"}, {Name: "Dichte", Value: "1 g/cm³"}}
	p.Parts[1].Layers, p.Parts[1].Transparency = []string{"covers"}, 0.5
	p.Parts[1].Made = step.Made{Density: 1000, Weak: []string{`density from the attribute "Dichte"`}}
	p.Occs[1].RefDes, p.Occs[1].Layers = "R7", []string{"top"}
	p.Occs[1].Attributes = []step.Attribute{{Name: "Row", Value: "7"}}
	p.Parts[1].Mesh = nil
	r := Describe(p, "")
	for i, want := range map[int]string{
		0: `"material_evidence":["density from the attribute \"Dichte\""],"transparency":0.5,"layers":["covers"],"attributes":[{"name":"Wall","value":"0.25","unit":"inch"},{"name":"Dichte","value":"1 g/cm³","unit":""}]}`,
		1: `"reference_designator":"R7","layers":["top"],"attributes":[{"name":"Row","value":"7","unit":""}]}`,
	} {
		var v any = r.Parts[1]
		if i == 1 {
			v = r.Occurrences[1]
		}
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(string(b), want) {
			t.Errorf("%s\nwant it to end with\n%s", b, want)
		}
	}
	if r.Parts[1].MaterialFrom != "file" || !math.IsNaN(float64(r.Parts[1].MassG)) {
		t.Errorf("material from %q, mass %v: want the file and, without a mesh, no mass", r.Parts[1].MaterialFrom, r.Parts[1].MassG)
	}
}

// A name stands as it was in the file beside the shown one where the two differ,
// cut where it is endless.
func TestRawNames(t *testing.T) {
	p := twoParts()
	p.Parts[1].Mesh = nil
	p.Parts[1].RawName, p.Occs[1].RawName = " lid\t\u200e7 ", "NAUO12"
	p.Occs[0].RawName = strings.Repeat("Ж", maxRaw)
	r := Describe(p, "")
	if r.Parts[0].RawName != "" || r.Parts[1].RawName != " lid\t\u200e7 " || r.Occurrences[1].RawName != "NAUO12" {
		t.Errorf("raw names %q, %q and %q", r.Parts[0].RawName, r.Parts[1].RawName, r.Occurrences[1].RawName)
	}
	if got, want := r.Occurrences[0].RawName, strings.Repeat("Ж", maxRaw/2)+"…"; got != want {
		t.Errorf("long name %q of %d bytes, want %d", got, len(got), len(want))
	}
}

// The report has the unit, whether it is assumed, and the box of the whole: a
// box of 1 × 2 × 3 mm at the origin.
func TestScaleOfTheWhole(t *testing.T) {
	for _, unit := range []string{"mm", ""} {
		text, err := os.ReadFile(filepath.Join("..", "step", "testdata", "box.stp"))
		if err != nil {
			t.Fatal(err)
		}
		if unit == "" {
			text = []byte(strings.Replace(string(text), "GLOBAL_UNIT_ASSIGNED_CONTEXT", "SOME_OTHER_CONTEXT", 1))
		}
		asm, err := step.Read(t.Context(), "box.stp", text, step.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p, err := product.Build(t.Context(), asm, product.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r := Describe(p, "")
		if r.Source.LengthUnit != "mm" || r.Source.LengthUnitAssumed != (unit == "") {
			t.Errorf("unit %q, assumed %v", r.Source.LengthUnit, r.Source.LengthUnitAssumed)
		}
		if b := r.Read.BoxMM; b == nil || *b != [6]Number{0, 0, 0, 1, 2, 3} {
			t.Errorf("box %v", b)
		}
		if level, text := trust(&r.Read, nil); unit == "" && level != "partial" {
			t.Errorf("trust is %s though the unit is assumed: %s", level, text)
		}
	}
	if r := Describe(product.Structure(&step.Assembly{}), ""); r.Read.BoxMM != nil {
		t.Errorf("box %v of nothing", r.Read.BoxMM)
	}
}

// A long list that very many occurrences share is listed up to a bound, which is
// said and takes nothing from the trust.
func TestExtrasAreBounded(t *testing.T) {
	p := twoParts()
	list := make([]step.Attribute, 1000)
	for range maxExtras / len(list) {
		o := p.Occs[1]
		o.Attributes = list
		p.Occs = append(p.Occs, o)
	}
	p.Occs[2].Attributes = list
	p.Parts[1].Mesh = nil
	r := Describe(p, "")
	n := 0
	for _, o := range r.Occurrences {
		n += len(o.Attributes)
	}
	if n != maxExtras || len(r.Read.Skipped) != 1 || r.Read.Aside != 1 || !strings.Contains(r.Read.Skipped[0].Why, "of occurrences (1)") {
		t.Errorf("%d attributes listed, skipped %+v, %d aside", n, r.Read.Skipped, r.Read.Aside)
	}
}
