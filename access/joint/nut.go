package joint

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
)

// nutsAlone completes the nuts: what they bear on, whether they are captive,
// and for those on a rod that is no fastener, the rod and the sense.
func (b *binder) nutsAlone() {
	for i := range b.fs {
		f := &b.fs[i]
		if f.Kind != fastener.Nut {
			continue
		}
		h := &b.holds[i]
		rod := product.NoSolid
		if h.Mate < 0 {
			if rod = b.rod(i); rod != product.NoSolid {
				h.Bites = []product.SolidIndex{rod}
				h.Evidence = append(h.Evidence, "sits on "+b.name(rod))
			}
		}
		if f.Symmetric {
			up, down := len(b.touching(i, rod, true)) > 0, len(b.touching(i, rod, false)) > 0
			if rod != product.NoSolid || up != down { // a loose nut may leave either way
				face(f, b.wayOff(i, rod, up, down))
			}
		}
		down := b.touching(i, rod, false)
		if h.Mate >= 0 {
			h.Against = down
		}
		for _, s := range down {
			h.Evidence = append(h.Evidence, "bears on "+b.name(s))
		}
		if h.Mate < 0 { // with a bolt, the bolt's hold lists the stack
			h.Passes = down
		}
		switch {
		case h.Mate >= 0:
			j := b.jaw(h.Mate, i)
			h.Engagement = round3(max(0, j.hi-j.lo))
		case rod != product.NoSolid:
			h.Engagement = round3(f.Front - f.Back)
		}
		if k, ok := b.nutKeeper(i, rod); ok {
			h.CaptiveNut, h.Falls = true, k.falls
			if k.solid != product.NoSolid {
				h.HeldBy = []product.SolidIndex{k.solid}
			}
			h.Evidence = append(h.Evidence, k.text)
		}
	}
}

// rod is the solid, no fastener, whose shaft fills the nut's bore.
func (b *binder) rod(i int) product.SolidIndex {
	f := &b.fs[i]
	for _, s := range b.near(i, 0.1) {
		for _, g := range b.scene.Inside(s, f.Axis, max(0.1, 0.03*f.Bore), math.Pi) {
			d := 2 * g.R
			if d >= 0.95*f.Bore && d <= 1.3*f.Bore && min(g.Z1, f.Front)-max(g.Z0, f.Back) >= 0.5*(f.Front-f.Back) {
				return s
			}
		}
	}
	return product.NoSolid
}

// touching lists the solids, no fasteners, that touch the nut's upper or lower
// face between bore and flats.
func (b *binder) touching(i int, rod product.SolidIndex, upper bool) []product.SolidIndex {
	f := &b.fs[i]
	const skin = 0.1 // mm
	z0, z1 := f.Back-skin, f.Back+0.02
	if upper {
		z0, z1 = f.Front-0.02, f.Front+skin
	}
	var out []product.SolidIndex
	for _, s := range b.near(i, skin) {
		if s == rod || b.of[s] >= 0 {
			continue
		}
		if _, hit := b.scene.FreeRadius(s, f.Axis, z0, z1, 0.45*f.HeadD); hit {
			out = append(out, s)
		}
	}
	return out
}

// wayOff is the direction in which a nut leaves its rod: away from what it
// bears on, else towards the rod's nearer end.
func (b *binder) wayOff(i int, rod product.SolidIndex, up, down bool) mgl64.Vec3 {
	f := &b.fs[i]
	switch {
	case up && !down:
		return f.Axis.D.Mul(-1)
	case down && !up, rod == product.NoSolid:
		return f.Axis.D
	}
	mid := (f.Front + f.Back) / 2
	for _, g := range b.scene.Inside(rod, f.Axis, max(0.1, 0.03*f.Bore), math.Pi) {
		if g.Z1-mid > mid-g.Z0 {
			return f.Axis.D.Mul(-1)
		}
	}
	return f.Axis.D
}

