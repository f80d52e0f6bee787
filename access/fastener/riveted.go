package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// setRivet reads a smooth shank between two heads: a solid rivet that is set. A
// roller, a spool or an axle looks the same, so it has to close a stack of
// parts.
func (m *flat) setRivet(f geom.Frame, _ *feature.Part) (specimen, bool) {
	p := m.outline()
	widest := p.max()
	r, n := p.mode(profileN, 0.8*widest)
	d := nominalRivet(2*r, solidRivets)
	if n == 0 || d == 0 || widest < 1.25*r || widest > 2.4*r {
		return specimen{}, false
	}
	lo, hi := p.run(r)
	foot, seat := p.height(lo), p.height(hi)
	if seat-foot < 0.25*d || seat-foot > 8*d || !p.isHead(0, lo, r, d) || !p.isHead(hi, profileN, r, d) || !m.roundThrough() {
		return specimen{}, false
	}
	if m.recess(widest).drive != NoDrive {
		return specimen{}, false
	}
	s := specimen{}
	s.place(f, m, m.z1)
	s.rivet(2*r, d, 0.75)
	s.needs, s.Head = needStack, "round"
	s.seat, s.foot = seat-m.z1, foot-m.z1
	s.HeadD, s.HeadH, s.Length = 2*widest, m.z1-seat, math.Round(100*(seat-foot))/100
	s.Evidence = append(s.Evidence, fmt.Sprintf("a smooth shank Ø%s, %s mm between two heads", trim(2*r), trim(seat-foot)))
	return s, true
}

// run is the longest run of steps that keep radius r: from lo to before hi.
func (p *profile) run(r float64) (lo, hi int) {
	for i := 0; i < profileN; i++ {
		j := i
		for j < profileN && near(p.r[j], r, 0.015, 0) {
			j++
		}
		if j-i > hi-lo {
			lo, hi = i, j
		}
		i = j
	}
	return lo, hi
}

// isHead reports steps that are wider than the shank and as high as the head of
// a rivet is: 0.3 to 0.6 d (DIN 660, DIN 661, from memory), less where it is
// pressed flat.
func (p *profile) isHead(from, to int, shank, d float64) bool {
	wide := 0.0
	for i := from; i < to; i++ {
		wide = max(wide, p.r[i])
	}
	h := float64(to-from) * p.dz
	return wide > 1.2*shank && h > 0.1*d && h < 0.9*d
}

// roundThrough reports a part that is round and solid over its whole length.
func (m *flat) roundThrough() bool {
	const cuts = 9
	for i := range cuts {
		s := m.cut(m.z0 + (float64(i)+0.5)/cuts*(m.z1-m.z0))
		if c := s.outer(); c.Open > 0 || c.Min < 0.97*c.Max || s.hollow() {
			return false
		}
	}
	return true
}

// hollowRivet reads the body of a blind rivet whose mandrel is a part of its own
// or not drawn. A bush with a flange looks the same, so it has to close a stack
// of parts; its bore is wider than the mandrel of a rivet, 0.61 to 0.65 d.
func (m *flat) hollowRivet(f geom.Frame, _ *feature.Part) (specimen, bool) {
	for range 2 {
		if s, ok := m.hollowRivetUp(f); ok {
			return s, true
		}
		m, f = m.turned(), upsideDown(f)
	}
	return specimen{}, false
}

// hollowRivetUp reads it with its head up.
func (m *flat) hollowRivetUp(f geom.Frame) (specimen, bool) {
	g, ok := m.flange()
	if !ok {
		return specimen{}, false
	}
	d := nominalRivet(2*g.below, blindRivets)
	l, high := g.seat-m.z0, m.z1-g.seat
	if d == 0 || g.r < 0.9*d || g.r > 1.65*d || high > 0.6*d || l < 0.8*d || float64(g.belowSteps) < 0.85*float64(g.from) {
		return specimen{}, false
	}
	bore := 2 * m.cut(g.seat-0.5*l).inner(math.Inf(1)).Max
	if bore < 0.55*d || bore > 0.7*d {
		return specimen{}, false
	}
	s := specimen{}
	s.place(f, m, m.z1)
	s.rivet(2*g.below, d, 0.65)
	s.needs, s.Head, s.Bore = needStack, "blind", bore
	s.seat, s.foot = g.seat-m.z1, s.Back
	s.HeadD, s.HeadH, s.Length = 2*g.r, high, nominalLength(l)
	s.Evidence = append(s.Evidence, fmt.Sprintf("a tube Ø%s with a bore Ø%s for a mandrel and a head Ø%s", trim(2*g.below), trim(bore), trim(2*g.r)))
	return s, true
}

// rivetPlay is the most play, mm on diameter, that rivets have in their holes: 0.1
// mm for blind ones (ISO 15977, from memory), 0.2 mm for solid ones (common
// practice).
const rivetPlay = 0.22

// settleStacks looks for the parts that a set or hollow rivet closes: two or
// more that lie on each other, with holes of its diameter, from its head to its
// other head, or out of the last one.
func (c *court) settleStacks() {
	for i := range c.cases {
		k := &c.cases[i]
		if k.needs != needStack {
			continue
		}
		in, foot := c.filled(k, k.foot, k.seat, rivetPlay).stacked(k.seat)
		twoHeads := k.foot > k.Back+stackGap
		if in < 2 || twoHeads && foot > k.foot+stackGap {
			continue
		}
		k.needs = none
		k.say("it fills holes of its own diameter through %d parts that lie on each other", in)
	}
}
