package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"stepscan/access"
)

// TreeText writes the product structure, one occurrence a line, with what is
// known of each shape.
func TreeText(w io.Writer, r *access.Report, st Style) error {
	t := newText(w, r, st)
	t.source()
	parts := map[string]*access.Part{}
	for i := range r.Parts {
		parts[r.Parts[i].ID] = &r.Parts[i]
	}
	rows := [][]string{{"occurrence", "id", "part", "volume mm³", "size mm", "faces", "colour"}}
	for i := range r.Occurrences {
		o := &r.Occurrences[i]
		p := parts[o.Part]
		row := []string{strings.Repeat("  ", o.Depth) + clip(clean(o.Name), 40), o.ID, clip(clean(p.Name), 28)}
		if p.Solids > 0 {
			row = append(row, measure(p.VolumeMM3, p), size(p.BoxMM), fmt.Sprint(p.Faces), p.Color)
		}
		rows = append(rows, row)
	}
	t.table(rows)
	t.line("")
	t.skipped(maxSkips)
	n := &r.Read
	t.line("%d of %d solids and %d of %d faces were meshed.", n.SolidsMeshed, n.Solids, n.FacesMeshed, n.Faces)
	return t.w.Flush()
}

// measure is a volume, or why there is none.
func measure(v access.Number, p *access.Part) string {
	switch {
	case !math.IsNaN(float64(v)):
		return fmt.Sprintf("%.1f", float64(v))
	case p.Triangles == nil:
		return "–"
	}
	return "open"
}

// size is the box's extent.
func size(b *[6]access.Number) string {
	if b == nil {
		return "–"
	}
	return fmt.Sprintf("%.1f × %.1f × %.1f", float64(b[3]-b[0]), float64(b[4]-b[1]), float64(b[5]-b[2]))
}
