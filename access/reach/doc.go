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
// A tool that comes along its axis sweeps a solid of revolution, so its test
// is exact for the meshes: the free radius about the axis at each height
// against the largest radius of the tool below that height. An arm's test is
// the widest free arc in its plane. Obstacles only ever disappear, so each
// tool is tried once, as assembled, and every later state merely asks which of
// its obstacles are still there.
//
// The way out of the fastener itself is tested in the same manner, with its
// head's radius (a hexagon's inscribed one: it turns out of a pocket of its
// own shape) from under the head outwards. It may touch; it may not cut.
//
// A tool fits where the measured slack is not negative. Where the slack is
// within the chord error of the obstacle's mesh the trial is marked tight: for
// a bore the mesh is narrower than the truth and the answer on the safe side,
// for a boss it may be wrong by the chord.
//
// The package neither prints nor draws, and knows no material, time or cost.
package reach
