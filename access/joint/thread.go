package joint

import (
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/product"
)

// stretch is a piece of a hole about a shank, as heights along its axis: z1 to
// z0 as it is drawn, hi to lo as far as the shank is in it.
type stretch struct {
	how            grasp
	z1, z0, hi, lo float64
	d              float64 // mm
	core           bool    // narrower below: what the drill left under the thread
}

// stretches are the round holes of a solid about the shank, but for those that
// an insert fills.
func (b *binder) stretches(f *fastener.Fastener, s product.SolidIndex) []stretch {
	tip, seat := span(f)
	least := min(0.3, 0.15*f.Nominal) // mm: less is a chamfer
	filled := b.insertTop(f, s)
	var out []stretch
	for _, g := range b.scene.Around(s, f.Axis, max(0.15, 0.08*f.Nominal), math.Pi) {
		hi, lo := min(g.Z1, seat), max(g.Z0, tip)
		if hi-lo < least || hi < filled {
			continue
		}
		out = append(out, stretch{how: judge(f, 2*g.R), z1: g.Z1, z0: g.Z0, hi: hi, lo: lo, d: 2 * g.R})
	}
	return b.grooves(f, s, out)
}

// settleCore tells a thread that is drawn at its nominal diameter, with the
// drill's end below it, from a relief above a thread drawn at its minor
// diameter: of the two the thread is the longer one. (A tap leaves the end of
// its drill uncut over a few pitches; a relief is as short.)
func settleCore(holes []stretch) []stretch {
	for i := range holes {
		for k := range holes {
			t, c := &holes[i], &holes[k]
			if t.how == equal && c.how == bites && c.z1 <= t.z0+0.5*t.d && c.z1-c.z0 < t.z1-t.z0 {
				t.how, t.core, c.how = bites, true, apart
			}
		}
	}
	return holes
}

// beyond is how far, mm, a tip goes past the end of the thread of a blind hole,
// 0 where it does not. A tip that leaves through the far side is free.
func (b *binder) beyondThread(f *fastener.Fastener, st stack) float64 {
	k := len(st) - 1
	for k >= 0 && st[k].how != bites {
		k--
	}
	if k < 0 || st[k].d == 0 || math.IsInf(st[k].end, 0) {
		return 0
	}
	l := &st[k]
	tip, _ := span(f)
	over := l.end - tip
	if !(over > 0.1) { // mm: a chamfer's worth
		return 0
	}
	if l.core {
		return over
	}
	// A tip is chamfered to some 0.8 d and a drill's point is a cone: material
	// within 0.6 d about the axis stops it for certain.
	if _, hit := b.scene.FreeRadius(l.solid, f.Axis, tip, l.end+0.02, 0.3*f.Nominal); hit {
		return over
	}
	return 0
}

// insertTop is the height, along the shank, down to which a solid's hole about
// it is its own: below, an insert fills it. -Inf without one.
func (b *binder) insertTop(f *fastener.Fastener, s product.SolidIndex) float64 {
	top := math.Inf(-1)
	for _, k := range b.inserts {
		if !slices.Contains(b.holds[k].Bites, s) || !coaxial(f, &b.fs[k]) {
			continue
		}
		tip, _ := span(f)
		if _, hi := ends(f.Axis, &b.fs[k]); hi > tip {
			top = max(top, hi+0.5*f.Nominal)
		}
	}
	return top
}
