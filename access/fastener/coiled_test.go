package fastener

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh/shape"
)

// rolled reads a strip of sheet rolled up over some turns from a radius inwards,
// l mm long, a hair between its layers.
func rolled(thick, r, turns, l float64) (specimen, bool) {
	const n = 300
	c := shape.Contour{Points: make([]mgl64.Vec2, 2*n)}
	developed := 0.0
	for i := range n {
		a := 2 * math.Pi * turns * float64(i) / (n - 1)
		q := r - 1.12*thick*a/(2*math.Pi)
		sin, cos := math.Sincos(a)
		c.Points[i] = mgl64.Vec2{q * cos, q * sin}
		c.Points[2*n-1-i] = mgl64.Vec2{(q - thick) * cos, (q - thick) * sin}
		developed += (q - thick/2) * 2 * math.Pi * turns / n
	}
	f := geom.Frame{X: mgl64.Vec3{1, 0, 0}, Y: mgl64.Vec3{0, 1, 0}, Z: mgl64.Vec3{0, 0, 1}}
	m := flatten(shape.Extrude(f, l, c), f)
	end := developed * thick
	return m.coiled(f, end*l, 2*(developed+thick)*l, end)
}

// ISO 8750 for 4 mm: sheet of 0.33 mm in 2.25 turns (from memory).
func TestCoiledPins(t *testing.T) {
	if s, ok := rolled(0.33, 2, 2.25, 20); !ok || s.Kind != Pin || s.Size != "4 mm" || s.Length != 20 || s.needs != none {
		t.Errorf("%v: %s %s × %g: %q", ok, s.Kind, s.Size, s.Length, s.Evidence)
	}
	for _, c := range []struct {
		what               string
		thick, r, turns, l float64
	}{
		{"a slit tube", 0.33, 2, 0.9, 20}, {"a watch spring", 0.1, 2, 8, 20}, {"a scroll of sheet", 0.33, 2, 2.25, 3}, {"foil", 0.05, 2, 2.25, 20},
	} {
		if s, ok := rolled(c.thick, c.r, c.turns, c.l); ok {
			t.Errorf("%s is found as %s %s: %q", c.what, s.Kind, s.Size, s.Evidence)
		}
	}
}
