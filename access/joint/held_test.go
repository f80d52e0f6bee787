package joint

import (
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
)

// recessed is a plate 6 thick with a hole for M4 and, from below, a recess 3.2
// deep of the given contour.
func recessed(ring func(z float64) fastenertest.Ring) product.Part {
	return fastenertest.Turn("", fastenertest.Circle(0, 15), fastenertest.Circle(6, 15), fastenertest.Circle(6, 2.25),
		fastenertest.Circle(3.2, 2.25), ring(3.2), ring(0), fastenertest.Circle(0, 15))
}

// channel is a contour w wide that goes far along x.
func channel(w float64) func(z float64) fastenertest.Ring {
	return func(z float64) fastenertest.Ring {
		return fastenertest.Ring{Z: z, R: func(t float64) float64 { return math.Min(w/2/math.Max(math.Abs(math.Sin(t)), 1e-9), 13) }}
	}
}

// polygon turns a contour of n flats by some degrees.
func polygon(s float64, n int, degrees float64) func(z float64) fastenertest.Ring {
	return func(z float64) fastenertest.Ring {
		r := fastenertest.Polygon(z, s, n).R
		return fastenertest.Ring{Z: z, R: func(t float64) float64 { return r(t + degrees*math.Pi/180) }}
	}
}

// wallAt is a block with one face on the plane y = at, from z to z + 6.
func (h *heap) wallAt(at, z float64) *heap {
	h.add("wall", z, fastenertest.Turn("", fastenertest.Circle(0, 0), polygon(10, 4, 45)(0), polygon(10, 4, 45)(6), fastenertest.Circle(6, 0)))
	h.uses[len(h.uses)-1].At.T = mgl64.Vec3{0, at + 5, z}
	return h
}

// A hexagon nut for M4: 7 across flats, 8.08 over its sharp corners. What
// stands nearer to the axis than the corners keeps it from turning.
func TestWhatKeepsANut(t *testing.T) {
	circle := func(d float64) func(float64) fastenertest.Ring {
		return func(z float64) fastenertest.Ring { return fastenertest.Circle(z, d/2) }
	}
	hex, square := fastenertest.Nut(7, 3.2, 3.242), fastenertest.Turn("", fastenertest.Circle(0, 1.621), polygon(7, 4, 45)(0), polygon(7, 4, 45)(3.2), fastenertest.Circle(3.2, 1.621), fastenertest.Circle(0, 1.621))
	plate := func() *heap { return (&heap{}).add("body", -2.8, disc(30, 2.8, 4.5)) }
	tests := []struct {
		name        string
		heap        *heap
		nut         product.Part
		held, falls bool
		by          string
	}{
		{"pocket 0.1 wider", (&heap{}).add("body", -6, recessed(polygon(7.1, 6, 0))), hex, true, false, "body holds its flats"},
		{"pocket 0.6 wider", (&heap{}).add("body", -6, recessed(polygon(7.6, 6, 0))), hex, true, false, "body holds its flats"},
		{"hexagon so wide that it turns", (&heap{}).add("body", -6, recessed(polygon(8.2, 6, 0))), hex, false, false, ""},
		{"twelve corners", (&heap{}).add("body", -6, recessed(polygon(7.2, 12, 0))), hex, true, false, "body holds its flats"},
		{"round, for a socket", (&heap{}).add("body", -6, recessed(circle(11))), hex, false, false, ""},
		{"round, just wider than the corners", (&heap{}).add("body", -6, recessed(circle(8.3))), hex, false, false, ""},
		{"pressed into a round hole", (&heap{}).add("body", -6, recessed(circle(7.4))), hex, true, false, "body holds its flats"},
		{"square nut in a channel", (&heap{}).add("body", -6, recessed(channel(7.2))), square, true, false, "body holds its flats"},
		{"square nut in a wide channel", (&heap{}).add("body", -6, recessed(channel(10.4))), square, false, false, ""},
		{"hexagon in a channel", (&heap{}).add("body", -6, recessed(channel(7.2))), hex, true, false, "body holds its flats"},
		{"one wall along a flat", plate().wallAt(3.6, -7), hex, true, true, "one flat lies along wall"},
		{"one wall that the corners clear", plate().wallAt(4.2, -7), hex, false, false, ""},
		{"wall beside the plate only", plate().wallAt(3.6, -2.8), hex, false, false, ""},
		{"nothing", plate(), hex, false, false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, fs, hs, _, by := tt.heap.add("nut", -6, tt.nut).add("bolt", 0, capM4(8)).find(t)
			i, ok := by["nut"]
			if !ok || fs[i].Kind != fastener.Nut || hs[i].Mate != by["bolt"] {
				t.Fatalf("found %+v", fs)
			}
			h := hs[i]
			if h.CaptiveNut != tt.held || h.Falls != tt.falls || tt.held != (len(h.HeldBy) == 1) {
				t.Errorf("held %v, falls %v, by %v, want %v, %v: %q", h.CaptiveNut, h.Falls, h.HeldBy, tt.held, tt.falls, h.Evidence)
			}
			if !strings.Contains(strings.Join(h.Evidence, "; "), tt.by) {
				t.Errorf("evidence %q, want %q", h.Evidence, tt.by)
			}
		})
	}
}

