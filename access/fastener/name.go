package fastener

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener/name"
	"stepscan/access/fastener/table"
)

// reader keeps what it has read: many occurrences share a name.
type reader map[string]name.Statement

// of takes the first of the names that says a kind.
func (r reader) of(names ...string) name.Statement {
	for _, n := range names {
		if n == "" {
			continue
		}
		s, ok := r[n]
		if !ok {
			s = name.Read(n)
			r[n] = s
		}
		if s.Says() {
			return s
		}
	}
	return name.Statement{}
}

// settleNames lets names confirm, contradict, or decide what is still open.
func (c *court) settleNames() {
	for i := range c.cases {
		k := &c.cases[i]
		said := Kind(k.word.Kind())
		switch {
		case said == "":
		case k.needs == needNut && (said == Rivet || said == Pin):
			k.becomeSmooth(said, 0.6)
			k.say("the name says %q", k.word.Word)
		case k.agrees():
			k.confirmed()
		case k.needs == none:
			k.against("the name says %q, the shape says %s", k.word.Word, k.Kind)
		}
	}
}

// agrees reports whether a kind that the name may mean is that of the shape.
func (k *instance) agrees() bool {
	return slices.ContainsFunc(k.word.Kinds, func(said string) bool { return Kind(said).like(k.Kind) })
}

// like reports kinds that trade words do not keep apart.
func (a Kind) like(b Kind) bool {
	shank := func(k Kind) bool { return k == Screw || k == Bolt || k == SetScrew || k == Stud }
	return a == b || shank(a) && shank(b) || a.besides(b) || b.besides(a)
}

// besides reports kinds that have words in common: inserts are sold as nuts,
// stand-offs as nuts, bolts or studs, circlips as rings or clips, spring rings
// as washers.
func (a Kind) besides(b Kind) bool {
	switch a {
	case Insert:
		return b == Nut
	case StandOff:
		return b == Nut || b == Bolt || b == Screw || b == Stud
	case Ring:
		return b == Washer || b == Clip
	}
	return false
}

// confirmed takes over what the name says beyond the kind and holds it against
// what was measured.
func (k *instance) confirmed() {
	if k.needs != none {
		if k.word.Weak && k.word.Size == "" && k.word.Diameter == 0 {
			return // a disc or a rod that is called by what it looks like
		}
		k.needs, k.Confidence = none, 0.6
	}
	k.say("the name says %q", k.word.Word)
	before := k.Conflict
	k.holdSize()
	k.holdHead()
	k.holdDrive()
	k.holdLength()
	if k.Conflict != before {
		return
	}
	k.trust(0.2)
	if k.word.Standard != "" && k.word.Size != "" {
		k.trust(0.2)
		k.designate()
	}
}

// against keeps a conflict between the name and the shape: the shape stands, and
// is trusted less.
func (k *instance) against(format string, args ...any) {
	k.say(format, args...)
	text := k.Evidence[len(k.Evidence)-1]
	if k.Conflict != "" {
		k.Conflict += "; " + text
		return
	}
	k.Conflict = text
	k.Confidence = math.Round((k.Confidence-0.1)*100) / 100
}

// namedThread is the thread of a size as names and standards write it, which
// leave the number of threads of inch sizes out.
func namedThread(size string) (table.Thread, bool) {
	if size == "" {
		return table.Thread{}, false
	}
	for _, t := range table.Threads() {
		if sameThread(t.Size, size) {
			return t, true
		}
	}
	return table.Thread{}, false
}

// holdSize compares the size. Where the shape left it open, or a table does not
// have it, any thread that can be drawn so may be meant and the name settles
// which.
func (k *instance) holdSize() {
	t, ok := namedThread(k.word.Size)
	if !ok {
		k.holdDiameter()
		return
	}
	if k.Size != "" && (sameThread(k.Size, k.word.Size) || sameThread(k.word.Size, k.Size)) {
		return
	}
	measured, lo, hi := k.threaded(t)
	switch {
	case measured == 0:
	case measured < lo || measured > hi || k.fits && k.Size != "":
		k.against("the name says %s, the shape says %s", k.word.Size, k.measuredSize(measured))
	default:
		k.Size, k.Nominal, k.Designation = t.Size, t.D, ""
		k.say("the size %s is by the name alone", t.Size)
	}
}

