package step

import (
	"fmt"
	"math"
	"strings"

	"stepscan/step/p21"
)

// units are what lengths and angles of one representation context are given
// in. The zero value is not usable; see unitless.
type units struct {
	mm          float64 // mm in one unit of length
	rad         float64 // radians in one unit of plane angle
	name        string  // of the length unit, for display
	assumed     bool    // the context states no length unit: mm are taken
	uncertainty float64 // mm, 0 where the context does not say
}

// unitless stands in where a context gives no units: mm and radians, which
// nearly all writers mean.
var unitless = units{mm: 1, rad: 1, name: "mm", assumed: true}

// maxChain bounds how far a chain of references of one kind is followed
// (conversion units, trimmed surfaces on offset surfaces and the like).
const maxChain = 12

// contextUnits reads a representation context, once each.
func (r *reader) contextUnits(ctx p21.ID) units {
	u, ok := r.units[ctx]
	if !ok {
		u = r.readContext(ctx)
		r.units[ctx] = u
	}
	return u
}

func (r *reader) readContext(ctx p21.ID) units {
	u := unitless
	rec, err := r.open(ctx)
	if err != nil {
		r.note(ctx, "", "context without units: lengths are taken for mm and angles for radians")
		return u
	}
	r.readAssigned(rec, &u)
	if p, ok := rec.Leaf("GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT"); ok {
		u.uncertainty = r.readUncertainty(p.Refs(listAt(&p), nil), u)
	}
	return u
}

// listAt is the first parameter that is a list: contexts put their units
// first in a complex instance and behind identifier and type in a simple one.
func listAt(p *p21.Params) int {
	for i := range p.Len() {
		if p.Value(i).Kind() == p21.List {
			return i
		}
	}
	return 0
}

func (r *reader) readAssigned(rec p21.Record, u *units) {
	p, ok := rec.Leaf("GLOBAL_UNIT_ASSIGNED_CONTEXT")
	if !ok {
		if !rec.Is("PARAMETRIC_REPRESENTATION_CONTEXT") {
			r.note(rec.ID(), "", "context without units: lengths are taken for mm and angles for radians")
		}
		return
	}
	length := false
	for _, id := range p.Refs(listAt(&p), nil) {
		unit, err := r.open(id)
		if err != nil {
			r.note(id, "", "unit that is not in the file")
			continue
		}
		switch {
		case isLength(unit) && length:
			r.note(id, "", "second length unit of one context: the first is used")
		case isLength(unit):
			mm, name, ok := r.unitFactor(id, "METRE", maxChain)
			if !ok {
				r.note(id, "", "length unit without a positive factor: lengths are taken for mm")
				continue
			}
			u.mm, u.name, u.assumed, length = mm, name, false, true
		case unit.Is("PLANE_ANGLE_UNIT"), siName(unit) == "RADIAN":
			f, _, ok := r.unitFactor(id, "RADIAN", maxChain)
			if !ok {
				r.note(id, "", "angle unit without a positive factor: angles are taken for radians")
				continue
			}
			u.rad = f
		}
	}
	if !length {
		r.note(rec.ID(), "", "context without a length unit: lengths are taken for mm")
	}
}

func isLength(unit p21.Record) bool {
	return unit.Is("LENGTH_UNIT") || siName(unit) == "METRE"
}

// siName is the last parameter of SI_UNIT, "" for other units. The dimensions
// in front of it are there only in simple instances.
func siName(unit p21.Record) string {
	p, ok := unit.Leaf("SI_UNIT")
	if !ok || p.Len() == 0 {
		return ""
	}
	return p.Enum(p.Len() - 1)
}

// siBase is what one METRE and one RADIAN come to inside: mm and radians.
var siBase = map[string]struct {
	factor float64
	sign   string
}{"METRE": {1000, "m"}, "RADIAN": {1, "rad"}}

// unitFactor is a unit's size in mm (base METRE) or radians (base RADIAN), and
// a name to show.
func (r *reader) unitFactor(id p21.ID, base string, depth int) (float64, string, bool) {
	unit, err := r.open(id)
	if err != nil || depth == 0 {
		return 0, "", false
	}
	if p, ok := unit.Leaf("SI_UNIT"); ok {
		if siName(unit) != base {
			return 0, "", false
		}
		prefix := ""
		if k := p.Len() - 2; k >= 0 && p.Value(k).Kind() == p21.Enum {
			prefix = p.Enum(k)
		}
		f, ok := siPrefix[prefix]
		return f.factor * siBase[base].factor, f.sign + siBase[base].sign, ok
	}
	p, ok := unit.Leaf("CONVERSION_BASED_UNIT")
	if !ok || p.Len() < 2 {
		return 0, "", false
	}
	name := clean(p.String(p.Len() - 2))
	f, ok := r.measure(p.OptRef(p.Len()-1), base, depth-1)
	if said, known := saidFactor(name, base); ok && known && math.Abs(f-said) > 1e-3*said {
		r.note(id, "", fmt.Sprintf("unit %q is given as %g %s where its name says %g: the figure is used", name, f, insideSign[base], said))
	}
	return f, conversionName(name, f), ok
}

