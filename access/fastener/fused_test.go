package fastener

import (
	"context"
	"strings"
	"testing"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
)

// onPlate is a plate with a boss on it, dk wide and k high, with a pocket.
func onPlate(dk, k float64, pocket func(float64) ft.Ring) product.Part {
	rings := []ft.Ring{ft.Circle(-3, 0), ft.Circle(-3, 30), ft.Circle(0, 30), ft.Circle(0, dk/2), ft.Circle(k, dk/2)}
	if pocket == nil {
		return ft.Turn("", append(rings, ft.Circle(k, 0))...)
	}
	return ft.Turn("", append(rings, pocket(k), pocket(k-0.5*k), ft.Circle(k-0.5*k-0.2, 0))...)
}

// The head of a screw that is one body with a plate is told and not counted;
// bosses without a socket, with a round hole, or of no head's size are nothing.
func TestFusedHeads(t *testing.T) {
	hex := ft.HexPocket(3)
	for _, c := range []struct {
		name string
		part product.Part
		want bool
	}{
		{"the head of ISO 4762 M4", onPlate(7, 4, hex), true},
		{"a plain boss", onPlate(7, 4, nil), false},
		{"a bored boss", onPlate(7, 4, func(z float64) ft.Ring { return ft.Circle(z, 1.5) }), false},
		{"a wide boss with a hexagon", onPlate(12, 4, hex), false},
		{"a tall boss with a hexagon", onPlate(7, 9, hex), false},
		{"a boss with another hexagon", onPlate(7, 4, ft.HexPocket(5)), false},
		{"a boss with a square", onPlate(7, 4, func(z float64) ft.Ring { return ft.Polygon(z, 3, 4) }), false},
	} {
		found, doubts := FindAll(context.Background(), ft.Alone(c.part))
		if len(found) != 0 || (len(doubts) == 1 && doubts[0].Fused) != c.want {
			t.Errorf("%s: %d found, %+v", c.name, len(found), doubts)
		}
		if c.want && !strings.Contains(doubts[0].Text, "ISO 4762 M4") {
			t.Errorf("%s: %q", c.name, doubts[0].Text)
		}
	}
}
