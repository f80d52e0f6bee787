package p21

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"runtime"
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
}

// bytesPerRecord is a record in the table and in the index by number.
const bytesPerRecord = 24 + 4

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
	if err := s.file(); err != nil {
		return nil, err
	}
	s.f.recs, s.f.words.all = s.recs, s.words.all
	s.f.buildIndex(s.most, s.warn)
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
	open   int    // where a comment starts that nothing ends, 0 while none was met
	leaves []word // of the complex instance at hand
	ahead  ahead

	// result
	recs     []record
	most     ID // the greatest number of a record
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
	id   ID
	off  int
	text string
}

func (w *warnings) placed(f *File) []Warning {
	var out []Warning
	for _, k := range w.kept {
		out = append(out, Warning{ID: k.id, Pos: f.PosAt(k.off), Text: k.text})
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
	s.warnings.add(warning{id, off, text}, s.opt.MaxWarnings)
}

// truncated ends the scan where the text does.
func (s *scanner) truncated(off int, what string) {
	if s.guess {
		s.gaveUp = true
		return
	}
	s.f.Truncated = true
	s.warn(0, off, fmt.Sprintf("the text ends %s, after record %d", what, len(s.recs)))
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
			s.truncated(at, "without END-ISO-10303-21")
			break
		}
		name := s.name()
		switch name {
		case "DATA":
			data++
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
	s.warn(0, at, s.expected("a section", at))
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
