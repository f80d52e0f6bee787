package name

import (
	"unicode"

	"stepscan/step"
)

// Unfit reports a character that is kept out of what people read, whatever a
// file's name holds: what spoofs, by the reader's rule, and characters without a
// meaning of their own (private, noncharacters), which no font shows and XML
// partly forbids.
func Unfit(r rune) bool {
	switch {
	case r >= 0xfdd0 && r <= 0xfdef, r&0xfffe == 0xfffe:
		return true
	}
	return step.Spoofs(r) || unicode.Is(unicode.Co, r)
}
