package fastener

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"stepscan/access/fastener/table"
)

// Thread is the family of a fastener's thread, in the words of the report.
type Thread string

// The families. A washer, a pin or a rivet has none, and where the size is not
// known neither is the thread.
const (
	UnknownThread  Thread = ""
	MetricThread   Thread = "metric"
	InchThread     Thread = "inch"
	TappingThread  Thread = "tapping"  // cuts or forms its way into sheet or wood: ISO 1478 and alike
	PlasticsThread Thread = "plastics" // forms its way into plastics: coarser than any standard for its diameter
)

// thread is what a rod shows of its thread. It is read once, from outlines in
// half planes through the axis, for which rings and a helix look alike:
//
//	   ┌ crest ┐
//	───┘\  /\  /\──┐      pitch: from valley to valley
//	     \/  \/    └ point
//	      root
//
// A rod without turns has crest == root and pitch 0; whether it is drawn at the
// thread's nominal or its minor diameter (d3, D1) what goes with it decides.
type thread struct {
	crest, root float64 // mm, diameters
	pitch       float64 // mm; 0 where no turns are modelled
	turns       int     // valleys counted
	z0, z1      float64 // heights of the lowest and highest of them
	gimlet      bool    // the lower end tapers to a point, as ISO 1478 form C does
}

const (
	fewestTurns = 3    // evenly spaced valleys that make a thread
	shallowest  = 0.05 // of the radius: less deep is no valley (M20×1 has 0.06)
	unevenMost  = 0.12 // spacing of valleys, off their median
)

// readThread reads the rod between two heights, which is d mm thick as its
// outline shows it.
func (m *flat) readThread(lo, hi, d float64) thread {
	t := thread{crest: d, root: d, gimlet: m.gimlet(lo, d)}
	var found []thread
	for _, angle := range [...]float64{0.11, 2.23, 4.37} { // rad: on no seam or symmetry of a part
		if one, ok := m.meridian(angle, lo, hi, d).turns(d); ok {
			found = append(found, one)
		}
	}
	if len(found) < 2 {
		return t // a notch or a flat on one side
	}
	slices.SortFunc(found, func(a, b thread) int { return cmp.Compare(a.pitch, b.pitch) })
	best := found[len(found)/2]
	for _, one := range found {
		if !near(one.pitch, best.pitch, 0.05, 0) {
			return t
		}
		best.root = max(best.root, one.root) // facets cut a valley's floor deeper
	}
	best.crest, best.gimlet = m.crest(best, d), t.gimlet
	return best
}

// crest is the diameter over the turns: the corners of a mesh lie on it, what
// is between them inside by the chord error.
func (m *flat) crest(t thread, d float64) float64 {
	p, r := m.outline(), 0.0
	for i := p.at(t.z0); i <= p.at(t.z1); i++ {
		r = max(r, p.r[i])
	}
	if near(2*r, d, 0.01, 0) {
		return d // exact where a cylinder of the crests gave it
	}
	return 2 * r
}

// slimCore is how slim a core may be, over the crests: screws for wood and
// plastics have 0.55 to 0.65 (common practice of makers' lists).
const slimCore = 0.55

// crests is the radius over the turns that the outline shows below a step, 0
// without any or where they are wider than limit; about is that of most steps,
// which with V grooves is somewhere on the flanks. A helix shows no turns here.
func (p *profile) crests(end int, about, limit float64) float64 {
	h := half{z0: p.z0, dz: p.dz, r: p.r[:end]}
	t, ok := h.turns(2 * about)
	if !ok { // a core between sharp crests: the pitch is the crests' measure
		t, ok = h.turns(2 * about / slimCore)
	}
	if !ok {
		return 0
	}
	r := 0.0
	for i := p.at(t.z0); i <= p.at(t.z1); i++ {
		r = max(r, p.r[i])
	}
	if r > limit || r > about/slimCore { // deeper turns leave no sound shank
		return 0
	}
	return r
}

