package access

import (
	"fmt"
	"slices"
	"strings"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/reach"
)

// The rules of the trade that this judgement checks. A rule whose source is
// commonPractice has no published one; its limit is a proposal.
const (
	ruleOneSide   = "one working side"
	ruleInSight   = "heads in sight"
	ruleToolRoom  = "room for the tool"
	ruleCommon    = "room for the common tool"
	ruleNoNut     = "screw before nut and bolt"
	ruleLater     = "reached as assembled"
	ruleFewDrives = "few drives and sizes"
	rulePress     = "no tight press fits"
	ruleModelled  = "drive modelled"
	ruleCaution   = "caution"
	ruleHidden    = "hidden in the file"
	ruleHeap      = "parts in each other"
	ruleOverlap   = "parts overlap in the model"
	ruleLoose     = "unexplained joint"
	ruleFloating  = "held by nothing"

	commonPractice = "common practice"
	// milStd names the clauses that ask for heads on surfaces readily reached
	// (5.9.10.6) and for identical heads (5.9.10.5.3).
	milStd = "MIL-STD-1472E"
)

// findings lists the broken rules: first those of each fastener, in order,
// then those of the whole.
func (j *Judgement) findings() []Finding {
	var out []Finding
	for i := range j.Fasteners {
		if tested(&j.Fasteners[i]) {
			out = append(out, j.reachFindings(i)...)
		}
	}
	if f, ok := j.drives(); ok {
		out = append(out, f)
	}
	out = append(out, j.pressFits()...)
	out = append(out, j.looseFindings()...)
	out = append(out, j.overlapFindings()...)
	out = append(out, j.threads()...)
	out = append(out, j.nutsToSpare()...)
	out = append(out, j.alike()...)
	out = append(out, j.cautions()...)
	out = append(out, j.nameFindings()...)
	out = append(out, ownFigures(j.Product)...)
	out = append(out, ownPlaces(j.Product)...)
	if j.Reach.Heaped {
		out = append(out, heaped())
	}
	return append(out, hiddenInFile(j.Product)...)
}

// heaped says that the work was cut short: a product whose placements are lost
// or damaged lies in one heap.
func heaped() Finding {
	return Finding{
		Rule: ruleHeap, Level: "warn", Occurrences: []string{}, Fasteners: []string{},
		Text:  "So many parts lie in each other that not all were held against each other: what was not tried counts as in the way. Are the placements right?",
		Value: Unknown(), Limit: Unknown(), Source: commonPractice,
	}
}

// about starts a finding on fastener i.
func (j *Judgement) about(i int, rule, level, text, source string) Finding {
	f := Finding{
		Rule: rule, Level: level, Occurrences: j.ids(j.Fasteners[i].Solids),
		Fasteners: []string{j.Fasteners[i].ID}, Text: text,
		Value: Unknown(), Limit: Unknown(), Source: source,
	}
	if j.Problem(i) {
		d := j.Drawing(i)
		f.Drawing = &d
	}
	return f
}

func (j *Judgement) reachFindings(i int) []Finding {
	r := &j.Reach.Reaches[i]
	var out []Finding
	if r.Tool.Name == "" { // no tool undoes it: its nut's own findings tell
		return nil
	}
	switch r.Verdict {
	case reach.ClearAfter:
		out = append(out, j.about(i, ruleLater, "note", r.Why, commonPractice))
	case reach.Turn:
		out = append(out, j.about(i, ruleOneSide, "warn", r.Why, commonPractice))
	case reach.TwoSided:
		out = append(out, j.about(i, ruleNoNut, "warn", r.Why, commonPractice))
	case reach.Blocked:
		f := j.about(i, ruleToolRoom, "warn", r.Why, commonPractice)
		out = append(out, j.measured(f, &r.As))
	}
	if r.Hidden {
		out = append(out, j.hidden(i))
	}
	if j.lessCommon(i) {
		out = append(out, j.uncommon(i))
	}
	if j.Fasteners[i].Drive == fastener.UnknownDrive {
		name, _, _ := strings.Cut(r.Tool.Name, " (assumed") // the sentence says so itself
		text := "No drive is modelled: the verdict rests on an assumed " + name
		out = append(out, j.about(i, ruleModelled, "note", text, commonPractice))
	}
	return out
}

// uncommon says what keeps the commonest tool away and which one gets there.
func (j *Judgement) uncommon(i int) Finding {
	r := &j.Reach.Reaches[i]
	first := &r.Reached[0]
	text := fmt.Sprintf("The common tool, the %s, does not fit; the %s does", first.Tool.Name, r.Tool.Name)
	if first.Limiter != product.NoSolid {
		text = fmt.Sprintf("The common tool, the %s, is kept away by \"%s\"; the %s gets there",
			first.Tool.Name, j.Product.Name(first.Limiter), r.Tool.Name)
	}
	return j.measured(j.about(i, ruleCommon, "warn", text, commonPractice), first)
}

