package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// headless reads a plain round rod: with a recess at its upper end a set
// screw, without one a pin.
func (m *flat) headless(f geom.Frame, feat *feature.Part) (specimen, bool) {
	p := m.outline()
	if s, ok := m.taperPin(p, f); ok {
		return s, true
	}
	r := p.max()
	n := 0 // steps of full width: the rest is point, chamfer, or a thread drawn at d3
	for _, v := range p.r {
		if near(v, r, 0.03, 0) {
			n++
		}
	}
	d, l := 2*exactShank(r, f, feat), m.z1-m.z0
	if !(d > 0.7) || l < 0.4*d || l > 12*d {
		return specimen{}, false
	}
	s := specimen{shank: d, thread: m.readThread(m.z0, m.z1, d)}
	if n < profileN*3/10 && s.thread.pitch == 0 {
		return specimen{}, false
	}
	s.Nominal, s.Length = d, nominalLength(l)
	s.place(f, m, m.z1)
	if g := m.recess(r); g.drive == HexSocket || g.drive == Hexalobular || g.drive == Slot {
		return s, s.setScrew(m, g, m.point(p, r))
	}
	return s, s.pin(m, p, r)
}

// tip is the lower end of a set screw.
type tip uint8

const (
	flatPoint tip = iota
	conePoint
	dogPoint
	cupPoint
)

// pointOf lists the standards of set screws by their lower end: with a hexagon
// socket, and with a slot.
var pointOf = [...]struct{ socket, slot string }{
	flatPoint: {"ISO 4026", "ISO 4766"},
	conePoint: {"ISO 4027", "ISO 7434"},
	dogPoint:  {"ISO 4028", "ISO 7435"},
	cupPoint:  {"ISO 4029", "ISO 7436"},
}

// inchSet is the standard of inch set screws with a hexagon socket, whatever
// their point.
const inchSet = "ASME B18.3 set"

// point reads the lower end of a set screw.
func (m *flat) point(p *profile, r float64) tip {
	if m.hollowAt(m.z0 + 0.05*r) {
		return cupPoint
	}
	dog := 0
	for _, v := range p.r {
		if near(v, p.r[4], 0.01, 0) && v < 0.85*r {
			dog++
		}
	}
	switch {
	case p.r[0] < 0.2*r:
		return conePoint
	case float64(dog)*p.dz > 0.2*r:
		return dogPoint
	}
	return flatPoint
}

// setScrew settles a threaded rod with a recess and this lower end.
func (s *specimen) setScrew(m *flat, g recess, end tip) bool {
	s.Kind, s.Drive, s.RecessDepth, s.across = SetScrew, g.drive, g.depth, g.a
	s.DriveSize = g.size(s.shank)
	t, ok := s.bestThread()
	if !ok || g.a > 0.75*s.shank || g.depth > 0.9*(s.Front-s.Back) {
		return false
	}
	s.Size, s.Nominal = t.Size, t.D
	s.DriveSize = g.size(s.Nominal)
	s.pinned, s.Confidence = g.pin, 0.8
	s.Evidence = append(s.Evidence, fmt.Sprintf("rod Ø%s without a head", trim(s.shank)), recessText(g, s.DriveSize))
	row, ok := s.setRow(end)
	if ok {
		s.fits, s.Confidence = true, 0.9
		s.Designation = fmt.Sprintf("%s %s×%s", row.Standard, s.Size, trim(s.Length))
		s.Evidence = append(s.Evidence, fmt.Sprintf("%s %s (standard %s), point as in %s %s", s.Drive, trim(g.a), row.DriveSize, row.Standard, row.Size))
	}
	s.sayThread()
	s.combine()
	return g.drive != Slot || s.slotted(m, g, ok)
}

// setRow is the row of the tables for the size, the drive and the lower end.
func (s *specimen) setRow(end tip) (table.Head, bool) {
	standard := pointOf[end].socket
	switch {
	case s.Drive == Slot:
		standard = pointOf[end].slot
	case familyOf(s.Size) == InchThread:
		standard = inchSet
	}
	for _, h := range table.Heads() {
		if h.Standard == standard && sameThread(s.Size, h.Size) && h.Drive == string(s.Drive) && s.slotOff(&h) == 0 && s.driveOff(&h) == 0 {
			return h, true
		}
	}
	return table.Head{}, false
}

