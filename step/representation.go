package step

import (
	"slices"
	"strings"

	"stepscan/geom"
	"stepscan/step/p21"
)

// rep is a representation: items in one context.
type rep struct {
	id     p21.ID
	name   string
	items  []p21.ID
	u      units
	owner  int      // product, -1 for none
	plain  []p21.ID // representations of the same thing in other words
	placed []relation
	shape  bool // a kind of SHAPE_REPRESENTATION
	aside  bool // construction geometry, draughting: never a body
}

// relation ties two representations with a placement.
type relation struct {
	id         p21.ID
	rep1, rep2 p21.ID
	operator   p21.ID // item-defined transformation, 0 for none
}

// relationEntities tie representations; with a transformation they are complex
// instances in most files.
var relationEntities = []string{
	"SHAPE_REPRESENTATION_RELATIONSHIP", "REPRESENTATION_RELATIONSHIP",
	"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION", "SHAPE_REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION",
}

// readRepresentations finds the representations, whose shape each is, and how
// they hang together.
func (r *reader) readRepresentations() {
	for rec := range r.f.Of("SHAPE_DEFINITION_REPRESENTATION", "PROPERTY_DEFINITION_REPRESENTATION") {
		r.shapeOf(rec)
	}
	const tie = "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION"
	tied := make([]p21.ID, 0, r.f.Count(tie)) // relations that place an occurrence: a set of them takes four times as much
	for rec := range r.f.Of(tie) {
		p := rec.Params()
		tied = append(tied, p.OptRef(0))
	}
	slices.Sort(tied)
	for rec := range r.f.Of(relationEntities...) {
		if _, placing := slices.BinarySearch(tied, rec.ID()); !placing {
			r.link(rec)
		}
	}
	for _, pr := range r.prods {
		r.spread(pr)
	}
}

// shapeOf reads SHAPE_DEFINITION_REPRESENTATION(definition, representation) of
// a product's shape. The definition may be an aspect of the shape as well,
// which says nothing about bodies.
func (r *reader) shapeOf(rec p21.Record) {
	p := leafOr(rec, "PROPERTY_DEFINITION_REPRESENTATION")
	def, err := r.open(p.OptRef(0))
	if err != nil || !def.Is("PRODUCT_DEFINITION_SHAPE") {
		return
	}
	d := leafOr(def, "PROPERTY_DEFINITION")
	i, ok := r.productAt(d.OptRef(2))
	if !ok {
		return
	}
	rp := r.rep(p.OptRef(1))
	if rp == nil {
		r.note(rec.ID(), "", "shape of a product that is no representation: left out")
		return
	}
	if !rec.Is("SHAPE_DEFINITION_REPRESENTATION") && !rp.shape {
		return // a property that is told of the shape
	}
	pr := r.prods[i]
	if slices.Contains(pr.reps, rp.id) {
		return
	}
	if rp.owner < 0 { // two products may share one shape; the first counts as its owner
		rp.owner = i
	}
	pr.reps = append(pr.reps, rp.id)
}

// rep reads a representation once; nil where the record is none.
func (r *reader) rep(id p21.ID) *rep {
	if rp, ok := r.reps[id]; ok {
		return rp
	}
	var rp *rep
	if rec, err := r.open(id); err == nil {
		rp = r.readRep(rec)
	}
	r.reps[id] = rp
	return rp
}

// supplemental is the name of representations that only hold construction
// geometry (CAx-IF recommended practice for supplemental geometry).
const supplemental = "supplemental geometry"

// readRep reads REPRESENTATION(name, items, context) and its subtypes.
func (r *reader) readRep(rec p21.Record) *rep {
	p := leafOr(rec, "REPRESENTATION")
	if p.Len() < 3 || p.Value(1).Kind() != p21.List {
		return nil
	}
	rp := &rep{id: rec.ID(), name: p.String(0), owner: -1}
	rp.items = p.Refs(1, nil)
	ctx := p.OptRef(2)
	if p.Err() != nil {
		r.note(rec.ID(), "", p.Err().Error())
	}
	rp.u = r.contextUnits(ctx)
	rp.shape = strings.Contains(rec.Name(), "SHAPE_REPRESENTATION")
	rp.aside = rec.Is("CONSTRUCTIVE_GEOMETRY_REPRESENTATION", "DRAUGHTING_MODEL") || strings.HasPrefix(rec.Name(), "MECHANICAL_DESIGN") ||
		strings.EqualFold(strings.TrimSpace(rp.name), supplemental)
	return rp
}

