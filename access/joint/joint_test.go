package joint

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// at moves along z.
func at(z float64) geom.Transform {
	t := geom.Identity()
	t.T = mgl64.Vec3{0, 0, z}
	return t
}

// heap is a stack of parts about the z axis, each with its name and height.
type heap struct {
	parts []product.Part
	uses  []fastenertest.Placed
}

func (h *heap) add(name string, z float64, p product.Part) *heap {
	h.uses = append(h.uses, fastenertest.Placed{Part: len(h.parts), At: at(z), Name: name})
	h.parts = append(h.parts, p)
	return h
}

// find runs both stages; by gives the index of a fastener by its solid's name.
func (h *heap) find(t *testing.T) (p *product.Product, fs []fastener.Fastener, hs []Hold, js []Joint, by map[string]int) {
	t.Helper()
	p = fastenertest.Assemble(h.parts, h.uses...)
	fs = fastener.Find(context.Background(), p)
	hs, js = Find(context.Background(), p, fs)
	by = map[string]int{}
	for i, f := range fs {
		by[p.Name(f.Solids[0])] = i
	}
	return p, fs, hs, js, by
}

func capM4(l float64) product.Part {
	return fastenertest.Screw(4, l, fastenertest.Barrel(7, 4), fastenertest.HexPocket(3), 2)
}

func disc(d, h, hole float64) product.Part { return fastenertest.Tube(d, h, hole) }

// slotted is a disc with a hole twice as long as wide (a keyhole's foot).
func slotted(d, h, w float64) product.Part {
	slot := func(z float64) fastenertest.Ring {
		return fastenertest.Ring{Z: z, R: func(t float64) float64 {
			return math.Min(w/2/math.Max(math.Abs(math.Sin(t)), 1e-9), w)
		}}
	}
	return fastenertest.Turn("", slot(0), fastenertest.Circle(0, d/2), fastenertest.Circle(h, d/2), slot(h), slot(0))
}

// What a screw M4 × 16 with its seat at z = 0 does with parts below it.
func TestScrewPassesAndBites(t *testing.T) {
	tests := []struct {
		name             string
		heap             *heap
		passes, bites    []string
		grip, engagement float64
	}{
		{"clearance and tap drill", (&heap{}).add("lid", -3, disc(30, 3, 4.5)).add("base", -20, disc(30, 17, 3.3)), []string{"lid"}, []string{"base"}, 3, 13},
		{"clearance and plastic boss", (&heap{}).add("lid", -3, disc(30, 3, 4.5)).add("base", -20, disc(30, 17, 3.5)), []string{"lid"}, []string{"base"}, 3, 13},
		{"two plates, thread drawn at d", (&heap{}).add("lid", -3, disc(30, 3, 4.3)).add("base", -20, disc(30, 17, 4)), []string{"lid"}, []string{"base"}, 3, 13},
		{"slot under the head", (&heap{}).add("lid", -3, slotted(30, 3, 4.5)).add("base", -20, disc(30, 17, 3.3)), []string{"lid"}, []string{"base"}, 3, 13},
		{"a wide hole beside it is no part of it", (&heap{}).add("lid", -3, disc(30, 3, 4.5)).add("base", -12, disc(30, 9, 3.3)).add("frame", -16, disc(40, 4, 20)), []string{"lid"}, []string{"base"}, 3, 9},
		{"order from the head", (&heap{}).add("third", -9, disc(30, 3, 4.8)).add("first", -3, disc(30, 3, 4.5)).add("second", -6, disc(30, 3, 4.3)).add("base", -20, disc(30, 11, 3.3)), []string{"first", "second", "third"}, []string{"base"}, 9, 7},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, fs, hs, _, by := tt.heap.add("screw", 0, capM4(16)).find(t)
			i, ok := by["screw"]
			if !ok || len(fs) != 1 {
				t.Fatalf("found %d fasteners", len(fs))
			}
			h := hs[i]
			if got := names(p, h.Passes); !slices.Equal(got, tt.passes) {
				t.Errorf("passes %v, want %v", got, tt.passes)
			}
			if got := names(p, h.Bites); !slices.Equal(got, tt.bites) {
				t.Errorf("bites %v, want %v", got, tt.bites)
			}
			if math.Abs(h.Grip-tt.grip) > 0.2 || math.Abs(h.Engagement-tt.engagement) > 0.2 {
				t.Errorf("grip %g, want %g; engagement %g, want %g", h.Grip, tt.grip, h.Engagement, tt.engagement)
			}
			if fs[i].Kind != fastener.Screw {
				t.Errorf("kind %s", fs[i].Kind)
			}
		})
	}
}

