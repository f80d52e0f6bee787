package step

import (
	"math"
	"strconv"
	"strings"

	"stepscan/step/p21"
)

// quantity is what one of a unit comes to.
type quantity struct {
	factor float64 // in mm, kg, s, A, K, mol, cd and rad, multiplied as dim says
	dim    dimension
	sign   string // to show: "mm", "kg/m³", the file's own word for what has none
}

// dimension holds the exponents of length, mass, time, current, temperature,
// amount, light and plane angle.
type dimension [8]float64

var (
	lengthDim  = dimension{1}
	massDim    = dimension{0, 1}
	angleDim   = dimension{7: 1}
	densityDim = dimension{-3, 1}
)

// siUnits are the names of ISO 10303-41, si_unit_name, beside METRE, which
// unitFactor reads. A unit without a factor is only shown: nothing here
// calculates with it.
var siUnits = map[string]quantity{
	"GRAM": {1e-3, massDim, "g"}, "SECOND": {1, dimension{2: 1}, "s"},
	"AMPERE": {1, dimension{3: 1}, "A"}, "KELVIN": {1, dimension{4: 1}, "K"}, "MOLE": {1, dimension{5: 1}, "mol"},
	"CANDELA": {1, dimension{6: 1}, "cd"}, "RADIAN": {1, angleDim, "rad"}, "STERADIAN": {1, dimension{7: 2}, "sr"},
	"HERTZ": {1, dimension{2: -1}, "Hz"}, "NEWTON": {1e3, dimension{1, 1, -2}, "N"},
	"PASCAL": {1e-3, dimension{-1, 1, -2}, "Pa"}, "JOULE": {1e6, dimension{2, 1, -2}, "J"},
	"WATT": {1e6, dimension{2, 1, -3}, "W"}, "COULOMB": {1, dimension{2: 1, 3: 1}, "C"},
	"VOLT": {sign: "V"}, "FARAD": {sign: "F"}, "OHM": {sign: "Ω"}, "SIEMENS": {sign: "S"}, "WEBER": {sign: "Wb"},
	"TESLA": {sign: "T"}, "HENRY": {sign: "H"}, "DEGREE_CELSIUS": {sign: "°C"}, "LUMEN": {sign: "lm"},
	"LUX": {sign: "lx"}, "BECQUEREL": {sign: "Bq"}, "GRAY": {sign: "Gy"}, "SIEVERT": {sign: "Sv"},
}

// measured is a unit that was read, or is being read: then it is not ok, so that
// a circle ends where it closes.
type measured struct {
	quantity
	ok bool
}

// unit reads a named or derived unit, once each. It is not ok where the unit's
// size or dimension cannot be known; its sign may be there all the same.
func (r *reader) unit(id p21.ID, depth int) (quantity, bool) {
	if m, ok := r.measures[id]; ok {
		return m.quantity, m.ok
	}
	if r.measures == nil {
		r.measures = map[p21.ID]measured{}
	}
	r.measures[id] = measured{}
	q, ok := r.readUnit(id, depth)
	r.measures[id] = measured{q, ok}
	return q, ok
}

func (r *reader) readUnit(id p21.ID, depth int) (quantity, bool) {
	if mm, name, ok := r.unitFactor(id, "METRE", depth); ok {
		return quantity{mm, lengthDim, name}, true
	}
	rec, err := r.open(id)
	if err != nil || depth == 0 {
		return quantity{}, false
	}
	if p, ok := rec.Leaf("SI_UNIT"); ok {
		return siUnit(rec, p)
	}
	if p, ok := rec.Leaf("CONVERSION_BASED_UNIT"); ok && p.Len() >= 2 {
		return r.conversionUnit(p, depth)
	}
	if p, ok := rec.Leaf("DERIVED_UNIT"); ok {
		return r.derivedUnit(p.Refs(0, nil), depth)
	}
	if p, ok := rec.Leaf("CONTEXT_DEPENDENT_UNIT"); ok && p.Len() > 0 {
		return quantity{sign: clean(p.String(p.Len() - 1))}, false
	}
	return quantity{}, false
}

func siUnit(rec p21.Record, p p21.Params) (quantity, bool) {
	q := siUnits[siName(rec)]
	prefix := ""
	if k := p.Len() - 2; k >= 0 && p.Value(k).Kind() == p21.Enum {
		prefix = p.Enum(k)
	}
	f, ok := siPrefix[prefix]
	q.factor, q.sign = q.factor*f.factor, f.sign+q.sign
	return q, ok && q.factor > 0
}

// conversionUnit reads CONVERSION_BASED_UNIT(name, factor), the two last
// parameters of p: the factor counts, whatever the name says.
func (r *reader) conversionUnit(p p21.Params, depth int) (quantity, bool) {
	name := clean(p.String(p.Len() - 2))
	rec, err := r.open(p.OptRef(p.Len() - 1))
	if err != nil {
		return quantity{sign: name}, false
	}
	m := leafOr(rec, "MEASURE_WITH_UNIT")
	x, base := m.Real(0), m.Ref(1)
	if m.Err() != nil {
		return quantity{sign: name}, false
	}
	q, ok := r.unit(base, depth-1)
	q.factor *= x
	if name == strings.ToUpper(name) {
		name = strings.ToLower(name)
	}
	q.sign = name
	return q, ok && q.factor > 0 && !math.IsInf(q.factor, 0)
}

// Bounds on derived units: real ones have two or three elements.
const (
	maxElements = 8
	maxExponent = 12
)

// derivedUnit multiplies DERIVED_UNIT_ELEMENT(unit, exponent).
func (r *reader) derivedUnit(elements []p21.ID, depth int) (quantity, bool) {
	out, known := quantity{factor: 1}, len(elements) > 0 && len(elements) <= maxElements
	var over, under []string
	for _, id := range elements[:min(len(elements), maxElements)] {
		p, err := r.params(id, "DERIVED_UNIT_ELEMENT")
		if err != nil {
			return quantity{}, false
		}
		q, ok := r.unit(p.OptRef(0), depth-1)
		e := p.Real(1)
		if p.Err() != nil || !(math.Abs(e) <= maxExponent) {
			return quantity{}, false
		}
		known = known && ok
		out.factor *= math.Pow(q.factor, e)
		for i := range out.dim {
			out.dim[i] += e * q.dim[i]
		}
		switch {
		case e > 0:
			over = append(over, q.sign+exponentText(e))
		case e < 0:
			under = append(under, q.sign+exponentText(-e))
		}
	}
	out.sign = strings.Join(over, "·")
	if len(under) > 0 {
		if out.sign == "" {
			out.sign = "1"
		}
		out.sign += "/" + strings.Join(under, "/")
	}
	return out, known && out.factor > 0 && !math.IsInf(out.factor, 0)
}

// exponentText is a positive exponent behind a unit's sign, "" for one.
func exponentText(e float64) string {
	if e == 1 {
		return ""
	}
	s := strconv.FormatFloat(e, 'g', -1, 64)
	if strings.Trim(s, "0123456789") != "" {
		return "^" + s
	}
	return strings.Map(func(c rune) rune { return []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[c-'0'] }, s)
}
