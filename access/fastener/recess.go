package fastener

import (
	"fmt"
	"math"
	"strconv"

	"stepscan/access/fastener/table"
)

// recess is the hollow that a tool enters.
type recess struct {
	drive Drive
	// a and b are what the drive's size is told by, mm: across flats (hex and
	// square), A and B (hexalobular), mouth width and core (cross), slot width
	// and length (slot).
	a, b  float64
	depth float64 // mm below the top
	typeZ bool    // of a cross: the second type of ISO 4757
	pin   bool    // of a hexalobular recess: a pin stands in its middle
}

// recessSections is how many cuts are made between the mouth and the floor.
const recessSections = 24

// recess looks for a hollow at the top of the part, about the axis. headR is
// the head's radius: what reaches so far is open to the side.
func (m *flat) recess(headR float64) recess {
	if n, floor, ok := m.aroundPin(headR); ok {
		if r := n.recessTo(floor, headR); r.drive == Hexalobular {
			r.pin = true
			return r
		}
	}
	if floor, ok := m.floor(); ok {
		return m.recessTo(floor, headR)
	}
	return recess{drive: NoDrive}
}

// recessTo reads the hollow between the top and its floor.
func (m *flat) recessTo(floor, headR float64) recess {
	span := m.z1 - floor
	if span < 0.04*headR {
		return recess{drive: NoDrive}
	}
	var found [recessSections]recess
	votes := map[Drive]int{}
	for i := range found {
		z := m.z1 - (float64(i)+0.5)/recessSections*span
		found[i] = grip(m.cut(z), headR)
		found[i].depth = m.z1 - z + 0.5*span/recessSections
		votes[found[i].drive]++
	}
	best := NoDrive
	for _, d := range [...]Drive{HexSocket, Hexalobular, Cross, Slot, Square, UnknownDrive} {
		if votes[d] > votes[best] || best == NoDrive && votes[d] >= recessSections/6 {
			best = d
		}
	}
	if best == NoDrive {
		return recess{drive: NoDrive}
	}
	for _, d := range [...]Drive{Hexalobular, Cross, Square} {
		if best == Slot && votes[d] >= recessSections/6 {
			best = d // a slot goes across it
		}
	}
	return settle(found[:], best)
}

// settle takes the size from the cuts that agree: the widest for the tapering
// cross recess, whose mouth is what the standard measures, the middle one
// otherwise.
func settle(found []recess, d Drive) recess {
	var same []recess
	for _, r := range found {
		if r.drive == d {
			same = append(same, r)
		}
	}
	out := same[len(same)/2]
	if d == Cross {
		notched := 0
		for _, r := range same {
			if r.typeZ {
				notched++
			}
			if r.a > out.a {
				out = r
			}
		}
		out.typeZ = 3*notched >= len(same)
	}
	for _, r := range same {
		if d == Cross || r.a > 0.93*out.a { // the floor's cone narrows and carries no tool
			out.depth = r.depth
		}
	}
	return out
}

// grip names the drive that one cut shows.
func grip(s *section, headR float64) recess {
	c := s.inner(headR)
	if c.Open > 0.45 || !(c.Min > 0) || math.IsInf(c.Min, 1) {
		return recess{drive: NoDrive}
	}
	ratio := c.Max / c.Min
	switch {
	case c.Fold == 2 && (c.Open > 0 || ratio > 2) && c.Min < 0.35*headR:
		return recess{drive: Slot, a: 2 * c.Min, b: 2 * min(headR, c.Max)}
	case c.Fold == 4 && c.Open > 0 && c.Min < 0.35*headR: // cut through to the rim: the mouth says nothing
		return recess{drive: Cross, b: 2 * c.Min}
	case c.Open > 0 || c.Fold == 0:
		return recess{drive: NoDrive}
	case c.Fold == 4 && ratio >= 1.55:
		return recess{drive: Cross, a: 2 * c.Max, b: 2 * c.Min, typeZ: s.typeZ()}
	case c.Fold == 4 && ratio >= 1.25:
		return recess{drive: Square, a: 2 * c.Min, b: 2 * c.Max}
	case c.Fold == 6 && ratio >= 1.09 && ratio < 1.21: // sharp hexagon: 1.155
		return recess{drive: HexSocket, a: 2 * c.Min, b: 2 * c.Max}
	case c.Fold == 6 && ratio < 1.7: // ISO 10664: A/B is 1.40 to 1.45
		return recess{drive: Hexalobular, a: 2 * c.Max, b: 2 * c.Min}
	case c.Fold == 3 || c.Fold == 5 || c.Fold == 12:
		return recess{drive: UnknownDrive, a: 2 * c.Max, b: 2 * c.Min}
	}
	return recess{drive: NoDrive}
}

