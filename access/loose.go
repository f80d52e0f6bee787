package access

import (
	"cmp"
	"fmt"
	"slices"

	"stepscan/access/joint"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// looseFindings says what is held by nothing that the model shows. Parts of
// one shape on the same neighbours make one finding, and so do many kinds of
// parts on one and the same neighbour, as on a circuit board; all that touch
// nothing make one together.
func (j *Judgement) looseFindings() []Finding {
	var out []Finding
	list := j.looseGroups(joint.Unexplained)
	for k, g := range list {
		if k == mostListed && len(list) > mostListed+1 {
			out = append(out, j.looseRest(list[k:]))
			break
		}
		out = append(out, j.looseFinding(g))
	}
	for _, g := range j.looseGroups(joint.Floating) {
		out = append(out, j.floatingFinding(g))
	}
	return out
}

// looseGroup are parts of which one sentence is to be said.
type looseGroup struct {
	solids, by []product.SolidIndex
	kinds      int // of parts
	parts      map[int]bool
	area       float64
	fit        contact.Class
	play       float64
}

// crowded is how many kinds of parts on one and the same neighbour are told
// together: a circuit board, not a housing with a label and a foot.
const crowded = 4

// looseGroups gathers the groups of one way, the greatest area first.
func (j *Judgement) looseGroups(how joint.How) []looseGroup {
	var list []*joint.Loose
	kinds := map[string]int{} // on a single neighbour; looked up only
	for i := range j.Touching.Loose {
		if l := &j.Touching.Loose[i]; l.How == how && !l.Base {
			list = append(list, l)
			kinds[fmt.Sprint(l.By)]++
		}
	}
	var out []looseGroup
	at := map[string]int{} // looked up only
	for _, l := range list {
		key := fmt.Sprint(l.By)
		if len(l.By) > 1 || len(l.By) == 1 && kinds[key] < crowded {
			key = j.sameSituation(l)
		}
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, looseGroup{fit: l.Fit, play: l.Play})
		}
		out[k].take(j.Product, l)
	}
	slices.SortStableFunc(out, func(a, b looseGroup) int { return cmp.Compare(b.area, a.area) })
	return out
}

// sameSituation is equal for loose parts of one shape on neighbours of the same shapes.
func (j *Judgement) sameSituation(l *joint.Loose) string {
	var parts []int
	for _, s := range l.By {
		parts = append(parts, j.Product.Solids[s].Part)
	}
	slices.Sort(parts)
	return fmt.Sprint("part ", j.Product.Solids[l.Solids[0]].Part, slices.Compact(parts))
}

func (g *looseGroup) take(p *product.Product, l *joint.Loose) {
	if part := p.Solids[l.Solids[0]].Part; !g.parts[part] {
		if g.parts == nil {
			g.parts = map[int]bool{}
		}
		g.parts[part] = true
		g.kinds++
	}
	g.solids = append(g.solids, l.Solids...)
	for _, s := range l.By {
		if !slices.Contains(g.by, s) {
			g.by = append(g.by, s)
		}
	}
	g.area += l.Area
	if l.Fit != g.fit {
		g.fit = ""
	}
}

func (j *Judgement) looseFinding(g looseGroup) Finding {
	text := "Only contact is seen to hold %s on %s%s: glued, snapped, soldered, welded? Declare it in the notes file"
	if g.fit == contact.Clearance {
		text = "Nothing is seen to keep %s in %s%s: does it slide, or is a ring or a screw missing? Declare in the notes file what holds it"
	}
	return Finding{
		Rule: ruleLoose, Level: "warn", Occurrences: append(j.ids(g.solids), j.ids(g.by)...), Fasteners: []string{},
		Text:  fmt.Sprintf(text, j.several(&g), j.distinct(g.by), g.bears()),
		Value: Number(g.area), Limit: Unknown(), Unit: "mm²", Source: commonPractice,
	}
}

func (j *Judgement) floatingFinding(g looseGroup) Finding {
	text := fmt.Sprintf("%s touch nothing: do they float in the model, or is a part missing?", j.several(&g))
	if len(g.solids) == 1 {
		text = fmt.Sprintf("%s touches nothing: does it float in the model, or is a part missing?", j.several(&g))
	}
	return Finding{
		Rule: ruleFloating, Level: "warn", Occurrences: j.ids(g.solids), Fasteners: []string{}, Text: text,
		Value: Number(len(g.solids)), Limit: 0, Source: commonPractice,
	}
}

// bears says what they touch with.
func (g *looseGroup) bears() string {
	switch {
	case g.fit == contact.Clearance: // whose small gap counts as contact
		return fmt.Sprintf(" (a fit with %.2g mm of play)", g.play)
	case g.area > 0 && g.fit == contact.Transition:
		return fmt.Sprintf(" (%.4g mm²; shaft and hole are drawn with one diameter, which may be loose or tight)", g.area)
	case g.area > 0:
		return fmt.Sprintf(" (%.4g mm²)", g.area)
	}
	return " (along lines or in points)"
}

// several names one part, or how many of it, or of how many kinds.
func (j *Judgement) several(g *looseGroup) string {
	name := `"` + j.Product.Name(g.solids[0]) + `"`
	switch {
	case len(g.solids) == 1:
		return name
	case g.kinds == 1:
		return fmt.Sprintf("%d parts like %s", len(g.solids), name)
	}
	return fmt.Sprintf("%d parts of %d kinds (%s)", len(g.solids), g.kinds, j.distinct(g.solids))
}

// looseRest tells many groups in one finding.
func (j *Judgement) looseRest(list []looseGroup) Finding {
	all := looseGroup{}
	for _, g := range list {
		all.solids = append(all.solids, g.solids...)
		all.kinds += g.kinds
		all.area += g.area
	}
	return Finding{
		Rule: ruleLoose, Level: "warn", Occurrences: j.ids(all.solids), Fasteners: []string{},
		Text:  fmt.Sprintf("Only contact is seen to hold %s either, with less of it than those above", j.several(&all)),
		Value: Number(all.area), Limit: Unknown(), Unit: "mm²", Source: commonPractice,
	}
}

// distinct names solids, each name once and the first of many.
func (j *Judgement) distinct(solids []product.SolidIndex) string {
	var first []product.SolidIndex
	seen := map[string]bool{}
	for _, s := range solids {
		if n := j.Product.Name(s); !seen[n] {
			seen[n] = true
			first = append(first, s)
		}
	}
	return j.few(first)
}
