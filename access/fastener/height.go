package fastener

import "stepscan/access/fastener/table"

// Heads are at most so high, over the thread's nominal diameter. Hexagons are
// 0.6 d to 0.75 d (ISO 4014, ASME B18.2.1), squares up to d (DIN 479, from
// memory); what is higher on an even prism is a spacer with a stud. A flange or
// collar is no spacer's: with one hexagons reach 1.1 d (EN 1665, from memory),
// squares 1.3 d (DIN 478, from memory).
const (
	headHigh   = 1.1
	flangeHigh = 1.4
	flangeWide = 1.25 // over the flats: more than any corner but a square's
)

// highest is the limit for a head of flats, over the nominal diameter.
func (h headShape) highest(headR float64) float64 {
	corner := 1.0
	if h.name == "square" {
		corner = 1.4142 / hexCorner
	}
	if 2*headR > flangeWide*corner*h.flats {
		return flangeHigh
	}
	return headHigh
}

// threadOf is the nominal diameter of the thread that a shank most likely has,
// however it is drawn: a shank at d3 has a head that is high for it. A shank of
// no thread's diameter is taken as it is.
func threadOf(shank float64) float64 {
	if t := table.Shank(shank); len(t) > 0 {
		return max(shank, t[0].D)
	}
	return shank
}
