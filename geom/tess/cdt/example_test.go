package cdt_test

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/tess/cdt"
)

// A square with a square hole.
func Example() {
	var t cdt.T
	if err := t.Reset([]mgl64.Vec2{{0, 0}, {3, 0}, {3, 3}, {0, 3}, {1, 1}, {2, 1}, {2, 2}, {1, 2}}); err != nil {
		fmt.Println(err)
		return
	}
	for _, side := range [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {4, 5}, {5, 6}, {6, 7}, {7, 4}} {
		if _, err := t.Constrain(side[0], side[1]); err != nil {
			fmt.Println(err)
		}
	}
	t.Mark()
	fmt.Println(len(t.Triangles()), "triangles")
	// Output: 8 triangles
}
