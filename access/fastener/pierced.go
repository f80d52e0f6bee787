package fastener

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/geom"
)

// piercedCuts is the number of cuts through a part with a bore.
const piercedCuts = 24

// pierced reads what a bore goes through and is no plain ring: washers that are
// split or toothed, nuts with wings, in a cage or for a slot, and inserts. What
// is cheap to ask comes first: most parts with a bore are something else.
func (m *flat) pierced(f geom.Frame, feat *feature.Part) (specimen, bool) {
	if m.r > 0.6*greatestR {
		return specimen{}, false // wing nuts of M10 measure 40 mm: larger is no part of ours
	}
	w := &cutUp{flat: m, f: f}
	if m.bar() {
		return w.split()
	}
	if m.z1-m.z0 < 0.3*m.r && m.wavy() {
		return w.toothed()
	}
	if w.bores = m.bores(f, feat); !w.mayThread() || m.plainRound() {
		return specimen{}, false
	}
	t := w.upsideDown()
	for _, read := range []func() (specimen, bool){w.wing, t.wing, w.cage, t.cage, w.tee, t.tee, w.castle, t.castle, w.thumbNut, t.thumbNut, w.insert, t.insert} {
		if s, ok := read(); ok {
			return s, true
		}
	}
	return specimen{}, false
}

// wavy reports teeth at the rim or the bore, half-way up.
func (m *flat) wavy() bool {
	c := m.cut((m.z0 + m.z1) / 2)
	return c.inner(math.Inf(1)).Open == 0 && c.outer().Open == 0 && (waves(c.In[:]) > 0 || waves(c.Out[:]) > 0)
}

// plainRound reports a tube, which has nothing outside that holds it.
func (m *flat) plainRound() bool {
	o := m.cut((m.z0 + m.z1) / 2).outer()
	return o.Open == 0 && o.Min > 0.97*o.Max && m.straight(m.z0, m.z1, m.r)
}

// cutUp is a part with a bore, cut at even heights from the lower end up.
type cutUp struct {
	*flat
	f     geom.Frame
	cuts  []*section // once asked for
	bores []bore
}

// sections makes the cuts.
func (w *cutUp) sections() []*section {
	if w.cuts == nil {
		w.cuts = w.layers(piercedCuts)
	}
	return w.cuts
}

// mayThread reports that one of the bores may be the thread of something as
// wide and high as this.
func (w *cutUp) mayThread() bool {
	const (
		slim, wide  = 0.6, 3.5 // radius over diameter: rivet nuts to wing nuts
		short, high = 0.5, 5.0 // height over it
	)
	l := w.z1 - w.z0
	for _, b := range w.bores {
		for _, t := range b.threads() {
			if w.r > slim*t.D && w.r < wide*t.D && l > short*t.D && l < high*t.D {
				return true
			}
		}
	}
	return false
}

// upsideDown is the same part with its other end up.
func (w *cutUp) upsideDown() *cutUp {
	t := &cutUp{flat: w.turned(), f: upsideDown(w.f)}
	for i := len(w.bores) - 1; i >= 0; i-- {
		b := w.bores[i]
		b.z0, b.z1 = -b.z1, -b.z0
		t.bores = append(t.bores, b)
	}
	return t
}

// step is the height between cuts.
func (w *cutUp) step() float64 { return (w.z1 - w.z0) / piercedCuts }

// at is the height of a cut.
func (w *cutUp) at(i int) float64 { return w.z0 + (float64(i)+0.5)*w.step() }

// nut begins a nut that a hand turns or that is held from turning, with its
// thread told by the bore alone.
func (w *cutUp) nut(head string, b bore) (specimen, table.Thread, bool) {
	s := specimen{}
	s.Kind, s.Head, s.Drive, s.Bore, s.Confidence = Nut, head, NoDrive, b.d, 0.75
	h := w.z1 - w.z0
	s.HeadD, s.HeadH, s.Length = 2*w.r, h, math.Round(h*1000)/1000
	s.place(w.f, w.flat, w.z1)
	t := b.threads()
	if len(t) == 0 {
		return s, table.Thread{}, false
	}
	s.Size, s.Nominal = t[0].Size, t[0].D
	return s, t[0], true
}

// lug is a stretch of rays of a cut that reach beyond a radius: its middle
// and width as angles, rad, how far it reaches and half its thickness, mm.
type lug struct{ at, width, reach, half float64 }

