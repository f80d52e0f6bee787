package fastener

import "fmt"

// thumbNut reads a disc with even notches all round it and a bore that is cut
// and chamfered for a thread, as DIN 466 and DIN 467 have it; it may stand on a
// collar. Knobs and gears have bores for shafts, which are no tapping drill's.
func (w *cutUp) thumbNut() (specimen, bool) {
	const (
		slim, wide  = 2.2, 5.0 // width over the thread's diameter
		flatS, high = 0.5, 3.0 // height over it
		seenLeast   = piercedCuts / 5
	)
	b := w.bores[0]
	s, t, ok := w.nut("knurled", b)
	if !ok || len(w.bores) > 1 || 2*w.r < slim*t.D || 2*w.r > wide*t.D || s.Length < flatS*t.D || s.Length > high*t.D {
		return specimen{}, false
	}
	if !b.atMinor(t) || w.openMouths(b.d, t) < 2 {
		return specimen{}, false
	}
	teeth, seen := 0, 0
	for _, c := range w.sections() {
		o := c.outer()
		switch n := c.evenNotches(); {
		case o.Open > 0:
			return specimen{}, false
		case n > 0 && o.Max > 0.98*w.r:
			teeth, seen = n, seen+1
		case o.Min < 0.97*o.Max:
			return specimen{}, false // neither round nor a knurl
		}
	}
	if seen < seenLeast {
		return specimen{}, false
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("disc Ø%s with %d notches round it, to be turned by hand, its bore Ø%s tapped for %s and chamfered at both ends", trim(2*w.r), teeth, trim(b.d), t.Size))
	return s, true
}