// link reads a relation between two representations that places no
// occurrence: the same shape in two representations, or a placed piece of it.
func (r *reader) link(rec p21.Record) {
	rel := r.readRelation(rec)
	a, b := r.rep(rel.rep1), r.rep(rel.rep2)
	if a == nil || b == nil || a == b || rec.Is("CONSTRUCTIVE_GEOMETRY_REPRESENTATION_RELATIONSHIP") {
		return
	}
	if rel.operator != 0 {
		a.placed, b.placed = append(a.placed, rel), append(b.placed, rel)
		return
	}
	a.plain, b.plain = append(a.plain, b.id), append(b.plain, a.id)
}

func (r *reader) readRelation(rec p21.Record) relation {
	p := leafOr(rec, "REPRESENTATION_RELATIONSHIP")
	rel := relation{id: rec.ID(), rep1: p.OptRef(2), rep2: p.OptRef(3)}
	if !rec.IsComplex() {
		rel.operator = p.OptRef(4) // behind the relation's own, in the simple form
	} else if t, ok := rec.Leaf("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION"); ok {
		rel.operator = t.OptRef(0)
	}
	return rel
}

// spread gives the representations that hang on a product's own by plain
// relations to the product, unless they are another product's.
func (r *reader) spread(pr *product) {
	seen := map[p21.ID]bool{}
	for _, id := range pr.reps {
		seen[id] = true
	}
	for k := 0; k < len(pr.reps); k++ { // grows as it goes; each representation joins once
		from := r.reps[pr.reps[k]]
		for _, id := range from.plain {
			to := r.reps[id]
			if seen[id] || to.aside || to.owner >= 0 && to.owner != from.owner {
				continue
			}
			seen[id] = true
			to.owner = from.owner
			pr.reps = append(pr.reps, id)
		}
	}
}

// homeOf finds a representation that lists an item; nil for none. It reads all
// representations, so it is for the rare file without product structure.
func (r *reader) homeOf(item p21.ID) *rep {
	if r.homes == nil {
		r.homes = map[p21.ID]*rep{}
		for rec := range r.f.All() {
			if !strings.Contains(rec.Name(), "REPRESENTATION") || rec.Is("PROPERTY_DEFINITION_REPRESENTATION") {
				continue
			}
			if rp := r.rep(rec.ID()); rp != nil {
				for _, it := range rp.items {
					if r.homes[it] == nil || r.homes[it].aside {
						r.homes[it] = rp
					}
				}
			}
		}
	}
	return r.homes[item]
}

// shapeCollector gathers the bodies of one product.
type shapeCollector struct {
	r       *reader
	owner   int
	seen    map[p21.ID]bool // representations and items on the way
	reached map[p21.ID]bool // bodies, of all products
	shapes  []shape
	loose   int // into shapes: tessellated faces without a body in the representation at hand; -1 for none yet
	mapped  []mapping
	veils   int // hidden things on the way
	left    int // bodies left out since they are hidden
}

// rep collects the items of a representation that stands at place.
func (c *shapeCollector) rep(id p21.ID, place geom.Transform, moved bool, color string, depth int) {
	rp := c.r.rep(id)
	if rp == nil || rp.aside || c.seen[id] || depth > maxChain {
		if depth > maxChain {
			c.r.note(id, "", errDeep.Error())
		}
		return
	}
	c.seen[id] = true // on the way down only: a mapped representation may come again elsewhere
	defer func() { c.seen[id] = !moved }()
	if c.r.veil.items[id] {
		c.veils++
		defer func() { c.veils-- }()
	}
	around := c.loose
	c.loose = -1
	for _, it := range rp.items {
		c.item(rp, it, place, moved, color, depth)
	}
	c.loose = around
	for _, other := range rp.plain { // a product's own hang under it already
		if o := c.r.rep(other); o.owner < 0 && !c.seen[other] {
			c.rep(other, place, moved, color, depth+1)
		}
	}
	for _, rel := range rp.placed {
		c.related(rp, rel, place, moved, color, depth)
	}
}

