package product

import (
	"context"
	"fmt"

	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
)

// LimitError says that the meshes take more memory than is allowed.
type LimitError struct {
	Triangles int   // so far
	Limit     int64 // bytes
}

func (e *LimitError) Error() string {
	return fmt.Sprintf("the meshes take more memory than the limit of %d bytes (%d triangles so far)", e.Limit, e.Triangles)
}

// triangleBytes is what a triangle takes in its mesh, in the joined mesh of the
// part and in the search tree: an estimate on the safe side.
const triangleBytes = 200

// facesAtOnce is enough to keep all cores busy and, with the limits that meshing
// has for a body, few enough to stop in time.
const facesAtOnce = 4000

// meshAll meshes the bodies in groups, and stops with a *LimitError once the
// meshes take more than allowed. Its other errors are the context's.
func meshAll(ctx context.Context, bodies []*brep.Body, opt Options, workers int) ([]*mesh.Mesh, [][]tess.Fault, error) {
	var meshes []*mesh.Mesh
	var faults [][]tess.Fault
	triangles, all, finest := 0, len(bodies), share(bodies)
	for len(bodies) > 0 {
		if opt.Progress != nil {
			opt.Progress(len(meshes), all)
		}
		n, faces := 0, 0
		for n < len(bodies) && (n == 0 || faces+len(bodies[n].Faces) <= facesAtOnce) {
			faces += len(bodies[n].Faces)
			n++
		}
		m, f := meshBodies(ctx, bodies[:n], finest, opt.Tol, workers)
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		for _, one := range m {
			triangles += len(one.Triangles)
		}
		if need := int64(triangles) * triangleBytes; opt.MaxMemory > 0 && need > opt.MaxMemory {
			return nil, nil, &LimitError{Triangles: triangles, Limit: opt.MaxMemory}
		}
		meshes, faults, bodies = append(meshes, m...), append(faults, f...), bodies[n:]
	}
	if opt.Progress != nil {
		opt.Progress(len(meshes), all)
	}
	return meshes, faults, nil
}
