// Package mass integrates volume, area, centroid and inertia over the exact surface
// of a meshed body. A mesh alone is inscribed: a rod of radius 5 mm cut to a
// chord of 0.05 mm loses 1.2 % of its volume. Here every triangle is bent to a
// curved patch through the exact midpoints of its sides, which neighbours
// share, so the patches close as the mesh does and the error falls with the
// fourth power of the facets' angle: the same rod is right to some 1e-5. The long
// tapering facets of cones, which such patches follow less well, lie on the cone
// itself.
//
//	sides numbered ─► midpoints: each edge, each piece of a face ─► sums by piece ─► in order
//
// What is shared is settled before the work is spread over the cores, and sums
// are joined in the order of the faces: the figures are the same on any number
// of cores.
package mass
