package p21

import (
	"bytes"
	"cmp"
	"fmt"
	"iter"
	"slices"
	"sync"
)

// ID is an instance number; it prints as #12.
type ID uint64

func (id ID) String() string { return fmt.Sprintf("#%d", uint64(id)) }

// File is an indexed exchange structure. It keeps the text it was made from,
// which must not change. Once made it may be read by many goroutines.
type File struct {
	Header   Header
	Warnings []Warning
	// MoreWarnings counts those beyond the limit of Options.
	MoreWarnings int
	// Truncated says that the text stopped before its end.
	Truncated bool
	// CutOff is where the text stops if it stops inside of a DATA section:
	// unlike a missing last line that means missing records. Zero otherwise.
	CutOff Pos

	src   []byte
	recs  []record
	words words
	index idIndex
	rare  rareWords
	lines lineTable
	raw   rawText

	odd     remarks
	arities []arity // by word, nil if nobody told
}

// record is one instance: 16 bytes, so that the index of a file of points stays
// far smaller than its text. The number is in two pieces, since one of 64 bits
// would take the room of two words more.
type record struct {
	from uint32 // offset of the parenthesis that opens the parameters
	to   uint32 // offset behind the one that closes them
	low  uint32 // the lower half of the number
	high uint16 // and what is above it
	word word
}

// maxID is the greatest number that a record has room for; writers stay below
// 2^31.
const maxID ID = 1<<48 - 1

func newRecord(id ID, from, to int, w word) record {
	return record{from: uint32(from), to: uint32(to), low: uint32(id), high: uint16(id >> 32), word: w}
}

func (r *record) id() ID { return ID(r.high)<<32 | ID(r.low) }

// Len is the number of instances.
func (f *File) Len() int { return len(f.recs) }

// Size is the length of the text in bytes.
func (f *File) Size() int { return len(f.src) }

// Lookup finds an instance by its number.
func (f *File) Lookup(id ID) (Record, bool) {
	i, ok := f.index.find(f.recs, id)
	if !ok {
		return Record{}, false
	}
	return Record{f: f, i: i}, true
}

// All yields the records in the order of the text.
func (f *File) All() iter.Seq[Record] {
	return func(yield func(Record) bool) {
		for i := range f.recs {
			if f.recs[i].word != noWord && !yield(Record{f: f, i: int32(i)}) {
				return
			}
		}
	}
}

// Count is the number of records that Of yields.
func (f *File) Count(names ...string) int {
	n := 0
	for range f.Of(names...) {
		n++
	}
	return n
}

// Of yields the records that are, or as a complex instance have a leaf that
// is, one of the named entities, in the order of the text.
func (f *File) Of(names ...string) iter.Seq[Record] {
	want := f.words.having(names)
	return func(yield func(Record) bool) {
		if want == nil {
			return
		}
		if list, ok := f.rareOnes(want); ok {
			for _, i := range list {
				if !yield(Record{f: f, i: i}) {
					return
				}
			}
			return
		}
		for i := range f.recs {
			if want[f.recs[i].word] && !yield(Record{f: f, i: int32(i)}) {
				return
			}
		}
	}
}

// rareWords lists the records of the entities that few records are, which is
// what the structure of a product is made of: its readers need not walk over
// all the points each time. It is filled at the first question.
type rareWords struct {
	once  sync.Once
	lists [][]int32 // by word, in the order of the text; nil for the others
	count []int32   // by word
}

// rareShare is the part of all records beyond which a word is not rare.
const rareShare = 64

func (x *rareWords) fill(f *File) {
	x.count = make([]int32, len(f.words.all))
	x.lists = make([][]int32, len(f.words.all))
	for i := range f.recs {
		x.count[f.recs[i].word]++
	}
	x.count[noWord] = 0
	for w, n := range x.count {
		if n > 0 && int(n) <= len(f.recs)/rareShare {
			x.lists[w] = make([]int32, 0, n)
		}
	}
	for i := range f.recs {
		if w := f.recs[i].word; x.lists[w] != nil {
			x.lists[w] = append(x.lists[w], int32(i))
		}
	}
}

// rareOnes lists the records of the wanted words, if all of these are rare.
func (f *File) rareOnes(want []bool) ([]int32, bool) {
	f.rare.once.Do(func() { f.rare.fill(f) })
	var out []int32
	lists := 0
	for w, yes := range want {
		switch {
		case !yes || f.rare.count[w] == 0:
		case f.rare.lists[w] == nil:
			return nil, false
		case lists == 0:
			out, lists = f.rare.lists[w], 1
		default:
			out, lists = append(out[:len(out):len(out)], f.rare.lists[w]...), lists+1
		}
	}
	if lists > 1 {
		slices.Sort(out)
	}
	return out, true
}

