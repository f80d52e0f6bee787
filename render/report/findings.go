package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stepscan/access"
)

// Problem is fasteners of which the same is to be said, and what that is.
type Problem struct {
	Fasteners []*access.Fastener
	Findings  []*access.Finding
}

// Problems gathers the findings that are about one fastener each, alike ones
// together and the worst first; whole are those that are about more.
func Problems(r *access.Report) (list []Problem, whole []*access.Finding) {
	about := map[string][]*access.Finding{} // by fastener
	for i := range r.Findings {
		f := &r.Findings[i]
		if len(f.Fasteners) == 1 {
			about[f.Fasteners[0]] = append(about[f.Fasteners[0]], f)
		} else {
			whole = append(whole, f)
		}
	}
	for _, g := range group(r.Fasteners, func(f *access.Fastener) string { return sameFindings(f, about[f.ID]) }) {
		if found := about[g[0].ID]; len(found) > 0 {
			list = append(list, Problem{g, found})
		}
	}
	slices.SortStableFunc(list, func(a, b Problem) int {
		return cmp.Compare(Severity(b.Fasteners[0]), Severity(a.Fasteners[0]))
	})
	return list, whole
}

// Title heads the problems: of what is clear there may be something to note.
func Title(list []Problem) string {
	if slices.ContainsFunc(list, func(p Problem) bool { return Severity(p.Fasteners[0]) == 0 }) {
		return "Not simply clear, or with a remark"
	}
	return "Not simply clear"
}

// findings writes what breaks a rule: first per fastener, then what concerns the
// whole product.
func (t *text) findings() {
	list, whole := Problems(t.r)
	t.problems(list)
	if len(whole) == 0 {
		return
	}
	t.line("%s", t.bold("On the whole"))
	for _, f := range whole {
		t.finding("  ", f)
	}
	t.line("")
}

// maxGroups is how many groups of fasteners a summary tells of.
const maxGroups = 20

func (t *text) problems(list []Problem) {
	if len(list) == 0 {
		return
	}
	where := ""
	if t.st.Drawings != "" && slices.ContainsFunc(t.r.Findings, func(f access.Finding) bool { return f.Drawing != nil }) {
		where = fmt.Sprintf(" (a drawing of each: %s/joints/ID.svg)", t.st.Drawings)
	}
	t.line("%s%s", t.bold(Title(list)), where)
	for i, p := range list {
		if i == maxGroups && len(list) > maxGroups+1 {
			t.rest(list[i:])
			break
		}
		t.problem(p)
	}
	t.line("")
}

// Severity puts verdicts in order, the worst highest.
func Severity(f *access.Fastener) int {
	s := 2 * slices.Index([]string{"clear", "clear after", "turn", "two-sided", "blocked"}, f.Reach.Verdict)
	if f.Reach.Hidden {
		s++
	}
	return s
}

// rest names those that there was no room for, by verdict.
func (t *text) rest(list []Problem) {
	n := 0
	var verdicts []string
	by := map[string][]*access.Fastener{}
	for _, p := range list {
		g := p.Fasteners
		n += len(g)
		v := g[0].Reach.Verdict
		if by[v] == nil {
			verdicts = append(verdicts, v)
		}
		by[v] = append(by[v], g...)
	}
	t.line("  and %d more; report.json tells of all", n)
	for _, v := range verdicts {
		slices.SortStableFunc(by[v], func(a, b *access.Fastener) int {
			return cmp.Or(cmp.Compare(len(a.ID), len(b.ID)), cmp.Compare(a.ID, b.ID))
		})
		t.wrapped("      "+v+"  ", ids(by[v]), 8+columns(v))
	}
}

// sameFindings is equal for fasteners of which the same is to be said.
func sameFindings(f *access.Fastener, list []*access.Finding) string {
	s := What(f) + "\x00" + VerdictWords(f)
	for _, x := range list {
		s += "\x00" + x.Level + x.Rule + x.Text
	}
	return s
}

// problem writes a group of alike fasteners with their findings.
func (t *text) problem(p Problem) {
	g := p.Fasteners
	head := fmt.Sprintf("%s, %s: %s", t.groupName(g), What(g[0]), t.verdictWord(g[0]))
	if list := ids(g); columns(list) < maxColumns/2 {
		t.wrapped("  "+list+"  ", head, 4)
	} else {
		t.wrapped("  ", list, 2)
		t.line("    %s", head)
	}
	for _, f := range p.Findings {
		t.finding("      ", f)
	}
}

func (t *text) finding(indent string, f *access.Finding) {
	t.wrapped(indent+t.level(f)+"  ", clean(f.Rule+": "+f.Text), len(indent)+6)
}

func (t *text) level(f *access.Finding) string {
	color := yellow
	switch f.Level {
	case "fail":
		color = red
	case "note":
		color = ""
	}
	return t.paint(color, fmt.Sprintf("%-4s", f.Level))
}

// ToolWords is a tool in a table: what was assumed is told by a finding.
func ToolWords(name string) string {
	s, _, assumed := strings.Cut(name, " (assumed")
	if assumed {
		s += " (assumed)"
	}
	return s
}
