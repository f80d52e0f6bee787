package robust_test

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/robust"
)

// Three points that float64 arithmetic calls collinear and that are not.
func ExampleOrient2D() {
	a, b, c := mgl64.Vec2{0.5, 0.5}, mgl64.Vec2{12, 12}, mgl64.Vec2{24, 24.000000000000004}
	fmt.Println(robust.Orient2D(a, b, c), robust.Orient2D(a, b, mgl64.Vec2{24, 24}))
	// Output: 1 0
}
