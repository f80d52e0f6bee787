package view_test

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/render/view"
)

// A cube seen from a corner shows six edges of its outline and three inside.
func Example() {
	m := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{10, 10, 10})
	cube := view.Item{Lines: mesh.NewLines(m), Tree: bvh.Build(m), Place: geom.Identity(), Style: view.Full}
	corners := m.Box().Corners()
	camera := view.NewCamera(mgl64.Vec3{1, -1, 1}, mgl64.Vec3{0, 0, 1}).
		Fit(corners[:], view.Rect{X0: 0, Y0: 0, X1: 100, Y1: 100})
	for _, l := range view.Draw(view.Scene{Camera: camera, Items: []view.Item{cube}}).Layers {
		edges := 0
		for _, p := range l.Paths {
			edges += len(p) - 1
		}
		fmt.Println(map[view.Kind]string{view.Contour: "outline:", view.Edge: "inside:"}[l.Kind], edges)
	}
	// Output:
	// outline: 6
	// inside: 3
}
