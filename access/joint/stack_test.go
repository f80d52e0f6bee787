package joint

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// blind is a block h high with a hole of diameter d from its top, depth deep,
// and below it one of diameter core down to coreDepth with a drill's point of
// 118 degrees; core 0 leaves the bottom flat.
func blind(h, d, depth, core, coreDepth float64) product.Part {
	rings := []fastenertest.Ring{
		fastenertest.Circle(0, 0), fastenertest.Circle(0, 15), fastenertest.Circle(h, 15),
		fastenertest.Circle(h, d/2), fastenertest.Circle(h-depth, d/2),
	}
	if core > 0 {
		if core != d {
			rings = append(rings, fastenertest.Circle(h-depth, core/2))
		}
		rings = append(rings, fastenertest.Circle(h-coreDepth, core/2), fastenertest.Circle(h-coreDepth-core/2/math.Tan(59*math.Pi/180), 0))
	} else {
		rings = append(rings, fastenertest.Circle(h-depth, 0))
	}
	return fastenertest.Turn("", rings...)
}

// chamfered is a plate with a hole whose both edges are broken by c.
func chamfered(h, d, c float64) product.Part {
	return fastenertest.Turn("", fastenertest.Circle(0, d/2+c), fastenertest.Circle(0, 15), fastenertest.Circle(h, 15),
		fastenertest.Circle(h, d/2+c), fastenertest.Circle(h-c, d/2), fastenertest.Circle(c, d/2), fastenertest.Circle(0, d/2+c))
}

// counterbored is a plate whose hole is wide for depth from its top.
func counterbored(h, d, wide, depth float64) product.Part {
	return fastenertest.Turn("", fastenertest.Circle(0, d/2), fastenertest.Circle(0, 15), fastenertest.Circle(h, 15),
		fastenertest.Circle(h, wide/2), fastenertest.Circle(h-depth, wide/2), fastenertest.Circle(h-depth, d/2), fastenertest.Circle(0, d/2))
}

// want is what a stack must be read as.
type want struct {
	passes, bites string
	grip, engaged float64
	beyond        float64
}

func check(t *testing.T, p *product.Product, h Hold, w want) {
	t.Helper()
	if got := fmt.Sprint(names(p, h.Passes)); got != w.passes {
		t.Errorf("passes %s, want %s: %q", got, w.passes, h.Evidence)
	}
	if got := fmt.Sprint(names(p, h.Bites)); got != w.bites {
		t.Errorf("bites %s, want %s: %q", got, w.bites, h.Evidence)
	}
	const chord = 0.011 // mm, of a turned test part
	if math.Abs(h.Grip-w.grip) > chord || math.Abs(h.Engagement-w.engaged) > chord || math.Abs(h.Beyond-w.beyond) > chord {
		t.Errorf("grip %g, want %g; engagement %g, want %g; beyond %g, want %g", h.Grip, w.grip, h.Engagement, w.engaged, h.Beyond, w.beyond)
	}
}

// checkLayers: the layers are what is passed and bitten, one under another, and
// the last that is passed ends where the grip does.
func checkLayers(t *testing.T, h Hold) {
	t.Helper()
	var passes, bites []product.SolidIndex
	last := 0.0
	for _, l := range h.Layers {
		if l.From < last-0.011 || l.To <= l.From {
			t.Errorf("layer from %g to %g below %g", l.From, l.To, last)
		}
		if last = l.To; l.Bites {
			bites = append(bites, l.Solid)
			continue
		}
		passes = append(passes, l.Solid)
		if l.To > h.Grip+0.011 {
			t.Errorf("layer to %g below the grip %g", l.To, h.Grip)
		}
	}
	if !slices.Equal(passes, h.Passes) || !slices.Equal(bites, h.Bites) {
		t.Errorf("layers %+v, passes %v, bites %v", h.Layers, h.Passes, h.Bites)
	}
}

