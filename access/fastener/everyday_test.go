package fastener

import (
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// barbs lists rings of n barbs up a rod or tube from z: slow flanks first, of
// radius foot to crest, pitch apart.
func barbs(z, foot, crest, pitch float64, n int) []ft.Ring {
	var out []ft.Ring
	for i := range n {
		lo := z + float64(i)*pitch
		out = append(out, ft.Circle(lo, foot), ft.Circle(lo+0.8*pitch, crest), ft.Circle(lo+0.81*pitch, foot))
	}
	return out
}

// bored closes rings from below with a bore of diameter d right through.
func bored(d float64, rings ...ft.Ring) product.Part {
	lo, hi := rings[0].Z, rings[len(rings)-1].Z
	all := append([]ft.Ring{ft.Circle(lo, d/2)}, rings...)
	return ft.Turn("", append(all, ft.Circle(hi, d/2), ft.Circle(lo, d/2))...)
}

// whole closes rings at both ends on the axis.
func whole(rings ...ft.Ring) product.Part {
	lo, hi := rings[0].Z, rings[len(rings)-1].Z
	return ft.Turn("", slices.Concat([]ft.Ring{ft.Circle(lo, 0)}, rings, []ft.Ring{ft.Circle(hi, 0)})...)
}

// cyl is a piece of diameter d between two heights.
func cyl(d, lo, hi float64) []ft.Ring { return []ft.Ring{ft.Circle(lo, d/2), ft.Circle(hi, d/2)} }

// hexes is a piece with six flats.
func hexes(s, lo, hi float64) []ft.Ring { return []ft.Ring{ft.Polygon(lo, s, 6), ft.Polygon(hi, s, 6)} }

// toothed is a piece with n teeth.
func toothed(d float64, n int, depth, lo, hi float64) []ft.Ring {
	return []ft.Ring{ft.Notched(lo, d/2, n, depth, 0.6), ft.Notched(hi, d/2, n, depth, 0.6)}
}

func join(pieces ...[]ft.Ring) []ft.Ring { return slices.Concat(pieces...) }

// ball is a sphere from its lower to its upper pole, cut off at radius from below.
func ball(z, r, from float64) []ft.Ring {
	var out []ft.Ring
	a0 := math.Asin(from / r)
	for i := range 25 {
		a := a0 + (math.Pi-a0)*float64(i)/25
		out = append(out, ft.Circle(z-r*math.Cos(a), r*math.Sin(a)))
	}
	return out
}

// doughnut is a ring of round section: inner diameter d1, thick section.
func doughnut(d1, thick float64) product.Part {
	const n = 32
	var out []ft.Ring
	for i := range n + 1 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		out = append(out, ft.Circle(thick/2-thick/2*sin, (d1+thick)/2-thick/2*cos))
	}
	return ft.Turn("", out...)
}

