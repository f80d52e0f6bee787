package fastener

import (
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

// settleForms looks about nuts, inserts and washers for what their form leaves
// open: a bush that a screw bites, a coupling nut that looks like a stand-off, a
// square nut in its cage, a ring of metal about one of rubber.
func (c *court) settleForms() {
	for i := range c.cases {
		switch k := &c.cases[i]; {
		case k.needs == needBoss:
			c.settleBush(k)
		case k.Symmetric && k.Drive == OuterHex && k.Bore > 0 && (k.Kind == StandOff || k.Head == "coupling"):
			c.settleCoupling(k)
		case k.Kind == Nut && k.Head == "square":
			c.settleCaged(k)
		case k.Kind == Washer && k.Head == "":
			c.settleBonded(k)
		}
	}
}

// settleBush proves a smooth bush as an insert: it fills a hole for most of its
// length, and a screw of its size stands in its bore, which is narrower.
func (c *court) settleBush(k *instance) {
	in, held := product.NoSolid, 0.0
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		if s == k.solid || c.of[s] >= 0 && c.cases[c.of[s]].needs == none {
			continue
		}
		for _, g := range c.scene.Around(s, k.Axis, 0.05, 1.8*math.Pi) {
			if l := min(g.Z1, k.Front) - max(g.Z0, k.Back); math.Abs(2*g.R-k.outer) <= fillPlay && l > held {
				in, held = s, l
			}
		}
	}
	if held < 0.6*(k.Front-k.Back) {
		return
	}
	for _, end := range c.shanksIn(k, 0.5) {
		k.needs, k.Confidence = none, 0.7
		k.say("fills a hole of %s, and the screw %s bites its bore", c.scene.P.Name(in), c.scene.P.Name(end.solid))
		return
	}
}

// shankEnd is a threaded shank that ends in, or goes through, a bore.
type shankEnd struct {
	solid       product.SolidIndex
	front, back bool // it comes from the front, or the back; both where it goes through
}

// shanksIn lists the threaded shanks of a size that stand at least deep
// diameters in the bore of k.
func (c *court) shanksIn(k *instance, deep float64) (out []shankEnd) {
	for _, s := range c.scene.Near(c.box(k, 0.1)) {
		j := c.of[s]
		if j < 0 || s == k.solid {
			continue
		}
		o := &c.cases[j]
		tip, seat, ok := o.shankSpan()
		if !ok || o.needs != none && o.needs != needNut || o.Size != k.Size || !feature.Coaxial(o.Axis, k.Axis, max(0.1, 0.03*o.shank), 0.02) {
			continue
		}
		a, b := k.Axis.Height(o.Axis.At(tip)), k.Axis.Height(o.Axis.At(seat))
		lo, hi := min(a, b), max(a, b)
		if min(hi, k.Front)-max(lo, k.Back) >= deep*k.Nominal {
			out = append(out, shankEnd{s, hi > k.Front, lo < k.Back})
		}
	}
	return out
}

// settleCoupling tells a coupling nut, which joins two threaded ends and has
// nothing to hold apart, from a stand-off between two parts. Where neither
// shows, the doubt is said: DIN 6334 is 3 d long and as wide as a nut, and
// stand-offs are made so too.
func (c *court) settleCoupling(k *instance) {
	const shortest, longest = 2.4, 3.6 // length over diameter
	l := k.Front - k.Back
	if l < shortest*k.Nominal || l > longest*k.Nominal || !nutWide(k) {
		return
	}
	shanks, ends := c.shanksIn(k, 0.6), [2]bool{}
	for _, e := range shanks {
		ends[0], ends[1] = ends[0] || e.front, ends[1] || e.back
	}
	front, back := c.shoulder(k, true, shanks), c.shoulder(k, false, shanks)
	switch {
	case front && back && k.Kind == Nut:
		k.Kind, k.Head, k.Designation, k.HeadD, k.HeadH, k.Confidence = StandOff, "", "", 0, 0, 0.8
		k.say("parts bear on both its ends: it holds them apart")
	case !front && !back && ends[0] && ends[1] && k.Kind == StandOff:
		k.Kind, k.Head, k.HeadD, k.HeadH = Nut, "coupling", hexCorner*k.across, l
		k.say("joins two threaded ends, and nothing bears on its own ends: a coupling nut")
	case k.Kind == Nut:
		k.Confidence = min(k.Confidence, 0.8)
		k.say("a stand-off of the same measures looks like it")
	case !front || !back:
		k.say("a coupling nut looks like it")
	}
}

// nutWide reports a hexagon as wide as the usual nut of its thread.
func nutWide(k *instance) bool {
	for _, n := range table.Nuts() {
		if n.Size == k.Size && (n.Head == "" || n.Head == "coupling") && near(k.across, n.S, 0.01, 0) {
			return true
		}
	}
	return false
}

