package curve_test

import (
	"fmt"
	"math"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// A circle of 5 mm in chords that stay within 0.05 mm.
func ExampleCut() {
	c, err := curve.NewCircle(geom.World(), 5)
	if err != nil {
		fmt.Println(err)
		return
	}
	ts := curve.Cut(c, 0, 2*math.Pi, geom.Tolerance{Chord: 0.05})
	fmt.Println(len(ts)-1, "chords")
	// Output: 23 chords
}
