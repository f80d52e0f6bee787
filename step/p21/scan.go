package p21

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"runtime"

	"golang.org/x/text/encoding"
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
	// Jobs is how many goroutines index a long text; 0 stands for one a core. It
	// does not change the result.
	Jobs int
	// MaxMemory bounds what the index may take beside the text, in bytes; 0
	// stands for four times the text and a MiB, which a text of the shortest
	// records stays below. Real files come to less than half of their size.
	MaxMemory int64
	// Encoding is that of all bytes above 7F in strings, in place of UTF-8 and
	// of a guess where that does not fit; nil for these. See EncodingNamed.
	Encoding encoding.Encoding
	// Arity says how many parameters an entity has, 0 where it is not known;
	// nil for no entity. Records with another number are remarked on.
	Arity func(entity string) int
}

// bytesPerRecord is a record in the table and, where the numbers do not rise, in
// the index by number.
const bytesPerRecord = 16 + 4

// Scan indexes the text of an exchange structure. It keeps src, which must not
// change as long as the File is in use. A text that is not STEP gives a
// *NotStepError, one that has no data section a *SyntaxError, one with more
// records than the limits allow a *LimitError; records that cannot be made out
// are left out with a warning.
func Scan(src []byte, opt Options) (*File, error) {
	if err := Sniff(src); err != nil {
		return nil, err
	}
	if len(src) > MaxSize {
		return nil, ErrTooLarge
	}
	if opt.Jobs <= 0 {
		opt.Jobs = runtime.GOMAXPROCS(0)
	}
	return scan(src, opt, chunkCount(len(src), opt.Jobs))
}

// scan indexes a text cut into so many chunks.
func scan(src []byte, opt Options, chunks int) (*File, error) {
	if opt.MaxWarnings == 0 {
		opt.MaxWarnings = 200
	}
	if opt.MaxMemory == 0 {
		opt.MaxMemory = 4*int64(len(src)) + 1<<20
	}
	s := scanner{src: src, opt: opt, chunks: chunks, f: &File{src: src}, words: newWords()}
	s.f.raw.named = opt.Encoding // before the header, which is decoded on the way
	if err := s.file(); err != nil {
		return nil, err
	}
	s.f.recs, s.f.words.all = s.recs, s.words.all
	s.f.learnArities(opt.Arity)
	s.f.buildIndex(!s.falls, s.most, s.warn)
	s.f.Warnings, s.f.MoreWarnings = s.warnings.placed(s.f), s.warnings.more
	return s.f, nil
}

// scanner walks the text once.
type scanner struct {
	// immutable
	src    []byte
	opt    Options
	chunks int   // how many to cut the first DATA section into
	guess  bool  // scanning from a guessed place: what needs all in front of it must stop
	f      *File // nil when guessing

	// scanning
	pos    int
	gaveUp bool   // a guess met what only a scan from the start can tell
	loose  bool   // a skipped section had a string or comment without end
	dataAt int    // where the last DATA section starts
	open   int    // where a comment starts that nothing ends, 0 while none was met
	leaves []word // of the complex instance at hand
	ahead  ahead

	// result
	recs     []record
	most     ID   // the greatest number of a record
	falls    bool // a number is not above all in front of it
	words    words
	warnings warnings
}

// warnings are kept with offsets until the end: lines are counted once, and a
// scan of a chunk needs none.
type warnings struct {
	kept []warning
	more int
}

type warning struct {
	id    ID
	off   int
	text  string
	whole bool
}

func (w *warnings) placed(f *File) []Warning {
	var out []Warning
	for _, k := range w.kept {
		out = append(out, Warning{ID: k.id, Pos: f.PosAt(k.off), Text: k.text, Whole: k.whole})
	}
	return out
}

func (w *warnings) add(k warning, limit int) {
	if len(w.kept) >= limit {
		w.more++
		return
	}
	w.kept = append(w.kept, k)
}

func (s *scanner) warn(id ID, off int, text string) {
	s.warnings.add(warning{id: id, off: off, text: text}, s.opt.MaxWarnings)
}

// note warns of what costs nothing of the file.
func (s *scanner) note(id ID, off int, text string) {
	s.warnings.add(warning{id, off, text, true}, s.opt.MaxWarnings)
}

