package access

import (
	"fmt"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/product"
)

// ruleNames is broken where the name of a part and its shape say different
// things: one of the two is wrong, and which one only a person can tell.
const ruleNames = "name against shape"

// ruleFused is broken where fasteners are one body with what they hold: they
// can be neither counted nor reached.
const ruleFused = "fasteners of their own"

// ruleRuled is broken where the notes call a fastener what cannot be one.
const ruleRuled = "notes against shape"

// nameFindings lists the conflicts of fasteners with their names, alike ones
// together, and the parts that are called fasteners and have no shape of one.
func (j *Judgement) nameFindings() []Finding {
	type key struct {
		part int
		text string
	}
	at := map[key]int{}
	var out []Finding
	for i := range j.Fasteners {
		f := &j.Fasteners[i]
		if f.Conflict == "" || len(f.Solids) == 0 {
			continue
		}
		k := key{j.Product.Solids[f.Solids[0]].Part, f.Conflict}
		n, ok := at[k]
		if !ok {
			n = len(out)
			at[k] = n
			out = append(out, j.conflict(f))
		}
		out[n].Fasteners = append(out[n].Fasteners, f.ID)
		for _, id := range j.ids(f.Solids) {
			if !slices.Contains(out[n].Occurrences, id) {
				out[n].Occurrences = append(out[n].Occurrences, id)
			}
		}
	}
	for i := range j.Doubts {
		out = append(out, j.doubt(&j.Doubts[i]))
	}
	return out
}

// conflict starts the finding on a fastener whose shape was believed.
func (j *Judgement) conflict(f *fastener.Fastener) Finding {
	return Finding{
		Rule: ruleNames, Level: "warn", Occurrences: []string{}, Fasteners: []string{},
		Text:  fmt.Sprintf("\"%s\" is taken for what its shape says: %s", j.called(f.Solids[0]), f.Conflict),
		Value: Unknown(), Limit: Unknown(), Source: commonPractice,
	}
}

// doubt is the finding on a part that counts as no fastener.
func (j *Judgement) doubt(d *fastener.Doubt) Finding {
	f := Finding{
		Rule: ruleNames, Level: "note", Occurrences: j.ids(d.Solids), Fasteners: []string{},
		Text:  fmt.Sprintf("\"%s\" counts as no fastener: %s", j.called(d.Solids[0]), d.Text),
		Value: Unknown(), Limit: Unknown(), Source: commonPractice,
	}
	if d.Ruled {
		f.Rule, f.Level = ruleRuled, "warn"
	}
	if d.Fused {
		f.Rule, f.Level = ruleFused, "warn"
		f.Text = fmt.Sprintf("On \"%s\" %s", j.called(d.Solids[0]), d.Text)
	}
	return f
}

// called is the part's name, where it has one, else the occurrence's.
func (j *Judgement) called(s product.SolidIndex) string {
	if n := j.Product.Part(s).Name; n != "" {
		return n
	}
	return j.Product.Name(s)
}