// insideSign names what lengths and angles are kept in.
var insideSign = map[string]string{"METRE": "mm", "RADIAN": "rad"}

// unitWords are the names that files give to conversion units, with the size
// that each has by definition in mm or radians (ISO 80000-3). The figure in the
// file counts, since the name is free text.
var unitWords = []struct {
	base, words string
	size        float64
}{
	{"METRE", " INCH INCHES IN ", 25.4},
	{"METRE", " FOOT FEET FT ", 304.8},
	{"METRE", " YARD YARDS YD ", 914.4},
	{"METRE", " MILLIMETRE MILLIMETER MILLIMETERS MILLIMETRES MM ", 1},
	{"METRE", " CENTIMETRE CENTIMETER CENTIMETERS CENTIMETRES CM ", 10},
	{"METRE", " METRE METER METERS METRES M ", 1000},
	{"RADIAN", " DEGREE DEGREES DEG ", math.Pi / 180},
	{"RADIAN", " RADIAN RADIANS RAD ", 1},
}

// saidFactor is the size that a unit's name says, if it is one of the common.
func saidFactor(name, base string) (float64, bool) {
	word := " " + strings.ToUpper(name) + " "
	for _, w := range unitWords {
		if w.base == base && strings.Contains(w.words, word) {
			return w.size, true
		}
	}
	return 0, false
}

// commonUnits are lengths that have one name whatever a file calls them.
var commonUnits = []struct {
	mm   float64
	name string
}{{1, "mm"}, {10, "cm"}, {1000, "m"}, {25.4, "inch"}, {304.8, "foot"}}

// conversionName shows a conversion unit under its common name where the
// factor is that unit's; the file's own word stands otherwise.
func conversionName(name string, mm float64) string {
	for _, u := range commonUnits {
		if math.Abs(mm-u.mm) < 1e-6*u.mm {
			return u.name
		}
	}
	return name
}

// measure reads a MEASURE_WITH_UNIT in mm or radians.
func (r *reader) measure(id p21.ID, base string, depth int) (float64, bool) {
	rec, err := r.open(id)
	if err != nil {
		return 0, false
	}
	p := rec.Params()
	if rec.IsComplex() {
		var ok bool
		if p, ok = rec.Leaf("MEASURE_WITH_UNIT"); !ok {
			return 0, false
		}
	}
	x, unit := p.Real(0), p.Ref(1)
	if p.Err() != nil {
		return 0, false
	}
	f, _, ok := r.unitFactor(unit, base, depth)
	f *= x
	return f, ok && f > 0 && !math.IsInf(f, 0)
}

// maxUncertainty is the greatest uncertainty that is handed on, mm: files say
// from 1e-7 to 0.1 (common practice), and some a figure that is none. It is
// bounded by each body's size too; see boundUncertainty.
const maxUncertainty = 0.1

// readUncertainty is the smallest length uncertainty of a context, mm.
func (r *reader) readUncertainty(ids []p21.ID, u units) float64 {
	least := 0.0
	for _, id := range ids {
		rec, err := r.open(id)
		if err != nil {
			continue
		}
		p := rec.Params()
		if rec.IsComplex() {
			p, _ = rec.Leaf("MEASURE_WITH_UNIT")
		}
		x, mm := p.Real(0), u.mm
		if unit, err := r.open(p.OptRef(1)); err == nil {
			if !isLength(unit) {
				continue // of angles
			}
			if f, _, ok := r.unitFactor(unit.ID(), "METRE", maxChain); ok {
				mm = f
			}
		}
		if p.Err() == nil && x > 0 && (least == 0 || x*mm < least) {
			least = x * mm
		}
	}
	return min(least, maxUncertainty)
}

// siPrefix: ISO 1000 prefixes by their names in ISO 10303-41.
var siPrefix = map[string]struct {
	factor float64
	sign   string
}{
	"": {1, ""}, "EXA": {1e18, "E"}, "PETA": {1e15, "P"}, "TERA": {1e12, "T"}, "GIGA": {1e9, "G"},
	"MEGA": {1e6, "M"}, "KILO": {1e3, "k"}, "HECTO": {1e2, "h"}, "DECA": {1e1, "da"},
	"DECI": {1e-1, "d"}, "CENTI": {1e-2, "c"}, "MILLI": {1e-3, "m"}, "MICRO": {1e-6, "µ"},
	"NANO": {1e-9, "n"}, "PICO": {1e-12, "p"}, "FEMTO": {1e-15, "f"}, "ATTO": {1e-18, "a"},
}
