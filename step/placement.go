package step

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/step/p21"
)

// readPlacements finds the relation that places each occurrence, by the usage:
// CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(relation, shape of the occurrence).
func (r *reader) readPlacements() map[p21.ID]p21.ID {
	n := r.f.Count("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION")
	out := make(map[p21.ID]p21.ID, n)
	r.tied = make(map[p21.ID]p21.ID, 2*n)
	for rec := range r.f.Of("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION") {
		p := rec.Params()
		relID, pdsID := p.OptRef(0), p.OptRef(1)
		rel, err1 := r.open(relID, relationEntities...)
		pds, err2 := r.open(pdsID, "PRODUCT_DEFINITION_SHAPE")
		if err1 != nil || err2 != nil {
			r.note(rec.ID(), "", "placement without a relation or an occurrence: left out")
			continue
		}
		d := leafOr(pds, "PROPERTY_DEFINITION")
		nauo := d.OptRef(2)
		if _, err := r.open(nauo, "SPECIFIED_HIGHER_USAGE_OCCURRENCE"); err == nil {
			r.tied[rec.ID()], r.tied[relID] = nauo, nauo
			if r.readRelation(rel).operator != 0 {
				r.note(nauo, "", "placement of one deep occurrence: not used, it stands where its assembly puts it")
			}
			continue
		}
		if _, twice := out[nauo]; twice {
			r.note(rec.ID(), "", fmt.Sprintf("second placement of occurrence %v: the first is kept", nauo))
			continue
		}
		out[nauo] = relID
		r.tied[rec.ID()], r.tied[relID] = nauo, nauo
	}
	return out
}

// maxShared is among how many representations of a product the one is looked for
// that places it: those it was given, which stand first, are one or two.
const maxShared = 64

// relationPlace is where a relation puts the product below in the one above.
// Usually rep_1 is the part's and rep_2 the assembly's; whose they are decides.
func (r *reader) relationPlace(rel relation, below, above int) geom.Transform {
	child, parent := rel.rep1, rel.rep2
	own := func(i int, rep p21.ID) int {
		if reps := r.prods[i].reps; slices.Contains(reps[:min(len(reps), maxShared)], rep) {
			return 1
		}
		return 0
	}
	// Two products may share a representation: both answers can hold.
	if own(above, child)+own(below, parent) > own(below, child)+own(above, parent) {
		child, parent = parent, child
	}
	return r.relationBetween(rel, child, parent)
}

// looseRelation finds a placed relation between two products' representations
// that no occurrence is tied to, for an occurrence without any. Each serves once.
func (r *reader) looseRelation(below, above int) (relation, bool) {
	for _, id := range r.prods[below].reps {
		for _, rel := range r.reps[id].placed {
			other := rel.rep1
			if other == id {
				other = rel.rep2
			}
			if o := r.rep(other); o != nil && o.owner == above && !r.placing[rel.id] {
				r.placing[rel.id] = true
				return rel, true
			}
		}
	}
	return relation{}, false
}

// relationBetween is the placement of one of a relation's representations in
// the other, identity for a relation without a transformation.
func (r *reader) relationBetween(rel relation, child, parent p21.ID) geom.Transform {
	if rel.operator == 0 {
		return geom.Identity()
	}
	op, err := r.open(rel.operator)
	if err != nil {
		r.note(rel.id, "", "placement left out: "+err.Error())
		return geom.Identity()
	}
	c, p := r.rep(child), r.rep(parent)
	if c == nil || p == nil {
		c, p = &rep{u: unitless}, &rep{u: unitless}
		r.note(rel.id, "", "placement between what are no representations: lengths are taken for mm")
	}
	if op.Is("CARTESIAN_TRANSFORMATION_OPERATOR_3D") {
		t, err := r.operator(op, p.u)
		if err != nil {
			r.note(op.ID(), "", "placement left out: "+err.Error())
		}
		if child == rel.rep2 {
			t = r.inverse(t, op.ID())
		}
		return t
	}
	return r.itemDefined(op, rel, c, p)
}

// itemDefined reads ITEM_DEFINED_TRANSFORMATION(name, description, item_1,
// item_2): item_1 of rep_1 comes to lie on item_2 of rep_2. Some writers swap
// the items; the representation that lists an item decides then. One origin
// may be listed by both, so position counts first.
func (r *reader) itemDefined(op p21.Record, rel relation, c, p *rep) geom.Transform {
	par := leafOr(op, "ITEM_DEFINED_TRANSFORMATION")
	k := par.Len() - 2
	own, base := par.OptRef(k), par.OptRef(k+1)
	if par.Err() != nil || own == 0 || base == 0 {
		r.note(op.ID(), "", "placement left out: two items are wanted")
		return geom.Identity()
	}
	if c.id == rel.rep2 && c.id != rel.rep1 {
		own, base = base, own
	}
	if !slices.Contains(c.items, own) && !slices.Contains(p.items, base) &&
		slices.Contains(c.items, base) && slices.Contains(p.items, own) {
		r.aside(op.ID(), "the placement's items are swapped: taken from the representations that list them")
		own, base = base, own
	}
	return r.between(own, c.u, base, p.u)
}

