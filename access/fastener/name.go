package fastener

import (
	"slices"
	"strings"
	"unicode"
)

// word is what a name says: a kind and the word that said it.
type word struct {
	kind Kind
	text string
}

// words of the trade by kind: English, German, French, Italian, Spanish,
// Chinese, Japanese (from memory, common trade words). A word counts where it
// is a whole token of the name or, for those that start with "~", the end of
// one (German compounds). Scripts without spaces count anywhere.
var words = []struct {
	kind Kind
	list string
}{
	{SetScrew, "setscrew grubscrew ~gewindestift ~madenschraube 紧定螺钉 止めねじ"},
	{Screw, "screw screws ~schraube ~schrauben vis vite tornillo 螺钉 螺丝 ねじ ネジ"},
	{Bolt, "bolt bolts boulon bullone 螺栓 ボルト"},
	{Nut, "nut nuts locknut hexnut ~mutter ~muttern ecrou écrou dado tuerca 螺母 ナット"},
	{Washer, "washer washers ~unterlegscheibe ~unterlegscheiben ~federring rondelle rondella rosetta arandela 垫圈 垫片 座金 ワッシャ"},
	{Pin, "pin dowel ~bolzen ~zylinderstift ~passstift goupille spina pasador 销 ピン"},
	{Rivet, "rivet rivets ~niet rivetto remache 铆钉 リベット"},
	{Stud, "stud ~stiftschraube ~gewindestange goujon 螺柱"},
}

// notWords turn a name into one of something else: where they follow the word
// of the kind ("bolt cover", but not "cover bolt"), as English and German put
// it; notAnywhere wherever they stand.
const (
	notWords    = "cover holder bracket plate housing hole boss standoff spacer driver header connector cap gehäuse deckel halter abdeckung distanz dichtung"
	notAnywhere = "bearing entretoise support"
)

// readName takes the first of the names that says a kind.
func readName(names ...string) word {
	for _, n := range names {
		if w := readOne(n); w.kind != "" {
			return w
		}
	}
	return word{}
}

func readOne(name string) word {
	tokens := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
	if anyOf(tokens, notAnywhere) {
		return word{}
	}
	for _, w := range words {
		for _, entry := range strings.Fields(w.list) {
			for i, t := range tokens {
				if says(t, entry) && !anyOf(tokens[i+1:], notWords) {
					return word{kind: w.kind, text: t}
				}
			}
		}
	}
	return word{}
}

// anyOf reports whether one of the tokens is in the list.
func anyOf(tokens []string, list string) bool {
	for _, not := range strings.Fields(list) {
		if slices.Contains(tokens, not) {
			return true
		}
	}
	return false
}

// says reports whether a token of a name is the entry.
func says(token, entry string) bool {
	if end, ok := strings.CutPrefix(entry, "~"); ok {
		return strings.HasSuffix(token, end)
	}
	if entry[0] > 0x7f && !unicode.Is(unicode.Latin, []rune(entry)[0]) {
		return strings.Contains(token, entry)
	}
	return token == entry
}