// shoulder reports a part, none of the shanks in the bore, that touches an end
// of k.
func (c *court) shoulder(k *instance, front bool, but []shankEnd) bool {
	z0, z1 := k.Back-touch, k.Back+0.02
	if front {
		z0, z1 = k.Front-0.02, k.Front+touch
	}
	for _, s := range c.scene.Near(c.box(k, touch)) {
		if s == k.solid || slices.ContainsFunc(but, func(e shankEnd) bool { return e.solid == s }) {
			continue
		}
		if _, hit := c.scene.FreeRadius(s, k.Axis, z0, z1, 0.48*k.across); hit {
			return true
		}
	}
	return false
}

// settleCaged joins a square nut with the cage of sheet that it lies in, which
// its walls hold from turning: no tool grips it.
func (c *court) settleCaged(k *instance) {
	nut := c.scene.P.Solids[k.solid].Box
	for _, s := range c.scene.Near(nut) {
		if s == k.solid || c.of[s] >= 0 && c.cases[c.of[s]].needs == none || !c.isCage(s, k) {
			continue
		}
		k.Head, k.Drive, k.DriveSize, k.Confidence = "cage", NoDrive, "", max(k.Confidence, 0.8)
		k.needs = none
		k.Solids = append(k.Solids, s)
		k.say("lies in the cage of sheet %s", c.scene.P.Name(s))
		return
	}
}

// isCage reports a hollow part about nut k, hardly larger than it, whose walls
// stand beside its flats.
func (c *court) isCage(s product.SolidIndex, k *instance) bool {
	const (
		play   = 1.2 // mm: the nut lies loose
		skin   = 0.1 // mm: or its flats touch, and models overlap a little
		larger = 2.5 // the cage's diagonal over the nut's
		sheet  = 0.4 // its volume over that of its box
	)
	part, nut := c.scene.P.Part(s), c.scene.P.Part(k.solid)
	size := part.Box.Max.Sub(part.Box.Min)
	if !part.HasShape() || part.Volume > sheet*size[0]*size[1]*size[2] || part.Box.Diagonal() > larger*nut.Box.Diagonal() {
		return false
	}
	flat := k.HeadD / (2 * math.Sqrt2)
	if k.Axis.Distance(c.scene.P.Solids[s].Place.Point(part.Centroid)) > 0.3*flat {
		return false
	}
	third := (k.Front - k.Back) / 3
	free, hit := c.scene.FreeRadius(s, k.Axis, k.Back+third, k.Front-third, flat+play)
	return hit && free.R > flat-skin
}

// settleBonded joins a ring of metal with the ring of rubber in its bore that
// stands proud of both its faces.
func (c *court) settleBonded(k *instance) {
	metal := c.scene.P.Solids[k.solid].Box
	for _, s := range c.scene.Near(metal) {
		if s == k.solid || c.of[s] >= 0 && c.cases[c.of[s]].needs == none {
			continue
		}
		lo, hi, ok := c.proud(s, k)
		if !ok {
			continue
		}
		free, hit := c.scene.FreeRadius(s, k.Axis, lo-0.01, hi+0.01, 0.49*k.Bore)
		if !hit || free.R < 0.3*k.Bore {
			continue
		}
		for _, t := range table.Threads() {
			if t.Metric() && t.IsClearance(2*free.R) {
				k.Head, k.Size, k.Nominal, k.Designation, k.Bore, k.needs, k.Confidence = "bonded", t.Size, t.D, "", math.Round(2000*free.R)/1000, none, 0.75
				k.Length = math.Round((hi-lo)*1000) / 1000
				k.Solids = append(k.Solids, s)
				k.say("%s fills its bore but for Ø%s, a clearance for %s, and stands proud of both faces", c.scene.P.Name(s), trim(2*free.R), t.Size)
				return
			}
		}
	}
}

// proud reports that solid s lies in the bore of ring k and stands a little out
// of it at both ends: its heights along the axis.
func (c *court) proud(s product.SolidIndex, k *instance) (lo, hi float64, ok bool) {
	for _, g := range c.scene.Inside(s, k.Axis, 0.05, 1.8*math.Pi) {
		if !near(2*g.R, k.Bore, 0, 0.1) {
			continue
		}
		lo, hi = c.heights(s, k)
		up, down := hi-k.Front, k.Back-lo
		most := 0.8 * k.Length
		return lo, hi, up > 0.04*k.Length && down > 0.04*k.Length && up < most && down < most
	}
	return 0, 0, false
}

// heights is between which heights along the axis of k a solid lies.
func (c *court) heights(s product.SolidIndex, k *instance) (lo, hi float64) {
	a := k.Axis.Transformed(c.scene.P.Solids[s].Back)
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range c.scene.P.Part(s).Mesh.Vertices {
		h := a.Height(v)
		lo, hi = min(lo, h), max(hi, h)
	}
	return lo, hi
}
