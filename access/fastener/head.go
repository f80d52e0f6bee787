package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// silhouette is a headed shank as its outline shows it; heights in the flat's z, tip
// down, lengths in mm.
type silhouette struct {
	shankR float64 // greatest radius of the shank
	seat   float64 // plane under the head; foot of the cone of a countersunk head
	rim    float64 // where the head is widest, its upper end
	headR  float64
	sunk   bool    // the head's underside is a cone
	neck   float64 // mm across a square neck under the head; 0 without
	slope  float64
	angle  float64 // of that cone, degrees; 0 unknown
	partly bool    // a plain shank under the head, its thread below; looked at under hexagons only
}

// headed reads the part as a shank with a head at the upper end.
func (m *flat) headed(f geom.Frame, feat *feature.Part) (specimen, bool) {
	o, ok := m.silhouette()
	if !ok {
		return specimen{}, false
	}
	headH := m.z1 - o.seat
	o.shankR = exactShank(o.shankR, f, feat)
	d := 2 * o.shankR
	shankL := o.seat - m.z0
	if o.headR < 1.15*o.shankR || o.headR > 3.6*o.shankR || headH > 1.7*d || headH < 0.1*d || shankL < 0.4*d || shankL > 60*d {
		return specimen{}, false
	}
	s := specimen{shank: d}
	s.Kind, s.Nominal = Screw, d
	s.HeadD, s.HeadH = 2*o.headR, headH
	s.place(f, m, m.z1)
	s.seat = o.seat - m.z1
	if !m.soundShank(o) || !m.grasp(&s, o) {
		return specimen{}, false
	}
	if s.Drive == OuterHex && m.partly(o) {
		o.partly, s.Kind = true, Bolt
	}
	s.thread, o.angle = m.readThread(m.z0, o.seat, d), m.coneAngle(o)
	s.readShank(m, o)
	if o.neck > 0 && s.needs == needNut && s.carriage(o) {
		return s, true
	}
	s.nameHeaded(o)
	const short = 0.8 // of the diameter: a trimmer's rotor, a plug; no standard's length is less
	if !s.fits && !o.sunk && shankL < short*d {
		return specimen{}, false
	}
	if s.smooth {
		s.solidRivet(m, o)
	}
	if !s.fits && s.Head == "cylindrical" && s.asSetScrew() {
		if t, ok := m.headless(f, feat); ok {
			return t, true
		}
	}
	s.combine()
	return s, true
}

// readShank says what the shank shows beside its thread.
func (s *specimen) readShank(m *flat, o silhouette) {
	s.smooth = s.needs == needNut && m.smooth(o)
	s.spindle = m.spindle(o) - m.z1
	s.pointed = m.outline().r[0] < 0.97*o.shankR
	s.measureLength(o, m)
}

// asSetScrew reports a "head" that is a thread: a set screw with a dog point
// or a thread drawn at d3 below a plain end has a socket that belongs to the
// wider diameter.
func (s *specimen) asSetScrew() bool {
	for _, h := range table.Heads() {
		if h.Head == "none" && h.Drive == string(s.Drive) && h.DriveSize == s.DriveSize && near(s.HeadD, h.D, 0.006, 0.02) {
			return true
		}
	}
	return false
}

// exactShank is the radius of the exact cylinder about the axis that a
// measured shank belongs to: facets lie inside it by their chord error.
func exactShank(measured float64, f geom.Frame, feat *feature.Part) float64 {
	best, off := measured, max(0.06, 0.02*measured)
	for _, g := range feat.Inside(geom.Axis{O: f.O, D: f.Z}, 0.05, math.Pi) {
		if o := math.Abs(g.R - measured); o < off {
			best, off = g.R, o
		}
	}
	return best
}

// silhouette finds shank and head in the outline; false where there is no such
// shape with the head up.
func (m *flat) silhouette() (silhouette, bool) {
	if m.shape == nil {
		o, ok := m.findSilhouette()
		m.shape, m.shaped = &o, ok
	}
	return *m.shape, m.shaped
}

