// Package cdt owns the constrained Delaunay triangulation of the plane: points
// go in along a space-filling curve, each by a walk and Lawson's edge flips;
// constraints are recovered by swapping the edges in their way (Sloan 1993).
// Every decision is exact, so collinear, cocircular and coincident points need
// no tolerance. It knows neither surfaces nor what a constraint stands for.
//
//	pts ─► Reset ─► Constrain(a, b)... ─► Mark ─► Insert(p)... ─► Triangles
package cdt
