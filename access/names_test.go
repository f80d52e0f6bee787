package access_test

import (
	"slices"
	"strings"
	"testing"

	"stepscan/access"
	"stepscan/step"
)

// named finds the findings of the rule about names.
func named(j *access.Judgement) []access.Finding {
	var out []access.Finding
	for _, f := range j.Report.Findings {
		if f.Rule == "name against shape" {
			out = append(out, f)
		}
	}
	return out
}

// The demo's names agree with its shapes. Called by others' names its screws
// stay what they are and its board none, and both are told with both
// statements, once a part.
func TestNamesAgainstShapes(t *testing.T) {
	plain := judged(t, "../fixtures/logger-a.step", nil)
	if f := named(plain); len(f) != 0 {
		t.Errorf("the demo as it is: %+v", f)
	}
	screw := &plain.Fasteners[slices.IndexFunc(plain.Report.Fasteners, func(f access.Fastener) bool { return f.Kind == "screw" && f.Size == "M3" })]
	part := plain.Product.Solids[screw.Solids[0]].Part
	uses := 0
	for i := range plain.Product.Solids {
		if plain.Product.Solids[i].Part == part {
			uses++
		}
	}
	big := 0 // the part with the greatest box that is no fastener: the housing
	for i := range plain.Product.Parts {
		if p := &plain.Product.Parts[i]; p.HasShape() && p.Box.Diagonal() > 2*plain.Product.Parts[big].Box.Diagonal() {
			big = i
		}
	}
	j := judged(t, "../fixtures/logger-a.step", func(a *step.Assembly) {
		a.Parts[part].Name, a.Parts[big].Name = "Schraube M5", "螺母"
	})
	got := named(j)
	if len(got) != 2 {
		t.Fatalf("%+v", got)
	}
	conflict, doubt := got[0], got[1]
	if conflict.Level != "warn" || len(conflict.Fasteners) != uses || len(conflict.Occurrences) != uses ||
		!strings.Contains(conflict.Text, `"Schraube M5"`) || !strings.Contains(conflict.Text, "the name says M5, the shape says M3") {
		t.Errorf("%d uses: %+v", uses, conflict)
	}
	if doubt.Level != "note" || len(doubt.Fasteners) != 0 || len(doubt.Occurrences) != 1 || !strings.Contains(doubt.Text, "counts as no fastener") {
		t.Errorf("%+v", doubt)
	}
	if !j.Report.Verdict.Pass {
		t.Error("a name alone fails the product")
	}
}
