package step

import (
	"encoding/hex"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// maxName bounds a name for display, in bytes: longer ones are cut, since a
// path repeats them at every level.
const maxName = 200

// Spoofs reports a character by which a name can pretend to be another or send
// orders to a terminal: controls, line separators, and marks that turn the
// direction of what stands around (embeddings, overrides and isolates; Unicode
// 15, 23.2, Unicode report 36). All others are part of the name, though nothing
// is seen of some: the joiners that Persian words and joined signs need, the
// marks U+200E and U+200F behind a word in Hebrew or Arabic, soft hyphens, signs
// in front of Arabic numbers.
func Spoofs(c rune) bool {
	return unicode.IsControl(c) || c >= '\u2028' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069'
}

// clean makes a decoded string fit to show: mangled escapes decoded, what spoofs
// removed, blanks trimmed, length bounded. Where nothing can be seen of it, it
// is empty.
func clean(s string) string {
	s = unmangled(s)
	s = strings.Map(func(c rune) rune {
		switch {
		case c == '\t' || c == '\n' || c == '\r':
			return ' '
		case Spoofs(c):
			return -1
		}
		return c
	}, s)
	s = strings.TrimFunc(s, func(c rune) bool {
		return unicode.IsSpace(c) || c == '\ufeff' // the latter left over from the start of some file
	})
	if strings.TrimFunc(s, unseen) == "" {
		return ""
	}
	if len(s) <= maxName {
		return s
	}
	cut := maxName
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return s[:cut] + "…"
}

// unseen reports blanks and characters without a shape of their own.
func unseen(c rune) bool { return unicode.IsSpace(c) || unicode.Is(unicode.Cf, c) }

// unmangled decodes \X2\ escapes whose backslashes became underlines, as in
// "_X2_591658F3_X0_": some writers take an encoded name for a file's name and
// replace what that may not hold.
func unmangled(s string) string {
	var out strings.Builder
	for {
		before, rest, ok := strings.Cut(s, "_X2_")
		code, after, closed := strings.Cut(rest, "_X0_")
		units, err := hex.DecodeString(code)
		if !ok || !closed || err != nil || len(units) == 0 || len(units)%2 != 0 {
			break
		}
		utf := make([]uint16, len(units)/2)
		for i := range utf {
			utf[i] = uint16(units[2*i])<<8 | uint16(units[2*i+1])
		}
		out.WriteString(before)
		out.WriteString(string(utf16.Decode(utf)))
		s = after
	}
	if out.Len() == 0 {
		return s
	}
	return out.String() + s
}

// nameless reports words that writers put where they have no name.
func nameless(s string) bool {
	switch strings.ToUpper(s) {
	case "", "NONE", "UNKNOWN", "NULL", "UNNAMED", "NONAME":
		return true
	}
	return false
}

// partless reports words that writers put as the name of a product or of its
// use that has none: the kind of shape, or the writing program's own name with
// a number. "Shell" and "Body" are real names of parts.
func partless(s string) bool {
	return nameless(s) || s == "SOLID" || s == "COMPOUND" || strings.HasPrefix(s, "Open CASCADE STEP translator ")
}

// bodyless reports words that writers put as the name of every body.
func bodyless(s string) bool {
	switch strings.ToUpper(s) {
	case "SOLID", "COMPOUND", "BODY", "BREP", "MANIFOLD_SOLID_BREP", "SHELL":
		return true
	}
	return nameless(s)
}

// relationWord is what some writers call every occurrence; they put its name
// into the description.
const relationWord = "Next assembly relationship"

// counter reports an occurrence name that only counts: "12", "NAUO12",
// "#12", "=>[0:1:1:2]", or says only what it is.
func counter(s string) bool {
	if strings.HasPrefix(s, "=>[") || strings.EqualFold(s, relationWord) {
		return true
	}
	t := strings.TrimLeft(strings.ToUpper(s), "#")
	t = strings.TrimPrefix(t, "NAUO")
	t = strings.TrimPrefix(t, "NEXT_ASSEMBLY_USAGE_OCCURRENCE")
	return t == "" || strings.Trim(t, "0123456789._- ") == ""
}

// useText is what a NEXT_ASSEMBLY_USAGE_OCCURRENCE says of itself, as decoded.
type useText struct{ id, name, description, refDes string }

// pick is the name of an occurrence: the file's where it says something, else
// the product's, "" where neither does. Many writers only count their
// occurrences, and a person looks for the part, not for "NAUO12".
func (u useText) pick(product string) string {
	name, des := clean(u.name), clean(u.refDes)
	given := []string{name, des}
	if strings.EqualFold(name, relationWord) {
		given = append(given, clean(u.description))
	}
	for _, s := range given {
		if !partless(s) && !counter(s) {
			return s
		}
	}
	if id := clean(u.id); product == "" && !partless(id) && !counter(id) {
		return id
	}
	return product
}

// raw is the name as it stands in the file: the name, else the designator,
// else the id.
func (u useText) raw() string {
	for _, s := range []string{u.name, u.refDes, u.id} {
		if strings.TrimSpace(s) != "" {
			return s
		}
	}
	return ""
}

// rawUnless keeps a raw name where the shown one is another.
func rawUnless(name, raw string) string {
	if raw == name {
		return ""
	}
	return raw
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

// partName is the first candidate that names a product.
func partName(candidates ...string) string {
	for _, c := range candidates {
		if !partless(c) {
			return c
		}
	}
	return ""
}

// pathStep writes a name as one step of a path.
func pathStep(name string) string { return strings.ReplaceAll(name, "/", "∕") }