// A round nut with a collar is held where the collar fills its hole.
func TestPressedNut(t *testing.T) {
	clinch := fastenertest.Turn("", fastenertest.Circle(0, 1.621), fastenertest.Circle(0, 4), fastenertest.Circle(3, 4), fastenertest.Circle(3, 2.7),
		fastenertest.Circle(4, 2.7), fastenertest.Circle(4, 1.621), fastenertest.Circle(0, 1.621))
	for _, tt := range []struct {
		hole float64
		want bool
	}{{5.3, true}, {5.4, true}, {5.5, false}, {9, false}} {
		h := (&heap{}).add("sheet", -1, disc(30, 1, tt.hole)).add("nut", -4, clinch).add("bolt", 0, capM4(8))
		f := made(fastener.Nut, "nut", 4, -4, 0)
		f.Bore, f.HeadD, f.HeadH, f.Symmetric = 3.242, 8, 4, true
		_, hs, _, by := h.judged(t, f)
		if got := hs[by["nut"]]; got.CaptiveNut != tt.want {
			t.Errorf("collar 5.4 in a hole of %g: held %v: %q", tt.hole, got.CaptiveNut, got.Evidence)
		}
	}
}

// A bolt whose head cannot turn needs a tool at its nut only.
func TestWhatKeepsAHead(t *testing.T) {
	nut := fastenertest.Nut(7, 3.2, 3.242)
	hexagon := func() product.Part { return fastenertest.Screw(4, 16, fastenertest.Hexagon(7, 2.8), nil, 0) }
	carriage := fastenertest.Turn("", fastenertest.Circle(-16, 0), fastenertest.Circle(-16, 2), fastenertest.Circle(-2.2, 2),
		polygon(4, 4, 0)(-2.2), polygon(4, 4, 0)(0), fastenertest.Circle(0, 5), fastenertest.Circle(2, 4), fastenertest.Circle(2, 0))
	plates := func(first product.Part) *heap {
		return (&heap{}).add("first", -3, first).add("second", -6, disc(30, 3, 4.5)).add("nut", -9.2, nut)
	}
	squareHole := fastenertest.Turn("", polygon(4.2, 4, 0)(0), fastenertest.Circle(0, 15), fastenertest.Circle(3, 15), polygon(4.2, 4, 0)(3), polygon(4.2, 4, 0)(0))
	sunk := fastenertest.Turn("", fastenertest.Circle(0, 2.25), fastenertest.Circle(0, 15), fastenertest.Circle(6, 15), polygon(7.3, 6, 0)(6), polygon(7.3, 6, 0)(3), fastenertest.Circle(3, 2.25), fastenertest.Circle(0, 2.25))
	for _, tt := range []struct {
		name string
		heap *heap
		bolt product.Part
		head [2]float64 // diameter, height
		by   string
	}{
		{"square neck in a square hole", plates(squareHole), carriage, [2]float64{10, 2}, "its neck is held by first"},
		{"square neck in a wide round hole", plates(disc(30, 3, 6)), carriage, [2]float64{10, 2}, ""},
		{"round neck in a square hole", plates(squareHole), capM4(16), [2]float64{}, ""},
		{"hexagon in a pocket", plates(sunk), hexagon(), [2]float64{}, "its head cannot turn: first holds its flats"},
		{"hexagon along a wall", plates(disc(30, 3, 4.5)).wallAt(3.6, 0), hexagon(), [2]float64{}, "its head cannot turn: one flat lies along wall"},
		{"hexagon free", plates(disc(30, 3, 4.5)).wallAt(6, 0), hexagon(), [2]float64{}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var more []fastener.Fastener
			if tt.head[0] > 0 {
				f := made(fastener.Bolt, "bolt", 4, -16, tt.head[1])
				f.HeadD, f.HeadH, f.Head = tt.head[0], tt.head[1], "mushroom"
				more = append(more, f)
			}
			_, hs, _, by := tt.heap.add("bolt", 0, tt.bolt).judged(t, more...)
			h := hs[by["bolt"]]
			if h.Mate != by["nut"] {
				t.Fatalf("no nut: %+v", h)
			}
			if h.CaptiveHead != (tt.by != "") || !strings.Contains(strings.Join(h.Evidence, "; "), tt.by) {
				t.Errorf("held %v: %q, want %q", h.CaptiveHead, h.Evidence, tt.by)
			}
		})
	}
}

// A washer on a rod that is no fastener belongs to the nut that it lies under.
func TestWasherOnAPlainRod(t *testing.T) {
	h := (&heap{}).add("rod", -40, fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 5), fastenertest.Circle(0.01, 5), fastenertest.Circle(0.01, 2), fastenertest.Circle(60, 2), fastenertest.Circle(60, 0))).
		add("plate", -3, disc(30, 3, 4.5)).add("washer", 0, disc(9, 0.8, 4.3)).add("nut", 0.8, fastenertest.Nut(7, 3.2, 4))
	nut, washer := made(fastener.Nut, "nut", 4, 0.8, 4), made(fastener.Washer, "washer", 4, 0, 0.8)
	nut.Bore, nut.HeadD, nut.HeadH, nut.Symmetric, washer.Bore, washer.Symmetric = 4, 8, 3.2, true, 4.3, true
	_, hs, _, by := h.judged(t, nut, washer)
	if k := by["nut"]; hs[k].Mate >= 0 || len(hs[k].Washers) != 1 || hs[k].Washers[0] != by["washer"] {
		t.Errorf("%+v with washers %v", hs[k], hs[k].Washers)
	}
}
