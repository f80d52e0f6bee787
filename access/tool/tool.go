package tool

import "math"

// Section is a slice of a tool's solid of driving: a ring of radius R between
// two heights above the point where the tool meets the fastener (mm, along the
// way out).
type Section struct {
	From, To float64 // mm, From < To; may be +Inf at the top
	R        float64 // mm
	Name     string  // "bit", "holder", "handle", "hand"
}

// Swing is the flat sector that an arm (key, spanner) sweeps about the axis.
type Swing struct {
	From, To float64 // mm above the meeting point
	R        float64 // mm, the arm's reach
	HalfW    float64 // mm, half the arm's width
	Arc      float64 // rad, the least free sector that still turns the fastener
	Name     string

	// Head is an open head that turns with the arm, at the arm's heights; nil
	// for a head that is round about the axis and stands among the Sections.
	Head []Bar
	// Offset is the angle, rad, between the arm and the line of the mouth. The
	// tool may be turned over: to either side.
	Offset float64
}

// Bar is a rectangle of an open head, mm, seen along the axis: From to To along
// the way in which the mouth opens, 0 on the axis, HalfW to both sides. Where
// the arm points away from the mouth, From is negative.
type Bar struct{ From, To, HalfW float64 }

// HoldArc is the free sector, rad, that a tool needs which only holds its
// fastener while the other half of the joint is turned. The fastener goes
// along until the tool can be put on and rests, so it needs a place and some
// degrees to reach it: common practice.
const HoldArc = 5 * math.Pi / 180

// Entry is how a tool comes to its fastener.
type Entry int

// The entries.
const (
	// Along the axis from outside: whatever lies above a section must let its
	// radius pass as well.
	Along Entry = iota
	// Across, from the side in which its arm lies, then down by Lift: only
	// its own heights and Lift above them count.
	Across
)

// Tool is one tool in one size.
type Tool struct {
	Name     string // "bit T10 in 1/4 in holder"
	Sections []Section
	Swing    *Swing // nil for tools that only turn about the axis
	Source   string

	Entry Entry
	// Lift is how far, mm, a tool that comes Across is raised to get it off
	// the fastener.
	Lift float64
	// FarEnd is set on tools that push: they stand at the fastener's far end
	// and the fastener leaves away from them (pin punch).
	FarEnd bool
	// Assumed says that the drive or its size is not modelled and that the
	// usual one of the thread was taken.
	Assumed bool
}
