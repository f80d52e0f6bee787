package fastener

import (
	"cmp"
	"math"
	"slices"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// Rings, slotted pins and ties are open: what is cut out of them draws the
// centre of volume off their axis. They are read about the axes of the arcs
// that reach half round and more.

// openFaces is the most faces that such a part has: a retaining ring has some
// 15, fused of pieces 60, a tie with serrations a few hundred.
const openFaces = 600

// examineOpen reads a part that is open to one side, or of bent wire or sheet.
func examineOpen(p *product.Part, feat *feature.Part) (specimen, bool) {
	if len(feat.Faces) > openFaces {
		return specimen{}, false
	}
	for _, a := range openAxes(feat) {
		f, err := geom.NewFrame(a.O, a.D, geom.Perpendicular(a.D))
		if err != nil {
			continue
		}
		m := flatten(p.Mesh, f)
		if m.r > greatestTie || m.z1-m.z0 > greatestL || !(m.z1 > m.z0) {
			continue
		}
		if s, ok := m.closedTie(f, feat); ok {
			return s, true
		}
		if m.r > greatestR {
			continue
		}
		if s, ok := m.retaining(p, f, feat); ok {
			return s, true
		}
		if s, ok := m.springPin(f, feat); ok {
			return s, true
		}
		if s, ok := m.cotter(p, f, feat); ok {
			return s, true
		}
	}
	if s, ok := wireRing(p, feat); ok {
		return s, true
	}
	if s, ok := edgeClip(p, feat); ok {
		return s, true
	}
	if s, ok := coiledPin(p, feat); ok {
		return s, true
	}
	return straightTie(p, feat)
}

// openAxes lists the axes of the widest arcs of half a turn and more, most wall
// first.
func openAxes(feat *feature.Part) []geom.Axis {
	type line struct {
		a    geom.Axis
		wall float64 // mm²
	}
	var lines []line
	for _, list := range [2][]feature.Hole{feat.Holes, feat.Bosses} {
		for i := range list {
			h := &list[i]
			if h.Sweep < math.Pi {
				continue
			}
			k := slices.IndexFunc(lines, func(l line) bool { return feature.Coaxial(l.a, h.Axis, 0.02, 5e-3) })
			if k < 0 {
				lines = append(lines, line{a: h.Axis})
				k = len(lines) - 1
			}
			lines[k].wall += h.Sweep * h.R * (h.Z1 - h.Z0)
		}
	}
	slices.SortStableFunc(lines, func(a, b line) int { return cmp.Compare(b.wall, a.wall) })
	var out []geom.Axis
	for _, l := range lines[:min(3, len(lines))] {
		out = append(out, l.a)
	}
	return out
}

// gap is the one opening of a section, as seen from its axis.
type gap struct {
	mid, wide float64 // rad: its middle, and how much of the turn it takes
}

// gap finds the opening; false where the section is closed or open in more
// than one place.
func (s *section) gap() (gap, bool) {
	open := func(k int) bool { return s.Out[(k+polarN)%polarN] == 0 }
	start, runs := 0, 0
	for k := range polarN {
		if open(k) && !open(k-1) {
			start, runs = k, runs+1
		}
	}
	if runs != 1 {
		return gap{}, false
	}
	n := 0
	for open(start + n) { // ends: another ray is not open
		n++
	}
	const step = 2 * math.Pi / polarN
	return gap{mid: (float64(start) + float64(n)/2) * step, wide: float64(n) * step}, true
}

// mouth is the clear width, mm, of the opening g: twice the least distance of
// the walls on either side, within a right angle, from the line along its middle.
func (s *section) mouth(g gap) float64 {
	least := [2]float64{math.Inf(1), math.Inf(1)}
	for k := range polarN {
		a := angleTo((float64(k)+0.5)*2*math.Pi/polarN, g.mid)
		if math.Abs(a) > math.Pi/2 || s.Out[k] == 0 {
			continue
		}
		side := 0
		if a > 0 {
			side = 1
		}
		least[side] = min(least[side], s.In[k]*math.Abs(math.Sin(a)))
	}
	return least[0] + least[1]
}

// angleTo is a - b, brought between -π and π.
func angleTo(a, b float64) float64 { return math.Remainder(a-b, 2*math.Pi) }
