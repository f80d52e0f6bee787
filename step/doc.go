// Package step owns the meaning of STEP entities (ISO 10303-203, -214, -242):
// products, occurrences, placements, units, bodies, colours. It turns a file
// into an Assembly of exact bodies and says what it could not use. It does not
// tessellate and does not judge. Lengths leave this package in millimetres and
// angles in radians, converted once, by the context that each value stands in.
package step
