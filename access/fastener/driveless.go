package fastener

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

// settleDriveless looks for the thread that a round-headed shank without a
// drive bites: only where a table has its head, since knobs, feet and plugs
// look alike. Slotted rods without a head need a thread about them as well.
func (c *court) settleDriveless() {
	for i := range c.cases {
		k := &c.cases[i]
		switch {
		case k.needs == needNut && k.fits:
			if passes, bites := c.holes(k); passes && bites {
				k.needs, k.Confidence = none, 0.65
				k.say("goes through a clearance hole into a threaded one of %s", k.Size)
			}
		case k.needs == needThread:
			if _, bites := c.holes(k); bites {
				k.needs = none
				k.say("stands in a threaded hole of %s", k.Size)
			}
		}
	}
}

// holes reports whether the shank goes through a clearance hole, and whether
// it stands in one that its thread bites.
func (c *court) holes(k *instance) (passes, bites bool) {
	t, ok := table.ThreadOf(k.Size)
	tip, seat, _ := k.shankSpan()
	if !ok {
		return false, false
	}
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if k.owns(s) {
			continue
		}
		for _, g := range c.scene.Around(s, k.Axis, max(0.1, 0.05*k.shank), math.Pi) {
			if min(g.Z1, seat)-max(g.Z0, tip) < 0.3*k.shank {
				continue
			}
			d := 2 * g.R
			bites = bites || t.IsTapped(d) || d < 0.99*k.shank && d > 0.7*k.shank
			passes = passes || t.IsClearance(d)
		}
	}
	return passes, bites
}

// settleSmooth looks for the holes that a smooth shank with a head and no drive
// fills: a rivet where it closes a stack of two parts or more and hardly stands
// out of it, a pin where it holds in one hole and something has room on its end.
// What a table of screws has is left alone: a screw drawn plain, in holes drawn
// at its own diameter, looks like a rivet.
func (c *court) settleSmooth() {
	for i := range c.cases {
		k := &c.cases[i]
		if k.needs != needNut || k.fits || !k.smooth {
			continue
		}
		tip, seat, _ := k.shankSpan()
		st := c.filled(k, tip, seat, fillPlay)
		if len(st) == 0 || !c.clear(k, tip) {
			continue
		}
		in, foot := st.stacked(seat)
		const most = 0.5 // of the diameter: a closing head is made of 1 to 1.5 d, a set one stands out less
		out := foot - tip
		switch {
		case in >= 2 && out >= -stackGap && out <= most*k.shank:
			k.closesStack(in, out)
		case in >= 1 && k.isPin(seat-foot, out) && !c.contacts(k, st[0].solid):
			k.becomeSmooth(Pin, 0.65)
			k.say("a smooth shank fills a hole of its own diameter for %s mm and stands out %s mm", trim(seat-foot), trim(out))
		}
	}
}

// closesStack settles a smooth headed shank that fills holes of its own diameter
// through some parts and stands out by so much, mm: a rivet. A screw drawn plain,
// in holes drawn at its diameter, looks the same but for the chamfer of its tip
// and a head that a tool can grip: 0.5 d high and more, where the heads of flat
// and tubular rivets are 0.15 to 0.35 d (common practice).
func (k *instance) closesStack(in int, out float64) {
	const tall = 0.5
	t := table.Shank(k.shank)
	threaded := k.pointed && len(t) > 0 && near(t[0].D, k.shank, 0.005, 0)
	if threaded && k.HeadH >= tall*k.shank {
		k.needs, k.Confidence, k.Size, k.Nominal = none, 0.5, t[0].Size, t[0].D
		k.say("fills holes of its own diameter through %d parts; by its chamfered tip and high head a screw drawn plain, not a rivet", in)
		return
	}
	k.becomeSmooth(Rivet, 0.7)
	k.say("a smooth shank fills holes of its own diameter through %d parts without a gap and stands out %s mm", in, trim(max(0, out)))
	if threaded {
		k.Confidence = 0.55
		k.say("its tip is chamfered: a screw drawn plain looks the same")
	}
}

// isPin reports a thin head, and a shank that is held for most of its length
// and has an end for something to turn on or to be secured by; lengths in mm.
func (k *instance) isPin(held, out float64) bool {
	return k.HeadH <= 0.6*k.shank && held >= k.shank && held >= 0.5*(held+out) && out >= 0.3*k.shank
}

// becomeSmooth makes a screw without a drive the rivet or pin that it is.
func (k *instance) becomeSmooth(kind Kind, confidence float64) {
	k.Kind, k.Drive, k.DriveSize, k.needs, k.Confidence = kind, NoDrive, "", none, confidence
	k.Size, k.Designation, k.Nominal = trim(math.Round(k.shank*100)/100)+" mm", "", k.shank
	k.Length = math.Round((k.seat-k.Back)*10) / 10
	k.Evidence = slices.DeleteFunc(k.Evidence, func(e string) bool { return e == noDriveModelled })
}

// filled is a hole that a shank fills.
type filled struct {
	solid  product.SolidIndex
	hi, lo float64 // mm along the shank's axis
}

type fill []filled

const (
	fillPlay = 0.03 // mm on diameter: a hole drawn at the shank's own size
	stackGap = 0.05 // mm between parts that lie on each other in a model
)

// filled lists the holes that the shank of k, between two heights of its axis,
// fills with at most play mm on diameter, from the head down.
func (c *court) filled(k *instance, tip, seat, play float64) fill {
	var out fill
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if k.owns(s) || c.of[s] >= 0 && c.cases[c.of[s]].needs == none {
			continue
		}
		for _, g := range c.scene.Around(s, k.Axis, play, 1.8*math.Pi) {
			h := filled{s, min(g.Z1, seat), max(g.Z0, tip)}
			if h.hi-h.lo >= 0.1*k.shank && math.Abs(2*g.R-k.shank) <= play {
				out = append(out, h)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b filled) int { return cmp.Compare(b.hi, a.hi) })
	return out
}

// stacked counts the parts that lie on each other from the seat down, and
// tells where the last of them ends.
func (st fill) stacked(seat float64) (parts int, foot float64) {
	foot = seat
	var seen []product.SolidIndex
	for _, h := range st {
		if h.hi < foot-stackGap {
			break
		}
		foot = min(foot, h.lo)
		if !slices.Contains(seen, h.solid) {
			seen = append(seen, h.solid)
		}
	}
	return len(seen), foot
}

// clear reports that nothing stands before the tip: the hole goes through.
func (c *court) clear(k *instance, tip float64) bool {
	for _, s := range c.scene.Near(c.box(k, 0.3*k.shank)) {
		if k.owns(s) {
			continue
		}
		if _, hit := c.scene.FreeRadius(s, k.Axis, tip-0.3*k.shank, tip-0.01, 0.45*k.shank); hit {
			return false
		}
	}
	return true
}

// contacts reports three or more of the same part in one solid: the contacts of
// a connector, and no pins.
func (c *court) contacts(k *instance, in product.SolidIndex) bool {
	n, part := 0, c.scene.P.Solids[k.solid].Part
	for _, s := range c.scene.Near(c.scene.P.Solids[in].Box) {
		if c.scene.P.Solids[s].Part == part {
			n++
		}
	}
	return n >= 3
}
