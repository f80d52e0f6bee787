package p21

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
)

// pages are the alphabets of the \P?\ directive, ISO 8859-1 to -9 by letter
// (ISO 10303-21:2016, 6.4.3.2).
var pages = [9]*charmap.Charmap{charmap.ISO8859_1, charmap.ISO8859_2, charmap.ISO8859_3,
	charmap.ISO8859_4, charmap.ISO8859_5, charmap.ISO8859_6, charmap.ISO8859_7,
	charmap.ISO8859_8, charmap.ISO8859_9}

// decodeText decodes what stands between the quotes of a string (ISO
// 10303-21:2016, 6.4): doubled quotes and backslashes, \S\ \P?\ \X\ \X2\ \X4\.
// Bytes above 7F are what raw says; they are decoded first, since the second
// byte of a character may be a backslash. Control characters but tabs do not
// count; what cannot be decoded becomes U+FFFD. odd has a bit for each oddity
// that was met.
func decodeText(b []byte, raw func([]byte) (encoding.Encoding, bool)) (text string, odd uint16) {
	d := textDecoder{page: pages[0]}
	if ascii(b) {
		d.in = b
	} else if enc, guessed := raw(b); enc == nil {
		d.in = b
	} else {
		d.in, _ = enc.NewDecoder().Bytes(b)
		d.meet(oddGuess, guessed)
	}
	d.out.Grow(len(d.in))
	for len(d.in) > 0 {
		d.step()
	}
	text = d.out.String()
	d.meet(oddLost, strings.ContainsRune(text, utf8.RuneError))
	return text, d.odd
}

func ascii(b []byte) bool {
	for _, c := range b {
		if c >= 0x80 {
			return false
		}
	}
	return true
}

// plain reports a string that stands for itself.
func plain(b []byte) bool {
	for _, c := range b {
		if c < ' ' || c >= 0x7F || c == '\\' || c == '\'' {
			return false
		}
	}
	return true
}

type textDecoder struct {
	in   []byte
	page *charmap.Charmap
	out  strings.Builder
	odd  uint16 // a bit for each oddity
}

func (d *textDecoder) meet(o oddity, yes bool) {
	if yes {
		d.odd |= 1 << o
	}
}

func (d *textDecoder) step() {
	switch c := d.in[0]; {
	case c == '\'':
		d.out.WriteByte('\'')
		d.skip(1)
		if len(d.in) > 0 && d.in[0] == '\'' {
			d.skip(1)
		}
	case c == '\\':
		d.directive()
	case c < ' ' && c != '\t', c == 0x7F:
		d.skip(1)
	default:
		r, n := utf8.DecodeRune(d.in)
		d.out.WriteRune(r) // not a character: U+FFFD
		d.skip(n)
	}
}

func (d *textDecoder) skip(n int) { d.in = d.in[min(n, len(d.in)):] }

func (d *textDecoder) has(s string) bool {
	return len(d.in) >= len(s) && strings.EqualFold(string(d.in[:len(s)]), s)
}

// directive decodes what a backslash starts; a lone one stands for itself.
func (d *textDecoder) directive() {
	switch {
	case d.has(`\\`):
		d.out.WriteByte('\\')
		d.skip(2)
	case d.has(`\S\`) && len(d.in) > 3:
		d.skip(3)
		d.shifted()
	case d.has(`\X\`):
		d.skip(3)
		d.wide(2, 1)
	case d.has(`\X2\`):
		d.skip(4)
		d.wide(4, 0)
	case d.has(`\X4\`):
		d.skip(4)
		d.wide(8, 0)
	case d.has(`\X0\`):
		d.skip(4)
	case d.has(`\N\`), d.has(`\F\`): // print control
		d.out.WriteByte(' ')
		d.skip(3)
	case len(d.in) > 3 && d.in[1]|0x20 == 'p' && d.in[3] == '\\' && d.in[2]|0x20-'a' <= 'z'-'a':
		d.alphabet(d.in[2] | 0x20)
	default:
		d.out.WriteByte('\\')
		d.skip(1)
	}
}

// alphabet takes \P?\. One of a letter without an alphabet stands for itself.
func (d *textDecoder) alphabet(letter byte) {
	if letter <= 'i' {
		d.page = pages[letter-'a']
	} else {
		d.meet(oddPage, true)
		d.out.Write(d.in[:4])
	}
	d.skip(4)
}

// shifted decodes the character behind \S\: 128 higher, in the page at hand.
func (d *textDecoder) shifted() {
	c := d.in[0]
	if c >= 0x80 {
		return // not allowed there: it is decoded as it stands
	}
	d.skip(1)
	if c == '\'' && len(d.in) > 0 && d.in[0] == '\'' {
		d.skip(1)
	}
	d.out.WriteRune(d.page.DecodeByte(c + 0x80))
}

// wide decodes groups of n hexadecimal digits, at most limit of them (0: up to
// \X0\ or to what is no group).
func (d *textDecoder) wide(n, limit int) {
	var high rune
	flush := func() {
		if high != 0 {
			d.out.WriteRune(utf8.RuneError)
			high = 0
		}
	}
	for k := 0; limit == 0 || k < limit; k++ {
		r, ok := hexRune(d.in, n)
		if !ok {
			break
		}
		d.skip(n)
		switch {
		case n == 4 && high != 0 && r >= 0xDC00 && r < 0xE000:
			d.out.WriteRune(utf16.DecodeRune(high, r))
			high = 0
		case n == 4 && r >= 0xD800 && r < 0xDC00:
			flush()
			high = r
		default:
			flush()
			d.out.WriteRune(r) // not a character: WriteRune makes it U+FFFD
		}
	}
	flush()
	if limit == 0 {
		d.endWide()
	}
}

// endWide takes \X0\, and the rest of a group that was cut short in front of
// it or of the end.
func (d *textDecoder) endWide() {
	n := 0
	for n < len(d.in) && n < 8 {
		if _, ok := hexRune(d.in[n:], 1); !ok {
			break
		}
		n++
	}
	d.meet(oddHex, n > 0 || !d.has(`\X0\`))
	if rest := d.in[n:]; len(rest) == 0 || strings.HasPrefix(string(rest[:min(4, len(rest))]), `\X0\`) {
		d.in = rest
	}
	if d.has(`\X0\`) {
		d.skip(4)
	}
}

func hexRune(b []byte, n int) (rune, bool) {
	if len(b) < n {
		return 0, false
	}
	var r uint32
	for _, c := range b[:n] {
		switch {
		case digit(c):
			c -= '0'
		case c|0x20-'a' <= 5:
			c = c | 0x20 - 'a' + 10
		default:
			return 0, false
		}
		r = r<<4 | uint32(c)
	}
	if r > utf8.MaxRune {
		return utf8.RuneError, true
	}
	return rune(r), true
}
