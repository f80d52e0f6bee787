package joint

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// rings finds for each retaining ring the shaft or the bore whose groove it
// stands in, and says so in its hold: it bites that solid. What lies against
// the ring it keeps from leaving by being in the way.
func (b *binder) rings() {
	for i := range b.fs {
		f := &b.fs[i]
		if f.Kind != fastener.Ring || !(f.Nominal > 0) {
			continue
		}
		for _, s := range b.near(i, 0.1) {
			if b.of[s] >= 0 {
				continue
			}
			if d, ok := b.groove(f, s); ok {
				h := &b.holds[i]
				h.Bites = append(h.Bites, s)
				h.Evidence = append(h.Evidence, "stands in a groove of "+b.name(s)+", Ø"+mm(d))
			}
		}
	}
}

// ringPlace is where a ring stands: its middle, its own axis unless it leaves
// sideways (then across holds the direction), and half its thickness, mm.
type ringPlace struct {
	middle mgl64.Vec3
	along  mgl64.Vec3
	half   float64
	across bool
}

func placeOf(f *fastener.Fastener) ringPlace {
	if f.Head == "E" { // its axis runs from its rim, in its plane
		return ringPlace{middle: f.Axis.At(-f.HeadD / 2), along: f.Axis.D, half: f.Length / 2, across: true}
	}
	return ringPlace{middle: f.Axis.At(0.5 * (f.Back + f.Front)), along: f.Axis.D, half: f.Length / 2}
}

// on reports a wall about the ring's middle: coaxial with it and level with it.
func (r *ringPlace) on(h *feature.Hole) bool {
	const (
		off  = 0.1  // mm between axes
		lean = 0.02 // rad
	)
	if h.Sweep < math.Pi || h.Axis.Distance(r.middle) > off {
		return false
	}
	if c := math.Abs(h.Axis.D.Dot(r.along)); r.across && c > lean || !r.across && c < 1-lean*lean {
		return false
	}
	z := h.Axis.Height(r.middle)
	return min(h.Z1, z+r.half)-max(h.Z0, z-r.half) > 0.5*r.half
}

// groove is the diameter of the groove's floor that solid s has where the ring
// stands: narrower than the shaft, wider than the bore, and within a tenth of
// what the ring grips with.
func (b *binder) groove(f *fastener.Fastener, s product.SolidIndex) (d float64, ok bool) {
	const near = 0.1
	solid := &b.scene.P.Solids[s]
	part := b.scene.Parts[solid.Part]
	list, grips := part.Bosses, f.Bore
	if f.Head == "bore" {
		list, grips = part.Holes, f.Nominal
	}
	r := placeOf(f)
	a := geom.Axis{O: r.middle, D: r.along}.Transformed(solid.Back)
	r.middle, r.along = a.O, a.D
	for i := range list {
		h := &list[i]
		if r.on(h) && math.Abs(2*h.R-grips) <= near*grips {
			return 2 * h.R, true
		}
	}
	return 0, false
}
