package p21

import (
	"bytes"
	"errors"
	"fmt"
	"math"
)

// MaxSize is the longest text that is read: offsets are kept in 32 bits.
const MaxSize = math.MaxUint32 - 1

// ErrTooLarge refuses a longer text.
var ErrTooLarge = errors.New("larger than 4 GiB, which is not supported")

// Options bound what Scan does.
type Options struct {
	// MaxWarnings is how many warnings are kept; 0 stands for 200. The rest is
	// counted.
	MaxWarnings int
}

// Scan indexes the text of an exchange structure. It keeps src, which must not
// change as long as the File is in use. A text that is not STEP gives a
// *NotStepError, one that has no data section a *SyntaxError; records that
// cannot be made out are left out with a warning.
func Scan(src []byte, opt Options) (*File, error) {
	if err := Sniff(src); err != nil {
		return nil, err
	}
	if len(src) > MaxSize {
		return nil, ErrTooLarge
	}
	if opt.MaxWarnings == 0 {
		opt.MaxWarnings = 200
	}
	s := scanner{src: src, opt: opt, f: &File{src: src, words: newWords()}}
	if err := s.file(); err != nil {
		return nil, err
	}
	s.f.buildIndex(s.warn)
	return s.f, nil
}

// scanner walks the text once.
type scanner struct {
	// immutable
	src []byte
	opt Options
	f   *File

	// scanning
	pos    int
	leaves []word // of the complex instance at hand
}

func (s *scanner) warn(id ID, off int, text string) {
	if len(s.f.Warnings) >= s.opt.MaxWarnings {
		s.f.MoreWarnings++
		return
	}
	s.f.Warnings = append(s.f.Warnings, Warning{ID: id, Pos: s.f.PosAt(off), Text: text})
}

func (s *scanner) truncated(off int, what string) {
	s.f.Truncated = true
	s.warn(0, off, what)
	s.pos = len(s.src)
}

// file walks the sections. Every turn of the loop moves on.
func (s *scanner) file() error {
	if err := s.start(); err != nil {
		return err
	}
	data := 0
	for {
		s.blank()
		at := s.pos
		if at >= len(s.src) {
			s.truncated(at, fmt.Sprintf("the text ends without END-ISO-10303-21, after record %d", len(s.f.recs)))
			break
		}
		name := s.name()
		switch name {
		case "DATA":
			data++
			s.toSemicolon()
			s.data()
		case "HEADER":
			s.toSemicolon()
			s.header()
		case "ENDSEC":
			s.toSemicolon()
		case "ANCHOR", "REFERENCE", "SIGNATURE":
			s.warn(0, at, name+" section skipped: values from other files and names for other files are not followed")
			s.skipSection()
		case "END-ISO-10303-21":
			s.toSemicolon()
			s.tail()
			return s.verdict(data)
		default:
			s.lost(at)
			if s.src[at] == '#' { // records outside of any section
				s.warn(0, at, "records outside of a DATA section are read as if they stood in one")
				s.pos = at
				data++
				s.data()
			}
		}
	}
	return s.verdict(data)
}

func (s *scanner) verdict(data int) error {
	if data == 0 {
		return &SyntaxError{Pos: s.f.PosAt(s.pos), Want: "a DATA section", Got: "the end of the text"}
	}
	return nil
}

// start finds the magic word, which text or comments may precede.
func (s *scanner) start() error {
	if bytes.HasPrefix(s.src, utf8BOM) {
		s.pos = len(utf8BOM)
		s.warn(0, 0, "byte order mark at the start")
	}
	s.blank()
	at := s.pos
	if s.name() == "ISO-10303-21" {
		s.toSemicolon()
		return nil
	}
	s.pos = at
	if i := bytes.Index(s.src[at:], []byte("ISO-10303-21;")); i > 0 && i < 1<<16 && !bytes.HasSuffix(s.src[:at+i], []byte("END-")) {
		s.warn(0, at, "text in front of ISO-10303-21")
		s.pos = at + i + len("ISO-10303-21;")
		return nil
	}
	switch s.name() {
	case "HEADER", "DATA":
		s.pos = at
		s.warn(0, at, "ISO-10303-21 is missing at the start")
		return nil
	}
	return &NotStepError{What: "it does not start with ISO-10303-21"}
}

