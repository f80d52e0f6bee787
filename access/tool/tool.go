package tool

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
}

// Tool is one tool in one size.
type Tool struct {
	Name     string // "bit T10 in 1/4 in holder"
	Sections []Section
	Swing    *Swing // nil for tools that only turn about the axis
	Source   string
}
