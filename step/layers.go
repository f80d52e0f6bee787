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
	if steps := r.styledSteps(rec); len(steps) == 1 {
		return steps[0]
	}
	return 0
}

// styledSteps are the usages that the context of a style names, from the
// assembly down: one for every use of an assembly, several for one deep
// occurrence (CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM(..., style_context)).
func (r *reader) styledSteps(rec p21.Record) []p21.ID {
	p, ok := rec.Leaf("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM")
	if !ok {
		return nil
	}
	k := 4
	if rec.IsComplex() {
		k = 0
	}
	return r.usageSteps(p.Refs(k, nil))
}

// usageSteps are the usages that a style's contexts lead to: by what places an
// occurrence, or by SPECIFIED_HIGHER_USAGE_OCCURRENCE(..., upper_usage,
// next_usage), which names a way through the assembly.
func (r *reader) usageSteps(contexts []p21.ID) []p21.ID {
	var out []p21.ID
	for k := 0; k < len(contexts) && k < maxDepth; k++ {
		id := contexts[k]
		if u := r.tied[id]; u != 0 {
			id = u
		}
		rec, err := r.open(id)
		switch {
		case err != nil:
		case rec.Is("SPECIFIED_HIGHER_USAGE_OCCURRENCE"):
			p, _ := rec.Leaf("SPECIFIED_HIGHER_USAGE_OCCURRENCE")
			n := p.Len() - 2
			contexts = append(contexts[:len(contexts):len(contexts)], p.OptRef(n), p.OptRef(n+1))
		case rec.Is(usageEntities...) && !slices.Contains(out, id):
			out = append(out, id)
		}
	}
	return out
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
