package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// wireRing reads a ring of round wire that is open at one place (DIN 7993, DIN
// 9045). A turn of a spring, an O-ring's half or a handle looks the same, so it
// has to stand in a groove.
func wireRing(p *product.Part, feat *feature.Part) (specimen, bool) {
	t, ok := wireTorus(feat)
	if !ok {
		return specimen{}, false
	}
	f, err := geom.NewFrame(t.Axis.O, t.Axis.D, geom.Perpendicular(t.Axis.D))
	if err != nil {
		return specimen{}, false
	}
	m := flatten(p.Mesh, f)
	if m.r > greatestR || !near(m.z1-m.z0, 2*t.R2, 0.05, 0.02) {
		return specimen{}, false
	}
	const least, most = 0.03, 0.7 * math.Pi // rad
	if g, ok := m.cut(0).gap(); !ok || g.wide < least || g.wide > most {
		return specimen{}, false
	}
	s := specimen{shank: 2 * t.R2, needs: needGroove}
	s.Kind, s.Drive, s.Symmetric, s.Confidence = Ring, NoDrive, true, 0.75
	s.Length, s.HeadH = math.Round(2000*t.R2)/1000, 2*t.R2
	s.Bore, s.HeadD = 2*(t.R-t.R2), 2*(t.R+t.R2)
	s.place(f, m, m.z1)
	s.Evidence = append(s.Evidence, fmt.Sprintf("open ring of wire Ø%s, from Ø%s to Ø%s", trim(2*t.R2), trim(s.Bore), trim(s.HeadD)))
	return s, true
}

// wireTorus is the torus that nearly all of a part's surface lies on, with a
// wire that is thin for its ring.
func wireTorus(feat *feature.Part) (t feature.Face, ok bool) {
	all, on := 0.0, 0.0
	for i := range feat.Faces {
		f := &feat.Faces[i]
		all += f.Area
		if f.Kind == feature.Torus && f.Area > t.Area {
			t = *f
		}
	}
	for i := range feat.Faces {
		f := &feat.Faces[i]
		if f.Kind == feature.Torus && near(f.R, t.R, 0.001, 0.002) && near(f.R2, t.R2, 0.001, 0.002) && feature.Coaxial(t.Axis, f.Axis, 0.01, 5e-3) {
			on += f.Area
		}
	}
	return t, t.R2 > 0 && t.R > 2.5*t.R2 && on > 0.85*all
}

// settleGrooves looks for the groove that a ring of wire stands in: in a shaft
// or in a bore. The ring's size is the shaft's or the bore's.
func (c *court) settleGrooves() {
	for i := range c.cases {
		k := &c.cases[i]
		if k.needs != needGroove {
			continue
		}
		for _, s := range c.scene.Near(c.box(k, 0.1)) {
			if s == k.solid {
				continue
			}
			if d, ok := k.inGroove(c.scene.Inside(s, k.Axis, 0.1, math.Pi), k.Bore, 1); ok {
				k.grooved("shaft", d, c.scene.P.Name(s))
			} else if d, ok := k.inGroove(c.scene.Around(s, k.Axis, 0.1, math.Pi), k.HeadD, -1); ok {
				k.grooved("bore", d, c.scene.P.Name(s))
				k.HeadD = min(k.HeadD, d)
			}
		}
	}
}

// inGroove looks among the walls about the ring's axis for a floor that it
// touches, of diameter d, and for walls on both sides that stand out beyond the
// floor: to sense 1 outwards, to -1 inwards. It gives the diameter of the walls.
func (k *instance) inGroove(walls []feature.Segment, d, sense float64) (float64, bool) {
	wire, mid := k.shank, 0.5*(k.Back+k.Front)
	for _, floor := range walls {
		if math.Abs(2*floor.R-d) > 0.35*wire || floor.Z0 > mid || floor.Z1 < mid {
			continue
		}
		var low, high float64
		for _, w := range walls {
			switch stands := sense * (w.R - floor.R); {
			case stands < 0.2*wire || stands > wire:
			case math.Abs(w.Z1-floor.Z0) < wire:
				low = 2 * w.R
			case math.Abs(w.Z0-floor.Z1) < wire:
				high = 2 * w.R
			}
		}
		if low > 0 && high > 0 {
			return low, true
		}
	}
	return 0, false
}

// grooved settles a ring of wire in its groove.
func (k *instance) grooved(where string, d float64, name string) {
	k.needs, k.Head = none, where
	k.Nominal, k.Size = d, trim(math.Round(d*100)/100)+" mm"
	k.say("stands in a groove of %s, between walls of Ø%s", name, trim(d))
}
