package p21

import (
	"bytes"
	"slices"
)

// Record is one instance of a File. The zero value is no record.
type Record struct {
	f *File
	i int32
}

func (r Record) rec() *record { return &r.f.recs[r.i] }

// Valid is false for the zero value.
func (r Record) Valid() bool { return r.f != nil }

// ID is the instance number.
func (r Record) ID() ID {
	if r.f == nil {
		return 0
	}
	return r.rec().id()
}

// Name is the entity's name in capitals; for a complex instance the names of
// its leaves, sorted, joined by blanks in parentheses.
func (r Record) Name() string {
	if r.f == nil {
		return ""
	}
	return r.f.words.all[r.rec().word].name
}

// Leaves are the sorted leaf names of a complex instance, nil for others. The
// caller must not change them.
func (r Record) Leaves() []string {
	if r.f == nil {
		return nil
	}
	return r.f.words.all[r.rec().word].leaves
}

// IsComplex reports an instance in external mapping: ( A(...) B(...) ).
func (r Record) IsComplex() bool { return r.Leaves() != nil }

// Is reports whether the record is an instance of one of the named entities,
// or as a complex instance has one of them as a leaf.
func (r Record) Is(names ...string) bool {
	if r.f == nil {
		return false
	}
	info := &r.f.words.all[r.rec().word]
	for _, n := range names {
		if info.name == n || slices.Contains(info.leaves, n) {
			return true
		}
	}
	return false
}

// Pos is the place of the instance number.
func (r Record) Pos() Pos {
	if r.f == nil {
		return Pos{}
	}
	return r.f.PosAt(r.start())
}

// start is the offset of the # of the instance number. It stands in front of
// the parenthesis, by the name's length and what comments there are.
func (r Record) start() int {
	from := int(r.rec().from)
	least := max(0, from-1024)
	for at := from; ; {
		i := bytes.LastIndexByte(r.f.src[least:at], '#')
		if i < 0 {
			return from
		}
		at = least + i
		if id, p, ok := number(r.f.src[:from], at+1); ok && id == r.ID() {
			if p = skipBlank(r.f.src[:from], p); p < from && r.f.src[p] == '=' {
				return at
			}
		}
	}
}

// Bytes is the length of the parameters' text.
func (r Record) Bytes() int {
	if r.f == nil {
		return 0
	}
	return int(r.rec().to - r.rec().from)
}

// Params reads the parameters of a simple instance. On a complex one, and on
// the zero Record, every question is answered by an error.
func (r Record) Params() Params {
	if r.f == nil {
		return Params{}
	}
	rec := r.rec()
	if r.IsComplex() {
		return Params{f: r.f, id: rec.id(), name: r.Name(), at: rec.from}
	}
	p := newParams(r.f, rec.id(), r.Name(), int(rec.from), int(rec.to))
	if r.f.arities != nil {
		r.f.count(&p, rec.word)
	}
	return p
}

// Leaf reads the parameters of one leaf of a complex instance, or of a simple
// instance of that name; false where the record has no such leaf.
func (r Record) Leaf(name string) (Params, bool) {
	if r.f == nil || !r.Is(name) {
		return Params{}, false
	}
	if !r.IsComplex() {
		return r.Params(), true
	}
	rec := r.rec()
	from, to, ok := leafSpan(r.f.src[:rec.to], int(rec.from), name)
	if !ok {
		return Params{}, false
	}
	return newParams(r.f, rec.id(), name, from, to), true
}

// leafSpan finds the parentheses of a leaf inside of a complex instance.
func leafSpan(src []byte, p int, name string) (from, to int, ok bool) {
	for p++; ; {
		p = skipBlank(src, p)
		start := p
		for p < len(src) && src[p] != '(' && src[p] != ')' {
			p++
		}
		if p >= len(src) || src[p] == ')' {
			return 0, 0, false
		}
		end, closed := closing(src, p)
		if !closed {
			return 0, 0, false
		}
		if sameWord(src[start:p], name) {
			return p, end, true
		}
		p = end
	}
}

// sameWord compares a spelling with a name in capitals; blanks, line breaks
// and a comment behind it do not count.
func sameWord(b []byte, name string) bool {
	i := 0
	for k, c := range b {
		switch {
		case space(c):
			continue
		case c == '/' && k+1 < len(b) && b[k+1] == '*':
			return i == len(name)
		case c-'a' <= 25:
			c -= 'a' - 'A'
		}
		if i >= len(name) || name[i] != c {
			return false
		}
		i++
	}
	return i == len(name)
}
