package tess_test

import (
	"context"
	"fmt"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/surface"
	"stepscan/geom/tess"
)

// A whole sphere is one face without loops.
func ExampleBodies() {
	s, err := surface.NewSphere(geom.World(), 10)
	if err != nil {
		fmt.Println(err)
		return
	}
	b := &brep.Body{Solid: true, Faces: []brep.Face{{Surface: s, SameSense: true}}}
	meshes, faults := tess.Bodies(context.Background(), []*brep.Body{b}, geom.Tolerance{Chord: 0.01, Angle: 0.2}, 1)
	fmt.Println(meshes[0].IsClosed(), len(faults[0]))
	fmt.Printf("%.1f of 4.2 cm³\n", meshes[0].Volume()/1000)
	// Output:
	// true 0
	// 4.2 of 4.2 cm³
}
