package step

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// maxDepth bounds the levels of an assembly: real ones have a dozen.
const maxDepth = 100

// maxPath bounds a path's length in bytes; the start of longer ones gives way
// to an ellipsis.
const maxPath = 1000

// tree turns products into parts and placed occurrences.
type tree struct {
	r     *reader
	roots []int
	title string     // of an artificial root
	top   *PartIndex // its part, once there

	partOf map[int]PartIndex      // by product
	bodyOf map[shapeKey]PartIndex // of solids that stand for themselves
	jobs   []bodyJob
}

// shapeKey tells solids apart; one solid in contexts of different units is two.
type shapeKey struct {
	id p21.ID
	mm float64
}

func (s shape) key() shapeKey { return shapeKey{s.id, s.u.mm} }

// bodyJob is a body to decode into a part.
type bodyJob struct {
	part  PartIndex
	shape shape
}

// plan cuts circles out of the product structure, finds its roots, and refuses
// what multiplies beyond the limit.
func (r *reader) plan(file string) (*tree, error) {
	t := &tree{r: r, title: clean(strings.TrimSuffix(file, filepath.Ext(file))), partOf: map[int]PartIndex{}, bodyOf: map[shapeKey]PartIndex{}}
	order := r.breakCycles()
	for _, u := range r.prods {
		u.used = false
	}
	for _, pr := range r.prods {
		for _, u := range pr.uses {
			r.prods[u.child].used = true
		}
	}
	t.findRoots()
	for _, i := range t.roots {
		r.tellOuter(r.prods[i])
	}
	t.lendNames(order)
	n := r.count(order, t.roots)
	if n > r.opt.MaxOccurrences {
		return nil, r.opt.tooMany()
	}
	if !r.opt.Walk {
		r.asm.Occurrences = make([]Occurrence, 0, n+1) // and an artificial root
	}
	return t, nil
}

// findRoots takes the products that nobody uses. One without shape and parts
// is somebody's document or material, unless there is nothing else; of such
// ones those with a representation of any kind come first.
func (t *tree) findRoots() {
	var drawn, bare, blanks []int
	again := t.r.secondViews()
	for i, pr := range t.r.prods {
		switch why := again[i]; {
		case why != "":
			t.r.aside(pr.pd, why)
		case pr.used:
		case pr.raw:
			blanks = append(blanks, i)
		case len(pr.shapes) > 0 || len(pr.uses) > 0 || pr.hidden > 0:
			t.roots = append(t.roots, i)
		case len(pr.reps) > 0:
			drawn = append(drawn, i)
		default:
			bare = append(bare, i)
		}
	}
	t.leaveBlanks(blanks)
	switch {
	case len(t.roots) > 0:
		bare = append(drawn, bare...)
	case len(drawn) > 0:
		t.roots = drawn
	default:
		t.roots, bare = bare, nil
	}
	for _, i := range bare {
		t.r.note(t.r.prods[i].pd, "", fmt.Sprintf("product \"%s\" has neither a shape nor parts: left out", t.r.prods[i].name))
	}
}

// leaveBlanks leaves out what parts are made from, unless there is no other
// shape.
func (t *tree) leaveBlanks(blanks []int) {
	only := len(t.roots) == 0
	for _, i := range blanks {
		switch pr := t.r.prods[i]; {
		case len(pr.shapes)+len(pr.uses) == 0:
		case only:
			t.roots = append(t.roots, i)
		default:
			t.r.aside(pr.pd, fmt.Sprintf("product \"%s\" is what another one is made from: left out", pr.name))
		}
	}
}

