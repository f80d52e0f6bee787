package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// eyed reads a head with a round hole right through it, across the axis: what
// is about the hole is as round as it. A lever's or a connecting rod's end has
// the same shape; how long and thick the shank is tells them apart, and in the
// end the thread.
func (m *flat) eyed(s *specimen, o silhouette) (handHead, bool) {
	const (
		smallest, largest = 0.7, 3.5 // the bore over the shank's diameter: 1 (DIN 444) to 2.5 (DIN 580)
		rimMin            = 0.25     // the rim about it, over the same
		round             = 0.06
	)
	lo, hi, ok := m.window(o.seat)
	if !ok {
		return handHead{}, false
	}
	b, mid := hi-lo, (lo+hi)/2
	e := handHead{dk: 2 * (m.z1 - mid), bore: b}
	if b < smallest*s.shank || b > largest*s.shank || e.dk-b < 2*rimMin*s.shank {
		return handHead{}, false
	}
	c := m.cut(mid)
	l := c.line(c.open)
	if l.n == 0 || l.coherence < 0.1 || l.lean > 0.1 {
		return handHead{}, false
	}
	if !near(2*c.nearestWall(), b, round, 0) || !near(2*m.cut(mid+0.35*b).nearestWall(), 2*math.Sqrt(0.25-0.35*0.35)*b, 2*round, 0) {
		return handHead{}, false // no round hole
	}
	if side := c.Out[l.across()]; !near(2*side, e.dk, 2*round, 0) {
		return handHead{}, false // no round eye
	}
	s.Kind, s.Head = Bolt, "eye"
	if !m.collared(o) { // DIN 444 counts from the hole, DIN 580 from its seat
		s.Length = nominalLength(mid - m.z0)
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("an eye Ø%s with a hole of Ø%s across the axis, on a shank Ø%s", trim(e.dk), trim(b), trim(s.shank)))
	return e, true
}

// window is where a hole across the axis opens it, between solid below and solid
// above.
func (m *flat) window(from float64) (lo, hi float64, ok bool) {
	const cuts = 40
	step := (m.z1 - from) / cuts
	first, last := -1, -1
	for i := range cuts {
		if m.hollowAt(from + (float64(i)+0.5)*step) {
			if first < 0 {
				first = i
			}
			if last >= 0 && last != i-1 {
				return 0, 0, false // two holes
			}
			last = i
		}
	}
	if first < 1 || last < first+2 || last >= cuts-1 {
		return 0, 0, false
	}
	lo = m.turn(from+(float64(first)-0.5)*step, from+(float64(first)+0.5)*step)
	hi = m.turn(from+(float64(last)+1.5)*step, from+(float64(last)+0.5)*step)
	return lo, hi, true
}

// turn is the height between a solid and a hollow one at which the axis becomes
// free.
func (m *flat) turn(solid, hollow float64) float64 {
	for range 16 { // a 65,000th of a cut's distance
		if z := (solid + hollow) / 2; m.hollowAt(z) {
			hollow = z
		} else {
			solid = z
		}
	}
	return (solid + hollow) / 2
}

// nearestWall is the least distance of a wall that faces the axis, mm.
func (s *section) nearestWall() float64 {
	r := math.Inf(1)
	for k := range s.In {
		if s.Void[k] {
			r = min(r, s.In[k])
		}
	}
	return r
}

// collared reports a flat seat under the head.
func (m *flat) collared(o silhouette) bool {
	for _, l := range m.levels() {
		if !l.up && l.z == o.seat && l.rMax > 1.3*o.shankR {
			return true
		}
	}
	return false
}

// eyeOfWire trusts an eye that is a ring of round wire, no thicker than the shank
// below it: levers and rods have flat ends.
func (s *specimen) eyeOfWire(f geom.Frame, feat *feature.Part, e handHead) {
	wire := (e.dk - e.bore) / 2
	if s.needs != needThread || wire > s.shank {
		return
	}
	for i := range feat.Faces {
		t := &feat.Faces[i]
		ring := t.Kind == feature.Torus && near(2*t.R2, wire, 0.05, 0) && near(2*t.R, e.dk-wire, 0.03, 0)
		if ring && math.Abs(t.Axis.D.Dot(f.Z)) < 0.02 && t.Area > 0.8*4*math.Pi*math.Pi*t.R*t.R2 {
			s.needs, s.Confidence = none, 0.6
			s.Evidence = append(s.Evidence, fmt.Sprintf("the eye is a ring of wire Ø%s, the tip of the shank is chamfered", trim(wire)))
			return
		}
	}
}
