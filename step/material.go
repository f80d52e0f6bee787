package step

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/step/p21"
)

// Made is what a part is made of, as far as the file says.
type Made struct {
	Material string  // "" where the file gives none
	Density  float64 // kg/m³, 0 where not known
	// Mass in grams as somebody noted it in an attribute; 0 where nobody did.
	Mass float64
	// Weak says which of these come from attributes that anybody may fill in,
	// in words: "material from the attribute \"Werkstoff\"".
	Weak []string
}

// orElse fills what m does not say from what other says.
func (m *Made) orElse(other Made) {
	was := *m
	if m.Material == "" {
		m.Material = other.Material
	}
	if m.Density == 0 {
		m.Density = other.Density
	}
	if m.Mass == 0 {
		m.Mass = other.Mass
	}
	if m.Material != was.Material || m.Density != was.Density || m.Mass != was.Mass {
		m.Weak = slices.Concat(m.Weak, other.Weak)
	}
}

// readMaterials finds the materials and densities that are given as properties
// (CAx-IF recommended practice for material identification and density): of the
// product itself (chapter 4), or of a material that is a product of its own and
// that the part is made from, with its density as a property (5.2) or as a
// MATERIAL_PROPERTY (5.3).
func (r *reader) readMaterials() {
	general := r.generalNames()
	var odd oddDensities
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION", "MATERIAL_PROPERTY_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.open(p.OptRef(0), "PROPERTY_DEFINITION", "MATERIAL_PROPERTY")
		if err != nil {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		pr := r.productOf(d.OptRef(2))
		what := strings.ToLower(d.String(0) + " " + d.String(1) + " " + general[def.ID()])
		if pr == nil || !materialProperty(d.String(0)) && !def.Is("MATERIAL_PROPERTY") && !materialProperty(general[def.ID()]) {
			continue
		}
		if strings.Contains(what, "density") {
			r.readDensity(&pr.made, p.OptRef(1), &odd)
		} else if pr.made.Material == "" {
			pr.made.Material = r.materialText(p.OptRef(1))
		}
	}
	for why := range odd {
		odd[why].tell(r, densityTexts[why])
	}
	r.readDesignations()
}

// materialProperty reports the name that the practice gives to properties of
// the material.
func materialProperty(name string) bool {
	return strings.HasPrefix(strings.ToLower(strings.TrimSpace(name)), "material property")
}

// readDesignations reads MATERIAL_DESIGNATION(name, definitions)
// (ISO 10303-45).
func (r *reader) readDesignations() {
	for rec := range r.f.Of("MATERIAL_DESIGNATION") {
		p := rec.Params()
		name := materialName(p.String(0))
		for _, id := range p.Refs(1, nil) {
			if pr := r.productOf(id); pr != nil && pr.made.Material == "" {
				pr.made.Material = name
			}
		}
	}
}

// readMadeFrom reads the encodings that have a material as a product of its own,
// which parts are made from: MAKE_FROM_USAGE_OPTION(id, name, description,
// part, material, ...), and then what only attributes say.
func (r *reader) readMadeFrom() {
	noted := map[*product]bool{}
	for rec := range r.f.Of("MAKE_FROM_USAGE_OPTION") {
		p := leafOr(rec, "PRODUCT_DEFINITION_RELATIONSHIP")
		part, stuff := r.productOf(p.OptRef(3)), r.productOf(p.OptRef(4))
		if part == nil || stuff == nil || part == stuff || len(stuff.shapes)+len(stuff.uses) > 0 {
			continue // made from another part
		}
		if !noted[stuff] {
			noted[stuff] = true
			r.readNoted(stuff)
		}
		made := stuff.made
		if made.Material == "" {
			made.Material = materialName(stuff.name)
		}
		part.made.orElse(made)
	}
	for _, pr := range r.prods {
		if !noted[pr] {
			r.readNoted(pr)
		}
	}
}

// productOf is the product of a definition or of its shape, nil for others.
func (r *reader) productOf(id p21.ID) *product {
	if i, ok := r.byPD[id]; ok {
		return r.prods[i]
	}
	def, err := r.open(id, "PRODUCT_DEFINITION_SHAPE")
	if err != nil {
		return nil
	}
	d := leafOr(def, "PROPERTY_DEFINITION")
	if i, ok := r.byPD[d.OptRef(2)]; ok {
		return r.prods[i]
	}
	return nil
}

