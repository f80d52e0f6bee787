package step

import (
	"fmt"

	"stepscan/geom"
	"stepscan/step/p21"
)

// product is one product definition with what its shape is made of.
type product struct {
	pd       p21.ID
	name     string // clean; "" where the file gives none
	rawID    string
	material string
	declared Declared
	external string   // file that holds the shape
	reps     []p21.ID // of its shape, the one it was given first
	uses     []use    // parts below it
	shapes   []shape  // solids and surface models of its own
	used     bool     // by another product
	raw      bool     // only a material that parts are made from
	hidden   int      // bodies and uses left out since the file hides them
}

// use is one NEXT_ASSEMBLY_USAGE_OCCURRENCE.
type use struct {
	nauo   p21.ID
	child  int // into reader.prods
	name   string
	refDes string
	place  geom.Transform
	placed bool
	mapped bool // there is only a mapped item
	hidden bool
	item   p21.ID // the mapped item that places it, 0 for none
}

// shape is a solid or surface model as an item of a representation.
type shape struct {
	id    p21.ID
	name  string
	u     units
	place geom.Transform // in the product
	color string         // of its mapped item
}

// readProducts lists the product definitions, in the order of the file.
func (r *reader) readProducts() {
	for rec := range r.f.Of("PRODUCT_DEFINITION", "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS") {
		p := leafOr(rec, "PRODUCT_DEFINITION")
		pr := &product{pd: rec.ID()}
		pr.name, pr.rawID = r.productName(p.OptRef(2))
		r.byPD[pr.pd] = len(r.prods)
		r.prods = append(r.prods, pr)
	}
}

// leafOr reads a simple record, or one leaf of a complex one.
func leafOr(rec p21.Record, leaf string) p21.Params {
	if !rec.IsComplex() {
		return rec.Params()
	}
	p, _ := rec.Leaf(leaf)
	return p
}

// productName follows a definition's formation to its PRODUCT(id, name, ...).
func (r *reader) productName(formation p21.ID) (name, rawID string) {
	rec, err := r.open(formation)
	if err != nil {
		return "", ""
	}
	p := leafOr(rec, "PRODUCT_DEFINITION_FORMATION")
	prod, err := r.params(p.OptRef(2), "PRODUCT")
	if err != nil {
		return "", ""
	}
	rawID = prod.String(0)
	return firstName(clean(prod.String(1)), clean(rawID)), rawID
}

// readUses reads the product structure: who is used in whom, and where.
func (r *reader) readUses() {
	places := r.readPlacements()
	taken := map[p21.ID]bool{}
	for rec := range r.f.Of("NEXT_ASSEMBLY_USAGE_OCCURRENCE") {
		p, des := rec.Params(), ""
		if rec.IsComplex() {
			p, _ = rec.Leaf("PRODUCT_DEFINITION_RELATIONSHIP")
			c, _ := rec.Leaf("ASSEMBLY_COMPONENT_USAGE")
			des = c.String(0)
		} else {
			des = p.String(5)
		}
		id, name, refDes := clean(p.String(0)), clean(p.String(1)), clean(des)
		above, okA := r.byPD[p.OptRef(3)]
		below, okB := r.byPD[p.OptRef(4)]
		if !okA || !okB || above == below {
			r.note(rec.ID(), "", "occurrence without two products: left out")
			continue
		}
		u := use{nauo: rec.ID(), child: below, refDes: firstName(refDes), place: geom.Identity()}
		u.name = r.useName(name, u.refDes, id, r.prods[below].name)
		if rel, ok := places[rec.ID()]; ok {
			u.place, u.placed = r.relationPlace(rel, below, above), true
		} else if rel, ok := r.looseRelation(below, above, taken); ok {
			u.place, u.placed = r.relationPlace(rel, below, above), true
		}
		r.prods[above].uses = append(r.prods[above].uses, u)
		r.prods[below].used = true
	}
}

// useName picks the name of an occurrence: the file's where it says something,
// else the product's. Many writers only count their occurrences.
func (r *reader) useName(name, refDes, id, product string) string {
	if !nameless(name) && !counter(name) {
		return name
	}
	if refDes != "" && !counter(refDes) {
		return refDes
	}
	if product != "" {
		return product
	}
	return firstName(name, refDes, id)
}

// bodyEntities are the items that become bodies.
var bodyEntities = []string{
	"MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP",
	"SHELL_BASED_SURFACE_MODEL", "FACE_BASED_SURFACE_MODEL",
}

// bareItems only place things: leaving them out loses nothing.
var bareItems = map[string]bool{
	"AXIS2_PLACEMENT_3D": true, "AXIS1_PLACEMENT": true, "AXIS2_PLACEMENT_2D": true,
	"CARTESIAN_POINT": true, "DIRECTION": true, "PLACEMENT": true,
}

// collectShapes gives every product the bodies of its representations, then
// looks for bodies that no product has.
func (r *reader) collectShapes() {
	reached := map[p21.ID]bool{}
	for i, pr := range r.prods {
		c := &shapeCollector{r: r, owner: i, seen: map[p21.ID]bool{}, reached: reached}
		if len(pr.reps) > 0 && r.veil.items[pr.reps[0]] {
			c.veils++ // the others say the same shape in other words
		}
		for _, id := range pr.reps {
			c.rep(id, geom.Identity(), false, "", 0)
		}
		pr.shapes, pr.hidden = c.shapes, c.left
		r.placeByMapping(pr, c.mapped)
	}
	for _, pr := range r.prods {
		for _, u := range pr.uses {
			if !u.placed {
				r.note(u.nauo, "", fmt.Sprintf("occurrence %q without a placement: put at its assembly's origin", u.name))
			}
		}
	}
	r.adoptOrphans(reached)
}

// adoptOrphans makes a product of its own for the bodies that hang under none.
func (r *reader) adoptOrphans(reached map[p21.ID]bool) {
	var pr product
	for rec := range r.f.Of(bodyEntities...) {
		if reached[rec.ID()] {
			continue
		}
		home := r.homeOf(rec.ID())
		if home == nil && rec.Is("SHELL_BASED_SURFACE_MODEL", "FACE_BASED_SURFACE_MODEL") || home != nil && home.aside {
			continue // part of something else: a draughting model, an operand
		}
		if r.veil.items[rec.ID()] || home != nil && r.veil.items[home.id] {
			if r.veiled(rec.ID(), r.bodyName(rec)) {
				continue
			}
		}
		u := unitless
		if home != nil {
			u = home.u
		} else {
			r.note(rec.ID(), "", "body in no representation: lengths are taken for mm")
		}
		pr.shapes = append(pr.shapes, shape{id: rec.ID(), name: r.bodyName(rec), u: u, place: geom.Identity()})
	}
	if len(pr.shapes) == 0 {
		return
	}
	r.note(pr.shapes[0].id, "", fmt.Sprintf("%d bodies belong to no product: they are put under the root", len(pr.shapes)))
	for _, s := range pr.shapes {
		one := pr
		one.shapes = []shape{s}
		one.name, one.pd = s.name, s.id
		r.prods = append(r.prods, &one)
	}
}

// bodyName is the name of a solid, "" where it only says that it is one.
func (r *reader) bodyName(rec p21.Record) string {
	p := rec.Params()
	if rec.IsComplex() {
		p, _ = rec.Leaf("REPRESENTATION_ITEM")
	}
	if n := clean(p.String(0)); !bodyless(n) {
		return n
	}
	return ""
}
