package step

import (
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// readTransparency reads how much of the light styled items let through:
// SURFACE_STYLE_TRANSPARENT(t), 0 for opaque and 1 for invisible, among the
// properties of a SURFACE_STYLE_RENDERING_WITH_PROPERTIES. Few files have any,
// and only those are walked through.
func (r *reader) readTransparency() {
	r.clear = map[p21.ID]float64{}
	memo := map[p21.ID]float64{}
	for rec := range r.f.Of("SURFACE_STYLE_TRANSPARENT") {
		p := leafOr(rec, "SURFACE_STYLE_TRANSPARENT")
		if t := p.Real(0); p.Err() == nil && t > 0 {
			memo[rec.ID()] = min(t, 1)
		}
	}
	if len(memo) == 0 {
		return
	}
	for rec := range r.f.Of("STYLED_ITEM", "OVER_RIDING_STYLED_ITEM") {
		if rec.Is("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM") {
			continue
		}
		p, k := leafOr(rec, "STYLED_ITEM"), 1
		if rec.IsComplex() {
			k = 0
		}
		if item := p.OptRef(k + 1); item != 0 {
			r.clear[item] = max(r.clear[item], r.clearness(p.Value(k), memo, 0))
		}
	}
}

// clearSteps are the entities on the way from a styled item to its surface's
// transparency, with the parameter that leads on.
var clearSteps = map[string]int{
	"PRESENTATION_STYLE_ASSIGNMENT":           0,
	"PRESENTATION_STYLE_BY_CONTEXT":           0,
	"SURFACE_STYLE_USAGE":                     1,
	"SURFACE_SIDE_STYLE":                      1,
	"SURFACE_STYLE_RENDERING_WITH_PROPERTIES": 2,
}

// clearness is the greatest transparency that a style or a list of styles leads
// to, 0 for none.
func (r *reader) clearness(v p21.Value, memo map[p21.ID]float64, depth int) float64 {
	if it, ok := v.Items(); ok {
		most := 0.0
		for it.Next() {
			if id, ok := it.Value().Ref(); ok {
				most = max(most, r.styleClearness(id, memo, depth))
			}
		}
		return most
	}
	if id, ok := v.Ref(); ok {
		return r.styleClearness(id, memo, depth)
	}
	return 0
}

func (r *reader) styleClearness(id p21.ID, memo map[p21.ID]float64, depth int) float64 {
	if t, ok := memo[id]; ok {
		return t
	}
	rec, err := r.open(id)
	if err != nil || depth > maxChain {
		return 0
	}
	memo[id] = 0 // a circle ends here
	if k, ok := clearSteps[rec.Name()]; ok {
		p := rec.Params()
		memo[id] = r.clearness(p.Value(k), memo, depth+1)
	}
	return memo[id]
}

// bodyClearness is the transparency of a body: its own, a shell's, or the least
// of its faces'.
func (r *reader) bodyClearness(id p21.ID, bodies []*brep.Body) float64 {
	if t := r.clear[id]; t > 0 || len(r.clear) == 0 {
		return t
	}
	least, faces := 1.0, 0
	for _, b := range bodies {
		if len(b.Shells) > 0 && r.clear[p21.ID(b.Shells[0].Tag)] > 0 {
			return r.clear[p21.ID(b.Shells[0].Tag)]
		}
		for i := range b.Faces {
			least = min(least, r.clear[p21.ID(b.Faces[i].Tag)])
			faces++
		}
	}
	if faces == 0 {
		return 0
	}
	return least
}

// clearOf is the transparency that a product's representations have.
func (r *reader) clearOf(pr *product) float64 {
	for _, id := range pr.reps {
		if t := r.clear[id]; t > 0 {
			return t
		}
	}
	return 0
}
