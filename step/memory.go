package step

import "fmt"

// What things take at most, in bytes: estimates on the safe side.
const (
	// bodyFactor is what a decoded byte of text becomes: points, curves, surfaces
	// and the tables of what was read. What stays of ordinary files is about half
	// a byte; the rest is room for what comes and goes, and for dense records.
	bodyFactor = 8
	// occurrenceBytes is one placed use in the assembly, the product and the
	// report, with its path.
	occurrenceBytes = 2 << 10
)

// usualOccurrences is the limit where none is given: five times what large
// machines have, and some 400 MiB.
const usualOccurrences = 200_000

// Memory is the limit on memory for a file of so many bytes: the one asked for,
// else 256 MiB and 32 times the file.
//
// The limit holds for each of these by itself: the index of the records, what is
// decoded, the occurrences, and the meshes that product makes. It does not cover
// the text, what unpacks to it (MaxBytes), and what judging and drawing take,
// which go with the meshes and the occurrences.
func (o Options) Memory(bytes int64) int64 {
	if o.MaxMemory > 0 {
		return o.MaxMemory
	}
	return 1<<28 + 32*bytes
}

func (o Options) roomForOccurrences() int {
	if o.MaxMemory > 0 {
		return int(o.MaxMemory / occurrenceBytes)
	}
	return usualOccurrences
}

// tooMany refuses an assembly of more occurrences than there is room for.
func (o Options) tooMany() error {
	return &LimitError{What: fmt.Sprintf("the assembly multiplies into more than %d occurrences, which is the limit", o.MaxOccurrences), Memory: true}
}
