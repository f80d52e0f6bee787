package curve

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Seen against the reference direction, a positive distance lies on the left
// (V × T, ISO 10303-42, offset_curve_3d): a circle run anticlockwise shrinks.
func TestOffsetGoesLeft(t *testing.T) {
	z := mgl64.Vec3{0, 0, 1}
	l := must(NewOffset(must(NewLine(mgl64.Vec3{1, 0, 0}, mgl64.Vec3{1, 0, 0})), 2, z))
	if p := l.Point(3); p.Sub(mgl64.Vec3{4, 2, 0}).Len() > 1e-12 {
		t.Errorf("line runs through %v, want (4, 2, 0)", p)
	}
	c := must(NewCircle(geom.World(), 5))
	for d, want := range map[float64]float64{2: 3, -2: 7} {
		if r := must(NewOffset(c, d, z)).Point(1).Len(); math.Abs(r-want) > 1e-12 {
			t.Errorf("circle of 5 offset by %g has radius %g, want %g", d, r, want)
		}
		if r := must(NewOffset(c, d, z.Mul(-1))).Point(1).Len(); math.Abs(r-(10-want)) > 1e-12 {
			t.Errorf("circle of 5 offset by %g against V has radius %g, want %g", d, r, 10-want)
		}
	}
	e := must(NewOffset(must(NewEllipse(geom.World(), 5, 3)), -1, z))
	if p, q := e.Point(0), e.Point(math.Pi/2); p.Sub(mgl64.Vec3{6, 0, 0}).Len() > 1e-12 || q.Sub(mgl64.Vec3{0, 4, 0}).Len() > 1e-12 {
		t.Errorf("ellipse offset outward runs through %v and %v", p, q)
	}
	if _, err := NewOffset(must(NewLine(mgl64.Vec3{}, z)), 1, z); err == nil {
		t.Error("a line offset along itself is taken")
	}
}
