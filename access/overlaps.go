package access

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stepscan/access/joint"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// mostListed is how many findings of one of the rules about the model are
// listed one by one; the rest is told in one.
const mostListed = 8

// overlapFindings says which parts are drawn in each other where no thread,
// press fit or unfitted part explains it: one finding for each pair of parts
// in one relative place, the greatest volume first.
func (j *Judgement) overlapFindings() []Finding {
	groups := j.overlapGroups()
	var out []Finding
	rest := 0
	for k, g := range groups {
		if k < mostListed {
			out = append(out, j.overlapFinding(g))
			continue
		}
		rest += len(g)
	}
	if rest > 0 {
		out = append(out, about(ruleOverlap, "warn", fmt.Sprintf("%d more pairs of parts overlap in the model, each by less than those above", rest), rest, ""))
	}
	if n := j.Touching.Left; n > 0 {
		out = append(out, about(ruleOverlap, "note", fmt.Sprintf("At least %d pairs of parts that lie near each other were not looked at for contacts: there are too many. Are the placements right?", n), n, ""))
	}
	if n := j.Touching.Untried; n > 0 {
		out = append(out, about(ruleLoose, "note", fmt.Sprintf("Of %d parts that only contact holds not all ways out were tried: there are too many. Some may be held between others", n), n, ""))
	}
	return out
}

// about starts a finding of the model as a whole.
func about(rule, level, text string, n int, unit string) Finding {
	return Finding{
		Rule: rule, Level: level, Occurrences: []string{}, Fasteners: []string{}, Text: text,
		Value: Number(n), Limit: Unknown(), Unit: unit, Source: commonPractice,
	}
}

// overlapGroups are the faults by case, the greatest volume first.
func (j *Judgement) overlapGroups() [][]*joint.Overlap {
	at := map[int]int{} // looked up only
	var out [][]*joint.Overlap
	for i := range j.Touching.Overlaps {
		o := &j.Touching.Overlaps[i]
		if o.Why != "" {
			continue
		}
		k, ok := at[o.Case]
		if !ok {
			k = len(out)
			at[o.Case] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], o)
	}
	slices.SortStableFunc(out, func(a, b []*joint.Overlap) int { return cmp.Compare(size(b[0]), size(a[0])) })
	return out
}

// size sorts overlaps; those of open meshes come last.
func size(o *joint.Overlap) float64 {
	if math.IsNaN(o.Volume) {
		return -1
	}
	return o.Volume
}

func (j *Judgement) overlapFinding(g []*joint.Overlap) Finding {
	o := g[0]
	a, b := j.Product.Name(o.A), j.Product.Name(o.B)
	f := Finding{
		Rule: ruleOverlap, Level: "warn", Fasteners: []string{}, Value: Number(o.Volume), Limit: 0, Unit: "mm³", Source: commonPractice,
	}
	deep := contact.Depth(j.Product, o.A, o.B)
	switch {
	case o.Screwed:
		f.Level = "note"
		f.Text = fmt.Sprintf("\"%s\" and \"%s\" share %.4g mm³, more than a thread does: is the hole missing or out of place?", a, b, o.Volume)
	case math.IsNaN(o.Volume):
		f.Level = "note"
		f.Text = fmt.Sprintf("\"%s\" and \"%s\" are drawn in each other by an unknown volume: one of them is open, or they are tangled", a, b)
	case math.IsInf(deep, 0) || math.IsNaN(deep):
		f.Text = fmt.Sprintf("\"%s\" and \"%s\" share %.4g mm³ of space, which no thread or press fit explains", a, b, o.Volume)
	default:
		f.Text = fmt.Sprintf("\"%s\" and \"%s\" share %.4g mm³ of space, which no thread or press fit explains: moving one by %.2g mm would part them", a, b, o.Volume, deep)
	}
	if len(g) > 1 {
		f.Text += fmt.Sprintf(" (%d times in the model)", len(g))
	}
	var solids []product.SolidIndex
	for _, o := range g {
		solids = append(solids, o.A, o.B)
	}
	slices.Sort(solids)
	f.Occurrences = j.ids(slices.Compact(solids))
	return f
}
