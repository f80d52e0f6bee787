package step

import (
	"iter"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// Assembly is what a file says: unique parts, and where each is used.
type Assembly struct {
	Source Source
	// Parts are the unique shapes and assembly nodes, each once, in the order
	// of their first occurrence.
	Parts []Part
	// Occurrences are the placed uses, depth first, parents before children;
	// the first is the root. With several roots in the file an artificial one
	// is put above them. With Options.Walk the list is empty: see All.
	Occurrences []Occurrence
	// Hidden lists what the file hides: bodies first, then occurrences.
	Hidden []Hidden
	// Skips lists everything that was not used, by instance number.
	Skips []Skip

	walk   iter.Seq[*Occurrence] // makes the occurrences that are not listed
	walked int                   // how many it makes
}

// PartIndex and OccIndex point into an Assembly's slices.
type (
	PartIndex int32
	OccIndex  int32
)

// Source identifies the file.
type Source struct {
	File         string   // name without its folder
	SHA256       string   // hex
	Bytes        int64    // as read from disk
	Schemas      []string // FILE_SCHEMA
	System       string   // originating system
	Preprocessor string
	Written      string // time stamp as the file gives it
	LengthUnit   string // of the root's context: "mm", "inch", "m"; display only
	// UnitAssumed says that a shape has no length unit in the file: its figures
	// are taken for mm.
	UnitAssumed bool
	// Truncated says that the text stopped before its end; what was whole is
	// read.
	Truncated bool
	// Empty says that the text has no record that can be read.
	Empty bool
	// CutOff is where the text stops if it stops among the records; zero
	// otherwise. See RequireWhole.
	CutOff p21.Pos
	// Linked are the files beside this one that were read for parts of it, in
	// the order of their first use.
	Linked []Source
}

// Part is a unique shape, or a node of the product structure without one.
type Part struct {
	Name string // cleaned for display
	// RawName is the file's name of the product or body as decoded, where Name
	// is another; RawID is PRODUCT.id.
	RawName, RawID string
	Tag            brep.Tag
	Bodies         []*brep.Body
	Lines          Lines  // of the bodies and their faces; none with Options.Structure
	Color          string // "#rrggbb" or "" where the file gives none
	Made                  // of what: material and density
	// Transparency is 0 for opaque and 1 for invisible.
	Transparency float64
	// Layers are the names of those it lies on, sorted.
	Layers []string
	// Attributes are what users noted of it, sorted by name.
	Attributes []Attribute
	// Declared are the mass properties that the file itself states.
	Declared Declared
	// External names the file that holds the shape, where it is not in this
	// one. Bodies and parts below are there if that file was beside it.
	External string
	// Hidden is the number of its bodies and of the parts below it that were
	// left out because the file hides them; see Options.Hidden.
	Hidden int
}

// Occurrence is one placed use of a part.
type Occurrence struct {
	Parent OccIndex // -1 for the root
	Part   PartIndex
	Name   string // of the occurrence; the part's where it has none
	// RawName is what the file has for it as decoded, be it only a number, where
	// Name is another: the name of the usage, else its designator, else its id.
	RawName string
	// RefDes is the reference designator (NEXT_ASSEMBLY_USAGE_OCCURRENCE), "" without.
	RefDes string
	// Local places the part in its parent, Placement in the root.
	Local, Placement geom.Transform
	// Layers and Attributes are of this use alone; see Part.
	Layers     []string
	Attributes []Attribute
	// Centre is where the file says that the centre of this use is, mm in its
	// parent; nil where it does not. Uses of one NEXT_ASSEMBLY_USAGE_OCCURRENCE
	// share it.
	Centre *mgl64.Vec3
	Color  string // overrides the part's where not ""
	Depth  int    // 0 for the root
	Path   string // names from the root down, joined by "/"; a "/" in a name becomes "∕"
	Tag    brep.Tag
}

// Skip is something in the file that no answer rests on, and why.
type Skip struct {
	Tag    brep.Tag
	Pos    p21.Pos // line and column; zero where unknown
	Entity string
	Why    string
	// Aside: it is no part of the product's shape, so that nothing rests on it, or
	// it was mended without a loss.
	Aside bool
}