// What is in every housing and workshop drawer, and is no fastener, by itself.
func TestEverydayPartsAlone(t *testing.T) {
	for name, part := range map[string]product.Part{
		// like screws
		"potentiometer":                     whole(join(cyl(16, 0, 8), cyl(7, 8, 14), cyl(6, 14, 26))...),
		"trimmer's rotor with a slot":       ft.Screw(2, 1, ft.Barrel(3.3, 1), ft.SlotPocket(0.5, 3.0), 0.5),
		"banana plug":                       whole(join(cyl(4, 0, 19), cyl(10, 19, 45))...),
		"ball stud":                         whole(join(cyl(6, 0, 12), cyl(8, 12, 14), ball(19, 5, 3.5))...),
		"grease nipple":                     whole(join(cyl(6, 0, 5), hexes(7, 5, 8), cyl(4.5, 8, 10), cyl(6.5, 11, 13), cyl(3, 14, 15))...),
		"cable gland":                       whole(join(cyl(16, 0, 10), hexes(22, 10, 16), hexes(22, 16.5, 26), cyl(18, 28, 32))...),
		"temperature sensor with hexagon":   whole(join(cyl(6, 0, 30), ft.Turns(12, 10.16, 1.5, 30, 40, 0), hexes(17, 40, 46), cyl(12, 46, 66))...),
		"spark plug":                        whole(join(ft.Turns(14, 12.5, 1.25, 0, 19, 1), cyl(18, 19, 21), hexes(16, 21, 28), cyl(10, 30, 55), cyl(6, 57, 65))...),
		"screwdriver bit":                   whole(join(hexes(6.35, 0, 14), cyl(5, 15, 20), []ft.Ring{ft.CrossPocket(4.5, 1.2)(21)})...),
		"pressed-in knob with hexagon":      whole(join(cyl(3, 0, 3), hexes(14, 3, 18))...),
		"valve spindle with square":         whole(join(cyl(8, 0, 20), cyl(12, 20, 22), cyl(8, 22, 40), []ft.Ring{ft.Polygon(40, 6, 4), ft.Polygon(48, 6, 4)})...),
		"round lid with a coin's slot":      ft.Screw(18, 3, ft.Barrel(24, 3), ft.SlotPocket(2, 20), 1.5),
		"push button":                       whole(join(cyl(12, 0, 20), cyl(14, 20, 22), cyl(8, 22, 25))...),
		"indicator lamp":                    whole(join(cyl(16, 0, 30), cyl(19, 30, 33))...),
		"rubber bumper with a pull-in tail": whole(join(cyl(2, 0, 12), cyl(5, 13, 15), cyl(3.5, 15, 17), cyl(10, 17, 22))...),
		"fir tree for a bottle brush":       whole(join(barbs(0, 1, 6, 4, 5), cyl(3, 22, 60))...),
		// like set screws, studs and pins
		"lead screw Tr8x2":                whole(ft.Turns(8, 5.5, 2, 0, 100, 1)...),
		"lead screw Tr10x2":               whole(ft.Turns(10, 7.5, 2, 0, 120, 1)...),
		"lead screw with journals":        whole(join(cyl(5, 0, 15), ft.Turns(8, 6.5, 1.25, 15, 85, 1), cyl(5, 86, 100))...),
		"worm":                            whole(join(cyl(4, 0, 20), ft.Turns(10, 7.2, 1.57, 20, 36, 1), cyl(4, 37, 60))...),
		"proximity switch M12x1":          whole(join(cyl(10.4, 0, 1), ft.Turns(12, 10.77, 1, 1, 45, 1), cyl(9, 46, 52))...),
		"proximity switch M8x1":           whole(join(cyl(6.5, 0, 0.5), ft.Turns(8, 6.77, 1, 0.5, 40, 1), cyl(5, 41, 46))...),
		"bellows":                         whole(ft.Turns(14, 9, 2, 0, 24, 0)...),
		"motor with a threaded end":       whole(join(ft.Turns(5, 4.02, 0.8, 0, 12, 0), cyl(20, 12, 50))...),
		"shaft with flats for a spanner":  ft.Turn("", ft.Circle(0, 0), ft.Circle(0, 4), ft.Circle(60, 4), ft.Circle(60, 4), flatted(60.01, 4, 3), flatted(70, 4, 3), ft.Circle(70, 0)),
		"shaft with D":                    ft.Turn("", ft.Circle(0, 0), ft.Circle(0, 3), ft.Circle(20, 3), flatted(20.01, 3, 2.25), flatted(30, 3, 2.25), ft.Circle(30, 0)),
		"potentiometer's slotted spindle": ft.Turn("", join([]ft.Ring{ft.Circle(0, 0)}, cyl(6, 0, 30), []ft.Ring{ft.SlotPocket(1, 5.9)(30), ft.SlotPocket(1, 5.9)(22), ft.Circle(22, 0)})...),
		"crystal oscillator's can":        whole(cyl(3, 0, 8)...),
		"taper peg of a moulding":         whole(ft.Circle(0, 2), ft.Circle(10, 2.1)),
		// like nuts
		"wheel hexagon":            ft.Nut(12, 5, 5),
		"hexagon spacer":           ft.Nut(8, 15, 5.3),
		"gear with a hexagon bore": ft.Turn("", ft.Polygon(0, 8, 6), ft.Notched(0, 12, 24, 2, 0.6), ft.Notched(8, 12, 24, 2, 0.6), ft.Polygon(8, 8, 6), ft.Polygon(0, 8, 6)),
		"square tube's end plug":   bored(12, ft.Polygon(0, 20, 4), ft.Polygon(5, 20, 4)),
		"hexagon socket bush":      ft.Turn("", ft.Polygon(0, 6, 6), ft.Circle(0, 6), ft.Circle(10, 6), ft.Polygon(10, 6, 6), ft.Polygon(0, 6, 6)),
		// like washers
		"O-ring 6x2":   doughnut(6, 2),
		"O-ring 3.2x1": doughnut(3.2, 1),
		"coin":         whole(cyl(23.25, 0, 2.33)...),
		"felt ring":    ft.Tube(30, 6, 18),
		"bearing 608":  ft.Tube(22, 7, 8),
		"bearing 6000": ft.Tube(26, 8, 10),
		"magnet":       ft.Tube(20, 5, 6),
		"pipe's seal":  ft.Tube(24, 3, 15),
		"shim":         ft.Tube(10, 0.3, 5.02),
		// like inserts
		"bush with chamfers":          bored(6, join(cyl(9.4, 0, 0), cyl(10, 0.3, 9.7), cyl(9.4, 10, 10))...),
		"bush with barbs for a hose":  bored(4.2, join(barbs(0, 3, 4, 3, 3), cyl(9, 9, 11), cyl(6, 11, 13), mirror(barbs(0, 3, 4, 3, 3), 22))...),
		"hose nozzle":                 bored(4.2, join(barbs(0, 3, 4, 3, 4), cyl(12, 12, 14), cyl(10, 14, 22))...),
		"LED holder":                  ft.Turn("", ft.Circle(0, 3.05), ft.Circle(0, 4), ft.Circle(8, 4), ft.Circle(8, 5.5), ft.Circle(10, 5.5), ft.Circle(10, 2.55), ft.Circle(5, 2.55), ft.Circle(5, 3.05), ft.Circle(0, 3.05)),
		"flanged bush with a step":    ft.Turn("", ft.Circle(0, 2.5), ft.Circle(0, 5), ft.Circle(9, 5), ft.Circle(9, 7), ft.Circle(10.5, 7), ft.Circle(10.5, 3.1), ft.Circle(5, 3.1), ft.Circle(5, 2.5), ft.Circle(0, 2.5)),
		"flanged plain bearing":       bored(3, join(cyl(4.5, 0, 4), cyl(7.5, 4, 4.75))...),
		"belt pulley":                 bored(5, join(cyl(16, 0, 7), toothed(12.2, 20, 0.75, 7, 14), cyl(16, 14, 15))...),
		"small belt pulley":           bored(5, join(cyl(9, 0, 1), toothed(8.8, 14, 0.4, 1, 8), cyl(9, 8, 9))...),
		"filament drive gear":         bored(5, join(cyl(9, 0, 5), toothed(9, 22, 0.4, 5, 6.5), toothed(8, 22, 0.4, 7.2, 7.8), toothed(9, 22, 0.4, 8.5, 11))...),
		"knurled friction roller":     bored(5, toothed(9, 36, 0.3, 0, 12)...),
		"pipe nipple with turns":      bored(8.5, ft.Turns(13.157, 11.445, 1.337, 0, 16, 1)...),
		"threaded bush of a switch":   bored(6.2, join(ft.Turns(12, 10.9, 1, 0, 10, 1))...),
		"grooved pulley":              bored(2.5, join(cyl(5, 0, 0.6), cyl(4, 1, 1.4), cyl(5, 1.8, 2.4), cyl(4, 2.8, 3.2), cyl(5, 3.6, 4.2))...),
		"rubber grommet":              bored(5, join(cyl(12, 0, 2), cyl(8, 2, 4), cyl(12, 4, 6))...),
		"roller with O-ring's groove": bored(4.2, join(cyl(8, 0, 2), cyl(6.5, 2, 4), cyl(8, 4, 6))...),
		"hexagon hydraulic adapter":   bored(5, join(cyl(10, 0, 9), hexes(14, 9, 16), cyl(10, 16, 25))...),
		// open
		"rolled bush with a hairline": ft.Open(6, 0.03, 2*math.Pi-0.03, ft.Same(1.5), ft.Same(2.25)),
		"clamping collar":             ft.Open(8, 0.1, 2*math.Pi-0.1, ft.Same(4), ft.Same(9)),
		"cable clip":                  ft.Open(6, 0.7, 2*math.Pi-0.7, ft.Same(4), ft.Same(5.5)),
		"piston ring":                 ft.Open(1.2, 0.02, 2*math.Pi-0.02, ft.Same(22), ft.Same(25)),
	} {
		t.Run(name, func(t *testing.T) {
			for _, f := range (pile{}).add(0, part).kinds() {
				t.Errorf("found as %s %q %s, %.2g: %q", f.Kind, f.Head, f.Size, f.Confidence, f.Evidence)
			}
		})
	}
}

