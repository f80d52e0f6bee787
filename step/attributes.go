package step

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"stepscan/step/p21"
)

// Attribute is something that the user of the writing system noted of a part or
// an occurrence, cleaned for display. Value and unit are the file's: nothing is
// converted. Unit is "" where there is none.
type Attribute struct{ Name, Value, Unit string }

// Bounds on attributes: far more than people fill in, and a hostile file cannot
// multiply a shared list without end.
const (
	maxAttributes    = 1_000   // of one part
	maxAllAttributes = 100_000 // of a file
)

// readAttributes reads PROPERTY_DEFINITION(name, description, definition) tied
// by a PROPERTY_DEFINITION_REPRESENTATION to a representation of texts, numbers
// and truth values (CAx-IF recommended practice for user defined attributes). An
// attribute's name is its item's, the associated general property's or the
// property's.
func (r *reader) readAttributes() {
	r.attributes = map[p21.ID][]Attribute{}
	general := r.generalNames()
	type known struct {
		owner p21.ID
		a     Attribute
	}
	all := map[known]bool{}
	for rec := range r.f.Of("PROPERTY_DEFINITION_REPRESENTATION") {
		p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
		def, err := r.open(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		if readElsewhere(d.String(0)) {
			continue
		}
		owner := r.attributed(d.OptRef(2))
		if owner == 0 {
			continue
		}
		fallback := firstName(general[def.ID()], clean(d.String(0)), clean(d.String(1)))
		for _, a := range r.attributeItems(p.OptRef(1), fallback) {
			list := r.attributes[owner]
			if len(list) < maxAttributes && len(all) < maxAllAttributes && !all[known{owner, a}] {
				all[known{owner, a}] = true
				r.attributes[owner] = append(list, a)
			}
		}
	}
	for _, list := range r.attributes { // each on its own: the order does not matter
		slices.SortStableFunc(list, func(a, b Attribute) int { return cmp.Compare(a.Name, b.Name) })
	}
}

// readElsewhere reports properties that are no attributes: figures to check a
// reading by, materials, and what only ties files and models together.
func readElsewhere(name string) bool {
	name = strings.ToLower(strings.TrimSpace(name))
	return strings.Contains(name, "validation property") || strings.HasPrefix(name, "material property") ||
		name == "external definition" || name == "document property" || name == supplemental
}

// generalNames are the names that general properties give to properties:
// GENERAL_PROPERTY_ASSOCIATION(name, description, general, property).
func (r *reader) generalNames() map[p21.ID]string {
	out := map[p21.ID]string{}
	for rec := range r.f.Of("GENERAL_PROPERTY_ASSOCIATION") {
		p := rec.Params()
		g, err := r.params(p.OptRef(2), "GENERAL_PROPERTY")
		if err != nil {
			continue
		}
		if n := firstName(clean(g.String(1)), clean(g.String(0))); n != "" {
			out[p.OptRef(3)] = n
		}
	}
	return out
}

// attributed is the product definition or the occurrence that a property is of,
// by itself or through its shape; 0 for other things, such as a face.
func (r *reader) attributed(id p21.ID) p21.ID {
	if _, ok := r.byPD[id]; ok {
		return id
	}
	rec, err := r.open(id, "NEXT_ASSEMBLY_USAGE_OCCURRENCE", "PRODUCT_DEFINITION_SHAPE")
	if err != nil {
		return 0
	}
	if rec.Is("NEXT_ASSEMBLY_USAGE_OCCURRENCE") {
		return id
	}
	d := leafOr(rec, "PROPERTY_DEFINITION")
	of := d.OptRef(2)
	if _, ok := r.byPD[of]; ok {
		return of
	}
	if _, err := r.open(of, "NEXT_ASSEMBLY_USAGE_OCCURRENCE"); err == nil {
		return of
	}
	return 0
}

// attributeItems are the attributes that a representation holds.
func (r *reader) attributeItems(id p21.ID, fallback string) []Attribute {
	p, err := r.params(id)
	if err != nil {
		return nil
	}
	var out []Attribute
	for it := p.List(1); it.Next() && len(out) < maxAttributes; {
		item, _ := it.Value().Ref()
		rec, err := r.open(item)
		if err != nil {
			continue
		}
		a, ok := r.attributeItem(rec)
		if a.Name = firstName(clean(a.Name), fallback); ok && a.Name != "" && a.Value != "" {
			out = append(out, a)
		}
	}
	return out
}

// attributeEntities are the items that hold one value behind a name.
var attributeEntities = []string{
	"DESCRIPTIVE_REPRESENTATION_ITEM", "VALUE_REPRESENTATION_ITEM", "INTEGER_REPRESENTATION_ITEM",
	"REAL_REPRESENTATION_ITEM", "BOOLEAN_REPRESENTATION_ITEM", "LOGICAL_REPRESENTATION_ITEM",
}

func (r *reader) attributeItem(rec p21.Record) (a Attribute, ok bool) {
	if rec.Is("MEASURE_REPRESENTATION_ITEM") {
		name, v, unit := measureItem(rec)
		a = Attribute{Name: name, Value: valueText(v)}
		if unit != 0 {
			q, _ := r.unit(unit, maxChain)
			a.Unit = q.sign
		}
		return a, true
	}
	for _, entity := range attributeEntities {
		leaf, ok := rec.Leaf(entity)
		if !ok {
			continue
		}
		if !rec.IsComplex() {
			return Attribute{Name: leaf.String(0), Value: valueText(leaf.Value(1))}, true
		}
		n, _ := rec.Leaf("REPRESENTATION_ITEM")
		return Attribute{Name: n.String(0), Value: valueText(leaf.Value(0))}, true
	}
	return a, false
}

// valueText writes a value as a person would; "" for lists and unset ones.
func valueText(v p21.Value) string {
	if s, ok := v.Text(); ok {
		return clean(s)
	}
	if _, inner, ok := v.Typed(); ok {
		v = inner
	}
	if x, ok := v.Number(); ok {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	if b, ok := v.Bool(); ok {
		return strconv.FormatBool(b)
	}
	if e, ok := v.Enum(); ok {
		return strings.ToLower(e)
	}
	return ""
}

// useAttributes are those of an occurrence; a root stands under its product's
// number, whose attributes are the part's.
func (r *reader) useAttributes(u use) []Attribute {
	if _, root := r.byPD[u.nauo]; root {
		return nil
	}
	return r.attributes[u.nauo]
}
