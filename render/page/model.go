package page

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"stepscan/access"
	"stepscan/render/name"
	"stepscan/render/report"
	"stepscan/render/sheet"
)

// model is what the template prints, in its order.
type model struct {
	Report    *access.Report
	Style     template.CSS
	StyleHash string

	Scale                   string
	Sentence, Others, Trust string
	Partial                 bool
	Tally                   []tile
	Overview                template.HTML
	ProblemsTitle           string
	Problems                []problem
	Whole                   []finding
	Fasteners               table[row]
	Counts                  []report.Tallied
	Sides                   []sideRow
	Joints                  table[joint]
	Parts                   table[part]
	Skipped                 table[access.Skip]

	occs  map[string]*access.Occurrence
	about map[string]string // fastener id to the id of the problem that tells of it
	err   error
}

// tile is one number of the verdict.
type tile struct {
	Class, Word, Meaning string
	N                    int
}

// problem is what the page tells of alike fasteners.
type problem struct {
	ID             string // of the element
	IDs, Name      string
	What           string
	Verdict, Class string
	Findings       []finding
	Sheet          *drawn
	More           []drawn // the sheets of the others
	Left           []drawn // those that there was no room for
}

// drawn is a sheet, or a link to it.
type drawn struct {
	ID, Name string
	SVG      template.HTML
}

type finding struct {
	Level, Rule, Text, Figures, Source string
}

// row is a fastener in the table.
type row struct {
	ID, About, Name, What, Drive, Verdict, Class string
	From, Tool, Room                             string
	Grip, Thread                                 string // mm
	Limiter                                      string
	After                                        []string
}

type sideRow struct {
	Side   string
	Chosen bool
	Counts []int
}

type joint struct{ ID, Kind, Text, Fasteners string }

type part struct {
	ID, Name, Volume, Size, Material, From, Mass, Color string
	Uses, Faces                                         int
}

// table is rows, and how many more there are.
type table[T any] struct {
	Rows []T
	More int
}

func limited[T any](all []T) table[T] {
	if len(all) <= maxRows {
		return table[T]{Rows: all}
	}
	return table[T]{Rows: all[:maxRows], More: len(all) - maxRows}
}

func newModel(r *access.Report, d Drawings) *model {
	m := &model{
		Counts: report.Counted(r),
		Report: r, Scale: report.Scale(r), Trust: report.Trust(r), Partial: r.Verdict.Trust != "full",
		occs: map[string]*access.Occurrence{}, about: map[string]string{},
	}
	for i := range r.Occurrences {
		m.occs[r.Occurrences[i].ID] = &r.Occurrences[i]
	}
	m.verdict()
	m.Overview = m.inline("overview", d[Overview])
	m.problems(d)
	m.fasteners()
	m.sides()
	m.joints()
	m.parts()
	m.Skipped = limited(r.Read.Skipped)
	return m
}

func (m *model) verdict() {
	n := report.Count(m.Report)
	if len(m.Report.Fasteners) == 0 {
		m.Sentence = "No fasteners were recognised."
		return
	}
	m.Sentence, m.Others = report.Sentence(m.Report), report.Others(n)
	m.Tally = []tile{
		{"is-clear", "clear", "from the working side, as assembled", n.Clear},
		{"is-after", "clear after", "from the same side, once other parts are off", n.After},
		{"is-turn", "turn", "only from another side", n.Turn},
		{"is-two", "two-sided", "only with a second tool on the far side", n.Two},
		{"is-blocked", "blocked", "with no tool of the catalogue", n.Blocked},
		{"is-hidden", "hidden", "of all these, the head out of sight", n.Hidden},
	}
}

// verdictClass is the class that gives a verdict its mark, the same as on the
// drawings.
func verdictClass(f *access.Fastener) string {
	switch f.Reach.Verdict {
	case "clear":
		return "is-clear"
	case "clear after":
		return "is-after"
	case "turn":
		return "is-turn"
	case "two-sided":
		return "is-two"
	case "blocked":
		return "is-blocked"
	}
	return "is-none"
}

// inline makes a drawing part of the page; empty where there is none.
func (m *model) inline(prefix string, svg []byte) template.HTML {
	if len(svg) == 0 {
		return ""
	}
	b, err := sheet.Fragment(svg, prefix)
	if err != nil && m.err == nil {
		m.err = err
	}
	return template.HTML(b) // every name in it was escaped by the sheet
}

func (m *model) problems(d Drawings) {
	list, whole := report.Problems(m.Report)
	m.ProblemsTitle = report.Title(list)
	want := Wanted(m.Report)
	for _, p := range list {
		g := p.Fasteners
		x := problem{
			ID: "about-" + word(g[0].ID), IDs: runs(g), Name: m.common(g), What: report.What(g[0]),
			Verdict: report.VerdictWords(g[0]), Class: verdictClass(g[0]), Findings: findings(p.Findings),
		}
		for i, f := range g {
			m.about[f.ID] = x.ID
			name := drawing(p, f)
			s := drawn{ID: f.ID, Name: name, SVG: m.inline(word(f.ID), d[name])}
			switch {
			case name == "":
			case !want[name] && len(d) > 0:
				x.Left = append(x.Left, s)
			case s.SVG == "":
			case i == 0:
				x.Sheet = &s
			default:
				x.More = append(x.More, s)
			}
		}
		m.Problems = append(m.Problems, x)
	}
	m.Whole = findings(whole)
}