// An O-ring has faces that no axis is found by in facets: it is asked about its own.
func TestORingIsNoWasher(t *testing.T) {
	for _, d := range [][2]float64{{4.1, 1}, {3.2, 0.5}, {6.4, 1.6}, {10, 2}} {
		part := doughnut(d[0], d[1])
		if s, ok := examineAbout(&part, feature.Of(&part), geom.Axis{D: mgl64.Vec3{0, 0, 1}}); ok {
			t.Errorf("O-ring %v: %s %q", d, s.Kind, s.Evidence)
		}
	}
}

// flatted is a circle with two flats, each at a distance from the axis.
func flatted(z, r, at float64) ft.Ring {
	return ft.Ring{Z: z, R: func(a float64) float64 { return min(r, at/max(1e-9, math.Abs(math.Cos(a)))) }}
}

// mirror turns rings upside down about half of height.
func mirror(in []ft.Ring, height float64) []ft.Ring {
	out := slices.Clone(in)
	for i := range out {
		out[i].Z = height - out[i].Z
	}
	slices.Reverse(out)
	return out
}

// The same where they are used: what stands about them must not make them
// fasteners.
func TestEverydayPartsAtWork(t *testing.T) {
	m4 := ft.Screw(4, 16, ft.Barrel(7, 4), ft.HexPocket(3), 2)
	m8 := ft.Screw(8, 30, ft.Hexagon(13, 5.3), nil, 0)
	potentiometer := whole(join(cyl(6, 0, 12), cyl(7, 12, 20), cyl(16, 20, 28))...)
	lamp := whole(join(cyl(15.2, 0, 1), cyl(16, 1, 30), cyl(19, 30, 33))...)
	for name, c := range map[string]struct {
		pile pile
		part product.SolidIndex
	}{
		"bearing under a bolt's head":           {pile{}.add(0, m8).add(-7, ft.Tube(22, 7, 8)), 1},
		"bush under a screw's head":             {pile{}.add(0, m4).add(-3, ft.Tube(9, 3, 4.2)), 1},
		"potentiometer with its nut":            {pile{}.add(0, potentiometer).add(15, ft.Nut(10, 2, 6.9)), 0},
		"indicator lamp with its nut":           {pile{}.add(0, lamp).add(24, ft.Nut(22, 4.2, 15.8)), 0},
		"cell in a tube of its size":            {pile{}.add(0, whole(cyl(14.5, 0, 50)...)).add(-5, ft.Tube(18, 70, 14.5)), 0},
		"piston in its cylinder":                {pile{}.add(5, whole(cyl(12, 0, 20)...)).add(0, ft.Tube(20, 80, 12)), 0},
		"magnet in its pocket":                  {pile{}.add(0, whole(cyl(4, 0, 8)...)).add(-8, ft.Turn("", join([]ft.Ring{ft.Circle(0, 0)}, cyl(20, 0, 16), []ft.Ring{ft.Circle(16, 2), ft.Circle(8, 2), ft.Circle(8, 0)})...)), 0},
		"shim between two gears on their shaft": {pile{}.add(0, ft.Tube(10, 0.3, 5)).add(-5, ft.Tube(20, 5, 5)).add(0.3, ft.Tube(20, 5, 5)).add(-20, whole(cyl(5, 0, 50)...)), 0},
		"shaft in two bearings":                 {pile{}.add(0, whole(cyl(5, 0, 60)...)).add(0, ft.Tube(16, 5, 5)).add(50, ft.Tube(16, 5, 5)), 0},
		"motor's shaft in a pulley":             {pile{}.add(0, whole(join(cyl(20, 0, 30), cyl(4, 30, 45))...)).add(35, ft.Tube(12, 8, 4)), 0},
	} {
		t.Run(name, func(t *testing.T) {
			if f, ok := c.pile.kinds()[c.part]; ok {
				t.Errorf("found as %s %q %s, %.2g: %q", f.Kind, f.Head, f.Size, f.Confidence, f.Evidence)
			}
		})
	}
}
