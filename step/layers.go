package step

import (
	"slices"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// maxLayers is on how many layers one item may lie: a hostile file names it
// again and again.
const maxLayers = 1_000

// readLayers reads PRESENTATION_LAYER_ASSIGNMENT(name, description, items).
// Layers without a name, which some writers put every face on, tell nothing.
func (r *reader) readLayers() {
	r.layers, r.onLayers = map[p21.ID][]string{}, map[p21.ID][]string{}
	for rec := range r.f.Of("PRESENTATION_LAYER_ASSIGNMENT") {
		p := rec.Params()
		name := clean(p.String(0))
		if nameless(name) {
			name = clean(p.String(1))
		}
		if nameless(name) {
			continue
		}
		for _, id := range p.Refs(2, nil) {
			if item := r.styled(id); item != 0 && len(r.layers[item]) < maxLayers {
				r.layers[item] = append(r.layers[item], name)
			}
		}
	}
}

// styled is what an item of a layer or of an invisibility stands for: what a
// styled item styles, an occurrence where only that one is restyled, else the
// item itself; 0 for nothing.
func (r *reader) styled(id p21.ID) p21.ID {
	rec, err := r.open(id)
	switch {
	case err != nil:
		return 0
	case rec.Is("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM"):
		return r.styledUse(rec)
	case rec.Is("STYLED_ITEM", "OVER_RIDING_STYLED_ITEM"):
		k := 2 // behind the name, which a leaf does not have
		if rec.IsComplex() {
			k = 1
		}
		p := leafOr(rec, "STYLED_ITEM")
		return p.OptRef(k)
	}
	return id
}

// styledUse is the occurrence whose look a style changes, 0 where its context
// names several steps or none.
func (r *reader) styledUse(rec p21.Record) p21.ID {
	p := rec.Params()
	contexts := p.Refs(4, nil)
	if len(contexts) != 1 {
		return 0
	}
	return r.tied[contexts[0]]
}

// layersOf are the layers that any of the items lies on, sorted, each once; nil
// for none.
func (r *reader) layersOf(items ...p21.ID) []string {
	var out []string
	for _, id := range items {
		out = append(out, r.layers[id]...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// useLayers are the layers of an occurrence, worked out once however often its
// assembly is used.
func (r *reader) useLayers(u use) []string {
	if len(r.layers) == 0 {
		return nil
	}
	l, ok := r.onLayers[u.nauo]
	if !ok {
		l = r.layersOf(u.nauo, u.item)
		r.onLayers[u.nauo] = l
	}
	return l
}

// bodyLayers are the layers of a body or its shells; where neither lies on any,
// those of its faces.
func (r *reader) bodyLayers(id p21.ID, bodies []*brep.Body) []string {
	if len(r.layers) == 0 {
		return nil
	}
	items, faces := []p21.ID{id}, []p21.ID{}
	for _, b := range bodies {
		for _, s := range b.Shells {
			items = append(items, p21.ID(s.Tag))
		}
		for i := range b.Faces {
			faces = append(faces, p21.ID(b.Faces[i].Tag))
		}
	}
	if l := r.layersOf(items...); len(l) > 0 {
		return l
	}
	return r.layersOf(faces...)
}

// merged is two sorted lists as one, each name once.
func merged(a, b []string) []string {
	if len(a) == 0 {
		return b
	}
	out := slices.Concat(a, b)
	slices.Sort(out)
	return slices.Compact(out)
}
