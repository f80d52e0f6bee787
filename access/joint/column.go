package joint

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// What a head presses together is the column of material under its bearing
// face. Rays down that column find the parts whose holes are not round or much
// wider than the shank, and the faces of the others, which a chamfer or a
// counterbore hides from the hole's own wall.

const (
	columnRays = 24
	columnSkin = 0.05 // mm above the bearing face where the rays start
	touch      = 0.2  // mm: faces nearer than that lie on each other in a model
)

// radii are those, mm, of the rings in which the column is looked at: just
// outside the hole, and just inside the rim of the head and of the washers.
func (b *binder) radii(i int) []float64 {
	f := &b.fs[i]
	out := []float64{0.75 * f.Nominal}
	if f.HeadD > 0 {
		out = append(out, 0.47*f.HeadD)
	}
	for _, w := range b.holds[i].Washers {
		g := &b.fs[w]
		out = append(out, 0.94*b.widest(g.Solids, g.Axis, g.Back, g.Front))
	}
	return out
}

// faces are the heights of the first piece of solid s that the rays from
// height top down to height bottom meet at radius r: the medians over the
// rays, of which a third must meet it.
func (b *binder) faces(s product.SolidIndex, a geom.Axis, r, top, bottom float64) (hi, lo float64, ok bool) {
	tree, solid := b.scene.P.Part(s).Tree, &b.scene.P.Solids[s]
	if tree == nil || !feature.KeepsSize(solid.Place) || !(top > bottom) {
		return 0, 0, false
	}
	own := a.Transformed(solid.Back)
	x := geom.Perpendicular(own.D)
	y, down := own.D.Cross(x), own.D.Mul(-1)
	reach := top + columnSkin - bottom
	his, los := make([]float64, 0, columnRays), make([]float64, 0, columnRays)
	for k := range columnRays {
		sin, cos := math.Sincos((float64(k) + 0.5) * 2 * math.Pi / columnRays)
		from := own.At(top + columnSkin).Add(x.Mul(r * cos)).Add(y.Mul(r * sin))
		in, ok := tree.Nearest(from, down, 0, reach)
		if !ok {
			continue
		}
		end := reach // where it goes on below the tip
		if out, ok := tree.Nearest(from, down, in.T+columnSkin, reach); ok {
			end = out.T
		}
		his, los = append(his, top+columnSkin-in.T), append(los, top+columnSkin-end)
	}
	if len(his) < columnRays/3 {
		return 0, 0, false
	}
	slices.Sort(his)
	slices.Sort(los)
	return his[len(his)/2], los[len(los)/2], true
}

// facesOf tries the rings from the hole outwards.
func (b *binder) facesOf(i int, s product.SolidIndex) (hi, lo float64, ok bool) {
	f := &b.fs[i]
	tip, _ := span(f)
	for _, r := range b.radii(i) {
		if hi, lo, ok = b.faces(s, f.Axis, r, upper(f), tip); ok {
			return hi, lo, ok
		}
	}
	return 0, 0, false
}

// upper is the height of the upper end of what a fastener clamps: its bearing
// face, for a countersunk head the rim.
func upper(f *fastener.Fastener) float64 {
	if sunk(f) {
		return f.Front
	}
	_, seat := span(f)
	return seat
}

// wide finds the layers of the column that show no round hole of the shank's
// size: slots, keyholes, holes far too large under a washer. Each must lie on
// the underside of the head, a washer or another layer, above what is bitten
// and above the nut.
func (b *binder) wide(i int, st stack) []layer {
	f := &b.fs[i]
	if f.HeadD <= 0 {
		return nil
	}
	tip, seat := span(f)
	end := tip
	for _, l := range st {
		if l.how == bites {
			end = max(end, l.hi)
		}
	}
	if m := b.holds[i].Mate; m >= 0 {
		end = b.jaw(i, m).hi
	}
	var found []layer
	for _, s := range b.near(i, 0.2) {
		if b.of[s] >= 0 || slices.ContainsFunc(st, func(l layer) bool { return l.solid == s }) {
			continue
		}
		hi, lo, ok := b.facesOf(i, s)
		if !ok || lo < end-touch || hi > seat+touch {
			continue
		}
		if _, hit := b.scene.FreeRadius(s, f.Axis, lo, hi, 0.46*f.Nominal); !hit {
			found = append(found, layer{solid: s, how: passes, hi: hi, lo: lo, top: hi, wide: true, upper: hi, lower: lo, faced: true})
		}
	}
	if len(found) == 0 {
		return nil
	}
	return rest(found, b.floors(i, st))
}

// floors are the heights on which a layer may lie from below.
func (b *binder) floors(i int, st stack) []float64 {
	f := &b.fs[i]
	out := []float64{upper(f)}
	for _, w := range b.holds[i].Washers {
		lo, _ := ends(f.Axis, &b.fs[w])
		out = append(out, lo)
	}
	for _, l := range st {
		if l.how == passes || l.how == equal {
			out = append(out, l.lo)
			if l.faced {
				out = append(out, l.lower)
			}
		}
	}
	return out
}

// rest keeps the layers that lie on a floor, one after another downwards.
func rest(found []layer, floors []float64) []layer {
	slices.SortStableFunc(found, func(x, y layer) int { return -cmp.Compare(x.hi, y.hi) })
	var out []layer
	for _, l := range found {
		if slices.ContainsFunc(floors, func(z float64) bool { return math.Abs(z-l.hi) <= touch }) {
			out, floors = append(out, l), append(floors, l.lo)
		}
	}
	return out
}