// gimlet reports a lower end that narrows to a point over more than 0.7 d: 45
// degrees give 1.2 d (ISO 1478 form C), the cone point of a set screw (ISO
// 4027, 90 degrees) 0.5 d.
func (m *flat) gimlet(lo, d float64) bool {
	const (
		sharp = 0.2 // of the diameter, at the very end
		slim  = 0.7 // of the diameter: the taper's least length
	)
	p := m.outline()
	i := p.at(lo)
	if 2*p.r[i] > sharp*d {
		return false
	}
	for i < profileN && 2*p.r[i] < 0.9*d {
		i++
	}
	return p.height(i)-lo >= slim*d
}

// half is an outline in one half plane through the axis: the greatest radius
// at evenly spaced heights.
type half struct {
	z0, dz float64
	r      []float64
	inside bool // it holds the least radius instead
}

// meridian cuts the part in the half plane at an angle, finely enough for the
// finest threads of a rod d thick (P is 0.1 d or more) and for their roots.
func (m *flat) meridian(angle, lo, hi, d float64) *half {
	return m.halfPlane(angle, lo, hi, d, false)
}

// halfPlane is meridian, or, inside, the least radius instead: +Inf where
// nothing stands about the axis.
func (m *flat) halfPlane(angle, lo, hi, d float64, inside bool) *half {
	const (
		finest       = 0.006 // of d
		fewest, most = 200, 8000
		effort       = 4e8 // samples times triangles: what a hostile mesh may cost
	)
	if !(hi > lo) || !(d > 0) {
		return &half{}
	}
	n := int(max(fewest, min(most, (hi-lo)/(finest*d), effort/float64(len(m.tris)+1))))
	h := &half{z0: lo, dz: (hi - lo) / float64(n), r: make([]float64, n), inside: inside}
	for i := range h.r {
		if inside {
			h.r[i] = math.Inf(1)
		}
	}
	sin, cos := math.Sincos(angle)
	across := func(i int32) float64 { return m.y[i]*cos - m.x[i]*sin }
	along := func(i int32) float64 { return m.x[i]*cos + m.y[i]*sin }
	for _, t := range m.tris {
		var x, z [2]float64
		k := 0
		for e := range 3 {
			a, b := t[e], t[(e+1)%3]
			ya, yb := across(a), across(b)
			if (ya >= 0) == (yb >= 0) || k > 1 {
				continue
			}
			s := ya / (ya - yb)
			x[k], z[k] = along(a)+s*(along(b)-along(a)), m.z[a]+s*(m.z[b]-m.z[a])
			k++
		}
		if k == 2 {
			h.put(x, z)
		}
	}
	return h
}

// put takes a piece of outline, two points (x, z), into the samples it spans.
func (h *half) put(x, z [2]float64) {
	if z[0] > z[1] {
		x[0], x[1], z[0], z[1] = x[1], x[0], z[1], z[0]
	}
	if !(z[1] > z[0]) {
		return
	}
	i0 := max(0, int(math.Ceil((z[0]-h.z0)/h.dz-0.5)))
	i1 := min(len(h.r)-1, int(math.Floor((z[1]-h.z0)/h.dz-0.5)))
	for i := i0; i <= i1; i++ {
		s := (h.height(i) - z[0]) / (z[1] - z[0])
		switch r := x[0] + s*(x[1]-x[0]); {
		case !h.inside:
			h.r[i] = max(h.r[i], r)
		case r >= 0:
			h.r[i] = min(h.r[i], r)
		}
	}
}

// height is that of a sample.
func (h *half) height(i int) float64 { return h.z0 + (float64(i)+0.5)*h.dz }

// valley is a dent of the outline: its middle, and the radius of its floor.
type valley struct{ z, r float64 }

