package joint

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

// grasp is how a shank and a solid about it stand to each other.
type grasp uint8

const (
	apart grasp = iota
	passes
	equal // the hole has the shank's own diameter: a thread drawn plain, or a close fit
	bites
)

// layer is one solid along the shank.
type layer struct {
	solid   product.SolidIndex
	how     grasp
	hi, lo  float64 // heights along the axis where the hole and the shank meet
	top     float64 // height at which the solid begins about the axis, for the order
	length  float64 // mm of hole along the shank: less than hi - lo where it is broken
	d       float64 // mm, diameter of the hole; 0 where it is no cylinder
	overlap float64 // mm on diameter, for pins
	end     float64 // height at which the thread ends, though the shank may end before
	wide    bool    // no round hole of the shank's size is in it
	core    bool    // the hole goes on below the thread as a narrower drill
	// upper and lower are the faces of the solid about the hole, as far as the
	// column under the head meets it: a chamfer is no part of the hole's wall.
	upper, lower float64
	faced        bool
}

// stack is everything along one shank, from the head to the tip.
type stack []layer

// stack looks at every solid about fastener i.
func (b *binder) stack(i int) stack {
	f := &b.fs[i]
	if !hasShank(f) || !(f.Nominal > 0) {
		return nil
	}
	var st stack
	for _, s := range b.near(i, 0.2) {
		if k := b.of[s]; k >= 0 && !bored(&b.fs[k]) {
			continue // nuts and washers are told apart from the work
		}
		if l := b.layer(f, s); l.how != apart {
			st = append(st, l)
		}
	}
	for k := range st {
		if l := &st[k]; f.Kind != fastener.Pin && f.Kind != fastener.SetScrew {
			l.upper, l.lower, l.faced = b.facesOf(i, l.solid)
		}
	}
	st = append(st, b.wide(i, st)...)
	slices.SortStableFunc(st, func(x, y layer) int { return cmp.Compare(y.top, x.top) })
	st.settleEqual(f, b.holds[i].Mate >= 0)
	return st
}

// bored reports fasteners whose own hole a shank may go through or bite.
func bored(f *fastener.Fastener) bool {
	return hasShank(f) || f.Kind == fastener.StandOff || f.Kind == fastener.Insert || f.Kind == fastener.Clip
}

// settleEqual decides holes of the shank's own diameter: a nut, or a thread
// below, makes them plain holes; else the deepest is the thread.
func (st stack) settleEqual(f *fastener.Fastener, nut bool) {
	if f.Kind == fastener.Pin {
		return
	}
	nut = nut || f.Kind == fastener.Rivet // it has no thread to bite with
	last := -1
	for k := range st {
		if st[k].how == bites {
			nut = true
		}
		if st[k].how == equal {
			last = k
		}
	}
	for k := range st {
		if st[k].how == equal {
			st[k].how = passes
			if k == last && !nut && (k > 0 || len(st) == 1) {
				st[k].how = bites
			}
		}
	}
}

// layer reads one solid.
func (b *binder) layer(f *fastener.Fastener, s product.SolidIndex) layer {
	if f.Kind == fastener.Pin {
		return b.pinLayer(f, s)
	}
	out := layer{solid: s, top: math.Inf(-1), end: math.Inf(1)}
	holes := b.stretches(f, s)
	for _, g := range settleCore(holes) {
		if g.how != apart {
			out.top = max(out.top, min(g.z1, f.Front))
		}
		out.add(g.how, g.hi, g.lo, g.d)
		if g.how == out.how {
			out.end, out.core = min(out.end, g.z0), out.core || g.core
		}
	}
	switch k := b.of[s]; {
	case k >= 0 && (b.fs[k].Kind == fastener.Insert || b.fs[k].Kind == fastener.Clip):
		if out.how == equal { // it is there to be bitten
			out.how = bites
		}
	case out.how == apart && (k < 0 || b.fs[k].Kind == fastener.StandOff):
		b.bearing(f, s, &out)
	}
	return out
}

// add takes one stretch of hole into the layer: a bite outranks a passage.
func (l *layer) add(how grasp, hi, lo, d float64) {
	switch {
	case how == apart || how < l.how:
	case how > l.how:
		l.how, l.hi, l.lo, l.length, l.d = how, hi, lo, hi-lo, d
	default:
		l.hi, l.lo, l.length, l.d = max(l.hi, hi), min(l.lo, lo), l.length+hi-lo, min(l.d, d)
	}
}

// judge says what a hole of diameter d mm is for the fastener's thread.
// Tapped: D1 to tap drill (threads table). Plastic bosses: 0.75 to 0.92 of the
// nominal diameter (makers' boss rules, typical). Anything narrower than the
// shank overlaps it, and so is meant to be bitten. Up to 1.6 d counts as a
// passage: coarse clearance is 1.2 d (ISO 273), slotted and worn-in holes more.
func judge(f *fastener.Fastener, d float64) grasp {
	n := f.Nominal
	if t, ok := table.ThreadOf(f.Size); ok && t.IsTapped(d) {
		return bites
	}
	switch {
	case d < 0.3*n:
		return apart // a hollow deep in the material, not a hole for this shank
	case d < 0.985*n:
		return bites
	case d <= 1.015*n:
		return equal
	case d <= 1.6*n:
		return passes
	}
	return apart
}

