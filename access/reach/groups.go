package reach

import (
	"cmp"
	"slices"

	"stepscan/access/product"
)

// sets is a union of numbered things.
type sets []int32

func newSets(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

func (s sets) find(i product.SolidIndex) product.SolidIndex {
	for s[i] != int32(i) {
		s[i] = s[s[i]]
		i = product.SolidIndex(s[i])
	}
	return i
}

// join makes all of them one; the lowest number leads.
func (s sets) join(all []product.SolidIndex) {
	for _, i := range all[min(1, len(all)):] {
		a, b := s.find(all[0]), s.find(i)
		s[max(a, b)] = int32(min(a, b))
	}
}

// group is what moves as one: solids that something not yet undone holds
// together.
type group struct {
	solids []product.SolidIndex // sorted
	volume float64              // mm³
	free   bool                 // holds more than fasteners nobody has undone
}

// groupsOf splits a cluster's solids, smallest group first: by number of
// solids, then volume, then the lowest solid.
func (t *taking) groupsOf(solids []product.SolidIndex) []group {
	held := newSets(t.c.s.len())
	for _, tie := range t.c.ties {
		if tie.unit < 0 || !t.undone[tie.unit] {
			held.join(t.sameCluster(tie.solids))
		}
	}
	index := map[product.SolidIndex]int{}
	var out []group
	for _, k := range solids {
		lead := held.find(k)
		g, ok := index[lead]
		if !ok {
			g = len(out)
			index[lead] = g
			out = append(out, group{})
		}
		out[g].solids = append(out[g].solids, k)
		out[g].volume += t.c.s.p.Part(k).Volume
		out[g].free = out[g].free || t.c.unitOf[k] < 0
	}
	slices.SortStableFunc(out, func(a, b group) int {
		if c := len(a.solids) - len(b.solids); c != 0 {
			return c
		}
		if c := cmp.Compare(a.volume, b.volume); c != 0 {
			return c
		}
		return int(a.solids[0]) - int(b.solids[0])
	})
	return out
}

// sameCluster keeps of a tie what has not come off. Whatever is tied together
// has moved together so far.
func (t *taking) sameCluster(solids []product.SolidIndex) []product.SolidIndex {
	var out []product.SolidIndex
	for _, k := range solids {
		if t.cluster[k] >= 0 {
			out = append(out, k)
		}
	}
	return out
}
