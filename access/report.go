package access

import (
	"math"
	"strconv"

	"github.com/go-gl/mathgl/mgl64"
)

// Format names the report's layout and its version.
const Format = "stepscan.report/1"

// Number is a measured value. It is written rounded to a millionth, so that
// the last bits of two processors do not make two reports, and as null where
// it is not known (NaN) or not finite.
type Number float64

// Unknown is the value that is written as null.
func Unknown() Number { return Number(math.NaN()) }

// MarshalJSON writes the rounded value or null.
func (n Number) MarshalJSON() ([]byte, error) {
	f := float64(n)
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	if math.Abs(f) > 1e15 { // all digits are before the point, or the file is damaged
		return strconv.AppendFloat(nil, f, 'g', -1, 64), nil
	}
	f = math.Round(f*1e6) / 1e6
	if f == 0 {
		f = 0 // no "-0"
	}
	return strconv.AppendFloat(nil, f, 'f', -1, 64), nil
}

// Vector is a position in mm or a direction.
type Vector [3]Number

func vector(v mgl64.Vec3) Vector { return Vector{Number(v[0]), Number(v[1]), Number(v[2])} }

// Report is everything that was found, in the words and units of the contract:
// mm, mm², mm³, g, s; directions are unit vectors; positions stand in the
// root's frame, a part's own values in the part's. Lists are never nil, so that
// an empty one is written as [] and not as null; what few files have (attributes,
// layers, transparency, reference designators, evidence of a material, names
// that are shown otherwise) is left out where there is none.
type Report struct {
	Format      string       `json:"format"`
	Program     Program      `json:"program"`
	Source      Source       `json:"source"`
	Notes       *Notes       `json:"notes,omitempty"` // what the user's file overruled
	Read        Read         `json:"read"`
	Parts       []Part       `json:"parts"`
	Occurrences []Occurrence `json:"occurrences"`
	Fasteners   []Fastener   `json:"fasteners"`
	Joints      []Joint      `json:"joints"`
	Plan        *Plan        `json:"plan"` // null: not planned
	Targets     []Target     `json:"targets"`
	Materials   []Material   `json:"materials"`
	Findings    []Finding    `json:"findings"`
	Counts      *Counts      `json:"counts"` // null: not judged
	// Sides are the candidate working sides, the chosen one first.
	Sides   []Side  `json:"sides"`
	Verdict Verdict `json:"verdict"`
}

// Program says who wrote the report.
type Program struct {
	Version string `json:"version"`
}

// Notes says that the judgement rests on a notes file as well.
type Notes struct {
	File   string `json:"file"` // name only
	Parts  int    `json:"parts"`
	Joints int    `json:"joints"`
}

// Source identifies the file that was read.
type Source struct {
	File         string   `json:"file"`
	SHA256       string   `json:"sha256"`
	Bytes        int64    `json:"bytes"`
	Schemas      []string `json:"schemas"`
	System       string   `json:"system"`
	Preprocessor string   `json:"preprocessor"`
	Written      string   `json:"written"`
	LengthUnit   string   `json:"length_unit"`
	// LengthUnitAssumed says that the file has shapes without a length unit,
	// whose figures are taken for mm.
	LengthUnitAssumed bool `json:"length_unit_assumed,omitempty"`
}

// Read says on how much of the file the answers rest.
type Read struct {
	Solids        int `json:"solids"`
	SolidsMeshed  int `json:"solids_meshed"`
	Faces         int `json:"faces"`
	FacesMeshed   int `json:"faces_meshed"`
	FacesRepaired int `json:"faces_repaired"`
	// BoxMM is round the exact surfaces of all meshed solids, in the root's frame;
	// left out without any.
	BoxMM   *[6]Number `json:"box_mm,omitempty"`
	Skipped []Skip     `json:"skipped"`
	// Aside is how many of Skipped are no part of the product's shape, such as
	// annotations.
	Aside int `json:"-"`
}

// Skip is something that was not used, or used only after repair.
type Skip struct {
	ID     string `json:"id"`
	Line   int    `json:"line"`
	Entity string `json:"entity"`
	Why    string `json:"why"`
}

