package access_test

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stepscan/access"
	"stepscan/access/notes"
	"stepscan/access/product"
	"stepscan/geom/tess"
	"stepscan/step"
)

// judgedWith judges the demo's first revision with a notes file.
func judgedWith(t *testing.T, text string) (*access.Judgement, error) {
	t.Helper()
	n, err := notes.Read("n.yaml", []byte("format: stepscan.notes/1\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	asm, err := step.ReadFile(ctx, filepath.Join("..", "fixtures", "logger-a.step"), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	return access.Judge(ctx, p, access.Options{Version: "test", Notes: n})
}

func rules(r *access.Report, rule, about string) int {
	n := 0
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == rule && strings.Contains(f.Text, about) {
			n++
		}
	}
	return n
}

// A joint that the notes declare is explained, and stands in the report.
func TestDeclaredJoint(t *testing.T) {
	before, err := judgedWith(t, "")
	if err != nil {
		t.Fatal(err)
	}
	after, err := judgedWith(t, "joints:\n  - {part: type label, on: base, by: glue, release: warm air}\n  - {part: capacitor C1, on: board, by: solder}")
	if err != nil {
		t.Fatal(err)
	}
	const rule = "unexplained joint"
	if rules(before.Report, rule, `"type label"`) != 1 || rules(before.Report, rule, `"capacitor C1"`) != 1 {
		t.Fatal("without notes, label and capacitor are unexplained")
	}
	if rules(after.Report, rule, `"type label"`) != 0 || rules(after.Report, rule, `"capacitor C1"`) != 0 || rules(after.Report, rule, `"capacitor C2"`) != 1 {
		t.Errorf("%+v", after.Report.Findings)
	}
	want := "type label on base by glue, as the notes file says; released by warm air"
	seen := 0
	for i, j := range after.Report.Joints {
		if j.Kind == "declared" {
			seen++
			if seen == 1 && (j.Text != want || len(j.Occurrences) != 2) {
				t.Errorf("%+v, want %q", j, want)
			}
		}
		if slices.ContainsFunc(after.Report.Joints[:i], func(o access.Joint) bool { return o.ID == j.ID }) {
			t.Errorf("two joints are called %s", j.ID)
		}
	}
	if seen != 2 || after.Report.Notes == nil || after.Report.Notes.Joints != 2 || before.Report.Notes.Joints != 0 {
		t.Errorf("%d declared joints, notes %+v", seen, after.Report.Notes)
	}
}

// A label that is glued for good does not come off, so the screw under it is
// never reached; with a way to release it, it is.
func TestGluedForGood(t *testing.T) {
	verdict := func(text string) string {
		j, err := judgedWith(t, text)
		if err != nil {
			t.Fatal(err)
		}
		for i := range j.Fasteners {
			if j.Product.Name(j.Fasteners[i].Solids[0]) == "housing screw 5" {
				return j.Report.Fasteners[i].Reach.Verdict
			}
		}
		return "not found"
	}
	if got := verdict("joints: [{part: type label, on: base, by: glue, release: warm air}]"); got != "clear after" {
		t.Errorf("under a label that comes off: %s", got)
	}
	if got := verdict("joints: [{part: type label, on: base, by: glue}]"); got == "clear after" || got == "clear" || got == "not found" {
		t.Errorf("under a label glued for good: %s", got)
	}
}

// What the notes say of a part holds for all of its uses.
func TestNotesOnFasteners(t *testing.T) {
	j, err := judgedWith(t, "parts:\n  - {name: hinge pin, fastener: {kind: none}}\n  - {name: display screw 1, fastener: {kind: screw, size: M2.5}}")
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Fasteners) != 20 {
		t.Errorf("%d fasteners, want 20: all but the pin", len(j.Fasteners))
	}
	sizes := map[string]int{}
	for i := range j.Fasteners {
		f := &j.Fasteners[i]
		if n := j.Product.Name(f.Solids[0]); n == "hinge pin" || n == "display screw 1" && f.Size != "M2.5" {
			t.Errorf("%s: %s %s", n, f.Kind, f.Size)
		}
		sizes[f.Size]++
	}
	if sizes["M2"] != 3 || sizes["M2.5"] != 5 {
		t.Errorf("sizes %v, want 3 of M2 and 5 of M2.5", sizes)
	}
}

func TestNotesOnNoPart(t *testing.T) {
	_, err := judgedWith(t, "joints: [{part: tpye label, on: base, by: glue}]")
	var e *notes.Error
	if !errors.As(err, &e) || e.Line != 2 || !strings.Contains(err.Error(), `did you mean "type label"?`) {
		t.Errorf("%v", err)
	}
}
