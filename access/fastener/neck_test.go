package fastener

import (
	"testing"

	ft "stepscan/access/fastener/fastenertest"
)

// carriage is a domed head 16.5 × 3.9 on a neck of n sides, across wide and high
// tall, over a shank of 8 × 30 in all.
func carriage(across, tall float64, n int) *Fastener {
	rings := []ft.Ring{
		ft.Circle(-30, 0), ft.Circle(-30, 3.3), ft.Circle(-29.3, 4), ft.Circle(-tall, 4), ft.Polygon(-tall, across, n), ft.Polygon(0, across, n),
	}
	for _, zr := range [][2]float64{{0, 10}, {0.5, 10}, {2, 8.6}, {3.5, 5}, {4.9, 0}} {
		rings = append(rings, ft.Circle(zr[0], zr[1]))
	}
	f, ok := pile{}.add(0, ft.Turn("", rings...)).kinds()[0]
	if !ok {
		return nil
	}
	return &f
}

// A square neck under a domed head makes a bolt of it that needs no drive (DIN
// 603 M8: 20.65 × 4.88, neck 8.58 × 6, from memory).
func TestSquareNecks(t *testing.T) {
	f := carriage(8.2, 5, 4)
	if f == nil || f.Kind != Bolt || f.Head != "mushroom" || f.Size != "M8" || f.Drive != NoDrive || f.Length != 30 {
		t.Errorf("found as %+v", f)
	}
	for _, c := range []struct {
		what         string
		across, tall float64
		n            int
	}{
		{"a hexagon's neck", 8.2, 5, 6}, {"a wide plate", 12, 5, 4}, {"a square bar", 8.2, 20, 4}, {"a square washer's height", 8.2, 1, 4},
	} {
		if f := carriage(c.across, c.tall, c.n); f != nil {
			t.Errorf("%s: found as %s %s: %q", c.what, f.Kind, f.Head, f.Evidence)
		}
	}
}
