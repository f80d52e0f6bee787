package geom

import "github.com/go-gl/mathgl/mgl64"

// Axis is a directed line: a point and a unit direction.
type Axis struct {
	O mgl64.Vec3 // mm
	D mgl64.Vec3 // unit
}

// At is the point at height h mm along the axis.
func (a Axis) At(h float64) mgl64.Vec3 { return a.O.Add(a.D.Mul(h)) }

// Height is the coordinate of p along the axis, mm.
func (a Axis) Height(p mgl64.Vec3) float64 { return p.Sub(a.O).Dot(a.D) }

// Distance is how far p stands from the line, mm.
func (a Axis) Distance(p mgl64.Vec3) float64 {
	return Across(p.Sub(a.O), a.D).Len()
}

// Transformed carries the axis along with a placement.
func (a Axis) Transformed(t Transform) Axis {
	d, ok := Unit(t.Dir(a.D))
	if !ok {
		d = a.D
	}
	return Axis{O: t.Point(a.O), D: d}
}

// Tolerance says how far a mesh may leave the exact surface.
type Tolerance struct {
	Chord float64 // mm: greatest distance between a facet and its surface
	Angle float64 // rad: greatest turn of the normal from one facet to the next
}
