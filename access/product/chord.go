package product

import (
	"context"
	"fmt"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
)

// finestShare is the least chord error of a body's mesh as a share of the
// body's size: at the default 0.05 mm it is felt from 10 m on. The number of
// triangles follows size/chord, and a file whose unit is a thousand times too
// great, which happens, would cost millions for nothing.
const finestShare = 5e-6

// coarse is the chord error that a body allows, mm, which is the wanted one or
// more. Its mesh carries the one it was made with.
func coarse(b *brep.Body, chord float64) float64 {
	box := geom.EmptyBox()
	for _, v := range b.Vertices {
		box = box.Add(v.P)
	}
	if box.IsEmpty() {
		return chord
	}
	return max(chord, finestShare*box.Diagonal())
}

// meshBodies meshes all bodies; those too large for the chord error get their
// own, which is a fault of the body.
func meshBodies(ctx context.Context, bodies []*brep.Body, tol geom.Tolerance, workers int) ([]*mesh.Mesh, [][]tess.Fault) {
	meshes, faults := make([]*mesh.Mesh, len(bodies)), make([][]tess.Fault, len(bodies))
	var usual []*brep.Body
	var at []int // of each in bodies
	for k, b := range bodies {
		own := tol
		if own.Chord = coarse(b, tol.Chord); own.Chord <= tol.Chord {
			usual, at = append(usual, b), append(at, k)
			continue
		}
		m, f := tess.Bodies(ctx, []*brep.Body{b}, own, workers)
		meshes[k], faults[k] = m[0], append(f[0], tess.Fault{
			Face: tess.NoFace, Tag: b.Tag, Repaired: true,
			Why: fmt.Sprintf("body so large that its mesh may leave it by %.2g mm instead of %g mm; is the file's unit right?", own.Chord, tol.Chord),
		})
	}
	m, f := tess.Bodies(ctx, usual, tol, workers)
	for j, k := range at {
		meshes[k], faults[k] = m[j], f[j]
	}
	return meshes, faults
}
