package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// A stand-off is a body of even width, hexagonal or round, that is threaded at
// both ends or has a stud at one. Common makes are 1.5 to 2.2 d across flats,
// up to 2.4 d in diameter, and longer than a nut or a head: what is shorter is
// read as one of those.
const (
	bodySlim, bodyWide = 1.4, 2.5 // across flats or diameter, over the thread's
	bodyShort          = 1.6      // length over the thread's diameter
	bodyLong           = 25.0     // the same
	hexCorner          = 1.1547   // over corners, over across flats
	footMost           = 0.35     // of the body's length: a pin or a neck to solder at its other end
	studMin, studMax   = 0.6, 6.0 // length of the stud over its diameter
	undercutMax        = 4        // length of a thread's undercut, in pitches (DIN 76-1: 3.5)
	evenCuts           = 9        // cuts along the body
	evenMin            = evenCuts - 2
)

// studded reads the part as a stand-off with its stud at the lower end. A round
// shaft with a journal looks much the same, so the thread has to show: in turns,
// by its undercut, or by a hole at the other end for the same thread.
func (m *flat) studded(f geom.Frame, feat *feature.Part) (specimen, bool) {
	o, ok := m.silhouette()
	if !ok || o.sunk {
		return specimen{}, false
	}
	o.shankR = exactShank(o.shankR, f, feat)
	d, stud, top := 2*o.shankR, o.seat-m.z0, m.bodyTop(o.headR)
	if stud < studMin*d || stud > studMax*d || m.z1-top > footMost*(top-o.seat) || !m.soundShank(o) {
		return specimen{}, false
	}
	for _, t := range table.Shank(d) {
		s := specimen{shank: d}
		if !s.body(m, o.seat, top, t) || s.Drive == NoDrive && m.recess(o.headR).drive != NoDrive {
			continue // turned by a recess: a screw with a tall head
		}
		if sign := m.threadSign(o, t); sign != "" {
			s.place(f, m, m.z1)
			s.seat, s.HeadD, s.HeadH = o.seat-m.z1, 2*o.headR, m.z1-o.seat
			s.Evidence = append(s.Evidence, fmt.Sprintf("a stud of %s, %s mm long: %s", t.Size, trim(stud), sign))
			return s, true
		}
	}
	return specimen{}, false
}

// body reads what is between two heights as the body of a stand-off for t.
func (s *specimen) body(m *flat, lo, hi float64, t table.Thread) bool {
	s.Kind, s.Drive, s.Size, s.Nominal, s.Length = StandOff, NoDrive, t.Size, t.D, math.Round((hi-lo)*100)/100
	if l := hi - lo; l < bodyShort*t.D || l > bodyLong*t.D {
		return false
	}
	hex, round, wide := 0, 0, 0.0
	for i := range evenCuts {
		c := m.cut(lo + (float64(i)+0.5)/evenCuts*(hi-lo)).outer()
		switch {
		case c.Open > 0:
			return false
		case c.Fold == 6 && near(c.Max/c.Min, 1.13, 0, 0.06):
			hex++
			s.across = 2 * c.Min
		case c.Min > 0.97*c.Max:
			round++
		}
		wide = max(wide, 2*c.Max)
	}
	switch {
	case hex >= evenMin && near(wide, hexCorner*s.across, 0.03, 0):
		s.Drive, s.DriveSize, wide = OuterHex, flats(s.across, outerFlats), s.across
		s.Evidence = append(s.Evidence, fmt.Sprintf("hexagonal body %s mm across flats, %s mm long", trim(s.across), trim(s.Length)))
	case round >= evenMin && m.straight(lo, hi, wide/2):
		s.Evidence = append(s.Evidence, fmt.Sprintf("round body Ø%s × %s mm", trim(2*m.r), trim(s.Length)))
	default:
		return false
	}
	s.Confidence = 0.75
	return wide >= bodySlim*t.D && wide <= bodyWide*t.D
}

// straight reports that the outline keeps radius r between two heights, but for
// chamfers.
func (m *flat) straight(lo, hi, r float64) bool {
	p := m.outline()
	from, to, even := p.at(lo)+1, p.at(hi), 0
	for i := from; i < to; i++ {
		if near(p.r[i], r, 0.01, 0) {
			even++
		}
	}
	return to > from && float64(even) >= 0.85*float64(to-from)
}

