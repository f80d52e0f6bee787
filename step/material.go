package step

import (
	"strings"

	"stepscan/step/p21"
)

// readMaterials finds the names of materials that are given as properties of a
// product: PROPERTY_DEFINITION('material property', 'material name', product),
// tied by a PROPERTY_DEFINITION_REPRESENTATION to a representation whose items
// hold the text (CAx-IF recommended practice for material identification,
// chapter 4).
func (r *reader) readMaterials() {
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.open(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		what := strings.ToLower(d.String(0) + " " + d.String(1))
		if !strings.Contains(what, "material") || strings.Contains(what, "density") {
			continue
		}
		pr := r.productOf(d.OptRef(2))
		if pr == nil || pr.material != "" {
			continue
		}
		pr.material = r.materialText(p.OptRef(1))
	}
	r.readMadeFrom()
}

// readMadeFrom reads the encoding that has a material as a product of its own,
// which parts are made from: MAKE_FROM_USAGE_OPTION(id, name, description,
// part, material, ...) (the same practice, chapter 5).
func (r *reader) readMadeFrom() {
	for rec := range r.f.Of("MAKE_FROM_USAGE_OPTION") {
		p := leafOr(rec, "PRODUCT_DEFINITION_RELATIONSHIP")
		part, stuff := r.productOf(p.OptRef(3)), r.productOf(p.OptRef(4))
		if part == nil || stuff == nil || part == stuff || len(stuff.shapes)+len(stuff.uses) > 0 {
			continue // made from another part
		}
		stuff.raw = true
		if part.material == "" {
			part.material = stuff.name
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
		if s := firstName(clean(d.String(1)), clean(d.String(0))); s != "" {
			return s
		}
	}
	return ""
}
