package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// pushed reads, tip down, what is pushed or drawn into a hole and stays there
// by its form: a rivet, a clip, a split pin.
func (m *flat) pushed(f geom.Frame, _ *feature.Part) (specimen, bool) {
	if s, ok := m.blindRivet(f); ok {
		return s, true
	}
	if s, ok := m.tubularRivet(f); ok {
		return s, true
	}
	if s, ok := m.splitClip(f); ok {
		return s, true
	}
	if s, ok := m.barbedClip(f); ok {
		return s, true
	}
	return m.splitPin(f)
}

// rib is one ridge of an outline.
type rib struct {
	r           float64 // its crest, mm
	front, back float64 // mm along the axis: how far the flank to the tip and the one to the head reach
	valley      float64 // radius at the foot of the flank to the head
}

// barbedClip reads a push-in clip: a thin head as wide as a thumb presses, and a
// shank with three ribs or more that rise slowly from the tip and fall steeply
// to the head. Threads are as steep on both flanks and finer; hose nipples are
// bored.
func (m *flat) barbedClip(f geom.Frame) (specimen, bool) {
	g, ok := m.flange()
	if !ok || g.top-g.seat > 0.45*g.r || m.z1-g.top > 0.3*g.r {
		return specimen{}, false
	}
	if floor, hit := m.floor(); !hit || m.z1-floor > 0.25*g.r+g.top-g.seat {
		return specimen{}, false // bored
	}
	p := m.outline()
	ribs := p.ribs(g.from)
	least := math.Inf(1)
	wide, barbs := 0.0, 0
	for _, b := range ribs {
		wide, least = max(wide, b.r), min(least, b.valley)
	}
	for _, b := range ribs {
		if b.r > 0.75*wide && b.valley < 0.82*b.r && b.front > 1.8*b.back {
			barbs++
		}
	}
	length := g.seat - m.z0
	coarse := length > 0 && float64(len(ribs))*0.2*2*wide < length
	if barbs < 3 || barbs != len(ribs) || !coarse || g.r < 1.3*wide || g.r > 4*wide || 2*wide > 16 || length < 1.5*2*wide {
		return specimen{}, false
	}
	s := specimen{shank: 2 * wide}
	s.Kind, s.Drive, s.Confidence = Clip, NoDrive, 0.75
	s.Nominal, s.Length = 2*wide, nominalLength(length)
	s.Size = trim(math.Round(2*wide*10)/10) + " mm"
	s.place(f, m, m.z1)
	s.seat, s.HeadD, s.HeadH = g.seat-m.z1, 2*g.r, m.z1-g.seat
	s.Evidence = append(s.Evidence, fmt.Sprintf("a thin head Ø%s on a solid shank with %d barbs, Ø%s over Ø%s, that point to the head", trim(2*g.r), barbs, trim(2*wide), trim(2*least)))
	return s, true
}

// bend is where an outline turns from rising to falling or back, and the steps
// over which it stays there.
type bend struct {
	r           float64
	first, last int
}

// bends lists the crests and valleys of the outline below a step by turns, a
// crest first, from the tip up; what is less than a tenth of the radius is no
// bend.
func (p *profile) bends(end int) []bend {
	var out []bend
	up, at := true, bend{r: p.r[0]}
	for i := 1; i < end; i++ {
		switch r := p.r[i]; {
		case near(r, at.r, 0.002, 0):
			at.last = i
		case up == (r > at.r):
			at = bend{r, i, i}
		case up && r < 0.9*at.r || !up && at.r < 0.9*r:
			out, up = append(out, at), !up
			at = bend{r, i, i}
		}
	}
	return append(out, at)
}

// ribs lists the ridges of the outline below a step, from the tip up.
func (p *profile) ribs(end int) []rib {
	var out []rib
	b := p.bends(end)
	foot := 0 // last step of the valley before the ridge
	for k := 0; k+1 < len(b); k += 2 {
		crest, valley := b[k], b[k+1]
		out = append(out, rib{
			r: crest.r, valley: valley.r,
			front: float64(crest.first-foot) * p.dz, back: float64(valley.first-crest.last) * p.dz,
		})
		foot = valley.last
	}
	return out
}

// splitPins are the hole that ISO 1234 names a split pin by, and the greatest
// diameter of its shank, mm (from memory).
var splitPins = [][2]float64{
	{0.6, 0.5}, {0.8, 0.7}, {1, 0.9}, {1.2, 1}, {1.6, 1.4}, {2, 1.8}, {2.5, 2.3}, {3.2, 2.9}, {4, 3.7}, {5, 4.6}, {6.3, 5.9}, {8, 7.5}, {10, 9.5}, {13, 12.4},
}

// splitPin reads two half round legs, slit from the eye that joins them to the
// tip of the shorter one.
func (m *flat) splitPin(f geom.Frame) (specimen, bool) {
	g, ok := m.flange()
	d := 2 * g.below
	if !ok || d > 13 || g.seat-m.z0 < 3*d || g.r > 1.6*d || 10*g.belowSteps < 8*g.from || !m.eyeAt(g, d) {
		return specimen{}, false
	}
	l := g.seat - m.z0
	const cuts = 12
	slit, single := 0, 0 // cuts through both legs, and through the longer one alone
	for i := range cuts {
		s := m.cut(m.z0 + (float64(i)+0.5)/cuts*l)
		switch c := grip(s, g.below); {
		case c.drive == Slot && c.a < 0.25*d:
			slit++
		case s.outer().Open > 0.4 && slit == 0:
			single++
		default:
			return specimen{}, false
		}
	}
	if 2*slit < cuts {
		return specimen{}, false
	}
	s := specimen{shank: d}
	s.Kind, s.Drive, s.Head, s.needs, s.Confidence = Pin, NoDrive, "split", none, 0.85
	s.Nominal, s.Size = d, trim(d)+" mm"
	s.Length = math.Round(10*l*float64(slit)/cuts) / 10
	for _, n := range splitPins {
		if d <= 1.01*n[1] && d >= 0.93*n[1] {
			s.Nominal, s.Size, s.Designation = n[0], trim(n[0])+" mm", "ISO 1234 "+trim(n[0])
			break
		}
	}
	s.place(f, m, m.z1)
	s.seat, s.HeadD, s.HeadH = g.seat-m.z1, 2*g.r, m.z1-g.seat
	s.Evidence = append(s.Evidence, fmt.Sprintf("two half round legs Ø%s, slit from an eye to the tip", trim(d)))
	return s, true
}

// eyeAt reports a loop of wire above the legs: no thicker than they are, with
// a hole through it beside the axis.
func (m *flat) eyeAt(g flange, d float64) bool {
	s := m.cut(0.5 * (g.seat + m.z1))
	c := s.outer()
	return s.hollow() && c.Open > 0.2 && m.z1-g.seat > 0.6*d && m.z1-g.seat < 5*d
}
