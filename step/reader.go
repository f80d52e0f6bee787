package step

import (
	"context"
	"fmt"
	"strings"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// reader holds what one reading needs. After the structure is read it is only
// looked at, so that bodies can be decoded side by side.
type reader struct {
	// immutable
	ctx context.Context
	f   *p21.File
	opt Options

	// bounded work
	budget *budget

	// being filled
	asm      *Assembly
	told     map[toldKey]bool // skips that are already listed
	units    map[p21.ID]units // by context
	reps     map[p21.ID]*rep
	prods    []*product
	byPD     map[p21.ID]int
	style    styles
	veil     veil
	cargo    cargo
	layers   map[p21.ID][]string // by what lies on them
	onLayers map[p21.ID][]string // by occurrence, as far as asked for
	clear    map[p21.ID]float64  // transparency by item
	// by product definition or occurrence
	attributes map[p21.ID][]Attribute
	tied       map[p21.ID]p21.ID // occurrence by what places it: relation and its tie
	untold     int               // skips beyond the limit
	homes      map[p21.ID]*rep   // by item, filled when first asked for
}

type toldKey struct {
	id  p21.ID
	why string
}

func newReader(ctx context.Context, f *p21.File, opt Options) *reader {
	r := &reader{
		ctx: ctx, f: f, opt: opt, budget: newBudget(f.Size()), asm: &Assembly{},
		told: map[toldKey]bool{}, units: map[p21.ID]units{},
		reps: map[p21.ID]*rep{}, byPD: map[p21.ID]int{}, tied: map[p21.ID]p21.ID{},
	}
	return r
}

// read runs the stages; each leaves what the next one needs.
func (r *reader) read(file string) error {
	r.tellWarnings()
	r.readProducts()
	r.readRepresentations()
	r.readUses()
	r.readStyles()
	r.readTransparency()
	r.readLayers()
	r.readHidden()
	r.countAnnotations()
	r.collectShapes()
	r.tellHidden()
	r.tellCarriers()
	r.readMaterials()
	r.readDeclared()
	r.readAttributes()
	r.readExternal()
	t, err := r.plan(file)
	if err != nil {
		return err
	}
	if err := t.place(); err != nil {
		return err
	}
	if err := r.decodeBodies(t.jobs); err != nil {
		return err
	}
	t.finish()
	if r.untold > 0 {
		r.asm.Skips = append(r.asm.Skips, Skip{Why: fmt.Sprintf("%d more things were not used", r.untold)})
	}
	return r.spent()
}

// spent is errBudget when the work ran out.
func (r *reader) spent() error {
	if r.budget.over() {
		return errBudget
	}
	return r.ctx.Err()
}

func (r *reader) tellWarnings() {
	for _, w := range r.f.Warnings {
		r.asm.Skips = append(r.asm.Skips, Skip{Tag: brep.Tag(w.ID), Pos: w.Pos, Why: w.Text})
	}
	if n := r.f.MoreWarnings; n > 0 {
		r.asm.Skips = append(r.asm.Skips, Skip{Why: fmt.Sprintf("%d more warnings about the text", n)})
	}
}

// maxSkips is how many things are listed one by one; the rest is counted. Far
// more than a person reads, and the list stays small for a hostile file.
const maxSkips = 20_000

// note lists something that is not used, once.
func (r *reader) note(id p21.ID, entity, why string) {
	k := toldKey{id, why}
	if r.told[k] {
		return
	}
	if len(r.told) >= maxSkips {
		r.untold++
		return
	}
	r.told[k] = true
	r.asm.Skips = append(r.asm.Skips, r.skip(id, entity, why))
}

func (r *reader) skip(id p21.ID, entity, why string) Skip {
	s := Skip{Tag: brep.Tag(id), Entity: entity, Why: why}
	if rec, ok := r.f.Lookup(id); ok {
		s.Pos = rec.Pos()
		if entity == "" {
			s.Entity = rec.Name()
		}
	}
	return s
}

// open finds a record and checks that it is one of the named entities; no
// names take any. Every record that is opened counts against the budget.
func (r *reader) open(id p21.ID, names ...string) (p21.Record, error) {
	rec, ok := r.f.Lookup(id)
	if !ok {
		return rec, &danglingError{id}
	}
	if !r.budget.take(rec.Bytes() + 16) {
		return rec, errBudget
	}
	if len(names) > 0 && !rec.Is(names...) {
		return rec, &typeError{id, rec.Name(), strings.Join(names, " or ")}
	}
	return rec, nil
}

// params opens a simple record.
func (r *reader) params(id p21.ID, names ...string) (p21.Params, error) {
	rec, err := r.open(id, names...)
	if err != nil {
		return p21.Params{}, err
	}
	return rec.Params(), nil
}
