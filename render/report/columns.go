package report

import (
	"iter"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"

	"stepscan/render/name"
)

// table writes rows in aligned columns, two blanks apart; it asks for the rows
// twice. text/tabwriter
// counts bytes of colour codes and takes every rune for one column wide, so
// names in Chinese or a painted word would shift what follows.
func (t *text) table(rows iter.Seq[[]string]) {
	var wide []int
	for r := range rows {
		for i, c := range r {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], columns(c))
		}
	}
	for r := range rows {
		var b strings.Builder
		for i, c := range r {
			b.WriteString(c)
			if i+1 < len(r) {
				b.WriteString(strings.Repeat(" ", wide[i]-columns(c)+2))
			}
		}
		t.line("%s", strings.TrimRight(b.String(), " "))
	}
}

// columns is how wide a terminal shows s: East Asian wide runes take two
// columns (Unicode Standard Annex 11), colour codes, combining marks, joiners
// and the later letters of a Korean syllable in parts none.
func columns(s string) int {
	n, esc := 0, false
	for _, r := range s {
		switch {
		case esc:
			esc = r != 'm'
		case r == '\x1b':
			esc = true
		case r < 0x7f:
			n++
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf), r >= 0x1160 && r <= 0x11ff:
		case wideRune(r):
			n += 2
		default:
			n++
		}
	}
	return n
}

func wideRune(r rune) bool {
	k := width.LookupRune(r).Kind()
	return k == width.EastAsianWide || k == width.EastAsianFullwidth
}

// clip shortens s to n columns with an ellipsis.
func clip(s string, n int) string {
	if columns(s) <= n {
		return s
	}
	for columns(s) > n-1 {
		_, size := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-size]
	}
	return strings.TrimRight(s, "\u200d") + "…"
}

// wrap breaks s at blanks into lines of at most n columns; a word that is
// longer stands alone. The wide blank of Chinese and Japanese names and the one
// that does not break are letters of theirs.
func wrap(s string, n int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' }) {
		if line != "" && columns(line)+1+columns(word) > n {
			lines, line = append(lines, line), ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

// maxColumns is the width that long sentences are wrapped to.
const maxColumns = 110

// wrapped writes a sentence after head; its further lines are indented as far
// as the head's own blanks and by hang more.
func (t *text) wrapped(head, s string, hang int) {
	pad := strings.Repeat(" ", hang)
	lines := wrap(s, maxColumns-hang)
	if room := maxColumns - columns(head); room != maxColumns-hang {
		lines = wrap(s, min(room, maxColumns-hang))
	}
	for i, l := range lines {
		if i == 0 {
			t.line("%s%s", head, l)
		} else {
			t.line("%s%s", pad, l)
		}
	}
}

// clean replaces what a file's name could do to a terminal: characters unfit
// to be shown (colour codes, reversed text) become "·".
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if name.Unfit(r) || r == utf8.RuneError {
			return '·'
		}
		return r
	}, s)
}

const (
	red    = "\x1b[31m"
	green  = "\x1b[32m"
	yellow = "\x1b[33m"
	strong = "\x1b[1m"
	reset  = "\x1b[0m"
)

func (t *text) paint(color, s string) string {
	if !t.st.Color || color == "" {
		return s
	}
	return color + s + reset
}

func (t *text) bold(s string) string { return t.paint(strong, s) }
