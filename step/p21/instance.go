package p21

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/bits"
)

// data reads instances until something that is none. Its error is a
// *LimitError.
func (s *scanner) data() error {
	s.between()
	if err := s.lookAhead(); err != nil {
		return err
	}
	for {
		s.between()
		if s.adopted() {
			continue
		}
		until := s.nextChunk()
		s.records(until)
		switch {
		case s.pos >= len(s.src):
			s.f.CutOff = s.f.PosAt(len(s.src))
			return nil
		case s.pos < until:
			s.endData()
			return nil
		}
	}
}

// endData takes the word that ends a DATA section.
func (s *scanner) endData() {
	at := s.pos
	if s.name() == "ENDSEC" {
		s.toSemicolon()
		return
	}
	s.pos = at
	if !s.giveBack() {
		s.note(0, at, "ENDSEC is missing")
	}
}

// giveBack takes ENDSEC out of the last record where the semicolon between them
// is missing, so that the one behind ENDSEC was taken for the record's.
func (s *scanner) giveBack() bool {
	const word = "ENDSEC"
	if len(s.recs) == 0 {
		return false
	}
	last := &s.recs[len(s.recs)-1]
	text := bytes.TrimRight(s.src[last.from:last.to], " \t\r\n")
	if len(text) < len(word) || !bytes.EqualFold(text[len(text)-len(word):], []byte(word)) {
		return false
	}
	last.to = last.from + uint32(len(text)-len(word))
	s.note(last.id(), Record{f: &File{src: s.src, recs: s.recs}, i: int32(len(s.recs) - 1)}.start(), "; is missing at the end of the record")
	return true
}

// records reads instances, and steps over what is none, up to a section word
// or the first instance at or behind until. What it does from a place on
// depends on that place alone, so that a chunk may be read before those in
// front of it.
func (s *scanner) records(until int) {
	for {
		if p := s.pos; p+1 < len(s.src) && s.src[p] == '\n' && s.src[p+1] == '#' { // mostly
			s.pos++
		} else {
			s.between()
		}
		at := s.pos
		if at >= until || at >= len(s.src) {
			return
		}
		recs, most, falls, kept, more := len(s.recs), s.most, s.falls, len(s.warnings.kept), s.warnings.more
		if s.src[at] == '#' {
			s.instance()
		} else if s.sectionWord() {
			return
		}
		if s.gaveUp || s.guess && s.words.full { // as if this one had not been tried
			s.recs, s.most, s.falls = s.recs[:recs], most, falls
			s.warnings.kept, s.warnings.more = s.warnings.kept[:kept], more
			s.pos = at
			return
		}
	}
}

// between skips what may stand between records. A comment that nothing ends is
// given up where the next line starts like a record.
func (s *scanner) between() {
	for {
		for s.pos < len(s.src) && space(s.src[s.pos]) {
			s.pos++
		}
		if !startsComment(s.src, s.pos) {
			return
		}
		if end := s.commentEnd(s.pos); end >= 0 {
			s.pos = end
			continue
		}
		i := nextLine(s.src[s.pos:])
		if i < 0 {
			s.pos = len(s.src)
			return
		}
		s.warn(0, s.pos, "comment without end")
		s.pos += i
	}
}

func startsComment(src []byte, p int) bool {
	return p+1 < len(src) && src[p] == '/' && src[p+1] == '*'
}

// commentEnd returns the offset behind the comment that opens at p, -1 where
// nothing ends it. The text is searched in vain once: behind an open comment
// there is none that closes.
func (s *scanner) commentEnd(p int) int {
	if s.open > 0 && p >= s.open {
		return -1
	}
	i := bytes.Index(s.src[p+2:], []byte("*/"))
	if i < 0 {
		s.open = p
		return -1
	}
	return p + 2 + i + 2
}

// sectionWord stops in front of a word that ends the section, and steps over
// anything else that is no instance.
func (s *scanner) sectionWord() bool {
	at := s.pos
	switch s.name() {
	case "ENDSEC", "END-ISO-10303-21", "DATA", "HEADER", "ISO-10303-21":
		s.pos = at
		return true
	}
	s.warn(0, at, s.expected("an instance", at))
	s.pos = max(s.pos, at)
	s.resync()
	return false
}

// resync goes behind the next semicolon, or to the next line that starts like
// an instance if that comes first.
func (s *scanner) resync() {
	for p := s.pos; p < len(s.src); p++ {
		switch {
		case s.src[p] == ';':
			s.pos = p + 1
			return
		case s.src[p] == '#' && p > s.pos && startsInstance(s.src, p):
			s.pos = p
			return
		}
	}
	s.pos = len(s.src)
}

