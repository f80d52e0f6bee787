package step

import (
	"context"
	"fmt"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

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
	measures map[p21.ID]measured
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
	attributes   map[p21.ID][]Attribute
	useCentres   map[p21.ID]*mgl64.Vec3 // by occurrence, as the file states them
	bodyDeclared map[p21.ID]*Declared   // by body, where the file states figures of it alone
	tied         map[p21.ID]p21.ID      // occurrence by what places it: relation and its tie
	placing      map[p21.ID]bool        // relations without a tie that place an occurrence
	deepNames    map[p21.ID][]deepName  // by each usage on the way
	untold       int                    // skips beyond the limit
	missing      *missing
	homes        map[p21.ID]*rep   // by item, filled when first asked for
	reached      map[p21.ID]bool   // items that bodies are made of
	shellOf      map[p21.ID]p21.ID // bodies by their shells, filled when first asked for
	lists        *coordinateLists
}

type toldKey struct {
	id  p21.ID
	why string
}

func newReader(ctx context.Context, f *p21.File, opt Options) *reader {
	r := &reader{
		ctx: ctx, f: f, opt: opt, budget: newBudget(f.Size(), opt.MaxMemory), asm: &Assembly{},
		told: map[toldKey]bool{}, missing: &missing{ids: map[p21.ID]bool{}}, units: map[p21.ID]units{},
		reps: map[p21.ID]*rep{}, byPD: map[p21.ID]int{}, tied: map[p21.ID]p21.ID{}, placing: map[p21.ID]bool{}, lists: &coordinateLists{},
	}
	return r
}

// read runs the stages; each leaves what the next one needs.
func (r *reader) read(file string) error {
	r.tellWarnings()
	r.readProducts()
	r.readRepresentations()
	r.readUses()
	r.readDeepNames()
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
	r.readMadeFrom()
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
	r.tellMissing()
	r.tellRemarks()
	if r.untold > 0 {
		r.asm.Skips = append(r.asm.Skips, Skip{Why: fmt.Sprintf("%d more things were not used", r.untold)})
	}
	return r.spent()
}

// maxListed bounds a list of names from the header: real ones have one or two.
const maxListed = 20

func cleanAll(list []string) []string {
	var out []string
	for _, s := range list[:min(len(list), maxListed)] {
		out = append(out, clean(s))
	}
	return out
}

// spent is errBudget when the work ran out.
func (r *reader) spent() error {
	if r.budget.over() {
		return r.budget.error()
	}
	return r.ctx.Err()
}

func (r *reader) tellWarnings() {
	for _, w := range r.f.Warnings {
		r.asm.Skips = append(r.asm.Skips, Skip{Tag: brep.Tag(w.ID), Pos: w.Pos, Why: w.Text, Aside: w.Whole})
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
	r.list(fault{id: id, entity: entity, why: why})
}

// aside lists something that is no part of the product's shape, or that was
// mended without a loss, once.
func (r *reader) aside(id p21.ID, why string) {
	r.list(fault{id: id, why: why, aside: true})
}

func (r *reader) list(f fault) {
	if r.untoldYet(f.id, f.why) {
		s := r.skip(f.id, f.entity, f.why)
		s.Aside = f.aside
		r.asm.Skips = append(r.asm.Skips, s)
	}
}

// untoldYet is true the first time, as long as there is room for more.
func (r *reader) untoldYet(id p21.ID, why string) bool {
	k := toldKey{id, why}
	if r.told[k] {
		return false
	}
	if len(r.told) >= maxSkips {
		r.untold++
		return false
	}
	r.told[k] = true
	return true
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
		r.missing.add(id)
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
