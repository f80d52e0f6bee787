package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"stepscan/access"
)

// Style says how text is written.
type Style struct {
	Color bool // ANSI colours
	// Drawings is the folder that drawings' names are shown under, "" where
	// none were written.
	Drawings string
}

// Text writes the summary of a check: what was read, each fastener with its
// verdict, what stands in the way, and the verdict on the whole.
func Text(w io.Writer, r *access.Report, st Style) error {
	t := newText(w, r, st)
	t.source()
	if len(r.Fasteners) == 0 {
		t.line("No fasteners were recognised.")
	} else {
		t.side()
		t.fasteners()
	}
	t.findings()
	t.skipped(maxSkips)
	t.verdict()
	return t.w.Flush()
}

// maxSkips is how many unused records a summary lists; report.json has all.
const maxSkips = 5

type text struct {
	w     *bufio.Writer
	r     *access.Report
	st    Style
	names map[string]string // occurrence id to name
}

func newText(w io.Writer, r *access.Report, st Style) *text {
	t := &text{w: bufio.NewWriter(w), r: r, st: st, names: map[string]string{}}
	for i := range r.Occurrences {
		t.names[r.Occurrences[i].ID] = r.Occurrences[i].Name
	}
	return t
}

func (t *text) line(format string, args ...any) { fmt.Fprintf(t.w, format+"\n", args...) }

func (t *text) source() {
	s := &t.r.Source
	t.line("%s", t.bold(clean(s.File)))
	var from []string
	if len(s.Schemas) > 0 {
		from = append(from, clean(strings.Join(s.Schemas, ", ")))
	}
	if s.System != "" {
		from = append(from, "written by "+clean(s.System))
	}
	from = append(from, fmt.Sprintf("%d solids in %d parts", t.r.Read.Solids, t.shapes()))
	t.line("%s", strings.Join(from, "; "))
	t.line("")
}

func (t *text) shapes() int {
	n := 0
	for i := range t.r.Parts {
		if t.r.Parts[i].Solids > 0 {
			n++
		}
	}
	return n
}

// side says which side was worked from and how the others would have done.
func (t *text) side() {
	if len(t.r.Sides) == 0 {
		return
	}
	best := t.r.Sides[0]
	t.line("Working side: %s", t.bold(Direction(best.Side)))
	rows := [][]string{{"  side", "clear", "after others", "turn", "two-sided", "blocked"}}
	for i, s := range t.r.Sides {
		mark := "  "
		if i == 0 {
			mark = "> "
		}
		rows = append(rows, []string{
			mark + Direction(s.Side), num(s.Clear), num(s.ClearAfter), num(s.Turn), num(s.TwoSided), num(s.Blocked),
		})
	}
	t.table(rows)
	t.line("")
}

// fasteners is one row for all that are alike: same thing, same verdict, same
// tool.
func (t *text) fasteners() {
	rows := [][]string{{"", "fastener", "what", "drive", "verdict", "tool", "ids"}}
	groups := group(t.r.Fasteners, func(f *access.Fastener) string {
		return strings.Join([]string{What(f), f.Drive, f.DriveSize, verdictWords(f), f.Reach.Tool}, "\x00")
	})
	for _, g := range groups {
		f := g[0]
		rows = append(rows, []string{
			fmt.Sprintf("%d×", len(g)), t.groupName(g), What(f), strings.TrimSpace(f.Drive + " " + f.DriveSize),
			t.verdictWord(f), f.Reach.Tool, ids(g),
		})
	}
	t.table(rows)
	t.line("")
}

// What names a fastener: its designation, or kind and size where no table fits.
func What(f *access.Fastener) string {
	if f.Designation != "" {
		return f.Designation
	}
	s := f.Kind
	if f.Size != "" {
		s += " " + f.Size
	}
	if l := float64(f.LengthMM); l > 0 && !math.IsInf(l, 0) && f.Kind != "nut" && f.Kind != "washer" {
		s += fmt.Sprintf("×%.3g", l)
	}
	return s
}

func verdictWords(f *access.Fastener) string {
	if f.Reach.Hidden {
		return f.Reach.Verdict + ", hidden"
	}
	return f.Reach.Verdict
}

func (t *text) verdictWord(f *access.Fastener) string {
	color := yellow
	switch {
	case f.Reach.Verdict == "blocked":
		color = red
	case f.Reach.Verdict == "clear" && !f.Reach.Hidden:
		color = green
	}
	return t.paint(color, verdictWords(f))
}

func (t *text) skipped(most int) {
	s := t.r.Read.Skipped
	if len(s) == 0 {
		return
	}
	t.line("Not used, or used after repair (%d)", len(s))
	for i, k := range s {
		if i == most {
			t.line("  and %d more: all are in report.json", len(s)-most)
			break
		}
		place := strings.TrimSpace(k.ID + " " + k.Entity)
		if k.Line > 0 {
			place += fmt.Sprintf(" (line %d)", k.Line)
		}
		t.line("  %s: %s", clean(place), clean(k.Why))
	}
	t.line("")
}

func (t *text) verdict() {
	v := &t.r.Verdict
	if v.Fasteners > 0 {
		t.line("%s", t.bold(t.sentence()))
	}
	trust := "Everything in the file was used"
	if v.Trust != "full" {
		trust = "Part of the file was not used as it stands"
	}
	t.line("%s: the verdict %s.", trust, v.TrustText)
}

// sentence is the verdict on the whole in one line.
func (t *text) sentence() string {
	v := &t.r.Verdict
	side := ""
	if len(t.r.Sides) > 0 {
		side = " from " + Direction(t.r.Sides[0].Side)
	}
	parts := []string{fmt.Sprintf("%d of %d fasteners can be undone%s as assembled", v.Clear, v.Fasteners, side)}
	add := func(n int, what string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what))
		}
	}
	add(v.ClearAfter, "once other parts are off")
	add(v.Turn, "only after turning the product over")
	add(v.TwoSided, "only with a second tool from the far side")
	add(v.Blocked, "with no tool of the catalogue")
	add(v.Hidden, "out of sight")
	return strings.Join(parts, "; ") + "."
}

func num(n int) string {
	if n == 0 {
		return "–"
	}
	return fmt.Sprint(n)
}

// Direction names a unit vector: "+z" along an axis of the root, else its
// coordinates.
func Direction(v access.Vector) string {
	const aligned = 1 - 1e-6 // cos of 0.08 degrees
	for i, n := range "xyz" {
		switch c := float64(v[i]); {
		case c > aligned:
			return "+" + string(n)
		case c < -aligned:
			return "-" + string(n)
		}
	}
	return fmt.Sprintf("(%.3g, %.3g, %.3g)", float64(v[0]), float64(v[1]), float64(v[2]))
}
