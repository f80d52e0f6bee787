package reach

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom"
	"stepscan/geom/bvh"
)

// obstacle is what one solid does to a motion about an axis: its worst place.
type obstacle struct {
	solid        product.SolidIndex
	free, needed float64 // radii, mm
	height       float64 // mm above the meeting point
	at           mgl64.Vec3
	section      string
	chord        float64 // mm, of the solid's mesh
}

func (o *obstacle) slack() float64 { return o.free - o.needed }

// attempt is one tool tried as assembled, with everything that is near enough
// to matter: since obstacles only go away, any later state is answered by
// asking which of these are still there.
type attempt struct {
	near  []obstacle // sorted by solid
	swing []sector   // sorted by solid
}

// sector is what one solid takes from the arm's turn.
type sector struct {
	solid product.SolidIndex
	arcs  bvh.Arcs
}

// slab is a range of heights with the radius a motion needs there.
type slab struct {
	from, to, r float64
	name        string
}

// slabs are a tool's solid of driving as rings that do not hide each other: a
// tool that comes along its axis brings every section through all heights
// above it, so each height needs the largest radius of what is below.
func slabs(t *tool.Tool) []slab {
	var out []slab
	if t.Entry == tool.Across {
		for _, s := range t.Sections {
			out = append(out, slab{s.From, s.To + t.Lift, s.R, s.Name})
		}
		return out
	}
	secs := slices.Clone(t.Sections)
	slices.SortStableFunc(secs, func(a, b tool.Section) int { return order(a.From, b.From) })
	for _, s := range secs {
		n := len(out)
		if n > 0 && s.R <= out[n-1].r {
			continue
		}
		if n > 0 {
			out[n-1].to = s.From
		}
		out = append(out, slab{s.From, math.Inf(1), s.R, s.Name})
	}
	return out
}

