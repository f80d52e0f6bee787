package p21

import (
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
	recent [256]struct {
		spelt string
		w     word
	}
}

// noWord is the word of a record that does not count: a second one with the
// same number.
const noWord word = 0

func newWords() words {
	return words{all: []wordInfo{{}}, byName: map[string]word{"": noWord}}
}

func (t *words) intern(b []byte) word {
	h := slot(b)
	if r := &t.recent[h]; r.spelt == string(b) && len(b) > 0 {
		return r.w
	}
	w, ok := t.byName[string(b)]
	if !ok {
		spelt := string(b)
		w = t.add(strings.ToUpper(spelt), nil)
		t.byName[spelt] = w
	}
	if name := t.all[w].name; name == string(b) { // other spellings stay out: they would cost a string each time
		t.recent[h].spelt, t.recent[h].w = name, w
	}
	return w
}

// slot mixes the bytes in which entity names differ most.
func slot(b []byte) uint8 {
	if len(b) == 0 {
		return 0
	}
	n := len(b)
	return uint8(n)*31 ^ b[0]*7 ^ b[n/2]*13 ^ b[n-1]*3
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
