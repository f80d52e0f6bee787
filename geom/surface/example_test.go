package surface_test

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
)

// A line turned round an axis is a cylinder; as the line comes down along the
// axis, its normal points inward and the cylinder's does not.
func ExampleCanonical() {
	line, _ := curve.NewLine(mgl64.Vec3{4, 0, 9}, mgl64.Vec3{0, 0, -1})
	s, _ := surface.NewRevolution(line, geom.Axis{D: mgl64.Vec3{0, 0, 1}})
	c, flipped, ok := surface.Canonical(s, 1e-4)
	fmt.Printf("%T %.3f mm, flipped %v, %v\n", c, c.(surface.Cylinder).Radius(), flipped, ok)
	// Output: surface.Cylinder 4.000 mm, flipped true, true
}