// breakCycles removes the uses that close a circle and returns the products
// with parts before those that use them. It keeps its own stack, since a file
// may chain as many products as it has lines.
func (r *reader) breakCycles() []int {
	const open, done = 1, 2
	state := make([]uint8, len(r.prods))
	var order, stack []int
	next := make([]int, len(r.prods))
	visit := func(root int) {
		if state[root] != 0 {
			return
		}
		state[root] = open
		stack = append(stack[:0], root)
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			pr := r.prods[i]
			if next[i] >= len(pr.uses) {
				state[i] = done
				order = append(order, i)
				stack = stack[:len(stack)-1]
				continue
			}
			u := pr.uses[next[i]]
			switch state[u.child] {
			case open:
				r.note(u.nauo, "", fmt.Sprintf("product \"%s\" would contain itself: this use is left out", r.prods[u.child].name))
				pr.uses = append(pr.uses[:next[i]:next[i]], pr.uses[next[i]+1:]...)
				continue
			case 0:
				state[u.child] = open
				stack = append(stack, u.child)
			}
			next[i]++
		}
	}
	for i, pr := range r.prods {
		if !pr.used {
			visit(i)
		}
	}
	for i := range r.prods {
		visit(i)
	}
	return order
}

// count is how many occurrences the roots come to, held at the limit.
func (r *reader) count(order, roots []int) int {
	limit := r.opt.MaxOccurrences + 1
	n := make([]int, len(r.prods))
	for _, i := range order {
		pr := r.prods[i]
		n[i] = 1 + len(pr.shapes)
		for _, u := range pr.uses {
			n[i] = min(n[i]+int(max(u.times, 1))*n[u.child], limit)
		}
	}
	sum := 0
	for _, i := range roots {
		sum = min(sum+n[i]*max(len(r.prods[i].spots), 1), limit)
	}
	return sum
}

// place walks once over the occurrences, which adds the parts, and lists them
// unless they are wanted one by one.
func (t *tree) place() error {
	a := t.r.asm
	for _, i := range t.roots {
		if a.Source.LengthUnit == "" {
			a.Source.LengthUnit = t.r.unitOf(t.r.prods[i])
		}
	}
	a.Source.UnitAssumed = t.r.unitAssumed()
	for o := range t.walk {
		if !t.r.opt.Walk {
			a.Occurrences = append(a.Occurrences, *o)
		}
		if a.walked++; a.walked%1024 == 0 && t.r.spent() != nil {
			break
		}
	}
	if t.r.opt.Walk {
		a.walk = t.walk
	}
	return t.r.spent()
}

// unitOf is the length unit of a product, or of the first below it that has one.
func (r *reader) unitOf(pr *product) string {
	for range maxDepth {
		if len(pr.reps) > 0 {
			return r.reps[pr.reps[0]].u.name
		}
		if len(pr.shapes) > 0 {
			return pr.shapes[0].u.name
		}
		if len(pr.uses) == 0 {
			break
		}
		pr = r.prods[pr.uses[0].child]
	}
	return ""
}

// unitAssumed reports a shape whose context states no length unit.
func (r *reader) unitAssumed() bool {
	for _, pr := range r.prods {
		for _, s := range pr.shapes {
			if s.u.assumed {
				return true
			}
		}
	}
	return false
}

func (t *tree) addPart(p Part) PartIndex {
	t.r.asm.Parts = append(t.r.asm.Parts, p)
	return PartIndex(len(t.r.asm.Parts) - 1)
}

// severalRoots says that an artificial root is wanted.
func (t *tree) severalRoots() bool {
	return len(t.roots) != 1 || t.r.prods[t.roots[0]].spots != nil
}

// titlePart is the part of an artificial root.
func (t *tree) titlePart() PartIndex {
	if t.top == nil {
		p := t.addPart(Part{Name: t.title})
		t.top = &p
	}
	return *t.top
}

// addOccurrence appends an occurrence whose parent, if any, is there.
func (a *Assembly) addOccurrence(o Occurrence) OccIndex {
	up := above{index: o.Parent}
	if o.Parent >= 0 {
		up.Occurrence = &a.Occurrences[o.Parent]
	}
	o.under(up)
	a.Occurrences = append(a.Occurrences, o)
	return OccIndex(len(a.Occurrences) - 1)
}

