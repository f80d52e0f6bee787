// Package brep owns exact boundaries: bodies made of shells, shells of faces,
// faces of loops, loops of coedges, coedges of edges that neighbouring faces
// share; or, of bodies that came without surfaces, their facets. It is plain data
// with invariants; it neither reads files nor meshes.
package brep