// instance reads "#id = NAME(...);" or "#id = (A(...) B(...));" at s.pos.
func (s *scanner) instance() {
	at := s.pos
	id, w, from := s.plainHead(at)
	if w == noWord {
		var ok bool
		if id, w, from, ok = s.head(at); !ok {
			return
		}
	}
	s.pos = from
	to, ok := s.recordEnd(id, at)
	if !ok {
		return
	}
	if w == noWord {
		if w = s.leafWords(id, at, from, to); w == noWord {
			return
		}
	}
	if id <= s.most {
		s.falls = true
	}
	s.most = max(s.most, id)
	s.recs = append(s.recs, newRecord(id, from, to, w))
}

// plainRoom is what plainHead wants to have in front of it, so that it need not
// look for the end of the text at each byte.
const plainRoom = 32

// plainHead reads "#12=NAME(" as nearly all records have it, with a blank or
// none beside the sign and a name that was met before. noWord leaves the rest
// to head.
func (s *scanner) plainHead(p int) (ID, word, int) {
	b := s.src[p+1:]
	if len(b) < plainRoom {
		return 0, noWord, 0
	}
	id, i := leadingNumber(binary.LittleEndian.Uint64(b))
	if b[i] == ' ' {
		i++
	}
	if i == 0 || b[i] != '=' {
		return 0, noWord, 0
	}
	if i++; b[i] == ' ' {
		i++
	}
	w, n := s.words.start(b[i:])
	return ID(id), w, p + 1 + i + n
}

// leadingNumber reads the digits at the start of eight bytes of text and says
// how many they are. Of eight or none it says none: that is not plain.
func leadingNumber(text uint64) (uint64, int) {
	d := text ^ ones*'0'                       // digits become 0 to 9
	other := (d + ones*(0x7F-9) | d) & highs   // exact up to the first other byte
	n := bits.TrailingZeros64(other) &^ 7 & 63 // bits of digits; 64 comes to 0
	if n == 0 {
		return 0, 0
	}
	d <<= 64 - n // zeros in front: the first digit is in the lowest byte
	d = d * (1 + 10<<8) >> 8 & 0x00FF00FF00FF00FF
	d = d * (1 + 100<<16) >> 16 & 0x0000FFFF0000FFFF
	d = d * (1 + 10000<<32) >> 32
	return d, n >> 3
}

// head reads "#12 = NAME (" with all that may stand between; noWord and true
// for a complex instance.
func (s *scanner) head(at int) (id ID, w word, from int, ok bool) {
	s.pos++
	if id, ok = s.number(); !ok {
		s.bad(0, at, s.expected("an instance number of at most 14 digits behind #", at+1))
		return 0, noWord, 0, false
	}
	s.blank()
	if s.pos >= len(s.src) || s.src[s.pos] != '=' {
		s.bad(id, at, s.expected("= behind the instance number", s.pos))
		return 0, noWord, 0, false
	}
	s.pos++
	s.blank()
	if s.pos < len(s.src) && s.src[s.pos] == '(' {
		return id, noWord, s.pos, true
	}
	w, s.pos = s.keyword(s.src, s.pos)
	s.blank()
	switch {
	case w == noWord && s.words.full:
		s.bad(id, at, fmt.Sprintf("more than %d different entity names", maxWords))
		return 0, noWord, 0, false
	case w == noWord || s.pos >= len(s.src) || s.src[s.pos] != '(':
		s.bad(id, at, s.expected("an entity name and (", s.pos))
		return 0, noWord, 0, false
	}
	return id, w, s.pos, true
}

// bad drops the record at hand.
func (s *scanner) bad(id ID, at int, text string) {
	if s.pos >= len(s.src) {
		s.truncated(at, "inside of a record")
		return
	}
	s.warn(id, at, text)
	s.resync()
}

// leafWords reads the leaves' names of a complex instance, "( A(...) B(...) )";
// noWord where the record is dropped, which has been said.
func (s *scanner) leafWords(id ID, at, from, to int) word {
	w, fault := s.readLeaves(s.src[:to], from+1)
	if w == noWord {
		s.warn(id, at, fault)
	}
	return w
}

func (s *scanner) readLeaves(src []byte, p int) (word, string) {
	const open = "parentheses do not match"
	s.leaves = s.leaves[:0]
	for {
		if p = skipBlank(src, p); p >= len(src) {
			return noWord, open
		}
		if src[p] == ')' {
			break
		}
		var w word
		w, p = s.keyword(src, p)
		p = skipBlank(src, p)
		switch {
		case w == noWord && s.words.full:
			return noWord, fmt.Sprintf("more than %d different entity names", maxWords)
		case w == noWord || p >= len(src) || src[p] != '(':
			return noWord, s.expected("an entity name and ( in a complex instance", p)
		case len(s.leaves) >= maxSet:
			return noWord, fmt.Sprintf("a complex instance of more than %d entities", maxSet)
		}
		end, ok := closing(src, p)
		if !ok {
			return noWord, open
		}
		s.leaves = append(s.leaves, w)
		p = end
	}
	if len(s.leaves) == 0 {
		return noWord, "a complex instance without content"
	}
	if w := s.words.complex(s.leaves); w != noWord {
		return w, ""
	}
	return noWord, fmt.Sprintf("more than %d different entity names", maxWords)
}

