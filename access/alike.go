package access

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/access/fastener"
)

const (
	ruleAlike = "fasteners alike"

	// few is how many fasteners of a size are worth asking whether the size is
	// needed; oneStep is how much larger the next size is at most: a third, as M3
	// to M4, M6 to M8 and M12 to M16. Both are proposals, common practice.
	few     = 2
	oneStep = 1.34
	// farther apart in length than this no one length is proposed.
	lengthRatio = 2.0
	maxVariants = 6 // named in one sentence
)

// variant is screws that are alike: same size, length, head and drive.
type variant struct {
	what, drive, head string
	length            float64
	list              []int
}

// alike finds screws that could be made alike: of one size with other lengths,
// heads or drives, and sizes with few screws one step from another in use.
func (j *Judgement) alike() []Finding {
	sizes, bySize := j.variants()
	var out []Finding
	for _, s := range sizes {
		if f, ok := j.sameSize(bySize[s]); ok {
			out = append(out, f)
		}
	}
	for _, s := range sizes {
		if f, ok := j.fewOf(s, sizes, bySize); ok {
			out = append(out, f)
		}
	}
	return out
}

// variants sorts the screws and bolts by size, small ones first, and within a
// size by variant, the most first.
func (j *Judgement) variants() (sizes []string, bySize map[string][]variant) {
	bySize = map[string][]variant{}
	d := map[string]float64{}
	for i := range j.Fasteners {
		f := &j.Fasteners[i]
		if f.Kind != fastener.Screw && f.Kind != fastener.Bolt || f.Size == "" || !(f.Nominal > 0) || !(f.Length > 0) {
			continue
		}
		v := variant{what: sizeLength(f), drive: gripWords(f), head: f.Head, length: f.Length, list: []int{i}}
		vs := bySize[f.Size]
		k := slices.IndexFunc(vs, func(o variant) bool { return o.what == v.what && o.drive == v.drive && o.head == v.head })
		switch {
		case k >= 0:
			vs[k].list = append(vs[k].list, i)
		default:
			if len(vs) == 0 {
				sizes = append(sizes, f.Size)
				d[f.Size] = f.Nominal
			}
			bySize[f.Size] = append(vs, v)
		}
	}
	for _, vs := range bySize {
		slices.SortStableFunc(vs, func(a, b variant) int { return cmp.Compare(len(b.list), len(a.list)) })
	}
	slices.SortStableFunc(sizes, func(a, b string) int { return cmp.Compare(d[a], d[b]) })
	return sizes, bySize
}

// sameSize proposes the commonest variant of a size for the others.
func (j *Judgement) sameSize(vs []variant) (Finding, bool) {
	if len(vs) < 2 {
		return Finding{}, false
	}
	var what, how []string
	var all []int
	for k := range vs {
		if k > 0 && k < maxVariants {
			for _, h := range j.become(&vs[k], &vs[0]) {
				if !slices.Contains(how, h) {
					how = append(how, h)
				}
			}
		}
		all = append(all, vs[k].list...)
		if k < maxVariants {
			what = append(what, times(len(vs[k].list), vs[k].words(vs)))
		}
	}
	if len(how) == 0 {
		return Finding{}, false
	}
	if more := len(vs) - maxVariants; more > 0 {
		what = append(what, fmt.Sprintf("%d more kinds", more))
	}
	return j.of(all, ruleAlike, fmt.Sprintf("%s could be alike: %s", and(what), strings.Join(how, "; ")), float64(len(vs)), 1), true
}

// words tells a variant from the others of its size: by head and drive only
// where these differ.
func (v *variant) words(vs []variant) string {
	same := func(f func(o *variant) string) bool {
		return !slices.ContainsFunc(vs, func(o variant) bool { return f(&o) != f(v) })
	}
	var more []string
	if v.head != "" && !same(func(o *variant) string { return o.head }) {
		more = append(more, v.head)
	}
	if v.drive != "" && !same(func(o *variant) string { return o.drive }) {
		more = append(more, v.drive)
	}
	if len(more) == 0 {
		return v.what
	}
	return v.what + " (" + strings.Join(more, ", ") + ")"
}

