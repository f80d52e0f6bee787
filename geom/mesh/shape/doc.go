// Package shape builds closed meshes of plain solids: boxes, cylinders, tubes,
// plates with holes, solids of revolution. Tests and fixtures use them where a
// file would be too much. Triangles turn anticlockwise seen from outside; the
// faces and sharp edges are numbered as a B-rep of the same solid would have
// them. Round shapes are inscribed polygons of n corners, so their meshes lie
// inside the round solid (outside for a bore's material) by the chord height
// r (1 - cos(π/n)), which is noted in the mesh.
package shape
