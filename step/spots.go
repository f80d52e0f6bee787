package step

import (
	"stepscan/geom"
	"stepscan/step/p21"
)

// spots finds where representations that are no product's stand: files without
// product structure may map and place them all the same.
type spots struct {
	r      *reader
	above  map[p21.ID][]holder // by representation
	known  map[p21.ID][]geom.Transform
	onPath map[p21.ID]bool
	made   int              // transforms in known
	tooFar []geom.Transform // what stands for more than a file may hold
}

// holder is a representation that shows another one at a place.
type holder struct {
	rep   p21.ID
	place geom.Transform
}

// newSpots reads all mapped items, so it is for the rare file with bodies that
// no product has.
func (r *reader) newSpots() *spots {
	s := &spots{r: r, above: map[p21.ID][]holder{}, known: map[p21.ID][]geom.Transform{}, onPath: map[p21.ID]bool{}}
	for rec := range r.f.Of("MAPPED_ITEM") {
		p := leafOr(rec, "MAPPED_ITEM")
		k := p.Len() - 2 // behind the name, which a leaf does not have
		home := r.homeOf(rec.ID())
		m, err := r.params(p.OptRef(k), "REPRESENTATION_MAP")
		if err != nil || home == nil || home.owner >= 0 || home.aside {
			continue
		}
		if source := r.rep(m.OptRef(1)); source != nil {
			t := r.between(m.OptRef(0), source.u, p.OptRef(k+1), home.u)
			s.above[source.id] = append(s.above[source.id], holder{home.id, t})
		}
	}
	return s
}

// of is where a representation stands, nil for once and at the origin. The
// number is bounded by what one file may hold.
func (s *spots) of(home *rep) []geom.Transform {
	if home == nil {
		return nil
	}
	list := s.find(home.id, 0)
	if len(list) == 0 || len(list) == 1 && list[0] == geom.Identity() {
		return nil
	}
	return list
}

// find is empty for a representation that only shows itself.
func (s *spots) find(id p21.ID, depth int) []geom.Transform {
	if list, ok := s.known[id]; ok {
		return list
	}
	if s.onPath[id] || depth > maxChain {
		return nil
	}
	s.onPath[id] = true
	defer delete(s.onPath, id)
	var out []geom.Transform
	held := false
	for _, h := range s.holders(id) {
		held = true
		for _, t := range s.find(h.rep, depth+1) {
			if out = append(out, t.Mul(h.place)); s.made+len(out) > 2*s.r.opt.MaxOccurrences {
				return s.tooMany()
			}
		}
	}
	s.made += len(out)
	if !held {
		out = []geom.Transform{geom.Identity()}
	}
	s.known[id] = out
	return out
}

// tooMany is so long that plan refuses the file. It is one list for all, since a
// hostile file may map thousands of representations by thousands of items.
func (s *spots) tooMany() []geom.Transform {
	if s.tooFar == nil {
		s.tooFar = make([]geom.Transform, s.r.opt.MaxOccurrences+1)
	}
	return s.tooFar
}

// holders are what shows a representation or one that is the same in other
// words.
func (s *spots) holders(id p21.ID) []holder {
	group := []p21.ID{id}
	seen := map[p21.ID]bool{id: true}
	var out []holder
	for k := 0; k < len(group); k++ {
		rp := s.r.rep(group[k])
		out = append(out, s.above[rp.id]...)
		for _, rel := range rp.placed {
			if up := s.r.rep(rel.rep2); rel.rep1 == rp.id && up != nil && up.owner < 0 {
				out = append(out, holder{up.id, s.r.relationBetween(rel, rp.id, up.id)})
			}
		}
		for _, other := range rp.plain {
			if o := s.r.rep(other); !seen[other] && o.owner < 0 && !o.aside {
				seen[other] = true
				group = append(group, other)
			}
		}
	}
	return out
}
