package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// Limits of clips for the edge of a sheet (common makes), mm; forks and clevises
// are wider between their leaves.
const (
	clipSheetMin, clipSheetMax = 0.2, 1.2
	clipGapMax                 = 4.0
	clipGapThick               = 6 // the gap over the sheet's thickness
	clipLong                   = 45.0
)

// edgeClip reads a piece of sheet that is folded over on itself, with a hole
// through both leaves and a gap between them for the edge of a sheet, one leaf
// longer than the other so that it slides on. Brackets and hinges have leaves
// that are farther apart or alike.
func edgeClip(p *product.Part, feat *feature.Part) (specimen, bool) {
	var holes []*feature.Hole
	for i := range feat.Holes {
		if feat.Holes[i].Sweep > 1.8*math.Pi {
			holes = append(holes, &feat.Holes[i])
		}
	}
	if len(holes) != 2 || p.Box.Diagonal() > clipLong || !passAndBite(holes[0].R, holes[1].R) || !feature.Coaxial(holes[0].Axis, holes[1].Axis, 0.05, 5e-3) {
		return specimen{}, false
	}
	a := holes[0].Axis
	f, err := geom.NewFrame(a.O, a.D, geom.Perpendicular(a.D))
	if err != nil {
		return specimen{}, false
	}
	m := flatten(p.Mesh, f)
	l, ok := m.leaves()
	if !ok {
		return specimen{}, false
	}
	whole, punched := filledLeaves(l, a, holes)
	if !m.foldedOf(whole, math.Abs(p.Volume)+punched) {
		return specimen{}, false
	}
	gap, thick, d := l[2].z-l[1].z, l[1].z-l[0].z, 2*min(holes[0].R, holes[1].R)
	s := specimen{}
	s.Kind, s.Drive, s.Confidence = Clip, NoDrive, 0.6
	s.Nominal, s.Bore, s.Length = d, d, math.Round(100*(m.z1-m.z0))/100
	s.Evidence = append(s.Evidence, fmt.Sprintf("sheet %s mm thick folded over a gap of %s mm, holes Ø%s and Ø%s through its leaves, one leaf longer", trim(thick), trim(gap), trim(2*holes[0].R), trim(2*holes[1].R)))
	return s, s.slidesOff(m, f, 0.5*(l[1].z+l[2].z))
}

// passAndBite reports two holes that are alike, or of which one lets the screw
// through (1.2 d at most) and the other is bitten by it (0.7 d at least).
func passAndBite(a, b float64) bool { return max(a, b) <= 1.2/0.7*min(a, b) }

// filledLeaves gives the leaves as they were before they were punched, and the
// volume of the two holes.
func filledLeaves(l [4]level, a geom.Axis, holes []*feature.Hole) ([4]level, float64) {
	low, high := holes[0], holes[1]
	middle := func(h *feature.Hole) float64 { return 0.5 * (a.Height(h.Axis.At(h.Z0)) + a.Height(h.Axis.At(h.Z1))) }
	if middle(low) > middle(high) {
		low, high = high, low
	}
	volume := 0.0
	for i, h := range []*feature.Hole{low, low, high, high} {
		area := math.Pi * h.R * h.R
		l[i].area += area
		volume += 0.5 * area * (l[i|1].z - l[i&^1].z)
	}
	return l, volume
}

// leaves lists the four great flats of a fold, from the lowest up.
func (m *flat) leaves() (out [4]level, ok bool) {
	most := 0.0
	list := m.levels()
	for _, l := range list {
		most = max(most, l.area)
	}
	n := 0
	for _, up := range []bool{false, true} { // levels come by sense, then height
		k := 0
		for _, l := range list {
			if l.up != up || l.area < 0.4*most {
				continue
			}
			if k == 2 {
				return out, false
			}
			at := 2 * k // down: the undersides of both leaves
			if up {
				at++
			}
			out[at] = l
			k, n = k+1, n+1
		}
	}
	return out, n == 4 && out[0].z < out[1].z && out[1].z < out[2].z && out[2].z < out[3].z
}

// foldedOf reports two leaves of one thin sheet, near each other, of which one is
// longer, with little else in the part's volume than the fold that joins them.
func (m *flat) foldedOf(l [4]level, volume float64) bool {
	t, gap := l[1].z-l[0].z, l[2].z-l[1].z
	if !near(t, l[3].z-l[2].z, 0.05, 0.01) || t < clipSheetMin || t > clipSheetMax || gap < 1.2*t || gap > min(clipGapMax, clipGapThick*t) {
		return false
	}
	low, high := l[1].area, l[2].area // the leaves where they face each other
	short, long := min(low, high), max(low, high)
	leaves := t * (low + high)
	return short < 0.97*long && short > 0.4*long && volume > 0.95*leaves && volume < 1.45*leaves && short > 4*gap*gap
}