// Attribute is something that a user of the writing system noted. Value and
// unit are the file's own: nothing is converted.
type Attribute struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// Part is a unique shape or a node of the structure.
type Part struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	Solids     int     `json:"solids"`
	Faces      int     `json:"faces"`
	VolumeMM3  Number  `json:"volume_mm3"`
	AreaMM2    Number  `json:"area_mm2"`
	CentroidMM *Vector `json:"centroid_mm"`
	// InertiaMM5 is the tensor about the centroid for a density of 1: xx, yy, zz,
	// xy, yz, zx, the products of inertia with a minus; null without a volume.
	InertiaMM5 *[6]Number `json:"inertia_mm5"`
	// BoxMM is that of the exact surface, not of the mesh.
	BoxMM        *[6]Number `json:"box_mm"`
	Closed       bool       `json:"closed"`
	Triangles    *int       `json:"triangles"`
	ChordMM      Number     `json:"chord_mm"`
	Material     string     `json:"material"`
	MaterialFrom string     `json:"material_from"`
	// DensityKgM3 is null where it is not known; MassG is density times volume,
	// or the mass that an attribute gives, null where neither is known.
	DensityKgM3 Number `json:"density_kg_m3"`
	MassG       Number `json:"mass_g"`
	Color       string `json:"color"`
	// MaterialEvidence says which of material, density and mass are only what
	// somebody wrote into an attribute.
	MaterialEvidence []string    `json:"material_evidence,omitempty"`
	Transparency     Number      `json:"transparency,omitempty"` // 1: invisible
	Layers           []string    `json:"layers,omitempty"`
	Attributes       []Attribute `json:"attributes,omitempty"`
	// RawName is the file's own name as decoded, where Name is another.
	RawName string `json:"raw_name,omitempty"`
}

// Occurrence is one placed use of a part.
type Occurrence struct {
	ID        string     `json:"id"`
	Parent    *string    `json:"parent"` // null for the root
	Part      string     `json:"part"`
	Name      string     `json:"name"`
	Path      string     `json:"path"`
	Placement [12]Number `json:"placement"`
	Depth     int        `json:"depth"`
	// BoxMM is that of the exact surface as it is placed, in the root's frame;
	// left out where the use has no shape of its own.
	BoxMM *[6]Number `json:"box_mm,omitempty"`
	// Of this use alone; those of its part stand there.
	ReferenceDesignator string      `json:"reference_designator,omitempty"`
	Layers              []string    `json:"layers,omitempty"`
	Attributes          []Attribute `json:"attributes,omitempty"`
	// RawName is what the file has for this use as decoded, be it only a number,
	// where Name is another.
	RawName string `json:"raw_name,omitempty"`
}

// Fastener is one fastener with what it holds and how it is reached.
type Fastener struct {
	ID          string   `json:"id"`
	Occurrences []string `json:"occurrences"`
	Kind        string   `json:"kind"`
	Head        string   `json:"head"`
	Size        string   `json:"size"`
	// Thread is the family of the size: metric, inch, tapping, plastics, or ""
	// where there is none or it is not known.
	Thread      string `json:"thread"`
	Designation string `json:"designation"`
	Drive       string `json:"drive"`
	DriveSize   string `json:"drive_size"`
	// DriveAlso are the further grips of a combination drive, best first.
	DriveAlso []Grip `json:"drive_also,omitempty"`
	// DriveBore: a pin stands in the recess, so the bit or key needs a bore.
	DriveBore  bool     `json:"drive_bore,omitempty"`
	Axis       Vector   `json:"axis"`
	PointMM    Vector   `json:"point_mm"`
	LengthMM   Number   `json:"length_mm"`
	Confidence Number   `json:"confidence"`
	Evidence   []string `json:"evidence"`
	Passes     []string `json:"passes"`
	Bites      []string `json:"bites"`
	Mate       *string  `json:"mate"`
	// Washers are the fasteners of that kind that it clamps.
	Washers []string `json:"washers"`
	// GripMM is the length that it clamps, washers included; EngagementMM that of
	// the thread that holds, of pins and inserts that in the hole. Null where
	// there is none.
	GripMM       Number `json:"grip_mm"`
	EngagementMM Number `json:"engagement_mm"`
	// Captive: a nut, or a bolt's head, that cannot turn: nobody has to hold it.
	Captive bool  `json:"captive"`
	Reach   Reach `json:"reach"`
}

// Grip is a drive in the words of the contract, with its size.
type Grip struct {
	Drive     string `json:"drive"`
	DriveSize string `json:"drive_size"`
}

// Reach is the answer to: can a real tool get there?
type Reach struct {
	Verdict  string   `json:"verdict"`
	Hidden   bool     `json:"hidden"`
	HiddenBy []string `json:"hidden_by"`
	Side     Vector   `json:"side"`
	Tool     string   `json:"tool"`
	// Held: the tool has room to hold the fastener and not to turn it.
	Held bool `json:"held"`
	// FreeMM and NeededMM are radii about the axis; null where the limit is an
	// arm's swing, whose angles stand in FreeDeg and NeededDeg.
	FreeMM    Number   `json:"free_mm"`
	NeededMM  Number   `json:"needed_mm"`
	FreeDeg   Number   `json:"free_deg"`
	NeededDeg Number   `json:"needed_deg"`
	HeightMM  Number   `json:"height_mm"`
	Tight     bool     `json:"tight"`
	Limiter   *string  `json:"limiter"`
	After     []string `json:"after"`
	Why       string   `json:"why"`
	Tried     []Trial  `json:"tried"`
}

