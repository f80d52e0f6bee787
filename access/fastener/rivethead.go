package fastener

import (
	"fmt"
	"math"

	"stepscan/geom"
)

// Flat heads of rivets over the diameter: 2 wide and 0.33 high (flat), 2.25 and
// 0.3 (tinners', ASME B18.1.1, from memory); makes differ by a tenth.
const (
	flatRivetMin, flatRivetMax  = 1.9, 2.35
	flatRivetLow, flatRivetHigh = 0.2, 0.38
)

// flatRivet reports the flat head of a rivet for the diameter d: upset from the
// wire, so that a fillet leads from the shank to it and its rim is bevelled or
// rounded. A stepped pin is turned, with sharp corners or a groove there.
func (m *flat) flatRivet(s *specimen, o silhouette, d float64) bool {
	wide, high := s.HeadD/d, s.HeadH/d
	if o.sunk || wide < flatRivetMin || wide > flatRivetMax || high < flatRivetLow || high > flatRivetHigh || s.Head == "" {
		return false
	}
	p := m.outline()
	rim := p.r[profileN-1] < 0.97*o.headR && p.r[profileN-1] > 0.6*o.headR
	return rim && m.fillet(o)
}

// fillet reports a shank that widens towards its head over a few hundredths of
// its diameter, as cold heading leaves it.
func (m *flat) fillet(o silhouette) bool {
	p := m.outline()
	r := o.shankR
	seat := p.at(o.seat - p.dz) // the last step that is shank alone
	away := p.at(o.seat - 0.3*r)
	if seat <= away+2 || !near(p.r[away], r, 0.01, 0.005) {
		return false
	}
	for i := away; i < seat; i++ {
		if p.r[i+1] < p.r[i]-1e-3*r {
			return false // a groove
		}
	}
	return p.r[seat] > 1.03*r && p.r[seat] < 1.35*r
}

// tubularRivet reads a solid oval head on a smooth shank that is bored out from
// its square end: a semi-tubular rivet, whose rim is rolled over. Bores are 0.6 to
// 0.75 d and about as deep as the rivet is thick, or deeper (ASME B18.7, from
// memory). Contacts and bushes have no domed head, plugs a thin wall all through.
func (m *flat) tubularRivet(f geom.Frame) (specimen, bool) {
	o, ok := m.silhouette()
	if !ok || o.sunk {
		return specimen{}, false
	}
	d := nominalRivet(2*o.shankR, solidRivets)
	high, l := m.z1-o.seat, o.seat-m.z0
	if d == 0 || o.headR < 0.8*d || o.headR > 1.15*d || high < 0.2*d || high > 0.5*d || l < 0.8*d || l > 8*d {
		return specimen{}, false
	}
	if m.outline().r[0] < 0.98*o.shankR || m.headShape(o).name != "button" || m.hollowTop() || !m.smooth(o) {
		return specimen{}, false
	}
	bore, deep, ok := m.boredTip()
	if !ok || bore < 0.55*d || bore > 0.8*d || deep < 0.5*d || deep > 0.9*l {
		return specimen{}, false
	}
	s := specimen{}
	s.place(f, m, m.z1)
	s.rivet(2*o.shankR, d, 0.7)
	s.Head, s.seat, s.HeadD, s.HeadH, s.Length = "round", o.seat-m.z1, 2*o.headR, high, nominalLength(l)
	s.Evidence = append(s.Evidence, fmt.Sprintf("an oval head Ø%s on a smooth shank Ø%s, its square end bored Ø%s for %s mm: to be rolled over", trim(2*o.headR), trim(2*o.shankR), trim(bore), trim(deep)))
	return s, true
}

// boredTip measures a round blind bore in the lower end.
func (m *flat) boredTip() (d, deep float64, ok bool) {
	floor, hit := m.turned().floor()
	if !hit {
		return 0, 0, false
	}
	deep = -floor - m.z0
	c := m.cut(m.z0 + 0.3*deep).inner(math.Inf(1))
	return 2 * c.Max, deep, deep > 0 && c.Open == 0 && c.Max < 1.05*c.Min
}
