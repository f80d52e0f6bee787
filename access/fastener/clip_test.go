package fastener

import (
	"math"
	"testing"
)

// Two leaves of 0.6 mm sheet, 2 mm apart, of 130 and 115 mm², and their fold.
func TestFoldedLeaves(t *testing.T) {
	leaves := func(thick, upper, gap, low, high float64) [4]level {
		return [4]level{{z: 0, area: low}, {z: thick, area: low}, {z: thick + gap, area: high}, {z: thick + gap + upper, area: high}}
	}
	for _, c := range []struct {
		what   string
		l      [4]level
		volume float64
		want   bool
	}{
		{"a clip", leaves(0.6, 0.6, 2, 130, 115), 0.6 * (245 + 20), true},
		{"leaves alike", leaves(0.6, 0.6, 2, 130, 130), 0.6 * (260 + 20), false},
		{"far apart", leaves(0.6, 0.6, 12, 130, 115), 0.6 * (245 + 20), false},
		{"a clevis", leaves(1, 1, 5, 280, 245), 525 + 84, false},
		{"plates of two thicknesses", leaves(0.6, 1, 2, 130, 115), 0.6*130 + 115, false},
		{"two plates without a fold's volume", leaves(0.6, 0.6, 2, 130, 115), 0.6 * 200, false},
		{"a block with a slot", leaves(0.6, 0.6, 2, 130, 115), 2 * 0.6 * 245, false},
		{"thick", leaves(3, 3, 6, 1300, 1150), 3 * 2500, false},
		{"no gap", leaves(0.6, 0.6, 0.3, 130, 115), 0.6 * 250, false},
	} {
		if got := (&flat{}).foldedOf(c.l, c.volume); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// A spring cotter has a waist: wide, narrow, wide, above a leg that stands alone.
func TestWaist(t *testing.T) {
	outline := func(r func(s float64) float64) *flat {
		p := &profile{dz: 0.1}
		for i := range p.r {
			p.r[i] = r(float64(i) / profileN)
		}
		return &flat{profile: p}
	}
	wave := func(depth float64) func(float64) float64 {
		return func(s float64) float64 {
			if s < 0.4 {
				return 0.75
			}
			return 5 + depth*math.Cos((s-0.4)/0.3*2*math.Pi)
		}
	}
	for _, c := range []struct {
		what string
		r    func(float64) float64
		want bool
	}{
		{"a wave", wave(2), true},
		{"a hook with a straight leg", wave(0), false},
		{"both legs alike", func(s float64) float64 { return 5 + 2*math.Cos(4*math.Pi*s) }, false},
		{"a rod", func(float64) float64 { return 0.75 }, false},
	} {
		if _, got := outline(c.r).waist(0.75); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// Straps are flat; wires and bars are not.
func TestStraps(t *testing.T) {
	for _, c := range []struct {
		wide, thick float64
		want        bool
	}{{2.5, 1.05, true}, {4.8, 1.3, true}, {9, 1.8, true}, {2, 2, false}, {10, 0.1, false}, {30, 5, false}, {1, 0.4, false}} {
		if got := isStrap(c.wide, c.thick); got != c.want {
			t.Errorf("%g × %g: %v", c.wide, c.thick, got)
		}
	}
}
