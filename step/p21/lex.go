package p21

import (
	"bytes"
	"fmt"
	"strings"
)

func digit(b byte) bool { return b-'0' <= 9 }

func letter(b byte) bool { return b|0x20-'a' <= 25 || b == '_' }

// space takes every control character for white space: the standard ignores
// them, and old systems left some in files.
func space(b byte) bool { return b <= ' ' }

// blank skips white space and comments. A comment without end runs to the end
// of the text.
func (s *scanner) blank() { s.pos = skipBlank(s.src, s.pos) }

func skipBlank(src []byte, p int) int {
	for p < len(src) {
		switch {
		case space(src[p]):
			p++
		case src[p] == '/' && p+1 < len(src) && src[p+1] == '*':
			end := bytes.Index(src[p+2:], []byte("*/"))
			if end < 0 {
				return len(src)
			}
			p += 2 + end + 2
		default:
			return p
		}
	}
	return p
}

// name reads a section word, folded to capitals; "" where none stands.
func (s *scanner) name() string {
	p := s.pos
	for p < len(s.src) && p-s.pos < 64 && (letter(s.src[p]) || digit(s.src[p]) || s.src[p] == '-') {
		p++
	}
	n := strings.ToUpper(string(s.src[s.pos:p]))
	s.pos = p
	return n
}

// keyword reads an entity name at p, noWord where none stands, and where it
// ends. Control characters inside of it do not count; a user-defined one keeps
// its exclamation mark.
func (s *scanner) keyword(src []byte, p int) (word, int) {
	from := p
	if p < len(src) && src[p] == '!' {
		p++
	}
	for p < len(src) && (letter(src[p]) || digit(src[p])) {
		p++
	}
	if p == from || digit(src[from]) || p-from > maxName {
		return noWord, p
	}
	if p < len(src) && src[p] < ' ' {
		if q := skipBlank(src, p); q < len(src) && (letter(src[q]) || digit(src[q])) {
			return s.brokenKeyword(src, from)
		}
	}
	return s.words.intern(src[from:p]), p
}

// brokenKeyword joins a name that line breaks or other control characters cut.
func (s *scanner) brokenKeyword(src []byte, p int) (word, int) {
	var name []byte
	for ; p < len(src) && len(name) < maxName; p++ {
		switch c := src[p]; {
		case letter(c), digit(c), c == '!' && len(name) == 0:
			name = append(name, c)
		case c < ' ':
		default:
			return s.words.intern(name), p
		}
	}
	return noWord, p
}

// number reads an instance number.
func (s *scanner) number() (id ID, ok bool) {
	id, s.pos, ok = number(s.src, s.pos)
	return id, ok
}

// number reads the digits of an instance number that fits a record, and where
// they end. Control characters between them do not count.
func number(src []byte, p int) (ID, int, bool) {
	p = skipBlank(src, p)
	var id ID
	from := p
	for p < len(src) && (digit(src[p]) || src[p] < ' ' && p > from) {
		if c := src[p]; digit(c) {
			if id > (maxID-9)/10 {
				return 0, p, false
			}
			id = id*10 + ID(c-'0')
		}
		p++
	}
	return id, p, p > from
}

// toSemicolon goes behind the next semicolon.
func (s *scanner) toSemicolon() {
	p := min(s.pos, len(s.src))
	for {
		p = skipBlank(s.src, p)
		if p >= len(s.src) {
			s.pos = p
			return
		}
		switch s.src[p] {
		case ';':
			s.pos = p + 1
			return
		case '\'':
			p = stringEnd(s.src, p)
		case '#': // a section word without its semicolon
			s.pos = p
			return
		default:
			p++
		}
	}
}

// stringEnd returns the offset behind the string that opens at p; the end of
// the text where it does not close. A doubled quote closes and opens again,
// which comes to the same.
func stringEnd(src []byte, p int) int {
	i := bytes.IndexByte(src[p+1:], '\'')
	if i < 0 {
		return len(src)
	}
	return p + 1 + i + 1
}

// closing returns the offset behind the parenthesis that closes the one at p.
// It counts, so depth costs nothing.
func closing(src []byte, p int) (int, bool) {
	depth := 0
	for {
		p = nextBracket(src, p)
		if p >= len(src) {
			return len(src), false
		}
		switch src[p] {
		case '(':
			depth++
		case ')':
			depth--
			if depth == 0 {
				return p + 1, true
			}
		case '\'':
			p = stringEnd(src, p)
			continue
		case '/':
			if q := skipBlank(src, p); q > p {
				p = q
				continue
			}
		case ';':
			return p, false
		}
		p++
	}
}

// expected says what was wanted and what stands at an offset instead; nothing
// where nobody will read it, since a damaged text may ask a million times.
func (s *scanner) expected(what string, p int) string {
	if len(s.warnings.kept) >= s.opt.MaxWarnings {
		return ""
	}
	return "expected " + what + ", found " + show(s.src, p)
}

func show(src []byte, p int) string {
	p = skipBlank(src, min(p, len(src)))
	if p >= len(src) {
		return "the end of the text"
	}
	e := p
	for e < len(src) && e-p < 24 && !space(src[e]) {
		e++
	}
	return fmt.Sprintf("%q", src[p:e])
}
