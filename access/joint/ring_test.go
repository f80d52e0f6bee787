package joint

import (
	"fmt"
	"math"
	"testing"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
)

// eRing is DIN 6799 for a groove of 5 mm, its mouth at angle 0.
func eRing() product.Part {
	half := math.Asin(4.11 / 5)
	return fastenertest.Open(0.7, half, 2*math.Pi-half, func(t float64) float64 {
		for _, at := range []float64{half, math.Pi, 2*math.Pi - half} {
			if math.Abs(t-at) < 0.3 {
				return 2.5
			}
		}
		return 3.2
	}, fastenertest.Same(5.5))
}

// grooved is a shaft of 7 mm with a groove 0.74 wide above z = 0.
func grooved(floor float64) product.Part {
	var rings []fastenertest.Ring
	for _, c := range [][2]float64{{-20, 0}, {-20, 3.5}, {-0.02, 3.5}, {-0.02, floor / 2}, {0.72, floor / 2}, {0.72, 3.5}, {6, 3.5}, {6, 0}} {
		rings = append(rings, fastenertest.Circle(c[0], c[1]))
	}
	return fastenertest.Turn("", rings...)
}

// A ring holds on to the shaft whose groove it stands in, and to no other part
// beside it.
func TestRingStandsInItsGroove(t *testing.T) {
	p, fs, hs, _, _ := (&heap{}).add("shaft", 0, grooved(5)).add("wheel", -5.1, disc(30, 5, 7.1)).add("ring", 0, eRing()).find(t)
	if len(fs) != 1 || fs[0].Kind != fastener.Ring {
		t.Fatalf("found %+v", fs)
	}
	if got := fmt.Sprint(names(p, hs[0].Passes), names(p, hs[0].Bites)); got != "[] [shaft]" {
		t.Errorf("passes and bites %s", got)
	}
	_, fs, hs, _, _ = (&heap{}).add("shaft", 0, grooved(3)).add("ring", 0, eRing()).find(t)
	if len(fs) != 1 || len(hs[0].Bites) != 0 {
		t.Errorf("about a shaft that it does not touch: %+v", hs)
	}
	_, fs, hs, _, _ = (&heap{}).add("shaft", -10, grooved(5)).add("ring", 0, eRing()).find(t)
	if len(fs) != 1 || len(hs[0].Bites) != 0 {
		t.Errorf("beside the groove: %+v", hs)
	}
}
