package fastener

import (
	"fmt"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// clevisPins are the diameters of ISO 2341, mm (from memory).
var clevisPins = []float64{3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24}

// clevis reads a smooth pin with a flat round head at the upper end and a hole
// for a split pin across its other end, as ISO 2341 B has it. A screw has no
// such hole, and a shaft no such head.
func (m *flat) clevis(f geom.Frame, feat *feature.Part) (specimen, bool) {
	o, ok := m.silhouette()
	if !ok || o.sunk {
		return specimen{}, false
	}
	o.shankR = exactShank(o.shankR, f, feat)
	d, l, high := 2*o.shankR, o.seat-m.z0, m.z1-o.seat
	n := nominalRivet(d, clevisPins)
	// ISO 2341, from memory: heads 1.5 to 2 d wide and 0.25 to 0.45 d high.
	if n == 0 || l < 1.5*d || o.headR < 0.65*d || o.headR > 1.05*d || high < 0.2*d || high > 0.5*d {
		return specimen{}, false
	}
	hole, ok := m.crossHole(o)
	if !ok || hole < 0.15*d || hole > 0.45*d || m.recess(o.headR).drive != NoDrive || m.readThread(m.z0, o.seat, d).pitch > 0 {
		return specimen{}, false
	}
	for _, t := range []float64{0.55, 0.8} {
		if c := m.cut(m.z0 + t*l).outer(); c.Open > 0 || c.Min < 0.97*o.shankR {
			return specimen{}, false
		}
	}
	s := specimen{shank: d}
	s.Kind, s.Drive, s.Head, s.Confidence = Pin, NoDrive, "clevis", 0.8
	s.Size, s.Nominal, s.Length = trim(n)+" mm", n, nominalLength(l)
	s.HeadD, s.HeadH = 2*o.headR, high
	s.place(f, m, m.z1)
	s.seat = o.seat - m.z1
	s.Evidence = append(s.Evidence, fmt.Sprintf("smooth shank Ø%s × %s mm with a head Ø%s and a hole Ø%s across its end for a split pin", trim(d), trim(l), trim(2*o.headR), trim(hole)))
	return s, true
}

// crossHole is the diameter of one round hole across the axis in the lower half
// of the shank, near its end.
func (m *flat) crossHole(o silhouette) (d float64, ok bool) {
	const cuts = 80
	step := 0.5 * (o.seat - m.z0) / cuts
	first, last := -1, -1
	for i := range cuts {
		if !m.hollowAt(m.z0 + (float64(i)+0.5)*step) {
			continue
		}
		if last >= 0 && last != i-1 {
			return 0, false // two holes
		}
		if first < 0 {
			first = i
		}
		last = i
	}
	if first < 1 || last < first+1 || last >= cuts-1 {
		return 0, false
	}
	lo := m.turn(m.z0+(float64(first)-0.5)*step, m.z0+(float64(first)+0.5)*step)
	hi := m.turn(m.z0+(float64(last)+1.5)*step, m.z0+(float64(last)+0.5)*step)
	wall := m.cut((lo + hi) / 2).nearestWall()
	return hi - lo, near(2*wall, hi-lo, 0.08, 0.05) && (lo+hi)/2-m.z0 < 2*o.shankR
}
