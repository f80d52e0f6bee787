// Package reach tests whether real tools reach each fastener, from which side,
// and which parts must come off first.
package reach
