package tess

import (
	"stepscan/geom/brep"
)

// Fault is a face that could not be meshed as it stands, or not at all.
type Fault struct {
	Face     brep.FaceIndex
	Tag      brep.Tag
	Repaired bool   // a mesh stands in its place
	Why      string // what was wrong and, if repaired, by which step
}
