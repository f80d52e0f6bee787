package p21

import (
	"encoding/binary"
	"math/bits"
	"slices"
	"strings"
)

// word numbers an entity name, or the set of names of a complex instance.
type word uint32

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
	sets   [64]knownSet    // complex instances by their leaves as written
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

func newWords() words {
	return words{all: []wordInfo{{}}, byName: map[string]word{"": noWord}}
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

func (t *words) intern(b []byte) word {
	if w := t.known(b); w != noWord {
		return w
	}
	w, ok := t.byName[string(b)]
	if !ok {
		spelt := string(b)
		w = t.add(strings.ToUpper(spelt), nil)
		t.byName[spelt] = w
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
