// Package view turns placed meshes into the lines of a technical drawing:
// B-rep edges and silhouettes without their hidden parts, seen along parallel
// rays, optionally cut open by a plane with the cut faces hatched.
//
//	model ──Camera──► page space: x right, y down in mm of paper, z to the eye
//	  edges ─ clip to window and cut ─ walk (what is in front?) ─ tidy ─► Layer
//
// It uses the path pipeline of fogleman/ln (Path, Matrix, Filter, Simplify)
// with a filter that asks the search trees of package bvh. It decides nothing
// and writes no file format.
package view
