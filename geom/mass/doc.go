// Package mass integrates volume, area and centroid over the exact surface of
// a meshed body. A mesh alone is inscribed: a rod of radius 5 mm cut to a
// chord of 0.05 mm loses 1.2 % of its volume. Here every triangle is bent to a
// curved patch through the exact midpoints of its sides, which neighbours
// share, so the patches close as the mesh does and the error falls with the
// fourth power of the facets' angle: the same rod is right to some 1e-5.
package mass
