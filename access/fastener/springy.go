package fastener

import (
	"fmt"
	"math"
	"slices"

	"stepscan/access/fastener/table"
)

// column is what one ray meets in all cuts together.
type column struct {
	in, out float64 // mm: nearest and farthest wall
	n       int     // cuts with material
}

// columns adds up the cuts ray by ray.
func (w *cutUp) columns() (out [polarN]column) {
	for k := range out {
		out[k].in = math.Inf(1)
		for _, c := range w.sections() {
			if c.Out[k] > 0 {
				out[k].in, out[k].out, out[k].n = min(out[k].in, c.In[k]), max(out[k].out, c.Out[k]), out[k].n+1
			}
		}
	}
	return out
}

// middle is the middle value of a list; 0 of none.
func middle(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// split reads a ring of one strip, cut through once: flat with a gap or risen
// along a helix.
func (w *cutUp) split() (specimen, bool) {
	const even = 0.9 // of the rays: the gap may stand askew
	if !w.bar() {
		return specimen{}, false
	}
	cols := w.columns()
	var in, out, n []float64
	for _, c := range cols {
		if c.n > 0 {
			in, out, n = append(in, c.in), append(out, c.out), append(n, float64(c.n))
		}
	}
	if len(n) < polarN*9/10 {
		return specimen{}, false // a ring that snaps over a shaft
	}
	r0, r1, high := middle(in), middle(out), middle(n)
	alike, bore, rim := 0, r0, r1 // the corners of a mesh lie on its walls, what is between them inside
	for _, c := range cols {
		if c.n > 0 && near(c.in, r0, 0.03, 0) && near(c.out, r1, 0.03, 0) && near(float64(c.n), high, 0.15, 1.5) {
			alike, bore, rim = alike+1, max(bore, c.in), max(rim, c.out)
		}
	}
	if float64(alike) < even*float64(len(n)) || !(r0 > 0) {
		return specimen{}, false
	}
	s := w.washer("spring", 2*bore, 2*rim, high*w.step())
	seen := fmt.Sprintf("ring Ø%s × %s mm with a bore Ø%s, cut through once", trim(s.outer), trim(high*w.step()), trim(s.Bore))
	return s, s.lockWasher(seen, high*w.step(), 0.35, 1)
}

// bar reports a surface without a hole through it, as a bar that is bent to a
// ring has and a closed ring has not: corners - edges + triangles is 2 (Euler).
func (m *flat) bar() bool {
	used := make([]bool, len(m.x))
	corners := 0
	for _, t := range m.tris {
		for _, v := range t {
			if !used[v] {
				used[v] = true
				corners++
			}
		}
	}
	return 2*corners-len(m.tris) == 4 // a closed mesh has three edges for two triangles
}

// toothed reads a thin ring with even teeth at its rim or its bore.
func (w *cutUp) toothed() (specimen, bool) {
	const least, most = 6, 40 // teeth: DIN 6797 has 6 to 16, DIN 6798 up to 20, large ones more
	cols := w.columns()
	var in, out, n []float64
	for _, c := range cols {
		if c.n == 0 {
			return specimen{}, false
		}
		in, out, n = append(in, c.in), append(out, c.out), append(n, float64(c.n))
	}
	outer, inner := waves(out), waves(in)
	ring := slices.Max(out) - slices.Min(in)
	rim, bore := slices.Max(out)-slices.Min(out), slices.Max(in)-slices.Min(in)
	count, deep, plain, where := outer, rim, bore, "rim"
	if inner > 0 {
		count, deep, plain, where = inner, bore, rim, "bore"
	}
	if count < least || count > most || outer > 0 && inner > 0 || deep < 0.15*ring || deep > 0.7*ring || plain > 0.05*ring {
		return specimen{}, false
	}
	h := middle(n) * w.step()
	s := w.washer("toothed", 2*slices.Min(in), 2*slices.Max(out), h)
	seen := fmt.Sprintf("ring Ø%s × %s mm with a bore Ø%s and %d teeth at its %s", trim(s.outer), trim(h), trim(s.Bore), count, where)
	return s, s.lockWasher(seen, h, 0.03, 0.35)
}

// waves counts the even waves of a closed polar curve, 0 where it has none.
func waves(r []float64) int {
	lo, hi := slices.Min(r), slices.Max(r)
	if !(hi > 1.03*lo) {
		return 0
	}
	falls := dips(r, (lo+hi)/2)
	n := len(falls)
	for i, k := range falls {
		pitch := (falls[(i+1)%n] - k + len(r)) % len(r)
		if n > 1 && !near(float64(pitch), float64(len(r))/float64(n), 0.35, 2) {
			return 0
		}
	}
	return n
}

// washer begins a washer of one form.
func (w *cutUp) washer(head string, d1, d2, h float64) specimen {
	s := specimen{outer: math.Round(d2*1000) / 1000}
	s.Kind, s.Head, s.Drive, s.Symmetric = Washer, head, NoDrive, true
	s.Bore, s.Length = math.Round(d1*1000)/1000, math.Round(h*1000)/1000
	s.place(w.f, w.flat, w.z1)
	return s
}

// lockWasher compares with the rows of its form. One of other measures, whose
// strip is least to most times as thick as wide, needs a head or nut that it
// lies under.
func (s *specimen) lockWasher(seen string, h, least, most float64) bool {
	for _, w := range table.Washers() {
		if w.Head == s.Head && near(s.Bore, w.D1, 0.02, 0.1) && near(s.outer, w.D2, 0.025, 0.1) && near(h, w.H, 0.15, 0.05) {
			s.Size, s.Designation, s.fits, s.Confidence = w.Size, w.Standard+" "+w.Size, true, 0.9
			if t, ok := table.ThreadOf(w.Size); ok {
				s.Nominal = t.D
			}
			s.Evidence = append(s.Evidence, fmt.Sprintf("%s: %s is %s × %s, bore %s", seen, s.Designation, trim(w.D2), trim(w.H), trim(w.D1)))
			return true
		}
	}
	strip := (s.outer - s.Bore) / 2
	if h < least*strip || h > most*strip || s.outer < 1.3*s.Bore || s.outer > 2.5*s.Bore {
		return false
	}
	s.needs, s.Confidence = needHead, 0.75
	s.Evidence = append(s.Evidence, seen+": in no table that we hold")
	return true
}

// bonded reads a flat ring whose bore has a bead that stands proud of both
// faces and narrows towards the axis: rubber on metal, which seals. The hub of
// a wheel keeps its height down to the bore.
func (m *flat) bonded(s specimen) (specimen, bool) {
	const (
		steps = 12
		outer = 8 // the steps from here on are metal alone
	)
	r0, r1 := s.Bore/2, s.outer/2
	var lo, hi [steps]float64
	for i := range steps {
		r := r0 + (float64(i)+0.5)/steps*(r1-r0)
		sin, cos := math.Sincos(0.3)
		lo[i], hi[i] = m.column(r*cos, r*sin)
	}
	metalLo, metalHi := lo[steps-2], hi[steps-2] // the last may be chamfered
	metal, peak := metalHi-metalLo, 0
	for i := range steps {
		if i >= outer && i < steps-1 && !(near(lo[i], metalLo, 0, 0.03*metal) && near(hi[i], metalHi, 0, 0.03*metal)) {
			return s, false
		}
		if hi[i]-lo[i] > hi[peak]-lo[peak] {
			peak = i
		}
	}
	up, down := hi[peak]-metalHi, metalLo-lo[peak]
	tapers := hi[0]-lo[0] < 0.97*(hi[peak]-lo[peak])
	if !(metal > 0) || peak == 0 || !tapers || !near(up, down, 0.25, 0.02) || up < 0.05*metal || up > 0.8*metal {
		return s, false
	}
	in := m.inline()
	s.Bore = math.Inf(1)
	for _, r := range in.r { // the bead's crest is an edge, which cuts pass by
		s.Bore = min(s.Bore, 2*r)
	}
	s.Bore = math.Round(s.Bore*1000) / 1000
	for _, z := range []float64{metalLo, metalHi} {
		if in.r[in.at(z)] < s.Bore/2+0.03*(r1-r0) {
			return s, false // a cylinder: a hub
		}
	}
	for _, t := range table.Threads() {
		if t.Metric() && centres(t, s.Bore) {
			s.Size, s.Nominal, s.Head, s.needs, s.Confidence = t.Size, t.D, "bonded", none, 0.75
			s.Evidence = append(s.Evidence[:0], fmt.Sprintf("ring Ø%s × %s mm whose bore Ø%s, a clearance for %s, has a bead %s mm proud of both faces",
				trim(s.outer), trim(metal), trim(s.Bore), t.Size, trim(up)))
			return s, true
		}
	}
	return s, false
}

// centres reports a bore of a sealing washer for t, which has to centre itself
// on the thread: by common practice they are 0.7 mm wider than it, which from
// M12 on is less than the fine row of ISO 273.
func centres(t table.Thread, bore float64) bool {
	return t.IsClearance(bore) || t.D >= 5 && near(bore, t.D+0.7, 0, 0.1)
}

// column is between which heights the part stands at (x, y).
func (m *flat) column(x, y float64) (lo, hi float64) {
	hi, _ = m.down(x, y)
	under := &flat{x: m.x, y: m.y, z: make([]float64, len(m.z)), tris: m.tris}
	for i, z := range m.z {
		under.z[i] = -z
	}
	lo, _ = under.down(x, y)
	return -lo, hi
}
