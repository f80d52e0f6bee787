package fastener

import (
	"fmt"
	"strings"
)

// Grip is one way to turn a fastener: where the tool grips and its size, in the
// words of Drive and DriveSize.
type Grip struct {
	Drive Drive
	Size  string
	Depth float64 // mm that the tool enters below Point; 0 for outer drives
}

// Ways lists the grips of a fastener, best first: those of a combination, else
// the one that it has. It is empty where there is none, or none that is known.
func (f *Fastener) Ways() []Grip {
	switch f.Drive {
	case NoDrive, UnknownDrive, "":
		return nil
	case Combination:
		return f.Grips
	}
	return []Grip{{f.Drive, f.DriveSize, f.RecessDepth}}
}

// Best is the first of the ways, or the drive as it stands.
func (f *Fastener) Best() Grip {
	if w := f.Ways(); len(w) > 0 {
		return w[0]
	}
	return Grip{f.Drive, f.DriveSize, f.RecessDepth}
}

// Limits of a slot that is meant for a blade, over its width or the head's
// diameter: slots of ISO 1207, 1580 and 2009 are 0.5 n to 1.3 n deep and n is
// 0.11 dk to 0.17 dk, 0.07 dk in the wide heads of DIN 465 (from memory). What is shallower is a mark, what is wider a groove.
const (
	slotShallow = 0.4
	slotFine    = 0.06
	slotWide    = 0.3
)

// blunt reports a slot that no blade holds in.
func (r *recess) blunt(headR float64) bool {
	return r.drive == Slot && (r.depth < slotShallow*r.a || r.a < slotFine*2*headR || r.a > slotWide*2*headR)
}

// atop adds what is cut into the top of an outer hexagon or square.
func (s *specimen) atop(r recess, headR float64) {
	switch r.drive {
	case HexSocket, Hexalobular, Cross, Slot:
		if size := r.size(s.shank); size != "" && !r.blunt(headR) {
			s.add(r, size)
		}
	}
}

// slotAbove adds a slot that goes through a recess from rim to rim: cross, square
// and hexalobular ones are made so (common practice).
func (s *specimen) slotAbove(m *flat, r recess, headR float64) {
	switch {
	case r.drive == Cross && r.a > 0, r.drive == Square, r.drive == Hexalobular:
	default:
		return
	}
	if slot, ok := m.slotAcross(r.depth); ok && !slot.blunt(headR) {
		s.add(slot, slot.size(0))
	}
}

func (s *specimen) add(r recess, size string) {
	s.also = append(s.also, Grip{r.drive, size, r.depth})
	s.RecessDepth = max(s.RecessDepth, r.depth)
	s.Evidence = append(s.Evidence, "and a "+recessText(r, size))
}

// combine says what drive it all makes: the tables know the first grip only, so
// it comes after them. A standard for the first alone does not have the rest.
func (s *specimen) combine() {
	switch {
	case s.pinned:
		s.Drive, s.Designation = PinHexalobular, ""
		s.Evidence = append(s.Evidence, "a pin stands in the middle of the recess: the bit needs a bore")
	case len(s.also) > 0:
		s.Grips = append([]Grip{{s.Drive, s.DriveSize, s.depth}}, s.also...)
		s.Drive, s.Designation = Combination, ""
		var sizes []string
		for _, g := range s.Grips {
			sizes = append(sizes, g.Size)
		}
		s.DriveSize = strings.Join(sizes, " + ")
		s.Evidence = append(s.Evidence, fmt.Sprintf("several tools fit: %s", s.DriveSize))
	}
}

// slotAcross looks for a slot through the top of the head, down to depth mm.
func (m *flat) slotAcross(depth float64) (recess, bool) {
	const cuts = 24
	out, n := recess{drive: Slot}, 0
	for i := range cuts {
		t := (float64(i) + 0.5) / cuts * depth
		w, l, ok := m.cut(m.z1 - t).slot()
		if !ok && n > 0 {
			break // below its floor
		}
		if !ok {
			continue // in a crown the cross may be open to the side as well
		}
		out.a, out.b, out.depth = out.a+w, max(out.b, l), t+0.5/cuts*depth
		n++
	}
	if n < 3 {
		return recess{}, false
	}
	out.a /= float64(n)
	return out, true
}