// slidesOff sets the axis of a clip: it leaves with its fold first, whose middle
// lies in the gap; false where the gap is not closed on one side alone.
func (s *specimen) slidesOff(m *flat, f geom.Frame, mid float64) bool {
	cut := m.cut(mid)
	g, ok := cut.gap()
	if !ok || g.wide < 0.9*math.Pi {
		return false
	}
	sin, cos := math.Sincos(g.mid + math.Pi)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range m.tris {
		for _, v := range t {
			h := m.x[v]*cos + m.y[v]*sin
			lo, hi = min(lo, h), max(hi, h)
		}
	}
	s.Axis = geom.Axis{O: f.Point([3]float64{hi * cos, hi * sin, mid}), D: f.X.Mul(cos).Add(f.Y.Mul(sin))}
	s.Point, s.Back, s.Front = s.Axis.O, lo-hi, 0
	return true
}

// cotter reads a spring cotter (DIN 11024): one round wire, bent in one plane, of
// which a straight leg goes through a pin's hole; it turns back in a loop, and
// the other leg, bent towards the first, holds the pin. f.Z is the leg's.
func (m *flat) cotter(p *product.Part, f geom.Frame, feat *feature.Part) (specimen, bool) {
	leg := widestArc(feat.Inside(geom.Axis{O: f.O, D: f.Z}, 0.02, 1.8*math.Pi))
	d, area := 2*leg.R, 0.0
	for i := range feat.Faces {
		area += feat.Faces[i].Area
	}
	// A wire of diameter d has 4 V / A = d, but for its ends and for how its
	// corners are drawn.
	if d == 0 || d < 0.5 || d > 10 || !near(4*math.Abs(p.Volume), area*d, 0.12, 0) || leg.Z1-leg.Z0 < 8*d || leg.Z1-leg.Z0 < 0.5*(m.z1-m.z0) {
		return specimen{}, false
	}
	if m.thickness() > 1.5*d {
		return specimen{}, false
	}
	if m.z1-leg.Z1 < leg.Z0-m.z0 { // the loop up
		m, f = m.turned(), upsideDown(f)
	}
	waist, ok := m.waist(leg.R)
	if !ok {
		return specimen{}, false
	}
	s := specimen{}
	s.Kind, s.Drive, s.Head, s.Confidence = Clip, NoDrive, "", 0.7
	s.Nominal, s.Size = d, trim(math.Round(d*100)/100)+" mm"
	s.place(f, m, m.z1)
	s.Length = math.Round(10*(m.z1-m.z0)) / 10
	s.Evidence = append(s.Evidence, fmt.Sprintf("round wire Ø%s in one plane: a straight leg of %s mm, a loop, and a leg that comes back to %s mm from it", trim(d), trim(leg.Z1-leg.Z0), trim(waist)))
	return s, true
}

// thickness is how thick the part is across the plane through the axis and the
// corner that is farthest from it.
func (m *flat) thickness() float64 {
	at, far := 0.0, 0.0
	for _, t := range m.tris {
		for _, v := range t {
			if r := math.Hypot(m.x[v], m.y[v]); r > far {
				far, at = r, math.Atan2(m.y[v], m.x[v])+math.Pi/2
			}
		}
	}
	sin, cos := math.Sincos(at)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range m.tris {
		for _, v := range t {
			h := m.x[v]*cos + m.y[v]*sin
			lo, hi = min(lo, h), max(hi, h)
		}
	}
	return hi - lo
}

// waist is how near, mm, the other leg comes to the first: above a stretch of
// the first alone the outline is wide, narrows and is wide again up to the loop.
func (m *flat) waist(r float64) (float64, bool) {
	p := m.outline()
	alone := 0
	for alone < profileN && p.r[alone] < 1.1*r {
		alone++
	}
	b := p.bends(profileN)
	if alone < profileN/20 || alone > profileN*7/10 || len(b) < 3 {
		return 0, false
	}
	first, valley, second := b[0], b[1], b[2]
	outer := valley.r - 2*r // of the other leg's near side
	ok := first.r > 1.25*valley.r && second.r > 1.25*valley.r && outer < 4*2*r && outer > -r && second.r < 12*2*r
	return outer - r, ok
}
