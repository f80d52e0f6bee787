// Package geom owns the few geometric values that every other room shares:
// frames, placements, boxes, rays, axes and tolerances, over mgl64 vectors.
//
// Lengths are millimetres and angles radians everywhere below this package;
// whoever reads a file converts once, before a value gets here. The packages
// inside (curve, surface, brep, tess, mesh, bvh) build on it and on nothing
// that reads files or passes judgement.
package geom
