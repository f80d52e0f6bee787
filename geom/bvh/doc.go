// Package bvh answers questions about meshes quickly and exactly per
// triangle: rays, nearest points, free radius about an axis, first contact of
// a sweep. The tree is a flat array built by the surface area heuristic.
package bvh