// materialText is the first text item of a representation that names
// something: DESCRIPTIVE_REPRESENTATION_ITEM(identifier, text).
func (r *reader) materialText(id p21.ID) string {
	p, err := r.params(id)
	if err != nil {
		return ""
	}
	for it := p.List(1); it.Next(); {
		item, ok := it.Value().Ref()
		if !ok {
			continue
		}
		d, err := r.params(item, "DESCRIPTIVE_REPRESENTATION_ITEM")
		if err != nil {
			continue
		}
		for _, s := range []string{d.String(1), d.String(0)} {
			if s = materialName(s); s != "" {
				return s
			}
		}
	}
	return ""
}

// materialName is s cleaned for display, "" for the words that writers put
// where no material was chosen.
func materialName(s string) string {
	s = clean(s)
	word := strings.Trim(strings.TrimPrefix(strings.ToUpper(s), "MATERIAL "), "<>()[]-– ")
	switch word {
	case "GENERIC", "DEFAULT", "UNDEFINED", "UNSPECIFIED", "NOT SPECIFIED", "NOT DEFINED", "N/A", "UNASSIGNED":
		return ""
	}
	if nameless(word) {
		return ""
	}
	return s
}

// readDensity reads the first density of a representation that can be one.
func (r *reader) readDensity(m *Made, rep p21.ID, odd *oddDensities) {
	p, err := r.params(rep)
	if err != nil {
		return
	}
	for it := p.List(1); it.Next() && m.Density == 0; {
		item, _ := it.Value().Ref()
		rec, err := r.open(item)
		if err != nil || !rec.Is("MEASURE_REPRESENTATION_ITEM") {
			continue
		}
		_, value, unit := measureItem(rec)
		if x, ok := value.Real(); ok {
			m.Density = r.density(x, unit, item, odd)
		}
	}
}

// Why a density is not taken as it stands.
const (
	densityNotPositive = iota
	densityNoUnit
	densityTurned
	densityReasons
)

var densityTexts = [densityReasons]string{
	"densities of zero or less (%d): taken as not known",
	"densities in a unit that is none of density (%d), such as one with exponents of 0: taken as not known",
	"densities in a unit of mass times volume (%d): read as mass by volume",
}

// odd counts figures that are not taken as they stand, with the first record:
// one line for a reason and not one for each part.
type odd struct {
	count int
	first p21.ID
}

func (o *odd) add(id p21.ID) {
	if o.count++; o.count == 1 {
		o.first = id
	}
}

// tell lists the count in a text with a place for it.
func (o *odd) tell(r *reader, text string) {
	if o.count > 0 {
		r.aside(o.first, fmt.Sprintf(text, o.count))
	}
}

// oddDensities are those by reason.
type oddDensities [densityReasons]odd

// density is x of a unit in kg/m³, 0 where it cannot be known. Some writers
// give the length an exponent of 3 for -3, and "mass times volume" can mean
// nothing else.
func (r *reader) density(x float64, unit, item p21.ID, odd *oddDensities) float64 {
	const cubicMetre = 1e9 // mm³
	q, ok := r.unit(unit, maxChain)
	turned := ok && q.dim == dimension{3, 1}
	if turned {
		q.factor, ok = r.turnedFactor(unit, q.factor)
	} else {
		ok = ok && q.dim == densityDim
	}
	rho := x * q.factor * cubicMetre
	switch {
	case x <= 0:
		odd[densityNotPositive].add(item)
		return 0
	case !ok || !(rho > 0) || math.IsInf(rho, 0):
		odd[densityNoUnit].add(item)
		return 0
	case turned:
		odd[densityTurned].add(item)
	}
	return rho
}

// turnedFactor makes the size of a unit of mass times length³ that of mass by
// length³: the length's is taken out six times.
func (r *reader) turnedFactor(unit p21.ID, factor float64) (float64, bool) {
	p, err := r.params(unit, "DERIVED_UNIT")
	if err != nil {
		return 0, false
	}
	for _, id := range p.Refs(0, nil) {
		e, err := r.params(id, "DERIVED_UNIT_ELEMENT")
		if err != nil {
			return 0, false
		}
		if q, ok := r.unit(e.OptRef(0), maxChain); ok && q.dim == lengthDim {
			return factor / math.Pow(q.factor, 6), true
		}
	}
	return 0, false
}
