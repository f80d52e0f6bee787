package step

import (
	"cmp"
	"math"
	"slices"

	"stepscan/geom/brep"
	"stepscan/step/p21"
)

// Lines say where the bodies and faces of a part stand in the file: what is
// found of them later, by meshing, can then be told with its place, although the
// text is gone.
type Lines []recordLine // by tag

type recordLine struct {
	tag    brep.Tag
	line   int32
	entity string
}

// Of is the entity with a tag and the line that it starts on, from 1; "" and 0
// where that is not known.
func (l Lines) Of(t brep.Tag) (entity string, line int) {
	i, ok := slices.BinarySearchFunc(l, t, func(r recordLine, t brep.Tag) int { return cmp.Compare(r.tag, t) })
	if !ok {
		return "", 0
	}
	return l[i].entity, int(l[i].line)
}

// linesOf looks up the records of bodies and of their faces.
func (r *reader) linesOf(bodies []*brep.Body) Lines {
	var out Lines
	add := func(t brep.Tag) {
		if rec, ok := r.f.Lookup(p21.ID(t)); ok && t != 0 {
			out = append(out, recordLine{t, int32(min(rec.Pos().Line, math.MaxInt32)), rec.Name()})
		}
	}
	for _, b := range bodies {
		add(b.Tag)
		for i := range b.Faces {
			add(b.Faces[i].Tag)
		}
	}
	slices.SortFunc(out, func(a, b recordLine) int { return cmp.Compare(a.tag, b.tag) })
	return slices.CompactFunc(out, func(a, b recordLine) bool { return a.tag == b.tag })
}
