package fastener

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	ft "stepscan/access/fastener/fastenertest"
)

// turnedBy is a contour turned about the axis.
func turnedBy(r ft.Ring, angle float64) ft.Ring {
	return ft.Ring{Z: r.Z, R: func(t float64) float64 { return r.R(math.Mod(t-angle+4*math.Pi, 2*math.Pi)) }}
}

// facing is a section whose walls face the axis all round.
func facing(r ft.Ring, rim float64) *section {
	s := &section{}
	for k := range s.In {
		s.In[k], s.Void[k], s.Out[k] = r.R((float64(k)+0.5)*2*math.Pi/polarN), true, rim
	}
	return s
}

// The notches of type Z are seen at any angle, in any size; a plain cross and
// one whose inner corners are broken are never taken for it.
func TestTypeZShowsByItsNotches(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(1.5, 9).Draw(t, "mouth")
		w := rapid.Float64Range(0.18, 0.28).Draw(t, "wing") * m
		angle := rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle")
		plain := ft.Wings(0, m, w)
		broken := ft.Ring{R: func(t float64) float64 { // a core of four flats over the corners
			u := math.Mod(t, math.Pi/2) - math.Pi/4
			return max(plain.R(t), 0.62*w/math.Cos(u))
		}}
		rounded := ft.Ring{R: func(t float64) float64 { return max(plain.R(t), 0.78*w) }}
		for name, r := range map[string]ft.Ring{"plain": plain, "broken": broken, "rounded": rounded} {
			if facing(turnedBy(r, angle), m).typeZ() {
				t.Fatalf("a %s cross is taken for type Z", name)
			}
		}
		// The notch, 0.4 w wide, leaves the wing's wall 0.93 w from the axis.
		over := rapid.Float64Range(1.2, 1.45).Draw(t, "notch") * 2 * 0.93 * w
		z := ft.NotchedWings(0, m, w, over, 0.4*w)
		if !facing(turnedBy(z, angle), m).typeZ() {
			t.Fatalf("notches to %g mm beside wings %g mm wide are not seen", over/2, w)
		}
	})
}

// slotted is a round section with a slot right across it.
func slotted(n, rim, angle float64) *section {
	s := &section{}
	for k := range s.In {
		s.Out[k], s.In[k] = rim, math.Inf(1)
		if r := n / 2 / math.Abs(math.Sin((float64(k)+0.5)*2*math.Pi/polarN-angle)); r < rim {
			s.In[k], s.Void[k] = r, true
		} else {
			s.Out[k] = 0
		}
	}
	return s
}

// A slot's width is read at any angle, with or without a cross in its middle.
func TestSlotAcrossAHead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rim := rapid.Float64Range(1.5, 15).Draw(t, "rim")
		n := rapid.Float64Range(0.1, 0.5).Draw(t, "slot") * rim
		angle := rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle")
		s := slotted(n, rim, angle)
		if rapid.Bool().Draw(t, "cross") {
			cross := turnedBy(ft.Wings(0, 1.1*rim, 0.3*rim), angle)
			for k := range s.In {
				s.In[k] = max(s.In[k], cross.R((float64(k)+0.5)*2*math.Pi/polarN))
			}
		}
		w, l, ok := s.slot()
		if !ok || math.Abs(w-n) > 0.01*n || math.Abs(l-2*rim) > 1e-9 {
			t.Fatalf("slot %g × %g, found %v: want %g × %g", w, l, ok, n, 2*rim)
		}
	})
	for name, s := range map[string]*section{
		"round pocket": facing(ft.Circle(0, 2), 4),
		"crossed slots": func() *section {
			s := slotted(1, 4, 0)
			o := slotted(1, 4, math.Pi/2)
			for k := range s.In {
				s.In[k], s.Void[k], s.Out[k] = max(s.In[k], o.In[k]), s.Void[k] && o.Void[k], min(s.Out[k], o.Out[k])
			}
			return s
		}(),
		"open to one side": func() *section {
			s := slotted(1, 4, 0)
			for k := polarN / 4; k < polarN*3/4; k++ {
				s.In[k], s.Void[k], s.Out[k] = min(s.In[k], 2), true, 4
			}
			return s
		}(),
	} {
		if w, _, ok := s.slot(); ok {
			t.Errorf("%s: a slot %g mm wide", name, w)
		}
	}
}

// Recesses with a pin, drawn up to the mouth or ending below it; without one the
// same recess is a plain one, and a pin in a round pocket is no drive.
func TestPinInARecess(t *testing.T) {
	for _, c := range []struct {
		name      string
		pocket    func(z float64) ft.Ring
		pin, low  float64 // radius, mm below the mouth
		drive     Drive
		size      string
		fasteners int
	}{
		{"T20, pin below the mouth", ft.LobePocket(3.95, 2.75), 0.6, 0.15, PinHexalobular, "T20", 1},
		{"T20, pin level with the mouth", ft.LobePocket(3.95, 2.75), 0.6, 0, PinHexalobular, "T20", 1},
		{"T20, pin half way up", ft.LobePocket(3.95, 2.75), 0.6, 0.8, PinHexalobular, "T20", 1},
		{"T20", ft.LobePocket(3.95, 2.75), 0, 0, Hexalobular, "T20", 1},
		{"round pocket with a pin", func(z float64) ft.Ring { return ft.Circle(z, 1.9) }, 0.6, 0.15, "", "", 0},
	} {
		rings := append(stem(4, 12), ft.Dome(8, 3.1)...)
		rings = append(rings, c.pocket(3.1), c.pocket(1.6))
		if c.pin > 0 {
			rings = append(rings, ft.Circle(1.6, c.pin), ft.Circle(3.1-c.low, c.pin), ft.Circle(3.1-c.low, 0))
		} else {
			rings = append(rings, ft.Circle(1.6, 0))
		}
		fs := pile{}.add(0, ft.Turn("", rings...)).kinds()
		if len(fs) != c.fasteners || fs[0].Drive != c.drive || fs[0].DriveSize != c.size {
			t.Errorf("%s: %d found, %s %s; %q", c.name, len(fs), fs[0].Drive, fs[0].DriveSize, fs[0].Evidence)
		}
	}
}
