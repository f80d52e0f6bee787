package shape_test

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/mesh/shape"
)

// A plate of 40 x 30 x 5 mm with a hole of 8 mm.
func ExamplePlate() {
	m := shape.Plate(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{40, 30, 5}, shape.Circle(20, 15, 4, 64))
	fmt.Println(m.Check(), m.IsClosed())
	fmt.Printf("%.0f mm³\n", m.Volume())
	// Output:
	// <nil> true
	// 5749 mm³
}
