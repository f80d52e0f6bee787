package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// What threaded inserts measure, over the thread's diameter (common practice of
// makers' lists, M2 to M10): those set by heat, pressed or moulded in 1.4 to
// 1.8 across, self-tapping ones 1.6, blind rivet nuts 1.4 to 1.7, all 0.8 to 3
// long.
const (
	insertSlim, insertWide  = 1.25, 2.1
	insertShort, insertLong = 0.7, 4.0
	insertUsual             = 1.55
)

// hold is what holds an insert in its hole.
type hold struct {
	ribs    int     // bands of full width between grooves
	barbed  bool    // the ribs rise slowly and fall at once
	knurled int     // notches round it
	pilot   bool    // an end is smooth and narrower than the rest
	slot    float64 // mm: width of a slot across its upper end
	flange  float64 // mm: diameter of a flange at its upper end
	bodyR   float64 // mm: greatest radius but for the flange
	flangeZ float64 // lower face of the flange
}

// insert reads a threaded bush that holds by its outside: what is smooth is a
// bush or a spacer. A slot or a flange is at the upper end.
func (w *cutUp) insert() (specimen, bool) {
	if _, _, ok := w.insertThread(0.8 * w.r); !ok { // a flange is 1.25 to 1.7 times as wide as the body
		if _, _, ok := w.insertThread(w.r); !ok {
			return specimen{}, false
		}
	}
	h := w.holds()
	b, t, ok := w.insertThread(h.bodyR)
	if !ok {
		return specimen{}, false
	}
	what := h.name(w, b, t)
	if what == "" {
		return specimen{}, false
	}
	l := w.z1 - w.z0
	s := specimen{outer: 2 * h.bodyR}
	s.Kind, s.Drive, s.Size, s.Nominal, s.Bore = Insert, NoDrive, t.Size, t.D, b.d
	s.Length, s.Confidence, s.Symmetric = math.Round(l*1000)/1000, 0.75, h.slot == 0 && h.flange == 0
	s.place(w.f, w.flat, w.z1)
	if h.slot > 0 {
		s.Drive, s.DriveSize = Slot, blade(h.slot, 2*h.bodyR)
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("bush Ø%s × %s mm with a bore Ø%s (%s) and %s", trim(2*h.bodyR), trim(l), trim(b.d), t.Size, what))
	return s, true
}

// insertThread picks the bore and the thread that go with the outside best.
func (w *cutUp) insertThread(r float64) (b bore, t table.Thread, ok bool) {
	const (
		rank = 0.03 // how much worse the next way to draw a thread counts
		odd  = 0.15 // the same of a series that inserts are seldom made in
	)
	l, least := w.z1-w.z0, math.Inf(1)
	for _, c := range w.bores {
		for i, o := range c.threads() {
			ratio := 2 * r / o.D
			if ratio < insertSlim || ratio > insertWide || l < insertShort*o.D || l > insertLong*o.D || c.length() < 0.6*o.D {
				continue
			}
			if o.Pitch == 0 || o.D1 == 0 {
				continue
			}
			off := math.Abs(ratio-insertUsual) + rank*float64(i)
			if !o.Metric() {
				off += odd
			}
			if off < least {
				b, t, least, ok = c, o, off, true
			}
		}
	}
	return b, t, ok
}

// holds reads the outside.
func (w *cutUp) holds() hold {
	p := w.outline()
	h := hold{bodyR: p.max(), flangeZ: w.z1}
	w.flanged(p, &h)
	h.ribs, h.barbed = w.bands(p, &h)
	h.knurled = w.notches(&h)
	h.pilot = w.pilots(p, h.bodyR)
	h.slot = w.slotInEnd(h.bodyR)
	return h
}

// notches counts the notches round the body where it has its full width: on most
// of it, since drive wheels and pulleys have a plain hub or flanges beside their
// teeth.
func (w *cutUp) notches(h *hold) int {
	most, wide, knurled := 0, 0, 0
	for i, c := range w.sections() {
		if w.at(i) >= h.flangeZ {
			break
		}
		if c.outer().Max <= 0.985*h.bodyR {
			continue
		}
		wide++
		if n := c.knurl(); n >= 5 {
			most, knurled = max(most, n), knurled+1
		}
	}
	if 3*knurled < 2*wide {
		return 0
	}
	return most
}

// pilots reports a smooth neck of 0.8 to 0.95 of the body's radius at an end,
// over 0.1 of the length or more: it guides an insert into its hole.
func (w *cutUp) pilots(p *profile, r float64) bool {
	const slim, wide, long = 0.8, 0.95, profileN / 10
	for _, from := range []int{0, profileN - long} {
		even := 0
		for i := from; i < from+long; i++ {
			if p.r[i] > slim*r && p.r[i] < wide*r {
				even++
			}
		}
		if c := w.cut(p.height(from + long/2)).outer(); even >= long*4/5 && c.Open == 0 && c.Min > 0.97*c.Max {
			return true
		}
	}
	return false
}

// flanged finds a thin flange at the upper end.
func (w *cutUp) flanged(p *profile, h *hold) {
	top := profileN - 1
	wide := top
	for wide > 0 && p.r[wide] > 0.8*h.bodyR {
		wide--
	}
	high := float64(top-wide) * p.dz
	rest := 0.0
	for i := 0; i < wide; i++ {
		rest = max(rest, p.r[i])
	}
	if rest > 0 && rest < 0.87*h.bodyR && high < 0.25*(w.z1-w.z0) {
		h.flange, h.bodyR, h.flangeZ = 2*h.bodyR, rest, p.height(wide+1)
	}
}

