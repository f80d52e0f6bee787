package step

import (
	"cmp"
	"fmt"
	"slices"

	"stepscan/step/p21"
)

// maxDeep is how many ways of one kind by one usage are kept.
const maxDeep = 1_000

// way is one deep occurrence: all usages on the way down to it, or those that
// tell it from its likes, in any order.
type way struct{ steps []p21.ID }

// meets reports that the last usage of a path down, which is one of the steps,
// is the deepest: all others are above it.
func (w *way) meets(path []p21.ID, last p21.ID) bool {
	for _, s := range w.steps {
		if s != last && !slices.Contains(path, s) {
			return false
		}
	}
	return true
}

// addWay files a deep occurrence under each of its usages.
func addWay[T any](by map[p21.ID][]T, steps []p21.ID, x T) {
	for _, s := range steps {
		if len(by[s]) < maxDeep {
			by[s] = append(by[s], x)
		}
	}
}

// deepName is what SPECIFIED_HIGHER_USAGE_OCCURRENCE(id, name, description,
// relating, related, reference_designator, upper_usage, next_usage) says of one
// deep occurrence.
type deepName struct {
	way
	text useText
}

// readDeepNames reads the names of deep occurrences. Those that only count, as
// most do, name nothing.
func (r *reader) readDeepNames() {
	r.deepNames = map[p21.ID][]deepName{}
	for rec := range r.f.Of("SPECIFIED_HIGHER_USAGE_OCCURRENCE") {
		p, des := leafOr(rec, "PRODUCT_DEFINITION_RELATIONSHIP"), ""
		if rec.IsComplex() {
			c, _ := rec.Leaf("ASSEMBLY_COMPONENT_USAGE")
			des = c.String(0)
		} else {
			des = p.String(5)
		}
		text := useText{name: p.String(1), description: p.String(2), refDes: des}
		if text.pick("") == "" && clean(des) == "" {
			continue
		}
		if steps := r.usageSteps([]p21.ID{rec.ID()}); len(steps) > 1 {
			addWay(r.deepNames, steps, deepName{way{steps}, text})
		}
	}
}

// rename gives a use the name that it has as a deep occurrence: the one that
// names most of the way, nothing where two such differ.
func (w *walker) rename(u use) use {
	var best *useText
	steps, same := 0, true
	list := w.t.r.deepNames[u.nauo]
	for i := range list {
		d := &list[i]
		if len(d.steps) < steps || !d.meets(w.path, u.nauo) {
			continue
		}
		same = len(d.steps) > steps || same && *best == d.text
		best, steps = &d.text, len(d.steps)
	}
	if best == nil || !same {
		return u
	}
	name, raw, des := u.name, u.raw(), clean(best.refDes)
	if own := best.pick(""); own != "" {
		name, raw = own, best.raw()
	}
	u.say(name, raw, cmp.Or(des, u.refDes()))
	return u
}

// deepHidden is a deep occurrence that the file hides by a style of an item.
type deepHidden struct {
	way
	id, item p21.ID
}

// hideDeep notes a style that hides one deep occurrence, if it is one.
func (r *reader) hideDeep(id p21.ID) {
	rec, err := r.open(id, "CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM")
	if err != nil || len(r.veil.ways) >= maxDeep {
		return
	}
	if steps := r.styledSteps(rec); len(steps) > 1 {
		k := 2
		if rec.IsComplex() {
			k = 1
		}
		p := leafOr(rec, "STYLED_ITEM")
		r.veil.ways = append(r.veil.ways, deepHidden{way{steps}, id, p.OptRef(k)})
	}
}

// tellDeepHidden settles which deep occurrences are left out. It comes behind
// the shapes: only where the hidden item is all that the product has is its
// occurrence meant.
func (r *reader) tellDeepHidden() {
	if len(r.veil.ways) == 0 {
		return
	}
	type place struct {
		above int
		use   *use
	}
	at := map[p21.ID]place{}
	for i, pr := range r.prods {
		for k := range pr.uses {
			at[pr.uses[k].nauo] = place{i, &pr.uses[k]}
		}
	}
	r.veil.deep = map[p21.ID][]deepHidden{}
	for _, h := range r.veil.ways {
		last := slices.IndexFunc(h.steps, func(s p21.ID) bool {
			p, ok := at[s]
			return ok && !slices.ContainsFunc(h.steps, func(o p21.ID) bool {
				q, ok := at[o]
				return ok && q.above == p.use.child
			})
		})
		if last < 0 {
			continue
		}
		p := at[h.steps[last]]
		child := r.prods[p.use.child]
		if r.reps[h.item] == nil && (len(child.shapes) != 1 || child.shapes[0].id != h.item || len(child.uses) > 0) {
			r.note(h.id, "", "part of one deep occurrence that the file hides: it stays")
			continue
		}
		if r.veiled(h.id, firstName(p.use.name, child.name, fmt.Sprintf("%v", h.id))) {
			r.prods[p.above].hidden++
			addWay(r.veil.deep, h.steps, h)
		}
	}
}

// leftOut reports a use below the one at hand that the file hides, in every use
// of its assembly or in this one.
func (w *walker) leftOut(u *use) bool {
	r := w.t.r
	if r.opt.Hidden {
		return false
	}
	return u.hidden || slices.ContainsFunc(r.veil.deep[u.nauo], func(h deepHidden) bool { return h.meets(w.path, u.nauo) })
}
