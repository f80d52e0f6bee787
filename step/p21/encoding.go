package p21

import (
	"sync"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
)

// rawText guesses, once a file and when first asked, what encoding bytes above
// 7F have that are not UTF-8. Edition 3 allows UTF-8 alone; older systems wrote
// what their machine used.
type rawText struct {
	once sync.Once
	enc  encoding.Encoding
}

func (f *File) rawEncoding() encoding.Encoding {
	f.raw.once.Do(func() { f.raw.enc = guessEncoding(f.src) })
	return f.raw.enc
}

// highRuns counts the runs of bytes above 7F in a text.
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
