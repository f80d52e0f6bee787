package step

import (
	"fmt"

	"stepscan/geom"
	"stepscan/step/p21"
)

// product is one product definition with what its shape is made of.
type product struct {
	pd       p21.ID
	of       p21.ID // PRODUCT, 0 where there is none
	stage    string // of its life: "design", "analysis"
	name     string // clean; "" where the file gives none
	rawName  string
	rawID    string
	made     Made
	declared Declared
	external string           // file that holds the shape
	reps     []p21.ID         // of its shape, the one it was given first
	uses     []use            // parts below it
	shapes   []shape          // solids and surface models of its own
	used     bool             // by another product
	raw      bool             // only a material or a blank that parts are made from
	lost     bool             // stands for what a use names and the file does not have
	spots    []geom.Transform // where a body of no product stands; nil for the origin
	hidden   int              // bodies and uses left out since the file hides them
}

// use is one NEXT_ASSEMBLY_USAGE_OCCURRENCE.
type use struct {
	nauo   p21.ID
	item   p21.ID // the mapped item that places it, 0 for none
	name   string // clean; "" where neither the file nor the product gives one
	also   *also  // nil where there is nothing else to say
	place  geom.Transform
	child  int   // into reader.prods
	times  int32 // instances of a quantity; 0 is one
	placed bool
	hidden bool
}

// also is what only some uses say. Files have tens of thousands of uses, and
// they are what memory goes to while only the structure is read.
type also struct {
	raw    string // the name as decoded, where it is not the clean one
	refDes string
}

// raw is the name as decoded.
func (u *use) raw() string {
	if u.also == nil || u.also.raw == "" {
		return u.name
	}
	return u.also.raw
}

// refDes is the reference designator, "" without.
func (u *use) refDes() string {
	if u.also == nil {
		return ""
	}
	return u.also.refDes
}

// say gives the use its name and designator.
func (u *use) say(name, raw, refDes string) {
	u.name, u.also = name, nil
	if raw = rawUnless(name, raw); raw != "" || refDes != "" {
		u.also = &also{raw, refDes}
	}
}

// shape is a solid or surface model as an item of a representation.
type shape struct {
	id    p21.ID
	name  string
	u     units
	place geom.Transform // in the product
	color string         // of its mapped item
	// bare: a shell that stands for itself
	bare bool
	// facets are the tessellated items that it is made of; none for an exact one
	facets []p21.ID
	link   p21.ID // the exact body that a tessellated one is a copy of, 0 for none
	copy   *shape // tessellated, for where the body cannot be used
}

