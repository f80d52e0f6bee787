package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/table"
)

// dished reads a round ring of even thickness whose faces are two like cones: a
// conical spring washer. Of a standard's measures it stands for itself; what
// else is dished needs its head or nut, as any ring of no table.
func (m *flat) dished(s specimen) (specimen, bool) {
	sheet, rise, ok := m.cones(s.Bore/2, s.outer/2)
	if !ok {
		return s, false
	}
	for _, w := range table.Washers() {
		if w.Head == "conical" && ringFits(w, s.Bore, s.outer) && near(sheet, w.H, 0.06, 0.05) {
			s.Head, s.Size, s.Designation, s.fits, s.needs, s.Confidence = "spring", w.Size, w.Standard+" "+w.Size, true, none, 0.9
			if t, ok := table.ThreadOf(w.Size); ok {
				s.Nominal = t.D
			}
			s.Evidence = append(s.Evidence[:0], fmt.Sprintf("dished ring Ø%s with a bore Ø%s, %s mm thick, its bore %s mm above its rim: %s is %s × %s, bore %s",
				trim(s.outer), trim(s.Bore), trim(sheet), trim(rise), s.Designation, trim(w.D2), trim(w.H), trim(w.D1)))
			return s, true
		}
	}
	return s, false
}

// cones measures a ring between two radii: its thickness along the axis, and how
// far it rises from rim to bore, which is less than steep of its width.
func (m *flat) cones(r0, r1 float64) (sheet, rise float64, ok bool) {
	const (
		steps = 6
		steep = 0.35 // DIN 6796 has 0.1 to 0.15, disc springs of DIN 2093 up to 0.3 (from memory)
	)
	var lo, hi [steps]float64
	for i := range steps {
		r := r0 + (float64(i)+0.5)/steps*(r1-r0)
		sin, cos := math.Sincos(0.3)
		lo[i], hi[i] = m.column(r*cos, r*sin)
	}
	sheet = hi[0] - lo[0]
	slope := (lo[steps-1] - lo[0]) / (steps - 1)
	for i := range steps {
		want := lo[0] + float64(i)*slope
		if !near(lo[i], want, 0, 0.04*sheet) || !near(hi[i]-lo[i], sheet, 0.05, 0) {
			return 0, 0, false
		}
	}
	rise = math.Abs(slope) * steps
	return sheet, rise, sheet > 0 && rise > 0.1*sheet && rise < steep*(r1-r0)
}

// ringFits compares a ring's bore and rim, mm, with a row. Bores are made to H14
// and rims to h14 at the most (ISO 4759-3): models are drawn anywhere between.
func ringFits(w table.Washer, bore, outer float64) bool {
	return (near(bore, w.D1, 0.02, 0.1) || bore > w.D1 && bore <= w.D1+it14(w.D1)) &&
		(near(outer, w.D2, 0.02, 0.1) || outer < w.D2 && outer >= w.D2-it14(w.D2))
}

// it14 is the tolerance of grade 14 for a diameter, mm (ISO 286-1, table 1).
func it14(d float64) float64 {
	for _, row := range []struct{ upTo, it float64 }{{3, 0.25}, {6, 0.3}, {10, 0.36}, {18, 0.43}, {30, 0.52}, {50, 0.62}} {
		if d <= row.upTo {
			return row.it
		}
	}
	return 0.74
}
