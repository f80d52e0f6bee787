package fastener

import (
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// bore is a stretch of the hole about the axis that a thread may be in.
type bore struct {
	d      float64 // mm, narrowest
	z0, z1 float64 // heights
	turns  bool    // the thread is modelled
	pitch  float64 // mm, of its turns; 0 where they are too few to tell
}

func (b bore) length() float64 { return b.z1 - b.z0 }

// bores lists the stretches of the hole about the axis by height: a modelled
// thread, and cylinders beside it, or, where turns leave none, the whole of it.
func (m *flat) bores(f geom.Frame, feat *feature.Part) []bore {
	out := m.cylinders(f, feat)
	if !plain(out, m.z1-m.z0) {
		if b, ok := m.wound(); ok {
			out = append(without(out, b), b)
		}
	}
	if len(out) == 0 {
		if b, ok := m.turns(); ok {
			return []bore{b}
		}
	}
	slices.SortStableFunc(out, func(a, b bore) int {
		switch {
		case a.z0 < b.z0:
			return -1
		case a.z0 > b.z0:
			return 1
		}
		return 0
	})
	return out
}

// turns reads a hole from the lower end whose wall goes in and out by the depth
// of a thread all along. The crests give its diameter.
func (m *flat) turns() (bore, bool) {
	const (
		cuts  = 12
		depth = 1.35 // root over crest: M1.6 has 1.31
		least = 1.04 // the same
	)
	crest, end := m.holeFromBelow()
	open := 0
	for i := range cuts {
		c := m.cut(m.z0 + (0.15+0.7*(float64(i)+0.5)/cuts)*(end-m.z0)).inner(math.Inf(1))
		if c.Open > 0 || c.Max > depth*crest || c.Fold > 2 { // a hexagon's or a square's corners are no roots
			return bore{}, false
		}
		if c.Max > least*crest {
			open++
		}
	}
	if !(crest > 0) || math.IsInf(crest, 1) || 2*open < cuts {
		return bore{}, false
	}
	return bore{d: 2 * m.leastCorner(m.z0, end, 4*crest), z0: m.z0, z1: end, turns: true}, true
}

// inline is the least radius about the axis by height, the counterpart of the
// outline: +Inf where nothing stands about the axis.
func (m *flat) inline() *profile {
	p := &profile{z0: m.z0, dz: (m.z1 - m.z0) / profileN, inside: true}
	for i := range p.r {
		p.r[i] = math.Inf(1)
	}
	if !(p.dz > 0) {
		return p
	}
	for _, t := range m.tris {
		p.edge(m, t[0], t[1])
		p.edge(m, t[1], t[2])
		p.edge(m, t[2], t[0])
	}
	for i := range p.r { // squares until here
		p.r[i] = math.Sqrt(p.r[i])
	}
	return p
}

// threads lists what the bore may be the thread of, best first: by its turns, or
// drawn at the minor diameter, the tapping drill or the major diameter.
func (b bore) threads() []table.Thread {
	if b.pitch > 0 {
		return table.TurnedBore(b.d, b.pitch)
	}
	return table.Bore(b.d)
}

// atMinor reports a bore as narrow as the minor diameter or the tapping drill
// of t, which no plain hole for a part of that nominal diameter is.
func (b bore) atMinor(t table.Thread) bool { return b.turns || t.IsTapped(b.d) }

// openMouths counts the ends of the part at which the bore widens to the
// thread's diameter or a little more, so that a screw finds in.
func (m *flat) openMouths(d float64, t table.Thread) (ends int) {
	const (
		edge   = 0.005 // of the thread's diameter from the end: what a chamfer has lost there is little
		widest = 1.3   // of it: more is a countersink
	)
	for _, z := range []float64{m.z0 + edge*t.D, m.z1 - edge*t.D} {
		c := m.cut(z).inner(math.Inf(1)) // its greatest width is met at corners, which lie on the surface
		if w := 2 * c.Max; c.Open == 0 && w >= 0.97*t.D && w >= 1.01*d && w <= widest*t.D {
			ends++
		}
	}
	return ends
}

// layers cuts the part at n even heights.
func (m *flat) layers(n int) []*section {
	out := make([]*section, n)
	for i := range out {
		out[i] = m.cut(m.z0 + (float64(i)+0.5)/float64(n)*(m.z1-m.z0))
	}
	return out
}
