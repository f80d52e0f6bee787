package table

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// ThreadOf is the thread of a size ("M4", "#8-32"). An inch size without its
// pitch ("#8") is the coarse one, which the table has first.
func ThreadOf(size string) (Thread, bool) {
	for _, t := range Threads() {
		if pitch, ok := strings.CutPrefix(t.Size, size); size != "" && ok && (pitch == "" || pitch[0] == '-') {
			return t, true
		}
	}
	return Thread{}, false
}

// Fit is a thread that a measured diameter can be, and how far off it is,
// relative to the diameter: what is drawn seldom counts as farther.
type Fit struct {
	Thread
	Off float64
}

// fitTol is how far a modelled diameter may be from a tabulated one, mm: models
// are drawn at nominal or at the middle of the tolerance zone (ISO 965-1, 6g:
// 0.02 to 0.05 below nominal for M2 to M12).
func fitTol(d float64) float64 { return 0.03 + 0.012*d }

// drawn is one way to draw a thread: at which diameter, and how much worse
// than the commonest way it counts, relative to the diameter.
type drawn struct{ d, worse float64 }

// Shank lists the threads that a modelled shank of diameter d mm can be, best
// first: drawn at the major diameter, else at the minor diameter of the screw
// or of the nut, or (seldom) at the pitch diameter.
func Shank(d float64) []Thread { return threads(Shanks(d)) }

// Shanks is Shank with how far off each thread is.
func Shanks(d float64) []Fit {
	return nearest(d, func(t Thread) []drawn {
		if t.FinePitch() {
			return nil // nothing on a plain rod says so
		}
		return []drawn{{t.D, 0}, {t.D3, 0.006}, {t.D1, 0.006}, {t.D2, 0.03}}
	})
}

// How turns tell a thread.
const (
	pitchTol = 0.05 // threads of like diameter differ by 0.09 or more
	proven   = 0.7  // of what a rare series counts worse is made up by its pitch
)

// Turned lists the threads that modelled turns can be, best first, by the
// diameter d of their crests and their pitch, mm: both have to agree.
func Turned(d, pitch float64) []Thread { return threads(TurnedFits(d, pitch)) }

// TurnedFits is Turned with how far off each thread is.
func TurnedFits(d, pitch float64) []Fit {
	return nearest(d, func(t Thread) []drawn {
		if t.Pitch == 0 || !(math.Abs(t.Pitch-pitch) <= pitchTol*t.Pitch) {
			return nil
		}
		return []drawn{{t.D, math.Abs(t.Pitch-pitch)/t.Pitch - proven*rare(t)}}
	})
}

// Bore lists the threads that a modelled nut bore of diameter d mm can be:
// drawn at the minor diameter of the nut, at the tap drill, or at the major
// diameter.
func Bore(d float64) []Thread {
	return threads(nearest(d, func(t Thread) []drawn {
		if t.FinePitch() || t.Tapping() { // sheet is holed for the latter, not threaded
			return nil
		}
		return []drawn{{t.D1, 0}, {t.Tap, 0.003}, {t.D, 0.006}}
	}))
}

// TurnedBore lists the threads that turns modelled in a hole can be, best first,
// by the diameter d of their crests, which is the minor one, and their pitch,
// mm: both have to agree.
func TurnedBore(d, pitch float64) []Thread {
	return threads(nearest(d, func(t Thread) []drawn {
		if t.Pitch == 0 || t.D1 == 0 || !(math.Abs(t.Pitch-pitch) <= pitchTol*t.Pitch) {
			return nil
		}
		return []drawn{{t.D1, math.Abs(t.Pitch-pitch)/t.Pitch - proven*rare(t)}}
	}))
}

// Cone is the angle of a countersunk head, degrees: 82 in ASME, 90 in ISO, EN
// and DIN.
func (h Head) Cone() float64 {
	if strings.HasPrefix(h.Standard, "ASME") {
		return 82
	}
	return 90
}

// rare is what a series counts worse than metric coarse: about the tolerance
// of a drawn diameter for inch, more for the rest and for M7, which ISO 262
// leaves out.
func rare(t Thread) float64 {
	switch {
	case t.Size == "M7":
		return 0.02
	case t.Metric(), t.FinePitch(): // only turns tell the latter, and they do
		return 0
	case t.Series == "inch UNC":
		return 0.012
	case t.Series == "inch UNF":
		return 0.013
	}
	return 0.03
}

// nearest ranks threads by how well one of their diameters equals d.
func nearest(d float64, ways func(Thread) []drawn) []Fit {
	var out []Fit
	for _, t := range Threads() {
		best := math.Inf(1)
		for _, w := range ways(t) {
			if w.d > 0 && math.Abs(w.d-d) <= fitTol(w.d) {
				best = min(best, math.Abs(w.d-d)/w.d+w.worse+rare(t))
			}
		}
		if !math.IsInf(best, 1) {
			out = append(out, Fit{t, best})
		}
	}
	slices.SortStableFunc(out, func(a, b Fit) int { return cmp.Compare(a.Off, b.Off) })
	return out
}

// threads leaves out how far off they are.
func threads(fits []Fit) []Thread {
	out := make([]Thread, len(fits))
	for i, f := range fits {
		out[i] = f.Thread
	}
	return out
}

// IsTapped reports whether a hole of diameter d mm is drawn as a thread for t:
// within [D1 - 0.15 P, D1 + 0.35 P], which holds the minor diameter and the
// tap drill (common practice, computed from the table).
func (t Thread) IsTapped(d float64) bool {
	return d >= t.D1-0.15*t.Pitch && d <= t.D1+0.35*t.Pitch
}

// IsClearance reports whether a hole of diameter d mm lies in the ISO 273
// fine to coarse band for t, 0.05 mm to both sides. Where the standard has no
// row the band is 1.05 to 1.2 of the diameter.
func (t Thread) IsClearance(d float64) bool {
	lo, hi := t.Fine, t.Coarse
	if lo == 0 {
		lo, hi = 1.05*t.D, 1.2*t.D
	}
	return d >= lo-0.05 && d <= hi+0.05
}
