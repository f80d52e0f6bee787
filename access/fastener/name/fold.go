package name

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// longest is how much of a name is read, bytes: designations are short, and
// names of megabytes are no names.
const longest = 400

// fold gives a name the form in which it is compared: full-width and
// half-width forms made one, accents taken away, case kept.
func fold(s string) string {
	if len(s) > longest {
		s = s[:longest]
		for len(s) > 0 && !utf8.ValidString(s[max(0, len(s)-utf8.UTFMax):]) && s[len(s)-1] >= utf8.RuneSelf {
			s = s[:len(s)-1]
		}
	}
	if isASCII(s) {
		return s
	}
	s = strings.Map(func(r rune) rune {
		if r >= 0x300 && r <= 0x36f { // combining accents; the sound marks of kana are others
			return -1
		}
		return r
	}, norm.NFKD.String(s))
	return norm.NFC.String(special.Replace(s))
}

// special are the letters and signs that no decomposition opens.
var special = strings.NewReplacer(
	"ß", "ss", "ẞ", "SS", "ø", "Ø", "⌀", "Ø", "∅", "Ø", "×", "x", "✕", "x", "⨯", "x", "·", " ", "’", "'", "⁄", "/",
	"–", "-", "—", "-", "‐", "-", "‑", "-", "−", "-", "″", `"`, "”", `"`, "œ", "oe", "æ", "ae", "ł", "l", "ı", "i",
)

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// script tells the writings apart that end a token where they meet.
type script uint8

const (
	noLetter script = iota
	latin
	cyrillic
	eastern // Chinese and Japanese, which have no spaces
)

func scriptOf(r rune) script {
	switch {
	case r < utf8.RuneSelf:
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return latin
		}
		return noLetter
	case unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana) || r == 'ー' || r == '々':
		return eastern
	case unicode.Is(unicode.Cyrillic, r):
		return cyrillic
	case unicode.IsLetter(r):
		return latin
	}
	return noLetter
}

// token is a run of letters of a folded name, in lower case.
type token struct {
	text  string
	at    int  // bytes from the begin of the folded name
	comma bool // a comma, semicolon or bracket stands between it and the token before
}

// tokens splits a folded name where the letters end, where the writing changes
// and where a capital follows a small letter ("HexNut").
func tokens(s string) []token {
	var out []token
	start, kind, comma, small := 0, noLetter, false, false
	end := func(i int) {
		if kind != noLetter {
			out = append(out, token{strings.ToLower(s[start:i]), start, comma})
			comma = false
		}
	}
	for i, r := range s {
		k := scriptOf(r)
		if k != kind || k != noLetter && k != eastern && small && unicode.IsUpper(r) {
			end(i)
			start, kind = i, k
		}
		comma = comma || strings.ContainsRune(",;()[]、，", r)
		small = unicode.IsLower(r)
	}
	end(len(s))
	return out
}
