package p21

import "fmt"

// inlineParams is how many parameters are split without allocating: more than
// any entity of the shape resources has.
const inlineParams = 16

// Params reads the parameters of a record, counted from 0. The first fault
// sticks: the questions after it give zero values, and Err tells it. Missing
// parameters at the end count as faults only when somebody asks for them.
type Params struct {
	f      *File
	id     ID
	name   string
	at     uint32
	n      int
	inline [inlineParams]span
	more   []span
	err    *ParamError
}

type span struct{ from, to uint32 }

func newParams(f *File, id ID, name string, from, to int) Params {
	p := Params{f: f, id: id, name: name, at: uint32(from)}
	c := cursor{src: f.src[:to], p: from + 1}
	for {
		v, ok := c.next()
		if c.broken {
			return p.broken()
		}
		if !ok {
			return p
		}
		if p.n < inlineParams {
			p.inline[p.n] = v
		} else {
			p.more = append(p.more, v)
		}
		p.n++
	}
}

// broken drops all parameters of a record whose parentheses do not match: it
// cannot be told which of them are what they seem to be.
func (p Params) broken() Params {
	p.n, p.more = 0, nil
	p.failAll("parentheses that match")
	return p
}

// failAll is a fault of the record as a whole.
func (p *Params) failAll(want string) {
	p.err = &ParamError{ID: p.id, Entity: p.name, Want: want, Got: show(p.f.src, int(p.at)), f: p.f, off: int(p.at)}
}

// Len is the number of parameters.
func (p *Params) Len() int { return p.n }

// ID is the record's number.
func (p *Params) ID() ID { return p.id }

// Err is the first fault, a *ParamError.
func (p *Params) Err() error {
	if p.err == nil {
		return nil // not a nil pointer in an interface
	}
	return p.err
}

// Value is parameter i as it stands; the zero Value where it is missing.
func (p *Params) Value(i int) Value {
	if i < 0 || i >= p.n {
		return Value{}
	}
	s := span{}
	if i < inlineParams {
		s = p.inline[i]
	} else {
		s = p.more[i-inlineParams]
	}
	return Value{f: p.f, span: s}
}

func (p *Params) fail(i int, want string) {
	if p.err != nil {
		return
	}
	e := &ParamError{ID: p.id, Entity: p.name, Param: i + 1, Want: want, f: p.f, off: -1}
	switch v := p.Value(i); {
	case p.f == nil:
		e.f, e.Got = &File{}, "no record"
	case v.f == nil:
		e.off, e.Got = int(p.at), fmt.Sprintf("only %d parameters", p.n)
	default:
		e.off, e.Got = int(v.from), v.show()
	}
	p.err = e
}

// Has reports whether parameter i is there and is neither $ nor *.
func (p *Params) Has(i int) bool {
	switch p.Value(i).Kind() {
	case None, Unset, Derived:
		return false
	}
	return true
}

// Ref is a reference to another instance.
func (p *Params) Ref(i int) ID {
	id, ok := p.Value(i).Ref()
	if !ok {
		p.fail(i, "a reference")
	}
	return p.ifSound(id)
}

func (p *Params) ifSound(id ID) ID {
	if p.err != nil {
		return 0
	}
	return id
}

// OptRef is a reference, 0 where the parameter is missing or unset.
func (p *Params) OptRef(i int) ID {
	if !p.Has(i) {
		return 0
	}
	return p.Ref(i)
}

// Real is a finite number; integers and typed numbers count.
func (p *Params) Real(i int) float64 {
	x, ok := p.Value(i).Real()
	if !ok {
		p.fail(i, "a number")
	}
	if p.err != nil {
		return 0
	}
	return x
}

// Int is a whole number; a real without a fraction counts.
func (p *Params) Int(i int) int {
	x, ok := p.Value(i).Int()
	if !ok {
		p.fail(i, "a whole number")
	}
	if p.err != nil {
		return 0
	}
	return x
}

// Bool is .T. or .F.; .TRUE. and .FALSE. count.
func (p *Params) Bool(i int) bool {
	b, ok := p.Value(i).Bool()
	if !ok {
		p.fail(i, ".T. or .F.")
	}
	return b && p.err == nil
}

// Enum is an enumeration value in capitals without its dots.
func (p *Params) Enum(i int) string {
	s, ok := p.Value(i).Enum()
	if !ok {
		p.fail(i, "an enumeration value")
	}
	if p.err != nil {
		return ""
	}
	return s
}

