package fastener

import (
	"fmt"
	"math"
	"strings"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// band is what several cuts through a ring say together.
type band struct {
	bore          float64 // mm, narrowest
	hole          bore    // the stretch of it that the thread is in
	ring          float64 // mm, bore of a collar that is narrower than the thread, 0 without
	hex, quad     int     // cuts with six or four flats
	castle        int     // cuts through six posts with slots between them
	round         int
	hexS          float64 // mm across flats
	wide, narrow  float64 // mm, sides of the rectangle
	cuts          int
	outerMax      float64 // radius
	roundAt       []int   // the round cuts
	roundR        float64 // greatest radius of theirs
	boreIsCircle  bool
	splitOrBroken bool
}

// ring reads a part with a bore: nut or washer.
func (m *flat) ring(f geom.Frame, feat *feature.Part) (specimen, bool) {
	b := m.band()
	b.bore = exactBore(b.bore, f, feat)
	h := m.z1 - m.z0
	if b.bore <= 0 || math.IsInf(b.bore, 1) || b.splitOrBroken || !b.boreIsCircle {
		return specimen{}, false
	}
	s := specimen{}
	s.Symmetric = true
	s.Bore, s.Length = b.bore, math.Round(h*1000)/1000
	s.HeadD, s.HeadH = 0, 0
	s.place(f, m, m.z1)
	switch {
	case 2*b.hex >= b.cuts-2 && b.hex >= 3:
		return s, s.hexNut(m, m.threadBore(b, f, feat), h)
	case 2*b.quad >= b.cuts && b.bore > 0:
		return s, s.plateNut(m, m.threadBore(b, f, feat), h)
	case 10*b.round >= 9*b.cuts:
		if !s.washer(2*b.outerMax, h) {
			return s, false
		}
		if s.needs == needHead {
			if m.isWire(s.outer, s.Bore) {
				return s, false
			}
			if t, ok := m.bonded(s); ok {
				return t, true
			}
			if t, ok := m.dished(s); ok {
				return t, true
			}
		}
		return s, true
	}
	return specimen{}, false
}

// isWire reports a ring as high as it is wide and without a face: an O-ring.
func (m *flat) isWire(d2, d1 float64) bool {
	flats := 0.0
	for _, l := range m.levels() {
		flats += l.area
	}
	return near(m.z1-m.z0, (d2-d1)/2, 0.1, 0) && flats < 0.1*math.Pi/4*(d2*d2-d1*d1)
}

// exactBore is the diameter of the exact hole about the axis that a measured
// bore belongs to: facets of a hole lie inside it by their chord error.
func exactBore(measured float64, f geom.Frame, feat *feature.Part) float64 {
	best, off := measured, max(0.12, 0.02*measured)
	for _, g := range feat.Around(geom.Axis{O: f.O, D: f.Z}, 0.05, math.Pi) {
		if o := math.Abs(2*g.R - measured); o < off {
			best, off = 2*g.R, o
		}
	}
	return best
}

// band cuts the ring at eleven heights.
func (m *flat) band() band {
	const cuts = 11
	b := band{cuts: cuts, bore: math.Inf(1), boreIsCircle: true, outerMax: m.r}
	var across []float64
	for i := range cuts {
		s := m.cut(m.z0 + (float64(i)+0.5)/cuts*(m.z1-m.z0))
		in, out := s.inner(math.Inf(1)), s.outer()
		if out.Open > 0 && s.posts() {
			b.castle++
			continue
		}
		if in.Open > 0 || out.Open > 0 {
			b.splitOrBroken = true
			return b
		}
		if in.Max > 1.25*in.Min && (in.Fold != 0 || waves(s.In[:]) > 2) { // threads may lean; slots, teeth and polygons may not
			b.boreIsCircle = false
		}
		if 2*in.Min < b.bore {
			b.bore = 2 * in.Min
		}
		switch {
		case out.Fold == 6 && near(out.Max/out.Min, 1.13, 0, 0.06):
			b.hex++
			across = append(across, 2*out.Min)
		case out.Min > 0.97*out.Max:
			b.round++
			b.roundAt = append(b.roundAt, i)
			b.roundR = max(b.roundR, out.Max)
		default:
			if w, n, ok := s.rectangle(); ok {
				b.quad++
				b.wide, b.narrow = w, n
			}
		}
	}
	if len(across) > 0 {
		b.hexS = across[len(across)/2]
	}
	return b
}

// posts reports six alike posts about the axis with slots between them: the
// upper part of a castle nut (DIN 935).
func (s *section) posts() bool {
	l := s.beyond(0)
	if len(l) != 6 {
		return false
	}
	for i := range l {
		turn := math.Remainder(l[(i+1)%6].at-l[i].at-math.Pi/3, 2*math.Pi)
		if math.Abs(turn) > 0.1 || !near(l[i].reach, l[0].reach, 0.06, 0) || !near(l[i].width, l[0].width, 0.15, 0) {
			return false
		}
	}
	return true
}

// sides are the distances of the outside along four rays a quarter of a turn
// apart, from the nearest place of all on, which is ray k0.
func (s *section) sides() (k0 int, a, b, c, d float64) {
	for k := range s.Out {
		if s.Out[k] < s.Out[k0] {
			k0 = k
		}
	}
	side := func(q int) float64 { return s.Out[(k0+q*polarN/4)%polarN] }
	return k0, side(0), side(1), side(2), side(3)
}

// rectangle reads the outside as a rectangle about the axis (which need not be
// its middle along the long side).
func (s *section) rectangle() (wide, narrow float64, ok bool) {
	const rounded = 0.95 // of the corner: an edge rounded by 0.08 of the width leaves 0.953
	k0, a, b, c, d := s.sides()
	for q, pair := range [4][2]float64{{a, b}, {b, c}, {c, d}, {d, a}} {
		corner := math.Hypot(pair[0], pair[1])
		at := k0 + q*polarN/4 + int(math.Round(math.Atan2(pair[1], pair[0])/(2*math.Pi)*polarN))
		got := 0.0
		for o := -2; o <= 2; o++ {
			got = max(got, s.Out[(at+o+polarN)%polarN])
		}
		if got > 1.03*corner || got < rounded*corner {
			return 0, 0, false
		}
	}
	return max(a+c, b+d), min(a+c, b+d), true
}

// hexNut settles a hexagonal ring.
func (s *specimen) hexNut(m *flat, b band, h float64) bool {
	s.Kind, s.Drive, s.DriveSize = Nut, OuterHex, flats(b.hexS, outerFlats)
	s.HeadD, s.HeadH = 2*b.outerMax, h
	s.Bore, s.Head, s.across = b.bore, b.hexHead(), b.hexS
	if b.bore < 0.32*b.hexS || b.bore > 0.74*b.hexS || h < 0.18*b.hexS {
		return false
	}
	seen := fmt.Sprintf("hexagon %s mm across flats with a bore Ø%s, %s mm high", trim(b.hexS), trim(b.bore), trim(h))
	if b.ring > 0 {
		seen += fmt.Sprintf(", a ring of Ø%s above it that clamps the thread", trim(b.ring))
	}
	if n, ok := nutRow(b.hole, b.hexS, h, s.Head); ok {
		s.Size, s.Nominal, s.fits, s.DriveSize = n.Size, n.D, true, sizeText(n.S)
		if n.Head == "lock" && s.Head == "" {
			seen += ", as high as a lock nut, whose ring is not drawn"
		}
		s.Head = n.Head
		s.Designation = n.Standard + " " + n.Size
		s.Confidence = 0.95
		s.Evidence = append(s.Evidence, seen,
			fmt.Sprintf("flats %s (standard %s), height %s (%s): %s %s", trim(b.hexS), trim(n.S), trim(h), trim(n.MMax), n.Standard, n.Size))
		return true
	}
	if t, ok := m.tapped(b.bore); ok && h <= 1.6*t.D && h >= 0.4*t.D && b.hexS >= 1.3*t.D {
		s.Size, s.Nominal, s.Confidence = t.Size, t.D, 0.8
		s.Evidence = append(s.Evidence, seen+": in no table that we hold",
			fmt.Sprintf("the bore is drawn for the thread of %s, both its ends are chamfered", t.Size))
		return true
	}
	if h > 0.9*b.hexS {
		return false // a stand-off or a coupling: no nut that a spanner holds
	}
	s.Evidence = append(s.Evidence, seen+": in no table that we hold")
	s.Confidence = 0.7
	if s.threadBySpanner(b.hole, b.hexS); s.Size == "" {
		s.needs = needRod
	}
	return true
}

// tapped is the thread of a bore that shows it: cut at the minor diameter or
// drilled for it, with a chamfer at both ends that lets the screw in: beyond the pitch diameter, at
// one end to the major one. Plain holes are drilled to other diameters, and are
// seldom chamfered to just that.
func (m *flat) tapped(bore float64) (table.Thread, bool) {
	const (
		exact  = 0.005 // of D1 or the drill
		full   = 0.97  // of the major diameter
		widest = 1.25  // of it: more is a countersink
	)
	for _, t := range table.Bore(bore) {
		if t.D1 == 0 || t.Pitch == 0 || !near(bore, t.D1, exact, 0) && !near(bore, t.Tap, exact, 0) {
			continue
		}
		edge := 0.02 * t.Pitch // so near to the end the chamfer has lost little
		lower, upper := 2*m.cut(m.z0+edge).inner(math.Inf(1)).Min, 2*m.cut(m.z1-edge).inner(math.Inf(1)).Min
		lo, hi := min(lower, upper), max(lower, upper)
		return t, lo >= t.D2 && hi >= full*t.D && hi <= widest*t.D
	}
	return table.Thread{}, false
}

// threadBySpanner picks the thread whose bore and spanner size go together.
func (s *specimen) threadBySpanner(b bore, across float64) {
	for _, t := range b.threads() {
		for _, n := range table.Nuts() {
			if n.Size == t.Size && near(across, n.S, 0.04, 0) {
				s.Size, s.Nominal = t.Size, t.D
				return
			}
		}
	}
}

// nutRow is the row that has this bore, width and height and may have this
// head. Nuts are drawn as plain hexagons by those who spare the details, so that
// one without a collar may be a thin or a lock nut.
func nutRow(b bore, across, h float64, head string) (best table.Nut, ok bool) {
	least := math.Inf(1)
	for i, t := range nutThreads(b) {
		for _, n := range table.Nuts() {
			lo := n.MMin
			if lo == 0 {
				lo = 0.93 * n.MMax
			}
			offS, offM := offFlats(across, n.S), outside(h, lo, n.MMax)
			if !sameThread(t.Size, n.Size) || offS > 0.025 || offM > 0.03 || !mayHave(n.Head, head) {
				continue
			}
			// Models are drawn at the greatest height; the margin keeps the
			// table's order where rounding would decide.
			if sum := offS + offM + 0.1*math.Abs(h-n.MMax)/n.MMax + 0.001*float64(i); sum < least-1e-6 {
				best, least, ok = n, sum, true
			}
		}
	}
	return best, ok
}

// offFlats is how far a width across flats is off a nominal one, relative. The
// nominal width is the greatest, so that spanners go over it; what product
// grade A allows below it (ISO 4032: 0.015 s to 0.034 s) counts little.
func offFlats(across, s float64) float64 {
	const allowed, share = 0.022, 0.3
	off := (across - s) / s
	if off < 0 && off >= -allowed {
		return -share * off
	}
	return math.Abs(off)
}

// sameThread compares a thread's designation with that of a standard's row,
// which may leave the pitch out ("#8-32" and "#8", "M8×1" and "M8").
func sameThread(thread, row string) bool {
	pitch, ok := strings.CutPrefix(thread, row)
	return ok && (pitch == "" || pitch[0] == '-' || strings.HasPrefix(pitch, "×"))
}

// plateNut settles a square or rectangular ring. A square of a standard's
// measures stands for itself; any other is a nut only with a shank in it.
func (s *specimen) plateNut(m *flat, b band, h float64) bool {
	s.Kind, s.Drive, s.DriveSize = Nut, Square, trim(b.narrow)
	s.HeadD, s.HeadH = 2*b.outerMax, h
	s.needs, s.Confidence = needRod, 0.65
	if b.wide > 3.2*b.bore || b.narrow < 1.25*b.bore || h < 0.15*b.bore || h > 1.2*b.bore {
		return false
	}
	if b.wide < 1.02*b.narrow {
		s.Head = "square"
	}
	if t := b.hole.threads(); len(t) > 0 {
		s.Size, s.Nominal = t[0].Size, t[0].D
	} else {
		s.Nominal = b.bore
	}
	seen := fmt.Sprintf("plate %s × %s mm, %s mm high, with a bore Ø%s", trim(b.wide), trim(b.narrow), trim(h), trim(b.bore))
	s.Evidence = append(s.Evidence, seen)
	if n, ok := nutRow(b.hole, b.narrow, h, "square"); ok && s.Head == "square" {
		s.squareRow(m, n, b.hole)
	}
	return true
}

// washer settles a round ring.
func (s *specimen) washer(d2, h float64) bool {
	s.Kind, s.Drive, s.outer = Washer, NoDrive, d2
	// Thick washers (DIN 7349) have a fifth of their width, from memory; what is
	// thicker than a third is a bush.
	if h > 0.34*d2 || h < 0.01*d2 || d2 < 1.3*s.Bore || d2 > 4*s.Bore {
		return false
	}
	seen := fmt.Sprintf("ring Ø%s × %s mm with a bore Ø%s", trim(d2), trim(h), trim(s.Bore))
	for _, w := range table.Washers() {
		if w.Head == "toothed" || w.Head == "conical" {
			continue
		}
		if ringFits(w, s.Bore, d2) && near(h, w.H, 0.15, 0.05) {
			s.Size, s.Designation, s.fits = w.Size, w.Standard+" "+w.Size, true
			if t, ok := table.ThreadOf(w.Size); ok {
				s.Nominal = t.D
			}
			s.Confidence = 0.85
			s.Evidence = append(s.Evidence, fmt.Sprintf("%s: %s %s is %s × %s, bore %s", seen, w.Standard, w.Size, trim(w.D2), trim(w.H), trim(w.D1)))
			return true
		}
	}
	s.needs, s.Confidence = needHead, 0.7
	s.Evidence = append(s.Evidence, seen+": in no table that we hold")
	return true
}
