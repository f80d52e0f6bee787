package reach

import (
	"context"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/access/tool"
	"stepscan/geom/workers"
)

// matter is everything a judgement looks at: the product, who holds whom, and
// every trial as assembled. It does not change once measured.
type matter struct {
	s      *scene
	fs     []fastener.Fastener
	holds  []joint.Hold
	units  []unit
	ofUnit []int // by fastener: its unit, -1 for what nobody undoes
	unitOf []int // by solid: the unit that it is a fastener of, -1
	ties   []tie
}

// tie holds solids together until its unit is undone; unit -1 never is.
type tie struct {
	unit   int
	solids []product.SolidIndex
}

func newMatter(p *product.Product, fs []fastener.Fastener, holds []joint.Hold, joints []joint.Joint) *matter {
	m := &matter{s: newScene(p), fs: fs, holds: holds}
	for len(m.holds) < len(fs) { // a caller without joints
		m.holds = append(m.holds[:len(m.holds):len(m.holds)], joint.Hold{Fastener: len(m.holds), Mate: -1})
	}
	m.findUnits()
	m.findTies(joints)
	return m
}

// findUnits decides which fasteners are undone together, and by whom.
func (m *matter) findUnits() {
	m.ofUnit = filled(len(m.fs), -1)
	m.unitOf = filled(m.s.len(), -1)
	for i := range m.fs {
		if m.leads(i) {
			m.ofUnit[i] = len(m.units)
			m.units = append(m.units, unit{main: i, nut: -1, ways: approachesOf(&m.fs[i])})
		}
	}
	for i := range m.fs {
		m.join(i)
	}
	for i := range m.units {
		m.gather(i)
		if u := &m.units[i]; u.nut >= 0 { // one half is turned, the other may only be held
			u.ways, u.nutWays = orHeld(u.ways), orHeld(u.nutWays)
		}
	}
}

