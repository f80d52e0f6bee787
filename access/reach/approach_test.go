package reach

import (
	"math"
	"testing"

	"stepscan/access/fastener"
)

// What passes out is as wide as the flats of a head that turns in a pocket of
// its own shape, but a flange or collar under it goes through whole.
func TestWidestOfAHead(t *testing.T) {
	grips := []fastener.Grip{{Drive: fastener.OuterHex, Size: "10"}, {Drive: fastener.Slot, Size: "1.6x10", Depth: 1.6}}
	for _, c := range []struct {
		name string
		f    fastener.Fastener
		want float64
	}{
		{"hexagon", fastener.Fastener{Drive: fastener.OuterHex, DriveSize: "10", HeadD: 11.547}, 5},
		{"hexagon with slot", fastener.Fastener{Drive: fastener.Combination, Grips: grips, HeadD: 11.547}, 5},
		{"hexagon with flange", fastener.Fastener{Drive: fastener.OuterHex, DriveSize: "10", HeadD: 14.2}, 7.1},
		{"square", fastener.Fastener{Drive: fastener.Square, DriveSize: "8", HeadD: 11.314}, 4},
		{"square with collar", fastener.Fastener{Drive: fastener.Square, DriveSize: "8", HeadD: 16}, 8},
		{"square recess in a pan", fastener.Fastener{Drive: fastener.Square, DriveSize: "2.86", HeadD: 8, RecessDepth: 1.8}, 4},
		{"thick shank", fastener.Fastener{Drive: fastener.HexSocket, DriveSize: "3", Nominal: 6}, 3},
	} {
		c.f.Kind = fastener.Screw
		if got := widest(&c.f); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%s: %g mm, want %g", c.name, got, c.want)
		}
	}
}