// tail looks at what stands behind the end.
func (s *scanner) tail() {
	s.blank()
	if rest := bytes.Trim(s.src[min(s.pos, len(s.src)):], "\x00\x1a"); len(rest) > 0 {
		s.warn(0, s.pos, "text behind END-ISO-10303-21 is not read")
	}
}

// lost steps over something unknown between sections.
func (s *scanner) lost(at int) {
	s.warn(0, at, fmt.Sprintf("expected a section, found %s", s.quote(at)))
	s.pos = max(s.pos, at)
	s.toSemicolon()
}

// skipSection goes behind the next ENDSEC.
func (s *scanner) skipSection() {
	i := bytes.Index(s.src[s.pos:], []byte("ENDSEC"))
	if i < 0 {
		s.pos = len(s.src)
		return
	}
	s.pos += i
	s.toSemicolon()
}

// data reads instances until something that is none.
func (s *scanner) data() {
	if s.f.recs == nil {
		// The least record, "#1=A();", is 7 bytes long: what a text full of
		// semicolons claims beyond that is not believed.
		s.f.recs = make([]record, 0, min(bytes.Count(s.src, []byte{';'}), len(s.src)/7)+1)
	}
	for {
		s.blank()
		if s.pos >= len(s.src) {
			s.f.CutOff = s.f.PosAt(len(s.src))
			return
		}
		if s.src[s.pos] == '#' {
			s.instance()
			continue
		}
		at := s.pos
		switch s.name() {
		case "ENDSEC":
			s.toSemicolon()
			return
		case "END-ISO-10303-21", "DATA", "HEADER", "ISO-10303-21":
			s.warn(0, at, "ENDSEC is missing")
			s.pos = at
			return
		}
		s.warn(0, at, fmt.Sprintf("expected an instance, found %s", s.quote(at)))
		s.pos = max(s.pos, at)
		s.resync()
	}
}

// resync goes behind the next semicolon, or to the next line that starts like
// an instance if that comes first.
func (s *scanner) resync() {
	end := bytes.IndexByte(s.src[s.pos:], ';')
	if end < 0 {
		s.pos = len(s.src)
		return
	}
	end += s.pos + 1
	if i := instanceLine(s.src[s.pos:end]); i > 0 {
		end = s.pos + i
	}
	s.pos = end
}

// instance reads "#id = NAME(...);" or "#id = (A(...) B(...));" at s.pos.
func (s *scanner) instance() {
	at := s.pos
	s.pos++
	id, ok := s.number()
	if !ok {
		s.bad(0, at, "expected an instance number behind #, found "+s.quote(at+1))
		return
	}
	s.blank()
	if s.pos >= len(s.src) || s.src[s.pos] != '=' {
		s.bad(id, at, "expected = behind the instance number, found "+s.quote(s.pos))
		return
	}
	s.pos++
	s.blank()
	if s.pos < len(s.src) && s.src[s.pos] == '(' {
		s.complexInstance(id, at)
		return
	}
	w := s.keyword()
	s.blank()
	if w == noWord || s.pos >= len(s.src) || s.src[s.pos] != '(' {
		s.bad(id, at, "expected an entity name and (, found "+s.quote(s.pos))
		return
	}
	from := s.pos
	if to, ok := s.recordEnd(id, at); ok {
		s.f.recs = append(s.f.recs, record{id: id, from: uint32(from), to: uint32(to), word: w})
	}
}

// bad drops the record at hand.
func (s *scanner) bad(id ID, at int, text string) {
	if s.pos >= len(s.src) {
		s.truncated(at, fmt.Sprintf("the text ends inside of a record, after record %d", len(s.f.recs)))
		return
	}
	s.warn(id, at, text)
	s.resync()
}

