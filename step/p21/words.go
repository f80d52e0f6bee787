package p21

import (
	"bytes"
	"encoding/binary"
	"math/bits"
	"slices"
	"strings"
)

// word numbers an entity name, or the set of names of a complex instance.
type word uint16 // maxWords fit

type wordInfo struct {
	name   string   // in capitals; "(A B)" for a complex instance
	leaves []string // nil unless complex
}

// words interns entity names. Files repeat a few dozen of them, so a small
// table in front of the map answers nearly always.
type words struct {
	all    []wordInfo
	byName map[string]word // also under every spelling met
	recent [512]knownWord  // names in capitals, at their slot or the one beside it
	starts [256]knownWord  // the same by their first four letters
	sets   [64]knownSet    // complex instances by their leaves as written
	full   bool            // a name was refused since there are too many
}

type knownWord struct {
	name string
	w    word
}

type knownSet struct {
	leaves []word
	w      word
}

// noWord is the word of a record that does not count: a second one with the
// same number.
const noWord word = 0

// maxKnown is the longest name that the small table is asked for, with the
// parenthesis behind it.
const maxKnown = 64

const (
	// maxWords bounds the different names and sets of names of a file. All
	// application protocols together have some 3,000 entities; a hostile file
	// could have a new one in each record, at many times its own size.
	maxWords = 1 << 14
	maxName  = 256 // bytes of one name
	maxSet   = 64  // leaves of one complex instance; real ones have up to a dozen
)

func newWords() words {
	return words{all: []wordInfo{{}}, byName: map[string]word{"": noWord}}
}

// start is the word of the name that a text of four bytes or more starts with,
// and the offset of the parenthesis behind it; noWord unless the small tables
// have it.
func (t *words) start(b []byte) (word, int) {
	const mixer = 0x9E3779B1 // 2^32 over the golden ratio
	h := binary.LittleEndian.Uint32(b) * mixer >> (32 - 8)
	if r := &t.starts[h]; r.is(b) {
		return r.w, len(r.name)
	}
	if r := &t.starts[h^1]; r.is(b) {
		return r.w, len(r.name)
	}
	n := bytes.IndexByte(b[:min(len(b), maxKnown)], '(')
	if n <= 0 {
		return noWord, 0
	}
	name := b[:n]
	if name[n-1] == ' ' {
		name = name[:n-1]
	}
	w := t.known(name)
	if w != noWord && len(name) >= 4 {
		t.starts[h^1] = t.starts[h]
		t.starts[h] = knownWord{t.all[w].name, w}
	}
	return w, n
}

// is reports that a text starts with the name and a parenthesis.
func (k *knownWord) is(b []byte) bool {
	n := len(k.name)
	return n < len(b) && b[n] == '(' && k.name == string(b[:n])
}

// known is the word of a name that the small table has, else noWord.
func (t *words) known(b []byte) word {
	h := slot(b)
	if r := &t.recent[h]; r.name == string(b) {
		return r.w
	}
	if r := &t.recent[h^1]; r.name == string(b) {
		return r.w
	}
	return noWord
}

// intern numbers a name; noWord where there are too many.
func (t *words) intern(b []byte) word {
	if w := t.known(b); w != noWord {
		return w
	}
	w, ok := t.byName[string(b)]
	if !ok {
		spelt := string(b)
		w = t.add(strings.ToUpper(spelt), nil)
		if w == noWord {
			return noWord
		}
		if len(t.byName) < 2*maxWords {
			t.byName[spelt] = w
		}
	}
	if name := t.all[w].name; name == string(b) { // other spellings stay out: they would cost a string each time
		h := slot(b)
		t.recent[h^1] = t.recent[h]
		t.recent[h] = knownWord{name, w}
	}
	return w
}

// slot mixes the ends of a name and its length.
func slot(b []byte) uint32 {
	var x uint64
	if n := len(b); n >= 8 {
		x = binary.LittleEndian.Uint64(b) ^ bits.RotateLeft64(binary.LittleEndian.Uint64(b[n-8:]), n)
	} else {
		for _, c := range b {
			x = x<<8 | uint64(c)
		}
	}
	const mixer = 0x9E3779B97F4A7C15 // 2^64 over the golden ratio: spreads what differs in few bits
	return uint32(x * mixer >> (64 - 9))
}

func (t *words) add(name string, leaves []string) word {
	if w, ok := t.byName[name]; ok {
		return w
	}
	if len(t.all) >= maxWords {
		t.full = true
		return noWord
	}
	w := word(len(t.all))
	t.all = append(t.all, wordInfo{name: name, leaves: leaves})
	t.byName[name] = w
	return w
}

// complex interns the set of leaves of a complex instance, in any order.
func (t *words) complex(leaves []word) word {
	h := uint32(len(leaves))
	for _, l := range leaves {
		h = h*31 + uint32(l)
	}
	k := &t.sets[h%uint32(len(t.sets))]
	if k.w == noWord || !slices.Equal(k.leaves, leaves) {
		k.leaves, k.w = append(k.leaves[:0], leaves...), t.set(leaves)
	}
	return k.w
}

func (t *words) set(leaves []word) word {
	names := make([]string, len(leaves))
	for i, w := range leaves {
		names[i] = t.all[w].name
	}
	slices.Sort(names)
	return t.add("("+strings.Join(names, " ")+")", names)
}

// having marks the words that are or contain one of the names; nil for none.
func (t *words) having(names []string) []bool {
	var out []bool
	for w := range t.all {
		info := &t.all[w]
		for _, n := range names {
			if info.name == n || slices.Contains(info.leaves, n) {
				if out == nil {
					out = make([]bool, len(t.all))
				}
				out[w] = true
			}
		}
	}
	return out
}
