package fastener

import (
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
)

// settle decides the cases that need proof, strongest evidence first: what an
// earlier step has proved may prove others.
func (c *court) settle() {
	c.settleNuts()
	c.settleForms()
	c.settleDriveless()
	c.settleSmooth()
	c.settleStacks()
	c.settleGrooves()
	c.settleTwins()
	c.settleRods()
	for i := range c.cases {
		switch k := &c.cases[i]; k.needs {
		case needHead:
			c.settleWasher(k)
		case needHole:
			c.settlePin(k)
		}
	}
	c.settleNames()
}

// holdsRod reports a shank of the case, in the root's frame: tip and seat as
// heights along its axis.
func (k *instance) shankSpan() (tip, seat float64, ok bool) {
	switch k.Kind {
	case Screw, Bolt, SetScrew, Stud:
		return k.Back, min(k.seat, k.Front), k.shank > 0
	}
	return 0, 0, false
}

// settleNuts pairs shanks with the nuts on them: a pair proves both.
func (c *court) settleNuts() {
	for i := range c.cases {
		k := &c.cases[i]
		tip, seat, ok := k.shankSpan()
		if !ok {
			continue
		}
		for _, s := range c.scene.Near(c.box(k, 0.1)) {
			j := c.of[s]
			if j < 0 || c.cases[j].Kind != Nut {
				continue
			}
			n := &c.cases[j]
			if !k.carries(n, tip, seat) {
				continue
			}
			k.takeNut(n, c.scene.P.Name(n.solid))
			if n.needs == needRod {
				n.needs = none
				n.say("the shank of %s goes through the bore", c.scene.P.Name(k.solid))
				n.Confidence = max(n.Confidence, 0.75)
			}
		}
	}
}

// takeNut makes a screw with a nut on its shank a bolt, and proves one that needs
// a nut: not a bush that a nut holds in a panel.
func (k *instance) takeNut(n *instance, nut string) {
	if k.needs != none {
		if k.isPanelBush(n) {
			return
		}
		k.needs, k.Confidence = none, max(k.Confidence, 0.75)
	}
	if k.Kind == Screw {
		k.Kind = Bolt
		k.say("a nut (%s) sits on the shank", nut)
	}
}

// isPanelBush reports a head without a drive that a nut could not pull against:
// the bezel of a lamp, hardly wider than its thread, or the body of a switch,
// whose nut sits above a thinner spindle. Heads that no tool grips are 1.45 d
// wide or more (ISO 4762 drawn plain: 1.5 d).
func (k *instance) isPanelBush(n *instance) bool {
	const narrow = 1.4
	a, b := k.Axis.Height(n.Axis.At(n.Back)), k.Axis.Height(n.Axis.At(n.Front))
	return !k.fits && k.HeadD < narrow*k.shank || k.spindle > k.Back+0.75*k.shank && min(a, b) > k.spindle-0.5*math.Abs(b-a)
}

// carries reports whether nut n sits on the shank: coaxial, overlapping it,
// with a bore that its thread can bite. Bores are drawn between the thread's
// minor diameter and its nominal one.
func (k *instance) carries(n *instance, tip, seat float64) bool {
	off := max(0.1, 0.03*k.shank)
	if !feature.Coaxial(k.Axis, n.Axis, off, 0.02) || n.Bore < 0.75*k.shank || n.Bore > 1.05*max(k.shank, k.Nominal) {
		return false
	}
	a, b := k.Axis.Height(n.Axis.At(n.Back)), k.Axis.Height(n.Axis.At(n.Front))
	lo, hi := min(a, b), max(a, b)
	return min(hi, seat)-max(lo, tip) >= 0.3*(hi-lo) && hi <= seat+0.3*(hi-lo)
}

// settleTwins proves a nut that sits on a plain rod by its twins: the same
// part, elsewhere proved by a bolt.
func (c *court) settleTwins() {
	proved := make([]bool, len(c.parts))
	for i := range c.cases {
		if k := &c.cases[i]; k.needs == none {
			proved[c.scene.P.Solids[k.solid].Part] = true
		}
	}
	for i := range c.cases {
		k := &c.cases[i]
		if k.needs != needRod || !proved[c.scene.P.Solids[k.solid].Part] {
			continue
		}
		if rod, ok := c.rodIn(k); ok {
			k.needs, k.Confidence = none, 0.7
			k.say("%s goes through the bore, and the same part is a nut elsewhere", c.scene.P.Name(rod))
		}
	}
}

// rodIn is the solid whose shaft fills the bore of nut k.
func (c *court) rodIn(k *instance) (product.SolidIndex, bool) {
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if k.owns(s) {
			continue
		}
		for _, g := range c.scene.Inside(s, k.Axis, max(0.1, 0.03*k.Bore), math.Pi) {
			d := 2 * g.R
			if d >= 0.95*k.Bore && d <= 1.3*k.Bore && min(g.Z1, k.Front)-max(g.Z0, k.Back) >= 0.5*(k.Front-k.Back) {
				return s, true
			}
		}
	}
	return product.NoSolid, false
}

// settlePin looks for the holes that a smooth rod stands in. Two parts with
// holes of its own diameter, or one that it is pressed into and stands out of,
// make it a pin; a longer rod in two holes is a shaft.
func (c *court) settlePin(k *instance) {
	const (
		play    = 0.12 // mm on diameter: H12 on 6 mm, the loosest of pin fits
		longest = 8.0  // length over diameter
	)
	l := k.Front - k.Back
	if l > longest*k.shank {
		return
	}
	in, pressed, covered := 0, false, 0.0
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if k.owns(s) || c.of[s] >= 0 && c.cases[c.of[s]].needs == none {
			continue
		}
		length, press := c.stands(k, s, play)
		if k.taper != 0 {
			length, press = c.tapers(k, s, play), true // it jams
		}
		if length >= 0.25*k.shank {
			in++
			covered += length
			pressed = pressed || press && length >= 0.8*k.shank
			how := "with play"
			if press {
				how = "pressed or without play"
			}
			k.say("stands %s mm deep in a hole of %s, %s", trim(length), c.scene.P.Name(s), how)
		}
	}
	const buried = 0.95 // of its length: a piston, a magnet, a cell; a pin reaches out of the one part that it is pressed into
	if covered >= 0.4*l && (in >= 2 || pressed && covered < buried*l) {
		k.needs = none
		if in >= 2 && pressed {
			k.Confidence = 0.85
		}
	}
}

// stands is how long the rod is in holes of solid s that fit it within play
// mm, and whether one of them is no wider than the rod.
func (c *court) stands(k *instance, s product.SolidIndex, play float64) (length float64, press bool) {
	for _, g := range c.scene.Around(s, k.Axis, 0.05, 1.8*math.Pi) {
		l := min(g.Z1, k.Front) - max(g.Z0, k.Back)
		if l <= 0 || math.Abs(2*g.R-k.shank) > play {
			continue
		}
		length += l
		press = press || 2*g.R <= k.shank+0.001
	}
	return length, press
}
