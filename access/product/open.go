package product

import (
	"fmt"

	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/step"
)

// tellOpen says which bodies do not enclose a volume, and that some do although
// the file does not call them solids: those are judged like any other, so that
// they are counted only, under the first. closed holds for all bodies, part by
// part.
func (p *Product) tellOpen(closed []bool) {
	var first step.Skip
	more, name, k := 0, "", -1
	for i := range p.Parts {
		part := &p.Parts[i]
		for _, b := range part.Bodies {
			k++
			if closed[k] && b.Solid {
				continue
			}
			s := part.skip(b.Tag, fmt.Sprintf("part \"%s\" is a surface model with a border: an obstacle without volume", part.Name))
			switch {
			case closed[k] && first.Tag != 0:
				more++
				continue
			case closed[k]:
				first, name = s, part.Name
				continue
			case b.Solid:
				s.Why = fmt.Sprintf("part \"%s\" is called a solid but its faces do not close: an obstacle without volume", part.Name)
			}
			p.Skips = append(p.Skips, s)
		}
	}
	if first.Tag == 0 {
		return
	}
	first.Aside = true
	first.Why = fmt.Sprintf("part \"%s\" is a surface model; its faces close, so it is judged as a solid", name)
	if more > 0 {
		first.Why = fmt.Sprintf("part \"%s\" and %d more are surface models; their faces close, so they are judged as solids", name, more)
	}
	p.Skips = append(p.Skips, first)
}

// skip is about one of the part's bodies or faces.
func (part *Part) skip(t brep.Tag, why string) step.Skip {
	s := step.Skip{Tag: t, Why: why}
	s.Entity, s.Pos.Line = part.Lines.Of(t)
	return s
}

// enclosed are the integrals over a body without a volume for a surface model
// with a border. Solids with a gap keep theirs, which is about right: groups of
// parts are weighed by it.
func enclosed(of mass.Properties, b *brep.Body, closed bool) mass.Properties {
	if !closed && !b.Solid {
		of = mass.Properties{Area: of.Area}
	}
	return of
}
