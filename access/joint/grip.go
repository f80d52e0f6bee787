package joint

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/geom"
)

// reading is what was found along one shank.
type reading struct {
	stack
	grip, engaged, beyond float64 // mm
}

// read looks along the shank of fastener i.
func (b *binder) read(i int) reading {
	f := &b.fs[i]
	out := reading{stack: b.stack(i)}
	if !hasShank(f) {
		return out
	}
	grip, engaged := b.measure(i, out.stack)
	out.grip, out.engaged = round3(max(0, grip)), round3(max(0, engaged))
	if threaded(f) && b.holds[i].Mate < 0 {
		out.beyond = round3(b.beyondThread(f, out.stack))
	}
	return out
}

// take writes a reading into the hold of fastener i.
func (b *binder) take(i int, r *reading) {
	h := &b.holds[i]
	seat := upper(&b.fs[i])
	for k := range r.stack {
		l := &r.stack[k]
		switch l.how {
		case passes:
			h.Passes = append(h.Passes, l.solid)
		case bites:
			h.Bites = append(h.Bites, l.solid)
		}
		hi, lo := l.ends()
		h.Layers = append(h.Layers, Layer{l.solid, l.how == bites, round3(seat - hi), round3(seat - lo)})
		h.Evidence = append(h.Evidence, l.text(b.name(l.solid)))
	}
	if hasShank(&b.fs[i]) {
		h.Grip, h.Engagement, h.Beyond = r.grip, r.engaged, r.beyond
	}
	if b.fs[i].Kind == fastener.Pin {
		b.facePin(i)
	}
}

// threaded reports the kinds whose shank carries a thread.
func threaded(f *fastener.Fastener) bool {
	switch f.Kind {
	case fastener.Screw, fastener.Bolt, fastener.SetScrew, fastener.Stud, fastener.StandOff:
		return true
	}
	return false
}

// measure is the clamped length and the length of thread that holds it, or of
// a pin the pressed length.
func (b *binder) measure(i int, st stack) (grip, engaged float64) {
	f, h := &b.fs[i], &b.holds[i]
	bite := st.bite()
	switch {
	case f.Kind == fastener.Pin:
		return 0, bite
	case !threaded(f): // rivets and the like hold all that they go through
		return upper(f) - st.foot(upper(f)), 0
	case f.Kind == fastener.Stud:
		return b.betweenJaws(i, st)
	case h.Mate >= 0:
		j := b.jaw(i, h.Mate)
		return upper(f) - j.hi, j.hi - j.lo
	case f.Kind == fastener.SetScrew:
		return 0, bite
	case bite > 0:
		return upper(f) - b.parting(i, st), bite
	}
	return upper(f) - st.under(upper(f)), 0
}

// bite is the length of thread in all that the shank bites.
func (st stack) bite() float64 {
	sum := 0.0
	for _, l := range st {
		if l.how == bites {
			sum += l.length
		}
	}
	return sum
}

// foot is the lowest height of the holes of a stack, z without any.
func (st stack) foot(z float64) float64 {
	for _, l := range st {
		if l.how == passes || l.how == bites {
			z = min(z, l.lo)
		}
	}
	return z
}

// ends are the heights between which a layer lies about the shank: its faces
// where they are known and beyond the ends of the hole's wall.
func (l *layer) ends() (hi, lo float64) {
	hi, lo = l.hi, l.lo
	if l.faced && l.how == passes {
		hi, lo = max(hi, l.upper), min(lo, l.lower)
	}
	return hi, lo
}

// under is the lower face of the last part that a shank passes, z without any.
func (st stack) under(z float64) float64 {
	for k := range st {
		if st[k].how == passes {
			_, lo := st[k].ends()
			z = min(z, lo)
		}
	}
	return z
}

// parting is the height at which the clamped parts end and the bitten one
// begins: its upper face, or where that is not found, the thread's upper end.
func (b *binder) parting(i int, st stack) float64 {
	f := &b.fs[i]
	for _, l := range st {
		if l.how != bites {
			continue
		}
		if k := b.of[l.solid]; k >= 0 {
			_, hi := ends(f.Axis, &b.fs[k])
			if hi <= upper(f)+touch {
				return hi
			}
			return l.hi
		}
		if l.faced && l.upper >= l.hi-columnSkin && l.upper <= st.under(upper(f))+touch {
			return l.upper
		}
		return l.hi
	}
	return upper(f)
}

// jaw is one of the two things between which a rod clamps.
type jaw struct{ hi, lo float64 }

// jaw is nut n as far as the shank of fastener i is in it.
func (b *binder) jaw(i, n int) jaw {
	f := &b.fs[i]
	tip, seat := span(f)
	lo, hi := ends(f.Axis, &b.fs[n])
	if b.fs[n].Head == "cage" { // its legs and its cage have no thread
		lo, hi = b.threadOf(f.Axis, &b.fs[n], lo, hi)
	}
	return jaw{hi: min(hi, seat), lo: max(lo, tip)}
}

// threadOf are the heights along axis a of the bore of nut n, lo and hi where it
// shows none.
func (b *binder) threadOf(a geom.Axis, n *fastener.Fastener, lo, hi float64) (float64, float64) {
	z0, z1 := math.Inf(1), math.Inf(-1)
	for _, s := range n.Solids {
		for _, g := range b.scene.Around(s, a, max(0.1, 0.03*n.Bore), math.Pi) {
			if math.Abs(2*g.R-n.Bore) <= 0.02*n.Bore {
				z0, z1 = min(z0, g.Z0), max(z1, g.Z1)
			}
		}
	}
	if z0 < z1 {
		return max(lo, z0), min(hi, z1)
	}
	return lo, hi
}

// betweenJaws measures a rod without a head. It clamps what lies between two
// of its nuts, or between a nut and the part that it bites; the shorter of
// these two threads holds. A rod with lock nuts only clamps nothing.
func (b *binder) betweenJaws(i int, st stack) (grip, engaged float64) {
	var jaws []jaw
	for _, s := range b.near(i, 0.1) {
		if n := b.of[s]; n >= 0 && b.fs[n].Kind == fastener.Nut && b.holds[n].Mate == i {
			jaws = append(jaws, b.jaw(i, n))
		}
	}
	for _, l := range st {
		if l.how == bites {
			jaws = append(jaws, jaw{hi: l.hi, lo: l.hi - l.length})
		}
	}
	if len(jaws) == 0 {
		return 0, 0
	}
	slices.SortStableFunc(jaws, func(x, y jaw) int { return cmp.Compare(y.hi, x.hi) })
	engaged = max(st.bite(), jaws[0].hi-jaws[0].lo)
	for k := range len(jaws) - 1 {
		gap := jaws[k].lo - jaws[k+1].hi
		if gap <= grip || !st.between(jaws[k].lo, jaws[k+1].hi) {
			continue
		}
		grip = gap
		engaged = math.Min(jaws[k].hi-jaws[k].lo, jaws[k+1].hi-jaws[k+1].lo)
	}
	return grip, engaged
}

// between reports whether something passed lies between two heights.
func (st stack) between(hi, lo float64) bool {
	return slices.ContainsFunc(st, func(l layer) bool {
		return l.how == passes && min(l.hi, hi)-max(l.lo, lo) > 0.5*(l.hi-l.lo)
	})
}
