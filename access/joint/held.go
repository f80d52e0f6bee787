package joint

import (
	"math"
	"strconv"
	"strings"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// A hexagon or a square cannot turn where anything stands nearer to its axis
// than its corners: a pocket of any play short of that, a slot, one wall along
// one flat, a hole that it is pressed into. A round hole that lets it in is
// wider than its corners and does not hold it.

// Corners are rounded: over them a hexagon measures at least 1.13 of its width
// across flats (ISO 4032, e_min of product grade A), a square 1.26 (DIN 557,
// from memory).
const (
	hexCorners    = 1.13
	squareCorners = 1.26
)

// corners is the radius, mm, of the circle that a head or nut needs for
// turning, 0 where it is no hexagon or square of known size.
func corners(f *fastener.Fastener) float64 {
	for _, g := range f.Ways() {
		if g.Depth > 0 {
			continue // a square recess
		}
		over := 0.0
		switch g.Drive {
		case fastener.OuterHex:
			over = hexCorners
		case fastener.Square:
			over = squareCorners
		}
		if across, err := strconv.ParseFloat(g.Size, 64); err == nil && across*over > 0 && !math.IsInf(across, 0) {
			return across / 2 * over
		}
	}
	return 0
}

// keeper is what keeps a fastener from turning.
type keeper struct {
	solid product.SolidIndex
	text  string
	falls bool
}

// nutKeeper finds what keeps nut i from turning. rod is the shaft, no fastener,
// that it sits on.
func (b *binder) nutKeeper(i int, rod product.SolidIndex) (keeper, bool) {
	f := &b.fs[i]
	if text := fixedKind(f); text != "" {
		k := keeper{solid: product.NoSolid, text: text}
		if down := b.touching(i, rod, false); len(down) > 0 {
			k.solid = down[0]
		}
		return k, true
	}
	if s, ok := b.pressedIn(i, rod); ok {
		return keeper{solid: s, text: "cannot turn: its collar is pressed into " + b.name(s)}, true
	}
	h := f.Front - f.Back
	lo, hi := f.Back+max(0.1*h, 0.1), f.Front-max(0.1*h, 0.1)
	if f.Head == "flange" { // the hexagon stands on it
		lo = f.Back + 0.5*h
	}
	return b.flatsKept(i, rod, lo, hi, 0.55*f.Bore)
}

// fixedKind says of a nut's kind that it is held by what it is: it has legs, a
// cage or a collar for that. The words are those that recognition gives.
func fixedKind(f *fastener.Fastener) string {
	for _, w := range []string{"cage", "weld", "rivet", "clinch", "press", "tee", "clip"} {
		if strings.Contains(f.Head, w) {
			return "cannot turn: a " + f.Head + " nut is held by its part"
		}
	}
	return ""
}

// flatsKept looks for a wall between the heights lo and hi that a corner would
// meet. Walls on two sides also keep a nut where it is; a single one does not.
func (b *binder) flatsKept(i int, not product.SolidIndex, lo, hi, least float64) (keeper, bool) {
	f := &b.fs[i]
	r := corners(f)
	if r == 0 || !(hi > lo) {
		return keeper{}, false
	}
	found, ok := keeper{}, false
	for _, s := range b.near(i, 0.1) {
		if s == not || b.of[s] >= 0 {
			continue
		}
		free, hit := b.scene.FreeRadius(s, f.Axis, lo, hi, r)
		if !hit || free.R < least {
			continue
		}
		for _, t := range []float64{0.15, 0.5, 0.85} {
			if b.grips(s, f, lo+t*(hi-lo), least, r) {
				return keeper{solid: s, text: "cannot turn: " + b.name(s) + " holds its flats"}, true
			}
		}
		if !ok {
			found, ok = keeper{solid: s, text: "cannot turn: one flat lies along " + b.name(s), falls: true}, true
		}
	}
	return found, ok
}

// pressedIn finds a part with a round hole that a round collar of nut i fills
// without play: a press-in or clinch nut, a rivet nut.
func (b *binder) pressedIn(i int, rod product.SolidIndex) (product.SolidIndex, bool) {
	f := &b.fs[i]
	var collars []feature.Segment
	for _, s := range f.Solids {
		collars = append(collars, b.scene.Inside(s, f.Axis, 0.05, math.Pi)...)
	}
	if len(collars) == 0 {
		return product.NoSolid, false
	}
	for _, s := range b.near(i, 0.05) {
		if s == rod || b.of[s] >= 0 {
			continue
		}
		for _, hole := range b.scene.Around(s, f.Axis, 0.05, math.Pi) {
			for _, c := range collars {
				both := min(hole.Z1, c.Z1) - max(hole.Z0, c.Z0)
				if hole.R <= c.R+0.005 && hole.R > 0.8*c.R && both >= 0.3*min(hole.Z1-hole.Z0, c.Z1-c.Z0) {
					return s, true
				}
			}
		}
	}
	return product.NoSolid, false
}

// heads finds the bolts whose head or neck cannot turn: then only the nut is.
func (b *binder) heads() {
	for i := range b.fs {
		f, h := &b.fs[i], &b.holds[i]
		if h.Mate < 0 || !(f.HeadH > 0) || f.Kind != fastener.Bolt && f.Kind != fastener.Screw || h.Mate < len(b.fs) && b.holds[h.Mate].CaptiveNut {
			continue
		}
		k, ok := b.headKeeper(i)
		if !ok {
			continue
		}
		h.CaptiveHead, h.HeldBy = true, []product.SolidIndex{k.solid}
		h.Evidence = append(h.Evidence, k.text)
	}
}

// headKeeper finds what keeps the head of fastener i, or the neck below it,
// from turning.
func (b *binder) headKeeper(i int) (keeper, bool) {
	f := &b.fs[i]
	_, seat := span(f)
	if k, ok := b.neckKept(i, seat); ok {
		return k, true
	}
	k, ok := b.flatsKept(i, product.NoSolid, seat+max(0.15*f.HeadH, 0.1), f.Front-max(0.1*f.HeadH, 0.1), 0.55*f.Nominal)
	k.text = strings.Replace(k.text, "cannot turn:", "its head cannot turn:", 1)
	return k, ok
}

// neckKept: below the head stands a neck wider than the shank (a square, fins,
// a knurl), and the part about it leaves less room than its corners need.
func (b *binder) neckKept(i int, seat float64) (keeper, bool) {
	f := &b.fs[i]
	const skin = 0.1 // mm: no fillet under a head reaches as far as it is wide
	lo, hi := seat-0.6*f.Nominal, seat-max(skin, 0.1*f.Nominal)
	neck := b.widest(f.Solids, f.Axis, lo, hi)
	if neck < 0.56*f.Nominal || neck > 0.45*f.HeadD {
		return keeper{}, false
	}
	for _, s := range b.holds[i].Passes {
		free, hit := b.scene.FreeRadius(s, f.Axis, lo, hi, neck-0.02)
		if hit && free.R > 0.45*f.Nominal {
			return keeper{solid: s, text: "its head cannot turn: its neck is held by " + b.name(s)}, true
		}
	}
	return keeper{}, false
}

// grips casts rays from the axis at height z and reports walls within reach on
// opposite sides.
func (b *binder) grips(s product.SolidIndex, f *fastener.Fastener, z, least, reach float64) bool {
	const rays = 72
	solid := &b.scene.P.Solids[s]
	tree := b.scene.P.Part(s).Tree
	if tree == nil || !feature.KeepsSize(solid.Place) {
		return false
	}
	a := f.Axis.Transformed(solid.Back)
	x := geom.Perpendicular(a.D)
	y := a.D.Cross(x)
	var near [rays]bool
	for k := range near {
		sin, cos := math.Sincos((float64(k) + 0.5) * 2 * math.Pi / rays)
		hit, ok := tree.Nearest(a.At(z), x.Mul(cos).Add(y.Mul(sin)), least, reach)
		near[k] = ok && hit.T > 0
	}
	for k := range rays / 2 {
		if near[k] && near[k+rays/2] {
			return true
		}
	}
	return false
}
