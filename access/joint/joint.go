package joint

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/joint/contact"
	"stepscan/access/product"
)

// Hold is what one fastener holds. It stands at the same index as its
// fastener.
type Hold struct {
	Fastener int
	// Passes are the solids whose clearance holes the shank goes through,
	// Bites those it grips by thread, insert or press fit; both in order from
	// the head along the shank, fasteners (nuts, washers) left out. A closed
	// cable tie passes what its loop goes round.
	Passes, Bites []product.SolidIndex
	// Against are the solids that it presses on without going through them: under
	// the tip of a set screw, under a nut.
	Against []product.SolidIndex
	// Layers are passed and bitten solids, in order along the shank, with where they lie.
	Layers []Layer
	// Mate is the fastener that it is screwed to (bolt to nut and back), -1
	// without. A rod with two nuts names its first.
	Mate int
	// Washers are the fasteners (kind washer) that it clamps.
	Washers []int
	// CaptiveNut is set on nuts that cannot turn by themselves (trapped in a
	// pocket, pressed in, one flat along a wall): no second tool is needed.
	CaptiveNut bool
	// Falls: nothing but its screw keeps a captive nut where it is.
	Falls bool
	// CaptiveHead is set on bolts with a nut whose head or neck cannot turn (in
	// a pocket, along a wall, a square neck in its hole): only the nut is turned.
	CaptiveHead bool
	// HeldBy is the solid that keeps a captive nut or head from turning; empty
	// where the nut's kind alone says that it is captive.
	HeldBy []product.SolidIndex
	// Grip is the clamped length, mm, washers included: from the bearing face
	// of the head (the rim of a countersunk one) to that of the nut or to the
	// part that is bitten; of a rod between its nuts; of a rivet all sheets. 0
	// where nothing is clamped.
	Grip float64
	// Engagement is the length of thread that holds, mm, of pins and inserts
	// the length in the hole.
	Engagement float64
	// Beyond is how far, mm, the tip goes past the end of the thread of a blind
	// hole: it would meet the bottom before the head meets its seat.
	Beyond   float64
	Evidence []string
}

// Layer is one part along a shank.
type Layer struct {
	Solid product.SolidIndex
	Bites bool
	// From and To, mm, are counted from the head's bearing face (the rim of a
	// countersunk head, the upper end of a rod): of what is passed the faces
	// about the hole, of what is bitten the thread as far as the shank is in it.
	From, To float64
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
	// Overlap is the nominal interference, mm on diameter, of a press fit;
	// negative is the play of a shaft in its hole.
	Overlap float64
	// Area is the area of contact, mm², Contact the surface of its largest patch,
	// and Normal, from the first solid to the second, that of a planar one. Fit is
	// the class of a shaft in its hole, "" without.
	Area    float64
	Contact contact.Kind
	Normal  mgl64.Vec3
	Fit     contact.Class
	// Releases: a declared joint that comes apart without harm, as its text says.
	Releases bool
}