// size names the size of the tool; d is the thread's nominal diameter, 0 where
// unknown.
func (r recess) size(d float64) string {
	switch r.drive {
	case HexSocket, Square:
		return flats(r.a, socketFlats)
	case Hexalobular:
		return lobe(r.a, r.b)
	case Cross:
		if r.typeZ {
			return "PZ" + cross(r.a, d)[2:]
		}
		return cross(r.a, d)
	case Slot:
		return blade(r.a, r.b)
	}
	return ""
}

// Nominal widths across flats, mm. Sockets: ISO 4762, 4026, 7380, 10642 and
// their inch brothers (ASME B18.3). Outside: ISO 272, the old DIN widths, and
// ASME B18.2.
var (
	socketFlats = []float64{
		0.7, 0.9, 1.3, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 17, 19,
		0.889, 1.27, 1.5875, 1.98438, 2.38125, 2.77813, 3.175, 3.57188, 3.96875, 4.7625, 5.55625, 6.35, 7.9375, 9.525,
	}
	outerFlats = []float64{
		3, 3.2, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 21, 22, 24, 27, 30, 32, 36,
		4.7625, 6.35, 7.9375, 8.73125, 9.525, 11.1125, 12.7, 14.2875, 15.875, 19.05,
	}
)

// flats rounds a measured width across flats to a nominal one. Sockets are
// often drawn at the upper limit (2.58 for 2.5), hexagons at the lower one,
// so 4 % is allowed; the list's order settles a draw in favour of metric.
func flats(mm float64, nominal []float64) string {
	best, off := 0.0, 0.04
	for i, n := range nominal {
		o := math.Abs(mm-n) / n
		if inch := n != math.Round(n*10)/10; inch && o > 0.005 {
			continue // inch sizes only where they fit to the decimal
		}
		if o < off || i == 0 && o <= off {
			best, off = n, o
		}
	}
	if best == 0 {
		return fmt.Sprintf("%.2f", mm)
	}
	return sizeText(best)
}

// sizeText prints a nominal size; inch ones need four decimals.
func sizeText(mm float64) string { return strconv.FormatFloat(math.Round(mm*1e4)/1e4, 'g', -1, 64) }

// lobe is the hexalobular number nearest to A and, where tabulated, B.
func lobe(a, b float64) string {
	name, off := "", 0.08
	for _, l := range table.Lobes() {
		o := math.Abs(a-l.A) / l.A
		if l.B > 0 {
			o = (o + math.Abs(b-l.B)/l.B) / 2
		} else {
			o += 0.03 // sizes outside ISO 10664 are rare: they need the better fit
		}
		if o < off {
			name, off = l.Number, o
		}
	}
	return name
}

// crossMouth is the greatest mouth width m of each cross recess number, mm:
// between the largest of one number and the smallest of the next in ISO 7045
// and ISO 7046 (type H).
var crossMouth = []float64{2.35, 3.4, 5.7, 7.9}

// cross is the cross recess number: by the thread where the mouth is
// plausible for it or unknown (ISO 7045, ISO 7046), else by the mouth.
func cross(m, d float64) string {
	byMouth := 0
	for byMouth < len(crossMouth) && m > crossMouth[byMouth] {
		byMouth++
	}
	byThread := byMouth
	switch {
	case d <= 0:
	case d < 2.2:
		byThread = 0
	case d < 3.2:
		byThread = 1
	case d < 5.2:
		byThread = 2
	case d < 7:
		byThread = 3
	default:
		byThread = 4
	}
	if !mouthFits(m, byThread) {
		return fmt.Sprintf("PH%d", byMouth)
	}
	return fmt.Sprintf("PH%d", byThread)
}

// mouthFits reports whether a mouth of m mm can be a cross recess of number n:
// simple models draw it too small or too wide by up to a quarter. An unknown
// mouth (0) fits every number.
func mouthFits(m float64, n int) bool {
	if n < 0 || n > len(crossMouth) {
		return false
	}
	lo, hi := 0.0, math.Inf(1)
	if n > 0 {
		lo = 0.75 * crossMouth[n-1]
	}
	if n < len(crossMouth) {
		hi = 1.25 * crossMouth[n]
	}
	return m == 0 || m >= lo && m <= hi
}

// blades of ISO 2380-1 (from memory): tip thickness and width, mm.
var blades = [][2]float64{
	{0.4, 2.5}, {0.5, 3}, {0.6, 3.5}, {0.8, 4}, {1, 5.5}, {1.2, 6.5}, {1.2, 8}, {1.6, 10}, {2, 12},
}

// blade is the screwdriver blade for a slot n wide: the thickest that enters
// with some play, and not wider than the slot is long.
func blade(n, length float64) string {
	best := blades[0]
	for _, b := range blades {
		if b[0] <= 0.9*n && b[1] <= 1.1*length {
			best = b
		}
	}
	return fmt.Sprintf("%sx%s", trim(best[0]), trim(best[1]))
}

// trim prints a length with at most three decimals and no trailing zeros.
func trim(v float64) string { return fmt.Sprintf("%.4g", math.Round(v*1000)/1000) }