// bearing looks for material under the head or about the shank where no round
// hole is: slots, keyholes, countersinks, solid blocks.
func (b *binder) bearing(f *fastener.Fastener, s product.SolidIndex, out *layer) {
	tip, seat := span(f)
	const skin = 0.15 // mm: what counts as touching in a model
	if f.HeadD > 0 {
		// The slab reaches up into a countersunk head: its cone bears all the way.
		top := seat + 0.02
		if sunk(f) {
			top = f.Front - 0.1 // a label on the head lies above that
		}
		if free, ok := b.scene.FreeRadius(s, f.Axis, seat-skin, top, 0.49*f.HeadD); ok && free.R > 0.35*f.Nominal {
			out.add(passes, seat, seat-skin, 0)
			out.top = top
			return
		}
	}
	if free, ok := b.scene.FreeRadius(s, f.Axis, tip, seat-skin, 0.46*f.Nominal); ok {
		out.add(bites, free.H, max(tip, free.H-f.Nominal), 2*free.R)
		out.top = free.H
	}
}

// pinLayer reads one solid about a pin.
func (b *binder) pinLayer(f *fastener.Fastener, s product.SolidIndex) layer {
	out := layer{solid: s}
	for _, g := range b.scene.Around(s, f.Axis, 0.05, 1.5*math.Pi) {
		hi, lo := min(g.Z1, f.Front), max(g.Z0, f.Back)
		d := 2 * g.R
		if hi-lo < 0.1*f.Nominal || d < 0.9*f.Nominal || d > 1.3*f.Nominal {
			continue
		}
		how := passes
		if d <= f.Nominal+0.001 && !(f.Head == "split" && d > 0.95*f.Nominal) {
			// A split pin is called by the hole that it goes through (ISO 1234).
			how = bites
		}
		out.add(how, hi, lo, d)
		out.top = out.hi
		if how == bites {
			out.overlap = max(out.overlap, f.Nominal-d)
		}
	}
	return out
}

// sunk reports a head that lies in a countersink.
func sunk(f *fastener.Fastener) bool {
	return f.Head == "countersunk" || f.Head == "raised countersunk"
}

// text is a layer's evidence for people.
func (l *layer) text(name string) string {
	switch {
	case l.wide:
		return fmt.Sprintf("clamps %s: its hole is wide or not round", name)
	case l.how == bites && round3(l.overlap) > 0:
		return fmt.Sprintf("is pressed into %s: hole Ø%s, %s mm tighter", name, mm(l.d), mm(l.overlap))
	case l.how == bites:
		return fmt.Sprintf("bites %s: hole Ø%s over %s mm", name, mm(l.d), mm(l.length))
	case l.d == 0 && l.how == passes:
		return fmt.Sprintf("clamps %s: it lies under the head", name)
	}
	return fmt.Sprintf("passes %s: hole Ø%s", name, mm(l.d))
}

func round3(v float64) float64 { return math.Round(v*1000)/1000 + 0 } // no -0

// mm prints a length with at most three decimals.
func mm(v float64) string { return fmt.Sprintf("%.5g", round3(v)) }

// facePin turns a pin to its free end: the one with nothing in the way just
// beyond it. Where both are alike it may leave either way: it stays Symmetric
// and shows the way whose first coordinate that is not 0 is positive, so that
// the answer does not depend on how the part was drawn.
func (b *binder) facePin(i int) {
	f := &b.fs[i]
	if !f.Symmetric {
		return
	}
	up, down := b.beyond(i, true), b.beyond(i, false)
	if up != down {
		d := f.Axis.D
		if up {
			d = d.Mul(-1)
		}
		face(f, d)
		return
	}
	face(f, positive(f.Axis.D))
	f.Symmetric = true
}

// positive is d or -d, whichever has its first coordinate that counts above 0.
func positive(d mgl64.Vec3) mgl64.Vec3 {
	for _, x := range d {
		switch {
		case x > 1e-6:
			return d
		case x < -1e-6:
			return d.Mul(-1)
		}
	}
	return d
}

// beyond reports whether something stands within one length of a pin's end.
func (b *binder) beyond(i int, front bool) bool {
	f := &b.fs[i]
	l := f.Front - f.Back
	z0, z1 := f.Front+0.05, f.Front+l
	if !front {
		z0, z1 = f.Back-l, f.Back-0.05
	}
	for _, s := range b.near(i, l) {
		if _, hit := b.scene.FreeRadius(s, f.Axis, z0, z1, 0.45*f.Nominal); hit {
			return true
		}
	}
	return false
}
