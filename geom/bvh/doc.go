// Package bvh answers questions about meshes quickly and exactly per
// triangle: rays, nearest points, what is inside, the free radius about an
// axis, the room that a stack of cylinders and cones has about one, the free
// swing of an arm, distances and first contacts of two meshes.
// Nothing is sampled; every answer is that of the triangles, so its error
// against the model is the mesh's own chord error. It knows neither parts nor
// tools and judges nothing.
//
// A Tree is a flat array of boxes over one mesh, built by the surface area
// heuristic, with the triangles' coordinates in leaf order beside it:
//
//	nodes  [ 0 | 1 2 | 3 4 | 5 6 ]   children stand side by side
//	         │   │└──────────┐
//	         │   └── 3 4     └── 5 6 leaves: runs of triangles
//	tri    [ x y z x y z x y z | ... ]
//
// Rays walk through a shorter form of the same boxes, made when the first ray
// is asked: see quad.
//
// The axis questions look along the axis, after cutting triangles to the slab
// of heights; so does the sweep of a mesh along a direction, where two
// triangles meet only if their shadows overlap:
//
//	h ▲   ┌─────┐ fixed
//	  │   └─────┘  ─┐
//	  │  ┌─────┐    │ gap: linear over the overlap of the shadows
//	  │  │mover│   ─┘
//	  └──┴─────┴──► u, v
package bvh
