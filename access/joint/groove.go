package joint

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
)

// A thread may be drawn as grooves without a lead: rings of two cones each,
// whose crests are edges and no cylinders. Such a wall is found by its cones.

// leastGrooves is how many flanks make a thread: a chamfer at both ends of a
// plain hole, or the two of an undercut, are none.
const leastGrooves = 6

// grooves adds the stretch of a solid's hole whose wall is rings of cones, and
// takes the short pieces of wall into it that continue it.
func (b *binder) grooves(f *fastener.Fastener, s product.SolidIndex, holes []stretch) []stretch {
	g, ok := b.grooved(f, s)
	if !ok {
		return holes
	}
	var out []stretch
	slices.SortStableFunc(holes, func(x, y stretch) int { return cmp.Compare(y.z1, x.z1) })
	for _, h := range holes {
		if math.Abs(h.d-g.d) > 0.03*g.d || h.z0 > g.z1+columnSkin || h.z1 < g.z0-columnSkin {
			out = append(out, h)
			continue
		}
		g.z1, g.z0 = max(g.z1, h.z1), min(g.z0, h.z0)
	}
	tip, seat := span(f)
	g.hi, g.lo = min(g.z1, seat), max(g.z0, tip)
	if g.hi-g.lo < 0.15*f.Nominal {
		return holes
	}
	return append(out, g)
}

// grooved reads the flanks about the shank's axis: inward cones between a
// tapped hole's diameter and the thread's own.
func (b *binder) grooved(f *fastener.Fastener, s product.SolidIndex) (stretch, bool) {
	solid := &b.scene.P.Solids[s]
	if !feature.KeepsSize(solid.Place) {
		return stretch{}, false
	}
	a := f.Axis.Transformed(solid.Back)
	var flanks [][2]float64
	least := math.Inf(1)
	for _, c := range b.scene.Parts[solid.Part].Faces {
		if c.Kind != feature.Cone || !c.Inward || c.R1 > 0.55*f.Nominal || c.R0 < 0.35*f.Nominal || !feature.Coaxial(a, c.Axis, 0.05*f.Nominal, 0.02) {
			continue
		}
		x, y := a.Height(c.Axis.At(c.Z0)), a.Height(c.Axis.At(c.Z1))
		flanks, least = append(flanks, [2]float64{min(x, y), max(x, y)}), min(least, c.R0)
	}
	if len(flanks) < leastGrooves {
		return stretch{}, false
	}
	slices.SortFunc(flanks, func(x, y [2]float64) int { return cmp.Or(cmp.Compare(x[0], y[0]), cmp.Compare(x[1], y[1])) })
	out := stretch{d: 2 * least, z0: flanks[0][0], z1: flanks[0][1]}
	for _, k := range flanks[1:] {
		if k[0] > out.z1+0.3*f.Nominal { // another thread on the same axis
			break
		}
		out.z1 = max(out.z1, k[1])
	}
	out.how = judge(f, out.d)
	return out, out.how == bites || out.how == equal
}