// Bolt, two washers, two plates and a nut: who belongs to whom, and the way
// each leaves.
func TestBoltWithNutAndWashers(t *testing.T) {
	h := (&heap{}).add("nut", -8.8-3.2, fastenertest.Nut(7, 3.2, 3.242)).
		add("washer below", -8.8, disc(9, 0.8, 4.3)).add("plate 2", -8, disc(40, 4, 4.5)).
		add("plate 1", -4, disc(40, 3.2, 4.5)).add("washer above", -0.8, disc(9, 0.8, 4.3)).add("bolt", 0, capM4(16))
	p, fs, hs, js, by := h.find(t)
	if len(fs) != 4 {
		t.Fatalf("found %d fasteners, want 4", len(fs))
	}
	bolt, nut := by["bolt"], by["nut"]
	if fs[bolt].Kind != fastener.Bolt || hs[bolt].Mate != nut || hs[nut].Mate != bolt {
		t.Errorf("bolt is a %s with mate %d, nut's mate %d", fs[bolt].Kind, hs[bolt].Mate, hs[nut].Mate)
	}
	if got := names(p, hs[bolt].Passes); !slices.Equal(got, []string{"plate 1", "plate 2"}) || len(hs[bolt].Bites) != 0 {
		t.Errorf("passes %v, bites %v", got, names(p, hs[bolt].Bites))
	}
	if w := hs[bolt].Washers; len(w) != 2 {
		t.Errorf("washers %v", w)
	}
	if g := hs[bolt].Grip; math.Abs(g-8.8) > 0.01 {
		t.Errorf("grip %g, want 8.8", g)
	}
	for name, want := range map[string]float64{"bolt": 1, "nut": -1, "washer above": 1, "washer below": -1} {
		f := fs[by[name]]
		if f.Axis.D[2] != want || f.Symmetric {
			t.Errorf("%s leaves along %v, want z %g", name, f.Axis.D, want)
		}
		if d := f.Point.Sub(f.Axis.O).Len(); d > 1e-9 || f.Front != 0 {
			t.Errorf("%s: point %v is not its end", name, f.Point)
		}
	}
	if z := fs[nut].Point[2]; math.Abs(z+12) > 1e-9 {
		t.Errorf("the nut is met at z %g, want its lower face, -12", z)
	}
	if len(js) != 1 || js[0].Kind != Fastened || js[0].Text != "plate 1 and plate 2 by 1 bolt" {
		t.Errorf("joints %+v", js)
	}
}

// A nut in a hexagonal pocket cannot turn, in a round one it can.
func TestCaptiveNut(t *testing.T) {
	pocket := func(ring func(z float64) fastenertest.Ring) product.Part {
		return fastenertest.Turn("", fastenertest.Circle(0, 15), fastenertest.Circle(6, 15), fastenertest.Circle(6, 2.25),
			fastenertest.Circle(3.2, 2.25), ring(3.2), ring(0), fastenertest.Circle(0, 15))
	}
	for _, tt := range []struct {
		name string
		body product.Part
		want bool
	}{
		{"hexagonal", pocket(func(z float64) fastenertest.Ring { return fastenertest.Polygon(z, 7.2, 6) }), true},
		{"round", pocket(func(z float64) fastenertest.Ring { return fastenertest.Circle(z, 4.6) }), false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, fs, hs, _, by := (&heap{}).add("body", -6, tt.body).add("nut", -6, fastenertest.Nut(7, 3.2, 3.242)).add("bolt", 0, capM4(8)).find(t)
			if len(fs) != 2 {
				t.Fatalf("found %d fasteners, want 2", len(fs))
			}
			if got := hs[by["nut"]].CaptiveNut; got != tt.want {
				t.Errorf("captive %v, want %v: %q", got, tt.want, hs[by["nut"]].Evidence)
			}
		})
	}
}

// A pin needs holes: pressed into one part and through another it is one, with
// the overlap on diameter; with play in a single part it is a rod.
func TestPinNeedsHoles(t *testing.T) {
	rod := fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 1.2), fastenertest.Circle(0.3, 1.5),
		fastenertest.Circle(11.7, 1.5), fastenertest.Circle(12, 1.2), fastenertest.Circle(12, 0))
	p, fs, hs, js, _ := (&heap{}).add("rod", 0, rod).add("base", 0, disc(20, 6, 2.97)).add("arm", 6, disc(20, 4, 3.1)).find(t)
	if len(fs) != 1 || fs[0].Kind != fastener.Pin || fs[0].Size != "3 mm" || fs[0].Designation != "ISO 2338 3×12" {
		t.Fatalf("found %+v", fs)
	}
	if !slices.Equal(names(p, hs[0].Bites), []string{"base"}) || !slices.Equal(names(p, hs[0].Passes), []string{"arm"}) {
		t.Errorf("bites %v, passes %v", names(p, hs[0].Bites), names(p, hs[0].Passes))
	}
	if len(js) != 1 || js[0].Kind != Press || math.Abs(js[0].Overlap-0.03) > 1e-3 {
		t.Errorf("joints %+v", js)
	}
	if _, fs, _, _, _ := (&heap{}).add("rod", 0, rod).add("base", 0, disc(20, 6, 3.1)).find(t); len(fs) != 0 {
		t.Errorf("a loose rod is found as %+v", fs)
	}
}