// A screw M4 with its seat at z = 0; lengths add up on paper.
func TestStackOfAScrew(t *testing.T) {
	under := func(z float64, p product.Part) *heap { return (&heap{}).add("first", z, p) }
	spring := func() product.Part { return disc(7.6, 0.9, 4.1) } // DIN 127 M4, drawn flat
	tests := []struct {
		name   string
		length float64
		heap   *heap
		want   want
	}{
		{"3 and 5 on a tapped block", 16, under(-3, disc(30, 3, 4.5)).add("second", -8, disc(30, 5, 4.5)).add("block", -28, disc(30, 20, 3.3)), want{"[first second]", "[block]", 8, 8, 0}},
		{"blind hole 12 deep, room below the tip", 16, under(-3, disc(30, 3, 4.5)).add("second", -8, disc(30, 5, 4.5)).add("block", -28, blind(20, 3.3, 12, 3.3, 12)), want{"[first second]", "[block]", 8, 8, 0}},
		{"through a tapped plate 4 thick", 16, under(-3, disc(30, 3, 4.5)).add("plate", -7, disc(30, 4, 3.3)), want{"[first]", "[plate]", 3, 4, 0}},
		{"too long for a blind hole", 16, under(-3, disc(30, 3, 4.5)).add("block", -23, blind(20, 3.3, 9, 3.3, 9)), want{"[first]", "[block]", 3, 9, 4}},
		{"flat bottom", 16, under(-3, disc(30, 3, 4.5)).add("block", -23, blind(20, 3.3, 10, 0, 0)), want{"[first]", "[block]", 3, 10, 3}},
		{"thread drawn at 4 over a drill of 3.3, tip in the thread", 12, under(-3, disc(30, 3, 4.5)).add("block", -23, blind(20, 4, 10, 3.3, 13)), want{"[first]", "[block]", 3, 9, 0}},
		{"thread drawn at 4 over a drill of 3.3, tip beyond it", 16, under(-3, disc(30, 3, 4.5)).add("block", -23, blind(20, 4, 10, 3.3, 13)), want{"[first]", "[block]", 3, 10, 3}},
		{"relief of 4 above a thread of 3.3", 16, under(-3, disc(30, 3, 4.5)).add("block", -23, counterbored(20, 3.3, 4, 2)), want{"[first]", "[block]", 3, 11, 0}},
		{"broken edges", 16, under(-3, chamfered(3, 4.5, 0.4)).add("block", -23, chamfered(20, 3.3, 0.5)), want{"[first]", "[block]", 3, 12.5, 0}},
		{"washer and spring washer", 16, (&heap{}).add("spring", -0.9, spring()).add("washer", -1.7, disc(9, 0.8, 4.3)).add("first", -4.7, disc(30, 3, 4.5)).add("block", -30, disc(30, 25.3, 3.3)), want{"[first]", "[block]", 4.7, 11.3, 0}},
		{"slot in the second plate", 16, under(-3, disc(30, 3, 4.5)).add("second", -8, slotted(30, 5, 4.5)).add("block", -28, disc(30, 20, 3.3)), want{"[first second]", "[block]", 8, 8, 0}},
		{"hole twice as wide under the first plate", 16, under(-3, disc(30, 3, 4.5)).add("second", -8, disc(30, 5, 6.4)).add("block", -28, disc(30, 20, 3.3)), want{"[first second]", "[block]", 8, 8, 0}},
		{"oversize hole under a wide washer", 16, (&heap{}).add("washer", -1, disc(12, 1, 4.3)).add("first", -4, disc(30, 3, 8)).add("block", -30, disc(30, 26, 3.3)), want{"[first]", "[block]", 4, 12, 0}},
		{"a frame about all of it", 16, under(-3, disc(30, 3, 4.5)).add("block", -28, disc(30, 25, 3.3)).add("frame", -20, disc(60, 20, 31)), want{"[first]", "[block]", 3, 13, 0}},
		{"nothing bitten, broken edges", 16, under(-3, chamfered(3, 4.5, 0.4)), want{"[first]", "[]", 3, 0, 0}},
		{"counterbored plate", 16, under(-3, counterbored(7, 4.5, 8, 4)).add("block", -28, disc(30, 25, 3.3)), want{"[first]", "[block]", 3, 13, 0}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, fs, hs, _, by := tt.heap.add("screw", 0, capM4(tt.length)).find(t)
			i, ok := by["screw"]
			if !ok {
				t.Fatalf("found %+v", fs)
			}
			check(t, p, hs[i], tt.want)
			checkLayers(t, hs[i])
			for _, w := range []string{"washer", "spring"} {
				if k, ok := by[w]; ok && !slices.Contains(hs[i].Washers, k) {
					t.Errorf("the %s is not the screw's: %v", w, hs[i].Washers)
				}
			}
		})
	}
}

