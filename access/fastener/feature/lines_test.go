package feature

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"stepscan/geom"
)

// Many holes are searched: the answer is that of looking at each.
func TestAroundMatchesLookingAtEach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num, axes := rapid.IntRange(-3, 3), []mgl64.Vec3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, -1}, {0, 0.01, 0.99995}}
		line := func(label string) geom.Axis {
			return geom.Axis{O: mgl64.Vec3{float64(num.Draw(t, label)), float64(num.Draw(t, label)), float64(num.Draw(t, label))}, D: rapid.SampledFrom(axes).Draw(t, label)}
		}
		p := &Part{}
		for range rapid.IntRange(fewHoles+1, 3*fewHoles).Draw(t, "holes") {
			z := float64(num.Draw(t, "z"))
			p.Holes = append(p.Holes, Hole{Axis: line("hole"), R: 1, Z0: z, Z1: z + 1, Sweep: float64(rapid.IntRange(1, 6).Draw(t, "sweep"))})
		}
		for range 5 {
			a, dist := line("line"), rapid.SampledFrom([]float64{0.02, 0.5, 1, 2}).Draw(t, "dist")
			var want []Segment
			for i := range p.Holes {
				want = p.Holes[i].onLine(want, a, dist, 3)
			}
			if d := cmp.Diff(want, p.Around(a, dist, 3)); d != "" {
				t.Fatal(d)
			}
		}
	})
}
