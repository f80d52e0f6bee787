package p21

import (
	"fmt"
	"slices"
	"sync/atomic"
)

// oddity is a way to write a value that the standard does not have and that is
// read all the same. Writers do such a thing all over a file or not at all, so
// one remark a file is made, at the first place.
type oddity uint8

const (
	oddInteger oddity = iota
	oddReal
	oddExponent
	oddBool
	oddPage
	oddHex
	oddGuess
	oddLost
	oddities
)

var oddText = [oddities]string{
	oddInteger:  "a number without a decimal point stands where a real is wanted, and is read as one",
	oddReal:     "a real stands where an integer is wanted; it has no fraction, and is read as one",
	oddExponent: "the exponent of a number is written with D, and is read as E",
	oddBool:     "a truth value is not written as .T. or .F., and is read as what it means",
	oddPage:     `\P?\ in a string names an alphabet that there is not (A to I), and is read as it stands`,
	oddHex:      `\X2\ or \X4\ in a string has a group cut short, or no \X0\ at its end; the whole groups are read`,
	oddGuess:    "", // names the guess
	oddLost:     "a string has characters that cannot be decoded, and shows U+FFFD for them",
}

// remarks hold where each oddity was first met, as offset + 1. Values are
// decoded on many goroutines in any order; the least offset depends on none.
type remarks [oddities]atomic.Uint64

func (f *File) remark(o oddity, off uint32) { least(&f.odd[o], uint64(off)+1) }

// least lowers a number that is not 0.
func least(a *atomic.Uint64, x uint64) {
	for {
		old := a.Load()
		if old != 0 && old <= x || a.CompareAndSwap(old, x) {
			return
		}
	}
}

// Remarks are the warnings about values that were decoded so far: one for each
// odd way of writing and one for each entity with a wrong number of parameters,
// with the first place. Those of Scan are in Warnings.
func (f *File) Remarks() []Warning {
	var out []Warning
	for o := range f.odd {
		if at := f.odd[o].Load(); at > 0 {
			text := oddText[o]
			if oddity(o) == oddGuess {
				text = fmt.Sprintf("text that is not UTF-8 is read as %v, which is a guess; if names look wrong, --encoding says how they are written", f.rawEncoding())
			}
			out = append(out, f.remarkAt(int(at-1), text+"; this is the first such place"))
		}
	}
	return append(out, f.arityRemarks()...)
}

func (f *File) remarkAt(off int, text string) Warning {
	w := Warning{Pos: f.PosAt(off), Text: text, Whole: true}
	if r, ok := f.recordAt(off); ok {
		w.ID = r.ID()
	}
	return w
}

// recordAt finds the record with an offset between its parentheses.
func (f *File) recordAt(off int) (Record, bool) {
	i, _ := slices.BinarySearchFunc(f.recs, off, func(r record, off int) int {
		return int(r.from) - off
	})
	if i == len(f.recs) || int(f.recs[i].from) > off {
		i--
	}
	if i < 0 || int(f.recs[i].to) < off {
		return Record{}, false
	}
	return Record{f: f, i: int32(i)}, true
}

// arity is how many parameters the records of an entity have by its schema, 0
// where that is not known, and where the first was that has another number.
type arity struct {
	want  int
	first atomic.Uint64 // offset of its opening parenthesis + 1
}

// learnArities asks once for each entity of the file.
func (f *File) learnArities(of func(entity string) int) {
	if of == nil {
		return
	}
	f.arities = make([]arity, len(f.words.all))
	for w := range f.words.all {
		if info := &f.words.all[w]; info.leaves == nil {
			f.arities[w].want = of(info.name)
		}
	}
}

// count compares the number of parameters with what the entity has. Too few or
// too many are put up with where those that are asked for are there, except for
// what a decimal comma looks like.
func (f *File) count(p *Params, w word) {
	if int(w) >= len(f.arities) {
		return
	}
	a := &f.arities[w]
	if a.want == 0 || a.want == p.n || p.err != nil {
		return
	}
	if p.n > a.want && p.decimalComma() {
		p.n, p.more = 0, nil
		p.failAll(fmt.Sprintf("%d parameters with points for decimals", a.want))
		return
	}
	least(&a.first, uint64(p.at)+1)
}

// decimalComma reports two parameters beside each other that are written as
// integers, the second without a sign: 1,5.
func (p *Params) decimalComma() bool {
	before := false
	for i := range p.n {
		b := p.Value(i).bytes()
		if before && allDigits(b) {
			return true
		}
		if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
			b = b[1:]
		}
		before = allDigits(b)
	}
	return false
}

func allDigits(b []byte) bool {
	for _, c := range b {
		if !digit(c) {
			return false
		}
	}
	return len(b) > 0
}

func (f *File) arityRemarks() []Warning {
	var out []Warning
	for w := range f.arities {
		a := &f.arities[w]
		at := a.first.Load()
		if at == 0 {
			continue
		}
		r, ok := f.recordAt(int(at - 1))
		if !ok {
			continue
		}
		p := newParams(f, r.ID(), r.Name(), int(r.rec().from), int(r.rec().to))
		text := fmt.Sprintf("%s with %d parameters, which has %d; what is there is used, and this is the first such record", r.Name(), p.n, a.want)
		out = append(out, Warning{ID: r.ID(), Pos: r.Pos(), Text: text})
	}
	slices.SortStableFunc(out, func(a, b Warning) int { return a.Pos.compare(b.Pos) })
	return out
}