// word keeps of an id what an id in a page and a class may hold.
func word(id string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '_'
	}, id)
}

func runs(g []*access.Fastener) string {
	list := make([]string, len(g))
	for i, f := range g {
		list[i] = f.ID
	}
	return name.Runs(list)
}

func (m *model) common(g []*access.Fastener) string {
	names := make([]string, len(g))
	for i, f := range g {
		names[i] = m.nameOf(f)
	}
	s, ok := report.Common(names)
	if !ok {
		s += " and others"
	}
	return s
}

func (m *model) nameOf(f *access.Fastener) string {
	if len(f.Occurrences) == 0 {
		return ""
	}
	return m.name(f.Occurrences[0])
}

func (m *model) name(id string) string {
	if o := m.occs[id]; o != nil {
		return o.Name
	}
	return ""
}

func findings(list []*access.Finding) []finding {
	out := make([]finding, len(list))
	for i, f := range list {
		out[i] = finding{Level: f.Level, Rule: f.Rule, Text: f.Text, Figures: figures(f), Source: f.Source}
	}
	return out
}

// figures is what was found against what is asked for.
func figures(f *access.Finding) string {
	value, limit := decimal(f.Value, 2), decimal(f.Limit, 2)
	if value == "" || limit == "" {
		return ""
	}
	return strings.TrimSpace("found "+value+", limit "+limit+" "+unit(f.Unit)) + "; "
}

func unit(s string) string {
	if s == "deg" {
		return "°"
	}
	return s
}

// decimal writes a number with at most so many decimals; "" where it is none.
func decimal(n access.Number, decimals int) string {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// fasteners are sorted by verdict, the worst first, since a reader looks for
// those.
func (m *model) fasteners() {
	var list []*access.Fastener
	for i := range m.Report.Fasteners {
		list = append(list, &m.Report.Fasteners[i])
	}
	slices.SortStableFunc(list, func(a, b *access.Fastener) int {
		return cmp.Compare(report.Severity(b), report.Severity(a))
	})
	var rows []row
	for _, f := range list {
		x := row{
			ID: f.ID, About: m.about[f.ID], Name: m.nameOf(f), What: report.What(f),
			Drive:   report.DriveWords(f),
			Verdict: report.VerdictWords(f), Class: verdictClass(f),
			From: report.From(f), Tool: report.ToolWords(f.Reach.Tool), Room: room(&f.Reach),
			Grip: decimal(f.GripMM, 1), Thread: decimal(f.EngagementMM, 1),
		}
		if f.Reach.Limiter != nil {
			x.Limiter = m.name(*f.Reach.Limiter)
		}
		for _, id := range f.Reach.After {
			x.After = append(x.After, m.name(id))
		}
		rows = append(rows, x)
	}
	m.Fasteners = limited(rows)
}

// room is the free and the needed space of the tool.
func room(r *access.Reach) string {
	if free, need := decimal(r.FreeDeg, 0), decimal(r.NeededDeg, 0); free != "" && need != "" {
		return free + "° / " + need + "°"
	}
	free, need := decimal(r.FreeMM, 1), decimal(r.NeededMM, 1)
	switch {
	case need == "":
		return ""
	case free == "":
		return "any / " + need
	}
	return free + " / " + need
}

func (m *model) sides() {
	if len(m.Report.Fasteners) == 0 {
		return // nothing to tell from any of them
	}
	for i, s := range m.Report.Sides {
		m.Sides = append(m.Sides, sideRow{
			Side:   name.Side([3]float64{float64(s.Side[0]), float64(s.Side[1]), float64(s.Side[2])}),
			Chosen: i == 0, Counts: []int{s.Clear, s.ClearAfter, s.Turn, s.TwoSided, s.Blocked},
		})
	}
}

func (m *model) joints() {
	var rows []joint
	for _, j := range m.Report.Joints {
		rows = append(rows, joint{j.ID, j.Kind, j.Text, name.Runs(j.Fasteners)})
	}
	m.Joints = limited(rows)
}

// parts are those with a shape.
func (m *model) parts() {
	uses := map[string]int{}
	for i := range m.Report.Occurrences {
		uses[m.Report.Occurrences[i].Part]++
	}
	var rows []part
	for i := range m.Report.Parts {
		p := &m.Report.Parts[i]
		if p.Solids == 0 {
			continue
		}
		x := part{
			ID: p.ID, Name: p.Name, Uses: uses[p.ID], Faces: p.Faces, Volume: decimal(p.VolumeMM3/1000, 2),
			Size: size(p.BoxMM), Material: p.Material, From: p.MaterialFrom, Mass: decimal(p.MassG, 1), Color: color(p.Color),
		}
		if x.Volume == "" && p.Triangles != nil {
			x.Volume = "open"
		}
		rows = append(rows, x)
	}
	m.Parts = limited(rows)
}

func size(b *[6]access.Number) string {
	if b == nil {
		return ""
	}
	return fmt.Sprintf("%s × %s × %s", decimal(b[3]-b[0], 1), decimal(b[4]-b[1], 1), decimal(b[5]-b[2], 1))
}

var colorForm = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

// color is a colour that a page can take, "" for anything else.
func color(s string) string {
	if colorForm.MatchString(s) {
		return s
	}
	return ""
}
