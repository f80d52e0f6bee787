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

// cylinder is the ring of one radius between two heights.
func cylinder(from, to, r float64) bvh.Ring { return bvh.Ring{From: from, To: to, R0: r, R1: r} }

// driving is a tool's solid of driving as rings that do not hide each other,
// each of which knows the section it is of. A tool that comes along its axis
// brings every section through all heights above it; one that comes across only
// takes its lift.
func driving(t *tool.Tool) []bvh.Ring {
	rings := make([]bvh.Ring, len(t.Sections))
	for i, s := range t.Sections {
		rings[i] = cylinder(s.From, s.To+t.Lift, s.R)
		rings[i].Of = i
	}
	if t.Entry == tool.Across {
		return rings
	}
	return bvh.Envelope(rings)
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
	rings := driving(t)
	for _, k := range against {
		if o, of, ok := s.worst(k, a, rings); ok {
			o.section = t.Sections[of].Name
			out.near = append(out.near, o)
		}
		if v := s.sweep(k, a, t); len(v.arm)+len(v.head) > 0 {
			out.swing = append(out.swing, v)
		}
	}
	return out
}

// worst is the place where a solid leaves a motion of cylinders the least room,
// and what the ring there is of. Every ring starts a skin higher than it should:
// the face that a tool rests on, or that a shoulder comes down to, is touched and
// not cut.
func (s *scene) worst(k product.SolidIndex, a geom.Axis, rings []bvh.Ring) (o obstacle, of int, ok bool) {
	near := make([]bvh.Ring, 0, 8)
	for _, r := range rings {
		if r.From += s.skin(); s.near(k, a, r.From, r.To, r.R0+Margin) {
			near = append(near, r)
		}
	}
	if len(near) == 0 {
		return obstacle{}, 0, false
	}
	rooms, worst := s.rooms(k, a, near, Margin)
	for i := range near {
		if rooms[i].Tri >= 0 {
			continue
		}
		mid := a.At((near[i].From + min(near[i].To, near[i].From+1)) / 2)
		if !s.contains(k, mid) {
			continue
		}
		// All about it is solid material.
		rooms[i] = bvh.Room{Gap: -near[i].R0, Needed: near[i].R0, Free: bvh.Free{P: mid, H: a.Height(mid)}}
		if worst < 0 || rooms[i].Gap < rooms[worst].Gap {
			worst = i
		}
	}
	if worst < 0 {
		return obstacle{}, 0, false
	}
	r := &rooms[worst]
	return obstacle{solid: k, free: r.R, needed: r.Needed, height: r.H, at: r.P, chord: s.chord(k)}, near[worst].Of, true
}

// wayOut lists what is near a fastener's own way out. What a headless one sits
// in is threaded or pressed about it and counts only ahead of it, within the
// bore.
func (s *scene) wayOut(a *approach, against, seat []product.SolidIndex, headed bool) []obstacle {
	var out []obstacle
	full := []bvh.Ring{cylinder(a.under, math.Inf(1), a.wide)}
	// Threads and press fits are modelled with anything from the core's to
	// the full diameter: 0.75 of it is free in all of them (the core D1 of
	// M1.6, the relatively coarsest, is 0.76 d: ISO 68-1, ISO 261).
	bore := []bvh.Ring{cylinder(0, math.Inf(1), 0.75*a.wide)}
	for _, k := range against {
		rings := full
		if slices.Contains(seat, k) && !headed {
			rings = bore
		}
		if o, _, ok := s.worst(k, a.leave, rings); ok && o.slack() <= s.skin() {
			o.section = "way out"
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
