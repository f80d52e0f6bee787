package name

import (
	"regexp"
	"slices"
	"strings"
	"sync"
)

// standard is a row of standards.csv (from memory): what a designation is
// about. as is the standard of our tables that has the same measures.
type standard struct{ name, kind, head, drive, as string }

var standards = sync.OnceValue(func() map[string]standard {
	out := map[string]standard{}
	for _, r := range rows("standards.csv") {
		out[r[0]] = standard{r[0], r[1], r[2], r[3], r[4]}
	}
	return out
})

// issued is a designation found in a name: at and end are bytes of the name.
type issued struct {
	standard
	at, end int
}

// issuer finds who issued a standard, and its number: "DIN EN ISO 4762",
// "ISO_7380-1", "GB/T 70.1", "JIS B 1176", "ASME B18.3". The border before it is
// looked at by hand, since "ScrewDIN912" has none but the capital.
var issuer = regexp.MustCompile(`(?i)(iso|din|gb[/ _-]?t?|jis[ _-]?b|asme|ansi|uni|nf[ _-]?e|гост|gost|en)[ _.:#-]{0,3}(b?\d{1,5})((?:[.-]\d{1,3})*m?)`)

// american are the standards of B18 without their issuer, as some libraries of
// parts write them.
var american = regexp.MustCompile(`()(B18)((?:\.\d{1,3})+M?)`)

// issuers are the spellings that the table has.
var issuers = strings.NewReplacer("gbt", "GB/T", "gb", "GB/T", "jisb", "JIS B", "ansi", "ASME", "nfe", "NF E", "gost", "ГОСТ", "гост", "ГОСТ",
	"iso", "ISO", "din", "DIN", "asme", "ASME", "uni", "UNI", "en", "EN")

// issuing are the tokens of which one is in every designation: most names have
// none, and the pattern is slow.
var issuing = []string{"iso", "din", "gb", "gbt", "jis", "jisb", "asme", "asmeb", "ansi", "ansib", "uni", "b", "nf", "nfe", "гост", "gost", "en"}

// designation finds the first standard of the table in a folded name.
func designation(text string, toks []token) (issued, bool) {
	if !slices.ContainsFunc(toks, func(t token) bool { return slices.Contains(issuing, t.text) }) {
		return issued{}, false
	}
	if n, ok := first(issuer, text); ok {
		return n, true
	}
	return first(american, text)
}

// first finds the first standard of the table that has the pattern.
func first(pattern *regexp.Regexp, text string) (issued, bool) {
	for at := 0; ; {
		m := pattern.FindStringSubmatchIndex(text[at:])
		if m == nil {
			return issued{}, false
		}
		for k := range m {
			m[k] += at
		}
		if borders(text, m[0]) {
			if n, ok := known(text, m); ok {
				return n, true
			}
		}
		at = m[0] + 1
		for at < len(text) && text[at]&0xc0 == 0x80 {
			at++
		}
	}
}

// borders reports that a word may begin at byte i.
func borders(text string, i int) bool {
	if i == 0 {
		return true
	}
	before, here := text[i-1], text[i]
	switch {
	case before >= 'a' && before <= 'z':
		return here >= 'A' && here <= 'Z'
	case before >= 'A' && before <= 'Z':
		return false
	}
	return true
}

// known looks the number up, with as many of its parts as the table has: the
// "-1" of "ISO 7380-1" belongs to it, the "-10" of "ISO 7089-10" does not.
func known(text string, m []int) (issued, bool) {
	by := strings.ToLower(text[m[2]:m[3]])
	if by == "" {
		by = "asme"
	}
	by = issuers.Replace(strings.NewReplacer(" ", "", "_", "", "-", "", "/", "").Replace(by))
	number, parts := strings.ToUpper(text[m[4]:m[5]]), strings.ToUpper(text[m[6]:m[7]])
	for {
		end := m[5] + len(parts)
		whole := end == len(text) || text[end] < '0' || text[end] > '9'
		if s, ok := standards()[by+" "+number+parts]; ok && whole {
			return issued{s, m[0], end}, true
		}
		cut := strings.LastIndexAny(parts, ".-M")
		if cut < 0 {
			return issued{}, false
		}
		parts = parts[:cut]
	}
}

// standard takes over what the designation says.
func (s *Statement) standard(n *issued) {
	if !slices.Contains(s.Kinds, n.kind) {
		s.Kinds = append([]string{n.kind}, s.Kinds...)
	} else if i := slices.Index(s.Kinds, n.kind); i > 0 {
		s.Kinds[0], s.Kinds[i] = s.Kinds[i], s.Kinds[0]
	}
	s.Standard, s.Same, s.Head, s.Drive, s.Weak = n.name, n.as, n.head, n.drive, false
	if s.Same == "" {
		s.Same = s.Standard
	}
	s.Word = s.Standard
}
