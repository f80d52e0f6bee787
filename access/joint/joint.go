package joint

import "stepscan/access/product"

// Hold is what one fastener holds. It stands at the same index as its
// fastener.
type Hold struct {
	Fastener int
	// Passes are the solids whose clearance holes the shank goes through,
	// Bites those it grips by thread, insert or press fit; both in order from
	// the head along the shank, fasteners (nuts, washers) left out.
	Passes, Bites []product.SolidIndex
	// Mate is the fastener that it is screwed to (bolt to nut and back), -1
	// without. A rod with two nuts names its first.
	Mate int
	// Washers are the fasteners (kind washer) that it clamps.
	Washers []int
	// CaptiveNut is set on nuts that cannot turn or fall out by themselves
	// (trapped in a pocket, pressed in): no second tool is needed.
	CaptiveNut bool
	// Grip is the clamped length and Engagement the threaded one, mm.
	Grip, Engagement float64
	Evidence         []string
}

// Kind is how solids are joined, in the words of the report.
type Kind string

// The kinds.
const (
	Fastened Kind = "fastened"
	Press    Kind = "press"
	Contact  Kind = "contact"
	Thread   Kind = "thread"
	Declared Kind = "declared"
)

// Joint is a connection between solids.
type Joint struct {
	ID        string // "j1"
	Kind      Kind
	Solids    []product.SolidIndex
	Fasteners []int
	Text      string
	// Overlap is the nominal interference, mm on diameter, of a press fit.
	Overlap float64
}
