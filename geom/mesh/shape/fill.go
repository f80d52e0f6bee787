package shape

import (
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/tess/cdt"
)

// signedArea is twice the polygon's area, positive when anticlockwise.
func signedArea(p []mgl64.Vec2) float64 {
	s := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		s += a[0]*b[1] - a[1]*b[0]
	}
	return s
}

// anticlockwise is a copy that turns to the left and starts at the same point.
func anticlockwise(p []mgl64.Vec2) []mgl64.Vec2 {
	q := slices.Clone(p)
	if signedArea(q) < 0 {
		slices.Reverse(q[1:])
	}
	return q
}

// fill triangulates what lies between the rings; the result counts through the
// points of all rings in order. Rings that are no polygons or cross each other
// give no triangles, which the mesh's Check then finds.
func fill(rings [][]mgl64.Vec2) [][3]int32 {
	var t cdt.T
	if err := t.Reset(slices.Concat(rings...)); err != nil {
		return nil
	}
	first := int32(0)
	for _, r := range rings {
		n := int32(len(r))
		for i := range n {
			if _, err := t.Constrain(first+i, first+(i+1)%n); err != nil {
				return nil
			}
		}
		first += n
	}
	t.Mark()
	return t.Triangles()
}
