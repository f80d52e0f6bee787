package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// pinTaper is how much the diameter of a taper pin grows along its length
// (ISO 2339, from memory: 1 in 50).
const pinTaper = 1. / 50

// taperOff is how far a model may be from it, relative.
const taperOff = 0.06

// tapered is by how much the radius grows along the axis, 0 for a rod that does
// not grow evenly from end to end as a taper pin does; its rounded or chamfered
// ends are left out.
func (p *profile) tapered() float64 {
	const from, to = profileN / 8, profileN - 1 - profileN/8
	slope := (p.r[to] - p.r[from]) / (float64(to-from) * p.dz)
	if !near(2*slope, pinTaper, taperOff, 0) {
		return 0
	}
	for i := from; i <= to; i++ {
		on := p.r[from] + slope*float64(i-from)*p.dz
		if !near(p.r[i], on, 0.001, 0.002) {
			return 0
		}
	}
	return slope
}

// taperPin reads a taper pin with its thicker end up, to which it leaves. It is
// named by its thinner end. Pegs with the draft of a moulding come near it, so
// the hole has to have the same taper.
func (m *flat) taperPin(p *profile, f geom.Frame) (specimen, bool) {
	slope, l := p.tapered(), m.z1-m.z0
	d := 2 * p.r[profileN/2]
	if slope == 0 || d < 0.6 || d > 20.5 || l < 1.5*d || l > 20*d || !m.roundThrough() {
		return specimen{}, false
	}
	s := specimen{shank: d, taper: slope}
	s.Kind, s.Drive, s.Head, s.needs, s.Confidence = Pin, NoDrive, "taper", needHole, 0.8
	s.place(f, m, m.z1)
	thin := d - slope*l
	s.Nominal, s.Length = math.Round(10*thin)/10, nominalLength(l)
	s.Size = trim(s.Nominal) + " mm"
	s.Designation = fmt.Sprintf("ISO 2339 %s×%s", trim(s.Nominal), trim(s.Length))
	s.Evidence = append(s.Evidence, fmt.Sprintf("rod of %s mm, Ø%s at its thinner end, that tapers by 1 in 50", trim(l), trim(thin)))
	return s, true
}

// tapers is how long, mm, the pin k is in conical holes of solid s with its own
// taper and about its own diameter.
func (c *court) tapers(k *instance, s product.SolidIndex, play float64) float64 {
	length := 0.0
	solid := &c.scene.P.Solids[s]
	a := k.Axis.Transformed(solid.Back)
	for i := range c.scene.Parts[solid.Part].Faces {
		g := &c.scene.Parts[solid.Part].Faces[i]
		if g.Kind != feature.Cone || !g.Inward || !feature.Coaxial(a, g.Axis, 0.05, 0.01) || !near(math.Tan(math.Abs(g.Half)), math.Abs(k.taper), 2*taperOff, 0) {
			continue
		}
		z0, z1 := a.Height(g.Axis.At(g.Z0)), a.Height(g.Axis.At(g.Z1))
		r0, r1 := g.R+g.Z0*math.Tan(g.Half), g.R+g.Z1*math.Tan(g.Half)
		if z0 > z1 {
			z0, z1, r0, r1 = z1, z0, r1, r0
		}
		if z1-z0 < 0.1*k.shank || (r1-r0)*k.taper < 0 {
			continue
		}
		mid := 0.5 * (z0 + z1)
		own := k.shank/2 + k.taper*(mid-0.5*(k.Back+k.Front))
		if l := min(z1, k.Front) - max(z0, k.Back); l > 0 && math.Abs(0.5*(r0+r1)-own) <= 0.5*play {
			length += l
		}
	}
	return length
}
