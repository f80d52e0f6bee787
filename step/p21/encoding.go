package p21

import (
	"sync"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
)

// rawText is the encoding of bytes above 7F: the one that Options name for all,
// or else UTF-8, as edition 3 has it, and for strings that are not UTF-8 what
// older systems wrote: what their machine used. That is guessed, once a file
// and when first asked.
type rawText struct {
	named encoding.Encoding

	once sync.Once
	enc  encoding.Encoding
}

// encodingOf is the encoding of a string's bytes, nil for UTF-8, and whether it
// is a guess.
func (f *File) encodingOf(b []byte) (enc encoding.Encoding, guessed bool) {
	switch {
	case f.raw.named != nil:
		return f.raw.named, false
	case !utf8.Valid(b):
		return f.rawEncoding(), true
	case onlyPairs(b) && f.rawEncoding() == simplifiedchinese.GB18030:
		return simplifiedchinese.GB18030, true
	}
	return nil, false
}

// onlyPairs reports UTF-8 text whose characters above 7F all have two bytes. In
// a file with Chinese bytes it is Chinese as well: CE B4 D6 AA is 未知 there,
// and else a Greek letter under a Hebrew accent. UTF-8 has three bytes for each
// Chinese character.
func onlyPairs(b []byte) bool {
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		if n > 2 || r == utf8.RuneError {
			return false
		}
		b = b[n:]
	}
	return true
}

func (f *File) rawEncoding() encoding.Encoding {
	f.raw.once.Do(func() { f.raw.enc = guessEncoding(f.src) })
	return f.raw.enc
}

// highRuns counts the runs of bytes above 7F in a text that are not UTF-8.
type highRuns struct {
	runs   int // how many
	bytes  int // in all
	paired int // bytes in runs of even length, all of them A1 or more
	low    int // runs that start with 81 to 9F
}

func countHigh(src []byte) (h highRuns) {
	for i := 0; i < len(src); {
		if src[i] < 0x80 {
			i++
			continue
		}
		from, pure := i, true
		for ; i < len(src) && src[i] >= 0x80; i++ {
			pure = pure && src[i] >= 0xA1
		}
		n := i - from
		if utf8.Valid(src[from:i]) {
			continue // a file may have both
		}
		h.runs++
		h.bytes += n
		if pure && n%2 == 0 {
			h.paired += n
		}
		if src[from] > 0x80 && src[from] < 0xA0 {
			h.low++
		}
	}
	return h
}

// guessEncoding tells apart the encodings that field reports name (rules of
// our own; there is no sure way):
//
//   - Chinese (GB): characters are pairs of high bytes, so all runs are even;
//   - Japanese (Shift-JIS): kana start with 82 or 83, where Western alphabets
//     have next to nothing;
//   - Cyrillic (Windows 1251): whole words of high bytes, even or odd;
//   - Western (Windows 1252) else: single high bytes between plain letters.
func guessEncoding(src []byte) encoding.Encoding {
	h := countHigh(src)
	switch {
	case h.runs == 0:
		return charmap.Windows1252
	case h.low*3 >= h.runs && decodes(japanese.ShiftJIS, src):
		return japanese.ShiftJIS
	case h.paired*10 >= h.bytes*9:
		return simplifiedchinese.GB18030
	case h.bytes >= 3*h.runs:
		return charmap.Windows1251
	}
	return charmap.Windows1252
}

// decodes reports whether a text has no fault in an encoding. Faults come out
// as U+FFFD.
func decodes(e encoding.Encoding, src []byte) bool {
	const sample = 1 << 20 // enough to find a fault, cheap enough for a big file
	out, err := e.NewDecoder().Bytes(src[:min(len(src), sample)])
	if err != nil {
		return false
	}
	for len(out) > 0 {
		r, n := utf8.DecodeRune(out)
		if r == utf8.RuneError && len(out) > 3 { // the sample may cut a character in two
			return false
		}
		out = out[n:]
	}
	return true
}
