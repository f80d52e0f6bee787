package step

import (
	"slices"

	"stepscan/geom"
	"stepscan/step/p21"
)

// facets takes a tessellated item of a representation: a solid or a shell is a
// body, all faces and sets that stand for themselves are one together. What an
// annotation is drawn with is no body. It is false for what holds no faces.
func (c *shapeCollector) facets(rp *rep, rec p21.Record, place geom.Transform, moved bool, color string) bool {
	id := rec.ID()
	body := rec.Is(facetBodies...)
	if c.r.cargo.seen[id] || !body && !c.r.holdsFaces(rec, 0) {
		return false
	}
	c.reached[id] = true
	if !moved && c.seen[id] {
		return true
	}
	c.seen[id] = true
	if c.hides(rec) || len(c.shapes) > c.r.opt.MaxOccurrences {
		return true
	}
	if c.loose >= 0 && !body {
		s := &c.shapes[c.loose]
		s.facets = append(s.facets, id)
		return true
	}
	s := c.r.newShape(rec, rp.u, place, color)
	s.facets = []p21.ID{id}
	if body {
		s.link = c.r.exactOf(rec)
	} else {
		c.loose = len(c.shapes)
	}
	c.shapes = append(c.shapes, s)
	return true
}

// holdsFaces reports an item that is made of triangles and not only of curves
// and points.
func (r *reader) holdsFaces(rec p21.Record, depth int) bool {
	if rec.Is(facetFaces...) {
		return true
	}
	if !rec.Is(facetGroups...) || depth > maxChain || r.budget.hopeless() {
		return false
	}
	p := groupParams(rec)
	for _, id := range p.Refs(groupAt(rec), nil) {
		if sub, err := r.open(id); err == nil && r.holdsFaces(sub, depth+1) {
			return true
		}
	}
	return false
}

// exactOf is the exact body that a TESSELLATED_SOLID(name, items,
// geometric_link) or TESSELLATED_SHELL(name, items, topological_link) is a copy
// of, 0 for none.
func (r *reader) exactOf(rec p21.Record) p21.ID {
	p := groupParams(rec)
	id := p.OptRef(groupAt(rec) + 1)
	link, ok := r.f.Lookup(id)
	switch {
	case !ok:
		return 0
	case link.Is(bodyEntities...):
		return id
	case link.Is(shellEntities...):
		return r.bodyOfShell(id)
	}
	return 0
}

// bodyOfShell is the body that has a shell, 0 for none.
func (r *reader) bodyOfShell(id p21.ID) p21.ID {
	if r.shellOf == nil {
		r.shellOf = map[p21.ID]p21.ID{}
		for rec := range r.f.Of(bodyEntities...) {
			b := newBodyReader(r, shape{id: rec.ID()})
			b.body.Solid = solidEntity(rec)
			for _, sh := range b.shells(rec) {
				r.shellOf[sh] = rec.ID()
				if turned, err := r.open(sh, shellEntities...); err == nil && turned.Is("ORIENTED_CLOSED_SHELL", "ORIENTED_OPEN_SHELL") {
					p := turned.Params()
					r.shellOf[p.OptRef(2)] = rec.ID()
				}
			}
		}
	}
	return r.shellOf[id]
}

// preferExact leaves out the tessellated copies of exact bodies, which stand in
// only where the exact body cannot be used. A copy names its body, or stands
// beside exact bodies of the same product: then which is whose copy is clear
// only where there are as many of them.
func (r *reader) preferExact(shapes []shape) []shape {
	var exact []shape
	var free []*shape // tessellated, without a link
	for i := range shapes {
		if len(shapes[i].facets) == 0 {
			exact = append(exact, shapes[i])
		}
	}
	if len(exact) == len(shapes) {
		return shapes
	}
	at := map[p21.ID]int{} // in exact
	for i, s := range exact {
		at[s.id] = i
	}
	for i := range shapes {
		s := &shapes[i]
		if len(s.facets) == 0 {
			continue
		}
		k, here := at[s.link]
		switch {
		case s.link == 0:
			free = append(free, s)
			continue
		case here && exact[k].copy == nil:
			exact[k].copy = s
		case !here && !r.reached[s.link]:
			at[s.link] = len(exact)
			r.reached[s.link] = true
			exact = append(exact, r.linkedShape(s))
		}
		r.cargo.add(tessellatedCopies, s.id)
	}
	if len(exact) > 0 {
		r.pairCopies(exact, free)
		return exact
	}
	for _, s := range free {
		exact = append(exact, *s)
	}
	return exact
}

// linkedShape is the exact body of a copy, where nothing but the copy leads to
// it.
func (r *reader) linkedShape(c *shape) shape {
	s := *c
	s.id, s.facets, s.link, s.copy = c.link, nil, 0, c
	return s
}

// pairCopies gives exact bodies the copies that name none.
func (r *reader) pairCopies(exact []shape, free []*shape) {
	var bare []*shape
	for i := range exact {
		if exact[i].copy == nil {
			bare = append(bare, &exact[i])
		}
	}
	for i, s := range free {
		if len(bare) == len(free) {
			bare[i].copy = s
			r.cargo.add(tessellatedCopies, s.id)
			continue
		}
		for _, id := range s.facets {
			r.cargo.add(tessellated, id)
		}
	}
}

// orphanFacets are the tessellated bodies that hang under no product; faces that
// stand for themselves count only where there is nothing else at all.
func (r *reader) orphanFacets(alone bool) []shape {
	var out []shape
	loose := map[p21.ID]int{} // by representation
	for rec := range r.f.Of(slices.Concat(facetFaces, facetGroups)...) {
		body := rec.Is(facetBodies...)
		id := rec.ID()
		if r.reached[id] || r.cargo.seen[id] || !body && (!alone || !r.holdsFaces(rec, 0)) {
			continue
		}
		home := r.homeOf(id)
		if home == nil || home.aside {
			continue // a piece of something else
		}
		r.reached[id] = true
		if (r.veil.items[id] || r.veil.items[home.id]) && r.veiled(id, r.bodyName(rec)) {
			continue
		}
		if k, ok := loose[home.id]; ok && !body {
			out[k].facets = append(out[k].facets, id)
			continue
		}
		s := r.newShape(rec, home.u, geom.Identity(), "")
		s.facets = []p21.ID{id}
		if body {
			s.link = r.exactOf(rec)
		} else {
			loose[home.id] = len(out)
		}
		out = append(out, s)
	}
	return out
}

// orphanShells are the shells that representations without a product list. They
// count only where there is nothing else at all: most shells bound a body.
func (r *reader) orphanShells(alone bool) []shape {
	if !alone {
		return nil
	}
	var out []shape
	for rec := range r.f.Of(shellEntities...) {
		home := r.homeOf(rec.ID())
		if home == nil || home.aside {
			continue
		}
		if (r.veil.items[rec.ID()] || r.veil.items[home.id]) && r.veiled(rec.ID(), r.bodyName(rec)) {
			continue
		}
		s := r.newShape(rec, home.u, geom.Identity(), "")
		s.bare = true
		out = append(out, s)
	}
	return out
}

// bareShells drops the shells that a representation lists beside the body they
// bound.
func (r *reader) bareShells(shapes []shape) []shape {
	bare := false
	for _, s := range shapes {
		bare = bare || s.bare
	}
	if !bare {
		return shapes
	}
	var out []shape
	for _, s := range shapes {
		if !s.bare || r.bodyOfShell(s.id) == 0 {
			out = append(out, s)
		}
	}
	return out
}
