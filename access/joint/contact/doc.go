// Package contact says where solids touch, how shafts fit into holes, and which
// solids share volume. It looks at shapes only: it knows no fasteners, and what
// holds what the package joint decides.
//
//	boxes ─► near pairs ─► one question for each distinct pair of parts and
//	                       relative placement ─► patches, fits, shared volume
//
// Faces that lie on planes and cylinders are compared on those surfaces: the
// common area is that of their triangles, clipped in the plane or on the
// unrolled cylinder. What lies on other surfaces is compared mesh against mesh.
//
//	A ▒▒▒▒▒▒▒▒          ┌────────┐ faces of A
//	  ▒▒▒▒▒▒▒▒  gap     │   ┌────┼───┐ faces of B
//	  ───────── ≤ Touch └───┼────┘   │ common area: the patch
//	  ░░░░░░░░░             └────────┘
//	B ░░░░░░░░░
package contact
