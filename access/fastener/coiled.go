package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// coiledPins are the diameters of ISO 8748, ISO 8750 and ISO 8751, mm, from memory.
var coiledPins = []float64{0.8, 1, 1.2, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 8, 10, 12, 14, 16, 20}

// coiledPin reads sheet that is rolled up in some two turns to a pin (ISO 8750).
// Its section shows it: the strip of the sheet, whose length is its area over its
// thickness, goes more than once round a free axis and yet closes no ring. Watch
// springs have more turns and are flat.
func coiledPin(p *product.Part, feat *feature.Part) (specimen, bool) {
	for _, end := range ends(feat) {
		if f, ok := amid(p, &end); ok {
			if s, ok := flatten(p.Mesh, f).coiled(f, math.Abs(p.Volume), wall(feat)-2*end.Area, end.Area); ok {
				return s, true
			}
		}
	}
	return specimen{}, false
}

// wall is the area of all faces, mm².
func wall(feat *feature.Part) (area float64) {
	for i := range feat.Faces {
		area += feat.Faces[i].Area
	}
	return area
}

// coiled reads a prism of a volume, the area of its sides and that of one end.
func (m *flat) coiled(f geom.Frame, volume, side, end float64) (specimen, bool) {
	const turnsMin, turnsMax = 1.5, 3.2 // about 2.25 as they come
	l := m.z1 - m.z0
	area := volume / l
	developed := 0.5 * side / l // both faces of the sheet, and its edges: a little more
	thick := area / developed
	if !near(area, end, 0.04, 0) || m.r > 12 || l < 2*m.r || l > 30*m.r || !m.bar() {
		return specimen{}, false
	}
	c := m.cut(m.z0 + 0.5*l)
	out, in := c.outer(), c.inner(math.Inf(1))
	if out.Open > 0 || !c.hollow() || out.Min < out.Max-2.5*thick || in.Open > 0 {
		return specimen{}, false
	}
	turns := developed / (math.Pi * (0.5*(out.Max+out.Min) + 0.5*(in.Max+in.Min)))
	build := out.Max - in.Min
	if turns < turnsMin || turns > turnsMax || build < 0.8*turns*thick || build > 1.8*turns*thick {
		return specimen{}, false
	}
	d := 2 * m.r // the step of the outer edge takes less from the other side
	n := nearestCoiled(d)
	if n == 0 || thick < 0.04*n || thick > 0.15*n {
		return specimen{}, false
	}
	s := specimen{shank: n}
	s.Kind, s.Drive, s.Head, s.Symmetric, s.Confidence = Pin, NoDrive, "spring", true, 0.8
	s.Nominal, s.Size, s.Length = n, trim(n)+" mm", nominalLength(l)
	s.place(f, m, m.z1)
	s.Evidence = append(s.Evidence, fmt.Sprintf("sheet %s mm thick rolled up in %.1f turns to Ø%s × %s mm", trim(thick), turns, trim(d), trim(l)))
	return s, true
}

// nearestCoiled is the nominal diameter of a coiled pin that measures d. Free ones
// are up to a tenth wider than their hole; models are drawn free or as pressed
// in, and the step of the sheet's outer edge makes them narrower by less.
func nearestCoiled(d float64) float64 {
	best, off := 0.0, 0.09
	for _, n := range coiledPins {
		if o := math.Abs(d/n - 1.02); o < off {
			best, off = n, o
		}
	}
	return best
}

// ends lists the flats of a part that have another of the same size, which looks
// the other way: what may be the ends of a prism. A strip rolled up has four
// faces and its roundings; of more than a few nothing is asked.
func ends(feat *feature.Part) (out []feature.Face) {
	const most = 24
	if len(feat.Faces) > most {
		return nil
	}
	for i := range feat.Faces {
		for j := range i {
			a, b := &feat.Faces[i], &feat.Faces[j]
			if a.Kind == feature.Plane && b.Kind == feature.Plane && a.Axis.D.Dot(b.Axis.D) < -1+1e-9 && near(a.Area, b.Area, 0.001, 0) {
				out = append(out, *a)
			}
		}
	}
	return out[:min(len(out), 4)]
}

// amid is the frame with z along a flat's normal, in the middle of what the part
// reaches across it.
func amid(p *product.Part, end *feature.Face) (geom.Frame, bool) {
	f, err := geom.NewFrame(p.Centroid, end.Axis.D, geom.Perpendicular(end.Axis.D))
	if err != nil {
		return f, false
	}
	b := noSpread()
	m := flatten(p.Mesh, f)
	for _, t := range m.tris {
		for _, v := range t {
			b.take([3]float64{m.x[v], m.y[v], m.z[v]})
		}
	}
	f.O = f.Point([3]float64{0.5 * (b.lo[0] + b.hi[0]), 0.5 * (b.lo[1] + b.hi[1]), 0})
	return f, true
}
