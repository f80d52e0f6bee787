package step

import (
	"fmt"
	"slices"
	"sync"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// missing are the numbers that were looked for and stand for no record. Bodies
// are decoded side by side, so the order in which they come means nothing.
type missing struct {
	mu  sync.Mutex
	ids map[p21.ID]bool
}

// add keeps the least numbers, as many as are listed one by one.
func (m *missing) add(id p21.ID) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ids[id] = true
	if len(m.ids) > 2*maxSkips {
		for _, id := range m.sorted()[maxSkips:] {
			delete(m.ids, id)
		}
	}
}

func (m *missing) sorted() []p21.ID {
	out := make([]p21.ID, 0, len(m.ids))
	for id := range m.ids {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}

// tellMissing lists each number that is referred to and is not in the file,
// once, with the first place that does so.
func (r *reader) tellMissing() {
	if len(r.missing.ids) == 0 {
		return
	}
	ids := r.missing.sorted()
	at := r.f.References(ids)
	for i, id := range ids {
		if rec := at[i].Record; rec.Valid() {
			r.noteAt(at[i].Pos, rec, fmt.Sprintf("refers to %v, which is not in the file: taken for unset", id))
		}
	}
}

// noteAt lists something about a record at a place within it.
func (r *reader) noteAt(pos p21.Pos, rec p21.Record, why string) {
	k := toldKey{rec.ID(), why}
	switch {
	case r.told[k]:
	case len(r.told) >= maxSkips:
		r.untold++
	default:
		r.told[k] = true
		r.asm.Skips = append(r.asm.Skips, Skip{Tag: brep.Tag(rec.ID()), Pos: pos, Entity: rec.Name(), Why: why})
	}
}

// tellRemarks lists what was odd about the values that were read.
func (r *reader) tellRemarks() {
	for _, w := range r.f.Remarks() {
		s := r.skip(w.ID, "", w.Text)
		s.Pos, s.Aside = w.Pos, w.Whole
		r.asm.Skips = append(r.asm.Skips, s)
	}
}