// beyond lists the stretches of rays whose outer wall is beyond r.
func (s *section) beyond(r float64) []lug {
	const step = 2 * math.Pi / polarN
	start := -1
	for k := range polarN {
		if !(s.Out[k] > r) {
			start = k
			break
		}
	}
	if start < 0 {
		return nil // all of them
	}
	var out []lug
	for i := 0; i < polarN; i++ {
		k := (start + i) % polarN
		if !(s.Out[k] > r) {
			continue
		}
		l := lug{}
		from := i
		for ; i < polarN && s.Out[(start+i)%polarN] > r; i++ {
			l.reach = max(l.reach, s.Out[(start+i)%polarN])
		}
		l.at, l.width = (float64(start)+float64(from+i)/2)*step, float64(i-from)*step
		for j := from; j < i; j++ {
			k := (start + j) % polarN
			if a := (float64(start+j)+0.5)*step - l.at; math.Cos(a) > 0 {
				l.half = max(l.half, math.Abs(s.Out[k]*math.Sin(a)))
			}
		}
		out = append(out, l)
	}
	return out
}

// opposite reports two lobes that face each other and reach as far.
func opposite(l []lug) bool {
	if len(l) != 2 {
		return false
	}
	off := math.Abs(math.Remainder(l[1].at-l[0].at-math.Pi, 2*math.Pi))
	return off < 0.15 && near(l[0].reach, l[1].reach, 0.06, 0)
}

// wing reads a hub with two thin wings that rise above it, as DIN 315 has them.
func (w *cutUp) wing() (specimen, bool) {
	b := w.bores[0]
	s, t, ok := w.nut("wing", b)
	if !ok || b.length() < 0.5*t.D || b.z0 > w.z0+0.25*t.D || w.r < 1.7*t.D || w.r > 4.5*t.D {
		return specimen{}, false
	}
	hub, above := 0.0, 0
	for i, c := range w.sections() {
		o := c.outer()
		if o.Open == 0 && hub == 0 {
			hub = o.Max
			if o.Min < 0.9*o.Max || hub > 1.5*t.D {
				return specimen{}, false // no round foot
			}
		}
		if w.at(i) < b.z1 {
			continue
		}
		l := c.beyond(0.5 * t.D)
		if above++; !opposite(l) || l[0].half > 0.4*t.D {
			return specimen{}, false
		}
	}
	if hub == 0 || hub > 0.6*w.r || float64(above)*w.step() < 0.2*(w.z1-w.z0) {
		return specimen{}, false
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("hub Ø%s with a bore Ø%s (%s) and two wings that rise above it, %s mm over both", trim(2*hub), trim(b.d), t.Size, trim(2*w.r)))
	return s, true
}

// oblong is a cut whose outside lies between two pairs of flats.
type oblong struct {
	wide, narrow float64 // mm
	corner       float64 // how far it reaches, over the corner of the rectangle
	ok           bool
}

// oblong reads a closed cut as a rectangle about the axis, which may lack its
// corners.
func (s *section) oblong() oblong {
	o := s.outer()
	if o.Open > 0 {
		return oblong{}
	}
	_, a, b, c, d := s.sides()
	if !near(a, c, 0.04, 0.02) || !near(b, d, 0.04, 0.02) {
		return oblong{}
	}
	return oblong{max(a+c, b+d), min(a+c, b+d), o.Max / math.Hypot((a+c)/2, (b+d)/2), true}
}

// cage reads a square nut in a cage of sheet: the cheeks of the sheet stand on
// two opposite sides of the square, and its ears beyond the face of the nut on
// the same sides. Here the ears are up; the nut leaves the other way. The sheet
// may lie before the face with the ears, with a hole that clears the screw, and
// its cheeks may be bent over the other face.
func (w *cutUp) cage() (specimen, bool) {
	b := w.narrowest()
	s, t, ok := w.nut("cage", b)
	if ok {
		t, ok = w.passes(b)
		s.Size, s.Nominal = t.Size, t.D
	}
	if !ok || b.length() < 0.5*t.D || b.length() > 1.6*t.D {
		return specimen{}, false
	}
	var nut oblong
	bent, body, before, ears := 0, 0, 0, 0
	for _, c := range w.sections() {
		switch o := c.oblong(); {
		case o.ok && ears == 0 && body > 0 && c.least() > 0.53*b.d:
			before++
		case o.ok && ears == 0 && before == 0:
			if body++; o.narrow > nut.narrow || nut.wide == 0 {
				nut = o
			}
		case opposite(c.beyond(b.d/2)) && c.least() > 0.48*b.d: // facets of a bore lie inside it
			if body == 0 {
				bent++
			} else {
				ears++
			}
		}
	}
	sheet := (nut.wide - nut.narrow) / 2
	if ears < 2 || bent > piercedCuts/6 || before > piercedCuts/6 || bent+body+before+ears < piercedCuts-1 ||
		nut.corner > 0.97 || nut.narrow < 1.5*t.D || nut.narrow > 2.7*t.D || sheet < 0.06*t.D || sheet > 0.35*t.D {
		return specimen{}, false
	}
	s.Length = math.Round((float64(body)*w.step())*10) / 10
	s.Axis, s.Back = axisAt(upsideDown(w.f), -w.z0), w.z0-w.z1 // the screw comes from the ears
	s.Point = s.Axis.O
	s.Evidence = append(s.Evidence, fmt.Sprintf("square %s mm with a bore Ø%s (%s) between cheeks of sheet %s mm thick, with an ear beyond each", trim(nut.narrow), trim(b.d), t.Size, trim(sheet)))
	return s, true
}

