package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/table"
)

// dished reads a round ring as a conical spring washer: strong, of even
// thickness, hollow to one side, its bore a clearance for a thread. What DIN 6796
// has (from memory): 2.1 to 2.2 times as wide as its bore, the sheet 0.38 to
// 0.5 of the strip, hollow by 0.1 to 0.35 of the sheet. Disc springs (DIN 2093)
// have sheet of 0.2 to 0.36 of the strip and bores between the sizes.
func (m *flat) dished(s specimen) (specimen, bool) {
	const (
		steps          = 8
		thinS, thickS  = 0.37, 0.65 // sheet over strip
		wideLo, wideHi = 1.9, 2.5   // outer over inner diameter
		least, most    = 0.1, 0.5   // hollow over sheet
	)
	r0, r1 := s.Bore/2, s.outer/2
	if s.outer < wideLo*s.Bore || s.outer > wideHi*s.Bore {
		return s, false
	}
	var lo, hi [steps]float64
	for i := range steps {
		r := r0 + (float64(i)+0.5)/steps*(r1-r0)
		sin, cos := math.Sincos(0.3)
		lo[i], hi[i] = m.column(r*cos, r*sin)
	}
	sheet, slope := hi[0]-lo[0], (lo[steps-1]-lo[0])/(steps-1)
	for i := range steps {
		if !near(hi[i]-lo[i], sheet, 0.06, 0) || !near(lo[i]-lo[0], slope*float64(i), 0, 0.05*sheet) {
			return s, false
		}
	}
	hollow, strip := math.Abs(slope)*steps, r1-r0
	if sheet < thinS*strip || sheet > thickS*strip || hollow < least*sheet || hollow > most*sheet {
		return s, false
	}
	for _, t := range table.Threads() {
		if t.Metric() && t.IsClearance(s.Bore) {
			s.Size, s.Nominal, s.Head, s.needs, s.Confidence, s.Symmetric = t.Size, t.D, "spring", none, 0.75, false
			s.Evidence = append(s.Evidence[:0], fmt.Sprintf("dished ring Ø%s of sheet %s mm thick, hollow by %s mm, whose bore Ø%s is a clearance for %s",
				trim(s.outer), trim(sheet), trim(hollow), trim(s.Bore), t.Size))
			return s, true
		}
	}
	return s, false
}
