package fastener

import (
	"fmt"
	"math"

	"stepscan/geom"
)

// splitClip reads a snap rivet, tip down: a thin round head on a shank that is
// slit from its tip into legs, which have a barb at their ends. They give way
// when it is pushed in and spread behind the sheet. A plug that makes contact has
// no barb, a collet no thin head, a lamp's holder is bored.
func (m *flat) splitClip(f geom.Frame) (specimen, bool) {
	g, ok := m.flange()
	if !ok || g.top-g.seat > 0.45*g.r || m.z1-g.top > 0.3*g.r {
		return specimen{}, false
	}
	if floor, hit := m.floor(); !hit || m.z1-floor > 0.25*g.r+g.top-g.seat {
		return specimen{}, false // bored
	}
	ribs := m.outline().ribs(g.from)
	l := g.seat - m.z0
	if len(ribs) != 1 || g.r < 1.3*ribs[0].r || g.r > 4*ribs[0].r || l < 1.2*g.below || l > 8*g.below {
		return specimen{}, false
	}
	b := ribs[0]
	barb := b.r > 1.06*g.below && b.r < 1.6*g.below && near(b.valley, g.below, 0.05, 0) && b.front > 1.5*b.back
	legs := m.legs(l)
	if !barb || legs == 0 || m.cut(g.seat+0.5*(g.top-g.seat)).outer().Min < 0.9*g.r {
		return specimen{}, false
	}
	s := specimen{shank: 2 * g.below}
	s.Kind, s.Drive, s.Confidence = Clip, NoDrive, 0.75
	s.Nominal, s.Length = 2*g.below, nominalLength(l)
	s.Size = trim(math.Round(2*g.below*10)/10) + " mm"
	s.place(f, m, m.z1)
	s.seat, s.HeadD, s.HeadH = g.seat-m.z1, 2*g.r, m.z1-g.seat
	s.Evidence = append(s.Evidence, fmt.Sprintf("a thin head Ø%s on a shank Ø%s that is slit into %d legs with barbs Ø%s", trim(2*g.r), trim(2*g.below), legs, trim(2*b.r)))
	return s, true
}

// legs counts the even legs that a shank l mm long is slit into over the half of
// it that is next to the tip and more; 0 where it is not.
func (m *flat) legs(l float64) int {
	n := 0
	for _, t := range []float64{0.1, 0.2, 0.3, 0.4, 0.5} {
		c := m.cut(m.z0 + t*l)
		k := c.pieces()
		if k < 2 || k > 6 || n > 0 && k != n || !c.hollow() {
			return 0
		}
		n = k
	}
	return n
}

// pieces counts the alike stretches of the turn in which a section has walls; 0
// where it is closed or they are not alike.
func (s *section) pieces() int {
	closed := func(k int) bool { return s.Out[(k+polarN)%polarN] > 0 }
	var wide []int
	for k := range polarN {
		if !closed(k) || closed(k-1) {
			continue
		}
		n := 0
		for n < polarN && closed(k+n) {
			n++
		}
		wide = append(wide, n)
	}
	for _, w := range wide {
		if !near(float64(w), float64(wide[0]), 0.1, 4) {
			return 0
		}
	}
	return len(wide)
}
