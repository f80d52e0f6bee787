package fastener

import (
	"context"
	"testing"

	"pgregory.net/rapid"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
)

// rod turns the points (z, diameter), from one end to the other.
func rod(points ...float64) product.Part {
	rings := []ft.Ring{ft.Circle(points[0], 0)}
	for i := 0; i < len(points); i += 2 {
		rings = append(rings, ft.Circle(points[i], points[i+1]/2))
	}
	return ft.Turn("", append(rings, ft.Circle(points[len(points)-2], 0))...)
}

// threadedRod is a rod with turns over its ends, which are one and other long,
// 0 for none, and plain between them. A narrow land at each end shows the axis, as
// exact faces would.
func threadedRod(d, core, pitch, l, one, other, lead float64) product.Part {
	c, land := (d-core)/2, 0.2*pitch
	rings := []ft.Ring{ft.Circle(0, 0), ft.Circle(0, d/2-c), ft.Circle(c, d/2), ft.Circle(c+land, d/2)}
	if one > 0 {
		rings = append(rings, ft.Turns(d, core, pitch, c+land+0.01, one, lead)...)
	}
	if other > 0 {
		rings = append(rings, ft.Turns(d, core, pitch, l-other, l-c-land-0.01, lead)...)
	}
	rings = append(rings, ft.Circle(l-c-land, d/2))
	return ft.Facetted("", corners, append(rings, ft.Circle(l-c, d/2), ft.Circle(l, d/2-c), ft.Circle(l, 0))...)
}

// A rod with modelled thread stands for itself: all along, and at both ends.
func TestThreadedRods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		th := rapid.SampledFrom(table.Threads()).Draw(t, "thread")
		if th.Tapping() || th.D > 16 {
			t.Skip("of another kind, or larger than needs be")
		}
		lead := rapid.SampledFrom([]float64{0, 1, -1}).Draw(t, "lead")
		end := rapid.Float64Range(7, 10).Draw(t, "end") * th.Pitch
		end = max(end, 0.8*th.D) // shorter is no rod
		plain := rapid.Float64Range(0, 3).Draw(t, "plain") * th.D
		part := threadedRod(th.D, minor(th), th.Pitch, 2*end+plain, end, end, lead)
		fs := Find(context.Background(), ft.Alone(part))
		if len(fs) != 1 || fs[0].Kind != Stud || fs[0].Size != th.Size || fs[0].Thread != familyOf(th.Size) || fs[0].Drive != NoDrive {
			t.Errorf("%s, lead %g, ends %g, plain %g: %+v", th.Size, lead, end, plain, fs)
		}
	})
}

// Drawn plain, a stud shows d3 or D1 at both ends and d between them, exactly.
func TestStudsDrawnPlain(t *testing.T) {
	for _, th := range table.Threads() {
		if th.Tapping() || th.FinePitch() {
			continue
		}
		for _, core := range []float64{th.D3, th.D1} {
			if core == 0 || th.D > 24 {
				continue
			}
			c := 0.1 * th.D
			d, l := th.D, 6*th.D
			part := rod(0, core-2*c, c, core, 2*d, core, 2*d, d, l-1.2*d, d, l-1.2*d, core, l-c, core, l, core-2*c)
			fs := Find(context.Background(), ft.Alone(part))
			if len(fs) != 1 || fs[0].Kind != Stud || fs[0].Size != th.Size {
				t.Errorf("%s at %g: %+v", th.Size, core, fs)
			}
		}
	}
}

// collared is a rod with turns at both ends and a collar between them.
func collared(d, core, pitch float64) product.Part {
	rings := []ft.Ring{ft.Circle(0, 0), ft.Circle(0, core/2), ft.Circle(0.6, d/2)}
	rings = append(rings, ft.Turns(d, core, pitch, 0.7, 12, 0)...)
	rings = append(rings, ft.Circle(14, d/2), ft.Circle(14, d), ft.Circle(18, d), ft.Circle(18, d/2))
	rings = append(rings, ft.Turns(d, core, pitch, 20, 31.3, 0)...)
	return ft.Facetted("", corners, append(rings, ft.Circle(31.4, d/2), ft.Circle(32, core/2), ft.Circle(32, 0))...)
}

