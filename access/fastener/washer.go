package fastener

import (
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

// touch is how far apart, mm, faces that bear on each other may be in a model.
const touch = 0.15

// settleWasher looks for what makes a ring of no table a washer: a head or a
// nut that it lies under, a shank that it is slipped on, or a tapped hole that
// it lies over.
func (c *court) settleWasher(k *instance) {
	if !c.underHead(k) && !c.slippedOn(k) {
		c.overThread(k)
	}
}

// underHead looks for the head or nut that a ring lies under.
func (c *court) underHead(k *instance) bool {
	for _, s := range c.scene.Near(c.box(k, touch)) {
		j := c.of[s]
		if j < 0 || k.owns(s) || c.cases[j].needs != none {
			continue
		}
		o := &c.cases[j]
		if !feature.Coaxial(o.Axis, k.Axis, max(0.3, 0.08*k.Bore), 0.02) || !o.bearsOn(k) && !c.keeps(o, k) {
			continue
		}
		k.needs = none
		k.Nominal, k.Size = o.Nominal, o.Size
		k.say("lies under %s", c.scene.P.Name(s))
		return true
	}
	return false
}

// bearsOn reports whether the head or nut o bears on the ring k.
func (o *instance) bearsOn(k *instance) bool {
	a, b := o.Axis.Height(k.Axis.At(k.Back)), o.Axis.Height(k.Axis.At(k.Front))
	lo, hi := min(a, b), max(a, b)
	d := o.Nominal
	// Thick washers (DIN 6340, DIN 7349) have half the thread's diameter, from
	// memory; bushes and bearings more.
	const thickest = 0.6
	if k.Bore < 0.98*d || k.Bore > 1.4*d || k.Length > thickest*d {
		return false
	}
	switch o.Kind {
	case Nut:
		return math.Abs(hi-o.Back) <= touch || math.Abs(lo-o.Front) <= touch
	case Screw, Bolt:
		return math.Abs(hi-o.seat) <= touch
	}
	return false
}

// slippedOn looks for the end of a threaded shank that stands out of the ring,
// where the ring bears on a part and nothing stands before its other face: the
// nut is not modelled. A spacer has something to hold apart.
func (c *court) slippedOn(k *instance) bool {
	for _, s := range c.scene.Near(c.box(k, touch)) {
		j := c.of[s]
		if j < 0 || k.owns(s) || c.cases[j].needs != none {
			continue
		}
		o := &c.cases[j]
		tip, seat, ok := o.shankSpan()
		if !ok || k.Bore < 0.99*o.Nominal || k.Bore > 1.25*o.Nominal || !feature.Coaxial(o.Axis, k.Axis, max(0.3, 0.08*k.Bore), 0.02) {
			continue
		}
		a, b := o.Axis.Height(k.Axis.At(k.Back)), o.Axis.Height(k.Axis.At(k.Front))
		if min(a, b) < tip+0.25*o.Nominal || max(a, b) > seat {
			continue
		}
		outwards := b < a // its front looks to the tip
		on, bears := c.before(k, !outwards, touch, s)
		if _, blocked := c.before(k, outwards, 0.5*o.Nominal, s); blocked || !bears {
			continue
		}
		k.needs, k.Confidence = none, 0.65
		k.Nominal, k.Size = o.Nominal, o.Size
		k.say("the shank of %s goes through it and ends beyond; it bears on %s, its other face is free", c.scene.P.Name(s), c.scene.P.Name(on))
		return true
	}
	return false
}

// overThread looks for the tapped hole that a ring with the clearance and the
// proportions of a washer lies over, its other face free: the screw is not
// modelled.
func (c *court) overThread(k *instance) {
	for _, front := range []bool{false, true} {
		on, bears := c.before(k, front, touch, product.NoSolid)
		if !bears {
			continue
		}
		t, ok := c.tappedUnder(k, on, front)
		if !ok {
			continue
		}
		if _, blocked := c.before(k, !front, t.D, product.NoSolid); blocked {
			continue
		}
		k.needs, k.Confidence = none, 0.6
		k.Nominal, k.Size = t.D, t.Size
		k.say("lies over a hole of %s tapped for %s, its other face is free", c.scene.P.Name(on), t.Size)
		return
	}
}

// tappedUnder is the thread of the hole in solid s that begins at a face of the
// ring, where the ring fits that thread: from ISO 7092 (small) to ISO 7093
// (large) washers are 1.8 to 3 d wide and 0.1 to 0.3 d thick.
func (c *court) tappedUnder(k *instance, s product.SolidIndex, front bool) (table.Thread, bool) {
	for _, g := range c.scene.Around(s, k.Axis, 0.1, 1.8*math.Pi) {
		for _, t := range table.Threads() {
			if !t.Metric() || !t.IsTapped(2*g.R) || !t.IsClearance(k.Bore) {
				continue
			}
			mouth, face, inside := g.Z1, k.Back, k.Front
			if front {
				mouth, face, inside = -g.Z0, -k.Front, -k.Back
			}
			fits := k.outer >= 1.7*t.D && k.outer <= 3.2*t.D && k.Length >= 0.1*t.D && k.Length <= 0.35*t.D
			if fits && g.Z1-g.Z0 >= t.D && mouth >= face-t.Pitch && mouth <= inside {
				return t, true
			}
		}
	}
	return table.Thread{}, false
}

// before is the first solid, none but the ring and skip, within d mm before its
// front face or back face, bore and rim included.
func (c *court) before(k *instance, front bool, d float64, skip product.SolidIndex) (product.SolidIndex, bool) {
	const skin = 0.02 // mm: faces that touch count
	z0, z1 := k.Back-d, k.Back+skin
	if front {
		z0, z1 = k.Front-skin, k.Front+d
	}
	for _, s := range c.scene.Near(c.box(k, d)) {
		if k.owns(s) || s == skip {
			continue
		}
		if _, hit := c.scene.FreeRadius(s, k.Axis, z0, z1, 0.48*k.outer); hit {
			return s, true
		}
	}
	return product.NoSolid, false
}
