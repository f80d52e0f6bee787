package fastener

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
)

// Kind is what a fastener is, in the words of the report.
type Kind string

// The kinds.
const (
	Screw    Kind = "screw"
	Bolt     Kind = "bolt" // a screw that goes with a nut, or has an outer hexagon and a shank of its own
	Nut      Kind = "nut"
	Washer   Kind = "washer"
	Stud     Kind = "stud"
	SetScrew Kind = "set screw"
	Pin      Kind = "pin"
	Rivet    Kind = "rivet"
	Ring     Kind = "ring"
	Insert   Kind = "insert"
	Clip     Kind = "clip"
	StandOff Kind = "stand-off"
	CableTie Kind = "cable tie"
)

// Drive is where the tool grips, in the words of the report.
type Drive string

// The drives.
const (
	HexSocket    Drive = "hex socket"
	Hexalobular  Drive = "hexalobular"
	Cross        Drive = "cross"
	Slot         Drive = "slot"
	OuterHex     Drive = "outer hex"
	Square       Drive = "square"
	NoDrive      Drive = "none"    // the kind needs none: washer, pin
	UnknownDrive Drive = "unknown" // it should have one, but none is modelled
	// Combination takes any of several tools; DriveSize lists them all ("PH2 + 1.2").
	Combination Drive = "combination"
	// PinHexalobular needs a bit with a bore for the pin in its middle.
	PinHexalobular Drive = "hexalobular with pin"
)

// Fastener is one recognised fastener, in the root's frame.
type Fastener struct {
	ID     string // "f1", in the order of the occurrences
	Solids []product.SolidIndex
	Kind   Kind
	Head   string // "cylindrical", "pan", "countersunk", "hexagon", ... ; "" for headless kinds
	// Size is the thread's designation ("M4"), or the diameter ("3 mm") for
	// pins and for threads of no standard; "" where it could not be told.
	Size        string
	Designation string // "ISO 4762 M4×12"; "" where no table fits
	// Thread is the family of that size; UnknownThread for what has none.
	Thread    Thread
	Drive     Drive
	DriveSize string // "3" (mm across flats), "T10", "PH1", "0.8x4"; "" unknown
	// Grips lists what a Combination offers, best first; nil for other drives.
	Grips []Grip
	// Axis goes through Point; D points the way the fastener leaves, from the
	// work towards the hand. For a nut, washer or pin either way may be meant:
	// Symmetric is then true and joint settles the sense.
	Axis      geom.Axis
	Symmetric bool
	// Point is on the axis where the tool meets the fastener: the recess's
	// mouth or the top of the head (contract: point_mm). Axis.O == Point.
	Point mgl64.Vec3
	// Nominal is the thread's or shank's diameter, mm.
	Nominal float64
	// Length is the nominal length, mm: under the head, or over all for
	// countersunk and headless kinds; the thickness of a nut, washer or ring; of a
	// stand-off that of its body.
	Length float64
	// HeadD and HeadH are the head's greatest diameter (over corners) and
	// height below Point, mm; 0 without a head. Of a stand-off with a stud the
	// body is meant, of a ring what passes out with it and its thickness.
	HeadD, HeadH float64
	// RecessDepth is how deep the tool enters below Point, mm; 0 for outer
	// drives.
	RecessDepth float64
	// Back and Front are the heights, mm, along Axis.D from Point, between
	// which the whole fastener lies: Back <= 0 is its tip, Front >= 0 its top.
	Back, Front float64
	// Bore is the inner diameter of nuts and washers, mm.
	Bore       float64
	Confidence float64 // 0 to 1
	Evidence   []string
	// Conflict is what the name says against the shape, with both statements; ""
	// where they agree or the name says nothing.
	Conflict string
}
