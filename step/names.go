package step

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxName bounds a name for display, in bytes: longer ones are cut, since a
// path repeats them at every level.
const maxName = 200

// clean makes a decoded string fit to show: control and invisible formatting
// characters removed, blanks trimmed, length bounded.
func clean(s string) string {
	s = strings.Map(func(c rune) rune {
		switch {
		case c == '\t' || c == '\n' || c == '\r':
			return ' '
		case unicode.IsControl(c), unicode.Is(unicode.Cf, c):
			return -1
		}
		return c
	}, s)
	s = strings.TrimSpace(s)
	if len(s) <= maxName {
		return s
	}
	cut := maxName
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return s[:cut] + "…"
}

// nameless reports words that writers put where they have no name.
func nameless(s string) bool {
	switch strings.ToUpper(s) {
	case "", "NONE", "UNKNOWN", "NULL", "UNNAMED", "NONAME":
		return true
	}
	return false
}

// bodyless reports words that writers put as the name of every body.
func bodyless(s string) bool {
	switch strings.ToUpper(s) {
	case "SOLID", "COMPOUND", "BODY", "BREP", "MANIFOLD_SOLID_BREP", "SHELL":
		return true
	}
	return nameless(s)
}

// counter reports an occurrence name that only counts: "12", "NAUO12",
// "#12", "=>[0:1:1:2]", or says only what it is.
func counter(s string) bool {
	if strings.HasPrefix(s, "=>[") || strings.EqualFold(s, "Next assembly relationship") {
		return true
	}
	t := strings.TrimLeft(strings.ToUpper(s), "#")
	t = strings.TrimPrefix(t, "NAUO")
	t = strings.TrimPrefix(t, "NEXT_ASSEMBLY_USAGE_OCCURRENCE")
	return t == "" || strings.Trim(t, "0123456789._- ") == ""
}

// firstName is the first candidate that names something.
func firstName(candidates ...string) string {
	for _, c := range candidates {
		if !nameless(c) {
			return c
		}
	}
	return ""
}

// pathStep writes a name as one step of a path.
func pathStep(name string) string { return strings.ReplaceAll(name, "/", "∕") }
