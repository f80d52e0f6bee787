package fastener

import (
	"fmt"
	"math"
)

// thumbNut reads a knurled disc on a round collar, or a knurled disc alone, with
// a thread through it, as DIN 466 and DIN 467 have them: 3.3 to 4.2 d across the
// knurls, the collar 1.6 to 2.2 d (from memory). A gear has deeper teeth, and a
// wheel for a shaft a bore without the mouths of a thread.
func (w *cutUp) thumbNut() (specimen, bool) {
	const (
		shallow     = 0.07 // depth of a knurl over its radius: a gear of 60 teeth has that
		fewest      = 12   // notches
		slim, broad = 2.5, 4.8
		collarBroad = 2.6
	)
	s, t, ok := w.nut("knurled", w.bores[0])
	b := w.bores[0]
	if !ok || b.length() < 0.8*(w.z1-w.z0)-0.8*t.D || 2*w.r < slim*t.D || 2*w.r > broad*t.D || s.HeadH > 3*t.D {
		return specimen{}, false
	}
	notches, rim, collar := 0, 0, 0.0
	for _, c := range w.sections() {
		o := c.outer()
		switch n := c.knurl(); {
		case o.Open > 0:
			return specimen{}, false
		case n >= fewest && o.Max > 0.97*w.r && 1-o.Min/o.Max < shallow:
			if notches > 0 && n != notches {
				return specimen{}, false
			}
			notches, rim = n, rim+1
		case o.Min > 0.97*o.Max && rim == 0: // below the rim
			collar = max(collar, 2*o.Max)
		case o.Min < 0.9*o.Max:
			return specimen{}, false
		}
	}
	if rim < 4 || collar > collarBroad*t.D || collar == 0 && rim < piercedCuts-4 {
		return specimen{}, false
	}
	if !b.atMinor(t) && w.openMouths(b.d, t) < 2 {
		return specimen{}, false // a knob or a wheel on a plain shaft
	}
	s.Length = math.Round((w.z1-w.z0)*1000) / 1000
	s.Evidence = append(s.Evidence, fmt.Sprintf("disc Ø%s with %d notches on its rim, on a collar Ø%s, with a bore Ø%s (%s)", trim(2*w.r), notches, trim(collar), trim(b.d), t.Size))
	return s, true
}