func (m *flat) findSilhouette() (o silhouette, ok bool) {
	p := m.outline()
	o.headR = p.max()
	if !(p.dz > 0) || o.headR == 0 {
		return o, false
	}
	wide := 0 // first step of the head's widest part
	for wide < profileN && p.r[wide] < 0.88*o.headR {
		wide++
	}
	common, n := p.mode(wide, 0.87*o.headR)
	if n == 0 || float64(n)*p.dz < 0.3*common || p.at(m.z0)+wide < profileN/20 {
		return o, false
	}
	shank, top := wide, wide
	if n, ok := m.squareNeck(p, wide, common); ok {
		shank, top, o.neck = n.from, n.to, n.across
	}
	o.shankR = max(p.longest(shank, common, 0.87*o.headR), p.crests(shank, common, 0.87*o.headR))
	foot := shank // first step wider than the shank
	for foot > 0 && p.r[foot-1] > 1.04*o.shankR+0.01 {
		foot--
	}
	for i := range foot { // no collar on the way
		if p.r[i] > 1.06*o.shankR+0.02 {
			return o, false
		}
	}
	o.rim = p.height(wide)
	for i := wide; i < profileN; i++ {
		if p.r[i] > 0.985*o.headR {
			o.rim = p.height(i + 1)
		}
	}
	if o.neck > 0 {
		foot = top
	}
	return m.underside(p, o, foot, wide)
}

// longest gives the greatest radius of the shank's runs that keep their radius
// over 0.4 of it or more.
func (p *profile) longest(end int, common, limit float64) float64 {
	wide := common
	for i := 0; i < end; {
		j := i + 1
		for j < end && math.Abs(p.r[j]-p.r[i]) <= 0.01*p.r[i] {
			j++
		}
		if r := p.r[(i+j)/2]; float64(j-i)*p.dz >= 0.4*r && r < limit && r > 0.6*common {
			wide = max(wide, r)
		}
		i = j
	}
	return wide
}

// underside finds the seat: a flat that looks down to the tip, or a cone.
func (m *flat) underside(p *profile, o silhouette, foot, wide int) (silhouette, bool) {
	ring := math.Pi * (o.headR*o.headR - o.shankR*o.shankR)
	reach := o.shankR + 0.3*(o.headR-o.shankR) // less is the step of a thread drawn at d3
	zFoot := p.height(foot)
	for _, l := range m.levels() {
		if !l.up && l.z >= zFoot-2*p.dz && l.z <= p.height(wide+2) && l.rMax > reach && l.area > 0.12*ring {
			o.seat = l.z
			return o, true
		}
	}
	rise := p.height(wide) - zFoot
	if !(rise > 2*p.dz) {
		o.seat = zFoot
		return o, true
	}
	o.slope = (0.88*o.headR - o.shankR) / rise
	o.seat = zFoot
	o.sunk = o.slope > 0.5 && o.slope < 2.4 // cones of 60 to 120 degrees
	return o, o.sunk
}

// soundShank checks that the shank is round and solid in its middle. Threads
// that are modelled leave d3 in the valleys: 0.73 d on the coarsest for nuts,
// less on those for plastics and towards a point, where their turns show it.
func (m *flat) soundShank(o silhouette) bool {
	p := m.outline()
	for _, t := range []float64{0.3, 0.5, 0.7} {
		z := m.z0 + t*(o.seat-m.z0)
		s := m.cut(z)
		c := s.outer()
		if c.Open > slipped || s.hollow() {
			return false
		}
		if c.Min >= 0.66*o.shankR {
			continue
		}
		th := m.readThread(m.z0, o.seat, 2*o.shankR)
		if th.pitch == 0 || c.Min < 0.9*th.root/th.crest*min(o.shankR, p.r[p.at(z)]) {
			return false
		}
	}
	return true
}

