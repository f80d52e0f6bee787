package fastener

import (
	"fmt"
	"math"
	"strings"

	"stepscan/access/fastener/table"
)

// Costs that settle the size of a fastener that no row of the tables has as a
// whole, in the measure of table.Fit: shares of a diameter.
const (
	headWeight = 0.2  // of how far the head is off the usual one for the size
	wrongDrive = 0.04 // the size has another key, blade or bit
	noRow      = 0.02 // the tables say nothing about the size with such a head
)

// candidates lists the threads that the shank may be by itself: by diameter
// and pitch where turns are modelled, else by the diameters that a plain rod
// is drawn at.
func (s *specimen) candidates() []table.Fit {
	fits := table.Shanks(s.shank)
	if s.thread.pitch > 0 {
		fits = table.TurnedFits(s.thread.crest, s.thread.pitch)
	}
	var out []table.Fit
	for _, f := range fits {
		if s.thread.mayBe(f.Size) {
			out = append(out, f)
		}
	}
	return out
}

// bestThread is the candidate that shank, head and drive together speak for: a
// rod of 4.02 mm is M4 a little too thick or M5 drawn at d3, and its socket or
// its head tells which.
func (s *specimen) bestThread() (table.Thread, bool) {
	var best table.Fit
	least := math.Inf(1)
	for _, f := range s.candidates() {
		if cost := f.Off + s.unlike(f.Thread); cost < least {
			best, least = f, cost
		}
	}
	return best.Thread, !math.IsInf(least, 1)
}

// unlike is how badly head and drive go with a thread, by the tables' rows of
// its size: 0 for a perfect match, the least of all rows with such a head.
func (s *specimen) unlike(t table.Thread) float64 {
	off, drive, rows := math.Inf(1), math.Inf(1), 0
	for _, h := range table.Heads() {
		if !sameThread(t.Size, h.Size) || !isKin(s.Head, h.Head) {
			continue
		}
		rows++
		off = min(off, s.headUnlike(&h))
		if s.Drive != UnknownDrive && h.Drive == string(s.Drive) {
			drive = min(drive, s.driveOff(&h)+s.slotOff(&h)+s.narrow(&h))
		}
	}
	if rows == 0 {
		return noRow
	}
	cost := headWeight * off
	switch {
	case math.IsInf(drive, 1):
		cost += noRow
	case drive > 0.05:
		cost += wrongDrive
	default:
		cost += drive
	}
	return cost
}

// narrow is how far a hexagon socket is narrower than the row's, which no key
// would enter: sockets are made and drawn at their nominal width or above it.
func (s *specimen) narrow(h *table.Head) float64 {
	if s.Drive != HexSocket || h.S == 0 {
		return 0
	}
	return max(0, (h.S-s.across)/h.S-1e-4) // inch widths are rounded
}

// headUnlike compares the head's width and height with a row's, relative.
func (s *specimen) headUnlike(h *table.Head) float64 {
	switch {
	case h.Head == "none":
		return 0
	case h.Head == "hexagon":
		return math.Abs(s.across-h.S) / h.S
	case h.DkMax == 0:
		return 0
	}
	off := math.Abs(s.HeadD-h.DkMax) / h.DkMax
	if h.KMax > 0 && !strings.Contains(h.Head, "countersunk") {
		off += 0.5 * math.Abs(s.HeadH-h.KMax) / h.KMax // heights vary more
	}
	return off
}

// isKin reports that a head of the tables may be what a shape shows; a
// headless rod goes with set screws.
func isKin(shown, row string) bool {
	if shown == "" {
		return row == "none"
	}
	for _, k := range kin[shown] {
		if k == row {
			return true
		}
	}
	return false
}

// ownSize tells the thread of a screw whose head is in no table.
func (s *specimen) ownSize() {
	if t, ok := s.bestThread(); ok {
		s.Size, s.Nominal = t.Size, t.D
	} else if f := s.thread.family(); f == TappingThread || f == PlasticsThread {
		d := math.Round(s.thread.crest*10) / 10
		s.Size, s.Nominal = trim(d)+" mm", s.thread.crest
	}
	s.sayThread()
}

// sizeCross tells the cross recess again, now by the thread's size.
func (s *specimen) sizeCross() {
	if s.Drive == Cross && s.Size != "" {
		s.DriveSize = recess{drive: Cross, a: s.across, typeZ: strings.HasPrefix(s.DriveSize, "PZ")}.size(s.Nominal)
	}
}

// sayThread puts the turns and the point into the evidence.
func (s *specimen) sayThread() {
	if s.thread.pitch > 0 {
		s.Evidence = append(s.Evidence, fmt.Sprintf("turns of Ø%s over Ø%s, pitch %s: %s", trim(s.thread.crest), trim(s.thread.root), trim(s.thread.pitch), s.thread.words(s.Size)))
	}
	if s.thread.gimlet {
		s.Evidence = append(s.Evidence, "the shank ends in a point, as tapping screws do")
	}
}

// words names the thread of a size as its turns show it.
func (t thread) words(size string) string {
	switch f := t.family(); {
	case f == PlasticsThread:
		return "coarser than any standard, for plastics"
	case f == TappingThread:
		return "a tapping screw's"
	case f == UnknownThread:
		return "of no series that we hold"
	}
	for _, row := range table.Turned(t.crest, t.pitch) {
		if sameThread(row.Size, size) {
			return row.Size
		}
	}
	return "not that of " + size
}

// exactSize puts the pitch to a size that lacks it ("#10", or "M8" for a fine
// thread) where turns are modelled.
func (s *specimen) exactSize() {
	if s.thread.pitch == 0 {
		return
	}
	for _, row := range table.Turned(s.thread.crest, s.thread.pitch) {
		if sameThread(row.Size, s.Size) {
			s.Size = row.Size
			return
		}
	}
}

// coneAngle is the angle of the cone under a countersunk head, degrees, by the
// outline between shank and rim; 0 where it is not straight.
func (m *flat) coneAngle(o silhouette) float64 {
	if !o.sunk {
		return 0
	}
	p := m.outline()
	lo, hi := o.shankR+0.25*(o.headR-o.shankR), o.shankR+0.85*(o.headR-o.shankR)
	i := p.at(o.seat)
	for i < profileN-1 && p.r[i] < lo {
		i++
	}
	j := i
	for j < profileN-1 && p.r[j+1] < hi && p.r[j+1] > p.r[j] {
		j++
	}
	if j-i < 4 {
		return 0 // too few steps to tell 82 degrees from 90
	}
	half := func(a, b int) float64 { return math.Atan2(p.r[b]-p.r[a], float64(b-a)*p.dz) }
	mid := (i + j) / 2
	if a, b := half(i, mid), half(mid, j); math.Abs(a-b) > 0.05 {
		return 0 // rounded
	}
	return 2 * half(i, j) * 180 / math.Pi
}
