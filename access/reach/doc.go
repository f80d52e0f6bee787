// Package reach tests whether real tools reach each fastener, from which side,
// and which parts must come off first.
//
//	tools of tool.For            holds and joints
//	      │                            │
//	      ▼                            ▼
//	try each against all solids   what moves as one
//	(attempt: every obstacle,          │
//	 its slack, once)                  │
//	      └──────────► taking ◄────────┘
//	        undo what can be reached, lift what is free,
//	        again, from each candidate side
//	                     │
//	                     ▼
//	        verdict, evidence, what came off first
//
// The algorithm:
//
//  1. Units. What one act undoes: a screw with its washers; a bolt with the
//     free nut on it, which takes two tools; a bolt with a captive nut, which
//     takes one and leaves the nut where it is trapped; a nut on a plain rod.
//  2. Ties. Each fastener holds together what it passes, bites and consists of
//     until its unit is undone; a press fit or declared joint does so for good.
//  3. Trials. Every tool of the catalogue at every fastener against every solid
//     near its axis, once, as assembled: the least free radius against the
//     tool's at the same height, and the angles that a solid takes from its
//     arm. Obstacles only disappear, so every later state merely asks which of
//     them are still there. The fastener's own way out is tried in the same
//     manner, with its head's radius (a hexagon's inscribed one: it turns out
//     of a pocket of its own shape). It may touch; it may not cut.
//  4. A unit is undone where a tool fits along its axis within 5° of the
//     working side. Of a bolt and its nut one is turned and needs its arm's
//     whole swing; the other may only be held and needs a place, and one of
//     the two tools works from the side. The screw needs its way out, a held
//     nut does not.
//  5. Clusters. Solids that still stand in each other's way share a cluster,
//     at first all. What ties hold together within one is a group; group A
//     waits for group B where A, swept along the lift's direction, meets B.
//     Groups that wait for each other in a ring leave together: the strongly
//     connected components of that graph are the loads, and leave in its order
//     (see loadsAlong). A load is a cluster of its own from then on: it lies on
//     the bench, where its fasteners go on being undone.
//  6. Rounds. Undo all that can be undone, lift all that can be lifted, until
//     nothing changes. An act that is possible stays possible, so the order
//     decides when a fastener comes out and never whether.
//  7. Sides. 4 to 6 run from each candidate side; the working side is the one
//     from which most comes out. From there they run on with every direction
//     allowed.
//  8. Verdicts. Undone in round 0 from the working side: clear. In a later
//     round: clear after what stood in the way as assembled. Only in the second
//     run: turn. With a free nut: two-sided. Never: blocked, by what keeps the
//     tool away that lacks least.
//
// A tool that comes along its axis sweeps a solid of revolution, so its test
// is exact for the meshes: the free radius about the axis at each height
// against the largest radius of the tool below that height. An arm's test is
// the widest free arc in its plane, with the head of an open-end spanner for
// what it is: no full disc, but jaws that turn with the handle.
//
// A tool fits where the measured slack is not negative. Where the slack is
// within the chord error of the obstacle's mesh the trial is marked tight: for
// a bore the mesh is narrower than the truth and the answer on the safe side,
// for a boss it may be wrong by the chord.
//
// Not looked at: turning the product part of the way, flexible parts, cables,
// lifting along a line that bends, moving a part aside without taking it off,
// the second hand, and from which side a tool that comes across is brought to
// its place.
//
// The package neither prints nor draws, and knows no material, time or cost.
package reach