// hidden tells a head that nobody would look for, under a label, a plug or a
// foot that no fastener holds (warn), from one inside a housing that has to be
// opened anyway (note).
func (j *Judgement) hidden(i int) Finding {
	r := &j.Reach.Reaches[i]
	text := fmt.Sprintf("The %s is covered by %s", gripped(&j.Fasteners[i]), j.names(r))
	if len(r.HiddenBy) == 0 || slices.ContainsFunc(r.HiddenBy, j.fastened) {
		return j.about(i, ruleInSight, "note", text, milStd+" 5.9.10.6")
	}
	text += ", which no fastener holds: nobody would look there"
	return j.about(i, ruleInSight, "warn", text, milStd+" 5.9.10.6")
}

// gripped is what a tool takes hold of.
func gripped(f *fastener.Fastener) string {
	if f.Kind == fastener.Screw || f.Kind == fastener.Bolt {
		return "head"
	}
	return string(f.Kind)
}

// fastened reports whether any fastener holds the solid.
func (j *Judgement) fastened(s product.SolidIndex) bool {
	for k := range j.Holds {
		if slices.Contains(j.Holds[k].Passes, s) || slices.Contains(j.Holds[k].Bites, s) {
			return true
		}
	}
	return false
}

// measured adds the free and the needed radius of a trial.
func (j *Judgement) measured(f Finding, t *reach.Trial) Finding {
	m := j.trial(t)
	f.Value, f.Limit, f.Unit = m.FreeMM, m.NeededMM, "mm"
	if t.Limit == reach.BySwing {
		f.Value, f.Limit, f.Unit = m.FreeDeg, m.NeededDeg, "deg"
	}
	return f
}

func (j *Judgement) names(r *reach.Reach) string {
	var n []string
	for _, s := range r.HiddenBy {
		n = append(n, fmt.Sprintf(`"%s"`, j.Product.Name(s)))
	}
	if len(n) == 0 {
		return "its surroundings"
	}
	return strings.Join(n, ", ")
}

// maxDrives is how many different heads to grip a small product may have
// before its tool changes are worth a warning: a proposal, common practice.
const maxDrives = 2

// Drives lists the distinct (drive, size) pairs that a tool must fit, sorted.
func (j *Judgement) Drives() []string {
	var pairs []string
	for i := range j.Fasteners {
		if p := gripWords(&j.Fasteners[i]); p != "" {
			pairs = append(pairs, p)
		}
	}
	slices.Sort(pairs)
	return slices.Compact(pairs)
}

func (j *Judgement) drives() (Finding, bool) {
	pairs := j.Drives()
	if len(pairs) <= maxDrives {
		return Finding{}, false
	}
	return Finding{
		Rule: ruleFewDrives, Level: "warn", Occurrences: []string{}, Fasteners: []string{},
		Text:  fmt.Sprintf("%d different drives and sizes, each a tool to find and to change: %s", len(pairs), strings.Join(pairs, ", ")),
		Value: Number(len(pairs)), Limit: maxDrives, Source: milStd + " 5.9.10.5.3 (the number is common practice)",
	}, true
}

// pressFits makes one finding of each press fit, and one of all those without a
// pin that are the same two parts with the same overlap.
func (j *Judgement) pressFits() []Finding {
	var out []Finding
	at := map[string]int{} // looked up only
	for i := range j.Joints {
		t := &j.Joints[i]
		if t.Kind != joint.Press {
			continue
		}
		if len(t.Fasteners) == 0 {
			a, b := j.Product.Solids[t.Solids[0]].Part, j.Product.Solids[t.Solids[1]].Part
			key := fmt.Sprint(min(a, b), max(a, b), t.Overlap)
			if k, ok := at[key]; ok {
				out[k].Occurrences = append(out[k].Occurrences, j.ids(t.Solids)...)
				continue
			}
			at[key] = len(out)
		}
		out = append(out, Finding{
			Rule: rulePress, Level: "warn", Occurrences: j.ids(t.Solids), Fasteners: j.fastenerIDs(t.Fasteners), Text: t.Text,
			Value: Number(t.Overlap), Limit: 0, Unit: "mm", Source: commonPractice,
		})
	}
	return out
}

// hiddenInFile says what the file hides: it may be a jig that is no part of the
// product as well as a part that stands in the way.
func hiddenInFile(p *product.Product) []Finding {
	if len(p.Hidden) == 0 {
		return nil
	}
	var names []string
	for i, h := range p.Hidden {
		if i == 5 {
			names = append(names, "and more")
			break
		}
		names = append(names, fmt.Sprintf("\"%s\" (#%d)", h.Name, h.Tag))
	}
	what := "judged like the rest"
	if p.Hidden[0].Left {
		what = "left out, so that nothing here takes them into account"
	}
	return []Finding{{
		Rule: ruleHidden, Level: "note", Occurrences: []string{}, Fasteners: []string{},
		Text:  fmt.Sprintf("Hidden in the file (%d): %s: %s", len(p.Hidden), strings.Join(names, ", "), what),
		Value: Number(len(p.Hidden)), Limit: Unknown(), Source: commonPractice,
	}}
}
