package fastener

import (
	"fmt"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// threadBore picks the stretch of the hole that the thread of a hexagon nut is
// in: of those that go with its flats and height the longest, else the longest
// that a thread has. A narrower one beside it is the ring of a lock nut, wider
// ones are mouths and the seat of that ring.
func (m *flat) threadBore(b band, f geom.Frame, feat *feature.Part) band {
	all, best := m.bores(f, feat), 0.0
	if b.hole = (bore{d: b.bore}); len(all) < 2 && (len(all) == 0 || !all[0].turns) {
		return b
	}
	for _, c := range all {
		score := c.length()
		if len(nutThreads(c)) == 0 {
			continue
		}
		if _, fits := nutRow(c, b.hexS, m.z1-m.z0, b.hexHead()); fits {
			score += m.z1 - m.z0
		}
		if score > best {
			b.hole, b.bore, best = c, c.d, score
		}
	}
	for _, c := range all {
		if c.d < 0.97*b.bore && c.d > 0.8*b.bore {
			b.ring = c.d
		}
	}
	return b
}

// nutThreads lists what the bore of a nut may be the thread of, best first: as
// any bore's, then those for which it lies where tapping drills do, which for
// inch ones are not tabulated, and those at whose pitch diameter it is drawn,
// which is seldom done.
func nutThreads(b bore) []table.Thread {
	const exact = 0.008 // of the pitch diameter
	out := b.threads()
	if b.pitch > 0 {
		return out
	}
	for _, may := range []func(table.Thread) bool{
		func(t table.Thread) bool { return t.IsTapped(b.d) },
		func(t table.Thread) bool { return t.Metric() && near(b.d, t.D2, exact, 0) },
	} {
		for _, t := range table.Threads() {
			if may(t) && !slices.ContainsFunc(out, func(o table.Thread) bool { return o.Size == t.Size }) {
				out = append(out, t)
			}
		}
	}
	return out
}

// mayHave reports whether a nut of the table's head may look like head, "" for
// a plain hexagon.
func mayHave(standard, head string) bool {
	switch standard {
	case "", "thin", "coupling":
		return head == ""
	case "lock":
		return head == "" || head == "lock"
	}
	return head == standard
}

// hexHead is the head of a hexagonal ring with round cuts at one end: a flange
// where they are wider than the hexagon, a collar that locks where they are
// not. Chamfers take less.
func (b *band) hexHead() string {
	if b.castle >= 2 && b.castle < b.hex+b.round {
		return "castle"
	}
	const least = 2 // of the cuts
	if 2*b.outerMax > 1.25*b.hexS {
		return "flange"
	}
	if n := len(b.roundAt); n >= least && 2*b.roundR <= 1.02*b.hexS {
		if first, last := b.roundAt[0], b.roundAt[n-1]; last-first == n-1 && (first == 0 || last == b.cuts-1) {
			return "lock"
		}
	}
	return ""
}

// squareRow takes what a row says. A hole drawn at the major diameter may as
// well be any plate's: it has to be chamfered.
func (s *specimen) squareRow(m *flat, n table.Nut, b bore) {
	t, _ := table.ThreadOf(n.Size)
	s.Size, s.Nominal, s.fits, s.DriveSize = n.Size, n.D, true, sizeText(n.S)
	s.Designation = n.Standard + " " + n.Size
	s.Evidence = append(s.Evidence, fmt.Sprintf("width %s, height %s: %s %s", trim(n.S), trim(n.MMax), n.Standard, n.Size))
	if b.atMinor(t) || m.openMouths(b.d, t) == 2 || m.threadMouth(t) {
		s.needs, s.Confidence = none, 0.85
	}
}

// threadMouth reports one end of the bore chamfered just so far as nuts are: to
// 1 to 1.1 d (ISO 4032: da from d to 1.08 d, 1.15 d for the smallest).
func (m *flat) threadMouth(t table.Thread) bool {
	const widest = 1.1
	for _, z := range []float64{m.z0 + 0.002*t.D, m.z1 - 0.002*t.D} {
		if w := 2 * m.cut(z).inner(math.Inf(1)).Max; w >= 1.02*t.D && w <= widest*t.D {
			return true
		}
	}
	return false
}

// capNut reads a hexagon with a blind thread from below under a dome.
func (m *flat) capNut(f geom.Frame, feat *feature.Part) (specimen, bool) {
	if !m.domed() {
		return specimen{}, false
	}
	all := m.bores(f, feat)
	if len(all) == 0 {
		return specimen{}, false
	}
	const tallest = 2.7 // height over bore: DIN 1587 has 1.7 to 2.5
	b, h := all[0], m.z1-m.z0
	s, high, ok := m.hexFoot()
	if !ok || b.z0-m.z0 > 0.15*h || b.length() < 0.3*h || b.z1 > m.z1-0.05*h || h > tallest*b.d {
		return specimen{}, false
	}
	out := specimen{}
	out.Kind, out.Head, out.Drive, out.DriveSize, out.Bore = Nut, "cap", OuterHex, flats(s, outerFlats), b.d
	out.HeadD, out.HeadH, out.Length, out.Confidence = 2*m.r, high, math.Round(h*1000)/1000, 0.8
	out.place(f, m, m.z0+high) // the dome is no grip
	out.Evidence = append(out.Evidence, fmt.Sprintf("hexagon %s mm across flats, %s mm high, under a dome, with a blind bore Ø%s", trim(s), trim(high), trim(b.d)))
	if n, ok := nutRow(b, s, h, "cap"); ok {
		out.Size, out.Nominal, out.fits, out.DriveSize, out.Confidence = n.Size, n.D, true, sizeText(n.S), 0.95
		out.Designation = n.Standard + " " + n.Size
		out.Evidence = append(out.Evidence, fmt.Sprintf("flats %s, height %s: %s %s", trim(n.S), trim(n.MMax), n.Standard, n.Size))
		return out, true
	}
	out.threadBySpanner(b, s)
	return out, out.Size != ""
}

// domed reports an outline that narrows to the axis over its upper end, without
// a hole there.
func (m *flat) domed() bool {
	p := m.outline()
	if p.r[profileN-1] > 0.5*m.r {
		return false
	}
	if z, ok := m.floor(); !ok || m.z1-z > 0.03*(m.z1-m.z0) {
		return false
	}
	for i := profileN * 3 / 4; i < profileN; i++ {
		if p.r[i] > p.r[i-1]*1.001+1e-4 {
			return false
		}
	}
	return true
}

// hexFoot reads the lower end as a hexagon with something round and not wider
// above it: its width across flats and its height, mm.
func (m *flat) hexFoot() (s, high float64, ok bool) {
	const cuts = 16
	hex, round := 0, 0
	for i, c := range m.layers(cuts) {
		switch o := c.outer(); {
		case o.Open > 0:
			return 0, 0, false
		case o.Fold == 6 && near(o.Max/o.Min, 1.13, 0, 0.06):
			if round > 1 {
				return 0, 0, false // a hexagon above a round foot
			}
			hex, s, high = hex+1, max(s, 2*o.Min), (float64(i)+1)/cuts*(m.z1-m.z0)
		case o.Min > 0.97*o.Max:
			round++
		}
	}
	return s, high, hex >= 3 && round >= 3
}
