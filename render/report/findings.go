package report

import (
	"fmt"
	"slices"
	"strings"

	"stepscan/access"
)

// findings writes what breaks a rule: first per fastener, alike ones together,
// then what concerns the whole product.
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
	if len(about) > 0 {
		t.line("%s", t.bold("Not simply clear"))
		for _, g := range group(t.r.Fasteners, func(f *access.Fastener) string { return sameFindings(f, about[f.ID]) }) {
			t.problem(g, about[g[0].ID])
		}
		t.line("")
	}
	if len(whole) > 0 {
		t.line("%s", t.bold("On the whole"))
		for _, f := range whole {
			t.line("  %s  %s: %s", t.level(f), f.Rule, clean(f.Text))
		}
		t.line("")
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

// problem writes a group of alike fasteners with their findings and drawings.
func (t *text) problem(g []*access.Fastener, list []*access.Finding) {
	if len(list) == 0 {
		return
	}
	t.line("  %s  %s, %s: %s", ids(g), t.groupName(g), What(g[0]), t.verdictWord(g[0]))
	for _, f := range list {
		t.line("      %s  %s: %s", t.level(f), f.Rule, clean(f.Text))
	}
	if t.st.Drawings == "" || list[0].Drawing == nil {
		return
	}
	var names []string
	for _, f := range g {
		names = append(names, f.ID+".svg")
	}
	const most = 4
	if len(names) > most {
		names = append(names[:most], "…")
	}
	t.line("      see   %s/joints/%s", t.st.Drawings, strings.Join(slices.Compact(names), ", "))
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
