package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/table"
)

// kin lists for each head that a shape can show the table's heads that it may
// be: domes and cylinders shade into each other in the models.
var kin = map[string][]string{
	"cylindrical":         {"cylindrical", "cheese", "pan"},
	"pan":                 {"pan", "button", "cylindrical", "cheese", "button with collar"},
	"button":              {"button", "pan", "button with collar"},
	"countersunk":         {"countersunk"},
	"raised countersunk":  {"raised countersunk", "countersunk"},
	"hexagon":             {"hexagon"},
	"hexagon with flange": {"hexagon"},
}

// Limits of a match, but for angles relative to the standard's value. Models are drawn at
// nominal, at the limits, or between; a head that is farther off is of no
// standard that we hold.
const (
	dkLimit    = 0.02
	kLimit     = 0.04
	shankLimit = 0.03
	coneLimit  = 4 // degrees: countersunk heads have 82 (inch) or 90 (metric)
)

// residual is how far a modelled screw is from a table's row, each relative.
type residual struct{ dk, k, shank, drive float64 }

func (r residual) sum() float64 { return r.dk + r.k + r.shank + r.drive }

func (r residual) fits() bool {
	return r.dk <= dkLimit && r.k <= kLimit && r.shank <= shankLimit && r.drive == 0
}

// nameHeaded sets size, designation and confidence from the tables.
func (s *specimen) nameHeaded(o silhouette) {
	h, res, found := s.bestHead(o)
	switch {
	case found && res.fits():
		s.adopt(h, o)
		s.sayThread()
		s.Confidence = 0.95
	default:
		s.ownSize()
		s.sizeCross()
		s.Confidence = 0.8
		if s.Drive == OuterHex || s.Drive == Square {
			s.Confidence = 0.7
		}
		s.Evidence = append(s.Evidence, fmt.Sprintf("shank Ø%s, head Ø%s × %s: in no table that we hold",
			trim(s.shank), trim(s.HeadD), trim(s.HeadH)))
	}
	if s.needs == needNut {
		s.Confidence = 0.5
	}
}

// bestHead is the row that is nearest to the specimen.
func (s *specimen) bestHead(o silhouette) (best table.Head, res residual, ok bool) {
	least := math.Inf(1)
	for _, h := range table.Heads() {
		if !s.mayBe(&h, o) {
			continue
		}
		r := s.compare(&h, o)
		sum := r.sum() + s.fromNominal(&h, o)
		if h.Head != s.Head {
			sum += 0.005 // the head's own word first
		}
		if _, inch := table.ThreadOf(h.Size); !inch || h.Size[0] != 'M' {
			sum += 0.002 // metric coarse first where both fit
		}
		if sum < least {
			best, res, least, ok = h, r, sum, true
		}
	}
	return best, res, ok
}

// fromNominal prefers, among rows within whose limits the head lies, the one
// at whose upper limit (where models are drawn) it is. The rim of a
// countersunk head is drawn in too many ways for that.
func (s *specimen) fromNominal(h *table.Head, o silhouette) float64 {
	if o.sunk || h.Head == "hexagon" || h.DkMax == 0 || h.KMax == 0 {
		return 0
	}
	return 0.1 * (math.Abs(s.HeadD-h.DkMax)/h.DkMax + math.Abs(s.HeadH-h.KMax)/h.KMax)
}

func (s *specimen) mayBe(h *table.Head, o silhouette) bool {
	if s.Drive != UnknownDrive && h.Drive != string(s.Drive) {
		return false
	}
	// Drawn plain, the two hexagon screws look alike and the commoner is named.
	switch h.Standard {
	case "ISO 4014":
		if !o.partly {
			return false
		}
	case "ISO 4017", "DIN 933":
		if o.partly {
			return false
		}
	}
	return isKin(s.Head, h.Head) && s.thread.mayBe(h.Size)
}

func (s *specimen) compare(h *table.Head, o silhouette) (r residual) {
	r.shank = s.shankOff(h)
	if h.Head == "hexagon" {
		r.dk = math.Abs(s.across-h.S) / h.S
	} else {
		if h.DkMax == 0 {
			r.dk = 1 // our source leaves the head open
			return r
		}
		lo := h.DkMin
		if lo == 0 {
			lo = 0.96 * h.DkMax // usual tolerance of heads: h14 to h13
		}
		r.dk = outside(s.HeadD, lo, h.DkMax)
		if o.sunk && h.DkSharp > 0 {
			const seldom = 0.004 // drawn to the sharp rim counts worse than to a real one
			r.dk = min(r.dk, seldom+math.Abs(s.HeadD-h.DkSharp)/h.DkSharp)
		}
		if o.sunk && o.angle > 0 && math.Abs(o.angle-h.Cone()) > coneLimit {
			r.dk = 1 // a screw for another countersink
		}
		r.drive = s.driveOff(h)
	}
	if o.sunk || h.KMax == 0 {
		return r // the depth of a cone follows from its two diameters
	}
	lo := h.KMin
	if lo == 0 {
		lo = 0.9 * h.KMax
	}
	if s.Head == "pan" || s.Head == "button" {
		lo -= 0.08 * h.KMax // the recess takes away the crown's top
	}
	r.k = outside(s.HeadH, lo, h.KMax)
	return r
}

