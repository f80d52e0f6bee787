package name

import (
	"slices"
	"strings"
)

// Statement is what a name says. Lengths are in mm; what it does not say is ""
// or 0.
type Statement struct {
	// Kinds are the kinds that it may mean, in the words of package fastener, the
	// likeliest first; none where the name says none.
	Kinds []string
	Word  string // that said the kind, as compared: in lower case, without accents
	// Weak: the word means other things than fasteners as well ("pin").
	Weak bool
	// Head and Drive are the designation's or the words'.
	Head, Drive string
	// Standard is the designation's ("ISO 4762"), in one spelling; Same is the
	// one of the tables that has the same measures ("DIN 912": "ISO 4762").
	Standard, Same string
	Size           string  // of the thread: "M4", "#8-32", "1/4-20", "ST4.2"
	Diameter       float64 // of a pin or rivet, or of the thread
	Length         float64
}

// Says reports whether the name says any kind.
func (s *Statement) Says() bool { return len(s.Kinds) > 0 }

// Kind is the likeliest kind, "" without.
func (s *Statement) Kind() string {
	if len(s.Kinds) == 0 {
		return ""
	}
	return s.Kinds[0]
}

// Read reads a name.
func Read(name string) Statement {
	text := fold(name)
	toks := tokens(text)
	found := kindWords().find(toks)
	if slices.ContainsFunc(found, func(m match) bool { return m.says == sayAnywhere }) {
		return Statement{}
	}
	said := described(found, toks)
	std, ok := designation(text, toks)
	s := kindOf(said, toks)
	ok = ok && (standsFor(std.at, found, toks) || s.mayBe(std.kind))
	if len(said) == 0 && !ok {
		return Statement{}
	}
	if ok {
		s.standard(&std)
	}
	s.head(toks)
	s.sizes(text, std)
	return s
}

// mayBe reports a kind that the words have named already: "Zylinderschraube mit
// Innensechskant ISO 4762" means the standard of the screw.
func (s *Statement) mayBe(kind string) bool {
	shank := func(k string) bool { return k == "screw" || k == "bolt" || k == "stud" || k == "set screw" }
	return slices.ContainsFunc(s.Kinds, func(k string) bool { return k == kind || shank(k) && shank(kind) })
}

// described leaves of the words found those that name the thing itself.
func described(found []match, toks []token) []match {
	var out []match
	for _, m := range found {
		if m.kinds != nil && stands(m, found, toks) {
			out = append(out, m)
		}
	}
	return out
}

// stands reports whether nothing makes the word that of another thing.
func stands(m match, found []match, toks []token) bool {
	for _, o := range found {
		switch {
		case o.says == sayOf && o.to < m.from:
			return false // "cover for a screw", "tapa de tornillo"
		case o.says == sayBefore && o.to < m.from && m.headFirst:
			return false
		case o.says == sayAfter && o.from > m.to && joined(m.to, o.from, found, toks):
			return false // "screw cover", "Schrauben-Abdeckung"
		}
	}
	return true
}

// joined reports that neither a comma nor a preposition stands between tokens.
func joined(from, to int, found []match, toks []token) bool {
	for i := from + 1; i <= to; i++ {
		if toks[i].comma {
			return false
		}
	}
	return !slices.ContainsFunc(found, func(o match) bool { return o.says == sayOf && o.from > from && o.to < to })
}

// standsFor is stands for a designation at a byte of the name.
func standsFor(at int, found []match, toks []token) bool {
	m := match{entry: &entry{}, from: len(toks), to: len(toks) - 1}
	for i := range toks {
		if toks[i].at >= at {
			m.from, m.to = i, i
			break
		}
	}
	return stands(m, found, toks)
}

// kindOf takes the kind from the first word of a language that puts it first,
// else from the last of all.
func kindOf(said []match, toks []token) Statement {
	if len(said) == 0 {
		return Statement{}
	}
	m := said[len(said)-1]
	if said[0].headFirst {
		m = said[0]
	}
	s := Statement{Kinds: slices.Clone(m.kinds), Weak: m.weak}
	var w []string
	for _, t := range toks[m.from : m.to+1] {
		w = append(w, t.text)
	}
	s.Word = strings.Join(w, " ")
	for _, o := range said {
		for _, k := range o.kinds {
			if !slices.Contains(s.Kinds, k) {
				s.Kinds = append(s.Kinds, k)
			}
		}
	}
	return s
}

// head takes the head from words where the designation has none.
func (s *Statement) head(toks []token) {
	if s.Head != "" || !slices.ContainsFunc(s.Kinds, func(k string) bool { return k == "screw" || k == "bolt" || k == "rivet" }) {
		return
	}
	if found := headWords().find(toks); len(found) > 0 {
		s.Head = found[0].says
	}
}
