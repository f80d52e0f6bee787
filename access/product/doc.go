// Package product holds the meshed product that every judgement looks at: the
// parts with their meshes and search trees, and the placed solids. It is the
// one value that fastener, joint, reach and the drawings share.
package product
