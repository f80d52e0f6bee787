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
func ExampleBody() {
	s, err := surface.NewSphere(geom.World(), 10)
	if err != nil {
		fmt.Println(err)
		return
	}
	b := &brep.Body{Solid: true, Faces: []brep.Face{{Surface: s, SameSense: true}}}
	m, faults := tess.Body(context.Background(), b, geom.Tolerance{Chord: 0.01, Angle: 0.2})
	fmt.Println(m.IsClosed(), len(faults))
	fmt.Printf("%.1f of 4.2 cm³\n", m.Volume()/1000)
	// Output:
	// true 0
	// 4.2 of 4.2 cm³
}
