package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
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
		t.counts()
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
	from := []string{plural(t.r.Read.Solids, "solid")}
	if n := t.shapes(); n != 1 || t.r.Read.Solids != 1 {
		from[0] += ", " + plural(n, "different part")
	}
	if s.System != "" {
		from = append(from, "written by "+clean(s.System))
	}
	for _, x := range s.Schemas {
		schema, _, _ := strings.Cut(clean(x), "{") // the object identifier says no more to people
		from = append(from, strings.TrimRight(schema, " ."))
	}
	t.wrapped("", strings.Join(from, "; "), 0)
	if s := Scale(t.r); s != "" {
		t.wrapped("", s, 0)
	}
	if n := t.r.Notes; n != nil {
		t.wrapped("", fmt.Sprintf("notes of %s heeded: %s, %s", clean(n.File), plural(n.Parts, "part"), plural(n.Joints, "joint")), 0)
	}
	t.line("")
}

// Scale says what unit the file's lengths were read in, and how large the whole
// came out: a wrong unit shows there first. "" where there is neither.
func Scale(r *access.Report) string {
	var parts []string
	switch s := &r.Source; {
	case s.LengthUnitAssumed && (s.LengthUnit == "mm" || s.LengthUnit == ""):
		parts = append(parts, "lengths taken for mm, since the file does not say")
	case s.LengthUnitAssumed:
		parts = append(parts, "lengths in "+clean(s.LengthUnit)+", some taken for mm, since the file does not say")
	case s.LengthUnit != "":
		parts = append(parts, "lengths in "+clean(s.LengthUnit))
	}
	if r.Read.BoxMM != nil {
		parts = append(parts, size(r.Read.BoxMM)+" mm over all")
	}
	return strings.Join(parts, "; ")
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
	best, n, beside := t.r.Sides[0], Count(t.r), ""
	switch {
	case n.All == 0: // there is nothing to choose a side for
		return
	case n.Washers > 0:
		beside = ", washers with their screws"
	}
	t.line("%s%s. The verdicts from each side%s:", t.bold("Working side: "), side(best.Side), beside)
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
	t.table(slices.Values(rows))
	t.line("")
}

// maxRows is how many rows of the fasteners' table a summary shows.
const maxRows = 40

// fasteners is one row for all that are alike: same thing, same verdict, same
// tool.
func (t *text) fasteners() {
	rows := [][]string{{"", "ids", "fastener", "what", "verdict", "tool"}}
	groups := group(t.r.Fasteners, func(f *access.Fastener) string {
		return strings.Join([]string{What(f), f.Drive, f.DriveSize, VerdictWords(f), f.Reach.Tool}, "\x00")
	})
	more := 0
	for i, g := range groups {
		if i >= maxRows {
			more += len(g)
			continue
		}
		f := g[0]
		rows = append(rows, []string{
			fmt.Sprintf("%d×", len(g)), clip(ids(g), 26), t.groupName(g), What(f), t.verdictWord(f), ToolWords(f.Reach.Tool),
		})
	}
	t.table(slices.Values(rows))
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
	switch f.Head {
	case "stand-off": // which the contract calls a stud
		s = f.Head
	case "cable tie": // which it calls a clip, and which has no length that counts
		return f.Head
	}
	if f.Head != "" && (f.Kind == "nut" || f.Kind == "washer") { // wing nut, toothed washer
		s = f.Head + " " + f.Kind
	}
	size, unit := strings.CutSuffix(f.Size, " mm") // a diameter, where it is no thread
	if size != "" {
		s += " " + size
	}
	if l := float64(f.LengthMM); l > 0 && !math.IsInf(l, 0) && f.Kind != "nut" && f.Kind != "washer" {
		s += fmt.Sprintf("×%.3g", l)
	}
	if unit {
		s += " mm"
	}
	return s
}

// VerdictWords is a fastener's verdict, and whether its head is hidden.
func VerdictWords(f *access.Fastener) string {
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
	return t.paint(color, VerdictWords(f))
}

func (t *text) skipped(most int) {
	s := t.r.Read.Skipped
	if len(s) == 0 {
		return
	}
	t.line("%s (%d)", t.bold("Left out, mended or doubtful"), len(s))
	for i, k := range s {
		if i == most {
			t.line("  and %d more: all are in report.json", len(s)-most)
			break
		}
		t.wrapped("  ", clean(Record(&k))+clean(k.Why), 6)
	}
	t.line("")
}

