package step

import (
	"fmt"
	"path/filepath"
	"strings"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// maxDepth bounds the levels of an assembly: real ones have a dozen.
const maxDepth = 100

// maxPath bounds a path's length in bytes; the start of longer ones gives way
// to an ellipsis.
const maxPath = 2000

// tree turns products into parts and placed occurrences.
type tree struct {
	r     *reader
	roots []int
	title string // of an artificial root

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
	n := r.count(order, t.roots)
	if n > r.opt.MaxOccurrences {
		return nil, &LimitError{What: fmt.Sprintf("the assembly multiplies into more than %d occurrences", r.opt.MaxOccurrences)}
	}
	r.asm.Occurrences = make([]Occurrence, 0, n+1) // and an artificial root
	return t, nil
}

// findRoots takes the products that nobody uses. One without shape and parts
// is somebody's document or material, unless there is nothing else.
func (t *tree) findRoots() {
	var bare []int
	for i, pr := range t.r.prods {
		switch {
		case pr.used, pr.raw:
		case len(pr.shapes) > 0 || len(pr.uses) > 0 || pr.hidden > 0:
			t.roots = append(t.roots, i)
		default:
			bare = append(bare, i)
		}
	}
	if len(t.roots) == 0 {
		t.roots = bare
		return
	}
	for _, i := range bare {
		t.r.note(t.r.prods[i].pd, "", fmt.Sprintf("product %q has neither a shape nor parts: left out", t.r.prods[i].name))
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
				r.note(u.nauo, "", fmt.Sprintf("product %q would contain itself: this use is left out", r.prods[u.child].name))
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
			n[i] = min(n[i]+n[u.child], limit)
		}
	}
	sum := 0
	for _, i := range roots {
		sum = min(sum+n[i], limit)
	}
	return sum
}

// place writes the occurrences, depth first.
func (t *tree) place() error {
	root := OccIndex(-1)
	if len(t.roots) != 1 {
		p := t.addPart(Part{Name: t.title})
		root = t.r.asm.addOccurrence(Occurrence{Parent: -1, Part: p, Name: t.title, Local: geom.Identity()})
	}
	for _, i := range t.roots {
		pr := t.r.prods[i]
		if t.r.asm.Source.LengthUnit == "" {
			t.r.asm.Source.LengthUnit = t.r.unitOf(pr)
		}
		t.product(root, use{nauo: pr.pd, child: i, name: t.nameOf(pr), place: geom.Identity()})
		if err := t.r.spent(); err != nil {
			return err
		}
	}
	return nil
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

func (t *tree) addPart(p Part) PartIndex {
	t.r.asm.Parts = append(t.r.asm.Parts, p)
	return PartIndex(len(t.r.asm.Parts) - 1)
}

// addOccurrence appends an occurrence and works out what follows from its
// parent, which must be there.
func (a *Assembly) addOccurrence(o Occurrence) OccIndex {
	o.Placement, o.Path, o.Depth = o.Local, pathStep(o.Name), 0
	if o.Parent >= 0 {
		up := &a.Occurrences[o.Parent]
		o.Placement, o.Depth = up.Placement.Mul(o.Local), up.Depth+1
		o.Path = up.Path + "/" + o.Path
		if n := len(o.Path); n > maxPath {
			o.Path = "…" + strings.ToValidUTF8(o.Path[n-maxPath:], "")
		}
	}
	a.Occurrences = append(a.Occurrences, o)
	return OccIndex(len(a.Occurrences) - 1)
}

// nameOf is a product's name; where the file has none, that of its only body,
// else the file's for the root, else its number.
func (t *tree) nameOf(pr *product) string {
	switch {
	case pr.name != "":
		return pr.name
	case pr.single() && pr.shapes[0].name != "":
		return pr.shapes[0].name
	case len(t.roots) == 1 && t.r.prods[t.roots[0]] == pr && t.title != "":
		return t.title
	}
	return fmt.Sprintf("part-%d", pr.pd)
}

// product places a product and all below it.
func (t *tree) product(parent OccIndex, u use) {
	pr := t.r.prods[u.child]
	name := u.name
	if name == "" {
		name = t.nameOf(pr)
	}
	at := t.r.asm.addOccurrence(Occurrence{
		Parent: parent, Part: t.productPart(u.child), Name: name, RefDes: u.refDes,
		Local: u.place, Color: t.r.style.occurrence[u.nauo], Tag: brep.Tag(u.nauo),
		Layers: t.r.useLayers(u), Attributes: t.r.useAttributes(u),
	})
	if depth := t.r.asm.Occurrences[at].Depth; depth >= maxDepth && len(pr.uses)+len(pr.shapes) > 0 {
		t.r.note(u.nauo, "", fmt.Sprintf("assembly deeper than %d levels: what is below is left out", maxDepth))
		return
	}
	if !pr.single() {
		for i, s := range pr.shapes {
			t.solid(at, pr, s, i+1)
		}
	}
	for _, below := range pr.uses {
		if !below.hidden || t.r.opt.Hidden {
			t.product(at, below)
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
	p := t.addPart(Part{
		Name: t.nameOf(pr), RawID: pr.rawID, Tag: brep.Tag(pr.pd), Material: pr.material,
		Color: t.r.style.ofProduct(pr), External: pr.external, Declared: pr.declared, Hidden: pr.hidden,
		Layers: t.r.layersOf(pr.reps...), Transparency: t.r.clearOf(pr), Attributes: t.r.attributes[pr.pd],
	})
	t.partOf[i] = p
	switch {
	case pr.single():
		t.jobs = append(t.jobs, bodyJob{part: p, shape: pr.shapes[0]})
	case pr.external != "": // told when that file is looked for
	case len(pr.shapes)+len(pr.uses)+pr.hidden == 0:
		t.r.note(pr.pd, "", fmt.Sprintf("product %q has no geometry in this file", t.nameOf(pr)))
	}
	return p
}

// solid places one of several bodies of a product as a part of its own.
func (t *tree) solid(parent OccIndex, pr *product, s shape, n int) {
	key := s.key()
	name := s.name
	if name == "" {
		name = t.nameOf(pr)
		if len(pr.shapes) > 1 {
			name = fmt.Sprintf("%s %d", name, n)
		}
	}
	p, ok := t.bodyOf[key]
	if !ok {
		p = t.addPart(Part{Name: name, RawID: pr.rawID, Tag: brep.Tag(s.id), Material: pr.material})
		t.bodyOf[key] = p
		t.jobs = append(t.jobs, bodyJob{part: p, shape: s})
	}
	t.r.asm.addOccurrence(Occurrence{Parent: parent, Part: p, Name: name, Local: s.place, Color: s.color, Tag: brep.Tag(s.id)})
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
