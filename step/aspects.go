package step

import "stepscan/step/p21"

// aspects tell which body a SHAPE_ASPECT stands for. Files that state figures of
// single solids tie them to an aspect of the product's shape, and the aspect to
// the solid (CAx-IF recommended practice for geometric validation properties).
type aspects struct {
	r    *reader
	body map[p21.ID]p21.ID // by aspect; 0 where it is several things; nil until asked for
}

// bodyOf is the body that is all of an aspect, 0 for faces and other things.
func (a *aspects) bodyOf(id p21.ID) p21.ID {
	if a.body == nil {
		a.read()
	}
	return a.body[id]
}

// read takes both ways: a property of the aspect with a representation of the
// solid alone, as older files have it, and GEOMETRIC_ITEM_SPECIFIC_USAGE(name,
// description, definition, used_representation, identified_item).
func (a *aspects) read() {
	a.body = map[p21.ID]p21.ID{}
	for rec := range a.r.f.Of("SHAPE_DEFINITION_REPRESENTATION") {
		p := rec.Params()
		def, err := a.r.open(p.OptRef(0), "PROPERTY_DEFINITION")
		if err != nil || def.Is("PRODUCT_DEFINITION_SHAPE") {
			continue
		}
		d := leafOr(def, "PROPERTY_DEFINITION")
		if rp := a.r.rep(p.OptRef(1)); rp != nil && a.isAspect(d.OptRef(2)) {
			for _, it := range rp.items {
				a.add(d.OptRef(2), it)
			}
		}
	}
	for rec := range a.r.f.Of("GEOMETRIC_ITEM_SPECIFIC_USAGE") {
		p := rec.Params()
		if id := p.OptRef(2); a.isAspect(id) {
			a.add(id, p.OptRef(4))
		}
	}
}

func (a *aspects) isAspect(id p21.ID) bool {
	_, err := a.r.open(id, "SHAPE_ASPECT")
	return err == nil
}

// add ties an item to an aspect. Placements beside the solid say nothing.
func (a *aspects) add(aspect, item p21.ID) {
	rec, err := a.r.open(item)
	if err != nil || !rec.Is(bodyEntities...) {
		return
	}
	if old, ok := a.body[aspect]; ok && old != item {
		item = 0
	}
	a.body[aspect] = item
}

// ofBody is where the figures of the body of an aspect go, nil where the aspect
// is no body.
func (r *reader) ofBody(a *aspects, aspect p21.ID) *Declared {
	id := a.bodyOf(aspect)
	if id == 0 {
		return nil
	}
	d := r.bodyDeclared[id]
	if d == nil {
		d = &Declared{}
		r.bodyDeclared[id] = d
	}
	return d
}

// orElse fills what is not stated from what is stated of the only body.
func (d Declared) orElse(of *Declared) Declared {
	if of == nil {
		return d
	}
	if d.Volume == 0 {
		d.Volume = of.Volume
	}
	if d.Area == 0 {
		d.Area = of.Area
	}
	if !d.HasCentre {
		d.Centre, d.HasCentre = of.Centre, of.HasCentre
	}
	return d
}
