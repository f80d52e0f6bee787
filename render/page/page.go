package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"stepscan/access"
	"stepscan/render/name"
	"stepscan/render/report"
	"stepscan/render/sheet"
)

//go:embed report.html.tmpl
var layout string

//go:embed report.css
var style string

// Drawings are the sheets by their names under the output folder, such as
// "overview.svg" and "joints/f1.svg".
type Drawings map[string][]byte

// Overview is the name of the drawing of the whole.
const Overview = "overview.svg"

var tmpl = template.Must(template.New("report").Parse(layout))

// Write writes the page. Drawings that the report names and that are not there
// are linked to if the page leaves them out for its size (see Wanted), and not
// mentioned otherwise.
func Write(w io.Writer, r *access.Report, d Drawings) error {
	css := style + sheet.StyleWithin(".sheet")
	sum := sha256.Sum256([]byte(css))
	m := newModel(r, d)
	m.Style = template.CSS(css) // our own
	m.StyleHash = "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
	if m.err != nil {
		return m.err
	}
	var b bytes.Buffer
	if err := tmpl.Execute(&b, m); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	_, err := io.WriteString(w, fit(b.String()))
	return err
}

// fit replaces what no name may bring into the page, wherever it stands: the
// page's own text holds none of it but line ends.
func fit(s string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && name.Unfit(r) {
			return '·'
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}

// How much a page shows before it refers to the other files: rows of a table,
// problem joints with a drawing, and those of them that are shown for alike ones.
const (
	maxRows     = 500
	maxDrawings = 60
)

// Wanted are the names of the drawings that a page of this report shows: the
// overview, one for each group of alike problem joints, the worst first, then
// the others of the groups, as far as there is room.
func Wanted(r *access.Report) map[string]bool {
	want := map[string]bool{Overview: true}
	problems, _ := report.Problems(r)
	for _, first := range []bool{true, false} {
		for _, p := range problems {
			for i, f := range p.Fasteners {
				if d := drawing(p, f); d != "" && (i == 0) == first && len(want) <= maxDrawings {
					want[d] = true
				}
			}
		}
	}
	return want
}

// drawing is the name of a problem fastener's drawing, "" where none was to be
// made.
func drawing(p report.Problem, f *access.Fastener) string {
	for _, x := range p.Findings {
		if x.Drawing != nil {
			return "joints/" + f.ID + ".svg"
		}
	}
	return ""
}
