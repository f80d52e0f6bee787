package report

import (
	"encoding/json"
	"io"

	"stepscan/access"
)

// JSON writes the whole report, indented, with a newline at the end.
func JSON(w io.Writer, r *access.Report) error { return encode(w, r) }

// Tree is the part of a report that a listing of the structure has.
type Tree struct {
	Format      string              `json:"format"`
	Program     access.Program      `json:"program"`
	Source      access.Source       `json:"source"`
	Read        access.Read         `json:"read"`
	Parts       []access.Part       `json:"parts"`
	Occurrences []access.Occurrence `json:"occurrences"`
}

// TreeJSON writes the structure only.
func TreeJSON(w io.Writer, r *access.Report) error {
	return encode(w, Tree{
		Format: r.Format, Program: r.Program, Source: r.Source, Read: r.Read,
		Parts: r.Parts, Occurrences: r.Occurrences,
	})
}

func encode(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
