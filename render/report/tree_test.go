package report

import (
	"bytes"
	"encoding/json"
	"slices"
	"testing"

	"stepscan/access"
)

// The tree that is written piece by piece has the bytes of the same keys
// written as one value.
func TestTreeJSONIsOneValue(t *testing.T) {
	id := "o0"
	full := access.Report{
		Format: access.Format, Program: access.Program{Version: "1"},
		Source: access.Source{File: "a <b> & \u2028.stp", Schemas: []string{}},
		Read:   access.Read{Skipped: []access.Skip{{ID: "#1", Why: "because"}}},
		Parts:  []access.Part{{ID: "p1", Name: "\"ä\" 螺丝", VolumeMM3: access.Unknown()}, {ID: "p2"}},
	}
	occs := []access.Occurrence{{ID: "o0", Part: "p1"}, {ID: "o1", Parent: &id, Part: "p2", Path: "a/b"}}
	for n := range 3 {
		r := full
		r.Parts = r.Parts[:n]
		var got, want bytes.Buffer
		err := TreeJSON(&got, &r, func(yield func(*access.Occurrence) bool) {
			for i := range occs[:n] {
				if !yield(&occs[i]) {
					return
				}
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		if err := e.Encode(struct {
			Format      string              `json:"format"`
			Program     access.Program      `json:"program"`
			Source      access.Source       `json:"source"`
			Read        access.Read         `json:"read"`
			Parts       []access.Part       `json:"parts"`
			Occurrences []access.Occurrence `json:"occurrences"`
		}{r.Format, r.Program, r.Source, r.Read, r.Parts, slices.Clone(occs[:n])}); err != nil {
			t.Fatal(err)
		}
		if n == 0 { // a nil slice would be null
			want = *bytes.NewBuffer(bytes.Replace(want.Bytes(), []byte(`"occurrences": null`), []byte(`"occurrences": []`), 1))
		}
		if got.String() != want.String() {
			t.Errorf("%d elements: got\n%s\nwant\n%s", n, got.String(), want.String())
		}
	}
}
