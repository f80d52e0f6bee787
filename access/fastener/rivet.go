package fastener

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/geom"
)

// Diameters of rivets, mm, from memory: solid ones of DIN 660 and DIN 661,
// blind ones of ISO 15977, ISO 15983 and DIN 7337.
var (
	solidRivets = []float64{1, 1.2, 1.6, 2, 2.5, 3, 4, 5, 6, 8}
	blindRivets = []float64{2.4, 3, 3.2, 4, 4.8, 5, 6, 6.4, 7.8}
)

// Proportions of solid rivets over the diameter (DIN 660 and DIN 661, from
// memory; the tables round to 0.1 mm). No screw has them: button heads are
// 1.9 d wide and 0.55 d high (ISO 7380), pan heads 2 d and 0.8 d (ISO 7045),
// countersunk heads have 90 degrees and 1.8 d or more (ISO 7046, ISO 10642).
const (
	rivetHead   = 1.75
	rivetDome   = 0.6
	rivetHeadOf = 0.04  // of it
	rivetDomeOf = 0.06  // of it
	rivetSlope  = 0.767 // tan 37.5°: the cone of 75° of DIN 661
	slopeOff    = 0.07  // 70 to 80 degrees
)

// nominalRivet is the diameter of the list that d is drawn for, 0 without.
func nominalRivet(d float64, list []float64) float64 {
	for _, n := range list {
		if near(d, n, 0.025, 0) {
			return n
		}
	}
	return 0
}

// solidRivet makes a smooth headed shank a rivet where it has a rivet's
// proportions and a tip that is cut off square: a screw's is chamfered, and so
// is a pin's.
func (s *specimen) solidRivet(m *flat, o silhouette) {
	d := nominalRivet(s.shank, solidRivets)
	p := m.outline()
	if d == 0 || p.r[0] < 0.98*o.shankR {
		return
	}
	wide := near(s.HeadD, rivetHead*d, rivetHeadOf, 0)
	seen, head := "", "round"
	switch {
	case wide && o.sunk && near(m.coneSlope(o), rivetSlope, 0, slopeOff) && s.Head == "countersunk":
		seen, head = "countersunk head of 75° as in DIN 661", s.Head
	case m.flatRivet(s, o, d):
		seen, head = "flat head with a fillet below it", "flat"
	case wide && !o.sunk && near(s.HeadH, rivetDome*d, rivetDomeOf, 0) && m.dome(o):
		seen = "round head as in DIN 660"
	default:
		return
	}
	confidence := 0.75
	if s.fits { // a screw's head has the same diameter
		confidence, s.fits = 0.65, false
	}
	s.Evidence = slices.DeleteFunc(s.Evidence, func(e string) bool { return strings.HasPrefix(e, "head Ø") || strings.HasPrefix(e, "shank Ø") })
	s.rivet(s.shank, d, confidence)
	s.Head = head
	s.Evidence = append(s.Evidence, fmt.Sprintf("%s, %s d wide; a smooth shank cut off square, no drive", seen, trim(s.HeadD/s.shank)))
}

// coneSlope is how fast the radius of a countersunk head grows along the axis,
// measured well inside its cone.
func (m *flat) coneSlope(o silhouette) float64 {
	p := m.outline()
	at := func(share float64) float64 {
		i, r := p.at(o.seat), o.shankR+share*(o.headR-o.shankR)
		for i < profileN-1 && p.r[i] < r {
			i++
		}
		return float64(i) * p.dz
	}
	const lo, hi = 0.2, 0.9
	rise := at(hi) - at(lo)
	if !(rise > 0) {
		return 0
	}
	return (hi - lo) * (o.headR - o.shankR) / rise
}

// dome reports a head that is one spherical cap from its rim to its crown.
func (m *flat) dome(o silhouette) bool {
	p := m.outline()
	h := m.z1 - o.seat
	r := (o.headR*o.headR + h*h) / (2 * h) // of the sphere through rim and crown
	from, on := p.at(o.seat)+1, 0
	for i := from; i < profileN; i++ {
		// The step holds its greatest radius, which is at its lower end.
		z := r - (m.z1 - p.height(i)) // above the sphere's centre
		if near(p.r[i], math.Sqrt(max(0, r*r-z*z)), 0.03, 0.03*o.headR) {
			on++
		}
	}
	return float64(on) > 0.9*float64(profileN-from)
}

// rivet settles kind and size.
func (s *specimen) rivet(shank, nominal, confidence float64) {
	s.Kind, s.Drive, s.DriveSize, s.needs, s.Confidence = Rivet, NoDrive, "", none, confidence
	s.Nominal, s.Size, s.Designation, s.shank = nominal, trim(nominal)+" mm", "", shank
	s.Evidence = slices.DeleteFunc(s.Evidence, func(e string) bool { return e == noDriveModelled })
}

// flange is the widest part of an outline, and what stands on either side of it.
type flange struct {
	r          float64 // mm
	from, to   int     // steps that belong to it
	seat, top  float64 // heights, mm
	below      float64 // radius of the shank under it
	belowSteps int     // steps of it that keep that radius
}