// offShank is the direction in which nut n leaves the shank of fastener i: from
// its head, or of a rod, which has none, away from the part that the nut bears
// on; where that is a washer or another nut, by the nearer end.
func (b *binder) offShank(i, n int) mgl64.Vec3 {
	f, g := &b.fs[i], &b.fs[n]
	up, down := f.Axis.D, f.Axis.D.Mul(-1)
	if f.Kind != fastener.Stud {
		return down
	}
	above, below := len(b.touching(n, product.NoSolid, true)) > 0, len(b.touching(n, product.NoSolid, false)) > 0
	if g.Axis.D.Dot(up) < 0 {
		above, below = below, above
	}
	tip, seat := span(f)
	lo, hi := ends(f.Axis, g)
	if below && !above || below == above && seat-hi < lo-tip {
		return up
	}
	return down
}

// washersOnRods gives the washers that no shank of a fastener carries to the
// nut that they lie under: one on a rod that is no fastener.
func (b *binder) washersOnRods() {
	owned := make([]bool, len(b.fs))
	for i := range b.holds {
		for _, w := range b.holds[i].Washers {
			owned[w] = true
		}
	}
	for i := range b.fs {
		if b.fs[i].Kind != fastener.Washer || owned[i] {
			continue
		}
		for _, s := range b.near(i, 0.15) {
			j := b.of[s]
			if j < 0 || b.fs[j].Kind != fastener.Nut || b.holds[j].Mate >= 0 || !b.lies(i, j) {
				continue
			}
			b.holds[j].Washers = append(b.holds[j].Washers, i)
			face(&b.fs[i], b.fs[j].Axis.D)
			b.holds[i].Evidence = append(b.holds[i].Evidence, "under "+b.name(b.fs[j].Solids[0]))
			break
		}
	}
}

// lies reports whether washer w lies on the bearing face of nut n.
func (b *binder) lies(w, n int) bool {
	g, f := &b.fs[w], &b.fs[n]
	_, hi := ends(f.Axis, g)
	return feature.Coaxial(f.Axis, g.Axis, max(0.3, 0.08*g.Bore), 0.02) && math.Abs(hi-f.Back) <= touch
}

// washers gives each washer to the screw that it lies on, and turns it to leave
// the same way.
func (b *binder) washers() {
	for i := range b.fs {
		w := &b.fs[i]
		if w.Kind != fastener.Washer {
			continue
		}
		owner := -1
		for _, s := range b.near(i, 0.15) {
			if j := b.of[s]; j >= 0 && b.owns(j, w) {
				owner = j
				break
			}
		}
		if owner < 0 {
			continue
		}
		o := &b.fs[owner]
		b.holds[owner].Washers = append(b.holds[owner].Washers, i)
		away := o.Axis.D
		if m := b.holds[owner].Mate; m >= 0 && b.underNut(m, w) {
			away = b.fs[m].Axis.D
		}
		face(w, away)
		b.holds[i].Evidence = append(b.holds[i].Evidence, "on the shank of "+b.name(o.Solids[0]))
	}
}

// owns reports whether washer w is on the shank of fastener j.
func (b *binder) owns(j int, w *fastener.Fastener) bool {
	o := &b.fs[j]
	if !hasShank(o) || o.Kind == fastener.Pin {
		return false
	}
	tip, seat := span(o)
	lo, hi := ends(o.Axis, w)
	if !feature.Coaxial(o.Axis, w.Axis, max(0.3, 0.08*w.Bore), 0.02) || lo < tip-0.2 || hi > seat+0.2 {
		return false
	}
	// One that its screw cannot lose sits where the shank is thinner.
	return w.Bore > 0.95*o.Nominal || w.Bore > 0.7*o.Nominal && 2*b.widest(o.Solids, o.Axis, lo+0.05, hi-0.05) < w.Bore
}

// underNut reports whether washer w is nearer to the nut than to the head.
func (b *binder) underNut(m int, w *fastener.Fastener) bool {
	n := &b.fs[m]
	lo, hi := ends(n.Axis, w)
	return math.Abs(hi-n.Back) <= 0.3 || math.Abs(lo-n.Front) <= 0.3
}