// valleys lists the dents between two higher places, from below; a dent is
// deeper than depth, mm.
func (h *half) valleys(depth float64) []valley {
	var out []valley
	top, floor, at := 0.0, 0.0, -1 // at: the sample of the floor, -1 while rising
	for i, r := range h.r {
		switch {
		case at < 0 && r >= top:
			top = r
		case at < 0 && r < top-depth:
			floor, at = r, i
		case at >= 0 && r < floor:
			floor, at = r, i
		case at >= 0 && r > floor+depth:
			out = append(out, h.dent(at, floor+depth/2))
			top, at = r, -1
		}
	}
	return out
}

// dent measures the valley about a sample, between the places where its walls
// are as high as level.
func (h *half) dent(at int, level float64) valley {
	lo, hi := at, at
	for lo > 0 && h.r[lo] < level {
		lo--
	}
	for hi < len(h.r)-1 && h.r[hi] < level {
		hi++
	}
	return valley{z: 0.5 * (h.height(lo) + h.height(hi)), r: h.r[at]}
}

// turns finds the longest run of evenly spaced valleys, and whether they are a
// thread: of one depth, and no further apart than half the diameter.
func (h *half) turns(d float64) (thread, bool) {
	all := h.valleys(shallowest * d / 2)
	var best []valley
	for i := 0; i+1 < len(all); {
		j := i + 1
		for j+1 < len(all) && near(all[j+1].z-all[j].z, all[i+1].z-all[i].z, unevenMost, 2*h.dz) && near(all[j+1].r, all[i+1].r, 0.1, 0) {
			j++
		}
		if j-i+1 > len(best) {
			best = all[i : j+1]
		}
		i = j
	}
	n := len(best)
	if n < fewestTurns {
		return thread{}, false
	}
	t := thread{turns: n, z0: best[0].z, z1: best[n-1].z, pitch: (best[n-1].z - best[0].z) / float64(n-1), crest: d}
	floors := slices.Clone(best)
	slices.SortFunc(floors, func(a, b valley) int { return cmp.Compare(a.r, b.r) })
	t.root = 2 * floors[n/2].r // a run-out is shallower
	return t, t.pitch < 0.6*d && t.root > 0.4*d
}

// coarse is the pitch over the diameter from which a thread is none for nuts
// and tapped holes: metric and inch threads have 0.22 at most (M1.6, #10-24),
// tapping screws 0.29 and more (ISO 1478, from memory).
const coarse = 0.26

// family tells what the thread is from its turns and its point alone.
func (t thread) family() Thread {
	switch {
	case t.gimlet:
		return TappingThread
	case t.pitch == 0:
		return UnknownThread
	case t.pitch >= coarse*t.crest:
		for _, row := range table.Turned(t.crest, t.pitch) {
			if row.Tapping() {
				return TappingThread
			}
		}
		return PlasticsThread
	}
	for _, row := range table.Turned(t.crest, t.pitch) {
		return familyOf(row.Size)
	}
	return UnknownThread
}

// mayBe reports whether a size of the tables goes with the thread's family:
// tapping screws need a sign of tapping, and what taps is no machine screw.
func (t thread) mayBe(size string) bool {
	switch f := t.family(); f {
	case TappingThread, PlasticsThread:
		return familyOf(size) == f
	}
	return familyOf(size) != TappingThread
}

// familyOf tells a thread's family by its designation.
func familyOf(size string) Thread {
	switch {
	case strings.HasPrefix(size, "ST"):
		return TappingThread
	case strings.HasPrefix(size, "M"):
		return MetricThread
	case strings.HasPrefix(size, "#"), strings.Contains(size, "/"):
		return InchThread
	}
	return UnknownThread
}

// threadOf is the family that is reported for a case: that of its size, or for
// sizes that are diameters that of the turns or the point.
func (s *specimen) threadOf() Thread {
	switch s.Kind {
	case Washer, Pin, Rivet, Ring, Clip, CableTie:
		return UnknownThread
	}
	if f := familyOf(s.Size); f != UnknownThread || s.Size == "" {
		return f
	}
	return s.thread.family()
}
