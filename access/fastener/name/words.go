package name

import (
	"embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

//go:embed *.csv
var files embed.FS

// entry is a word or phrase of the table words.csv, folded. Its columns: what
// it says; weak for words that mean other things as well; the language; the
// words, parted by "|". "/s" adds a form with that ending, "~" lets the word be
// the end of a compound; words without letters of an alphabet may always end a
// longer run, since their scripts have no spaces. All are common trade words,
// from memory.
type entry struct {
	says      string
	kinds     []string // of kinds, first the commonest
	weak      bool
	headFirst bool     // French, Italian, Spanish: what describes comes after
	words     []string // the last may be an ending, the others are whole tokens
	ending    bool
}

// What an entry says besides kinds: that the words are no fastener's, that they
// make one of something else where they follow or precede, wherever they stand,
// and that what follows only describes.
const (
	sayNothing  = "nothing"
	sayAfter    = "after"
	sayBefore   = "before"
	sayAnywhere = "anywhere"
	sayOf       = "of"
	sayHead     = "head "
)

// lexicon finds entries by the last of their words.
type lexicon struct {
	whole, ending map[string][]*entry
}

// kindWords are the words about kinds, headWords those about heads, which may
// be parts of them ("cap screw").
var kindWords, headWords = sync.OnceValue(func() *lexicon { return load(false) }), sync.OnceValue(func() *lexicon { return load(true) })

func load(heads bool) *lexicon {
	l := &lexicon{whole: map[string][]*entry{}, ending: map[string][]*entry{}}
	for _, row := range rows("words.csv") {
		says, lang := row[0], row[2]
		head, isHead := strings.CutPrefix(says, sayHead)
		if isHead != heads {
			continue
		}
		e := entry{says: says, weak: row[1] == "weak", headFirst: lang == "fr" || lang == "it" || lang == "es"}
		switch says {
		case sayNothing, sayAfter, sayBefore, sayAnywhere, sayOf:
		default:
			e.kinds = strings.Split(says, "|")
		}
		if isHead {
			e.says = head
		}
		for _, w := range strings.Split(row[3], "|") {
			for _, form := range forms(w) {
				l.add(e, form)
			}
		}
	}
	return l
}

// rows are the lines of an embedded table without its heading. The tables are
// part of the program, so a fault in one is ours and the tests meet it first.
func rows(file string) [][]string {
	f, err := files.Open(file)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(fmt.Errorf("%s: %w", file, err))
	}
	return all[1:]
}

// forms are the spellings of a word of the table: with and without its ending,
// with umlauts as vowels and as vowels with an e.
func forms(w string) []string {
	stem, end, _ := strings.Cut(w, "/")
	out := []string{stem}
	if end != "" {
		out = append(out, stem+end)
	}
	for _, f := range slices.Clone(out) {
		if e := umlauts.Replace(f); e != f {
			out = append(out, e)
		}
	}
	return out
}

var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue")

func (l *lexicon) add(e entry, form string) {
	form, e.ending = strings.CutPrefix(form, "~")
	for _, t := range tokens(fold(form)) {
		e.words = append(e.words, t.text)
	}
	if len(e.words) == 0 {
		panic("words.csv: an entry without letters: " + form)
	}
	last := e.words[len(e.words)-1]
	if r, _ := utf8.DecodeRuneInString(last); scriptOf(r) == eastern {
		e.ending = true
	}
	if e.ending {
		l.ending[last] = append(l.ending[last], &e)
	} else {
		l.whole[last] = append(l.whole[last], &e)
	}
}

// match is an entry found in tokens [from, to].
type match struct {
	*entry
	from, to int
	letters  int // of the last token that the entry accounts for
}

// thing reports entries that name something, other than those that only say how
// the words about them are meant.
func (e *entry) thing() bool { return e.kinds != nil || e.says == sayNothing }

// find lists the entries in a name; where one overlaps with one that names
// something and has more words or else more letters, the longer stands.
func (l *lexicon) find(toks []token) []match {
	var all []match
	for i := range toks {
		all = l.ends(all, toks, i)
	}
	slices.SortStableFunc(all, func(a, b match) int {
		if d := (b.to - b.from) - (a.to - a.from); d != 0 {
			return d
		}
		return b.letters - a.letters
	})
	var out []match
	for _, m := range all {
		if !slices.ContainsFunc(out, func(o match) bool { return o.thing() && m.from <= o.to && o.from <= m.to }) {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b match) int { return a.from - b.from })
	return out
}

// ends adds the entries that end with token i.
func (l *lexicon) ends(all []match, toks []token, i int) []match {
	text := toks[i].text
	put := func(list []*entry, letters int) {
		for _, e := range list {
			if from := i - len(e.words) + 1; from >= 0 && e.begins(toks[from:i]) {
				all = append(all, match{e, from, i, letters})
			}
		}
	}
	put(l.whole[text], len(text))
	for k := range text { // every ending that begins with a whole letter
		put(l.ending[text[k:]], len(text)-k)
	}
	return all
}

// begins reports whether all words but the last are the tokens.
func (e *entry) begins(toks []token) bool {
	for k, t := range toks {
		if t.text != e.words[k] {
			return false
		}
	}
	return true
}
