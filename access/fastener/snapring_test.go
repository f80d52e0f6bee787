package fastener

import (
	"testing"

	"stepscan/access/fastener/feature"
)

// A ring of wire 1 mm thick, from Ø9 to Ø11, stands in a groove with a floor of
// 9 in a shaft of 10, or with one of 11 in a bore of 10.
func TestWireRingsInTheirGroove(t *testing.T) {
	ring := func() *instance {
		k := &instance{}
		k.shank, k.Bore, k.HeadD, k.Back = 1, 9, 11, -1
		return k
	}
	groove := func(floor, walls float64) []feature.Segment {
		return []feature.Segment{{Z0: -20, Z1: -1.1, R: walls / 2}, {Z0: -1.1, Z1: 0.1, R: floor / 2}, {Z0: 0.1, Z1: 5, R: walls / 2}}
	}
	for _, c := range []struct {
		what     string
		walls    []feature.Segment
		d, sense float64
		want     float64
	}{
		{"in a shaft", groove(9, 10), 9, 1, 10},
		{"in a bore", groove(11, 10), 11, -1, 10},
		{"a plain shaft", []feature.Segment{{Z0: -20, Z1: 5, R: 4.5}}, 9, 1, 0},
		{"before a shoulder", groove(9, 10)[:2], 9, 1, 0},
		{"a floor that it does not touch", groove(7, 10), 9, 1, 0},
		{"in a neck as deep as a spool", groove(9, 14), 9, 1, 0},
		{"beside the groove", []feature.Segment{{Z0: -20, Z1: -9, R: 5}, {Z0: -9, Z1: -8, R: 4.5}, {Z0: -8, Z1: 5, R: 5}}, 9, 1, 0},
	} {
		if got, ok := ring().inGroove(c.walls, c.d, c.sense); got != c.want || ok != (c.want > 0) {
			t.Errorf("%s: %g, %v", c.what, got, ok)
		}
	}
}
