package access

import (
	"fmt"
	"math"
	"strconv"

	"stepscan/access/fastener"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

const (
	ruleEngaged = "thread deep enough"
	ruleBottom  = "screw ends in its thread"
	ruleThread  = "a thread instead of a nut"
)

// leastEngaged is how much thread, in nominal diameters, is asked for (common
// practice: 1 in steel, 1.5 to 2 in aluminium, 2 to 2.5 in plastics). Where the
// material is not known only what is too little in any is told.
func leastEngaged(m matter) float64 {
	switch m {
	case steel:
		return 1
	case lightMetal:
		return 1.5
	case plastic:
		return 2
	}
	return 0.8
}

// lengthTol, mm, is what two lengths in a model may differ by for the chamfer of
// a tip or of a hole.
const lengthTol = 0.25

// threads finds screws with too little thread, and those that meet the bottom of
// a blind hole, alike ones together.
func (j *Judgement) threads() []Finding {
	out := grouped{at: map[string]int{}}
	for i := range j.Fasteners {
		f, h := &j.Fasteners[i], &j.Holds[i]
		if f.Kind != fastener.Screw && f.Kind != fastener.Bolt || !(f.Nominal > 0) || h.Mate >= 0 || len(h.Bites) != 1 {
			continue
		}
		part := h.Bites[0]
		if h.Beyond > lengthTol {
			out.add(j, i, Finding{
				Rule: ruleBottom, Value: Number(h.Beyond), Limit: 0, Unit: "mm",
				Text: fmt.Sprintf("The tip goes %s mm past the end of the thread in \"%s\": it meets the bottom before its head is down", decimals(h.Beyond), j.Product.Name(part)),
			})
		}
		m := matterOf(j.Product.Part(part))
		if need := leastEngaged(m) * f.Nominal; h.Engagement < need-lengthTol && j.cut(f, part) {
			out.add(j, i, Finding{
				Rule: ruleEngaged, Value: Number(h.Engagement), Limit: Number(need), Unit: "mm",
				Text: fmt.Sprintf("%s mm of thread in \"%s\" (%s), which is %s of the diameter: at least %s is usual%s",
					decimals(h.Engagement), j.Product.Name(part), m, decimals(h.Engagement/f.Nominal), decimals(leastEngaged(m)), inAny(m)),
			})
		}
	}
	return out.list
}

// cut reports a machine thread in a part: a tapping screw forms its own, in sheet
// over less than is asked for here, and an insert or a stand-off has the length
// that its maker gave it.
func (j *Judgement) cut(f *fastener.Fastener, part product.SolidIndex) bool {
	t, ok := table.ThreadOf(f.Size)
	return ok && t.Series != "tapping" && j.fastenerOf(part) < 0
}

func inAny(m matter) string {
	if m == unknownMatter {
		return " in any"
	}
	return ""
}

// decimals prints a length or a ratio with at most two decimals.
func decimals(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

// grouped gathers findings that say the same of several fasteners.
type grouped struct {
	list []Finding
	at   map[string]int // by rule and text
}

func (g *grouped) add(j *Judgement, i int, f Finding) {
	f.Level, f.Source = "note", commonPractice
	key := f.Rule + "\x00" + f.Text
	k, ok := g.at[key]
	if !ok {
		f.Occurrences, f.Fasteners = []string{}, []string{}
		k = len(g.list)
		g.at[key], g.list = k, append(g.list, f)
	}
	g.list[k].Occurrences = append(g.list[k].Occurrences, j.ids(j.Fasteners[i].Solids)...)
	g.list[k].Fasteners = append(g.list[k].Fasteners, j.Fasteners[i].ID)
}

// nutsToSpare finds bolts with a nut that a screw could replace: the last part
// before the nut is thick enough for a thread of 1 d in metal, of 2 d in plastic
// or where the material is not known, or takes an insert or a press nut (common
// practice). Alike ones, also in several joints, make one finding.
func (j *Judgement) nutsToSpare() []Finding {
	var said []string
	bolts := map[string][]int{} // by what is said of them
	for i := range j.Fasteners {
		if !j.looseNut(i) {
			continue
		}
		text := j.nutToSpare(i).Text
		if bolts[text] == nil {
			said = append(said, text)
		}
		bolts[text] = append(bolts[text], i)
	}
	var out []Finding
	for _, text := range said {
		f := j.nutToSpare(bolts[text][0])
		f.Text = times(len(bolts[text]), text)
		for _, i := range bolts[text] {
			for _, k := range []int{i, j.Holds[i].Mate} {
				f.Occurrences = append(f.Occurrences, j.ids(j.Fasteners[k].Solids)...)
				f.Fasteners = append(f.Fasteners, j.Fasteners[k].ID)
			}
		}
		out = append(out, f)
	}
	return out
}

// looseNut reports a bolt with a nut that a second tool must hold.
func (j *Judgement) looseNut(i int) bool {
	f, h := &j.Fasteners[i], &j.Holds[i]
	return (f.Kind == fastener.Bolt || f.Kind == fastener.Screw) && f.Nominal > 0 && h.Mate >= 0 && h.Mate < len(j.Holds) &&
		!h.CaptiveHead && !j.Holds[h.Mate].CaptiveNut && len(h.Layers) > 0 && j.nutLies(i)
}

// nutLies reports a nut that lies on the last part its bolt passes, washers
// between them or not: a part that the file lacks leaves a gap.
func (j *Judgement) nutLies(i int) bool {
	h := &j.Holds[i]
	gap := h.Grip - h.Layers[len(h.Layers)-1].To
	for _, w := range h.Washers {
		gap -= j.Fasteners[w].Length
	}
	return gap <= lengthTol
}

// nutToSpare says what could be done without the nut of bolt i.
func (j *Judgement) nutToSpare(i int) Finding {
	f, h := &j.Fasteners[i], &j.Holds[i]
	last := h.Layers[len(h.Layers)-1]
	m := matterOf(j.Product.Part(last.Solid))
	thick, need := last.To-last.From, 2*f.Nominal
	if m == steel || m == lightMetal {
		need = f.Nominal
	}
	so := "enough for a thread, so that a screw would do without the nut"
	if thick < need-0.05 {
		so = "too little for a thread; a press nut or an insert in it would save the second tool"
	}
	return Finding{
		Rule: ruleThread, Level: "note", Occurrences: []string{}, Fasteners: []string{}, Source: commonPractice,
		Value: Number(thick), Limit: Number(need), Unit: "mm",
		Text: fmt.Sprintf("%s with a loose nut: \"%s\", the last part before the nut, is %s mm thick: %s (%s: %s wanted, %s mm)",
			sizeLength(f), j.Product.Name(last.Solid), decimals(thick), so, m, diameters(need/f.Nominal), decimals(need)),
	}
}

// diameters says how many.
func diameters(n float64) string {
	if n == 1 {
		return "1 diameter"
	}
	return decimals(n) + " diameters"
}

func times(n int, what string) string { return fmt.Sprintf("%d × %s", n, what) }