// slotOff is 0 where the slot is as wide as the row's: within the 0.06 to 0.2
// mm above n that it is cut (from memory of ISO 4766).
func (s *specimen) slotOff(h *table.Head) float64 {
	if s.Drive != Slot || h.SlotN == 0 {
		return 0
	}
	return outside(s.across, 0.98*h.SlotN, h.SlotN+0.06+0.08*h.SlotN)
}

// slotted settles a rod with a slot: a lid with a coin's slot, a vent and a
// marked shaft look alike. Turns show the thread; without them the slot has to
// be the standard's for the diameter in width and depth and the other end
// pointed, or a threaded hole has to be about it.
func (s *specimen) slotted(m *flat, g recess, standard bool) bool {
	// ISO 4766: n is 0.13 to 0.2 d and t 0.2 to 0.35 d (from memory). A finer
	// groove is a vent or a mark.
	if g.a < 0.12*s.shank || g.depth < 0.18*s.shank {
		return false
	}
	pointed := 2*m.outline().r[0] < 0.92*s.shank && g.depth < 0.45*s.Nominal
	if s.thread.pitch == 0 && !(standard && pointed && s.Front-s.Back >= s.Nominal) {
		s.needs = needThread
	}
	return true
}

// pin settles a smooth rod; whether it is a pin its surroundings decide.
func (s *specimen) pin(m *flat, p *profile, r float64) bool {
	s.Kind, s.Drive, s.needs, s.Confidence = Pin, NoDrive, needHole, 0.75
	s.Symmetric = true
	l := m.z1 - m.z0
	if s.shank > 20.5 || l < 1.2*s.shank {
		return false
	}
	floor, ok := m.floor()
	if !ok || m.hollowAt(m.z0+0.02*l) {
		return false // a tube
	}
	if deep := m.z1 - floor; deep > 0.35*r {
		if !m.pullHole(deep, s.shank) {
			return false // a cup, a drilled shaft
		}
		s.Symmetric = false
		s.Evidence = append(s.Evidence, "a threaded hole in its end to pull it out")
	}
	even := 0
	for _, v := range p.r {
		if near(v, r, 0.004, 0.005) {
			even++
		}
	}
	if even < profileN*7/10 {
		return false
	}
	grooves := true
	for _, t := range []float64{0.25, 0.5, 0.75} {
		c := m.cut(m.z0 + t*l).outer()
		grooved := c.Fold == 3 && c.Min > 0.88*c.Max
		if c.Open > 0 || c.Min < 0.97*c.Max && !grooved {
			return false // flats, keyways
		}
		grooves = grooves && c.Min < 0.97*c.Max
	}
	if grooves {
		s.Head = "grooved"
	}
	s.Size = trim(math.Round(s.shank*100)/100) + " mm"
	if s.Head == "" && s.plainEnd(m, p, r) {
		s.Designation = fmt.Sprintf("ISO 2338 %s×%s", trim(math.Round(s.shank*10)/10), trim(s.Length))
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("smooth rod Ø%s × %s mm", trim(s.shank), trim(l)))
	return true
}

// pullHole reports a hole that deep in the upper end of a pin d thick that is
// drawn for a thread of 0.4 to 0.67 d, as ISO 8735 has it (from memory).
func (m *flat) pullHole(deep, d float64) bool {
	if deep > 3*d {
		return false
	}
	for _, t := range table.Bore(m.holeAt(m.z1 - 0.5*deep)) {
		if t.Metric() && t.D1 > 0 && t.D > 0.4*d && t.D < 0.67*d {
			return true
		}
	}
	return false
}

// hollowAt reports whether the axis is free at a height.
func (m *flat) hollowAt(z float64) bool { return m.cut(z).hollow() }

// plainEnd reports both ends chamfered on a diameter that ISO 2338 has (from
// memory: 0.6 to 20 mm).
func (s *specimen) plainEnd(m *flat, p *profile, r float64) bool {
	ok := false
	for _, d := range []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20} {
		ok = ok || near(s.shank, d, 0, 0.03)
	}
	return ok && p.r[0] < 0.99*r && p.r[profileN-1] < 0.99*r
}
