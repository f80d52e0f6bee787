package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// springPins are those of ISO 8752 (from memory): nominal diameter, the wall,
// and the greatest diameter of the free pin, mm. Coiled ones (ISO 8750) have
// the same diameters.
var springPins = []struct{ d, wall, free float64 }{
	{1, 0.2, 1.3}, {1.5, 0.3, 1.8}, {2, 0.4, 2.4}, {2.5, 0.5, 2.9}, {3, 0.6, 3.5}, {3.5, 0.75, 4}, {4, 0.8, 4.6}, {4.5, 1, 5.1}, {5, 1, 5.6}, {6, 1.2, 6.7},
	{8, 1.5, 8.8}, {10, 2, 10.8}, {12, 2.5, 12.8}, {13, 2.5, 13.8}, {14, 3, 14.8}, {16, 3, 16.8}, {18, 3.5, 18.9}, {20, 4, 20.9},
}

// springPin reads a tube that is slit from end to end. The wall and the
// chamfers of the standard tell it from contacts, bushes and rolled tubes, which
// need the holes that they fill.
func (m *flat) springPin(f geom.Frame, feat *feature.Part) (specimen, bool) {
	const slot = math.Pi / 3 // of the turn at most: wider ones are clips
	l := m.z1 - m.z0
	out := widestArc(feat.Inside(geom.Axis{O: f.O, D: f.Z}, 0.02, ringArc))
	in := widestArc(feat.Around(geom.Axis{O: f.O, D: f.Z}, 0.02, ringArc))
	d, wall := 2*out.R, out.R-in.R
	if d < 0.9 || d > 21 || l < 1.2*d || l > 14*d || in.R == 0 || wall < 0.06*d || wall > 0.3*d || m.r > 1.01*out.R+0.01 {
		return specimen{}, false
	}
	for _, t := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
		c := m.cut(m.z0 + t*l)
		g, ok := c.gap()
		if o := c.outer(); !ok || g.wide > slot || o.Min < 0.9*out.R {
			return specimen{}, false
		}
	}
	s := specimen{shank: d}
	s.Kind, s.Drive, s.Head, s.Symmetric = Pin, NoDrive, "spring", true
	s.Nominal, s.Length, s.Size = d, nominalLength(l), trim(math.Round(d*100)/100)+" mm"
	s.place(f, m, m.z1)
	s.Evidence = append(s.Evidence, fmt.Sprintf("tube Ø%s × %s mm with a wall of %s, slit from end to end", trim(d), trim(l), trim(wall)))
	s.needs, s.Confidence = needHole, 0.75
	if n, ok := springPinFor(d, wall); ok {
		s.Nominal, s.Size, s.shank = n, trim(n)+" mm", n // of the hole that it is pressed into
		if p := m.outline(); p.r[0] < 0.97*out.R && p.r[profileN-1] < 0.97*out.R {
			s.needs, s.Confidence = none, 0.85
			s.Designation = fmt.Sprintf("ISO 8752 %s×%s", trim(n), trim(s.Length))
			s.Evidence = append(s.Evidence, "both ends chamfered, the wall is that of ISO 8752 (from memory)")
		}
	}
	return s, true
}

// springPinFor is the nominal diameter of the pin that has this diameter and
// wall: drawn in its hole, or as wide as it is when free.
func springPinFor(d, wall float64) (nominal float64, ok bool) {
	least := math.Inf(1)
	for _, w := range springPins {
		off := math.Abs(wall-w.wall) / w.wall
		if d < 0.99*w.d || d > 1.01*w.free || off > 0.12 {
			continue
		}
		if d > 1.01*w.d {
			off += 0.03 // models are mostly drawn in the hole
		}
		if off < least {
			nominal, least, ok = w.d, off, true
		}
	}
	return nominal, ok
}