// crowd is n occurrences: plates with clearance holes on tapped blocks, held
// by screws, in rows; each kind is three parts.
func crowd(n, kinds int) *product.Product {
	var parts []product.Part
	var uses []fastenertest.Placed
	for k := range kinds {
		l := 6 + float64(k)/4
		parts = append(parts, capM4(l), disc(20, 2, 4.5), disc(20, 30, 3.3))
	}
	for i := 0; len(uses) < n; i++ {
		at := geom.Identity()
		at.T = mgl64.Vec3{float64(i%60) * 24, float64(i/60) * 24, 0}
		k := i % kinds * 3
		down := func(z float64) geom.Transform { u := at; u.T[2] -= z; return u }
		uses = append(uses, fastenertest.Placed{Part: k, At: at}, fastenertest.Placed{Part: k + 1, At: down(2)}, fastenertest.Placed{Part: k + 2, At: down(32)})
	}
	return fastenertest.Assemble(parts, uses...)
}

// A stand-off with a stud holds what its stud goes through and bites, as a screw
// does; a screw bites the stand-off's own thread.
func TestStandOffs(t *testing.T) {
	post := fastenertest.Screw(3, 6, fastenertest.Hexagon(5.5, 12), func(z float64) fastenertest.Ring { return fastenertest.Circle(z, 1.25) }, 8)
	screw := fastenertest.Screw(3, 6, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6)
	h := (&heap{}).add("post", 0, post).add("base", -6, disc(20, 6, 2.5)).add("board", 12, disc(20, 1.6, 3.2)).add("screw", 13.6, screw)
	p, fs, hs, _, by := h.find(t)
	if len(fs) != 2 || fs[by["post"]].Kind != fastener.StandOff {
		t.Fatalf("found %+v", fs)
	}
	for _, c := range []struct{ fastener, passes, bites string }{{"post", "[]", "[base]"}, {"screw", "[board]", "[post]"}} {
		hold := hs[by[c.fastener]]
		if passes, bites := fmt.Sprint(names(p, hold.Passes)), fmt.Sprint(names(p, hold.Bites)); passes != c.passes || bites != c.bites {
			t.Errorf("%s passes %s and bites %s, want %s and %s", c.fastener, passes, bites, c.passes, c.bites)
		}
	}
	sleeve := (&heap{}).add("sleeve", 0, fastenertest.Nut(5.5, 12, 2.5)).add("board", 12, disc(20, 1.6, 3.2)).add("screw", 13.6, screw)
	p, fs, hs, _, by = sleeve.find(t)
	if len(fs) != 2 || fmt.Sprint(names(p, hs[by["screw"]].Bites)) != "[sleeve]" {
		t.Errorf("a screw in a sleeve: %+v, %+v", fs, hs)
	}
}

// A rivet goes through all its sheets: it has no thread to bite the last one
// with, whether the holes are drawn with play or not.
func TestRivetHoldsItsSheets(t *testing.T) {
	rivet := fastenertest.Screw(2, 2.6, fastenertest.Barrel(3, 0.3), nil, 0)
	p, fs, hs, js, _ := (&heap{}).add("rivet", 0, rivet).add("upper", -1.3, disc(10, 1.3, 2)).add("lower", -2.3, disc(10, 1, 2)).find(t)
	if len(fs) != 1 || fs[0].Kind != fastener.Rivet || len(js) != 1 {
		t.Fatalf("found %+v, %+v", fs, js)
	}
	if got := fmt.Sprint(names(p, hs[0].Passes), names(p, hs[0].Bites)); got != "[upper lower] []" {
		t.Errorf("passes and bites %s", got)
	}
}

func TestCrowd(t *testing.T) {
	p := crowd(300, 7)
	fs := fastener.Find(context.Background(), p)
	hs, _ := Find(context.Background(), p, fs)
	if len(fs) != 100 {
		t.Fatalf("%d fasteners, want 100", len(fs))
	}
	for i := range hs {
		if len(hs[i].Passes) != 1 || len(hs[i].Bites) != 1 {
			t.Fatalf("%s: %+v", fs[i].ID, hs[i])
		}
	}
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		p := crowd(n, 66)
		b.Run(fmt.Sprintf("%d occurrences of 198 parts", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Find(context.Background(), p, fastener.Find(context.Background(), p))
			}
		})
	}
}