// passes is the thread of the narrowest stretch of the hole whose screw the
// wider ones beside it let through.
func (w *cutUp) passes(b bore) (table.Thread, bool) {
	room := math.Inf(1)
	for _, o := range w.bores {
		if o.d > 1.03*b.d {
			room = min(room, o.d)
		}
	}
	for _, t := range b.threads() {
		if t.D < 0.99*room {
			return t, true
		}
	}
	return table.Thread{}, false
}

// narrowest is the narrowest stretch of the hole.
func (w *cutUp) narrowest() bore {
	return slices.MinFunc(w.bores, func(a, b bore) int { return cmp.Compare(a.d, b.d) })
}

// tee reads a foot with a narrower neck of the same length above it, as nuts
// for T-slots have them. The foot is up: that way it leaves the screw.
func (w *cutUp) tee() (specimen, bool) {
	b := w.bores[0]
	s, t, ok := w.nut("tee", b)
	if !ok || len(w.bores) > 1 || b.length() < 0.7*t.D {
		return specimen{}, false
	}
	var neck, foot oblong
	necks, feet, broken := 0, 0, 0
	for _, c := range w.sections() {
		o := c.oblong()
		switch {
		case !o.ok || o.corner < 0.9 || o.corner > 1.01:
			return specimen{}, false
		case necks == 0 || feet == 0 && near(o.narrow, neck.narrow, 0.02, 0) && near(o.wide, neck.wide, 0.02, 0):
			neck, necks = o, necks+1
		case broken == 0 && (feet == 0 || near(o.narrow, foot.narrow, 0.02, 0) && near(o.wide, foot.wide, 0.02, 0)):
			foot, feet = o, feet+1
		case o.narrow > 0.7*foot.narrow && o.narrow < foot.narrow && o.wide < 1.02*foot.wide:
			broken++ // the edges of the foot's face
		default:
			return specimen{}, false
		}
	}
	n, found := nutRow(b, neck.narrow, s.Length, "tee")
	if found { // the same bore may be a larger thread's drilled hole
		s.Size, s.Nominal = n.Size, n.D
		t, _ = table.ThreadOf(n.Size)
	}
	long := near(foot.wide, neck.wide, 0.02, 0) && foot.narrow > 1.2*neck.narrow || near(foot.narrow, neck.wide, 0.02, 0) && foot.wide > 1.2*neck.narrow
	if necks < 3 || feet < 3 || broken > feet || !long || neck.narrow < 1.1*t.D || neck.narrow > 1.8*t.D || foot.wide > 4*t.D {
		return specimen{}, false
	}
	seen := fmt.Sprintf("foot %s × %s mm, neck %s mm wide, %s mm high, with a bore Ø%s", trim(foot.wide), trim(foot.narrow), trim(neck.narrow), trim(s.Length), trim(b.d))
	s.Evidence = append(s.Evidence, seen)
	switch {
	case found:
		s.Size, s.Nominal, s.fits, s.Confidence = n.Size, n.D, true, 0.9
		s.Designation = n.Standard + " " + n.Size
		s.Evidence = append(s.Evidence, fmt.Sprintf("slot %s, height %s: %s %s", trim(n.S), trim(n.MMax), n.Standard, n.Size))
	case b.atMinor(t) && w.openMouths(b.d, t) > 0:
		s.Evidence = append(s.Evidence, fmt.Sprintf("the bore is tapped for %s", t.Size))
	default:
		return specimen{}, false
	}
	return s, true
}
