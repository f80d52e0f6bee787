package access

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
)

// Counts are what the trade counts of the fasteners. Each list is sorted, the
// most first.
type Counts struct {
	// Kinds counts all fasteners by kind; stand-offs and cable ties stand for
	// themselves. Sizes counts them by thread or diameter without washers, which
	// go with their screws, and without those of unknown size; Lengths those with
	// a shank by size and length ("M4×25"); Drives those that a tool takes hold
	// of, by drive and its size.
	Kinds   []Count `json:"kinds"`
	Sizes   []Count `json:"sizes"`
	Lengths []Count `json:"lengths"`
	Drives  []Count `json:"drives"`
	// Tools is how many different (drive, size) pairs have to be fitted.
	Tools int `json:"tools"`
	// Sets are the fasteners of one joint each, with the parts that they hold.
	Sets []Set `json:"sets"`
}

// Count is how many there are of something.
type Count struct {
	What string `json:"what"`
	N    int    `json:"count"`
}

// Set is the fasteners of one joint. Layers is how many parts they hold in one
// stack: those passed and those bitten, an insert with the part that it sits in
// as one.
type Set struct {
	Joint     string   `json:"joint"`
	Fasteners []string `json:"fasteners"`
	Layers    int      `json:"layers"`
	// Occurrences are those parts, from the head on.
	Occurrences []string `json:"occurrences"`
}

// counts fills in the counts.
func (j *Judgement) counts() *Counts {
	kinds, sizes, lengths, drives := map[string]int{}, map[string]int{}, map[string]int{}, map[string]int{}
	for i := range j.Fasteners {
		f := &j.Fasteners[i]
		kinds[string(f.Kind)]++
		if f.Kind == fastener.Washer {
			continue
		}
		if f.Size != "" {
			sizes[f.Size]++
			if shanked(f) {
				lengths[sizeLength(f)]++
			}
		}
		if d := gripWords(f); d != "" {
			drives[d]++
		}
	}
	return &Counts{
		Kinds: tally(kinds), Sizes: tally(sizes), Lengths: tally(lengths), Drives: tally(drives),
		Tools: len(j.Drives()), Sets: j.sets(),
	}
}

// tally lists counts, the most first, the rest by name.
func tally(n map[string]int) []Count {
	out := []Count{}
	for what, k := range n {
		out = append(out, Count{what, k})
	}
	slices.SortFunc(out, func(a, b Count) int { return cmp.Or(cmp.Compare(b.N, a.N), strings.Compare(a.What, b.What)) })
	return out
}

// shanked reports the kinds that are told by size and length.
func shanked(f *fastener.Fastener) bool {
	switch f.Kind {
	case fastener.Screw, fastener.Bolt, fastener.SetScrew, fastener.Stud, fastener.Pin, fastener.Rivet:
		return f.Length > 0
	}
	return false
}

// sizeLength is "M4×25", or "3×20 mm" where the size is a diameter.
func sizeLength(f *fastener.Fastener) string {
	size, unit := strings.CutSuffix(f.Size, " mm")
	s := fmt.Sprintf("%s×%.3g", size, f.Length)
	if unit {
		s += " mm"
	}
	return s
}

// gripWords is what a tool must fit, of a combination its best grip; "" for what
// has no drive.
func gripWords(f *fastener.Fastener) string {
	if f.Drive == fastener.NoDrive || !tested(f) {
		return ""
	}
	g := f.Best()
	return strings.TrimSpace(string(g.Drive) + " " + g.Size)
}

// sets lists the joints that fasteners hold, in their order.
func (j *Judgement) sets() []Set {
	out := []Set{}
	for i := range j.Joints {
		t := &j.Joints[i]
		if len(t.Fasteners) == 0 || t.Kind != joint.Fastened && t.Kind != joint.Thread {
			continue
		}
		held := j.layersOf(t.Fasteners[0])
		if len(held) == 0 {
			continue
		}
		out = append(out, Set{Joint: t.ID, Fasteners: j.fastenerIDs(t.Fasteners), Layers: len(held), Occurrences: j.ids(held)})
	}
	return out
}

// layersOf are the parts that a fastener holds, in order along its shank, an
// insert that it bites left to the part that the insert sits in.
func (j *Judgement) layersOf(i int) []product.SolidIndex {
	h := &j.Holds[i]
	var out []product.SolidIndex
	for _, s := range slices.Concat(h.Passes, h.Bites) {
		parts := []product.SolidIndex{s}
		if k := j.fastenerOf(s); k >= 0 && j.Fasteners[k].Kind == fastener.Insert && len(j.Holds[k].Bites) > 0 {
			parts = j.Holds[k].Bites
		}
		for _, p := range parts {
			if !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// fastenerOf is the fastener that a solid is, -1 for none.
func (j *Judgement) fastenerOf(s product.SolidIndex) int {
	if j.ofSolid == nil {
		j.ofSolid = map[product.SolidIndex]int{}
		for i := range j.Fasteners {
			for _, s := range j.Fasteners[i].Solids {
				j.ofSolid[s] = i
			}
		}
	}
	if i, ok := j.ofSolid[s]; ok {
		return i
	}
	return -1
}
