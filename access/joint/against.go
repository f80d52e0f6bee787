package joint

import (
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// tips finds what the tip of each set screw is pressed on: that is what it
// holds in the part that it is screwed into.
func (b *binder) tips() {
	const skin = 0.1 // mm: what counts as touching in a model
	for i := range b.fs {
		f, h := &b.fs[i], &b.holds[i]
		if f.Kind != fastener.SetScrew {
			continue
		}
		for _, s := range b.near(i, skin) {
			if b.of[s] >= 0 || slices.Contains(h.Bites, s) || slices.Contains(h.Passes, s) {
				continue
			}
			if _, hit := b.scene.FreeRadius(s, f.Axis, f.Back-skin, f.Back+skin, 0.45*f.Nominal); hit {
				h.Against = append(h.Against, s)
				h.Evidence = append(h.Evidence, "its tip is on "+b.name(s))
			}
		}
	}
}

// ties finds what runs through the loop of each closed cable tie.
func (b *binder) ties() {
	for i := range b.fs {
		f, h := &b.fs[i], &b.holds[i]
		if f.Kind != fastener.CableTie || !(f.Bore > 0) {
			continue
		}
		loop, ok := b.loop(f)
		if !ok {
			continue
		}
		for _, s := range b.near(i, 0) {
			if b.of[s] >= 0 {
				continue
			}
			if _, hit := b.scene.FreeRadius(s, loop.axis, loop.lo, loop.hi, 0.5*f.Bore-columnSkin); hit {
				h.Passes = append(h.Passes, s)
				h.Evidence = append(h.Evidence, "its loop goes round "+b.name(s))
			}
		}
	}
}

// loop is the strap of a closed tie: an axis and two heights along it.
type loop struct {
	axis   geom.Axis
	lo, hi float64 // mm
}

// loop finds the inner wall of the ring that a tie is closed to.
func (b *binder) loop(f *fastener.Fastener) (loop, bool) {
	for _, s := range f.Solids {
		solid := &b.scene.P.Solids[s]
		for _, h := range b.scene.Parts[solid.Part].Holes {
			if math.Abs(2*h.R-f.Bore) < 0.01*f.Bore && h.Sweep > math.Pi && feature.KeepsSize(solid.Place) {
				return loop{h.Axis.Transformed(solid.Place), h.Z0, h.Z1}, true
			}
		}
	}
	return loop{}, false
}

// together are the solids that fastener i holds together, in order: what it
// passes, what it or its insert is fixed to, what it or its nut presses on.
func (b *binder) together(i int) []product.SolidIndex {
	h := &b.holds[i]
	list := slices.Concat(h.Passes, b.anchors(h.Bites), h.Against)
	if h.Mate >= 0 {
		list = append(list, b.holds[h.Mate].Against...)
	}
	var out []product.SolidIndex
	for _, s := range list {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
