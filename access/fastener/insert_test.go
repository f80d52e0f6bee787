package fastener

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// knurled is a ring of n notches deep mm into radius r.
func knurled(z, r float64, n int, deep float64) ft.Ring {
	return ft.Ring{Z: z, R: func(t float64) float64 { return r - deep*math.Abs(math.Sin(float64(n)*t/2)) }}
}

// heatSet is a bush with two knurled bands and a neck between, d0 across and l
// long.
func heatSet(d0, l, bore float64, n int, deep float64) product.Part {
	r, neck := d0/2, 0.85*d0/2
	return ft.Turn("", ft.Circle(0, bore/2), ft.Circle(0, neck), ft.Circle(0.1*l, neck), knurled(0.1*l, r, n, deep), knurled(0.45*l, r, n, deep),
		ft.Circle(0.45*l, neck), ft.Circle(0.6*l, neck), knurled(0.6*l, r, n, deep), knurled(l, r, n, deep), ft.Circle(l, bore/2), ft.Circle(0, bore/2))
}

// ribbed is a bush with ribs: each rises from deep below over up mm and falls
// over down mm.
func ribbed(d0, l, bore float64, ribs int, deep, rise float64) product.Part {
	rings := []ft.Ring{ft.Circle(0, bore/2), ft.Circle(0, d0/2-deep)}
	p := l / float64(ribs)
	for k := range ribs {
		z := float64(k) * p
		rings = append(rings, ft.Circle(z+0.1*p, d0/2-deep), ft.Circle(z+rise*p, d0/2), ft.Circle(z+rise*p+0.1*p, d0/2), ft.Circle(z+0.99*p, d0/2-deep))
	}
	return ft.Turn("", append(rings, ft.Circle(l, d0/2-deep), ft.Circle(l, bore/2), ft.Circle(0, bore/2))...)
}

// rivetNut is a flange over a thin skirt over a threaded end.
func rivetNut(d0, flange, l, bore, skirt float64) product.Part {
	return turned("", 0, bore/2, 0, d0/2, l-1, d0/2, l-1, flange/2, l, flange/2, l, skirt/2, 0.5*l, skirt/2, 0.5*l, bore/2, 0, bore/2)
}

// slottedBush is a bush with turns round it and a slot across its upper end, as two
// halves above the slot's floor.
func slottedBush(slot float64) product.Part {
	foot := ribbed(6.5, 6, 3.242, 8, 0.4, 0.5)
	half := func(s float64) *mesh.Mesh {
		var p []mgl64.Vec2
		for k := range 41 { // outside, then inside back
			a := math.Asin(slot/2/3.25) + float64(k)/40*(math.Pi-2*math.Asin(slot/2/3.25))
			p = append(p, mgl64.Vec2{3.25 * math.Cos(a), s * 3.25 * math.Sin(a)})
		}
		for k := range 41 {
			a := math.Pi - math.Asin(slot/2/1.621) - float64(k)/40*(math.Pi-2*math.Asin(slot/2/1.621))
			p = append(p, mgl64.Vec2{1.621 * math.Cos(a), s * 1.621 * math.Sin(a)})
		}
		return shape.Prism(zAxis(6), 2, shape.Contour{Points: p})
	}
	return ft.Solid("", foot.Mesh, half(1), half(-1))
}

// Measures of makers' lists (common practice); D1 is d - 1.0825 P.
func TestInserts(t *testing.T) {
	for _, c := range []struct {
		name string
		part product.Part
		size string // "" for none
	}{
		{"heat-set M3, twenty notches", heatSet(4.6, 5.7, 2.459, 20, 0.28), "M3"},
		{"heat-set M4, forty notches", heatSet(6.3, 8.1, 3.242, 40, 0.25), "M4"},
		{"barbed M3, bore at d", ribbed(4.6, 5.7, 3, 5, 0.28, 0.8), "M3"},
		{"self-tapping M6, turns", ribbed(10, 14, 4.917, 9, 0.6, 0.5), "M6"},
		{"slotted M4", slottedBush(0.9), "M4"},
		{"blind rivet nut M5", rivetNut(7, 10, 13.5, 4.134, 5.3), "M5"},
		{"a bush with a flange", rivetNut(7, 10, 13.5, 4.6, 4.6), ""},
		{"a bush with a flange and a clearance hole", rivetNut(7, 10, 13.5, 4.5, 5.3), ""},
		{"a plain bush", ft.Tube(4.6, 5.7, 2.459), ""},
		{"a pulley for a ribbed belt", ribbed(14, 10, 8, 4, 1, 0.5), ""},
		{"a bush with a groove", ribbed(4.6, 5.7, 2.459, 2, 0.28, 0.5), ""},
		{"a thin-walled ribbed tube", ribbed(6.5, 8, 5.5, 6, 0.3, 0.8), ""},
		{"a pinion with a groove", heatSet(11, 8, 5, 20, 1.1), ""},
		{"knurled and with a groove, bore of no thread", heatSet(4.6, 5.7, 2.75, 6, 0.28), ""},
		{"a knurled knob", heatSet(18, 8, 4.134, 40, 0.3), ""},
		{"facets of a round groove", heatSet(4.6, 5.7, 2.459, 6, 0), ""},
		{"a pulley with teeth between flanges", flangedPulley(), ""},
	} {
		f, ok := pile{}.add(0, c.part).kinds()[0]
		if got := f.Kind == Insert; got != (c.size != "") || f.Size != c.size && got || ok && !got {
			t.Errorf("%s: %s %q, %s %q; %q", c.name, f.Kind, f.Size, f.Drive, f.DriveSize, f.Evidence)
		}
	}
	if f := (pile{}.add(0, slottedBush(0.9))).kinds()[0]; f.Drive != Slot || f.Axis.D[2] < 0.9 {
		t.Errorf("slot: %s %q, out along %v", f.Drive, f.DriveSize, f.Axis.D)
	}
}

// flangedPulley has 20 teeth between two flanges and a bore of 8.
func flangedPulley() product.Part {
	return ft.Turn("", ft.Circle(0, 4), ft.Circle(0, 8), ft.Circle(1, 8), knurled(1, 6.1, 20, 0.7), knurled(8, 6.1, 20, 0.7), ft.Circle(8, 8), ft.Circle(9, 8), ft.Circle(9, 4), ft.Circle(0, 4))
}

// A smooth bush is an insert where it fills a hole and a screw bites its bore.
func TestBushesAsInserts(t *testing.T) {
	bush, wall := ft.Tube(4.6, 6, 2.459), func(hole float64) product.Part { return ft.Tube(12, 8, hole) }
	screw := ft.Screw(3, 12, ft.Barrel(5.5, 3), ft.HexPocket(2.5), 1.6)
	held := pile{}.add(0, bush).add(-2, wall(4.6))
	held.add(9, screw).expect(t, "with its screw", 0, Insert, "M3")
	held.expect(t, "without a screw", 0, "", "")
	pile{}.add(0, bush).add(-2, wall(4.8)).add(9, screw).expect(t, "loose in its hole", 0, "", "")
	pile{}.add(0, bush).add(9, screw).expect(t, "in no hole", 0, "", "")
	held.add(17, screw).expect(t, "the screw does not reach it", 0, "", "")
	pile{}.add(0, ft.Tube(4.6, 6, 3.2)).add(-2, wall(4.6)).add(9, screw).expect(t, "the screw has room in it", 0, "", "")
}