// A countersunk head is measured from its rim.
func TestStackUnderACountersunkHead(t *testing.T) {
	screw := fastenertest.Screw(4, 16-2.2, fastenertest.Cone(4, 8.4), fastenertest.HexPocket(2.5), 1.8)
	sink := fastenertest.Turn("", fastenertest.Circle(0, 2.25), fastenertest.Circle(0, 15), fastenertest.Circle(3, 15), fastenertest.Circle(3, 4.25), fastenertest.Circle(1, 2.25), fastenertest.Circle(0, 2.25))
	p, fs, hs, _, by := (&heap{}).add("screw", -2.21, screw).add("plate", -3, sink).add("block", -30, disc(30, 27, 3.3)).find(t)
	i, ok := by["screw"]
	if !ok || fs[i].Head != "countersunk" {
		t.Fatalf("found %+v", fs)
	}
	check(t, p, hs[i], want{"[plate]", "[block]", 3, 13.01, 0})
}

// A bolt with a nut grips between the bearing faces; the nut behind it is a
// lock nut and clamps nothing.
func TestStackOfABoltWithTwoNuts(t *testing.T) {
	nut := fastenertest.Nut(7, 3.2, 3.242)
	h := (&heap{}).add("lock", -11.4, nut).add("nut", -8.2, nut).add("plate 2", -5, slotted(30, 3, 4.5)).add("plate 1", -2, disc(30, 2, 4.5)).add("bolt", 0, capM4(16))
	p, _, hs, _, by := h.find(t)
	i := by["bolt"]
	check(t, p, hs[i], want{"[plate 1 plate 2]", "[]", 5, 3.2, 0})
	if hs[i].Mate != by["nut"] || hs[by["lock"]].Mate != i {
		t.Errorf("mates %d and %d", hs[i].Mate, hs[by["lock"]].Mate)
	}
}

// Two screws from both ends of one axis: each has its own stack.
func TestTwoScrewsOnOneAxis(t *testing.T) {
	flip := geom.Transform{M: mgl64.Mat3{1, 0, 0, 0, -1, 0, 0, 0, -1}, T: mgl64.Vec3{0, 0, -30}}
	h := (&heap{}).add("upper", -3, disc(30, 3, 4.5)).add("post", -26, disc(12, 23, 3.3)).add("lower", -30, disc(30, 4, 4.5)).add("screw", 0, capM4(10))
	h.add("second", 0, capM4(12))
	h.uses[len(h.uses)-1].At = flip
	p, fs, hs, js, by := h.find(t)
	if len(fs) != 2 {
		t.Fatalf("found %+v", fs)
	}
	check(t, p, hs[by["screw"]], want{"[upper]", "[post]", 3, 7, 0})
	check(t, p, hs[by["second"]], want{"[lower]", "[post]", 4, 8, 0})
	if len(js) != 2 {
		t.Errorf("joints %+v", js)
	}
}