// Shafts, rollers and pins have round sizes, one journal, or sharp ends; lead
// screws and worms have other pitches, bars with barbs another depth.
func TestRodsThatAreNoStuds(t *testing.T) {
	journals := func(core, d float64) product.Part {
		return rod(0, core-0.6, 0.3, core, 12, core, 12, d, 40, d, 40, core, 51.7, core, 52, core-0.6)
	}
	for name, part := range map[string]product.Part{
		"shaft 5 with journals of 4":           journals(4, 5),
		"shaft 6 with journals of 5":           journals(5, 6),
		"shaft 10 with journals of 8":          journals(8, 10),
		"shaft 2 with journals of 1.5":         rod(0, 1.3, 0.1, 1.5, 4, 1.5, 4, 2, 16, 2, 16, 1.5, 19.9, 1.5, 20, 1.3),
		"plain rod, chamfered":                 rod(0, 9, 0.5, 10, 199.5, 10, 200, 9),
		"one end at d3":                        rod(0, 4.2, 0.3, 4.773, 12, 4.773, 12, 6, 39.7, 6, 40, 5.4),
		"both ends at d3, sharp":               rod(0, 4.773, 12, 4.773, 12, 6, 40, 6, 40, 4.773, 52, 4.773),
		"ends of two threads":                  rod(0, 4.2, 0.3, 4.773, 12, 4.773, 12, 6, 40, 6, 40, 4.917, 51.7, 4.917, 52, 4.2),
		"lead screw Tr 10 × 2":                 threadedRod(10, 7.5, 2, 80, 79, 0, 1),
		"thread at one end":                    threadedRod(6, 4.773, 1, 60, 15, 0, 0),
		"barbs as far apart as a thread's":     threadedRod(6, 5.4, 1, 40, 39, 0, 0),
		"thread with a collar":                 collared(6, 4.773, 1),
		"grooves as deep and wide as no other": threadedRod(10, 6, 1.5, 40, 39, 0, 0),
	} {
		for _, f := range Find(context.Background(), ft.Alone(part)) {
			t.Errorf("%s is found as %s %s: %q", name, f.Kind, f.Size, f.Evidence)
		}
	}
}

// A set screw with a slot stands for itself where it shows its thread or all
// that ISO 4766 says; a lid with a coin's slot and a marked pin do not.
func TestSlottedRods(t *testing.T) {
	slotted := func(rings []ft.Ring, n, long, depth float64) product.Part {
		return topped(rings, 0, ft.SlotPocket(n, long), depth)
	}
	plain := func(d, l, chamfer float64) []ft.Ring {
		return []ft.Ring{ft.Circle(-l, 0), ft.Circle(-l, d/2-chamfer), ft.Circle(chamfer-l, d/2), ft.Circle(0, d/2)}
	}
	for _, c := range []struct {
		name string
		part product.Part
		size string // "" for none
	}{
		{"ISO 4766 M5×8", slotted(plain(5, 8, 0.5), 0.85, 4, 1.4), "M5"},
		{"ISO 4766 M5×8 at d3", slotted(plain(4.019, 8, 0.5), 0.85, 3.2, 1.4), "M5"},
		{"turns", slotted(shankRings(5, 4.019, 0.8, 8, "rings", false), 0.95, 4, 1.4), "M5"},
		{"lid with a coin's slot", slotted(plain(20, 5, 1), 2.2, 16, 1.6), ""},
		{"marked pin", slotted(plain(5, 8, 0.5), 0.5, 4, 0.3), ""},
		{"slot of its own width", slotted(plain(5, 8, 0.5), 1.3, 4, 1.4), ""},
		{"sharp lower end", slotted(plain(5, 8, 0), 0.85, 4, 1.4), ""},
		{"short plug", slotted(plain(8, 5, 0.8), 1.25, 6.4, 2.2), ""},
	} {
		fs := Find(context.Background(), ft.Alone(c.part))
		if c.size == "" && len(fs) > 0 || c.size != "" && (len(fs) != 1 || fs[0].Kind != SetScrew || fs[0].Size != c.size) {
			t.Errorf("%s: %+v", c.name, fs)
		}
	}
}

// A plain rod is a stud where a hole drawn for its thread holds it, and only
// there.
func TestPlainRodInATappedHole(t *testing.T) {
	bar := rod(0, 5.4, 0.3, 6, 19.7, 6, 20, 5.4)
	in := func(hole, deep float64) pile { return pile{}.add(0, bar).add(deep-12, ft.Tube(14, 12, hole)) }
	in(4.917, 6).expect(t, "at D1 of M6", 0, Stud, "M6")
	in(5, 6).expect(t, "at the drill of M6", 0, Stud, "M6")
	in(5.9, 9).expect(t, "pressed", 0, Pin, "6 mm")
	in(6.3, 6).expect(t, "with play", 0, "", "")
	in(5.5, 6).expect(t, "between the two", 0, "", "")
	in(5, 2).expect(t, "by a third of its diameter", 0, "", "")
}
