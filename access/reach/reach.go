package reach

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom"
)

// Verdict is the answer for one fastener, in the words of the report.
type Verdict string

// The verdicts, best first.
const (
	Clear      Verdict = "clear"
	ClearAfter Verdict = "clear after"
	Turn       Verdict = "turn"
	TwoSided   Verdict = "two-sided"
	Blocked    Verdict = "blocked"
)

// Reach is the answer for one fastener with its evidence.
type Reach struct {
	Verdict Verdict
	Hidden  bool // the head cannot be seen from the side it is driven from
	// HiddenBy names the solids that cover the head as assembled.
	HiddenBy []product.SolidIndex
	// Side is the direction, unit, from which it is driven (towards the hand).
	Side mgl64.Vec3
	// Tool is the tool that fits, or the one that comes nearest to fitting.
	// It has no name where nothing has to be undone with a tool.
	Tool tool.Tool
	// Held: Tool has room to hold the fastener but not to turn it; the other
	// half of its joint is turned.
	Held bool
	// Axis is where Tool stands: from the point where it meets the fastener
	// towards the hand. It is the fastener's own axis but for pins, which may
	// be pushed from their far end.
	Axis geom.Axis
	// As is the trial of Tool as assembled: what a drawing of the problem
	// shows.
	As Trial
	// Tried are the trials of the catalogue's tools as assembled, commonest
	// first; Tool is one of them.
	Tried []Trial
	// Reached are the same trials, in the same order, among what is still
	// there when it is undone: where Reached[0] does not fit, only a less
	// common tool gets there. Empty where nothing does.
	Reached []Trial
	// After are the solids that must be off first, sorted.
	After []product.SolidIndex
	// Step is the round, from 0, in which the fastener comes out; -1 never.
	Step int
	// Why says the verdict in a sentence for people.
	Why string
}

// Part of the motion that limits a trial.
type Part string

// What can limit a trial.
const (
	ByTool   Part = "tool"    // the solid of driving
	BySwing  Part = "swing"   // the arm's sector
	ByWayOut Part = "way out" // the fastener's own way
)

// Trial is one tool tried at one fastener among given obstacles.
type Trial struct {
	Tool tool.Tool
	Fits bool
	// Tight: the clearance is smaller than the meshes can tell.
	Tight bool
	// Free and Needed are radii about the axis, mm (angles in rad for
	// BySwing), at the worst height, AtHeight mm above the meeting point. Free
	// is +Inf, and Limiter is NoSolid, where nothing stands within Margin of
	// the tool.
	Free, Needed, AtHeight float64
	Limit                  Part
	Section                string // name of the limiting section
	Limiter                product.SolidIndex
	At                     mgl64.Vec3 // the limiting point, root frame
	// Blockers are all solids that stand in the way, sorted.
	Blockers []product.SolidIndex
}

// Margin is how far round a tool obstacles are measured, mm: what is further
// off is no evidence of anything.
const Margin = 25.0

// Options say what the judgement is asked.
type Options struct {
	// Side is the side the person works from, towards the person; nil chooses
	// the side from which most fasteners come out.
	Side *mgl64.Vec3
	// Workers is how many cores are used; 0: all.
	Workers int
}

// Result is the judgement of a whole product from its working side.
type Result struct {
	Side    mgl64.Vec3 // the working side, towards the person
	Reaches []Reach    // same order as the fasteners
	Sides   []SideScore
	// Removed are the solids that come off from the working side without a
	// turn, in the order of their coming off.
	Removed []product.SolidIndex
	// Heaped: so many solids lie in each other's way that not all could be held
	// against each other. Where it was not tried, nothing leaves.
	Heaped bool
}

// SideScore is one candidate side with its counts.
type SideScore struct {
	Side                             mgl64.Vec3
	Clear, After, Turn, Two, Blocked int
	// TwoHere counts those of Two for which the product is not turned: one
	// of the two tools works from this side.
	TwoHere int
}
