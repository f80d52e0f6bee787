package sheet

import (
	"strings"
	"unicode"

	"stepscan/render/name"
)

// clean makes a name from a file fit to be printed on one line: control
// characters, marks that turn the direction of writing, and characters that
// XML does not allow are dropped, white space is joined.
func clean(s string) string {
	var b strings.Builder
	space := false
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch {
		case unicode.IsSpace(r) && r != '\u3000' && r != '\u00a0': // those two are letters of a name
			space = b.Len() > 0
			continue
		case name.Unfit(r):
			continue
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(r)
	}
	return b.String()
}

// runeWidth is a generous width of a letter in a common sans-serif font, as a
// part of the font size: measured on the widest of those that a reader is
// likely to have and rounded up.
func runeWidth(r rune) float64 {
	switch {
	case strings.ContainsRune("ijl.,:;'|!`", r):
		return 0.36
	case strings.ContainsRune("frtI()[]{}/\\-\" ", r):
		return 0.42
	case strings.ContainsRune("mwMW@%—…", r):
		return 1.0
	case r >= 'A' && r <= 'Z', strings.ContainsRune("&#+<>=~_⌀×", r):
		return 0.8
	case r < 0x250:
		return 0.65
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r >= 0x1100: // Hangul, CJK, symbols
		return 1.05
	}
	return 0.85
}

// textWidth estimates the width, mm, of a line at a font size in mm. Real fonts
// come out a little narrower.
func textWidth(s string, size float64) float64 {
	w := 0.0
	for _, r := range s {
		w += runeWidth(r)
	}
	return w * size
}

// shorten cuts a line that is wider than w mm, with an ellipsis at the end.
func shorten(s string, size, w float64) string {
	if textWidth(s, size) <= w {
		return s
	}
	room := w - textWidth("…", size)
	used := 0.0
	for i, r := range s {
		used += runeWidth(r) * size
		if used > room {
			return strings.TrimRight(s[:i], " ") + "…"
		}
	}
	return s
}

// wrap breaks a text into at most n lines of at most w mm; what is left over
// ends in an ellipsis.
func wrap(s string, size, w float64, n int) []string {
	var lines []string
	line := ""
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ' ' })
	for i, word := range words {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if line == "" || textWidth(try, size) <= w {
			line = try
			continue
		}
		if len(lines) == n-1 {
			return append(lines, shorten(line+" "+strings.Join(words[i:], " "), size, w))
		}
		lines, line = append(lines, shorten(line, size, w)), word
	}
	if line != "" {
		lines = append(lines, shorten(line, size, w))
	}
	return lines
}

// wrapName breaks a part's name into at most n lines of at most w mm: after
// the characters that join words in such names, anywhere where there is none.
func wrapName(s string, size, w float64, n int) []string {
	var lines []string
	line, since := "", 0 // since: where in the line it may break
	for _, r := range s {
		if textWidth(line+string(r), size) > w && line != "" {
			if len(lines) == n-1 {
				return append(lines, shorten(line+s[len(strings.Join(lines, ""))+len(line):], size, w))
			}
			at := len(line)
			if since > 0 {
				at = since
			}
			lines, line, since = append(lines, line[:at]), line[at:], 0
		}
		line += string(r)
		if strings.ContainsRune(" _-:./,", r) {
			since = len(line)
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