func filled(n, v int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// leads: a fastener that a tool turns and that is not the nut of a bolt.
func (m *matter) leads(i int) bool {
	f := &m.fs[i]
	if len(tool.For(f)) == 0 || m.isRod(i) && f.Kind != fastener.Stud {
		return false
	}
	return f.Kind != fastener.Nut || !m.hasScrew(i)
}

// hasScrew reports whether a nut sits on something that has a head or drive to
// be held by, and not on a bare rod, nothing, or a bolt whose head cannot turn.
func (m *matter) hasScrew(nut int) bool {
	mate := m.holds[nut].Mate
	if mate < 0 || mate >= len(m.fs) || mate == nut || m.holds[mate].CaptiveHead {
		return false
	}
	k := m.fs[mate].Kind
	return k == fastener.Screw || k == fastener.Bolt || k == fastener.SetScrew
}

// isRod reports what stays in its part while its nuts are turned: a stud, and a
// bolt whose head cannot turn.
func (m *matter) isRod(i int) bool {
	return m.fs[i].Kind == fastener.Stud || m.holds[i].CaptiveHead
}

// join puts a nut under its bolt's unit, and a washer under its screw's. A
// captive nut needs no second tool, and stays where it is trapped.
func (m *matter) join(i int) {
	h := &m.holds[i]
	if m.fs[i].Kind == fastener.Nut && m.hasScrew(i) {
		u := m.ofUnit[h.Mate]
		switch {
		case u < 0:
		case h.CaptiveNut && !h.Falls:
			m.ofUnit[i] = u
		case h.CaptiveNut: // it comes off with its screw
			m.ofUnit[i] = u
			m.units[u].follow = append(m.units[u].follow, i)
		case m.units[u].nut >= 0: // a lock nut comes off with the nut
			m.ofUnit[i] = u
			m.units[u].follow = append(m.units[u].follow, i)
		default:
			m.ofUnit[i] = u
			m.units[u].nut = i
			m.units[u].nutWays = approachesOf(&m.fs[i])
		}
	}
	u := m.ofUnit[i]
	if u < 0 {
		return
	}
	for _, w := range h.Washers {
		if w >= 0 && w < len(m.fs) && m.ofUnit[w] < 0 {
			m.ofUnit[w] = u
			m.units[u].follow = append(m.units[u].follow, w)
		}
	}
}

// gather lists the solids of a unit.
func (m *matter) gather(u int) {
	x := &m.units[u]
	for _, i := range x.fasteners() {
		for _, k := range m.fs[i].Solids {
			x.solids = append(x.solids, k)
			m.unitOf[k] = u
		}
	}
	slices.Sort(x.solids)
	x.solids = slices.Compact(x.solids)
}

// findTies lists what holds what: each fastener all that it passes, bites and
// consists of; a press fit, thread or declared joint for good.
func (m *matter) findTies(joints []joint.Joint) {
	for i := range m.fs {
		m.ties = append(m.ties, m.tieOf(i))
		if m.holds[i].CaptiveNut && !m.holds[i].Falls {
			m.ties = append(m.ties, m.trap(i))
		}
	}
	for i := range joints {
		j := &joints[i]
		if len(j.Fasteners) == 0 && (j.Kind == joint.Press || j.Kind == joint.Thread || j.Kind == joint.Declared && !j.Releases) {
			m.ties = append(m.ties, tie{-1, j.Solids})
		}
	}
}

// tieOf is what one fastener holds together. A rod without a head holds what it
// passes only by its nuts, and a washer nothing.
func (m *matter) tieOf(i int) tie {
	h, own := &m.holds[i], m.fs[i].Solids
	t := tie{unit: m.ofUnit[i]}
	switch {
	case m.fs[i].Kind == fastener.Washer:
		t.solids = own
	case m.isRod(i):
		t.solids = slices.Concat(own, h.Bites, h.HeldBy)
	default:
		t.solids = slices.Concat(own, h.Passes, h.Bites)
	}
	if mate := h.Mate; mate >= 0 && mate < len(m.fs) && m.isRod(mate) {
		t.solids = slices.Concat(t.solids, m.fs[mate].Solids, m.holds[mate].Passes)
	}
	if t.unit >= 0 {
		t.solids = slices.Concat(t.solids, m.units[t.unit].solids)
	}
	return t
}

// trap ties a captive nut to the part that it is trapped in: the one that is
// known to hold it, what it bites or else the last part that its screw passes.
func (m *matter) trap(nut int) tie {
	t := tie{unit: -1, solids: slices.Clone(m.fs[nut].Solids)}
	if by := m.holds[nut].HeldBy; len(by) > 0 {
		t.solids = append(t.solids, by...)
		return t
	}
	held := slices.Concat(m.holds[nut].Passes, m.holds[nut].Bites)
	if mate := m.holds[nut].Mate; len(held) == 0 && mate >= 0 && mate < len(m.fs) {
		held = m.holds[mate].Passes
	}
	if n := len(held); n > 0 {
		t.solids = append(t.solids, held[n-1])
	}
	return t
}

// measure tries every tool at every fastener as assembled.
func (m *matter) measure(ctx context.Context, workers int) {
	parallel(ctx, len(m.units), workers, func(i int) {
		u := &m.units[i]
		m.measureWays(u, u.main, u.ways)
		if u.nut >= 0 {
			m.measureWays(u, u.nut, u.nutWays)
		}
	})
}

func (m *matter) measureWays(u *unit, f int, ways []approach) {
	if len(ways) == 0 {
		return
	}
	against := m.s.about(ways[0].axis, widestOf(ways), m.without(u, f))
	seat := slices.Concat(m.holds[f].Bites, m.holds[f].Passes)
	n := len(ways)
	if ways[n-1].held {
		n /= 2
	}
	for i := range n {
		w := &ways[i]
		for k := range w.tools {
			w.tried = append(w.tried, m.s.try(&w.tools[k], w.axis, against))
		}
		w.out = m.s.wayOut(w, against, seat, m.fs[f].HeadD > 0 || m.fs[f].Kind == fastener.Nut)
	}
	for i := range ways[n:] { // the same tools at the same place
		w := &ways[n+i]
		w.tried = ways[i].tried
		if f != u.nut { // a screw has to come out, whichever half is turned
			w.out = ways[i].out
		}
	}
}

// without lists what cannot stand in a fastener's way: what is undone with it,
// what it is screwed to, and for a nut or ring the rod that it bites.
func (m *matter) without(u *unit, f int) []product.SolidIndex {
	out := slices.Clone(u.solids)
	if mate := m.holds[f].Mate; mate >= 0 && mate < len(m.fs) {
		out = append(out, m.fs[mate].Solids...)
	}
	switch k := &m.fs[f]; {
	case k.Kind == fastener.Nut, k.Kind == fastener.Ring && k.Head != "bore":
		out = append(out, m.holds[f].Bites...) // pliers stand beside a ring's shaft
	}
	return out
}

// parallel runs f for 0 to n-1; f(i) writes only what belongs to i.
func parallel(ctx context.Context, n, w int, f func(i int)) { workers.Run(ctx, n, w, f) }

// within5 reports whether two unit directions agree within 5°, the tolerance
// for holding a straight tool (common practice).
func within5(a, b mgl64.Vec3) bool { return a.Dot(b) >= 0.9961946980917455 }
