// Package robust answers two questions about points of the plane, whatever the
// rounding: on which side of a line, with the exact sign, and whether surely
// inside a circle. A floating-point filter with a proven error bound decides
// nearly all; where a side must be known and the filter cannot tell, it is
// computed exactly.
package robust