// outside is how far v is beyond the range, relative to its upper end.
func outside(v, lo, hi float64) float64 { return max(0, lo-v, v-hi) / hi }

// shankOff compares the shank with the row's thread: turns by their crests and
// pitch; a plain rod is drawn at d, or for a cosmetic thread at d3, D1 or d2.
func (s *specimen) shankOff(h *table.Head) float64 {
	off := math.Abs(s.shank-h.D) / h.D
	if s.thread.pitch > 0 {
		return math.Abs(s.thread.crest-h.D)/h.D + s.pitchOff(h)
	}
	for _, t := range table.Threads() {
		if !sameThread(t.Size, h.Size) {
			continue
		}
		for _, v := range []float64{t.D3, t.D1, t.D2} {
			if v > 0 {
				off = min(off, 0.01+math.Abs(s.shank-v)/v)
			}
		}
	}
	return off
}

// pitchOff is 0 where turns have a pitch of the row's size, little where they
// are finer (fine threads have the same heads), and 1 where they are coarser.
func (s *specimen) pitchOff(h *table.Head) float64 {
	const (
		same = 0.06 // of the pitch
		fine = 0.01
	)
	least := math.Inf(1)
	for _, t := range table.Threads() {
		if t.Pitch > 0 && sameThread(t.Size, h.Size) {
			if near(s.thread.pitch, t.Pitch, same, 0) {
				return 0
			}
			least = min(least, t.Pitch)
		}
	}
	if s.thread.pitch < least {
		return fine
	}
	return 1
}

// driveOff is 0 where the drive's size is the row's, 0.1 where it is another.
// Hexagonal sockets are drawn from nominal to 4 % above (2.58 for 2.5).
func (s *specimen) driveOff(h *table.Head) float64 {
	switch {
	case s.Drive == UnknownDrive || s.Drive == Slot || h.DriveSize == "" || s.DriveSize == h.DriveSize:
		return 0
	case s.Drive == HexSocket && h.S > 0 && s.across > 0.985*h.S && s.across < 1.045*h.S:
		return 0
	case s.Drive == Cross && len(h.DriveSize) == 3 && mouthFits(s.across, int(h.DriveSize[2]-'0')):
		return 0
	}
	return 0.1
}

// adopt takes size and designation from a row that fits.
func (s *specimen) adopt(h table.Head, o silhouette) {
	s.fits = true
	s.Size, s.Nominal = h.Size, h.D
	s.exactSize()
	if h.Head != "hexagon" || s.Head == "hexagon" {
		s.Head = h.Head
	}
	switch s.Drive {
	case Cross: // the number is the row's, the type is the recess's own
		if len(h.DriveSize) > 2 && len(s.DriveSize) > 2 {
			s.DriveSize = s.DriveSize[:2] + h.DriveSize[2:]
		}
	case HexSocket, OuterHex:
		if h.DriveSize != "" {
			s.DriveSize = h.DriveSize
		}
	}
	if s.Drive != UnknownDrive {
		s.Designation = fmt.Sprintf("%s %s×%s", h.Standard, s.Size, trim(s.Length))
	}
	dk := trim(h.DkMax)
	if o.sunk && math.Abs(s.HeadD-h.DkSharp) < math.Abs(s.HeadD-h.DkMax) {
		dk = trim(h.DkSharp) + " to the sharp rim"
	}
	what := fmt.Sprintf("head Ø%s (standard %s)", trim(s.HeadD), dk)
	if h.Head == "hexagon" {
		what = fmt.Sprintf("flats %s (standard %s)", s.DriveSize, trim(h.S))
	}
	if !o.sunk && h.KMax > 0 {
		what += fmt.Sprintf(", height %s (%s)", trim(s.HeadH), trim(h.KMax))
	}
	s.Evidence = append(s.Evidence, fmt.Sprintf("%s, shank Ø%s (%s): %s %s", what, trim(s.shank), trim(h.D), h.Standard, h.Size))
}
