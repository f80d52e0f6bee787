package fastener

import (
	"testing"

	ft "stepscan/access/fastener/fastenertest"
)

// Legs are counted where all of them are alike.
func TestLegs(t *testing.T) {
	ring := func(open func(k int) bool) *section {
		s := &section{}
		for k := range s.Out {
			if !open(k) {
				s.Out[k] = 2
			}
		}
		return s
	}
	for _, c := range []struct {
		what string
		open func(k int) bool
		want int
	}{
		{"four", func(k int) bool { return (k+20)%180 < 40 }, 4},
		{"two", func(k int) bool { return k%360 < 30 }, 2},
		{"closed", func(int) bool { return false }, 0},
		{"open", func(int) bool { return true }, 0},
		{"a narrow one", func(k int) bool { return k%240 < 20 || k > 600 }, 0},
	} {
		if n := ring(c.open).pieces(); n != c.want {
			t.Errorf("%s: %d legs, want %d", c.what, n, c.want)
		}
	}
}

// snap is a thin head of 10 on a shank of 5 × 10 with a barb at its end, slit
// into four legs or not, its barb turned to the tip or away from it.
func snap(head, barb, front, back float64, slit bool) Kind {
	round := func(z, r float64) ft.Ring {
		if slit && z < -2 {
			return ft.Notched(z, r, 4, r-0.05, 0.3)
		}
		return ft.Circle(z, r)
	}
	tip := -6 - front - back
	p := ft.Turn("", ft.Circle(tip, 0), round(tip, 1.6), round(tip+front, barb), round(-6, 2.5), round(-2.01, 2.5), ft.Circle(-2, 2.5), ft.Circle(0, 2.5),
		ft.Circle(0, 5), ft.Circle(head, 5), ft.Circle(head, 0))
	return pile{}.add(0, p).kinds()[0].Kind
}

// A post without legs does not give way, and one without a barb does not stay.
func TestSplitClipNeedsLegsAndBarb(t *testing.T) {
	for _, c := range []struct {
		what        string
		head        float64
		barb        float64
		front, back float64
		slit        bool
	}{
		{"no legs", 1.5, 3.1, 3, 0.8, false}, {"no barb", 1.5, 2.5, 3, 0.8, true}, {"turned about", 1.5, 3.1, 0.8, 3, true}, {"a knob", 8, 3.1, 3, 0.8, true},
	} {
		if k := snap(c.head, c.barb, c.front, c.back, c.slit); k != "" {
			t.Errorf("%s: found as %s", c.what, k)
		}
	}
}

// The screw goes through one leaf of a clip and bites the other.
func TestHolesOfAClip(t *testing.T) {
	for _, c := range []struct {
		a, b float64
		want bool
	}{{2, 2, true}, {1.65, 2.5, true}, {2.8, 2, true}, {1, 2, false}} {
		if got := passAndBite(c.a, c.b); got != c.want {
			t.Errorf("radii %g and %g: %v", c.a, c.b, got)
		}
	}
}