// truncated ends the scan where the text does.
func (s *scanner) truncated(off int, what string) {
	if s.guess {
		s.gaveUp = true
		return
	}
	s.pos = len(s.src)
	if s.f.Truncated {
		return // told where it was noticed first
	}
	s.f.Truncated = true
	last := "before the first record"
	if n := len(s.recs); n > 0 {
		last = fmt.Sprintf("after record %v", s.recs[n-1].id())
	}
	s.warn(0, off, fmt.Sprintf("the text ends %s, at byte %d %s", what, len(s.src), last))
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
			s.truncated(at, "without END-ISO-10303-21")
			break
		}
		name := s.name()
		switch name {
		case "DATA":
			data++
			s.dataAt = at
			s.toSemicolon()
			if err := s.data(); err != nil {
				return err
			}
		case "HEADER":
			s.toSemicolon()
			s.header()
		case "ENDSEC":
			s.toSemicolon()
		case "ANCHOR", "REFERENCE", "SIGNATURE":
			s.warn(0, at, name+" section skipped: values from other files and names for other files are not followed")
			s.skipSection()
		case "ISO-10303-21":
			s.warn(0, at, secondFile)
			s.f.Truncated, s.pos = true, len(s.src)
			return s.verdict(data)
		case "END-ISO-10303-21":
			s.toSemicolon()
			s.tail()
			return s.verdict(data)
		default:
			s.lost(at)
			if s.src[at] == '#' { // records outside of any section
				s.note(0, at, "records outside of a DATA section are read as if they stood in one")
				s.pos = at
				data++
				if err := s.data(); err != nil {
					return err
				}
			}
		}
	}
	return s.verdict(data)
}

func (s *scanner) verdict(data int) error {
	if data == 0 {
		return &SyntaxError{Pos: s.f.PosAt(s.pos), Want: "a DATA section", Got: "the end of the text"}
	}
	if len(s.recs) == 0 {
		s.warn(0, s.dataAt, "no entities: there is no record that can be read in the DATA section")
	}
	return nil
}

// start finds the magic word, which text or comments may precede.
func (s *scanner) start() error {
	if bytes.HasPrefix(s.src, utf8BOM) {
		s.pos = len(utf8BOM)
		s.note(0, 0, "byte order mark at the start")
	}
	s.blank()
	at := s.pos
	if s.name() == "ISO-10303-21" {
		s.toSemicolon()
		return nil
	}
	s.pos = at
	if i := bytes.Index(s.src[at:], []byte("ISO-10303-21;")); i > 0 && i < 1<<16 && !bytes.HasSuffix(s.src[:at+i], []byte("END-")) {
		s.note(0, at, "text in front of ISO-10303-21")
		s.pos = at + i + len("ISO-10303-21;")
		return nil
	}
	switch s.name() {
	case "HEADER", "DATA":
		s.pos = at
		s.note(0, at, "ISO-10303-21 is missing at the start")
		return nil
	}
	if binaryHead(s.src) {
		return &NotStepError{What: "it does not start with ISO-10303-21 and is no text, as the native files of CAD systems are; export it as STEP"}
	}
	return &NotStepError{What: "it does not start with ISO-10303-21"}
}

const secondFile = "a second exchange structure begins here; only the first is read, since both have numbers of their own"

// tail looks at what stands behind the end: signatures as edition 3 has them,
// and what does not belong there.
func (s *scanner) tail() {
	for {
		s.blank()
		at := s.pos
		rest := bytes.Trim(s.src[min(at, len(s.src)):], "\x00\x1a")
		switch name := s.name(); {
		case len(rest) == 0:
			return
		case name == "SIGNATURE":
			s.note(0, at, "SIGNATURE section skipped: it is not checked")
			s.skipSection()
			continue
		case name == "ISO-10303-21":
			s.warn(0, at, secondFile)
		default:
			s.note(0, at, "text behind END-ISO-10303-21 is not read")
		}
		return
	}
}

// lost steps over something unknown between sections.
func (s *scanner) lost(at int) {
	s.warn(0, at, s.expected("a section", at))
	s.pos = max(s.pos, at)
	s.toSemicolon()
}

// skipSection goes behind the next ENDSEC that stands in no string or comment;
// behind any where one of these does not end.
func (s *scanner) skipSection() {
	if p, ok := s.sectionEnd(); ok {
		s.pos = p
		s.toSemicolon()
		return
	}
	s.loose = true
	i := bytes.Index(s.src[s.pos:], []byte("ENDSEC"))
	if i < 0 {
		s.pos = len(s.src)
		return
	}
	s.pos += i
	s.toSemicolon()
}

// lineString goes behind a string that ends in its line, or else behind the
// quote: the name of an anchor may have one.
func lineString(src []byte, p int) int {
	for q := p + 1; q < len(src) && src[q] != '\n' && src[q] != '\r'; q++ {
		if src[q] == '\'' {
			return q + 1
		}
	}
	return p + 1
}

// sectionEnd fails once a text at most, so that no text is searched again and
// again.
func (s *scanner) sectionEnd() (int, bool) {
	const end = "ENDSEC"
	for p := s.pos; !s.loose && p < len(s.src); {
		switch c := s.src[p]; {
		case c == '\'':
			p = lineString(s.src, p)
		case startsComment(s.src, p):
			p = skipBlank(s.src, p)
		case c|0x20 == 'e' && len(s.src)-p >= len(end) && bytes.EqualFold(s.src[p:p+len(end)], []byte(end)):
			return p, true
		default:
			p++
		}
	}
	return 0, false
}
