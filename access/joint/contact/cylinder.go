package contact

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener/feature"
	"stepscan/geom"
)

// pressShare is the greatest interference of a press fit as a share of the
// diameter: that of ISO 286-2's tightest common fits (H7/u6, from memory: 0.7 %
// at 3 mm and less above) and a little more.
const pressShare = 0.01

// cylinders compares a shaft's face with a hole's on the same axis.
func (m *meeting) cylinders(i, j int32) {
	f, g := &m.x.feat.Faces[i], &m.y.feat.Faces[j]
	if f.Inward == g.Inward {
		return
	}
	shaft, hole := f.R, g.R
	if f.Inward {
		shaft, hole = hole, shaft
	}
	if over := shaft - hole; over < -m.touch || over > m.touch+pressShare*shaft {
		return
	}
	box := m.window(i, j)
	if box.IsEmpty() {
		return
	}
	axis := geom.Axis{O: g.Axis.At((g.Z0 + g.Z1) / 2), D: g.Axis.D}
	if !feature.Coaxial(axis, f.Axis.Transformed(m.place), m.touch+oneLine*abs(g.Z1-g.Z0), oneLine) {
		return
	}
	x := geom.Perpendicular(axis.D)
	on := roll{sheet{axis, x, axis.D.Cross(x)}, g.R}
	mine := on.region(cornersIn(m.x, i, m.place, box))
	theirs := on.region(cornersIn(m.y, j, geom.Identity(), box))
	if area := overlap(on.around(mine), theirs); area > leastArea {
		m.take(Contact{Kind: Cylindrical, Area: area, Axis: axis, Radius: g.R, Inner: !f.Inward})
	}
}

// roll is a cylinder that is unrolled: u is the arc length, v the height.
type roll struct {
	sheet
	r float64
}

// region unrolls triangles. Each lies in one piece, its middle between -π and π.
func (s *roll) region(tris [][3]mgl64.Vec3) region {
	var out region
	for _, c := range tris {
		a0 := s.angle(c[0])
		a1, a2 := a0+wrapped(s.angle(c[1])-a0), a0+wrapped(s.angle(c[2])-a0)
		mid := (a0 + a1 + a2) / 3
		shift := wrapped(mid) - mid
		var t flat
		for k, a := range []float64{a0, a1, a2} {
			t[k] = mgl64.Vec2{(a + shift) * s.r, s.plane.Height(c[k])}
		}
		out.add(t)
	}
	return out
}

func (s *roll) angle(p mgl64.Vec3) float64 {
	d := p.Sub(s.plane.O)
	return math.Atan2(d.Dot(s.y), d.Dot(s.x))
}

// wrapped is the angle between -π and π.
func wrapped(a float64) float64 { return math.Remainder(a, 2*math.Pi) }

// around is the region three times, one turn apart: what reaches over ±π meets
// its neighbours there.
func (s *roll) around(r region) region {
	out := make(region, 0, 3*len(r))
	for _, k := range []float64{0, -1, 1} {
		for _, t := range r {
			for i := range t {
				t[i][0] += k * 2 * math.Pi * s.r
			}
			out = append(out, t)
		}
	}
	return out
}

// The limits of what is called a fit. A hole that is wider by more than
// loosest, some ISO 286-2 H11/c11 (from memory: 0.26 mm at 10 mm), leaves the
// shaft free; a shaft thicker by more than deepest is no thread of any
// standard (1.08 P in the diameter; P ≤ 0.27 d at the smallest sizes).
const (
	loosestMM, loosestShare = 0.1, 0.02
	deepestShare            = 0.3
	leastSweep              = math.Pi // rad: less of a wall guides nothing
	leastLength             = 0.1     // of the diameter: less is an edge
	// nominalMM is the difference, mm on diameter, below which two diameters
	// are drawn equal.
	nominalMM = 0.001
)

// fit looks for shafts of one part in holes of the other.
func (m *meeting) fit() {
	here := m.box.Transformed(m.back)
	same := geom.Identity()
	m.fits(0, m.x.bosses.within(m.box, m.place, m.back), m.y.holes.within(m.box, same, same))
	m.fits(1, m.y.bosses.within(here, m.back, m.place), m.x.holes.within(here, same, same))
	for k := range m.out.fits {
		if f := &m.out.fits[k]; f.Shaft == 1 {
			f.Axis = f.Axis.Transformed(m.place)
		}
	}
	slices.SortStableFunc(m.out.fits, func(a, b Fit) int { return cmp.Compare(b.Length, a.Length) })
}

// maxWalls bounds the comparisons of shafts with holes: a board and a grille
// have thousands each.
const maxWalls = 1 << 22

func (m *meeting) fits(who int, shafts, holes []feature.Hole) {
	if len(shafts)*len(holes) > maxWalls {
		return
	}
	for i := range shafts {
		for j := range holes {
			f, ok := fitOf(&shafts[i], &holes[j], m.touch)
			if !ok {
				continue
			}
			if f.Shaft, f.Hole = 0, 1; who == 1 {
				f.Shaft, f.Hole = 1, 0
			}
			if k := slices.IndexFunc(m.out.fits, func(o Fit) bool {
				return o.Shaft == f.Shaft && abs(o.D-f.D) < nominalMM && abs(o.Bore-f.Bore) < nominalMM && feature.Coaxial(o.Axis, f.Axis, m.touch, oneLine)
			}); k >= 0 {
				m.out.fits[k].Length += f.Length
				continue
			}
			m.out.fits = append(m.out.fits, f)
		}
	}
}

// fitOf compares one shaft with one hole in the same coordinates.
func fitOf(shaft, hole *feature.Hole, touch float64) (Fit, bool) {
	d, bore := 2*shaft.R, 2*hole.R
	over := d - bore
	if -over > loosestMM+loosestShare*bore || over > deepestShare*d {
		return Fit{}, false
	}
	mid := geom.Axis{O: hole.Axis.At((hole.Z0 + hole.Z1) / 2), D: hole.Axis.D}
	// With play the shaft may be drawn anywhere in it.
	if !feature.Coaxial(mid, shaft.Axis, max(touch, -over/2), 5*oneLine) {
		return Fit{}, false
	}
	s0, s1 := mid.Height(shaft.Axis.At(shaft.Z0)), mid.Height(shaft.Axis.At(shaft.Z1))
	half := (hole.Z1 - hole.Z0) / 2
	length := min(max(s0, s1), half) - max(min(s0, s1), -half)
	if length < leastLength*d {
		return Fit{}, false
	}
	return Fit{Axis: mid, D: d, Bore: bore, Overlap: over, Length: length, Class: class(d, over)}, true
}

// class puts an overlap on diameter into the terms of ISO 286-1.
func class(d, over float64) Class {
	switch {
	case over < -nominalMM:
		return Clearance
	case over <= nominalMM:
		return Transition
	case over <= pressShare*d:
		return Interference
	}
	return Bite
}
