package p21

import (
	"math"
	"strconv"
)

// pow10 are the powers of ten that float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseReal reads a number: 1  -1.  .5  1.E3  1.e-3  1.D5. It must be finite.
func parseReal(b []byte) (float64, bool) {
	x, _, ok := parseNumber(b)
	return x, ok
}

// spelling is what is remarkable about how a number is written.
type spelling uint8

const (
	noPoint   spelling = 1 << iota // 1, as integers are written
	dExponent                      // 1.D5
)

// parseNumber reads a finite number and says how it is written.
// A mantissa below 2^53 with a power of ten up to 22 is exact in two steps
// (Clinger, How to read floating point numbers accurately, 1990); the rest goes
// to strconv, which is exact too.
func parseNumber(b []byte) (float64, spelling, bool) {
	i, neg := 0, false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var m uint64
	exp, digits, how := 0, 0, noPoint
	for ; i < len(b) && digit(b[i]); i++ {
		m = m*10 + uint64(b[i]-'0')
		digits++
	}
	if i < len(b) && b[i] == '.' {
		how = 0
		for i++; i < len(b) && digit(b[i]); i++ {
			m = m*10 + uint64(b[i]-'0')
			digits++
			exp--
		}
	}
	if i < len(b) && b[i]|0x20 == 'e' {
		e, ok := parseExp(b[i+1:])
		if !ok {
			return slowReal(b)
		}
		exp += e
		i = len(b)
	}
	switch {
	case digits == 0, i < len(b):
		return slowReal(b)
	case digits > 19, m >= 1<<53, exp > 22, exp < -22:
		x, ok := longReal(b)
		return x, how, ok
	}
	x := float64(m)
	if exp < 0 {
		x /= pow10[-exp]
	} else {
		x *= pow10[exp]
	}
	if neg {
		x = -x
	}
	return x, how, true
}

// parseExp reads the few digits of an ordinary exponent.
func parseExp(b []byte) (int, bool) {
	neg := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg = b[0] == '-'
		b = b[1:]
	}
	if len(b) == 0 || len(b) > 4 {
		return 0, false
	}
	e := 0
	for _, c := range b {
		if !digit(c) {
			return 0, false
		}
		e = e*10 + int(c-'0')
	}
	if neg {
		e = -e
	}
	return e, true
}

// maxNumber is the longest spelling of a number that is looked at.
const maxNumber = 400

// longReal reads a number that is spelt as strconv wants it, of digits, point
// and exponent alone.
func longReal(b []byte) (float64, bool) {
	if len(b) > maxNumber {
		return 0, false
	}
	x, err := strconv.ParseFloat(string(b), 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, false
	}
	return x, true
}

// slowReal reads the rare forms: D exponents, a blank behind the sign, control
// characters such as line breaks anywhere (ISO 10303-21:2016, 5.2). Spelt-out
// infinities and hexadecimal, which strconv would take, are refused, and so is
// a blank between digits: there a comma is missing.
func slowReal(b []byte) (float64, spelling, bool) {
	if len(b) == 0 || len(b) > maxNumber {
		return 0, 0, false
	}
	s, how := make([]byte, 0, 32), noPoint
	for _, c := range b {
		switch {
		case c < ' ', c == ' ' && len(s) == 1 && (s[0] == '-' || s[0] == '+'):
			continue
		case c|0x20 == 'd':
			c = 'e'
			how |= dExponent
		case c == '.':
			how &^= noPoint
		case digit(c), c == '+', c == '-', c|0x20 == 'e':
		default:
			return 0, 0, false
		}
		s = append(s, c)
	}
	x, ok := longReal(s)
	return x, how, ok
}
