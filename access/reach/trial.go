package reach

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom"
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
		if v := s.sweep(k, a, t); len(v.arm)+len(v.head) > 0 {
			out.swing = append(out.swing, v)
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

// enters: a tool whose measured slack is not negative goes in. A slack within
// the chord error still counts as it was measured and is marked tight: the
// mesh of a bore is narrower than the bore, so a doubt there is on the safe
// side.
func (t *attempt) enters(in present) bool {
	for i := range t.near {
		if t.near[i].slack() < 0 && in(t.near[i].solid) {
			return false
		}
	}
	return true
}

// fits: the tool goes in, and its arm has the room that it needs.
func (a *approach) fits(i int, in present) bool {
	return a.tried[i].enters(in) && !a.cramped(i, in)
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
		if a.fits(i, in) {
			return i
		}
	}
	return -1
}
