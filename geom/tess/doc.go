// Package tess turns exact bodies into closed meshes with a known chord
// error: each edge is cut once and shared by its faces, each face is
// triangulated in its parameter plane and refined until the chord holds.
package tess
