package fastener

import (
	"fmt"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// A handHead is one size of a screw with a head that is no tool's: knurled, with
// wings, or with an eye.
type handHead struct {
	standard, size string
	dk, k          float64 // mm: greatest width (of an eye its outer diameter) and height
	bore           float64 // mm, of an eye
}

// From memory: dk and k of DIN 464 and DIN 653, span and height of DIN 316,
// outer diameter and bore of DIN 444 and DIN 580. The head of DIN 465 is that of
// DIN 464 with a slot.
var (
	knurledHeads = []handHead{
		{"DIN 464", "M3", 12, 7.5, 0}, {"DIN 464", "M4", 16, 9.5, 0}, {"DIN 464", "M5", 20, 11.5, 0},
		{"DIN 464", "M6", 24, 15, 0}, {"DIN 464", "M8", 30, 18, 0}, {"DIN 464", "M10", 36, 23, 0},
		{"DIN 653", "M3", 12, 2.5, 0}, {"DIN 653", "M4", 16, 3.5, 0}, {"DIN 653", "M5", 20, 4, 0},
		{"DIN 653", "M6", 24, 5, 0}, {"DIN 653", "M8", 30, 6, 0}, {"DIN 653", "M10", 36, 8, 0},
	}
	wingHeads = []handHead{
		{"DIN 316", "M4", 20, 10.5, 0}, {"DIN 316", "M5", 26, 13, 0}, {"DIN 316", "M6", 33, 17, 0},
		{"DIN 316", "M8", 39, 20, 0}, {"DIN 316", "M10", 51, 25, 0}, {"DIN 316", "M12", 65, 33.5, 0},
	}
	eyeHeads = []handHead{
		{"DIN 444", "M5", 12, 0, 5}, {"DIN 444", "M6", 14, 0, 6}, {"DIN 444", "M8", 18, 0, 8}, {"DIN 444", "M10", 20, 0, 10},
		{"DIN 444", "M12", 25, 0, 12}, {"DIN 444", "M16", 32, 0, 16}, {"DIN 444", "M20", 40, 0, 18},
		{"DIN 580", "M8", 36, 0, 20}, {"DIN 580", "M10", 45, 0, 25}, {"DIN 580", "M12", 54, 0, 30}, {"DIN 580", "M16", 63, 0, 35},
	}
)

// byHand reads the part as a screw that fingers turn, or that something hangs on,
// with its head at the upper end. Knobs and pinions on a spindle, levers and
// pull rods look much the same: where no table has head and shank together, a
// thread has to show or stand about it.
func (m *flat) byHand(f geom.Frame, feat *feature.Part) (specimen, bool) {
	o, ok := m.rod(f, feat)
	if !ok {
		return specimen{}, false
	}
	s := specimen{shank: 2 * o.shankR}
	s.Kind, s.Drive, s.HeadD, s.HeadH = Screw, NoDrive, 2*o.headR, m.z1-o.seat
	s.place(f, m, m.z1)
	s.seat = o.seat - m.z1
	s.Length = nominalLength(o.seat - m.z0)
	switch {
	case m.knurled(&s, o):
		return s, s.nameByHand(m, o, knurledHeads, handHead{dk: s.HeadD, k: s.HeadH})
	case m.winged(&s, o):
		return s, s.nameByHand(m, o, wingHeads, handHead{dk: s.HeadD, k: s.HeadH})
	}
	if e, ok := m.eyed(&s, o); ok {
		ok := s.nameByHand(m, o, eyeHeads, e)
		s.eyeOfWire(f, feat, e)
		return s, ok
	}
	return specimen{}, false
}

// rod finds a shank at the lower end of a part whose head may have any shape:
// round, solid, of a thread's diameter, with a tip that starts in its hole.
func (m *flat) rod(f geom.Frame, feat *feature.Part) (o silhouette, ok bool) {
	const (
		wide  = 0.6 // of the greatest radius: more is head
		plain = 1.4 // of a thread drawn at d3 (0.73 d or more): more is a collar
	)
	p := m.outline()
	o.headR = p.max()
	if !(p.dz > 0) || !(o.headR > 0) {
		return o, false
	}
	common, n := p.mode(profileN, wide*o.headR)
	if n == 0 {
		return o, false
	}
	limit := min(wide*o.headR, plain*common)
	o.shankR = p.longest(profileN, common, limit)
	foot := 0
	for foot < profileN-1 && p.r[foot] <= 1.06*o.shankR+0.02 {
		foot++
	}
	o.seat = p.height(foot)
	for _, l := range m.levels() {
		if !l.up && math.Abs(l.z-o.seat) <= 2*p.dz && l.rMax > 1.1*o.shankR {
			o.seat = l.z
		}
	}
	o.shankR = exactShank(o.shankR, f, feat)
	d, l := 2*o.shankR, o.seat-m.z0
	started := p.r[0] < 0.97*o.shankR
	return o, started && l >= d && l <= 25*d && m.soundShank(o) && len(table.Shank(d)) > 0
}

// nameByHand settles size and standard from the heads of a kind that fit, as
// measured, or leaves them to the shank and the thread.
func (s *specimen) nameByHand(m *flat, o silhouette, heads []handHead, own handHead) bool {
	const near1, near2 = 0.04, 0.06 // of width and bore; of height, which chamfers and crowns shorten
	threads := table.Shank(s.shank)
	if len(threads) == 0 {
		return false
	}
	s.Size, s.Nominal = threads[0].Size, threads[0].D
	for _, h := range heads {
		k := slices.IndexFunc(threads, func(t table.Thread) bool { return t.Size == h.size })
		if k < 0 || !near(own.dk, h.dk, near1, 0) || h.k > 0 && !near(own.k, h.k, near2, 0) || h.bore > 0 && !near(own.bore, h.bore, near1, 0) {
			continue
		}
		standard := h.standard
		if standard == "DIN 464" && s.Drive == Slot {
			standard = "DIN 465"
		}
		s.Size, s.Nominal, s.Confidence, s.fits = h.size, threads[k].D, 0.85, true
		s.Designation = fmt.Sprintf("%s %s×%s", standard, s.Size, trim(s.Length))
		s.Evidence = append(s.Evidence, fmt.Sprintf("head %s wide (standard %s), shank Ø%s: %s %s", trim(own.dk), trim(h.dk), trim(s.shank), standard, s.Size))
		return true
	}
	s.Confidence = 0.7
	if sign := m.threadSign(o, threads[0]); sign != "" {
		s.Evidence = append(s.Evidence, fmt.Sprintf("a shank Ø%s with a thread: %s", trim(s.shank), sign))
		return true
	}
	s.needs = needThread
	return true
}

// knurled reads a head with even notches along the axis all round it.
func (m *flat) knurled(s *specimen, o silhouette) bool {
	d := s.shank
	if s.HeadD < 2*d || s.HeadD > 6*d || s.HeadH < 0.4*d || s.HeadH > 4*d {
		return false
	}
	p := m.outline()
	lo, hi := m.z1, m.z0
	for i := p.at(o.seat); i < profileN; i++ {
		if p.r[i] > 0.98*o.headR {
			lo, hi = min(lo, p.height(i)), max(hi, p.height(i+1))
		}
	}
	teeth, seen := 0, 0
	for _, t := range []float64{0.25, 0.5, 0.75} {
		if n := m.cut(lo + t*(hi-lo)).evenNotches(); n > 0 {
			teeth, seen = n, seen+1
		}
	}
	if seen < 2 {
		return false
	}
	s.Head = "knurled"
	s.Evidence = append(s.Evidence, fmt.Sprintf("a head Ø%s with %d notches round it, to be turned by hand, on a shank Ø%s", trim(s.HeadD), teeth, trim(d)))
	if r := m.recess(o.headR); r.drive == Slot && !r.blunt(o.headR) {
		s.Drive, s.RecessDepth, s.across = Slot, r.depth, r.a
		s.DriveSize = r.size(d)
		s.Evidence = append(s.Evidence, recessText(r, s.DriveSize))
	}
	return true
}

// evenNotches counts even notches round the outside, 0 where there are none. Teeth of
// a gear are deeper (2.25 of the module, 0.72 of the pitch) than a knurl's at 90
// degrees (half the pitch, DIN 82), and facets of a circle are flatter.
func (s *section) evenNotches() int {
	const (
		few, many = 8, 120
		deepest   = 0.13 // of the radius
		overPitch = 0.55
		overFacet = 1.5
		uneven    = 1.7 // of the shortest pitch
	)
	c := s.outer()
	if c.Open > 0 || !(c.Min > 0) || c.Max-c.Min > deepest*c.Max {
		return 0
	}
	falls := dips(s.Out[:], (c.Min+c.Max)/2)
	n := len(falls)
	if n < few || n > many {
		return 0
	}
	short, long := polarN, 0
	for i, k := range falls {
		step := (falls[(i+1)%n] - k + polarN) % polarN
		short, long = min(short, step), max(long, step)
	}
	depth, pitch := c.Max-c.Min, 2*math.Pi*c.Max/float64(n)
	facet := c.Max * (1 - math.Cos(math.Pi/float64(n)))
	if float64(long) > uneven*float64(short)+2 || depth > overPitch*pitch || depth < overFacet*facet {
		return 0
	}
	return n
}

// winged reads a hub with two wings that rise beyond it to both sides.
func (m *flat) winged(s *specimen, o silhouette) bool {
	d := s.shank
	if s.HeadD < 3*d || s.HeadD > 8*d || s.HeadH < d || s.HeadH > 5*d {
		return false
	}
	if c := m.cut(o.seat + 0.08*s.HeadH).outer(); c.Open > 0 || c.Min < 1.15*o.shankR {
		return false
	}
	for _, t := range []float64{0.72, 0.8} { // the outer corners are rounded in many ways
		if c := m.cut(o.seat + t*s.HeadH); !c.blades(0.9 * d) {
			return false
		}
	}
	s.Head = "wing"
	s.Evidence = append(s.Evidence, fmt.Sprintf("a hub with two wings, %s mm over them, on a shank Ø%s", trim(s.HeadD), trim(d)))
	return true
}

// blades reports a cut through two walls opposite each other, alike and no
// thicker than thick mm, with nothing between them.
func (s *section) blades(thick float64) bool {
	l := s.line(func(k int) bool { return s.Out[k] > 0 })
	if l.n == 0 || l.n > polarN/2 || l.coherence < 0.8 || l.lean > 0.1 || !s.hollow() {
		return false
	}
	side := [2]float64{}
	for k, r := range s.Out {
		if r == 0 {
			continue
		}
		w := &rays[k]
		along, across := w.cos*l.cos+w.sin*l.sin, w.sin*l.cos-w.cos*l.sin
		if 2*math.Abs(r*across) > 1.02*thick {
			return false
		}
		if along > 0 {
			side[0] = max(side[0], r)
		} else {
			side[1] = max(side[1], r)
		}
	}
	return near(side[0], side[1], 0.05, 0)
}
