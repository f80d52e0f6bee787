package step

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stepscan/geom"
	"stepscan/step/p21"
)

// usageEntities build the tree. A quantified usage stands for several instances;
// most files write it as one complex instance with the next assembly usage.
var usageEntities = []string{"NEXT_ASSEMBLY_USAGE_OCCURRENCE", "QUANTIFIED_ASSEMBLY_COMPONENT_USAGE"}

// otherUsages tie two products without putting one into the other: a deep
// occurrence that is looked at or painted on its own, a part that is promised,
// a blank, a substitute (ISO 10303-44).
var otherUsages = []string{
	"SPECIFIED_HIGHER_USAGE_OCCURRENCE", "PROMISSORY_USAGE_OCCURRENCE", "MAKE_FROM_USAGE_OPTION",
	"ASSEMBLY_COMPONENT_USAGE_SUBSTITUTE", "MULTI_LEVEL_REFERENCE_DESIGNATOR",
}

// usages lists what builds the tree in the order of the file, and behind that
// what a placement is tied to and has a product at both ends, whatever the
// schema calls it.
func (r *reader) usages() []p21.Record {
	out := make([]p21.Record, 0, r.f.Count(usageEntities...))
	for rec := range r.f.Of(usageEntities...) {
		if !rec.Is(otherUsages...) {
			out = append(out, rec)
		}
	}
	for rec := range r.f.Of("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION") {
		use, err := r.open(r.tied[rec.ID()])
		if err != nil || use.Is(usageEntities...) || use.Is(otherUsages...) {
			continue
		}
		p := leafOr(use, "PRODUCT_DEFINITION_RELATIONSHIP")
		if _, ok := r.definition(p.OptRef(3)); ok && p.OptRef(4) != 0 {
			out = append(out, use)
		}
	}
	for rec := range r.f.Of("MAKE_FROM_USAGE_OPTION") { // a material, or the blank of a part
		p := leafOr(rec, "PRODUCT_DEFINITION_RELATIONSHIP")
		part, stuff := r.productOf(p.OptRef(3)), r.productOf(p.OptRef(4))
		if part != nil && stuff != nil && part != stuff {
			stuff.raw = true
		}
	}
	for rec := range r.f.Of("PROMISSORY_USAGE_OCCURRENCE") {
		r.note(rec.ID(), "", "use that is only promised: it has no place in the structure and is not in the tree")
	}
	return out
}

// addProduct lists a product definition; it must be new.
func (r *reader) addProduct(rec p21.Record) int {
	p := leafOr(rec, "PRODUCT_DEFINITION")
	pr := &product{pd: rec.ID(), stage: r.lifeCycleStage(p.OptRef(3))}
	pr.of, pr.rawName, pr.rawID = r.productName(p.OptRef(2))
	pr.name = partName(clean(pr.rawName), clean(pr.rawID))
	r.byPD[pr.pd] = len(r.prods)
	r.prods = append(r.prods, pr)
	return len(r.prods) - 1
}

// lifeCycleStage is what a definition is for: "design", "analysis" and the
// like, in small letters. PRODUCT_DEFINITION_CONTEXT(name, application, stage)
// and its subtype DESIGN_CONTEXT of AP203 edition 1.
func (r *reader) lifeCycleStage(id p21.ID) string {
	rec, err := r.open(id)
	if err != nil {
		return ""
	}
	p, ok := rec.Leaf("PRODUCT_DEFINITION_CONTEXT")
	if !ok {
		p = rec.Params() // a subtype in simple form
	}
	return strings.ToLower(clean(p.String(p.Len() - 1)))
}

// isDefinition tells product definitions of kinds that are not listed by what
// they lead to: (id, description, formation, ...).
func (r *reader) isDefinition(rec p21.Record) bool {
	p := leafOr(rec, "PRODUCT_DEFINITION")
	formation, err := r.open(p.OptRef(2))
	return err == nil && strings.Contains(formation.Name(), "PRODUCT_DEFINITION_FORMATION")
}

// productAt is the product of a definition of any kind.
func (r *reader) productAt(id p21.ID) (int, bool) {
	if i, ok := r.byPD[id]; ok {
		return i, true
	}
	if rec, err := r.open(id); err == nil && r.isDefinition(rec) {
		return r.addProduct(rec), true
	}
	return 0, false
}

