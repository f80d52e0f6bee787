// Package robust answers two questions about points of the plane with the
// exact sign, whatever the rounding: on which side of a line, and inside or
// outside a circle. A floating-point filter with a proven error bound decides
// nearly all; the rest is computed exactly.
package robust
