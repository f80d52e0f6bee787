package bvh

import (
	"cmp"
	"math"
	"slices"
)

// Envelope is the solid that a stack of rings sweeps when it comes down its
// axis from far above: at every height the running maximum of the radii at and
// below it. A cone that widens upward stays a cone, all else becomes cylinders;
// the last ring is endless. Rings may overlap or leave gaps. Of tells which of
// the rings given made a ring of the envelope, as the Of of that ring; of two
// that are as wide, the one that begins lower. Rings that are none are left out.
//
// The work grows as the cube of the number of rings: a tool has a dozen.
func Envelope(rings []Ring) []Ring {
	in := slices.DeleteFunc(slices.Clone(rings), func(r Ring) bool { return !r.valid() })
	slices.SortStableFunc(in, func(a, b Ring) int { return cmp.Compare(a.From, b.From) })
	cuts := envelopeCuts(in)
	var out []Ring
	for i, from := range cuts {
		to, mid := math.Inf(1), from+1
		if i+1 < len(cuts) {
			to = cuts[i+1]
			mid = from/2 + to/2
		}
		if r, ok := widestAt(in, from, to, mid); ok {
			out = lengthened(out, r)
		}
	}
	for i := range out {
		out[i].Of = in[out[i].Of].Of
	}
	return out
}

// widest is the ring's radius at height h or any height below it, -1 for none.
func (r *Ring) widest(h float64) float64 {
	switch {
	case h < r.From:
		return -1
	case r.R1 <= r.R0:
		return r.R0
	case h >= r.To:
		return r.R1
	}
	return r.R0 + (r.R1-r.R0)/(r.To-r.From)*(h-r.From)
}

// envelopeCuts are the heights, sorted, between which the envelope has one
// straight side: where rings begin, widening cones end, and where such a cone
// grows past what another ring has.
func envelopeCuts(in []Ring) []float64 {
	var cuts []float64
	for i := range in {
		a := &in[i]
		if cuts = append(cuts, a.From); !(a.R1 > a.R0) {
			continue
		}
		cuts = append(cuts, a.To)
		slope := (a.R1 - a.R0) / (a.To - a.From)
		for j := range in {
			b := &in[j]
			cuts = append(cuts, a.From+(max(b.R0, b.R1)-a.R0)/slope)
			if b.R1 > b.R0 {
				other := (b.R1 - b.R0) / (b.To - b.From)
				cuts = append(cuts, (b.R0-other*b.From-a.R0+slope*a.From)/(slope-other))
			}
		}
	}
	low := math.Inf(1)
	for i := range in {
		low = min(low, in[i].From)
	}
	cuts = slices.DeleteFunc(cuts, func(h float64) bool { return !(h >= low && h < math.Inf(1)) })
	slices.Sort(cuts)
	return slices.Compact(cuts)
}

// widestAt is what the widest ring at mid makes between from and to; Of is its
// place in the list.
func widestAt(in []Ring, from, to, mid float64) (Ring, bool) {
	best := -1
	for i := range in {
		if r := in[i].widest(mid); r >= 0 && (best < 0 || r > in[best].widest(mid)) {
			best = i
		}
	}
	if best < 0 {
		return Ring{}, false
	}
	b := &in[best]
	if b.R1 > b.R0 && mid < b.To {
		// A cut may lie below the cone by rounding.
		return Ring{From: from, To: to, R0: max(b.R0, b.widest(from)), R1: b.widest(to), Of: best}, true
	}
	r := max(b.R0, b.R1)
	return Ring{From: from, To: to, R0: r, R1: r, Of: best}, true
}

// lengthened adds a ring, which goes on with the last one where both are the
// same cylinder or cone.
func lengthened(out []Ring, r Ring) []Ring {
	if n := len(out); n > 0 {
		if l := &out[n-1]; l.Of == r.Of && (l.R0 == l.R1) == (r.R0 == r.R1) && l.R1 == r.R0 {
			l.To, l.R1 = r.To, r.R1
			return out
		}
	}
	return append(out, r)
}
