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
	if !(d > 0) || n < profileN*3/10 || d < 0.7 || l < 0.4*d || l > 12*d {
		return specimen{}, false
	}
	s := specimen{shank: d}
	s.Nominal, s.Length = d, nominalLength(l)
	s.place(f, m, m.z1)
	if g := m.recess(r); g.drive == HexSocket || g.drive == Hexalobular || g.drive == Slot {
		return s, s.setScrew(g, m.point(p, r))
	}
	return s, s.pin(m, p, r)
}

// point reads the lower end of a set screw, as the standard that has it with a
// hex socket: ISO 4026 flat, 4027 cone, 4028 dog, 4029 cup.
func (m *flat) point(p *profile, r float64) string {
	if m.hollowAt(m.z0 + 0.05*r) {
		return "ISO 4029"
	}
	dog := 0
	for _, v := range p.r {
		if near(v, p.r[4], 0.01, 0) && v < 0.85*r {
			dog++
		}
	}
	switch {
	case p.r[0] < 0.2*r:
		return "ISO 4027"
	case float64(dog)*p.dz > 0.2*r:
		return "ISO 4028"
	}
	return "ISO 4026"
}

// setScrew settles a threaded rod with a recess; standard is the one of its
// point.
func (s *specimen) setScrew(g recess, standard string) bool {
	s.Kind, s.Drive, s.RecessDepth = SetScrew, g.drive, g.depth
	t := table.Shank(s.shank)
	if len(t) == 0 || g.a > 0.75*s.shank || g.depth > 0.9*(s.Front-s.Back) {
		return false
	}
	if g.drive == Slot {
		// ISO 4766: n is 0.15 to 0.2 d and t 0.2 to 0.35 d (from memory). A finer
		// groove is a vent or a mark; a lid with a coin slot has no thread about it.
		if g.a < 0.12*s.shank || g.depth < 0.18*s.shank {
			return false
		}
		s.needs = needThread
	}
	s.Size, s.Nominal = t[0].Size, t[0].D
	s.DriveSize = g.size(s.Nominal)
	s.pinned, s.Confidence = g.pin, 0.8
	s.Evidence = append(s.Evidence, fmt.Sprintf("rod Ø%s without a head", trim(s.shank)), recessText(g, s.DriveSize))
	for _, h := range table.Heads() {
		if h.Standard == standard && h.Size == s.Size && h.Drive == string(g.drive) && h.DriveSize == s.DriveSize {
			s.fits, s.Confidence = true, 0.9
			s.Designation = fmt.Sprintf("%s %s×%s", standard, s.Size, trim(s.Length))
			s.Evidence = append(s.Evidence, fmt.Sprintf("socket %s (standard %s), point as in %s %s", trim(g.a), h.DriveSize, standard, h.Size))
			break
		}
	}
	s.combine()
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
	if floor, ok := m.floor(); !ok || m.z1-floor > 0.35*r || m.hollowAt(m.z0+0.02*l) {
		return false // a tube, a cup, a drilled shaft
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