// between is the placement that lays item own, of a representation in units
// cu, onto item base of one in units pu.
func (r *reader) between(own p21.ID, cu units, base p21.ID, pu units) geom.Transform {
	a, err := r.itemTransform(own, cu)
	if err != nil {
		r.note(own, "", "placement taken for the origin: "+err.Error())
	}
	b, err := r.itemTransform(base, pu)
	if err != nil {
		r.note(base, "", "placement taken for the origin: "+err.Error())
	}
	return b.Mul(r.inverse(a, own))
}

func (r *reader) inverse(t geom.Transform, id p21.ID) geom.Transform {
	inv, ok := t.Inverse()
	if !ok {
		r.note(id, "", "transformation that flattens everything: left out")
	}
	return inv
}

// itemTransform is the transformation that an item stands for; the identity
// goes with an error.
func (r *reader) itemTransform(id p21.ID, u units) (geom.Transform, error) {
	rec, err := r.open(id)
	if err != nil {
		return geom.Identity(), err
	}
	if rec.Is("CARTESIAN_TRANSFORMATION_OPERATOR_3D", "CARTESIAN_TRANSFORMATION_OPERATOR") {
		return r.operator(rec, u)
	}
	f, err := (&geometry{r: r, u: u}).axis2(id)
	if err != nil {
		return geom.Identity(), err
	}
	r.tellAxes(rec)
	return f.Transform(), nil
}

// tellAxes says where the axes of a placement do not make a frame, so that the
// standard's default or a direction of our choice stands in.
func (r *reader) tellAxes(rec p21.Record) {
	g := &geometry{r: r}
	p := rec.Params()
	given := [2]mgl64.Vec3{{0, 0, 1}, {1, 0, 0}}
	for i := range given {
		id := p.OptRef(2 + i)
		if id == 0 {
			continue
		}
		d, ok := geom.Unit(g.optDirection(id))
		if !ok {
			r.note(rec.ID(), "", "placement with an axis without direction: the default stands in")
			return
		}
		given[i] = d
	}
	if p.OptRef(3) != 0 && given[0].Cross(given[1]).Len() < 1e-9 {
		r.note(rec.ID(), "", "placement with parallel axes: its turn about them is not known")
	}
}

// tellOuter says that a root's representation is placed in another one, which is
// nobody's. Nothing is lost by leaving that out: the root's frame is as good.
func (r *reader) tellOuter(pr *product) {
	for _, id := range pr.reps {
		for _, rel := range r.reps[id].placed {
			if o := r.rep(rel.rep2); rel.rep1 == id && o != nil && o.owner < 0 {
				r.aside(rel.id, "placement of the root as a whole: left out, places are in the root's own frame")
			}
		}
	}
}

// operator reads CARTESIAN_TRANSFORMATION_OPERATOR_3D(name, description,
// axis1, axis2, local_origin, scale, axis3), as a complex instance too. It may
// scale and mirror (ISO 10303-42, base_axis).
func (r *reader) operator(rec p21.Record, u units) (geom.Transform, error) {
	g := &geometry{r: r, u: u}
	p := rec.Params()
	first, third := 0, p21.ID(0)
	if rec.IsComplex() {
		three, _ := rec.Leaf("CARTESIAN_TRANSFORMATION_OPERATOR_3D")
		third = three.OptRef(0)
		p, _ = rec.Leaf("CARTESIAN_TRANSFORMATION_OPERATOR")
	} else {
		for first < p.Len() && p.Value(first).Kind() == p21.Text { // one or two names in front
			first++
		}
		third = p.OptRef(p.Len() - 1)
	}
	o, err := g.point(p.OptRef(first + 2))
	if err != nil {
		return geom.Identity(), err
	}
	scale := 1.0
	if p.Has(first + 3) {
		scale = p.Real(first + 3)
	}
	if err := p.Err(); err != nil {
		return geom.Identity(), err
	}
	if !(scale > 0) || math.IsInf(scale, 0) {
		return geom.Identity(), fmt.Errorf("scale %g: want a positive number", scale)
	}
	m := operatorAxes(g.optDirection(p.OptRef(first)), g.optDirection(p.OptRef(first+1)), g.optDirection(third))
	t := geom.Transform{M: m.Mul(scale), T: o}
	if !t.IsRigid() {
		r.aside(rec.ID(), "placement that mirrors or scales: kept as the file has it")
	}
	return t, nil
}

// operatorAxes is base_axis of ISO 10303-42 for three dimensions: axis3 first,
// axis1 square to it, axis2 on the side that the file's axis2 points to. Unset
// axes come as zero vectors.
func operatorAxes(a1, a2, a3 mgl64.Vec3) mgl64.Mat3 {
	z, ok := geom.Unit(a3)
	if !ok {
		if z, ok = geom.Unit(a1.Cross(a2)); !ok {
			z = mgl64.Vec3{0, 0, 1}
		}
	}
	if a1 == (mgl64.Vec3{}) {
		a1 = mgl64.Vec3{1, 0, 0}
	}
	f, err := geom.NewFrame(mgl64.Vec3{}, z, a1)
	if err != nil {
		return mgl64.Ident3()
	}
	y := f.Y
	if a2.Dot(y) < 0 {
		y = y.Mul(-1)
	}
	return mgl64.Mat3FromCols(f.X, y, f.Z)
}