// String is a decoded string; "" where it is missing or unset, which many
// writers do where the schema wants a string.
func (p *Params) String(i int) string {
	if p.err != nil || !p.Has(i) {
		return ""
	}
	s, ok := p.Value(i).Text()
	if !ok {
		p.fail(i, "a string")
	}
	return s
}

// Strings is a list of strings; a single string counts as a list of one.
func (p *Params) Strings(i int) []string {
	if p.err != nil || !p.Has(i) {
		return nil
	}
	v := p.Value(i)
	if s, ok := v.Text(); ok {
		return []string{s}
	}
	var out []string
	for it := p.list(i); it.Next(); {
		s, _ := it.Value().Text()
		out = append(out, s)
	}
	return out
}

func (p *Params) list(i int) Items {
	it, ok := p.Value(i).Items()
	if !ok {
		p.fail(i, "a list")
	}
	return it
}

// List walks the items of a list.
func (p *Params) List(i int) Items {
	it := p.list(i)
	if p.err != nil {
		return Items{}
	}
	return it
}

// Refs appends the references of a list to dst. Unset items are left out;
// anything else is a fault.
func (p *Params) Refs(i int, dst []ID) []ID {
	it := p.List(i)
	for it.Next() {
		switch v := it.Value(); v.Kind() {
		case Unset, Derived:
		default:
			id, ok := v.Ref()
			if !ok {
				p.fail(i, "a list of references")
				return dst
			}
			dst = append(dst, id)
		}
	}
	p.whole(i, &it)
	return dst
}

// whole makes a list a fault that does not end where its parameter does.
func (p *Params) whole(i int, it *Items) {
	if it.Broken() {
		p.fail(i, "a list with a comma between any two items")
	}
}

// RefGrid reads a list of lists of references.
func (p *Params) RefGrid(i int) [][]ID {
	var out [][]ID
	it := p.List(i)
	for it.Next() {
		row, ok := it.Value().Items()
		if !ok {
			p.fail(i, "a list of lists of references")
			return nil
		}
		var ids []ID
		for row.Next() {
			id, ok := row.Value().Ref()
			if !ok {
				p.fail(i, "a list of lists of references")
				return nil
			}
			ids = append(ids, id)
		}
		p.whole(i, &row)
		out = append(out, ids)
	}
	p.whole(i, &it)
	return out
}

// Reals appends the numbers of a list to dst.
func (p *Params) Reals(i int, dst []float64) []float64 {
	it := p.List(i)
	for it.Next() {
		x, ok := it.Value().Real()
		if !ok {
			p.fail(i, "a list of numbers")
			return dst
		}
		dst = append(dst, x)
	}
	p.whole(i, &it)
	return dst
}

// RealGrid reads a list of lists of numbers.
func (p *Params) RealGrid(i int) [][]float64 {
	var out [][]float64
	it := p.List(i)
	for it.Next() {
		row, ok := it.Value().Items()
		if !ok {
			p.fail(i, "a list of lists of numbers")
			return nil
		}
		var xs []float64
		for row.Next() {
			x, ok := row.Value().Real()
			if !ok {
				p.fail(i, "a list of lists of numbers")
				return nil
			}
			xs = append(xs, x)
		}
		p.whole(i, &row)
		out = append(out, xs)
	}
	p.whole(i, &it)
	return out
}

// Ints appends the whole numbers of a list to dst.
func (p *Params) Ints(i int, dst []int) []int {
	it := p.List(i)
	for it.Next() {
		x, ok := it.Value().Int()
		if !ok {
			p.fail(i, "a list of whole numbers")
			return dst
		}
		dst = append(dst, x)
	}
	p.whole(i, &it)
	return dst
}

// Coords reads a list of one to three numbers, as points and directions have;
// n is how many there were.
func (p *Params) Coords(i int) (xyz [3]float64, n int) {
	it := p.List(i)
	for ; it.Next(); n++ {
		x, ok := it.Value().Real()
		if !ok || n == 3 {
			p.fail(i, "up to three numbers")
			return [3]float64{}, 0
		}
		xyz[n] = x
	}
	if p.whole(i, &it); p.err != nil {
		return [3]float64{}, 0
	}
	return xyz, n
}