// definition is the product that an end of a usage means. Some files name the
// shape of a product there, and AP242 from edition 2 on allows an occurrence of
// a definition (from memory): the product is that of what these lead to.
func (r *reader) definition(id p21.ID) (int, bool) {
	for range maxChain {
		if i, ok := r.productAt(id); ok {
			return i, true
		}
		rec, err := r.open(id)
		if err != nil || !rec.Is("PRODUCT_DEFINITION_SHAPE", "PRODUCT_DEFINITION_OCCURRENCE") {
			return 0, false
		}
		p := leafOr(rec, "PROPERTY_DEFINITION")
		if rec.Is("PRODUCT_DEFINITION_OCCURRENCE") {
			p = leafOr(rec, "PRODUCT_DEFINITION_OCCURRENCE")
		}
		id = firstRef(&p)
	}
	return 0, false
}

// firstRef is the first parameter that refers to a record, 0 without one.
func firstRef(p *p21.Params) p21.ID {
	for i := range p.Len() {
		if id, ok := p.Value(i).Ref(); ok {
			return id
		}
	}
	return 0
}

// nowhere is a product that stands for what a usage names and the file does not
// have: its node is kept, without a shape.
func (r *reader) nowhere(usage, id p21.ID) int {
	pr := &product{pd: usage, lost: true}
	what := "nothing"
	if rec, err := r.open(id); err == nil {
		what = rec.Name()
		if p, ok := rec.Leaf("PRODUCT_DEFINITION_REFERENCE"); ok { // of a product in another file
			pr.rawID = p.String(1)
			pr.name = partName(clean(pr.rawID))
		}
	}
	r.note(usage, "", fmt.Sprintf("occurrence of %s where a product is wanted: kept without a shape", what))
	r.prods = append(r.prods, pr)
	return len(r.prods) - 1
}

// quantity is how many instances a usage stands for: the figure of its measure
// where that counts pieces. Wire by the metre and glue by the gram are one.
func (r *reader) quantity(rec p21.Record) int {
	q, ok := rec.Leaf("QUANTIFIED_ASSEMBLY_COMPONENT_USAGE")
	if !ok || q.Len() == 0 {
		return 1
	}
	m, err := r.open(q.OptRef(q.Len() - 1))
	if err != nil {
		return 1
	}
	p := leafOr(m, "MEASURE_WITH_UNIT")
	v := p.Value(0)
	x, ok := v.Number()
	if kind, _, typed := v.Typed(); !ok || typed && !slices.Contains(countMeasures, kind) {
		r.note(rec.ID(), "", "quantity that counts no pieces: taken for one instance")
		return 1
	}
	if !(x >= 1) || x != math.Trunc(x) {
		r.note(rec.ID(), "", fmt.Sprintf("quantity %g is no number of pieces: taken for one instance", x))
		return 1
	}
	return int(min(x, 1e9)) // the limit on occurrences refuses far less
}

// countMeasures are the kinds of measure that may count pieces.
var countMeasures = []string{"COUNT_MEASURE", "NUMERIC_MEASURE", "PARAMETER_VALUE", "RATIO_MEASURE", "POSITIVE_RATIO_MEASURE"}

// addUses gives a product a use as often as its quantity says: placed once, and
// the other instances without a placement.
func (r *reader) addUses(above int, u use, quantity int) {
	pr := r.prods[above]
	if r.prods[u.child].used = true; quantity < 2 {
		pr.uses = append(pr.uses, u)
		return
	}
	r.note(u.nauo, "", fmt.Sprintf("quantity of %d: as many instances, without a placement of their own", quantity))
	if u.placed {
		pr.uses = append(pr.uses, u)
		quantity--
	}
	u.place, u.placed, u.times = geom.Identity(), false, int32(quantity)
	pr.uses = append(pr.uses, u)
}

// secondViews are the root products that say again what another one says: the
// analysis view of a product that has a design (AP209), and a definition of the
// same product with the same shape. The reason goes with each.
func (r *reader) secondViews() map[int]string {
	design := map[p21.ID]bool{}
	for _, pr := range r.prods {
		design[pr.of] = design[pr.of] || pr.stage != "" && !pr.analysis()
	}
	type shown struct{ of, rep p21.ID }
	first, out := map[shown]bool{}, map[int]string{}
	for _, pr := range r.prods {
		if pr.used && len(pr.reps) > 0 {
			first[shown{pr.of, pr.reps[0]}] = true
		}
	}
	for i, pr := range r.prods {
		if pr.used || pr.of == 0 {
			continue
		}
		if pr.analysis() && design[pr.of] {
			out[i] = fmt.Sprintf("analysis view of product \"%s\": its design is read", pr.name)
			continue
		}
		if len(pr.uses) > 0 || len(pr.reps) == 0 {
			continue
		}
		k := shown{pr.of, pr.reps[0]}
		if first[k] {
			out[i] = fmt.Sprintf("product \"%s\" is defined again with the same shape: taken once", pr.name)
		}
		first[k] = true
	}
	return out
}

func (p *product) analysis() bool { return strings.Contains(p.stage, "analysis") }
