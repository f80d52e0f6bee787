package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/fastener/table"
	"stepscan/access/product"
	"stepscan/geom"
)

// A retaining ring is a flat piece of spring sheet, open at one place. Pliers
// hold it by two eyes beside its gap, outside the circle that grips a shaft
// (DIN 471) or inside the one that grips a bore (DIN 472); or it has a mouth
// narrower than the groove that it is pushed on, and bears on it at a few
// places only (DIN 6799).

// openRing is a flat open ring as its section shows it; lengths in mm.
type openRing struct {
	s          float64 // thickness
	sec        *section
	gap        gap
	hole, boss feature.Segment // the widest arcs about the axis, inward and outward
	bears      feature.Segment // the narrowest inward arc: what lies on the groove's floor
	eyes       []plierEye
}

// plierEye is a drilled hole beside the axis.
type plierEye struct{ at, off, r float64 } // rad, mm from the axis, its radius

// retaining reads the part as a retaining ring.
func (m *flat) retaining(p *product.Part, f geom.Frame, feat *feature.Part) (specimen, bool) {
	r, ok := m.openRing(p, f, feat)
	if !ok {
		return specimen{}, false
	}
	s := specimen{}
	s.Kind, s.Drive, s.Symmetric = Ring, NoDrive, true
	s.Length, s.HeadH = math.Round(r.s*1000)/1000, r.s
	s.place(f, m, m.z1)
	switch {
	case r.isShaft():
		s.Head, s.HeadD, s.Bore = "shaft", 2*m.r, 2*r.hole.R
		s.nameRing("DIN 471", 2*r.hole.R, r.s, "inner edge")
	case r.isBore():
		s.Head, s.Bore = "bore", 2*r.sec.least()
		s.nameRing("DIN 472", 2*r.boss.R, r.s, "outer edge")
		s.HeadD = min(2*r.boss.R, s.Nominal) // as the pliers close it
	case r.isE():
		s.Head, s.Bore, s.HeadD = "E", 2*r.bears.R, 2*r.boss.R
		s.nameRing("DIN 6799", 2*r.bears.R, r.s, "bearing points")
		s.Evidence = append(s.Evidence, fmt.Sprintf("its mouth is %s mm wide and has to spread over the groove", trim(r.sec.mouth(r.gap))))
		s.leaveSideways(m, f, r.gap.mid)
	default:
		return specimen{}, false
	}
	return s, true
}

// openRing reads a part of sheet with one opening; false for anything else.
func (m *flat) openRing(p *product.Part, f geom.Frame, feat *feature.Part) (r openRing, ok bool) {
	r.s = m.z1 - m.z0
	if r.s > 0.25*m.r || r.s < 0.02*m.r || !m.even(p.Volume) {
		return r, false
	}
	r.sec = m.cut(m.z0 + 0.5*r.s)
	if r.gap, ok = r.sec.gap(); !ok || r.gap.wide > 0.7*math.Pi {
		return r, false
	}
	a := geom.Axis{O: f.O, D: f.Z}
	r.hole = widestArc(feat.Around(a, 0.02, 0.5))
	r.boss = widestArc(feat.Inside(a, 0.02, 0.5))
	for _, g := range feat.Around(a, 0.02, 0.2) {
		if r.bears.R == 0 || g.R < r.bears.R {
			r.bears = g
		}
	}
	for i := range feat.Holes {
		h := &feat.Holes[i]
		if h.Sweep < 1.7*math.Pi || h.Z1-h.Z0 < 0.9*r.s || h.Axis.D.Cross(f.Z).Len() > 0.02 {
			continue
		}
		q := f.Local(h.Axis.O)
		if off := math.Hypot(q[0], q[1]); off > h.R { // the gripping edge is about the axis
			r.eyes = append(r.eyes, plierEye{at: math.Atan2(q[1], q[0]), off: off, r: h.R})
		}
	}
	return r, true
}

// even reports a plate: two flats, at its ends, and the volume between them.
func (m *flat) even(volume float64) bool {
	var down, up float64
	for _, l := range m.levels() {
		switch {
		case l.up && math.Abs(l.z-m.z1) < 1e-3:
			up += l.area
		case !l.up && math.Abs(l.z-m.z0) < 1e-3:
			down += l.area
		}
	}
	const edges = 0.1 // rounded by stamping
	return near(up, down, edges, 0) && near(math.Abs(volume), 0.5*(up+down)*(m.z1-m.z0), edges, 0)
}

// widestArc is the segment with the longest arc.
func widestArc(list []feature.Segment) (best feature.Segment) {
	for _, g := range list {
		if g.Sweep*g.R > best.Sweep*best.R {
			best = g
		}
	}
	return best
}

const (
	ringArc  = 1.2 * math.Pi // least arc of the gripping circle of a ring with eyes
	ringWide = 0.65          // its radial width at most, over the radius that grips: DIN 471 for 3 mm has 0.59
	eyeAway  = math.Pi / 3   // from the gap's middle, at most
)

