package bvh

// Tree is a bounding volume hierarchy over one mesh.
type Tree struct{}
