package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stepscan/access"
)

// findings writes what breaks a rule: first per fastener, alike ones together
// and the worst first, then what concerns the whole product.
func (t *text) findings() {
	about := map[string][]*access.Finding{} // by fastener
	var whole []*access.Finding
	for i := range t.r.Findings {
		f := &t.r.Findings[i]
		if len(f.Fasteners) == 1 {
			about[f.Fasteners[0]] = append(about[f.Fasteners[0]], f)
		} else {
			whole = append(whole, f)
		}
	}
	t.problems(about)
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

func (t *text) problems(about map[string][]*access.Finding) {
	groups := group(t.r.Fasteners, func(f *access.Fastener) string { return sameFindings(f, about[f.ID]) })
	groups = slices.DeleteFunc(groups, func(g []*access.Fastener) bool { return len(about[g[0].ID]) == 0 })
	if len(groups) == 0 {
		return
	}
	slices.SortStableFunc(groups, func(a, b []*access.Fastener) int { return cmp.Compare(severity(b[0]), severity(a[0])) })
	where := ""
	if t.st.Drawings != "" && slices.ContainsFunc(t.r.Findings, func(f access.Finding) bool { return f.Drawing != nil }) {
		where = fmt.Sprintf(" (a drawing of each: %s/joints/ID.svg)", t.st.Drawings)
	}
	t.line("%s%s", t.bold("Not simply clear"), where)
	for i, g := range groups {
		if i == maxGroups && len(groups) > maxGroups+1 {
			t.rest(groups[i:])
			break
		}
		t.problem(g, about[g[0].ID])
	}
	t.line("")
}

// severity puts verdicts in order, the worst highest.
func severity(f *access.Fastener) int {
	s := 2 * slices.Index([]string{"clear", "clear after", "turn", "two-sided", "blocked"}, f.Reach.Verdict)
	if f.Reach.Hidden {
		s++
	}
	return s
}

// rest names those that there was no room for, by verdict.
func (t *text) rest(groups [][]*access.Fastener) {
	n := 0
	var verdicts []string
	by := map[string][]*access.Fastener{}
	for _, g := range groups {
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
	s := What(f) + "\x00" + verdictWords(f)
	for _, x := range list {
		s += "\x00" + x.Level + x.Rule + x.Text
	}
	return s
}

// problem writes a group of alike fasteners with their findings.
func (t *text) problem(g []*access.Fastener, list []*access.Finding) {
	head := fmt.Sprintf("%s, %s: %s", t.groupName(g), What(g[0]), t.verdictWord(g[0]))
	if list := ids(g); columns(list) < maxColumns/2 {
		t.wrapped("  "+list+"  ", head, 4)
	} else {
		t.wrapped("  ", list, 2)
		t.line("    %s", head)
	}
	for _, f := range list {
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

// toolWords is a tool in a table: what was assumed is told by a finding.
func toolWords(name string) string {
	s, _, assumed := strings.Cut(name, " (assumed")
	if assumed {
		s += " (assumed)"
	}
	return s
}