// readProducts lists the product definitions, in the order of the file.
func (r *reader) readProducts() {
	for rec := range r.f.Of("PRODUCT_DEFINITION", "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS") {
		r.addProduct(rec)
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

// productName follows a definition's formation to its PRODUCT(id, name, ...),
// both as decoded.
func (r *reader) productName(formation p21.ID) (of p21.ID, name, id string) {
	rec, err := r.open(formation)
	if err != nil {
		return 0, "", ""
	}
	p := leafOr(rec, "PRODUCT_DEFINITION_FORMATION")
	prod, err := r.open(p.OptRef(2), "PRODUCT")
	if err != nil {
		return 0, "", ""
	}
	words := leafOr(prod, "PRODUCT")
	return prod.ID(), words.String(1), words.String(0)
}

// readUses reads the product structure: who is used in whom, and where.
func (r *reader) readUses() {
	places := r.readPlacements()
	usages := r.usages()
	r.makeRoom(usages)
	for _, rec := range usages {
		p, des := rec.Params(), ""
		if rec.IsComplex() {
			p, _ = rec.Leaf("PRODUCT_DEFINITION_RELATIONSHIP")
			c, _ := rec.Leaf("ASSEMBLY_COMPONENT_USAGE")
			des = c.String(0)
		} else {
			des = p.String(5)
		}
		text := useText{id: p.String(0), name: p.String(1), description: p.String(2), refDes: des}
		above, ok := r.definition(p.OptRef(3))
		if !ok {
			r.note(rec.ID(), "", "occurrence in what is no product: left out")
			continue
		}
		below, ok := r.definition(p.OptRef(4))
		if !ok {
			below = r.nowhere(rec.ID(), p.OptRef(4))
		}
		if above == below {
			r.note(rec.ID(), "", fmt.Sprintf("product \"%s\" would contain itself: this use is left out", r.prods[below].name))
			continue
		}
		u := use{nauo: rec.ID(), child: below, place: geom.Identity()}
		u.say(text.pick(r.prods[below].name), text.raw(), firstName(clean(des)))
		if rel, err := r.open(places[rec.ID()]); err == nil {
			u.place, u.placed = r.relationPlace(r.readRelation(rel), below, above), true
		} else if rel, ok := r.looseRelation(below, above); ok {
			u.place, u.placed = r.relationPlace(rel, below, above), true
		}
		r.addUses(above, u, r.quantity(rec))
	}
}

// makeRoom gives each product room for its uses: lists that grow would take twice
// as much, and a large assembly is hardly anything else.
func (r *reader) makeRoom(usages []p21.Record) {
	uses := make([]int, len(r.prods))
	for _, rec := range usages {
		p := leafOr(rec, "PRODUCT_DEFINITION_RELATIONSHIP")
		if i, ok := r.byPD[p.OptRef(3)]; ok {
			uses[i]++
		}
	}
	for i, n := range uses {
		r.prods[i].uses = make([]use, 0, n)
	}
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
	r.reached = map[p21.ID]bool{}
	for i, pr := range r.prods {
		c := &shapeCollector{r: r, owner: i, seen: map[p21.ID]bool{}, reached: r.reached, loose: -1}
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
				r.note(u.nauo, "", fmt.Sprintf("occurrence \"%s\" without a placement: put at its assembly's origin", u.name))
			}
		}
	}
	for _, pr := range r.prods { // once it is known what other products have
		pr.shapes = r.preferExact(r.bareShells(pr.shapes))
	}
	r.adoptOrphans()
}

// adoptOrphans makes a product of its own for the bodies that hang under none.
func (r *reader) adoptOrphans() {
	var pr product
	alone := len(r.reached) == 0
	for rec := range r.f.Of(bodyEntities...) {
		if r.reached[rec.ID()] {
			continue
		}
		r.reached[rec.ID()] = true
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
		pr.shapes = append(pr.shapes, r.newShape(rec, u, geom.Identity(), ""))
	}
	pr.shapes = append(pr.shapes, r.orphanShells(alone && len(pr.shapes) == 0)...)
	pr.shapes = r.preferExact(append(pr.shapes, r.orphanFacets(alone && len(pr.shapes) == 0)...))
	if len(pr.shapes) == 0 {
		return
	}
	r.note(pr.shapes[0].id, "", fmt.Sprintf("%d bodies belong to no product: they are put under the root", len(pr.shapes)))
	at := r.newSpots()
	for _, s := range pr.shapes {
		one := pr
		one.shapes = []shape{s}
		one.name, one.pd = s.name, s.id
		one.spots = at.of(r.homeOf(s.id))
		r.prods = append(r.prods, &one)
	}
}

// newShape is a body as an item of a representation in units u.
func (r *reader) newShape(rec p21.Record, u units, place geom.Transform, color string) shape {
	return shape{id: rec.ID(), name: r.bodyName(rec), u: u, place: place, color: color}
}

// bodyName is the name of a solid, "" where it only says that it is one.
func (r *reader) bodyName(rec p21.Record) string {
	if n := clean(rawBodyName(rec)); !bodyless(n) {
		return n
	}
	return ""
}

// rawBodyName is the name of a solid as decoded.
func rawBodyName(rec p21.Record) string {
	p := rec.Params()
	if rec.IsComplex() {
		p, _ = rec.Leaf("REPRESENTATION_ITEM")
	}
	return p.String(0)
}