// partly reports a shank of its own above the thread: full and round from the
// head down, and thinner for a good part of what is below, be it drawn at d3 or
// in turns. Screws that are threaded up to the head have up to 3.2 P without a
// thread there (ISO 4017, a max: 1.05 mm for M1.6 to 5.3 mm for M12).
func (m *flat) partly(o silhouette) bool {
	const (
		full   = 0.985 // of the shank's radius: more is no thread
		thread = 0.94  // less is one
		pilot  = 0.71  // less is none: d3 is 0.73 d to 0.85 d, a dog point 0.5 d to 0.7 d
	)
	d := 2 * o.shankR
	plain, threads := max(0.55*d, 1), 0
	if t := table.Shank(d); len(t) > 0 {
		plain = max(plain, 3.5*t[0].Pitch)
	}
	l := o.seat - m.z0
	if plain > 0.9*l {
		return false
	}
	for _, t := range []float64{0.1, 0.3, 0.5, 0.7, 0.9, 1} { // a fillet under the head is wider
		if m.cut(o.seat-t*plain).outer().Min < full*o.shankR {
			return false
		}
	}
	const cuts = 12
	for i := range cuts { // near the tip: the thread may be short
		z := m.z0 + 0.1*d + (float64(i)+0.5)/cuts*min(l-plain-0.1*d, 2*d)
		if r := m.cut(z).outer().Min; r < thread*o.shankR && r > pilot*o.shankR {
			threads++
		}
	}
	return threads >= 3
}

// spindle is the height up to which the shank is thinner than it is above: a
// spindle, or a thread drawn at its minor diameter.
func (m *flat) spindle(o silhouette) float64 {
	p := m.outline()
	i := 0
	for i < p.at(o.seat) && p.r[i] < 0.94*o.shankR {
		i++
	}
	return p.height(i)
}

// noDriveModelled is the evidence of a head that shows nothing to turn it by.
const noDriveModelled = "head and shank are round, no drive is modelled"

// smooth reports a shank that keeps its radius: no thread, groove or point, but
// for the chamfer of its tip.
func (m *flat) smooth(o silhouette) bool {
	p := m.outline()
	top, even := p.at(o.seat), 0
	for i := range top {
		if near(p.r[i], o.shankR, 0.01, 0.005) {
			even++
		}
	}
	if float64(even) < 0.85*float64(top) {
		return false
	}
	for _, t := range []float64{0.2, 0.4, 0.6, 0.8} {
		if c := m.cut(m.z0 + t*(o.seat-m.z0)).outer(); c.Min < 0.97*c.Max {
			return false
		}
	}
	return true
}

// grasp reads head shape and drive; false where the head is none.
func (m *flat) grasp(s *specimen, o silhouette) bool {
	r := m.recess(o.headR)
	h := m.headShape(o)
	s.Drive, s.RecessDepth = r.drive, 0
	s.Head = h.name
	switch {
	case h.name == "":
		return false
	case h.flats > 0: // the outside counts, whatever else is cut into the top
		s.Drive, s.DriveSize, s.across = OuterHex, flats(h.flats, outerFlats), h.flats
		if h.name == "square" {
			s.Drive = Square
		}
		s.Evidence = append(s.Evidence, fmt.Sprintf("hexagon %s mm across flats on a round shank", trim(h.flats)))
		if h.name == "square" {
			s.Evidence[len(s.Evidence)-1] = fmt.Sprintf("square %s mm across flats on a round shank", trim(h.flats))
		}
		s.atop(r, h.flats/2)
		if m.hollowTop() && r.drive == NoDrive {
			return s.HeadH <= 0.75*s.shank // deeper: a stand-off with a bore
		}
		return s.HeadH <= h.highest(o.headR)*threadOf(s.shank)
	case r.drive == NoDrive || r.drive == UnknownDrive && r.a == 0:
		if m.hollowTop() {
			return false // a round bore in a round head: stand-off, bush, rivet
		}
		if byHand := *s; m.knurled(&byHand, o) {
			return false
		}
		s.Drive, s.needs = UnknownDrive, needNut
		s.Evidence = append(s.Evidence, noDriveModelled)
		return true
	}
	s.RecessDepth, s.across, s.depth, s.pinned = r.depth, r.a, r.depth, r.pin
	s.DriveSize = r.size(s.Nominal)
	s.Evidence = append(s.Evidence, recessText(r, s.DriveSize))
	if r.drive == Square {
		s.Drive = Square
	}
	s.slotAbove(m, r, o.headR)
	return true
}