// bands counts the stretches of full width with deeper ones between, below the
// flange, and tells whether most of them rise over a longer way than they fall,
// as barbs do and turns of a thread do not.
func (w *cutUp) bands(p *profile, h *hold) (n int, barbed bool) {
	const full, deep = 0.985, 0.955
	up, down, slow := 0, 0, 0
	state := -1 // last of: 1 full width, 0 a groove
	last := 0   // step at which the last state ended
	end := p.at(h.flangeZ)
	for i := 0; i < end; i++ {
		switch r := p.r[i] / h.bodyR; {
		case r > full:
			if state != 1 {
				n++
				up = i - last
			}
			state, last = 1, i
		case r < deep:
			if state == 1 {
				if down = i - last; up >= 3*down || down >= 3*max(up, 1) {
					slow++
				}
			}
			state, last = 0, i
		}
	}
	return n, slow >= 3
}

// knurl counts the notches of a round cut, 0 where it is round or notched
// deeper than knurls are: gears are. The facets of a mesh make waves too, which
// are those of a polygon: shallow for their number, and seldom at full width.
func (s *section) knurl() int {
	const (
		least, most = 0.03, 0.15 // depth over radius: a gear of 20 teeth has 0.2
		full        = 0.985
	)
	o := s.outer()
	deep := 1 - o.Min/o.Max
	if o.Open > 0 || deep < least || deep > most {
		return 0
	}
	n, wide := len(dips(s.Out[:], (o.Min+o.Max)/2)), 0
	for _, r := range s.Out {
		if r > full*o.Max {
			wide++
		}
	}
	facet := 1 - math.Cos(math.Pi/float64(max(n, 3)))
	if deep < 1.5*facet+0.01 && 2*wide < polarN {
		return 0
	}
	return n
}

// slotInEnd is the width of a slot right across the upper end, mm, 0 without. The
// wall of the bore is too near the rim for section.slot, which looks at the walls
// beyond a recess.
func (w *cutUp) slotInEnd(r float64) float64 {
	c := w.sections()[piercedCuts-1]
	l := c.beyond(0)
	if len(l) != 2 || !opposite(l) {
		return 0
	}
	at := (l[0].at + math.Pi/2) // the slot's direction
	half := math.Inf(1)
	for k := range c.In {
		if math.IsInf(c.In[k], 1) || c.In[k] > 0.99*r {
			continue
		}
		half = min(half, math.Abs(c.In[k]*math.Sin((float64(k)+0.5)*2*math.Pi/polarN-at)))
	}
	if math.IsInf(half, 1) || half > 0.3*r {
		return 0
	}
	return 2 * half
}

// name says in words what makes it an insert, "" for nothing.
func (h *hold) name(w *cutUp, b bore, t table.Thread) string {
	minor := b.atMinor(t)
	switch {
	case h.flange > 0 && h.skirt(w, b, t):
		return fmt.Sprintf("a flange Ø%s and a thin wall below it, as blind rivet nuts have", trim(h.flange))
	case h.slot > 0 && h.ribs >= 3:
		return fmt.Sprintf("%d turns round it and a slot %s mm wide", h.ribs, trim(h.slot))
	case h.knurled > 0 && h.ribs >= 2:
		return fmt.Sprintf("%d notches along it and a groove", h.knurled)
	case h.knurled >= 8 && minor && h.pilot:
		return fmt.Sprintf("%d notches along a part of it and a pilot that enters first", h.knurled)
	case h.ribs >= 4 && (h.barbed || minor), h.ribs >= 3 && h.barbed && minor:
		if h.barbed {
			return fmt.Sprintf("%d barbs", h.ribs)
		}
		return fmt.Sprintf("%d turns round it", h.ribs)
	}
	return ""
}

// skirt reports a bore that is threaded in its lower half only and clears the
// thread above it, leaving a wall of the body that a tool can bulge.
func (h *hold) skirt(w *cutUp, b bore, t table.Thread) bool {
	const wall = 0.25 // of the diameter at most (common makes: 0.1 to 0.23)
	l := w.z1 - w.z0
	if b.z0 > w.z0+0.1*l || b.length() > 0.75*l {
		return false
	}
	for _, o := range w.bores {
		if o.d >= t.D && h.bodyR-o.d/2 <= wall*t.D && o.d > 1.01*b.d && o.z0 >= b.z1-0.1*l && o.length() >= 0.25*l && o.z1 >= w.z1-0.15*l {
			return true
		}
	}
	return false
}

// bush reads a smooth bush whose bore is as narrow as the thread of a screw.
// That it is threaded only its surroundings tell.
func (m *flat) bush(f geom.Frame, feat *feature.Part) (specimen, bool) {
	w := &cutUp{flat: m, f: f, bores: m.bores(f, feat)}
	b, t, ok := w.insertThread(m.r)
	l := m.z1 - m.z0
	if !ok || b.length() < 0.8*l || b.turns || !t.IsTapped(b.d) || !m.straight(m.z0, m.z1, m.r) {
		return specimen{}, false
	}
	for _, c := range m.layers(evenCuts) {
		if o := c.outer(); o.Open > 0 || o.Min < 0.97*o.Max {
			return specimen{}, false
		}
	}
	s := specimen{outer: 2 * m.r}
	s.Kind, s.Drive, s.Size, s.Nominal, s.Bore, s.Symmetric = Insert, NoDrive, t.Size, t.D, b.d, true
	s.Length, s.Confidence, s.needs = math.Round(l*1000)/1000, 0.65, needBoss
	s.place(f, m, m.z1)
	s.Evidence = append(s.Evidence, fmt.Sprintf("smooth bush Ø%s × %s mm with a bore Ø%s (%s)", trim(2*m.r), trim(l), trim(b.d), t.Size))
	return s, true
}
