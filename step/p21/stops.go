package p21

import (
	"encoding/binary"
	"math/bits"
)

// The two searches below look at eight bytes at once. In w ^ ones*c the bytes
// equal to c are zero, and taking one from each sets the high bit of those, and
// of those above 80, which are none of ours: &^ w drops them. A borrow may make
// up a hit above a true one only, and the first is what counts.
const (
	ones  = 0x0101010101010101
	highs = 0x8080808080808080
)

// nextStop returns the offset of the first ; = ' or / at or behind p, or the
// text's length. What ends a record, a comment or a string is one of these.
func nextStop(src []byte, p int) int {
	for ; len(src)-p >= 8; p += 8 {
		w := binary.LittleEndian.Uint64(src[p:])
		quote := w&^(ones*('\''^'/')) ^ ones*('\''&'/') // these two differ in one bit
		semi := w ^ ones*';'
		equal := w ^ ones*'='
		hit := ((quote - ones) | (semi - ones) | (equal - ones)) & highs &^ w
		if hit != 0 {
			return p + bits.TrailingZeros64(hit)>>3
		}
	}
	for ; p < len(src); p++ {
		switch src[p] {
		case ';', '=', '\'', '/':
			return p
		}
	}
	return len(src)
}

// nextBracket returns the offset of the first ( ) ' / or ; at or behind p, or
// the text's length.
func nextBracket(src []byte, p int) int {
	for ; len(src)-p >= 8; p += 8 {
		w := binary.LittleEndian.Uint64(src[p:])
		quote := w&^(ones*('\''^'/')) ^ ones*('\''&'/')
		round := w&^ones ^ ones*'(' // ( and ) differ in the last bit
		semi := w ^ ones*';'
		hit := ((quote - ones) | (round - ones) | (semi - ones)) & highs &^ w
		if hit != 0 {
			return p + bits.TrailingZeros64(hit)>>3
		}
	}
	for ; p < len(src); p++ {
		switch src[p] {
		case '(', ')', '\'', '/', ';':
			return p
		}
	}
	return len(src)
}