// nameOf is a product's name, its number where the file has none.
func (t *tree) nameOf(pr *product) string {
	if name := t.ownName(pr); name != "" {
		return name
	}
	return fmt.Sprintf("part-%d", pr.pd)
}

// ownName is a product's name; where the file has none, that of its only body,
// else the file's for the root.
func (t *tree) ownName(pr *product) string {
	switch {
	case pr.name != "":
		return pr.name
	case pr.single() && pr.shapes[0].name != "":
		return pr.shapes[0].name
	case len(t.roots) == 1 && t.r.prods[t.roots[0]] == pr:
		return t.title
	}
	return ""
}

// lendNames gives the name of an assembly to the nameless product that is all
// there is in it, if nobody else uses that: some writers wrap each named part
// round a nameless solid. order has parts before those that use them.
func (t *tree) lendNames(order []int) {
	const nobody, several = -1, -2
	user := make([]int, len(t.r.prods))
	for i := range user {
		user[i] = nobody
	}
	for i, pr := range t.r.prods {
		for _, u := range pr.uses {
			if user[u.child] == nobody || user[u.child] == i {
				user[u.child] = i
			} else {
				user[u.child] = several
			}
		}
	}
	for _, i := range slices.Backward(order) {
		pr := t.r.prods[i]
		if len(pr.uses) != 1 || len(pr.shapes) > 0 {
			continue
		}
		c := pr.uses[0].child
		if child := t.r.prods[c]; user[c] == i && !child.lost && t.ownName(child) == "" {
			child.name = t.ownName(pr)
		}
	}
}

// single reports a product that is one body and nothing else: its part is the
// body's.
func (p *product) single() bool {
	return len(p.shapes) == 1 && len(p.uses) == 0 && p.shapes[0].place == geom.Identity()
}

func (t *tree) productPart(i int) PartIndex {
	if p, ok := t.partOf[i]; ok {
		return p
	}
	pr := t.r.prods[i]
	name := t.nameOf(pr)
	declared := pr.declared
	if pr.single() {
		declared = declared.orElse(t.r.bodyDeclared[pr.shapes[0].id])
	}
	p := t.addPart(Part{
		Name: name, RawName: rawUnless(name, pr.rawName), RawID: pr.rawID, Tag: brep.Tag(pr.pd), Made: pr.made,
		Color: t.r.style.ofProduct(pr), External: pr.external, Declared: declared, Hidden: pr.hidden,
		Layers: t.r.layersOf(pr.reps...), Transparency: t.r.clearOf(pr), Attributes: t.r.attributes[pr.pd],
	})
	t.partOf[i] = p
	switch {
	case pr.single():
		t.jobs = append(t.jobs, bodyJob{part: p, shape: pr.shapes[0]})
	case pr.external != "", pr.lost: // told when the file or the product is looked for
	case len(pr.shapes)+len(pr.uses)+pr.hidden == 0:
		t.r.note(pr.pd, "", fmt.Sprintf("product \"%s\" has no geometry in this file", t.nameOf(pr)))
	}
	return p
}

// look is what the styles and layers say of a body.
type look struct {
	color  string
	clear  float64
	layers []string
}

// finish does what needs the bodies: looks and layers that only faces have.
// Each body is looked at once, however many products share it.
func (t *tree) finish() {
	a, r := t.r.asm, t.r
	looks := map[p21.ID]look{}
	for _, j := range t.jobs {
		p, id := &a.Parts[j.part], j.shape.id
		l, ok := looks[id]
		if !ok {
			l = look{r.style.ofBody(id, p.Bodies), r.bodyClearness(id, p.Bodies), r.bodyLayers(id, p.Bodies)}
			looks[id] = l
		}
		if l.color != "" {
			p.Color = l.color
		}
		if l.clear > 0 {
			p.Transparency = l.clear
		}
		p.Layers = merged(p.Layers, l.layers)
	}
}
