package step

import (
	"fmt"
	"iter"
	"strings"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// All yields the occurrences in their order, parents before children. With
// Options.Walk there is no list of them: each is made when its turn comes, and
// stands until the next one's.
func (a *Assembly) All() iter.Seq[*Occurrence] {
	if a.walk != nil {
		return a.walk
	}
	return func(yield func(*Occurrence) bool) {
		for i := range a.Occurrences {
			if !yield(&a.Occurrences[i]) {
				return
			}
		}
	}
}

// Count is the number of occurrences that All yields.
func (a *Assembly) Count() int { return max(a.walked, len(a.Occurrences)) }

// store makes the list of occurrences out of the walk.
func (a *Assembly) store() {
	if a.walk == nil {
		return
	}
	list := make([]Occurrence, 0, a.walked)
	for o := range a.walk {
		list = append(list, *o)
	}
	a.Occurrences, a.walk, a.walked = list, nil, 0
}

// above is what an occurrence hands down to those below it.
type above struct {
	*Occurrence // nil above the root
	index       OccIndex
}

// under works out what follows from the occurrence above.
func (o *Occurrence) under(up above) {
	o.Parent, o.Placement, o.Path, o.Depth = up.index, o.Local, pathStep(o.Name), 0
	if up.Occurrence == nil {
		return
	}
	o.Placement, o.Depth = up.Placement.Mul(o.Local), up.Depth+1
	o.Path = up.Path + "/" + o.Path
	if n := len(o.Path); n > maxPath {
		o.Path = "…" + strings.ToValidUTF8(o.Path[n-maxPath:], "")
	}
}

// walker goes through a tree and hands out its occurrences, depth first. The
// first walk adds the parts; all later ones meet the same ones.
type walker struct {
	t     *tree
	yield func(*Occurrence) bool
	next  OccIndex
	level []*Occurrence // the one at hand and those above it, by depth; used again
	done  bool          // no more are wanted
	path  []p21.ID      // usages down to the one at hand
}

// walk yields the occurrences.
func (t *tree) walk(yield func(*Occurrence) bool) {
	w := walker{t: t, yield: yield}
	root := above{index: -1}
	if t.severalRoots() {
		root = w.put(root, Occurrence{Part: t.titlePart(), Name: t.title, Local: geom.Identity()})
	}
	for _, i := range t.roots {
		pr := t.r.prods[i]
		u := use{nauo: pr.pd, child: i, name: t.nameOf(pr), place: geom.Identity()}
		if pr.spots == nil {
			w.product(root, &u)
		}
		for _, u.place = range pr.spots {
			w.product(root, &u)
		}
	}
}

func (w *walker) put(up above, o Occurrence) above {
	o.under(up)
	if o.Depth == len(w.level) {
		w.level = append(w.level, new(Occurrence))
	}
	at := above{w.level[o.Depth], w.next}
	*at.Occurrence = o
	w.next++
	w.done = w.done || !w.yield(at.Occurrence)
	return at
}

// product places a product and all below it.
func (w *walker) product(up above, u *use) {
	if w.done {
		return
	}
	t := w.t
	pr := t.r.prods[u.child]
	if len(t.r.deepNames[u.nauo]) > 0 {
		renamed := w.rename(*u)
		u = &renamed
	}
	name := u.name
	if name == "" {
		name = t.nameOf(pr)
	}
	at := w.put(up, Occurrence{
		Part: t.productPart(u.child), Name: name, RawName: rawUnless(name, u.raw()), RefDes: u.refDes(),
		Local: u.place, Color: w.colorOf(u), Tag: brep.Tag(u.nauo),
		Layers: t.r.useLayers(*u), Attributes: t.r.useAttributes(*u), Centre: t.r.useCentres[u.nauo],
	})
	w.path = append(w.path, u.nauo)
	defer func() { w.path = w.path[:len(w.path)-1] }()
	if at.Depth >= maxDepth && len(pr.uses)+len(pr.shapes) > 0 {
		t.r.note(u.nauo, "", fmt.Sprintf("assembly deeper than %d levels: what is below is left out", maxDepth))
		return
	}
	if !pr.single() {
		for i := range pr.shapes {
			w.solid(at, pr, i)
		}
	}
	for i := range pr.uses {
		below := &pr.uses[i]
		for n := max(below.times, 1); n > 0 && !w.leftOut(below); n-- {
			w.product(at, below)
		}
	}
}

// colorOf is the colour of a use: of this occurrence alone, of every use of its
// assembly, or of the mapped item that places it; "" where only the part has one.
func (w *walker) colorOf(u *use) string {
	s := &w.t.r.style
	for _, d := range s.deep[u.nauo] {
		if d.meets(w.path, u.nauo) {
			return d.color
		}
	}
	if c := s.occurrence[u.nauo]; c != "" || u.item == 0 {
		return c
	}
	return s.colorOf[u.item]
}

// solid places one of several bodies of a product as a part of its own.
func (w *walker) solid(up above, pr *product, n int) {
	if w.done {
		return
	}
	t, s := w.t, &pr.shapes[n]
	key := s.key()
	name := s.name
	if name == "" {
		name = t.nameOf(pr)
		if len(pr.shapes) > 1 {
			name = fmt.Sprintf("%s %d", name, n+1)
		}
	}
	p, ok := t.bodyOf[key]
	if !ok {
		raw := ""
		if rec, err := t.r.open(s.id); err == nil {
			raw = rawUnless(name, rawBodyName(rec))
		}
		p = t.addPart(Part{
			Name: name, RawName: raw, RawID: pr.rawID, Tag: brep.Tag(s.id), Made: pr.made,
			Declared: Declared{}.orElse(t.r.bodyDeclared[s.id]),
			Color:    t.r.style.ofProduct(pr), Transparency: t.r.clearOf(pr), // unless the body has its own
		})
		t.bodyOf[key] = p
		t.jobs = append(t.jobs, bodyJob{part: p, shape: *s})
	}
	color := up.Color // of the use that is one of all bodies
	if color == "" {
		color = s.color
	}
	w.put(up, Occurrence{Part: p, Name: name, Local: s.place, Color: color, Tag: brep.Tag(s.id)})
}
