package view

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
)

// Style is how a solid is shown.
type Style uint8

// The styles.
const (
	LeftOut Style = iota // not there at all
	Full                 // outlines and every edge that is not tangent
	Light                // outlines and clear edges only
	Outline              // a ghost: its outline, seen through all others and hiding none
)

// minTurn is the least turn, rad, of an edge that a style draws: 10 degrees
// keeps blends out of the picture; the light style draws fewer.
func (s Style) minTurn() float64 {
	switch s {
	case Full:
		return 0.17
	case Light:
		return 0.6
	}
	return 10 // none: an angle is at most π
}

// Item is one placed solid of a scene.
type Item struct {
	Lines *mesh.Lines
	Tree  *bvh.Tree // over the same mesh
	Place geom.Transform
	Style Style
	// Group sorts what is drawn into layers. Where lines of two groups fall
	// on one another the lower group keeps them.
	Group int
	// Whole keeps the solid in one piece where the scene is cut: fasteners,
	// shafts and ribs are not cut along their length (ISO 128-3).
	Whole bool
}

// Scene is what is drawn.
type Scene struct {
	Camera Camera
	Items  []Item
	// Cut is a point of the plane, perpendicular to the view, in front of
	// which everything is taken away; nil draws all.
	Cut *mgl64.Vec3
	// Workers is the number of goroutines; 0 takes all cores. The drawing
	// does not depend on it.
	Workers int
}

// Kind says what a line is.
type Kind uint8

// The kinds, in the order in which coinciding lines win within a group.
const (
	CutEdge Kind = iota // border of a cut face
	Contour             // the outline against what lies behind
	Edge                // an edge between two visible faces
	numKinds
)

// Layer is the lines of one group and kind, in mm of paper.
type Layer struct {
	Group int
	Kind  Kind
	Paths [][]Point
}

// Face is an area on the page that belongs to one item, clipped to the window.
type Face struct {
	Item  int
	Loops [][]Point // closed; inside by the even-odd rule for cut faces, non-zero for masks
	// Hatch are the lines that fill a cut face where nothing covers it.
	Hatch [][]Point
	// Spacing, mm, and Angle, degrees, of the hatch.
	Spacing, Angle float64
}

// Drawing is a drawn scene. Paint Faces first, then Masks (the outlines of
// whole items that stand in front of the cut), then hatches and layers.
type Drawing struct {
	Camera Camera
	Faces  []Face
	Masks  []Face
	Layers []Layer // by group, then kind; only those with lines
}