// Census counts the instances of each entity name; a complex instance counts
// once under its leaves' names joined by blanks in parentheses.
func (f *File) Census() map[string]int {
	n := make(map[string]int, len(f.words.all))
	for i := range f.recs {
		if f.recs[i].word == noWord {
			continue
		}
		n[f.words.all[f.recs[i].word].name]++
	}
	return n
}

// idIndex finds records by number. Where the numbers rise through the text, as
// most programs write them, the records are a sorted table as they stand. Else
// there is a flat table by number where these are dense, and a sorted list where
// they are not.
type idIndex struct {
	rising bool
	dense  []int32 // index + 1 by id
	sorted []int32 // indices by rising id
}

func (x *idIndex) find(recs []record, id ID) (int32, bool) {
	switch {
	case x.rising:
		return findRising(recs, id)
	case x.dense != nil:
		if id >= ID(len(x.dense)) || x.dense[id] == 0 {
			return 0, false
		}
		return x.dense[id] - 1, true
	}
	k, ok := slices.BinarySearchFunc(x.sorted, id, func(i int32, id ID) int { return cmp.Compare(recs[i].id(), id) })
	if !ok {
		return 0, false
	}
	return x.sorted[k], true
}

// findRising guesses by the slope between the ends where the number must be:
// right at once where the numbers have no gaps or even ones. Uneven gaps take
// the guess nearer a few times; then halving bounds the work.
func findRising(recs []record, id ID) (int32, bool) {
	lo, hi := 0, len(recs)-1
	for turn := 0; lo <= hi; turn++ {
		first, last := recs[lo].id(), recs[hi].id()
		if id < first || id > last {
			return 0, false
		}
		mid := lo + (hi-lo)/2
		if turn < maxGuesses && last > first {
			mid = lo + int(float64(hi-lo)*(float64(id-first)/float64(last-first)))
		}
		switch at := recs[mid].id(); {
		case at < id:
			lo = mid + 1
		case at > id:
			hi = mid - 1
		default:
			return int32(mid), true
		}
	}
	return 0, false
}

// maxGuesses is enough for files of several runs of numbers with gaps between.
const maxGuesses = 6

// maxSparse is how many numbers a record may take up in the flat table: it
// costs 4 bytes each.
const maxSparse = 4

// buildIndex fills the table. The first of several records with one number is
// kept; the rest is told unless it says the same.
func (f *File) buildIndex(rising bool, most ID, warn func(ID, int, string)) {
	switch {
	case rising:
		f.index.rising = true
	case most <= ID(maxSparse*len(f.recs)+1024):
		f.fillDense(most, warn)
	default:
		f.fillSorted(warn)
	}
	f.refuseZero(warn)
}

// refuseZero drops records of the number 0, which the standard does not allow
// and which stands for no reference here. Numbers that rise have none.
func (f *File) refuseZero(warn func(ID, int, string)) {
	i, ok := f.index.find(f.recs, 0)
	if !ok {
		return
	}
	warn(0, int(f.recs[i].from), "#0 is no instance number: the record is dropped")
	f.recs[i].word = noWord
	if f.index.dense != nil {
		f.index.dense[0] = 0
	} else {
		f.index.sorted = f.index.sorted[1:]
	}
}

func (f *File) fillDense(most ID, warn func(ID, int, string)) {
	f.index.dense = make([]int32, most+1)
	for i := range f.recs {
		at := &f.index.dense[f.recs[i].id()]
		if *at != 0 {
			f.duplicate(*at-1, int32(i), warn)
			continue
		}
		*at = int32(i) + 1
	}
}

func (f *File) fillSorted(warn func(ID, int, string)) {
	s := make([]int32, len(f.recs))
	for i := range s {
		s[i] = int32(i)
	}
	slices.SortStableFunc(s, func(a, b int32) int { return cmp.Compare(f.recs[a].id(), f.recs[b].id()) })
	kept := s[:0]
	for _, i := range s {
		if n := len(kept); n > 0 && f.recs[kept[n-1]].id() == f.recs[i].id() {
			f.duplicate(kept[n-1], i, warn)
			continue
		}
		kept = append(kept, i)
	}
	f.index.sorted = kept
}

func (f *File) duplicate(first, again int32, warn func(ID, int, string)) {
	a, b := &f.recs[first], &f.recs[again]
	defer func() { b.word = noWord }()
	if a.word == b.word && bytes.Equal(f.src[a.from:a.to], f.src[b.from:b.to]) {
		return
	}
	warn(b.id(), Record{f: f, i: again}.start(), fmt.Sprintf("number used twice with different content; the first (%v) is kept", Record{f: f, i: first}.Pos()))
}