// recordEnd goes from a record's parenthesis to behind its semicolon and
// returns the offset of that. Semicolons in strings and comments do not count.
// False means that the record is dropped, which has been said. It looks at each
// byte once, whatever stands there.
func (s *scanner) recordEnd(id ID, at int) (int, bool) {
	src := s.src
	piece := s.pos // where the text behind the last string or comment starts
	if p := piece; p+2 < len(src) && src[p+1] == '\'' && src[p+2] == '\'' {
		piece += 3 // an empty name, as most records have it
	}
	for p := piece; ; {
		p = nextStop(src, p)
		if p >= len(src) {
			return s.cut(id, at, at, "")
		}
		switch src[p] {
		case ';':
			s.pos = p + 1
			return p, true
		case '/':
			if !startsComment(src, p) {
				p++
				continue
			}
			end := s.commentEnd(p)
			if end < 0 {
				return s.neverEnds(id, at, p, "comment")
			}
			p = end
			piece = p
		case '=':
			if q := instanceBefore(src[piece:p]); q >= 0 {
				s.note(id, at, "; is missing at the end of the record")
				s.pos = piece + q
				return s.pos, true
			}
			p++
		case '\'':
			if p+1 < len(src) && src[p+1] == '\'' { // empty, or a quote inside of a string
				p += 2
				piece = p
				continue
			}
			c := bytes.IndexByte(src[p+1:], '\'')
			if c < 0 || swallows(src[p+1:p+1+c]) {
				return s.neverEnds(id, at, p, "string")
			}
			p += c + 2
			piece = p
		}
	}
}

// swallows reports a string over a semicolon and the start of a line with an
// instance: it is taken for one that was not closed.
func swallows(text []byte) bool {
	return len(text) >= len(";\n#1=") && bytes.IndexByte(text, ';') >= 0 && instanceLine(text) > 0
}

// neverEnds drops the record with the string or comment at p, which does not
// close before the next instance starts or the section ends; there the scan
// goes on.
func (s *scanner) neverEnds(id ID, at, p int, what string) (int, bool) {
	i := nextLine(s.src[p+1:])
	if i < 0 {
		return s.cut(id, at, p, "a "+what+" of ")
	}
	s.warn(id, p, what+" without end: the record is dropped")
	s.pos = p + 1 + i
	return 0, false
}

// cut ends the scan in a record that the text does not finish, which is in the
// string or comment that starts at p. Where the last record lacks only its
// semicolon, it still counts.
func (s *scanner) cut(id ID, at, p int, what string) (int, bool) {
	if end, ok := closing(s.src, s.pos); ok && id != 0 {
		s.note(id, at, "; is missing at the end of the record")
		s.pos = end
		return end, true
	}
	s.truncated(p, fmt.Sprintf("inside of %s%v", what, id))
	return 0, false
}

// instanceBefore finds the # of a "#12 " that ends seg where a record may
// start: behind a parenthesis that closes, on a new line, or first in seg. It is
// -1 where seg ends in something else.
func instanceBefore(seg []byte) int {
	i := len(bytes.TrimRight(seg, " \t\r\n"))
	j := i
	for j > 0 && digit(seg[j-1]) {
		j--
	}
	if j == i || j == 0 || seg[j-1] != '#' {
		return -1
	}
	j--
	before := bytes.TrimRight(seg[:j], " \t\r\n")
	if n := len(before); n == 0 || before[n-1] == ')' || bytes.ContainsAny(seg[n:j], "\r\n") {
		return j
	}
	return -1
}

// instanceLine finds a line that starts like an instance ("#12 =") and returns
// the offset of its #, or -1. The first line does not count.
func instanceLine(b []byte) int {
	for p := 0; ; {
		i := bytes.IndexByte(b[p:], '#')
		if i < 0 {
			return -1
		}
		p += i
		if p > 0 && startsInstance(b, p) {
			return p
		}
		p++
	}
}

// nextLine finds a line that starts like an instance or is the end of a
// section, -1 where there is none. The first line does not count.
func nextLine(b []byte) int {
	for p := 1; p < len(b); p++ {
		if c := b[p-1]; c != '\n' && c != '\r' {
			continue
		}
		if b[p] == '#' && startsInstance(b, p) || bytes.HasPrefix(b[p:], []byte("ENDSEC")) {
			return p
		}
	}
	return -1
}

// startsInstance reports whether the # at p, which is not the first byte,
// starts a line "#12 =".
func startsInstance(b []byte, p int) bool {
	if c := b[p-1]; c != '\n' && c != '\r' {
		return false
	}
	q := p + 1
	for q < len(b) && (digit(b[q]) || b[q] == ' ') {
		q++
	}
	return q > p+1 && q < len(b) && b[q] == '='
}