// flange finds the part's one wide place and the even shank under it.
func (m *flat) flange() (g flange, ok bool) {
	p := m.outline()
	if g.r = p.max(); g.r == 0 || !(p.dz > 0) {
		return g, false
	}
	for g.from < profileN && p.r[g.from] < 0.8*g.r {
		g.from++
	}
	g.to = g.from
	for g.to < profileN && p.r[g.to] >= 0.8*g.r {
		g.to++
	}
	for i := g.to; i < profileN; i++ {
		if p.r[i] > 0.8*g.r {
			return g, false
		}
	}
	for g.from > 0 && p.r[g.from-1] < p.r[g.from] && p.r[g.from-1] > p.r[max(g.from-2, 0)]+1e-3*g.r {
		g.from-- // down the cone of a countersunk head
	}
	var n int
	g.below, n = p.mode(g.from, 0.8*g.r)
	g.seat, g.top = p.height(g.from), p.height(g.to)
	for i := range g.from {
		if near(p.r[i], g.below, 0.015, 0.005) {
			g.belowSteps++
		}
	}
	return g, n > 0
}

// blindRivet reads a blind rivet with its head up, as it comes with the mandrel
// in it, or set: the mandrel is broken off in the bore and the tail is bulged.
func (m *flat) blindRivet(f geom.Frame) (specimen, bool) {
	g, ok := m.flange()
	if !ok {
		return specimen{}, false
	}
	d := nominalRivet(2*g.below, blindRivets)
	p := m.outline()
	high := g.top - g.seat
	// Heads are 1.95 to 2.1 d wide, large ones to 3.2 d, and 0.2 to 0.45 d high
	// (ISO 15977, DIN 7337, from memory).
	if d == 0 || g.r < 0.9*d || g.r > 1.65*d || high > 0.6*d {
		return specimen{}, false
	}
	s := specimen{}
	s.Head = "blind"
	end, top, confidence := p.height(0), m.z1, 0.8
	if foot, dm, ok := m.mandrel(p, g, d); ok {
		end, top = foot, g.top
		s.Evidence = append(s.Evidence, fmt.Sprintf("a mandrel Ø%s, broader at its end, goes through a body Ø%s with a head Ø%s", trim(dm), trim(2*g.below), trim(2*g.r)))
	} else if wide, dm, ok := m.upset(p, g, d); ok {
		confidence = 0.7 // a snap-in foot with a dimple comes near it
		s.Evidence = append(s.Evidence, fmt.Sprintf("a body Ø%s with a head Ø%s, bulged to Ø%s at its tail; a hole Ø%s in the head where the mandrel broke", trim(2*g.below), trim(2*g.r), trim(2*wide), trim(dm)))
	} else {
		return specimen{}, false
	}
	s.rivet(2*g.below, d, confidence)
	s.place(f, m, top)
	s.seat, s.HeadD, s.HeadH = g.seat-top, 2*g.r, top-g.seat
	s.Length = nominalLength(g.seat - end)
	return s, true
}

// mandrel finds the rod that sticks out of the head for the tool, and its head
// that the body ends at: foot is the body's end, dm the rod's diameter. ISO
// 15977 has 0.61 to 0.65 d, some makes less.
func (m *flat) mandrel(p *profile, g flange, d float64) (foot, dm float64, ok bool) {
	if g.to == profileN {
		return 0, 0, false
	}
	r, even := p.r[(g.to+profileN)/2], 0
	for i := g.to; i < profileN; i++ {
		if near(p.r[i], r, 0.02, 0) {
			even++
		}
	}
	if r < 0.25*d || r > 0.36*d || float64(even)*p.dz < 3*d || 10*even < 7*(profileN-g.to) {
		return 0, 0, false
	}
	head := 0 // steps below the body that are a little thinner than it
	for head < g.from && p.r[head] < 0.99*g.below {
		head++
	}
	l := float64(head) * p.dz
	return p.height(head), 2 * r, l > 0.2*d && l < 2*d && p.r[head/2] > 1.15*r && float64(g.belowSteps) > 0.9*float64(g.from-head)
}

// upset finds the bulge at the tail of a set rivet, and the hole that the
// mandrel leaves in its head.
func (m *flat) upset(p *profile, g flange, d float64) (wide, dm float64, ok bool) {
	at := 0
	for i := range g.from {
		if p.r[i] > wide {
			wide, at = p.r[i], i
		}
	}
	bulged := wide > 1.15*g.below && wide < 1.9*g.below && float64(at) < 0.6*float64(g.from) && p.r[0] < 0.95*wide
	run := 0 // even shank from the head down: what is clamped
	for run < g.from && near(p.r[g.from-1-run], g.below, 0.02, 0.01) {
		run++
	}
	if !bulged || float64(run)*p.dz < 0.3*d {
		return 0, 0, false
	}
	high := m.z1 - g.seat
	if floor, hit := m.floor(); !hit || high > 0.6*d || m.z1-floor < 0.05*d || m.z1-floor > high+d {
		return 0, 0, false
	}
	c := m.cut(m.z1 - 0.04*d).inner(math.Inf(1))
	dm = 2 * c.Max
	return wide, dm, c.Open == 0 && c.Max < 1.05*c.Min && dm > 0.5*d && dm < 0.72*d
}
