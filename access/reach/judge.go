package reach

import (
	"context"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom"
)

// Judge tries every tool at every fastener, takes the product apart on paper
// from each candidate side, and judges every fastener from the best one.
// holds stands at the same index as fs. A cancelled context ends it early: the
// result then has all its fields and no meaning.
func Judge(ctx context.Context, p *product.Product, fs []fastener.Fastener, holds []joint.Hold, joints []joint.Joint, opt Options) *Result {
	m := newMatter(p, fs, holds, joints)
	m.measure(ctx, opt.Workers)
	sides := m.candidates(opt.Side)
	ways := blockings(m.s, sides)
	last := m.anyhow(ctx, ways)
	scores := m.scoreAll(ctx, ways, last, opt.Workers)
	best := choose(scores)
	if opt.Side != nil {
		best = nearest(sides, *opt.Side)
	}
	res := &Result{Side: sides[best], Reaches: make([]Reach, len(fs)), Sides: scores}
	t := m.from(ctx, ways[best], true)
	res.Removed = t.removed()
	t.run(ctx, nil, ways, true, false)
	m.fill(ctx, t, res, opt.Workers)
	res.Heaped = slices.ContainsFunc(ways, func(b *blocking) bool { return b.heaped })
	return res
}

// blockings are the directions in which parts may leave.
func blockings(s *scene, dirs []mgl64.Vec3) []*blocking {
	out := make([]*blocking, len(dirs))
	for i := range dirs {
		out[i] = newBlocking(s, dirs[i], maxPairs/len(dirs)+solidPairs*s.len(), maxWork/len(dirs)+solidWork*s.len())
	}
	return out
}

// from takes the product apart from one side, without a turn.
func (m *matter) from(ctx context.Context, side *blocking, all bool) *taking {
	t := newTaking(m)
	t.run(ctx, []mgl64.Vec3{side.d}, []*blocking{side}, false, all)
	return t
}

// anyhow takes the product apart from all sides at once: what comes out then
// comes out after some turns from whichever side one starts, because an act
// that is possible stays possible.
func (m *matter) anyhow(ctx context.Context, sides []*blocking) *taking {
	t := newTaking(m)
	t.run(ctx, nil, sides, true, false)
	return t
}

// verdict is the answer for a fastener at the end of a taking. What nobody
// undoes (an insert, a loose washer) is clear: it is in nobody's way.
func (m *matter) verdict(f int, t *taking) Verdict {
	u := m.ofUnit[f]
	switch {
	case u < 0:
		return m.passive(f, t)
	case !t.undone[u]:
		return Blocked
	case m.units[u].nut >= 0:
		return TwoSided
	case t.how[u].turned:
		return Turn
	case t.how[u].round == 0:
		return Clear
	}
	return ClearAfter
}

// passive is the verdict for what no tool touches: a rod is as easy as the
// hardest of its nuts.
func (m *matter) passive(f int, t *taking) Verdict {
	worst := Clear
	if !m.isRod(f) {
		return worst
	}
	for i := range m.fs {
		if m.holds[i].Mate == f && m.ofUnit[i] >= 0 {
			if v := m.verdict(i, t); rankOf(v) > rankOf(worst) {
				worst = v
			}
		}
	}
	return worst
}

func rankOf(v Verdict) int {
	for i, w := range []Verdict{Clear, ClearAfter, Turn, TwoSided} {
		if v == w {
			return i
		}
	}
	return 4
}

// fill writes the answer for every fastener.
func (m *matter) fill(ctx context.Context, t *taking, res *Result, workers int) {
	parallel(ctx, len(m.fs), workers, func(f int) {
		r := &res.Reaches[f]
		r.Verdict, r.Step = m.verdict(f, t), -1
		r.Axis = along(&m.fs[f])
		r.Side = r.Axis.D
		r.As = Trial{Limiter: product.NoSolid, Free: math.Inf(1), Limit: ByTool}
		u := m.ofUnit[f]
		if u < 0 {
			r.Why = m.whyPassive(f)
			r.As.Fits = true
			return
		}
		x, h := &m.units[u], t.how[u]
		r.Step, r.After = h.round, h.after
		ways, way, k := x.ways, h.way, h.tool
		if f == x.nut {
			ways, way, k = x.nutWays, h.nutWay, h.nutTool
		}
		if !t.undone[u] {
			way, k = m.closest(ways, t.in(u))
		}
		m.evidence(r, ways, way, k)
		if t.undone[u] {
			still := func(s product.SolidIndex) bool { _, gone := slices.BinarySearch(h.out, s); return !gone }
			r.Reached = m.trials(ways, way, still)
		}
		m.look(r, f)
		r.Why = m.why(f, r, t)
	})
}

// evidence fills in the tool, where it stands, and the trials as assembled.
func (m *matter) evidence(r *Reach, ways []approach, way, k int) {
	w := &ways[way]
	r.Tool, r.Axis, r.Side, r.Held = w.tools[k], w.axis, w.axis.D, w.held
	r.As = w.trial(m.s, k, everything)
	r.Tried = m.trials(ways, way, everything)
}

// trials writes down all tools of the chosen way; of a pin's ways, each with
// one tool, all.
func (m *matter) trials(ways []approach, way int, in present) []Trial {
	var out []Trial
	for i := range ways {
		if i != way && (len(ways[i].tools) > 1 || ways[i].held != ways[way].held) {
			continue // a symmetric nut's other side says nothing new
		}
		for j := range ways[i].tools {
			out = append(out, ways[i].trial(m.s, j, in))
		}
	}
	return out
}

// closest is the tool that lacks least room among what never comes off; an
// arm's missing angle counts as the length of the missing arc.
func (m *matter) closest(ways []approach, in present) (way, k int) {
	most := math.Inf(-1)
	for i := range ways {
		for j := range ways[i].tools {
			if s := ways[i].shortfall(j, in); s > most {
				most, way, k = s, i, j
			}
		}
	}
	return way, k
}

// shortfall is the least slack of a tool, mm.
func (a *approach) shortfall(i int, in present) float64 {
	worst := 0.0
	if o := least(a.tried[i].near, in); o != nil {
		worst = min(worst, o.slack())
	}
	if o := least(a.out, in); o != nil {
		worst = min(worst, o.slack())
	}
	if w := a.tools[i].Swing; w != nil {
		worst = min(worst, (a.gap(i, in)-a.need(i))*w.R)
	}
	return worst
}

// look says whether the head can be seen as assembled, and what covers it.
func (m *matter) look(r *Reach, f int) {
	u := &m.units[m.ofUnit[f]]
	if f != u.main && f != u.nut {
		return
	}
	radius := max(m.fs[f].HeadD, m.fs[f].Nominal) / 2
	s := m.s.see(top(&m.fs[f], r.Axis), radius, m.without(u, f), everything)
	r.Hidden, r.HiddenBy = s.share == 0, s.covers
}

// top is the axis raised to the fastener's very top.
func top(f *fastener.Fastener, a geom.Axis) geom.Axis {
	h := a.Height(along(f).At(f.Front))
	return geom.Axis{O: a.At(max(h, 0)), D: a.D}
}