func order(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// about lists the solids that can stand in the way of anything on a fastener's
// axis, up or down: all but those that without names, within r of it.
func (s *scene) about(a geom.Axis, r float64, without []product.SolidIndex) []product.SolidIndex {
	var out []product.SolidIndex
	for i := range s.ball {
		k := product.SolidIndex(i)
		if s.near(k, a, math.Inf(-1), math.Inf(1), r) && !slices.Contains(without, k) {
			out = append(out, k)
		}
	}
	return out
}

// widestOf is the largest radius at which a tool can meet anything that
// matters, mm.
func widestOf(ways []approach) float64 {
	r := 0.0
	for i := range ways {
		r = max(r, ways[i].wide)
		for j := range ways[i].tools {
			t := &ways[i].tools[j]
			for _, s := range t.Sections {
				r = max(r, s.R)
			}
			if t.Swing != nil {
				r = max(r, t.Swing.R+t.Swing.HalfW)
			}
		}
	}
	return r + Margin
}

// try measures one tool against solids.
func (s *scene) try(t *tool.Tool, a geom.Axis, against []product.SolidIndex) attempt {
	var out attempt
	sl := slabs(t)
	for _, k := range against {
		if o, ok := s.worst(k, a, sl); ok {
			out.near = append(out.near, o)
		}
		if arcs := s.sweep(k, a, t); len(arcs) > 0 {
			out.swing = append(out.swing, sector{k, arcs})
		}
	}
	return out
}

// worst is the place where a solid leaves a motion the least room. Every slab
// starts a skin higher than it should: the face that a tool rests on, or that
// a shoulder comes down to, is touched and not cut.
func (s *scene) worst(k product.SolidIndex, a geom.Axis, sl []slab) (obstacle, bool) {
	best, found := obstacle{solid: k, chord: s.chord(k)}, false
	for i := range sl {
		from, to := sl[i].from+s.skin(), sl[i].to
		if !s.near(k, a, from, to, sl[i].r+Margin) {
			continue
		}
		o := best
		o.needed, o.section = sl[i].r, sl[i].name
		if f, ok := s.freeRadius(k, a, from, to, sl[i].r+Margin); ok {
			o.free, o.height, o.at = f.R, f.H, f.P
		} else if mid := a.At((from + min(to, from+1)) / 2); s.contains(k, mid) {
			o.free, o.height, o.at = 0, a.Height(mid), mid // inside solid material
		} else {
			continue
		}
		if !found || o.slack() < best.slack() {
			best, found = o, true
		}
	}
	return best, found
}

// sweep lists the angles at which a solid stands in an arm's way. An arm that
// comes along the axis is brought down through everything above it.
func (s *scene) sweep(k product.SolidIndex, a geom.Axis, t *tool.Tool) bvh.Arcs {
	w := t.Swing
	if w == nil {
		return nil
	}
	from, to := w.From+s.skin(), w.To+t.Lift
	if t.Entry == tool.Along {
		to = math.Inf(1)
	}
	if !s.near(k, a, from, to, w.R+w.HalfW) {
		return nil
	}
	return s.blocked(k, a, geom.Perpendicular(a.D), from, to, 0, w.R, w.HalfW)
}

// wayOut lists what is near a fastener's own way out. What a headless one sits
// in is threaded or pressed about it and counts only ahead of it, within the
// bore.
func (s *scene) wayOut(a *approach, against, seat []product.SolidIndex, headed bool) []obstacle {
	var out []obstacle
	full := []slab{{a.under, math.Inf(1), a.wide, "way out"}}
	// Threads and press fits are modelled with anything from the core's to
	// the full diameter: 0.75 of it is free in all of them (the core D1 of
	// M1.6, the relatively coarsest, is 0.76 d: ISO 68-1, ISO 261).
	bore := []slab{{0, math.Inf(1), 0.75 * a.wide, "way out"}}
	for _, k := range against {
		sl := full
		if slices.Contains(seat, k) && !headed {
			sl = bore
		}
		if o, ok := s.worst(k, a.leave, sl); ok && o.slack() <= s.skin() {
			out = append(out, o)
		}
	}
	return out
}

// present says whether a solid is still there.
type present func(product.SolidIndex) bool

// everything is the state as assembled.
func everything(product.SolidIndex) bool { return true }

// fits: a tool whose measured slack is not negative goes in. A slack within
// the chord error still counts as it was measured and is marked tight: the
// mesh of a bore is narrower than the bore, so a doubt there is on the safe
// side.
func (t *attempt) fits(w *tool.Swing, in present) bool {
	for i := range t.near {
		if t.near[i].slack() < 0 && in(t.near[i].solid) {
			return false
		}
	}
	return w == nil || t.gap(in) >= w.Arc
}

// gap is the widest free arc for a tool's arm, rad.
func (t *attempt) gap(in present) float64 {
	var arcs bvh.Arcs
	for i := range t.swing {
		if in(t.swing[i].solid) {
			arcs = append(arcs, t.swing[i].arcs...)
		}
	}
	w, _ := bvh.ArcsOf(arcs...).Free().Longest()
	return w.Span()
}

// open reports whether the fastener's own way out is free. It may touch: a
// head sits snugly in its bore.
func (a *approach) open(skin float64, in present) bool {
	for i := range a.out {
		if a.out[i].slack() < -skin && in(a.out[i].solid) {
			return false
		}
	}
	return true
}

// fitting is the first tool in the catalogue's order that fits, with its way
// out free; -1 for none.
func (a *approach) fitting(skin float64, in present) int {
	if !a.open(skin, in) {
		return -1
	}
	for i := range a.tools {
		if a.tried[i].fits(a.tools[i].Swing, in) {
			return i
		}
	}
	return -1
}

// trial writes an attempt down as it is among the present solids.
func (a *approach) trial(s *scene, i int, in present) Trial {
	t, at := &a.tools[i], &a.tried[i]
	out := Trial{Tool: *t, Limiter: product.NoSolid, Free: math.Inf(1), Limit: ByTool}
	if n := len(t.Sections); n > 0 {
		out.Needed, out.Section = t.Sections[0].R, t.Sections[0].Name
	}
	toolFits := at.fits(t.Swing, in)
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
		out.limitSwing(at, t.Swing, in)
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

// limitSwing names the solid that takes the most of the arm's turn.
func (t *Trial) limitSwing(at *attempt, w *tool.Swing, in present) {
	t.Limit, t.Section = BySwing, w.Name
	t.Free, t.Needed, t.AtHeight = at.gap(in), w.Arc, (w.From+w.To)/2
	most := -1.0
	for i := range at.swing {
		taken := 0.0
		for _, v := range at.swing[i].arcs {
			taken += v.Span()
		}
		if in(at.swing[i].solid) && taken > most {
			most, t.Limiter = taken, at.swing[i].solid
		}
	}
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
	at, w := &a.tried[i], a.tools[i].Swing
	for k := range at.near {
		if at.near[k].slack() < 0 && in(at.near[k].solid) {
			out = append(out, at.near[k].solid)
		}
	}
	if w != nil && at.gap(in) < w.Arc {
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
