package curve

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Line is the infinite straight line
//
//	P(t) = O + t D,  t in mm, D of length 1
//
// (ISO 10303-42, line, whose parameter counts lengths of its vector: whoever
// reads a trimmed line multiplies by that length.)
type Line struct{ o, d mgl64.Vec3 }

// NewLine takes a direction of any length but zero.
func NewLine(o, dir mgl64.Vec3) (Line, error) {
	d, ok := geom.Unit(dir)
	if !ok || !geom.Finite(o) {
		return Line{}, fmt.Errorf("line: %w", geom.ErrNoDirection)
	}
	return Line{o: o, d: d}, nil
}

// Origin is the point at t = 0.
func (l Line) Origin() mgl64.Vec3 { return l.o }

// Dir is the unit direction.
func (l Line) Dir() mgl64.Vec3 { return l.d }

// Point is the position at t.
func (l Line) Point(t float64) mgl64.Vec3 {
	return mgl64.Vec3{l.o[0] + t*l.d[0], l.o[1] + t*l.d[1], l.o[2] + t*l.d[2]}
}

// Derivatives are D and zero.
func (l Line) Derivatives(float64) (d1, d2 mgl64.Vec3) { return l.d, mgl64.Vec3{} }

// Domain is infinite on both sides.
func (l Line) Domain() (t0, t1 float64) { return math.Inf(-1), math.Inf(1) }

// Period is 0.
func (l Line) Period() float64 { return 0 }

// Param is the foot of the perpendicular.
func (l Line) Param(p mgl64.Vec3) float64 { return p.Sub(l.o).Dot(l.d) }
