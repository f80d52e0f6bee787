package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/access/fastener"
	"stepscan/access/reach"
	"stepscan/render/view"
)

// verdictWords says a verdict to somebody who has not read the manual.
func verdictWords(r *reach.Reach) string {
	var s string
	switch r.Verdict {
	case reach.Clear:
		s = "clear"
	case reach.ClearAfter:
		s = "clear after other parts are off"
	case reach.Turn:
		s = "reached only from another side"
	case reach.TwoSided:
		s = "needs holding from the far side"
	case reach.Blocked:
		s = "blocked: no tool fits"
	default:
		s = "not judged"
	}
	if r.Hidden {
		s += ", head hidden"
	}
	return s
}

func (s *subject) heading() string {
	if s.judged != s && s.reach.Verdict == reach.Blocked {
		return call(s.f) + " – blocked: its " + string(s.judged.f.Kind) + " cannot be reached"
	}
	if s.f.Kind == fastener.Washer && s.reach.Verdict != reach.Clear {
		return call(s.f) + " – comes off with its screw: " + string(s.reach.Verdict)
	}
	return call(s.f) + " – " + verdictWords(&s.reach)
}

func (s *subject) description() string {
	return fmt.Sprintf("%s of %s. Three views: a cut across the tool's axis, the product from the working side, the view from the hand. %s",
		call(s.f), clean(s.b.p.Source.File), clean(s.reach.Why))
}

// head writes the verdict and its reason above the pictures.
func (s *subject) head(g *page) {
	g.group("verdict", "verdict")
	c := view.Point{X: headRect.X0 + 7, Y: headRect.Y0 + 7}
	g.symbol(c, 3, &s.reach, false)
	line := s.heading()
	g.text(view.Point{X: headRect.X0 + 14, Y: headRect.Y0 + 8}, "h", shorten(line, title*1.08, headRect.W()-18))
	y := headRect.Y0 + 13.2
	class, step := "n", 4.3
	lines := wrap(clean(s.reach.Why), normal, headRect.W()-18, 2)
	if len(lines) > 0 && strings.HasSuffix(lines[len(lines)-1], "…") { // a long reason: smaller
		class, step, y = "s", 3.1, y-0.4
		lines = wrap(clean(s.reach.Why), small, headRect.W()-18, 3)
	}
	for _, l := range lines {
		g.text(view.Point{X: headRect.X0 + 14, Y: y}, class, l)
		y += step
	}
	g.end()
}

// row is one line of the title block.
type row struct{ key, value string }

// title writes the title block: the fastener, the tool, the document.
func (s *subject) title(g *page, cam view.Camera) {
	g.group("title-block", "title")
	x0, x1, x2, x3 := titleRect.X0, titleRect.X0+92, titleRect.X0+184, titleRect.X1
	for _, x := range []float64{x1, x2} {
		g.line("rule", view.Point{X: x, Y: titleRect.Y0}, view.Point{X: x, Y: titleRect.Y1})
	}
	g.rows(x0, x1, s.fastenerRows())
	g.rows(x1, x2, s.toolRows())
	g.rows(x2, x3, s.sourceRows(cam))
	g.end()
}

const keyWidth = 22.0 // mm

// titleLines is how many lines a column of the title block has.
const titleLines = 7

// rows writes a column. A long value takes a second line while there is one.
func (g *page) rows(x0, x1 float64, rows []row) {
	rows = slices.DeleteFunc(rows, func(r row) bool { return r.value == "" })
	rows = rows[:min(len(rows), titleLines)]
	spare := titleLines - len(rows)
	y := titleRect.Y0 + 5
	for _, r := range rows {
		g.text(view.Point{X: x0 + 3, Y: y}, "s dim", r.key)
		lines := wrap(r.value, normal, x1-x0-keyWidth-5, 1+min(spare, 2))
		spare -= len(lines) - 1
		for _, l := range lines {
			g.text(view.Point{X: x0 + 3 + keyWidth, Y: y}, "n", l)
			y += 4.2
		}
	}
}

func (s *subject) fastenerRows() []row {
	f := s.f
	name := ""
	if len(f.Solids) > 0 {
		name = s.b.name(f.Solids[0])
	}
	kind := strings.TrimSpace(clean(f.Head) + " " + string(f.Kind))
	if f.Designation != "" {
		kind = clean(f.Designation)
	} else if f.Size != "" {
		kind = clean(f.Size) + ", " + kind
	}
	return []row{
		{"fastener", strings.TrimSpace(clean(f.ID) + "  " + name)},
		{"what it is", kind},
		{"drive", driveWords(f)},
		{"clamps", s.b.names(s.hold.Passes, 3)},
		{"holds in", s.b.names(s.hold.Bites, 3)},
		{"dimensions", lengthWords(f)},
	}
}

