package fastener

import (
	"slices"
	"strings"
	"unicode"

	"stepscan/access/fastener/table"
)

// word is what a name says: a kind and the word that said it, and the size of a
// metric thread ("M3"), "" without one.
type word struct {
	kind Kind
	text string
	size string
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
	{StandOff, "standoff standoffs ~abstandsbolzen ~distanzbolzen"},
	{Pin, "pin dowel ~bolzen ~zylinderstift ~passstift ~splint ~spannstift goupille spina pasador 销 ピン"},
	{Rivet, "rivet rivets ~niet rivetto remache 铆钉 リベット"},
	{Ring, "circlip circlips snapring retainingring ~sicherungsring ~sicherungsringe ~sicherungsscheibe ~sprengring 挡圈 卡簧 止め輪"},
	{CableTie, "cabletie cableties ziptie zipties ~kabelbinder serrecâble fascetta brida 扎带 結束バンド"},
	{Clip, "clip clips ~klammer 卡扣 卡子 クリップ"},
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
			w.size = readSize(n)
			return w
		}
	}
	return word{}
}

// readSize is the metric thread that a name states: an M and a number that
// begin a token. Where it states two that differ it states none.
func readSize(name string) string {
	size := ""
	for i := 0; i < len(name); i++ {
		if name[i] != 'M' && name[i] != 'm' || i > 0 && isLetterOrDigit(name[i-1]) {
			continue
		}
		end := i + 1
		for end < len(name) && (name[end] >= '0' && name[end] <= '9' || name[end] == '.' && end > i+1) {
			end++
		}
		s := "M" + strings.TrimRight(name[i+1:end], ".")
		switch {
		case len(s) == 1:
		case size == "":
			size = s
		case size != s:
			return ""
		}
	}
	return size
}

// isLetterOrDigit reports what a token of a name is made of; bytes of letters
// beyond ASCII count.
func isLetterOrDigit(b byte) bool {
	return b >= '0' && b <= '9' || b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b >= 0x80
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

// sizeByName takes the size from the name where the shape left it open and does
// not contradict it: the screw goes through a washer's bore, and a nut's bore
// lies between the thread's minor and major diameter.
func (k *instance) sizeByName() {
	t, ok := table.ThreadOf(k.word.size)
	if !ok || k.Size != "" {
		return
	}
	lo, hi := 1.0, 1.35 // washers: ISO 7092 to ISO 7093 and DIN 7349 have 1.03 to 1.15
	switch {
	case k.Kind == Nut:
		lo, hi = 0.75, 1.05
	case k.Kind != Washer:
		return
	}
	if k.Bore >= lo*t.D && k.Bore <= hi*t.D {
		k.Size, k.Nominal = t.Size, t.D
		k.say("the size %s is by the name alone", t.Size)
	}
}