func recessText(r recess, size string) string {
	switch r.drive {
	case HexSocket:
		return fmt.Sprintf("hexagonal pocket %.2f mm across flats, %.2f mm deep", r.a, r.depth)
	case Hexalobular:
		return fmt.Sprintf("six-lobed pocket A %.2f mm, B %.2f mm (%s), %.2f mm deep", r.a, r.b, size, r.depth)
	case Cross:
		if r.a == 0 {
			return fmt.Sprintf("cross recess cut through to the rim, %.2f mm deep", r.depth)
		}
		if r.typeZ {
			return fmt.Sprintf("cross recess with notches between its wings (type Z) %.2f mm wide at the mouth, %.2f mm deep", r.a, r.depth)
		}
		return fmt.Sprintf("cross recess %.2f mm wide at the mouth, %.2f mm deep", r.a, r.depth)
	case Slot:
		return fmt.Sprintf("slot %.2f mm wide, %.2f mm deep", r.a, r.depth)
	case Square:
		return fmt.Sprintf("square pocket %.2f mm across flats, %.2f mm deep", r.a, r.depth)
	}
	return fmt.Sprintf("pocket %.2f mm wide of a kind that is not known, %.2f mm deep", r.a, r.depth)
}

// hollowTop reports a hole in the middle of the head that is deeper than a
// maker's mark or a chamfer.
func (m *flat) hollowTop() bool {
	floor, ok := m.floor()
	return ok && m.z1-floor > 0.15*m.r
}

// headShape is the outside of the head.
type headShape struct {
	name  string
	flats float64 // mm across flats, 0 for a round head
}

// headShape reads cuts across the head.
func (m *flat) headShape(o silhouette) headShape {
	if o.sunk {
		if m.z1-o.rim > 0.06*o.headR {
			return headShape{name: "raised countersunk"}
		}
		return headShape{name: "countersunk"}
	}
	var hex, square, round int
	var across []float64
	const (
		cuts       = 9
		leastFlats = 4 // a collar and a chamfer take up to half of the height, the rest is to grip
	)
	for i := range cuts {
		z := o.seat + (float64(i)+0.5)/cuts*(m.z1-o.seat)
		c := m.cut(z).outer()
		switch {
		case c.Fold == 6 && near(c.Max/c.Min, 1.13, 0, 0.06):
			hex++
			across = append(across, 2*c.Min)
		case c.Fold == 4 && near(c.Max/c.Min, 1.38, 0, 0.06):
			square++
			across = append(across, 2*c.Min)
		case c.Min > 0.93*c.Max:
			round++
		}
	}
	switch {
	case hex >= leastFlats && hex >= square:
		s := across[len(across)/2]
		if 2*o.headR > 1.25*s {
			return headShape{name: "hexagon with flange", flats: s}
		}
		return headShape{name: "hexagon", flats: s}
	case square >= leastFlats:
		return headShape{name: "square", flats: across[len(across)/2]}
	case round < cuts/2:
		return headShape{} // wings, levers, housings
	}
	return headShape{name: m.roundHead(o)}
}

// roundHead tells cylinders from domes by the outline's height over radius:
// how much of the head's height keeps its full width.
func (m *flat) roundHead(o silhouette) string {
	p := m.outline()
	full, total := 0, 0
	for i := p.at(o.seat + 0.5*p.dz); i < profileN; i++ {
		total++
		if p.r[i] > 0.97*o.headR {
			full++
		}
	}
	switch share := float64(full) / float64(max(1, total)); {
	case share >= 0.72:
		return "cylindrical"
	case share >= 0.25:
		return "pan"
	default:
		return "button"
	}
}

// measureLength sets the nominal length: from the seat, or from the rim of a
// countersunk head, to the tip.
func (s *specimen) measureLength(o silhouette, m *flat) {
	l := o.seat - m.z0
	if o.sunk {
		l = m.z1 - m.z0
		if s.Head == "raised countersunk" {
			l = o.rim - m.z0
		}
	}
	s.Length = nominalLength(l)
}

// nominalLengths are the usual ones (ISO 888), mm.
var nominalLengths = []float64{
	2, 2.5, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 18, 20, 22, 25, 28, 30, 32, 35, 38, 40, 45, 50, 55, 60, 65, 70,
	75, 80, 85, 90, 95, 100, 110, 120, 130, 140, 150, 160, 180, 200,
}

// nominalLength rounds to a nominal length where one is within 0.3 mm or 1 %,
// else to 0.1 mm.
func nominalLength(l float64) float64 {
	best := math.Round(l*10) / 10
	off := max(0.3, 0.01*l)
	for _, n := range nominalLengths {
		if o := math.Abs(n - l); o <= off && o <= 0.15*l {
			best, off = n, o
		}
	}
	return best
}
