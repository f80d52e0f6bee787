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

// A body beyond wildSize, mm, is no piece that a person takes apart: its unit is
// wrong, or some of its numbers are damaged. wildShare is what a hand-sized part
// gets, so that it costs no more than one. What stands beside such a body may
// have the same wrong unit, and keeps to besideShare. (Proposals.)
const (
	wildSize    = 50_000
	wildShare   = 2e-4
	besideShare = 2e-5
)

// share is the least chord error of each body as a share of its size.
func share(bodies []*brep.Body) func(size float64) float64 {
	others := finestShare
	for _, b := range bodies {
		if sizeOf(b) > wildSize {
			others = besideShare
		}
	}
	return func(size float64) float64 {
		if size > wildSize {
			return wildShare
		}
		return others
	}
}

// sizeOf is the diagonal of the box about a body's corners, mm.
func sizeOf(b *brep.Body) float64 {
	box := geom.EmptyBox()
	for _, v := range b.Vertices {
		box = box.Add(v.P)
	}
	if box.IsEmpty() {
		return 0
	}
	return box.Diagonal()
}

// meshBodies meshes all bodies; those too large for the chord error get their
// own, which is a fault of the body. share is that of all bodies of the product.
func meshBodies(ctx context.Context, bodies []*brep.Body, share func(float64) float64, tol geom.Tolerance, workers int) ([]*mesh.Mesh, [][]tess.Fault) {
	meshes, faults := make([]*mesh.Mesh, len(bodies)), make([][]tess.Fault, len(bodies))
	var usual []*brep.Body
	var at []int // of each in bodies
	for k, b := range bodies {
		own := tol
		size := sizeOf(b)
		if own.Chord = max(tol.Chord, share(size)*size); own.Chord <= tol.Chord {
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
