package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"stepscan/access"
	"stepscan/render/name"
)

// Style says how text is written.
type Style struct {
	Color bool // ANSI colours
	// Drawings is the folder that drawings' names are shown under, "" where
	// none were written.
	Drawings string
}

// Text writes the summary of a check: what was read and the verdict, then each
// fastener, what stands in the way, and, since the end of a long summary is
// what a terminal shows, the verdict in one line again.
func Text(w io.Writer, r *access.Report, st Style) error {
	t := newText(w, r, st)
	t.source()
	if len(r.Fasteners) == 0 {
		t.line("No fasteners were recognised.")
	} else {
		t.verdict()
		t.side()
		t.fasteners()
	}
	t.findings()
	t.skipped(maxSkips)
	t.end()
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
	from := []string{plural(t.r.Read.Solids, "solid") + ", " + plural(t.shapes(), "different part")}
	if s.System != "" {
		from = append(from, "written by "+clean(s.System))
	}
	for _, x := range s.Schemas {
		schema, _, _ := strings.Cut(clean(x), "{") // the object identifier says no more to people
		from = append(from, strings.TrimRight(schema, " ."))
	}
	t.wrapped("", strings.Join(from, "; "), 0)
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
	t.line("%s%s. The verdicts from each side:", t.bold("Working side: "), side(best.Side))
	rows := [][]string{{"", "clear", "clear after", "turn", "two-sided", "blocked"}}
	for i, s := range t.r.Sides {
		mark := "  "
		if i == 0 {
			mark = "> "
		}
		rows = append(rows, []string{
			mark + side(s.Side), num(s.Clear), num(s.ClearAfter), num(s.Turn), num(s.TwoSided), num(s.Blocked),
		})
	}
	t.table(rows)
	t.line("")
}

// maxRows is how many rows of the fasteners' table a summary shows.
const maxRows = 40

// fasteners is one row for all that are alike: same thing, same verdict, same
// tool.
func (t *text) fasteners() {
	rows := [][]string{{"", "ids", "fastener", "what", "verdict", "tool"}}
	groups := group(t.r.Fasteners, func(f *access.Fastener) string {
		return strings.Join([]string{What(f), f.Drive, f.DriveSize, verdictWords(f), f.Reach.Tool}, "\x00")
	})
	more := 0
	for i, g := range groups {
		if i >= maxRows {
			more += len(g)
			continue
		}
		f := g[0]
		rows = append(rows, []string{
			fmt.Sprintf("%d×", len(g)), clip(ids(g), 26), t.groupName(g), What(f), t.verdictWord(f), toolWords(f.Reach.Tool),
		})
	}
	t.table(rows)
	if more > 0 {
		t.line("and %d more; report.json has all", more)
	}
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
		t.wrapped("  ", clean(place)+": "+clean(k.Why), 6)
	}
	t.line("")
}

// tally counts verdicts over the fasteners that a tool has to undo: a washer
// comes off by itself once its screw is out.
type tally struct{ all, clear, after, turn, two, blocked, hidden, washers int }

func (t *text) tally() (n tally) {
	for i := range t.r.Fasteners {
		f := &t.r.Fasteners[i]
		if f.Kind == "washer" {
			n.washers++
			continue
		}
		n.all++
		switch f.Reach.Verdict {
		case "clear":
			n.clear++
		case "clear after":
			n.after++
		case "turn":
			n.turn++
		case "two-sided":
			n.two++
		case "blocked":
			n.blocked++
		}
		if f.Reach.Hidden {
			n.hidden++
		}
	}
	return n
}

// verdict is the answer in full, before anything else.
func (t *text) verdict() {
	n := t.tally()
	t.wrapped("", t.sentence(), 0)
	var parts []string
	add := func(n int, what string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what))
		}
	}
	add(n.after, "once other parts are off")
	add(n.turn, "only after a turn")
	add(n.two, "only with a second tool on the far side")
	add(n.blocked, "with no tool of the catalogue")
	if len(parts) > 0 {
		t.wrapped("", "Others: "+strings.Join(parts, ", ")+".", 0)
	}
	if n.hidden > 0 {
		t.line("Out of sight: %s.", plural(n.hidden, "head"))
	}
	if r := &t.r.Read; r.FacesMeshed < r.Faces || r.SolidsMeshed < r.Solids {
		t.line("%s", t.paint(yellow, "Part of the model is missing: this "+t.r.Verdict.TrustText+"."))
	}
	t.line("")
}

// sentence is the verdict on the whole in one line.
func (t *text) sentence() string {
	n := t.tally()
	if n.all == 0 {
		return t.bold(fmt.Sprintf("No fastener that a tool must undo, %s.", plural(n.washers, "washer")))
	}
	from, beside := "", ""
	if len(t.r.Sides) > 0 {
		from = " from " + side(t.r.Sides[0].Side)
	}
	if n.washers > 0 {
		beside = fmt.Sprintf(" (beside %s)", plural(n.washers, "washer"))
	}
	return t.bold(fmt.Sprintf("%d of %s%s can be undone%s as assembled.", n.clear, plural(n.all, "fastener"), beside, from))
}

// end repeats the verdict and says what it rests on.
func (t *text) end() {
	if t.r.Verdict.Fasteners > 0 {
		t.line("%s", t.sentence())
	}
	trust := "Everything in the file was used"
	if t.r.Verdict.Trust != "full" {
		trust = "Part of the file was not used as it stands"
	}
	t.wrapped("", fmt.Sprintf("%s: the verdict %s.", trust, t.r.Verdict.TrustText), 0)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func num(n int) string {
	if n == 0 {
		return "–"
	}
	return fmt.Sprint(n)
}

// side names a direction after "from".
func side(v access.Vector) string {
	return name.Side([3]float64{float64(v[0]), float64(v[1]), float64(v[2])})
}