// Trial is one tool of the catalogue tried as assembled.
type Trial struct {
	Tool      string  `json:"tool"`
	Fits      bool    `json:"fits"`
	Tight     bool    `json:"tight"`
	Limit     string  `json:"limit"`
	FreeMM    Number  `json:"free_mm"`
	NeededMM  Number  `json:"needed_mm"`
	FreeDeg   Number  `json:"free_deg"`
	NeededDeg Number  `json:"needed_deg"`
	Limiter   *string `json:"limiter"`
}

// Joint is a connection between occurrences.
type Joint struct {
	ID          string   `json:"id"`
	Kind        string   `json:"kind"`
	Occurrences []string `json:"occurrences"`
	Fasteners   []string `json:"fasteners"`
	Text        string   `json:"text"`
	// AreaMM2 is the area on which the parts touch, Contact the surface of the
	// largest patch (planar, cylindrical, other) and Normal, from the first
	// occurrence to the second, that of a planar one. OverlapMM is the nominal
	// interference on diameter of a shaft in its hole, negative for play, and Fit
	// its class (clearance, transition, interference, bite). All are left out where they
	// are not known: fasteners' joints have none.
	AreaMM2   *Number `json:"area_mm2,omitempty"`
	Contact   string  `json:"contact,omitempty"`
	Normal    *Vector `json:"normal,omitempty"`
	OverlapMM *Number `json:"overlap_mm,omitempty"`
	Fit       string  `json:"fit,omitempty"`
}

// Plan is the order in which the product comes apart.
type Plan struct {
	Side        Vector   `json:"side"`
	Turns       int      `json:"turns"`
	Tools       []string `json:"tools"`
	ToolChanges int      `json:"tool_changes"`
	Seconds     Number   `json:"seconds"`
	TimeSource  string   `json:"time_source"`
	Complete    bool     `json:"complete"`
	Steps       []Step   `json:"steps"`
	Stuck       []Stuck  `json:"stuck"`
}

// Step is one action of a plan.
type Step struct {
	N           int      `json:"n"`
	Do          string   `json:"do"`
	Occurrences []string `json:"occurrences"`
	Direction   Vector   `json:"direction"`
	TravelMM    Number   `json:"travel_mm"`
	Tool        string   `json:"tool"`
	Seconds     Number   `json:"seconds"`
	Why         string   `json:"why"`
}

// Stuck is what never comes out.
type Stuck struct {
	Occurrences []string `json:"occurrences"`
	Why         string   `json:"why"`
}

// Target is a part to get out, and how soon it is.
type Target struct {
	Occurrence string `json:"occurrence"`
	Why        string `json:"why"`
	Steps      int    `json:"steps"`
	Turns      int    `json:"turns"`
	Seconds    Number `json:"seconds"`
}

// Material is one resulting material.
type Material struct {
	Material string   `json:"material"`
	Stream   string   `json:"stream"`
	MassG    Number   `json:"mass_g"`
	Share    Number   `json:"share"`
	Parts    []string `json:"parts"`
}

// Finding is a rule that something breaks, with its evidence.
type Finding struct {
	Rule        string   `json:"rule"`
	Level       string   `json:"level"` // fail, warn, note
	Occurrences []string `json:"occurrences"`
	Fasteners   []string `json:"fasteners"` // of those occurrences
	Text        string   `json:"text"`
	Value       Number   `json:"value"`
	Limit       Number   `json:"limit"`
	Unit        string   `json:"unit"`
	Source      string   `json:"source"`
	Drawing     *string  `json:"drawing"`
}

// Side is a candidate working side with what is reached from it.
type Side struct {
	Side       Vector `json:"side"`
	Clear      int    `json:"clear"`
	ClearAfter int    `json:"clear_after"`
	Turn       int    `json:"turn"`
	TwoSided   int    `json:"two_sided"`
	Blocked    int    `json:"blocked"`
}

// Verdict sums the report up.
type Verdict struct {
	Pass bool `json:"pass"` // no finding of level fail
	// Side is the working side that the counts below are told from.
	Side       Vector `json:"side"`
	Fasteners  int    `json:"fasteners"`
	Clear      int    `json:"clear"`
	ClearAfter int    `json:"clear_after"`
	Turn       int    `json:"turn"`
	TwoSided   int    `json:"two_sided"`
	Blocked    int    `json:"blocked"`
	Hidden     int    `json:"hidden"`
	Trust      string `json:"trust"` // full, partial
	TrustText  string `json:"trust_text"`
}