// threadedRod makes a stud that recognition need not find.
func (h *heap) judged(t *testing.T, more ...fastener.Fastener) (*product.Product, []Hold, []Joint, map[string]int) {
	t.Helper()
	p := fastenertest.Assemble(h.parts, h.uses...)
	var fs []fastener.Fastener
	taken := map[product.SolidIndex]bool{}
	for _, f := range more {
		for s := range p.Solids {
			if p.Name(product.SolidIndex(s)) == f.Designation {
				f.Solids = []product.SolidIndex{product.SolidIndex(s)}
				taken[product.SolidIndex(s)] = true
			}
		}
		fs = append(fs, f)
	}
	for _, f := range fastener.Find(context.Background(), p) {
		if !taken[f.Solids[0]] {
			fs = append(fs, f)
		}
	}
	hs, js := Find(context.Background(), p, fs)
	by := map[string]int{}
	for i, f := range fs {
		by[p.Name(f.Solids[0])] = i
	}
	return p, hs, js, by
}

// made is a fastener that stands on the z axis from back to front, for the
// solid of that name.
func made(kind fastener.Kind, solid string, d, back, front float64) fastener.Fastener {
	up := geom.Axis{O: mgl64.Vec3{0, 0, front}, D: mgl64.Vec3{0, 0, 1}}
	return fastener.Fastener{Kind: kind, Designation: solid, Size: fmt.Sprintf("M%g", d), Nominal: d, Axis: up, Point: up.O, Back: back - front, Front: 0, Length: front - back}
}

func rod(d, l float64) product.Part {
	return fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, d/2), fastenertest.Circle(l, d/2), fastenertest.Circle(l, 0))
}

// A rod between two nuts, and a stud in a block with a nut on it.
func TestStackOfAStud(t *testing.T) {
	nut := fastenertest.Nut(7, 3.2, 3.242)
	h := (&heap{}).add("rod", -20, rod(4, 30)).add("upper", 5, nut).add("plate 1", 0, disc(30, 5, 4.5)).add("plate 2", -4, disc(30, 4, 4.5)).add("lower", -7.2, nut)
	p, hs, _, by := h.judged(t, made(fastener.Stud, "rod", 4, -20, 10))
	check(t, p, hs[by["rod"]], want{"[plate 1 plate 2]", "[]", 9, 3.2, 0})

	h = (&heap{}).add("rod", -8, rod(4, 18)).add("upper", 5, nut).add("plate", 0, disc(30, 5, 4.5)).add("block", -20, disc(30, 20, 3.3))
	p, hs, js, by := h.judged(t, made(fastener.Stud, "rod", 4, -8, 10))
	check(t, p, hs[by["rod"]], want{"[plate]", "[block]", 5, 3.2, 0})
	if len(js) != 1 || js[0].Text != "plate on block by 1 stud" {
		t.Errorf("joints %+v", js)
	}
}

// A screw bites the insert, the insert its boss; the joint is with the boss.
func TestScrewIntoAnInsert(t *testing.T) {
	insert := fastenertest.Turn("", fastenertest.Circle(0, 1.25), fastenertest.Circle(0, 2.1), fastenertest.Circle(5, 2.1), fastenertest.Circle(5, 1.25), fastenertest.Circle(0, 1.25))
	screw := fastenertest.Screw(3, 8, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6)
	boss := blind(12, 4, 9, 0, 0)
	h := (&heap{}).add("lid", -2, disc(30, 2, 3.4)).add("insert", -7, insert).add("boss", -14, boss).add("screw", 0, screw)
	f := made(fastener.Insert, "insert", 3, -7, -2)
	f.Bore = 2.5
	p, hs, js, by := h.judged(t, f)
	check(t, p, hs[by["screw"]], want{"[lid]", "[insert]", 2, 5, 0})
	check(t, p, hs[by["insert"]], want{"[]", "[boss]", 0, 5, 0})
	if len(js) != 2 || js[0].Kind != Thread || js[1].Text != "lid on boss by 1 screw" {
		t.Errorf("joints %+v", js)
	}
}

