package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
)

// A stud is a rod with a thread at each end (DIN 938 to 940) or all along (DIN
// 976) and nothing to turn it by. Shafts, rollers and pins are rods as well, so
// the threads have to show: in turns, or by both ends being drawn at the minor
// diameter of the very thread that the middle is nominal for, chamfered.
const (
	studLongest = 150.0 // length over diameter: rods by the metre are cut shorter
	studTurns   = 4     // at the least, at each end
	drawnExact  = 0.006 // mm: the tables give d3 and D1 to 0.001 mm, and journals have round sizes
	endShortest = 0.7   // of the diameter: of a threaded end
)

// stud reads the part as a stud or a threaded rod.
func (m *flat) stud(f geom.Frame, feat *feature.Part) (specimen, bool) {
	p := m.outline()
	d, l := 2*exactShank(p.max(), f, feat), m.z1-m.z0
	if !(d > 0.7) || l < 1.5*d || l > studLongest*d || m.recess(d/2).drive != NoDrive || !m.solid(d) {
		return specimen{}, false
	}
	s := specimen{shank: d}
	s.Kind, s.Drive, s.Symmetric, s.Length = Stud, NoDrive, true, nominalLength(l)
	if !s.rodTurns(m, d) && !s.drawnStud(m) {
		return specimen{}, false
	}
	s.place(f, m, m.z1)
	s.seat = s.Front
	return s, true
}

// solid reports a round rod without a bore at either end.
func (m *flat) solid(d float64) bool {
	for _, t := range []float64{0.002, 0.1, 0.3, 0.5, 0.7, 0.9, 0.998} {
		s := m.cut(m.z0 + t*(m.z1-m.z0))
		if c := s.outer(); c.Open > slipped || s.hollow() || c.Min < 0.2*d {
			return false
		}
	}
	return true
}

// rodTurns reads turns at both ends or all along, of one thread for nuts.
func (s *specimen) rodTurns(m *flat, d float64) bool {
	reach := 0.5 * (m.z1 - m.z0)
	all := m.readThread(m.z0, m.z1, d)
	lower, upper := m.readThread(m.z0, m.z0+reach, d), m.readThread(m.z1-reach, m.z1, d)
	if all.pitch > 0 && m.toTheEnds(all, all, d) {
		lower, upper = all, all
	}
	if lower.turns < studTurns || upper.turns < studTurns || !near(lower.pitch, upper.pitch, 0.05, 0) {
		return false
	}
	if !near(lower.crest, d, 0.02, 0) || !near(upper.crest, d, 0.02, 0) {
		return false // the greatest diameter is a head's or a collar's
	}
	s.thread = lower
	t, ok := s.bestThread()
	if !ok || !isThreadForm(s.thread, t) || !m.toTheEnds(lower, upper, d) {
		return false
	}
	s.Size, s.Nominal, s.Confidence = t.Size, t.D, 0.85
	if lower == all {
		s.fits, s.Designation = true, fmt.Sprintf("DIN 976 %s×%s", t.Size, trim(s.Length))
		s.Evidence = append(s.Evidence, "rod threaded from end to end, nothing to turn it by")
	} else {
		s.Evidence = append(s.Evidence, "rod threaded at both ends, nothing to turn it by")
	}
	s.sayThread()
	return true
}

// toTheEnds reports turns that begin and end where the rod does, but for its
// points: beyond the thread of a sensor or a lead screw a cap or a journal stands.
func (m *flat) toTheEnds(lower, upper thread, d float64) bool {
	most := min(d, max(0.3*d, 3*lower.pitch))
	return lower.z0-m.z0 < most && m.z1-upper.z1 < most
}

// isThreadForm reports turns as deep as the thread's: a groove of 0.45 to 0.75
// pitches leaves a core between D1 and a little under d3 (ISO 68-1: 0.54 and
// 0.61), which barbs, worms and pleats do not.
func isThreadForm(turns thread, t table.Thread) bool {
	depth := (turns.crest - turns.root) / 2 / t.Pitch
	return depth > 0.45 && depth < 0.75
}

// drawnStud reads two ends at d3 or D1 of the thread for which the middle is
// nominal: three exact diameters of one standard, which no journal has.
func (s *specimen) drawnStud(m *flat) bool {
	lower, upper := m.journal(0, 1), m.journal(profileN-1, -1)
	if lower.length+upper.length > 0.95*(m.z1-m.z0) || !m.chamfered(lower.d, upper.d) {
		return false
	}
	var best table.Thread
	core, least := 0.0, drawnExact
	for _, t := range table.Threads() {
		if t.Tapping() || !near(s.shank, t.D, 0, drawnExact) || min(lower.length, upper.length) < endShortest*t.D {
			continue
		}
		for _, v := range []float64{t.D3, t.D1} {
			if off := max(math.Abs(lower.d-v), math.Abs(upper.d-v)); off < least {
				best, core, least = t, v, off
			}
		}
	}
	if core == 0 {
		return false
	}
	s.Size, s.Nominal, s.Confidence = best.Size, best.D, 0.75
	s.Evidence = append(s.Evidence, fmt.Sprintf("both ends are Ø%s and chamfered, the middle Ø%s: minor and nominal diameter of %s", trim(core), trim(s.shank), best.Size))
	return true
}

// journal is a straight piece of a rod at one of its ends; mm.
type journal struct{ d, length float64 }

// journal measures the straight piece that follows an end's chamfer, by steps
// of the outline.
func (m *flat) journal(from, step int) journal {
	p, i := m.outline(), from
	inside := func(k int) bool { return k >= 0 && k < profileN }
	for inside(i+step) && math.Abs(p.r[i+step]-p.r[i]) > 5e-4*p.r[i] {
		i += step
	}
	r, n := p.r[i], 0
	for inside(i) && math.Abs(p.r[i]-r) <= 1e-3*r {
		n++
		i += step
	}
	return journal{2 * r, float64(n) * p.dz}
}

// chamfered reports end faces that are smaller than what follows them.
func (m *flat) chamfered(lower, upper float64) bool {
	var down, up bool
	for _, l := range m.levels() {
		down = down || !l.up && l.z < m.z0+1e-3 && 2*l.rMax < 0.99*lower
		up = up || l.up && l.z > m.z1-1e-3 && 2*l.rMax < 0.99*upper
	}
	return down && up
}

// settleRods makes a plain rod a stud that stands in a hole drawn for its
// thread: a seventh or more narrower than the rod, which no press fit is.
func (c *court) settleRods() {
	for i := range c.cases {
		k := &c.cases[i]
		if k.Kind != Pin || k.needs != needHole {
			continue
		}
		for _, t := range table.Shank(k.shank) {
			if !near(k.shank, t.D, 0.01, 0) {
				continue
			}
			if s, ok := c.tappedAbout(k, t); ok {
				k.Kind, k.Size, k.Nominal, k.Designation = Stud, t.Size, t.D, ""
				k.needs, k.Confidence = none, 0.7
				k.say("stands in a threaded hole of %s in %s", t.Size, c.scene.P.Name(s))
				break
			}
		}
	}
}

// tappedAbout is a solid whose hole, drawn for thread t, the rod fills for half
// a diameter or more.
func (c *court) tappedAbout(k *instance, t table.Thread) (product.SolidIndex, bool) {
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if s == k.solid {
			continue
		}
		for _, g := range c.scene.Around(s, k.Axis, 0.05, 1.8*math.Pi) {
			if t.IsTapped(2*g.R) && min(g.Z1, k.Front)-max(g.Z0, k.Back) >= 0.5*t.D {
				return s, true
			}
		}
	}
	return product.NoSolid, false
}
