// Package fastener recognises fasteners by shape and confirms them by name.
// It decides what a thing is, its size and its drive; not what it holds
// (package joint) and not whether it can be reached (package reach).
//
// A part is read about the axes of its faces of revolution that pass its
// centre: its outline r(z), its flats across the axis, and cuts across it as
// seen from the axis, whose symmetry (2, 4, 6 sides) names slot, cross, hexagon
// and hexalobular recess. All of it is measured on the mesh, so that it works
// for every kind of surface; exact cylinders then replace measured ones.
//
//	 Axis.D, the way out
//	    ▲
//	┌─┐ │ ┌─┐   Front, Point: 0
//	│ └─┴─┘ │   -RecessDepth
//	└─┐   ┌─┘   -HeadH: the seat
//	  │   │
//	  └───┘     Back: the tip
//
// Rings, slit pins, clips and ties are open to one side, so that their centre is
// not on their axis: they are read about the axes of their wide arcs, or along
// their strap, wire or leaves (open.go).
//
// A shank's thread is read in half planes through the axis: crests, roots and
// pitch where turns are modelled, the point where there is one. A plain rod may
// be drawn at the nominal or at the minor diameter: head, drive and pitch say
// together which thread it is, and a tapping screw has to show that it taps.
//
// The tables of standard heads, nuts, washers, rings and threads are in package table;
// a shape that no table knows keeps its measured size. What a shape leaves open
// (a rod that may be a pin, a plate that may be a nut, a round head or two that
// may be a rivet's) its surroundings decide.
//
// One fastener may be several solids (read together), and one solid several
// fasteners (read shell by shell). What is united with the part that it holds is
// neither; only heads with a socket are pointed out. The shape decides: what a
// name says (package name) confirms it, fills in what it leaves open, or is told
// as a conflict or a doubt.
package fastener