func lengthWords(f *fastener.Fastener) string {
	var words []string
	if f.Length > 0 && positive(f.Length) {
		words = append(words, "length "+twoDecimals(f.Length))
	}
	if f.HeadD > 0 && positive(f.HeadD) {
		words = append(words, "head ⌀ "+twoDecimals(f.HeadD))
	}
	if len(words) == 0 {
		return ""
	}
	return strings.Join(words, ", ") + " mm"
}

// twoDecimals prints a length with at most two decimals.
func twoDecimals(v float64) string { return short(math.Round(v*100) / 100) }

func driveWords(f *fastener.Fastener) string {
	switch f.Drive {
	case fastener.NoDrive, "":
		return ""
	case fastener.UnknownDrive:
		return "not modelled"
	}
	return strings.TrimSpace(string(f.Drive) + " " + clean(f.DriveSize))
}

func (s *subject) toolRows() []row {
	j := s.judged
	t := &j.trial
	rows := []row{{"tool", clean(t.Tool.Name)}}
	n := clean(s.reach.Tool.Name)
	switch {
	case j != s:
		rows = []row{{"tool", clean(s.trial.Tool.Name) + ": fits"}, {"at the " + string(j.f.Kind), clean(t.Tool.Name)}}
	case n != "" && n != clean(t.Tool.Name):
		rows = []row{{"common tool", clean(t.Tool.Name)}, {"one that fits", n}}
	}
	switch {
	case !j.limit:
		if t.Fits {
			rows = append(rows, row{"as assembled", "it fits"})
		}
	case t.Limit == reach.BySwing:
		rows = append(rows, row{"swing", "free " + degrees(t.Free) + ", needed " + degrees(t.Needed)})
	case isCovered(t):
		rows = append(rows, row{"radius", "needed " + value(t.Needed) + " mm, none free"})
	default:
		rows = append(rows, row{"radius", fmt.Sprintf("needed %s mm, free %s mm", value(t.Needed), value(t.Free))})
	}
	if j.limit {
		rows = append(rows, row{"limited by", s.b.name(t.Limiter)}, row{"where", where(t)})
	}
	if s.reach.Verdict == reach.ClearAfter || s.reach.Verdict == reach.Turn {
		rows = append(rows, row{"off first", s.b.names(s.reach.After, 3)})
	}
	if s.second != nil && j == s {
		rows = append(rows, row{"second tool", clean(s.second.trial.Tool.Name)})
	}
	if s.reach.Hidden && len(s.reach.HiddenBy) > 0 && !slices.Equal(s.reach.HiddenBy, s.reach.After) {
		rows = append(rows, row{"covered by", s.b.names(s.reach.HiddenBy, 3)})
	}
	return rows
}

// where says at what height and by which part of the tool it is limited.
func where(t *reach.Trial) string {
	what := clean(t.Section)
	switch {
	case t.Limit == reach.ByWayOut:
		what = "the fastener's way out"
	case what == "":
		what = string(t.Limit)
	}
	switch h := t.AtHeight; {
	case math.IsNaN(h) || math.IsInf(h, 0):
		return what
	case math.Abs(h) < covered:
		return what + ", level with its top"
	case h < 0:
		return fmt.Sprintf("%s, %s mm below its top", what, value(-h))
	default:
		return fmt.Sprintf("%s, %s mm above its top", what, value(h))
	}
}

func (s *subject) sourceRows(cam view.Camera) []row {
	src := &s.b.p.Source
	return []row{
		{"file", clean(src.File)},
		{"sha256", s.b.digest()},
		{"drawn by", strings.TrimSpace(clean(s.b.meta.Program) + " " + clean(s.b.meta.Version))},
		{"date", clean(s.b.meta.Date)},
		{"sheet", clean(s.f.ID) + ", A4, mm, main view " + scaleText(cam.Scale)},
	}
}

// digest is the start of the file's sha256: enough to tell revisions apart.
func (b *Book) digest() string {
	d := clean(b.p.Source.SHA256)
	if len(d) > 16 {
		return d[:16] + "…"
	}
	return d
}
