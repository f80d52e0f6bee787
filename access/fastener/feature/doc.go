// Package feature reads the faces of a part as a fitter does: flats, holes,
// bosses, cones about an axis, each with its extent. It says what is there and
// where; what it is for, the packages fastener and joint decide.
//
// Kind, axis and radius come from the exact surfaces; how far a face reaches
// and which way it looks come from the mesh, whose vertices lie on them.
package feature