// A sheet-metal clip nut on the edge of a panel, its hole the thread: the screw
// bites the clip.
func TestScrewIntoAClipNut(t *testing.T) {
	h := (&heap{}).add("cover", -1.5, disc(30, 1.5, 4.8)).add("panel", -4, disc(30, 1, 5.5)).add("clip", -5.2, disc(12, 1.2, 3.3)).
		add("upper leaf", -3, disc(12, 1.5, 5)).add("screw", 0, capM4(10))
	p, hs, _, by := h.judged(t, made(fastener.Clip, "clip", 4, -5.2, -4))
	check(t, p, hs[by["screw"]], want{"[cover upper leaf panel]", "[clip]", 4, 1.2, 0})
}

// Random bolts: grip is what lies between the bearing faces, with washers, and
// the nut is engaged as far as the bolt reaches into it.
func TestRandomBolts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, z := &heap{}, 0.0
		washer := func(name string) {
			if rapid.Bool().Draw(t, name) {
				z -= 0.8
				h.add(name, z, disc(9, 0.8, 4.3))
			}
		}
		washer("washer above")
		for k := range rapid.IntRange(1, 4).Draw(t, "plates") {
			thick := float64(rapid.IntRange(10, 60).Draw(t, "tenths")) / 10
			z -= thick
			h.add(fmt.Sprintf("plate %d", k), z, disc(30, thick, float64(rapid.IntRange(42, 60).Draw(t, "hole"))/10))
		}
		plates := len(h.uses)
		if h.uses[0].Name == "washer above" {
			plates--
		}
		washer("washer below")
		grip := -z
		in := float64(rapid.IntRange(12, 50).Draw(t, "in")) / 10 // how far the bolt goes past the nut's face
		h.add("nut", z-3.2, fastenertest.Nut(7, 3.2, 3.242)).add("bolt", 0, capM4(grip+in))
		washers := len(h.uses) - 2 - plates
		h.move(drawPlace(t))
		p := fastenertest.Assemble(h.parts, h.uses...)
		fs := fastener.Find(context.Background(), p)
		hs, _ := Find(context.Background(), p, fs)
		i := slices.IndexFunc(fs, func(f fastener.Fastener) bool { return p.Name(f.Solids[0]) == "bolt" })
		if i < 0 || hs[i].Mate < 0 {
			t.Fatalf("no bolt with a nut among %+v", fs)
		}
		if g := hs[i]; math.Abs(g.Grip-grip) > 0.011 || math.Abs(g.Engagement-min(in, 3.2)) > 0.011 || len(g.Passes) != plates || len(g.Bites) > 0 || len(g.Washers) != washers {
			t.Fatalf("got %+v, want grip %g, engagement %g, %d plates, %d washers", g, grip, min(in, 3.2), plates, washers)
		}
	})
}

// Stand-offs one on another: each bites the next, the last one the base.
func TestStackOfStandOffs(t *testing.T) {
	post := func() product.Part { // M3, hexagon 5.5, stud 6 long below, thread 8 deep above
		return fastenertest.Screw(3, 6, fastenertest.Hexagon(5.5, 12), func(z float64) fastenertest.Ring { return fastenertest.Circle(z, 1.25) }, 8)
	}
	screw := fastenertest.Screw(3, 6, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6)
	h := (&heap{}).add("base", -6, disc(20, 6, 2.5)).add("post 1", 0, post()).add("board 1", 12, disc(20, 1.6, 3.2)).
		add("post 2", 13.6, post()).add("board 2", 25.6, disc(20, 1.6, 3.2)).add("screw", 27.2, screw)
	p, fs, hs, _, by := h.find(t)
	if len(fs) != 3 {
		t.Fatalf("found %+v", fs)
	}
	check(t, p, hs[by["post 1"]], want{"[]", "[base]", 0, 6, 0})
	check(t, p, hs[by["post 2"]], want{"[board 1]", "[post 1]", 1.6, 4.4, 0})
	check(t, p, hs[by["screw"]], want{"[board 2]", "[post 2]", 1.6, 4.4, 0})
}