// threaded is the diameter that shows the thread's size, 0 without one, and
// between which it is drawn for thread t, mm: a shank from its minor diameter to
// the major one, the bore of a nut alike, a washer's with clearance (ISO 7092 to
// ISO 7093 and DIN 7349 have 1.03 to 1.15 d).
func (k *instance) threaded(t table.Thread) (d, lo, hi float64) {
	const play = 0.03 // share of the diameter
	switch k.Kind {
	case Screw, Bolt, SetScrew, Stud:
		return k.shank, (1 - play) * cmp.Or(t.D3, 0.75*t.D), (1 + play) * t.D
	case Nut, Insert:
		return k.Bore, (1 - play) * cmp.Or(t.D1, 0.75*t.D), 1.05 * t.D
	case Washer:
		return k.Bore, t.D, 1.35 * t.D
	}
	return 0, 0, 0
}

// measuredSize is the size in words, with the diameter that it rests on.
func (k *instance) measuredSize(measured float64) string {
	what := "bore"
	if k.Bore == 0 {
		what = "shank"
	}
	if k.Size == "" {
		return what + " Ø" + trim(measured)
	}
	return k.Size + " (" + what + " Ø" + trim(measured) + ")"
}

// holdDiameter compares the diameter of kinds without a thread.
func (k *instance) holdDiameter() {
	d := k.word.Diameter
	if (k.Kind == Pin || k.Kind == Rivet) && d > 0 && k.Nominal > 0 && !near(k.Nominal, d, 0.03, 0.1) {
		k.against("the name says Ø%s, the shape says Ø%s", trim(d), trim(k.Nominal))
	}
}

// turns reports kinds whose head, drive and length names state.
func (k *instance) turns() bool {
	return k.Kind == Screw || k.Kind == Bolt || k.Kind == SetScrew || k.Kind == Stud
}

// holdHead compares the head: domes and cylinders shade into each other.
func (k *instance) holdHead() {
	said := k.word.Head
	if said == "" || k.Head == "" || !k.turns() || headsAgree(said, k.Head) {
		return
	}
	k.against("the name says a head that is %s, the shape one that is %s", said, k.Head)
}

// headsAgree reports heads that a shape does not tell apart.
func headsAgree(a, b string) bool {
	if a == b {
		return true
	}
	for _, list := range kin {
		if slices.Contains(list, a) && slices.Contains(list, b) {
			return true
		}
	}
	return false
}

// holdDrive compares the drive that a standard has with the measured one.
func (k *instance) holdDrive() {
	said := Drive(k.word.Drive)
	switch {
	case said == "" || said == NoDrive || k.Drive == UnknownDrive || k.Drive == NoDrive || !k.turns():
	case said == k.Drive, k.Drive == Combination, said == Hexalobular && k.Drive == PinHexalobular:
	default:
		k.against("the name says the drive is %s (%s), the shape %s", said, k.word.Standard, k.Drive)
	}
}

// holdLength compares the length; nominal lengths are rounded, and tips are
// drawn with and without their point.
func (k *instance) holdLength() {
	l := k.word.Length
	if l == 0 || !k.turns() && k.Kind != Pin {
		return
	}
	switch {
	case k.Length == 0:
		k.Length = l
		k.say("the length %s is by the name alone", trim(l))
	case !near(k.Length, l, 0.04, 0.6):
		k.against("the name says %s mm long, the shape %s", trim(l), trim(k.Length))
	}
}

// designate gives a fastener that no table's row fits, or whose drive is not
// modelled, the designation of its name.
func (k *instance) designate() {
	if k.Designation != "" {
		return
	}
	k.Designation = k.word.Standard + " " + k.word.Size
	if k.turns() && k.Length > 0 {
		k.Designation += "×" + trim(k.Length)
	}
	k.say("the designation is by the name")
}
