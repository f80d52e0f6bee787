package p21

import (
	"bytes"
	"math/bits"
	"strings"
)

// Kind is what a value looks like.
type Kind uint8

// The kinds of values.
const (
	None    Kind = iota // not there
	Unset               // $
	Derived             // *
	Ref                 // #12
	Number              // 1 or 1.5E3
	Text                // 'abc'
	Enum                // .T.
	Binary              // "0F"
	List                // (1,2)
	Typed               // LENGTH_MEASURE(1.)
	Odd                 // none of these
)

// Value is one parameter or list item, undecoded.
type Value struct {
	f *File
	span
}

func (v Value) bytes() []byte {
	if v.f == nil {
		return nil
	}
	return v.f.src[v.from:v.to]
}

func (v Value) show() string {
	if v.from == v.to {
		return "nothing"
	}
	return show(v.f.src[:v.to], int(v.from))
}

// Kind looks at the first character.
func (v Value) Kind() Kind { return kindOf(v.bytes()) }

func kindOf(b []byte) Kind {
	if len(b) == 0 {
		return None
	}
	switch c := b[0]; {
	case c == '$':
		return Unset
	case c == '*':
		return Derived
	case c == '#':
		return Ref
	case c == '\'':
		return Text
	case c == '"':
		return Binary
	case c == '(':
		return List
	case c == '.':
		if len(b) > 1 && digit(b[1]) {
			return Number
		}
		return Enum
	case digit(c), c == '+', c == '-':
		return Number
	case letter(c), c == '!':
		if b[len(b)-1] == ')' {
			return Typed
		}
	}
	return Odd
}

// Ref is the number behind #.
func (v Value) Ref() (ID, bool) {
	b := v.bytes()
	if len(b) < 2 || b[0] != '#' {
		return 0, false
	}
	var id ID
	digits := 0
	for i, c := range b[1:] {
		switch {
		case digit(c) && id <= (1<<63-10)/10:
			id = id*10 + ID(c-'0')
			digits++
		case c < ' ', c == ' ' && digits == 0: // a line break inside of the number, a blank in front of it
		default:
			return 0, false
		}
		if i > 64 {
			return 0, false
		}
	}
	return id, digits > 0
}

// Real is a finite number, bare or typed, where a real is wanted; one that is
// written as an integer is remarked on.
func (v Value) Real() (float64, bool) {
	x, how, ok := v.number()
	if how != 0 && ok {
		v.remarkNumber(how)
	}
	return x, ok
}

// Number is a finite number, bare or typed, that may be written as an integer
// or as a real.
func (v Value) Number() (float64, bool) {
	x, how, ok := v.number()
	if how &^= noPoint; how != 0 && ok {
		v.remarkNumber(how)
	}
	return x, ok
}

func (v Value) number() (float64, spelling, bool) {
	b := v.bytes()
	if kindOf(b) == Typed {
		_, inner, ok := v.Typed()
		if !ok {
			return 0, 0, false
		}
		b = inner.bytes()
	}
	return parseNumber(b)
}

func (v Value) remarkNumber(how spelling) {
	if how&noPoint != 0 {
		v.f.remark(oddInteger, v.from)
	}
	if how&dExponent != 0 {
		v.f.remark(oddExponent, v.from)
	}
}

// Int is a whole number; a real without a fraction counts and is remarked on.
func (v Value) Int() (int, bool) {
	x, how, ok := v.number()
	if !ok || x != float64(int32(x)) {
		return 0, false
	}
	if how&noPoint == 0 {
		v.f.remark(oddReal, v.from)
	}
	return int(x), true
}

// Bool reads .T. and .F.; what careless writers make of them is remarked on.
func (v Value) Bool() (value, ok bool) {
	s, dotted := v.Enum()
	if !dotted {
		s = strings.ToUpper(string(v.bytes()[:min(len(v.bytes()), len("FALSE"))]))
		if len(s) != len(v.bytes()) {
			return false, false
		}
	}
	switch s {
	case "T", "TRUE":
		value, ok = true, true
	case "F", "FALSE":
		value, ok = false, true
	}
	if ok && (!dotted || len(s) > 1 || v.bytes()[1] >= 'a') {
		v.f.remark(oddBool, v.from)
	}
	return value, ok
}

// Enum is an enumeration value in capitals without its dots.
func (v Value) Enum() (string, bool) {
	b := v.bytes()
	if len(b) < 3 || b[0] != '.' || b[len(b)-1] != '.' {
		return "", false
	}
	switch b = b[1 : len(b)-1]; string(b) { // the two that make up nearly all, without allocating
	case "T":
		return "T", true
	case "F":
		return "F", true
	}
	if bytes.IndexByte(b, '.') >= 0 {
		return "", false // two values without a comma between them
	}
	return strings.ToUpper(string(stripControl(b))), true
}

// Text is a decoded string; a typed one counts.
func (v Value) Text() (string, bool) {
	if v.Kind() == Typed {
		_, inner, ok := v.Typed()
		if !ok {
			return "", false
		}
		v = inner
	}
	b := v.bytes()
	if len(b) < 2 || b[0] != '\'' || b[len(b)-1] != '\'' {
		return "", false
	}
	b = b[1 : len(b)-1]
	if plain(b) {
		return string(b), true
	}
	if bareQuote(b) {
		return "", false // two strings without a comma between them
	}
	s, odd := decodeText(b, v.f.encodingOf)
	for ; odd != 0; odd &= odd - 1 {
		v.f.remark(oddity(bits.TrailingZeros16(uint16(odd))), v.from)
	}
	return s, true
}

