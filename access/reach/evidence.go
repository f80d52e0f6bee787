package reach

import (
	"math"
	"slices"

	"stepscan/access/product"
)

// trial writes an attempt down as it is among the present solids.
func (a *approach) trial(s *scene, i int, in present) Trial {
	t, at := &a.tools[i], &a.tried[i]
	out := Trial{Tool: *t, Limiter: product.NoSolid, Free: math.Inf(1), Limit: ByTool}
	if n := len(t.Sections); n > 0 {
		out.Needed, out.Section = t.Sections[0].R, t.Sections[0].Name
	}
	toolFits := a.fits(i, in)
	out.Fits = toolFits && a.open(s.skin(), in)
	var worst *obstacle
	if o := least(at.near, in); o != nil {
		worst = o
	}
	out.Blockers = a.blockers(s, i, in)
	switch {
	case worst != nil && (worst.slack() < 0 || toolFits):
		out.limit(worst)
	case !toolFits:
		out.limitSwing(a, i, in)
	}
	if toolFits && !out.Fits {
		out.limit(least(a.out, in))
		out.Limit = ByWayOut
		out.AtHeight = a.axis.Height(out.At)
	}
	return out
}

func (t *Trial) limit(o *obstacle) {
	t.Free, t.Needed, t.AtHeight = o.free, o.needed, o.height
	t.Section, t.Limiter, t.At = o.section, o.solid, o.at
	t.Tight = math.Abs(o.slack()) <= o.chord
}

// least is the present obstacle with the least slack, nil for none.
func least(list []obstacle, in present) *obstacle {
	var best *obstacle
	for i := range list {
		if in(list[i].solid) && (best == nil || list[i].slack() < best.slack()) {
			best = &list[i]
		}
	}
	return best
}

// blockers are all present solids that stand in the way of a tool or of the
// fastener itself, sorted. Where an arm has too little room, every solid that
// takes some of its turn is one.
func (a *approach) blockers(s *scene, i int, in present) []product.SolidIndex {
	var out []product.SolidIndex
	at := &a.tried[i]
	for k := range at.near {
		if at.near[k].slack() < 0 && in(at.near[k].solid) {
			out = append(out, at.near[k].solid)
		}
	}
	if a.cramped(i, in) {
		for k := range at.swing {
			if in(at.swing[k].solid) {
				out = append(out, at.swing[k].solid)
			}
		}
	}
	for k := range a.out {
		if a.out[k].slack() < -s.skin() && in(a.out[k].solid) {
			out = append(out, a.out[k].solid)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