// complexInstance reads the leaves' names of "( A(...) B(...) );" at s.pos.
func (s *scanner) complexInstance(id ID, at int) {
	from := s.pos
	s.leaves = s.leaves[:0]
	s.pos++
	for {
		s.blank()
		if s.pos >= len(s.src) {
			s.bad(id, at, "")
			return
		}
		if s.src[s.pos] == ')' {
			break
		}
		w := s.keyword()
		s.blank()
		if w == noWord || s.pos >= len(s.src) || s.src[s.pos] != '(' {
			s.bad(id, at, "expected an entity name and ( in a complex instance, found "+s.quote(s.pos))
			return
		}
		end, ok := closing(s.src, s.pos)
		if !ok {
			// Maybe only this record is broken: its end decides.
			s.pos = from
			if _, ok := s.recordEnd(id, at); ok {
				s.warn(id, at, "parentheses do not match")
			}
			return
		}
		s.leaves = append(s.leaves, w)
		s.pos = end
	}
	if len(s.leaves) == 0 {
		s.bad(id, at, "a complex instance without content")
		return
	}
	if to, ok := s.recordEnd(id, at); ok {
		s.f.recs = append(s.f.recs, record{id: id, from: uint32(from), to: uint32(to), word: s.f.words.complex(s.leaves)})
	}
}

// recordEnd goes from a record's parenthesis to behind its semicolon and
// returns the offset of that. Semicolons in strings and comments do not count.
// False means that the record is dropped, which has been said.
func (s *scanner) recordEnd(id ID, at int) (int, bool) {
	src, p := s.src, s.pos
	for {
		n := bytes.IndexByte(src[p:], ';')
		if n < 0 {
			return s.cut(id, at, p)
		}
		seg := src[p : p+n]
		stop := bytes.IndexByte(seg, '\'')
		if stop >= 0 {
			seg = seg[:stop]
		}
		if c := comment(seg); c >= 0 {
			end := bytes.Index(src[p+c+2:], []byte("*/"))
			if end < 0 {
				return s.cut(id, at, p+c)
			}
			p += c + 2 + end + 2
			continue
		}
		if e := bytes.IndexByte(seg, '='); e >= 0 {
			if q := instanceBefore(seg[:e]); q >= 0 {
				s.warn(id, at, "; is missing at the end of the record")
				s.pos = p + q
				return p + q, true
			}
		}
		if stop < 0 {
			s.pos = p + n + 1
			return p + n, true
		}
		open := p + stop
		c := bytes.IndexByte(src[open+1:], '\'')
		if c < 0 || c > n-stop && instanceLine(src[open+1:open+1+c]) > 0 {
			// A quote that does not close before the next instance starts.
			if i := instanceLine(src[open+1:]); i > 0 {
				s.warn(id, open, "string without end: the record is dropped")
				s.pos = open + 1 + i
				return 0, false
			}
			return s.cut(id, at, open)
		}
		p = open + 1 + c + 1
	}
}

// cut ends the scan in a record that the text does not finish. Where the last
// record lacks only its semicolon, it still counts.
func (s *scanner) cut(id ID, at, from int) (int, bool) {
	if end, ok := closing(s.src, s.pos); ok && id != 0 {
		s.warn(id, at, "; is missing at the end of the record")
		s.pos = end
		return end, true
	}
	s.truncated(at, fmt.Sprintf("the text ends inside of %v, after record %d", id, len(s.f.recs)))
	return 0, false
}

// comment finds "/*".
func comment(seg []byte) int {
	for p := 0; ; {
		i := bytes.IndexByte(seg[p:], '/')
		if i < 0 || p+i+1 >= len(seg) {
			return -1
		}
		if seg[p+i+1] == '*' {
			return p + i
		}
		p += i + 1
	}
}

// instanceBefore finds the # of a "#12 " that ends seg, -1 where seg ends in
// something else.
func instanceBefore(seg []byte) int {
	i := len(bytes.TrimRight(seg, " \t\r\n"))
	j := i
	for j > 0 && digit(seg[j-1]) {
		j--
	}
	if j == i || j == 0 || seg[j-1] != '#' {
		return -1
	}
	return j - 1
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
		if k := p - 1; k >= 0 && (b[k] == '\n' || b[k] == '\r') {
			q := p + 1
			for q < len(b) && (digit(b[q]) || b[q] == ' ') {
				q++
			}
			if q > p+1 && q < len(b) && b[q] == '=' {
				return p
			}
		}
		p++
	}
}