// bareQuote reports a quote that stands alone inside of a string.
func bareQuote(b []byte) bool {
	for {
		i := bytes.IndexByte(b, '\'')
		if i < 0 {
			return false
		}
		if i+1 >= len(b) || b[i+1] != '\'' {
			return true
		}
		b = b[i+2:]
	}
}

// Typed opens NAME(value): the name in capitals and the first value inside.
func (v Value) Typed() (string, Value, bool) {
	b := v.bytes()
	if kindOf(b) != Typed {
		return "", Value{}, false
	}
	i, end := 0, 0 // of the name, with and without what follows it
	for b[i] != '(' {
		if i++; b[i-1] > ' ' {
			end = i
		}
		if startsComment(b, i) {
			i = skipBlank(b, i)
		}
		if i >= len(b) {
			return "", Value{}, false
		}
	}
	c := cursor{src: v.f.src[:v.to], p: int(v.from) + i + 1}
	s, ok := c.next()
	name := strings.ToUpper(string(stripControl(b[:end])))
	return name, Value{f: v.f, span: s}, ok
}

// Items walks a list's items; false where the value is no list.
func (v Value) Items() (Items, bool) {
	if v.Kind() != List {
		return Items{}, false
	}
	return Items{f: v.f, c: cursor{src: v.f.src[:v.to], p: int(v.from) + 1}}, true
}

// Items walks a list: for it := ...; it.Next(); { it.Value() }.
type Items struct {
	f   *File
	c   cursor
	cur span
}

// Next goes to the next item.
func (it *Items) Next() bool {
	if it.f == nil {
		return false
	}
	s, ok := it.c.next()
	it.cur = s
	return ok
}

// Broken reports that the list just walked does not end where its value does:
// a comma or a parenthesis is missing or too many.
func (it *Items) Broken() bool { return it.c.broken }

// Value is the item at hand.
func (it *Items) Value() Value { return Value{f: it.f, span: it.cur} }

// cursor splits the text between two parentheses at its commas.
type cursor struct {
	src []byte
	p   int

	last   bool // the end was met
	broken bool // it was no closing parenthesis, or something stands behind it
}

// itemByte marks the bytes that mean something between the items of a list:
// all others, and blanks, may be stepped over one by one.
var itemByte = [256]bool{',': true, '(': true, ')': true, '\'': true, '/': true}

// next returns the next item without the blanks and comments around it, false
// behind the last. An empty list has no items.
func (c *cursor) next() (span, bool) {
	if c.last {
		return span{}, false
	}
	src := c.src
	p := c.p
	if p < len(src) && (space(src[p]) || src[p] == '/') {
		p = skipBlank(src, p)
	}
	from := p
	var comments trailing
	for {
		for p < len(src) && !itemByte[src[p]] {
			p++
		}
		if p >= len(src) {
			break
		}
		switch src[p] {
		case ',':
			c.p = p + 1
			return span{uint32(from), uint32(comments.end(src, from, p))}, true
		case '(':
			p = listEnd(src, p)
		case ')':
			c.last = true
			c.broken = p+1 < len(src) && skipBlank(src, p+1) < len(src)
			end := comments.end(src, from, p)
			return span{uint32(from), uint32(end)}, end > from
		case '\'':
			p = stringEnd(src, p)
		default: // a slash
			q := skipBlank(src, p)
			if q > p {
				comments.add(src, from, p, q)
			}
			p = max(q, p+1)
		}
	}
	c.last, c.broken = true, true
	end := comments.end(src, from, len(src))
	return span{uint32(from), uint32(end)}, end > from
}

// trailing remembers the comments that may end an item.
type trailing struct{ from, to int }

func (t *trailing) add(src []byte, from, p, q int) {
	t.from, t.to = t.end(src, from, p), q
}

// end is where an item ends that starts at from, is followed by something at
// p, and may have blanks and comments in between.
func (t *trailing) end(src []byte, from, p int) int {
	for p > from && p != t.to && space(src[p-1]) { // t.to is behind the comment's blanks
		p--
	}
	if p == t.to && p > from {
		return t.from
	}
	return p
}

// listEnd returns the offset behind the list that opens at p; the end of the
// text where it does not close.
func listEnd(src []byte, p int) int {
	depth := 0
	for {
		p = nextBracket(src, p)
		if p >= len(src) {
			return len(src)
		}
		switch src[p] {
		case '(':
			depth++
		case ')':
			if depth--; depth == 0 {
				return p + 1
			}
		case '\'':
			p = stringEnd(src, p)
			continue
		case '/':
			if q := skipBlank(src, p); q > p {
				p = q
				continue
			}
		}
		p++
	}
}

func stripControl(b []byte) []byte {
	for i, c := range b {
		if space(c) {
			out := append([]byte(nil), b[:i]...)
			for _, c := range b[i:] {
				if !space(c) {
					out = append(out, c)
				}
			}
			return out
		}
	}
	return b
}
