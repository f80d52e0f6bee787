package p21

import (
	"bytes"
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
}

// record is one instance: 24 bytes, so that the index of a file of points
// stays smaller than its text.
type record struct {
	id   ID
	from uint32 // offset of the parenthesis that opens the parameters
	to   uint32 // offset behind the one that closes them
	word word
}

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

// idIndex finds records by number: a flat table where the numbers are dense,
// as they nearly always are, and a sorted list where they are not.
type idIndex struct {
	dense  []int32 // index + 1 by id
	sorted []int32 // indices by rising id
}

func (x *idIndex) find(recs []record, id ID) (int32, bool) {
	if x.dense != nil {
		if id >= ID(len(x.dense)) || x.dense[id] == 0 {
			return 0, false
		}
		return x.dense[id] - 1, true
	}
	k, ok := slices.BinarySearchFunc(x.sorted, id, func(i int32, id ID) int {
		switch {
		case recs[i].id < id:
			return -1
		case recs[i].id > id:
			return 1
		}
		return 0
	})
	if !ok {
		return 0, false
	}
	return x.sorted[k], true
}

// maxSparse is how many numbers a record may take up in the flat table: it
// costs 4 bytes each.
const maxSparse = 4

// buildIndex fills the table. The first of several records with one number is
// kept; the rest is told unless it says the same.
func (f *File) buildIndex(most ID, warn func(ID, int, string)) {
	if most <= ID(maxSparse*len(f.recs)+1024) {
		f.fillDense(most, warn)
	} else {
		f.fillSorted(warn)
	}
}

func (f *File) fillDense(most ID, warn func(ID, int, string)) {
	f.index.dense = make([]int32, most+1)
	for i := range f.recs {
		at := &f.index.dense[f.recs[i].id]
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
	slices.SortStableFunc(s, func(a, b int32) int {
		switch {
		case f.recs[a].id < f.recs[b].id:
			return -1
		case f.recs[a].id > f.recs[b].id:
			return 1
		}
		return 0
	})
	kept := s[:0]
	for _, i := range s {
		if n := len(kept); n > 0 && f.recs[kept[n-1]].id == f.recs[i].id {
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
	warn(b.id, int(b.from), fmt.Sprintf("number used twice with different content; the first (%v) is kept", f.PosAt(int(a.from))))
}
