package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/table"
)

// castle reads a hexagon nut whose upper end is slotted for a split pin, as DIN
// 935 has it: a whole hexagon, and above it six teeth that stand within it. The
// bore is that of a thread of its width: the slots are of no use without one.
func (w *cutUp) castle() (specimen, bool) {
	const (
		teeth       = 6
		least       = 3        // cuts through either
		slim, broad = 0.1, 0.8 // gap over tooth, rad
	)
	across, corner, whole, slotted := 0.0, 0.0, 0, 0
	for _, c := range w.sections() {
		switch o := c.outer(); {
		case o.Open == 0 && slotted > 0:
			return specimen{}, false
		case o.Open == 0:
			whole++
			if o.Fold == 6 && near(o.Max/o.Min, hexCorner, 0, 0.06) {
				across, corner = max(across, 2*o.Min), max(corner, o.Max)
			}
		default:
			l := c.beyond(0)
			if gap := 2*math.Pi/teeth - evenly(l, teeth); gap < slim || gap > broad || o.Max > 1.01*corner {
				return specimen{}, false
			}
			slotted++
		}
	}
	if across == 0 || whole < least || slotted < least || slotted > whole {
		return specimen{}, false
	}
	for _, b := range w.bores {
		if s, t, ok := w.nut("castle", b); ok && s.castleSize(w, b, t, across) {
			s.Evidence = append(s.Evidence, fmt.Sprintf("hexagon %s mm across flats with a bore Ø%s (%s) and %d slots across its upper end: for a split pin", trim(across), trim(b.d), s.Size, teeth))
			return s, true
		}
	}
	return specimen{}, false
}

// castleSize takes the thread whose spanner goes with the hexagon, and what the
// nut measures with it: DIN 935 is 0.8 to 1.3 d high (from memory).
func (s *specimen) castleSize(w *cutUp, b bore, t table.Thread, across float64) bool {
	if s.threadBySpanner(b, across); s.Size != t.Size {
		t, _ = table.ThreadOf(s.Size)
	}
	if !spannerOf(s.Size, across) || b.length() < 0.5*t.D || s.HeadH < 0.7*t.D || s.HeadH > 1.5*t.D {
		return false
	}
	s.Drive, s.DriveSize, s.across, s.Confidence = OuterHex, flats(across, outerFlats), across, 0.9
	return true
}

// spannerOf reports a width across flats of nuts of a size.
func spannerOf(size string, across float64) bool {
	for _, n := range table.Nuts() {
		if n.Size == size && near(across, n.S, 0.025, 0) {
			return true
		}
	}
	return false
}

// evenly is the mean width of n lugs that stand evenly about the axis, rad; 0
// where they are not n or stand otherwise.
func evenly(l []lug, n int) float64 {
	if len(l) != n {
		return 0
	}
	sum := 0.0
	for i, one := range l {
		next := l[(i+1)%n].at
		if off := math.Remainder(next-one.at-2*math.Pi/float64(n), 2*math.Pi); math.Abs(off) > 0.06 {
			return 0
		}
		sum += one.width
	}
	return sum / float64(n)
}