// related follows a relation with a transformation: to a piece of the same
// product, or from an assembly to another product's shape, which is a use of it
// like a mapped item.
func (c *shapeCollector) related(rp *rep, rel relation, place geom.Transform, moved bool, color string, depth int) {
	other := rel.rep1
	if other == rp.id {
		other = rel.rep2
	}
	switch o := c.r.rep(other); {
	case o == nil:
	case o.owner < 0 && o.shape && !c.seen[other]: // and no model of finite elements
		c.rep(other, place.Mul(c.r.relationBetween(rel, other, rp.id)), true, color, depth+1)
	case o.owner >= 0 && o.owner != c.owner && rel.rep2 == rp.id && !c.r.placing[rel.id]:
		t := place.Mul(c.r.relationBetween(rel, other, rp.id))
		c.mapped = append(c.mapped, mapping{item: rel.id, child: o.owner, place: t, hidden: c.veils > 0})
	}
}

func (c *shapeCollector) item(rp *rep, id p21.ID, place geom.Transform, moved bool, color string, depth int) {
	rec, err := c.r.open(id)
	switch {
	case err != nil:
		c.r.note(rp.id, "", "item left out: "+err.Error())
	case rec.Is("MAPPED_ITEM"):
		c.mappedItem(rp, rec, place, color, depth)
	case rec.Is(bodyEntities...), rec.Is(shellEntities...):
		c.reached[id] = true
		if !moved && c.seen[id] {
			return // the same body in two representations of one product
		}
		c.seen[id] = true
		if c.hides(rec) {
			return
		}
		if len(c.shapes) > c.r.opt.MaxOccurrences {
			return // plan refuses the file
		}
		s := c.r.newShape(rec, rp.u, place, color)
		s.bare = !rec.Is(bodyEntities...)
		c.shapes = append(c.shapes, s)
	case c.facets(rp, rec, place, moved, color):
	default:
		c.r.cargo.add(carrierOf(rec), id)
	}
}

// hides reports a body that is to be left out.
func (c *shapeCollector) hides(rec p21.Record) bool {
	if c.veils == 0 && !c.r.veil.items[rec.ID()] {
		return false
	}
	if !c.r.veiled(rec.ID(), firstName(c.r.bodyName(rec), c.r.prods[c.owner].name)) {
		return false
	}
	c.left++
	return true
}

// solidItem tells bodies that this reader cannot make from what is only
// presentation: constructive and swept solids.
func solidItem(name string) bool {
	switch name {
	case "BLOCK", "SPHERE", "TORUS", "RIGHT_CIRCULAR_CYLINDER", "RIGHT_CIRCULAR_CONE", "RIGHT_ANGULAR_WEDGE", "BOOLEAN_RESULT":
		return true
	}
	return strings.Contains(name, "SOLID") || strings.Contains(name, "SURFACE_MODEL")
}

// mappedItem reads MAPPED_ITEM(name, map, target): another product's shape
// stands for a use of it, a nameless one is a piece of this product.
func (c *shapeCollector) mappedItem(rp *rep, rec p21.Record, place geom.Transform, color string, depth int) {
	p := leafOr(rec, "MAPPED_ITEM")
	k := p.Len() - 2 // behind the name, which a leaf does not have
	m, err := c.r.params(p.OptRef(k), "REPRESENTATION_MAP")
	if err != nil {
		c.r.note(rec.ID(), "", "mapped item left out: "+err.Error())
		return
	}
	origin, source := m.OptRef(0), c.r.rep(m.OptRef(1))
	if source == nil {
		c.r.note(rec.ID(), "", "mapped item left out: it maps no representation")
		return
	}
	t := c.r.between(origin, source.u, p.OptRef(k+1), rp.u)
	if source.owner >= 0 && source.owner != c.owner {
		hidden := c.veils > 0 || c.r.veil.items[rec.ID()]
		c.mapped = append(c.mapped, mapping{item: rec.ID(), child: source.owner, place: place.Mul(t), hidden: hidden})
		return
	}
	if c.r.veil.items[rec.ID()] {
		c.veils++
		defer func() { c.veils-- }()
	}
	if own := c.r.style.colorOf[rec.ID()]; own != "" {
		color = own
	}
	c.rep(source.id, place.Mul(t), true, color, depth+1)
}
