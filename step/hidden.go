package step

import (
	"fmt"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// Hidden is a body or an occurrence that the file does not want shown. It is
// there all the same: hiding is a matter of presentation (ISO 10303-46,
// invisibility), and writers hide tools and operands as well as real parts.
type Hidden struct {
	Tag  brep.Tag // of the body or the occurrence
	Name string
	Left bool // left out of the assembly; see Options.Hidden
}

// veil is what the file hides.
type veil struct {
	items map[p21.ID]bool         // bodies, mapped items, representations, occurrences
	told  map[p21.ID]bool         // listed in the assembly
	ways  []deepHidden            // single deep occurrences
	deep  map[p21.ID][]deepHidden // those that are left out, by each usage on the way
}

// readHidden reads INVISIBILITY(items): styled items, which stand for what they
// style, layers, which stand for what lies on them, and representations. What is
// hidden in one view only (context_invisibility) is not hidden.
func (r *reader) readHidden() {
	r.veil = veil{items: map[p21.ID]bool{}, told: map[p21.ID]bool{}}
	for rec := range r.f.Of("INVISIBILITY") {
		if rec.Is("CONTEXT_INVISIBILITY") {
			continue
		}
		p := leafOr(rec, "INVISIBILITY")
		for _, id := range p.Refs(0, nil) {
			layer, err := r.params(id, "PRESENTATION_LAYER_ASSIGNMENT")
			if err != nil {
				r.hideDeep(id)
				r.veil.items[r.styled(id)] = true
				continue
			}
			for _, item := range layer.Refs(2, nil) {
				r.veil.items[r.styled(item)] = true
			}
		}
	}
	delete(r.veil.items, 0) // what stands for nothing
	for _, pr := range r.prods {
		for i := range pr.uses {
			pr.uses[i].hidden = r.veil.items[pr.uses[i].nauo]
		}
	}
}

// veiled lists something that is hidden, once, and reports whether it is to be
// left out.
func (r *reader) veiled(id p21.ID, name string) bool {
	left := !r.opt.Hidden
	if !r.veil.told[id] {
		r.veil.told[id] = true
		r.asm.Hidden = append(r.asm.Hidden, Hidden{Tag: brep.Tag(id), Name: name, Left: left})
	}
	return left
}

// tellHidden lists the hidden occurrences behind the bodies and says what is
// left out.
func (r *reader) tellHidden() {
	for _, pr := range r.prods {
		for _, u := range pr.uses {
			if u.hidden && r.veiled(u.nauo, firstName(u.name, r.prods[u.child].name, clean(u.raw()))) {
				pr.hidden++
			}
		}
	}
	r.tellDeepHidden()
	if h := r.asm.Hidden; len(h) > 0 && h[0].Left {
		r.note(p21.ID(h[0].Tag), "", fmt.Sprintf("bodies or occurrences that the file hides (%d): left out", len(h)))
	}
}

// alikeMM is how far apart two origins may be that are one: a micrometre.
const alikeMM = 1e-3

// placedAlike reports placements that differ by no more than a micrometre.
func placedAlike(a, b geom.Transform) bool {
	return a.T.Sub(b.T).Len() <= alikeMM && a.M.ApproxEqualThreshold(b.M, 1e-6)
}