// beside reports two equal eyes on either side of the gap, all that lies
// between the two distances from the axis.
func (r *openRing) beside(from, to float64) bool {
	if len(r.eyes) != 2 {
		return false
	}
	a, b := r.eyes[0], r.eyes[1]
	x, y := angleTo(a.at, r.gap.mid), angleTo(b.at, r.gap.mid)
	return near(a.r, b.r, 0.02, 0.01) && near(a.off, b.off, 0.02, 0.02) && near(x, -y, 0.1, 0.02) && math.Abs(x) < eyeAway &&
		a.off-a.r > from && a.off+a.r < to
}

func (r *openRing) isShaft() bool {
	d := 2 * r.hole.R
	return r.hole.Sweep > ringArc && r.s < 0.2*d && r.width() < ringWide*r.hole.R && r.gap.wide < math.Pi/3 && r.beside(r.hole.R, math.Inf(1))
}

func (r *openRing) isBore() bool {
	d := 2 * r.boss.R
	return r.boss.Sweep > ringArc && r.s < 0.2*d && r.width() < ringWide*r.boss.R && r.gap.wide < math.Pi/3 && r.beside(0, r.boss.R)
}

// width is the radial width opposite the gap.
func (r *openRing) width() float64 {
	k := int((r.gap.mid+math.Pi)/(2*math.Pi)*polarN) % polarN
	return r.sec.Out[k] - r.sec.In[k]
}

// isE: the mouths of DIN 6799 are 0.72 to 0.92 of the groove's diameter, the
// rings 1.7 to 2.7 times as wide; between the bearing points the edge stands
// back, or the ring could not spread.
func (r *openRing) isE() bool {
	d, mouth := 2*r.bears.R, r.sec.mouth(r.gap)
	if len(r.eyes) > 0 || r.boss.Sweep < math.Pi || r.bears.R == 0 || mouth < 0.6*d || mouth > 0.96*d {
		return false
	}
	if d < 0.34*2*r.boss.R || d > 0.62*2*r.boss.R || r.s > 0.3*d || !near(r.sec.least(), r.bears.R, 0.03, 0.02) {
		return false
	}
	back := 0 // rays that the edge stands back on, mouth left out
	for k := range r.sec.In {
		if a := angleTo((float64(k)+0.5)*2*math.Pi/polarN, r.gap.mid); math.Abs(a) > math.Pi/2 && r.sec.In[k] > 1.05*r.bears.R {
			back++
		}
	}
	return back > polarN/24
}

// nameRing takes the size from the table: the gripping edge is drawn free, as
// it comes, or in its groove.
func (s *specimen) nameRing(standard string, d, thick float64, edge string) {
	const (
		edgeOff  = 0.012 // of the diameter; neighbours differ by 2 % and more
		thickOff = 0.08
		// Where one ring in its groove is as wide as its neighbour free (26 and
		// 27 mm on shafts), models are drawn free.
		drawnFree = 0.001
	)
	seen := fmt.Sprintf("open ring of sheet %s mm thick, %s Ø%s", trim(thick), edge, trim(d))
	best, off := table.Ring{}, math.Inf(1)
	for _, r := range table.Rings() {
		free := r.Free
		if standard == "DIN 6799" {
			free = r.Groove // what grips is the groove's own diameter
		}
		o := min(math.Abs(d-free)/free, drawnFree+math.Abs(d-r.Groove)/r.Groove)
		if r.Standard == standard && o <= edgeOff && near(thick, r.S, thickOff, 0) && o < off {
			best, off = r, o
		}
	}
	if best.D1 == 0 {
		s.Nominal, s.Size, s.Confidence = d, trim(math.Round(d*100)/100)+" mm", 0.7
		s.Evidence = append(s.Evidence, seen+": in no table that we hold, the size is as measured")
		return
	}
	s.Nominal, s.Size, s.fits, s.Confidence = best.D1, trim(best.D1)+" mm", true, 0.9
	s.Designation = fmt.Sprintf("%s %s×%s", standard, trim(best.D1), trim(best.S))
	s.Evidence = append(s.Evidence, fmt.Sprintf("%s: %s for %s (free Ø%s, groove Ø%s, %s thick)", seen, standard, s.Size, trim(best.Free), trim(best.Groove), trim(best.S)))
	if s.Head != "E" {
		s.Evidence = append(s.Evidence, "two eyes for pliers beside its gap")
	}
}

// leaveSideways turns the axis of a ring that is pushed off its groove away
// from its mouth.
func (s *specimen) leaveSideways(m *flat, f geom.Frame, mouth float64) {
	sin, cos := math.Sincos(mouth + math.Pi)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range m.tris {
		for _, v := range t {
			h := m.x[v]*cos + m.y[v]*sin
			lo, hi = min(lo, h), max(hi, h)
		}
	}
	mid := 0.5 * (m.z0 + m.z1)
	s.Axis = geom.Axis{O: f.Point([3]float64{hi * cos, hi * sin, mid}), D: f.X.Mul(cos).Add(f.Y.Mul(sin))}
	s.Point, s.Symmetric = s.Axis.O, false
	s.Back, s.Front = lo-hi, 0
}
