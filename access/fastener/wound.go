package fastener

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// wound reads the thread that is modelled in a hole from the lower end, as rings
// or as a helix: in half planes through the axis its wall is that of a threaded
// rod turned inside out. The corners of the mesh at its crests give the
// diameter: what is between them is nearer to the axis by the chord error.
func (m *flat) wound() (bore, bool) {
	crest, end := m.holeFromBelow()
	if !(crest > 0) || math.IsInf(crest, 1) {
		return bore{}, false
	}
	var found []thread
	for _, angle := range [...]float64{0.11, 2.23, 4.37} { // rad: on no seam or symmetry of a part
		if t, ok := m.innerMeridian(angle, m.z0, end, crest).turns(2 * crest); ok {
			found = append(found, t)
		}
	}
	if len(found) < 2 {
		return bore{}, false // grooves that do not go round
	}
	slices.SortFunc(found, func(a, b thread) int { return cmp.Compare(a.pitch, b.pitch) })
	t := found[len(found)/2]
	for _, one := range found {
		if !near(one.pitch, t.pitch, 0.05, 0) {
			return bore{}, false
		}
	}
	b := bore{z0: t.z0 - t.pitch/2, z1: t.z1 + t.pitch/2, turns: true, pitch: t.pitch}
	b.d = 2 * m.leastCorner(b.z0, b.z1, 4*crest)
	return b, b.d > 0 && !math.IsInf(b.d, 1)
}

// holeFromBelow is the least radius of the hole at the lower end and the height
// where it ends.
func (m *flat) holeFromBelow() (crest, end float64) {
	p, n := m.inline(), profileN // a blind one narrows at once where it ends
	for i := profileN / 20; i < profileN; i++ {
		if p.r[i] < 0.6*p.r[profileN/20] {
			n = i
			break
		}
	}
	crest = math.Inf(1)
	for i := n / 10; i < n*9/10; i++ {
		crest = min(crest, p.r[i])
	}
	return crest, p.height(n)
}

// leastCorner is the least distance from the axis of a corner between two
// heights; limit bounds what belongs to the hole.
func (m *flat) leastCorner(lo, hi, limit float64) float64 {
	least := math.Inf(1)
	for _, t := range m.tris {
		for _, v := range t {
			if m.z[v] >= lo && m.z[v] <= hi {
				if r := math.Hypot(m.x[v], m.y[v]); r < limit {
					least = min(least, r)
				}
			}
		}
	}
	return least
}

// innerMeridian is a meridian of the hole turned inside out about its crest:
// grooves of the wall become valleys as deep.
func (m *flat) innerMeridian(angle, lo, hi, crest float64) *half {
	in := m.halfPlane(angle, lo, hi, 2*crest, true)
	for i, r := range in.r {
		in.r[i] = max(0, 2*crest-r)
	}
	return in
}

// cylinders lists the cylinders about the axis that are no chamfer's or
// groove's, by height.
func (m *flat) cylinders(f geom.Frame, feat *feature.Part) []bore {
	const short = 0.08 // of the part's height
	var out []bore
	for _, g := range feat.Around(geom.Axis{O: f.O, D: f.Z}, 0.05, math.Pi) {
		if lo, hi := max(g.Z0, m.z0), min(g.Z1, m.z1); hi-lo > short*(m.z1-m.z0) {
			out = append(out, bore{d: 2 * g.R, z0: lo, z1: hi})
		}
	}
	return out
}

// plain reports that one cylinder is nearly all of a hole, which leaves no room
// for turns.
func plain(all []bore, h float64) bool {
	return slices.ContainsFunc(all, func(b bore) bool { return b.length() > 0.75*h })
}

// without leaves out what lies within the stretch of b for the most part: the
// crests and the grooves of its turns.
func without(all []bore, b bore) []bore {
	return slices.DeleteFunc(all, func(o bore) bool {
		return min(o.z1, b.z1)-max(o.z0, b.z0) > 0.5*o.length()
	})
}
