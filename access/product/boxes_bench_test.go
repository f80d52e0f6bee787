package product

import (
	"path/filepath"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/step"
)

// BenchmarkBoxes says what the exact boxes of all bodies of the demo cost; see
// BenchmarkBuild for the whole.
func BenchmarkBoxes(b *testing.B) {
	asm, err := step.ReadFile(b.Context(), filepath.Join("..", "..", "fixtures", "logger-a.step"), step.Options{})
	if err != nil {
		b.Fatal(err)
	}
	p := Structure(asm)
	p.store(asm.Count())
	var bodies []*brep.Body
	var ways [][]mgl64.Mat3
	for i, w := range p.ways() {
		for _, body := range p.Parts[i].Bodies {
			bodies, ways = append(bodies, body), append(ways, w)
		}
	}
	var meshes []*mesh.Mesh
	meshes, _ = tess.Bodies(b.Context(), bodies, tess.Default, 1)
	for b.Loop() {
		for k := range bodies {
			turnedBoxes(bodies[k], meshes[k], ways[k])
		}
	}
}