// Record names the record that a skip is about, with what parts it from the
// reason; "" for none.
func Record(k *access.Skip) string {
	var words []string
	if k.ID != "" {
		words = append(words, k.ID)
	}
	if k.Entity != "" {
		words = append(words, EntityWord(k.Entity))
	}
	switch {
	case k.Line > 0 && len(words) == 0:
		words = append(words, fmt.Sprintf("line %d", k.Line))
	case k.Line > 0:
		words = append(words, fmt.Sprintf("(line %d)", k.Line))
	case len(words) == 0:
		return ""
	}
	return strings.Join(words, " ") + ": "
}

// EntityWord shortens the name of a complex instance, which is those of all its
// parts in brackets.
func EntityWord(entity string) string {
	first, rest, several := strings.Cut(entity, " ")
	if several && strings.HasPrefix(first, "(") && strings.HasSuffix(rest, ")") {
		return first + " …)"
	}
	return entity
}

// Tally counts verdicts over the fasteners that a tool has to undo: a washer
// comes off by itself once its screw is out.
type Tally struct{ All, Clear, After, Turn, Two, Blocked, Hidden, Washers int }

// Count tallies a report's fasteners.
func Count(r *access.Report) (n Tally) {
	for i := range r.Fasteners {
		f := &r.Fasteners[i]
		if f.Kind == "washer" {
			n.Washers++
			continue
		}
		n.All++
		switch f.Reach.Verdict {
		case "clear":
			n.Clear++
		case "clear after":
			n.After++
		case "turn":
			n.Turn++
		case "two-sided":
			n.Two++
		case "blocked":
			n.Blocked++
		}
		if f.Reach.Hidden {
			n.Hidden++
		}
	}
	return n
}

// verdict is the answer in full, before anything else.
func (t *text) verdict() {
	n := Count(t.r)
	t.wrapped("", t.bold(Sentence(t.r)), 0)
	if rest := Others(n); rest != "" {
		t.wrapped("", rest, 0)
	}
	if n.Hidden > 0 {
		t.line("Out of sight: %s.", plural(n.Hidden, "head"))
	}
	if r := &t.r.Read; r.FacesMeshed < r.Faces || r.SolidsMeshed < r.Solids {
		t.line("%s", t.paint(yellow, "Part of the model is missing: this "+t.r.Verdict.TrustText+"."))
	}
	t.line("")
}

// Others says what becomes of the fasteners that are not simply clear, "" where
// all are.
func Others(n Tally) string {
	var parts []string
	add := func(n int, what string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what))
		}
	}
	add(n.After, "once other parts are off")
	add(n.Turn, "only after a turn")
	add(n.Two, "only with a second tool on the far side")
	add(n.Blocked, "with no tool of the catalogue")
	if len(parts) == 0 {
		return ""
	}
	return "Others: " + strings.Join(parts, ", ") + "."
}

// Sentence is the verdict on the whole in one line.
func Sentence(r *access.Report) string {
	n := Count(r)
	if n.All == 0 {
		return fmt.Sprintf("No fastener that a tool must undo; %s.", plural(n.Washers, "washer"))
	}
	from, beside := "", ""
	if len(r.Sides) > 0 {
		from = " from " + side(r.Sides[0].Side)
	}
	if n.Washers > 0 {
		beside = fmt.Sprintf(" (beside %s)", plural(n.Washers, "washer"))
	}
	return fmt.Sprintf("%d of %s%s can be undone%s as assembled.", n.Clear, plural(n.All, "fastener"), beside, from)
}

// end repeats the verdict and says what it rests on.
func (t *text) end() {
	if t.r.Verdict.Fasteners > 0 {
		t.line("%s", t.bold(Sentence(t.r)))
	}
	t.wrapped("", Trust(t.r), 0)
}

// Trust says what the verdict rests on.
func Trust(r *access.Report) string {
	switch {
	case r.Verdict.Trust != "full":
		return fmt.Sprintf("Not all of the file can be relied on: the verdict %s.", r.Verdict.TrustText)
	case len(r.Read.Skipped) > 0: // annotations, say: the list tells
		return fmt.Sprintf("All shapes in the file were used: the verdict %s.", r.Verdict.TrustText)
	}
	return fmt.Sprintf("Everything in the file was used: the verdict %s.", r.Verdict.TrustText)
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

// From is the side that a fastener is driven from, "" where none is known.
func From(f *access.Fastener) string {
	if f.Reach.Side == (access.Vector{}) {
		return ""
	}
	return side(f.Reach.Side)
}

// side names a direction after "from".
func side(v access.Vector) string {
	return name.Side([3]float64{float64(v[0]), float64(v[1]), float64(v[2])})
}