// bodyTop is the upper end of the bodyWide part: the shoulder there, or the end of
// the part, of which a chamfer may be missing in the outline.
func (m *flat) bodyTop(r float64) float64 {
	p := m.outline()
	i := profileN - 1
	for i > 0 && p.r[i] < 0.88*r {
		i--
	}
	top := p.height(i + 1)
	for _, l := range m.levels() {
		if l.up && math.Abs(l.z-top) <= 2*p.dz && l.rMax >= 0.8*r {
			return l.z
		}
	}
	if m.z1-top <= 0.2*r {
		return m.z1
	}
	return top
}

// threadSign says what shows that the stud below the seat is threaded, "" for
// nothing.
func (m *flat) threadSign(o silhouette, t table.Thread) string {
	if z, ok := m.floor(); ok && m.z1-z >= 0.8*t.D {
		if d := m.holeAt(m.z1 - 0.5*(m.z1-z)); isBore(d, t) {
			return fmt.Sprintf("a hole of Ø%s for the same thread at the other end", trim(d))
		}
	}
	if r := m.undercut(o, t); r > 0 {
		return fmt.Sprintf("an undercut of Ø%s between thread and body", trim(2*r))
	}
	if th := m.readThread(m.z0, o.seat, 2*o.shankR); th.pitch > 0 && near(th.pitch, t.Pitch, 0.06, 0) {
		return fmt.Sprintf("its turns are modelled, pitch %s", trim(th.pitch))
	}
	return ""
}

// undercut is the radius of the groove that ends a thread before a shoulder, 0
// without one: as deep as the thread or a little more, a few pitches long (DIN
// 76-1), on a stud whose tip is chamfered to the thread's depth. The relief of a
// ground journal is a few tenths of a millimetre deep.
func (m *flat) undercut(o silhouette, t table.Thread) float64 {
	p := m.outline()
	from, to := p.at(o.seat-undercutMax*t.Pitch), p.at(o.seat-2*p.dz)
	least := math.Inf(1)
	for i := max(from, 0); i <= to; i++ {
		least = min(least, p.r[i])
	}
	deep := 2*least <= t.D3+0.02 && 2*least >= t.D-2*t.Pitch
	pointed := 2*p.r[0] <= t.D3+0.3*(t.D-t.D3)
	if !deep || !pointed || 2*p.r[max(from-1, 0)] < 0.97*t.D {
		return 0
	}
	return least
}

// holeAt is the diameter of the round hole about the axis at a height, 0
// without one.
func (m *flat) holeAt(z float64) float64 {
	c := m.cut(z).inner(math.Inf(1))
	if c.Open > 0 || math.IsInf(c.Min, 0) || !(c.Min > 0) || c.Max > 1.3*c.Min {
		return 0
	}
	return 2 * c.Min
}

// isBore reports a hole that is drawn for thread t, in one of the usual ways.
func isBore(d float64, t table.Thread) bool {
	for _, b := range table.Bore(d) {
		if b.Size == t.Size {
			return true
		}
	}
	return false
}

// sleeve reads the part as a stand-off with a tapped hole at each end, or one
// right through. A round one has to show its thread: most are spacers.
func (m *flat) sleeve(f geom.Frame, feat *feature.Part) (specimen, bool) {
	l, in := m.z1-m.z0, 0.35*m.r // below the chamfers
	if l*hexCorner*bodyWide < 2*m.r*bodyShort {
		return specimen{}, false // a disc, whatever its thread
	}
	lower, upper := m.holeAt(m.z0+in), m.holeAt(m.z1-in)
	all := m.bores(f, feat)
	turns := len(all) == 1 && all[0].turns
	switch {
	case turns:
		lower = all[0].d
	case lower == 0 || upper == 0 || !near(lower, upper, 0.01, 0):
		return specimen{}, false
	default:
		lower = exactBore(lower, f, feat)
	}
	hole := bore{d: lower}
	if turns {
		hole = all[0]
	}
	for _, t := range hole.threads() {
		s := specimen{}
		if t.D1 == 0 { // a tapping screw's: no hole is cut with it
			continue
		}
		if 2*m.r > hexCorner*bodyWide*t.D || 2*m.r < bodySlim*t.D || !s.body(m, m.z0, m.z1, t) {
			continue
		}
		if _, shows := m.tapped(lower); s.Drive == NoDrive && !shows && !turns {
			return specimen{}, false
		}
		s.Symmetric, s.Bore = true, lower
		s.place(f, m, m.z1)
		s.Evidence = append(s.Evidence, fmt.Sprintf("holes Ø%s at both ends: %s", trim(lower), t.Size))
		return s, true
	}
	return specimen{}, false
}