// A rivet grips all its sheets and has no thread.
func TestStackOfARivet(t *testing.T) {
	rivet := fastenertest.Screw(2, 2.6, fastenertest.Barrel(3, 0.3), nil, 0)
	p, _, hs, _, by := (&heap{}).add("rivet", 0, rivet).add("upper", -1.3, disc(10, 1.3, 2)).add("lower", -2.3, disc(10, 1, 2)).find(t)
	check(t, p, hs[by["rivet"]], want{"[upper lower]", "[]", 2.3, 0, 0})
}

// Random stacks, turned and moved at random, read as they were drawn: grip is
// the sum of what is clamped, engagement what is left of the screw, no more
// than the thread is deep.
func TestRandomStacks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := float64(rapid.IntRange(8, 30).Draw(t, "length"))
		washer := rapid.Bool().Draw(t, "washer")
		h, z := &heap{}, 0.0
		if washer {
			z -= 0.8
			h.add("washer", z, disc(9, 0.8, 4.3))
		}
		var passes []string
		for k := range rapid.IntRange(0, 4).Draw(t, "plates") {
			thick := float64(rapid.IntRange(5, 60).Draw(t, "tenths")) / 10
			if -z+thick > length-2 {
				break
			}
			z -= thick
			name := fmt.Sprintf("plate %d", k)
			part := disc(30, thick, float64(rapid.IntRange(42, 60).Draw(t, "hole"))/10)
			if rapid.Bool().Draw(t, "slot") {
				part = slotted(30, thick, 4.5)
			}
			h.add(name, z, part)
			passes = append(passes, name)
		}
		depth := float64(rapid.IntRange(4, 40).Draw(t, "depth"))
		d := rapid.SampledFrom([]float64{3.242, 3.3, 3.4, 4}).Draw(t, "thread")
		h.add("block", z-depth, disc(30, depth, d)).add("screw", 0, capM4(length))
		h.move(drawPlace(t))
		p := fastenertest.Assemble(h.parts, h.uses...)
		fs := fastener.Find(context.Background(), p)
		hs, _ := Find(context.Background(), p, fs)
		i := slices.IndexFunc(fs, func(f fastener.Fastener) bool { return p.Name(f.Solids[0]) == "screw" })
		if i < 0 {
			t.Fatalf("no screw among %+v", fs)
		}
		want := min(length+z, depth)
		if got := hs[i]; !slices.Equal(names(p, got.Passes), append([]string{}, passes...)) || fmt.Sprint(names(p, got.Bites)) != "[block]" ||
			math.Abs(got.Grip+z) > 0.011 || math.Abs(got.Engagement-want) > 0.011 || len(got.Washers) > 0 != washer {
			t.Fatalf("got %+v, want passes %v, grip %g, engagement %g", got, passes, -z, want)
		}
	})
}

// move places the whole heap elsewhere.
func (h *heap) move(at geom.Transform) {
	for i := range h.uses {
		h.uses[i].At = at.Mul(h.uses[i].At)
	}
}

// drawPlace is any rigid motion within a metre.
func drawPlace(t *rapid.T) geom.Transform {
	num := rapid.Float64Range(-1, 1)
	q := mgl64.Quat{W: 0.1 + num.Draw(t, "w"), V: mgl64.Vec3{num.Draw(t, "x"), num.Draw(t, "y"), num.Draw(t, "z")}}
	if q.Len() < 0.05 {
		q = mgl64.QuatIdent()
	}
	return geom.Transform{M: q.Normalize().Mat4().Mat3(), T: mgl64.Vec3{num.Draw(t, "a"), num.Draw(t, "b"), num.Draw(t, "c")}.Mul(1000)}
}
