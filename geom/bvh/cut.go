package bvh

import "math/bits"

const (
	bins = 16 // more bins make no better trees, fewer do in large nodes

	fewest = 4 // up to here all ways to part are tried
)

// cut separates the bins up to and including bin of one axis from the rest;
// axis is -1 where no cut parts anything.
type cut struct{ axis, bin int }

// bin collects the triangles whose centres fall in one slice.
type bin struct {
	box gridBox
	n   int32
	_   int32 // to 32 bytes
}

var emptyBin = bin{box: emptyGridBox}

// cheapestCut returns the cut with the least Σ area·count over all axes, and
// that sum.
func (b *builder) cheapestCut(s *span) (cut, float64) {
	n := binsFor(s.len())
	b.fillBins(s, n)
	best, bestCost := cut{axis: -1}, 0.0
	for axis := range 3 {
		if s.centres.lo[axis] == s.centres.hi[axis] {
			continue
		}
		k, cost := cheapestOfAxis(b.bins[axis][:n])
		if k >= 0 && (best.axis < 0 || cost < bestCost) {
			best, bestCost = cut{axis, k}, cost
		}
	}
	return best, bestCost
}

// binsFor spares small nodes, which are the most, the work on empty bins.
func binsFor(triangles int) int { return min(bins, max(4, triangles/4)) }

// scaleOf maps distances from the lowest centre to bins, with 32 bits behind
// the point: a distance times the scale is below n << 32.
func scaleOf(centres *gridBox, n int) (scale [3]uint64) {
	for axis := range 3 {
		w := uint64(uint32(centres.hi[axis] - centres.lo[axis]))
		scale[axis] = uint64(n) << 32 / (w + 1)
	}
	return scale
}

// fillBins goes over the triangles once for all axes, those of the upper nodes by
// samples of half a piece to one and a half: the cut hardly moves.
func (b *builder) fillBins(s *span, n int) {
	for axis := range 3 {
		for i := range n {
			b.bins[axis][i] = emptyBin
		}
	}
	scale := scaleOf(&s.centres, n)
	sx, sy, sz := scale[0], scale[1], scale[2]
	fx, fy, fz := s.centres.lo[0], s.centres.lo[1], s.centres.lo[2]
	refs := b.refs[s.from:s.to]
	step := len(refs)/pieceLen | 1
	for i := 0; i < len(refs); i += step {
		r := &refs[i].gridBox
		l0, l1, l2, h0, h1, h2 := r.lo[0], r.lo[1], r.lo[2], r.hi[0], r.hi[1], r.hi[2]
		x := &b.bins[0][uint64(uint32(l0+h0-fx))*sx>>32&(bins-1)]
		x.n++
		x.box.lo[0], x.box.lo[1], x.box.lo[2] = min(x.box.lo[0], l0), min(x.box.lo[1], l1), min(x.box.lo[2], l2)
		x.box.hi[0], x.box.hi[1], x.box.hi[2] = max(x.box.hi[0], h0), max(x.box.hi[1], h1), max(x.box.hi[2], h2)
		y := &b.bins[1][uint64(uint32(l1+h1-fy))*sy>>32&(bins-1)]
		y.n++
		y.box.lo[0], y.box.lo[1], y.box.lo[2] = min(y.box.lo[0], l0), min(y.box.lo[1], l1), min(y.box.lo[2], l2)
		y.box.hi[0], y.box.hi[1], y.box.hi[2] = max(y.box.hi[0], h0), max(y.box.hi[1], h1), max(y.box.hi[2], h2)
		z := &b.bins[2][uint64(uint32(l2+h2-fz))*sz>>32&(bins-1)]
		z.n++
		z.box.lo[0], z.box.lo[1], z.box.lo[2] = min(z.box.lo[0], l0), min(z.box.lo[1], l1), min(z.box.lo[2], l2)
		z.box.hi[0], z.box.hi[1], z.box.hi[2] = max(z.box.hi[0], h0), max(z.box.hi[1], h1), max(z.box.hi[2], h2)
	}
}

// cheapestOfAxis sweeps from the right for the areas, then from the left.
func cheapestOfAxis(bb []bin) (int, float64) {
	var right [bins]float64
	acc, n := emptyGridBox, int32(0)
	for i := len(bb) - 1; i > 0; i-- {
		if bb[i].n > 0 {
			acc.grow(&bb[i].box)
			n += bb[i].n
		}
		if n > 0 {
			right[i] = acc.halfArea() * float64(n)
		}
	}
	total := n + bb[0].n
	best, bestCost := -1, 0.0
	acc, n = emptyGridBox, 0
	for i := range len(bb) - 1 {
		if bb[i].n == 0 {
			continue // the cut before is as good
		}
		acc.grow(&bb[i].box)
		n += bb[i].n
		if n == total {
			break
		}
		if c := float64(acc.halfArea()*float64(n)) + right[i+1]; best < 0 || c < bestCost {
			best, bestCost = i, c
		}
	}
	return best, bestCost
}

// partFew tries every way to part up to four references in two.
func (b *builder) partFew(s, left, right *span) bool {
	refs := b.refs[s.from:s.to]
	mask, cost := cheapestOfFew(refs)
	if leafIsCheaper(s, cost) {
		return false
	}
	var in [2][fewest]reference
	var n [2]int
	for k := range refs {
		side := mask >> k & 1
		in[side][n[side]] = refs[k]
		n[side]++
	}
	copy(refs, in[0][:n[0]])
	copy(refs[n[0]:], in[1][:n[1]])
	*left, *right = *s, *s
	left.to, right.from = s.from+int32(n[0]), s.from+int32(n[0])
	left.box, right.box = boxOf(b.refs[left.from:left.to]), boxOf(b.refs[right.from:right.to])
	return true
}

// cheapestOfFew returns which references to part from the first one, as bits
// of a mask, and the Σ area·count of both groups.
func cheapestOfFew(refs []reference) (mask int, cost float64) {
	full := 1<<len(refs) - 1
	var box [1 << fewest]gridBox
	var count [1 << fewest]int
	var weight [1 << fewest]float64
	box[0] = emptyGridBox
	for m := 1; m <= full; m++ {
		k := bits.Len(uint(m)) - 1
		rest := m &^ (1 << k)
		box[m], count[m] = box[rest], count[rest]+1
		box[m].grow(&refs[k].gridBox)
		weight[m] = box[m].halfArea() * float64(count[m])
	}
	mask = 2
	for m := 4; m <= full; m += 2 {
		if weight[m]+weight[full-m] < weight[mask]+weight[full-mask] {
			mask = m
		}
	}
	return mask, weight[mask] + weight[full-mask]
}
