package fastener

import (
	"math"

	"stepscan/access/fastener/feature"
)

// keeps reports a ring under the head of screw o that the screw cannot lose: its
// bore is narrower than the thread, and the shank is thinner where it sits.
func (c *court) keeps(o, k *instance) bool {
	if o.Kind != Screw && o.Kind != Bolt || k.Bore < 0.7*o.Nominal || k.Bore > 0.98*o.Nominal {
		return false
	}
	a, b := o.Axis.Height(k.Axis.At(k.Back)), o.Axis.Height(k.Axis.At(k.Front))
	if math.Abs(max(a, b)-o.seat) > touch {
		return false
	}
	for _, g := range c.scene.Inside(o.solid, o.Axis, 0.1, math.Pi) {
		if g.Z0 <= min(a, b)+touch && g.Z1 >= max(a, b)-touch && 2*g.R < k.Bore && feature.Coaxial(o.Axis, k.Axis, k.Bore/2-g.R, 0.02) {
			return true
		}
	}
	return false
}