// become says what it takes to use variant to in place of v.
func (j *Judgement) become(v, to *variant) []string {
	var out []string
	switch {
	case v.drive != to.drive && v.drive != "" && to.drive != "":
		out = append(out, "with one head and drive a single tool would do")
	case v.head != to.head:
		out = append(out, "with one head")
	}
	long, short := max(v.length, to.length), min(v.length, to.length)
	less := v.length - to.length
	switch {
	case long == short || long > lengthRatio*short:
	case less < 0:
		out = append(out, fmt.Sprintf("%s for %s if there is room for %s mm more", to.what, v.what, decimals(-less)))
	default:
		if left := j.engagedAfter(v, less); left >= j.Fasteners[v.list[0]].Nominal {
			out = append(out, fmt.Sprintf("%s for %s would still have %s mm of thread", to.what, v.what, decimals(left)))
		} else {
			out = append(out, fmt.Sprintf("%s for %s if what that clamps were %s mm thinner", to.what, v.what, decimals(less)))
		}
	}
	return out
}

// engagedAfter is the least engagement of a variant's screws if they were less
// mm shorter.
func (j *Judgement) engagedAfter(v *variant, less float64) float64 {
	left := math.Inf(1)
	for _, i := range v.list {
		h := &j.Holds[i]
		through := 0.0 // of a through hole or a nut the tip may stand out
		if n := len(h.Layers); n > 0 && h.Layers[n-1].Bites {
			through = max(0, j.Fasteners[i].Length-h.Layers[n-1].To)
		} else if h.Mate >= 0 {
			through = max(0, j.Fasteners[i].Length-h.Grip-h.Engagement)
		}
		left = min(left, h.Engagement-max(0, less-through))
	}
	return max(0, left)
}

// fewOf asks whether a size with few screws is needed beside one that is at most
// a step away and has more.
func (j *Judgement) fewOf(size string, sizes []string, bySize map[string][]variant) (Finding, bool) {
	own := members(bySize[size])
	if len(own) > few {
		return Finding{}, false
	}
	var beside []string
	all := slices.Clone(own)
	d := j.Fasteners[own[0]].Nominal
	for _, o := range sizes {
		list := members(bySize[o])
		e := j.Fasteners[list[0]].Nominal
		if o == size || len(list) <= len(own) || max(d, e) > oneStep*min(d, e) || metric(o) != metric(size) {
			continue
		}
		beside = append(beside, fmt.Sprintf("%s (%d of them)", o, len(list)))
		all = append(all, list...)
	}
	if len(beside) == 0 {
		return Finding{}, false
	}
	is, only := "is", fmt.Sprintf("Only %s are %s", j.howMany(own), size)
	if len(own) == 1 {
		only = fmt.Sprintf("Only %s is %s", j.howMany(own), size)
	}
	if len(beside) > 1 {
		is = "are"
	}
	text := fmt.Sprintf("%s; %s %s one step away: one size could do if strength and room allow", only, and(beside), is)
	return j.of(all, ruleAlike, text, float64(len(own)), few+1), true
}

// howMany is "1 bolt", or "2 screws"; bolts among screws are called screws too.
func (j *Judgement) howMany(list []int) string {
	kind := j.Fasteners[list[0]].Kind
	for _, i := range list {
		if j.Fasteners[i].Kind != kind {
			kind = fastener.Screw
		}
	}
	if len(list) == 1 {
		return "1 " + string(kind)
	}
	return fmt.Sprintf("%d %ss", len(list), kind)
}

func members(vs []variant) []int {
	var out []int
	for i := range vs {
		out = append(out, vs[i].list...)
	}
	return out
}

// metric reports sizes as ISO names them.
func metric(size string) bool { return strings.HasPrefix(size, "M") }

// of is a note of common practice on several fasteners.
func (j *Judgement) of(list []int, rule, text string, value, limit float64) Finding {
	list = slices.Clone(list)
	slices.Sort(list)
	f := Finding{
		Rule: rule, Level: "note", Occurrences: []string{}, Fasteners: j.fastenerIDs(list), Text: text,
		Value: Number(value), Limit: Number(limit), Source: commonPractice,
	}
	for _, i := range list {
		f.Occurrences = append(f.Occurrences, j.ids(j.Fasteners[i].Solids)...)
	}
	return f
}

// and writes "a", "a and b" or "a, b and c".
func and(n []string) string {
	if len(n) < 2 {
		return strings.Join(n, "")
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}
