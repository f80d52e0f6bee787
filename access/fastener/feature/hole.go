package feature

import (
	"math"
	"slices"
	"sync"

	"stepscan/geom"
	"stepscan/geom/boxes"
)

// Tolerances of one part's own coordinates: two faces of one hole come from
// the same sketch, so they agree to rounding of the file's reals.
const (
	sameLine   = 0.01 // mm between axes, and between radii
	sameAngle  = 2e-3 // rad between axes: 0.1 mm on 50 mm
	touchAlong = 0.02 // mm of gap along the axis
)

// merge joins the cylinders that look inward (or outward) into holes.
func merge(faces []Face, inward bool) []Hole {
	var holes []Hole
	var wall []float64 // mm², per hole
	for i := range faces {
		f := &faces[i]
		if f.Kind != Cylinder || f.Inward != inward || f.Area == 0 {
			continue
		}
		h := Hole{Axis: f.Axis, R: f.R, Z0: f.Z0, Z1: f.Z1}
		if k := partner(holes, &h); k >= 0 {
			z0, z1 := along(&holes[k].Axis, &h)
			holes[k].Z0, holes[k].Z1 = min(holes[k].Z0, z0), max(holes[k].Z1, z1)
			wall[k] += f.Area
			continue
		}
		holes, wall = append(holes, h), append(wall, f.Area)
	}
	for k := range holes {
		h := &holes[k]
		if l := h.R * (h.Z1 - h.Z0); l > 0 {
			h.Sweep = min(2*math.Pi, wall[k]/l)
		}
	}
	return holes
}

// partner is the hole that h continues, -1 without. Parts with thousands of
// holes are boards and grilles; the search stays linear because only the last
// few hundred holes are looked at: faces of one hole lie close in the file.
func partner(holes []Hole, h *Hole) int {
	const window = 256
	for k := len(holes) - 1; k >= 0 && k >= len(holes)-window; k-- {
		o := &holes[k]
		if math.Abs(o.R-h.R) > sameLine || !Coaxial(o.Axis, h.Axis, sameLine, sameAngle) {
			continue
		}
		if z0, z1 := along(&o.Axis, h); z0 <= o.Z1+touchAlong && z1 >= o.Z0-touchAlong {
			return k
		}
	}
	return -1
}

// along gives h's ends as heights along another axis of the same line.
func along(a *geom.Axis, h *Hole) (z0, z1 float64) {
	z0, z1 = a.Height(h.Axis.At(h.Z0)), a.Height(h.Axis.At(h.Z1))
	return min(z0, z1), max(z0, z1)
}

// Coaxial reports whether two axes, whatever their sense, are one line: within
// dist mm at the origin of b and within angle rad.
func Coaxial(a, b geom.Axis, dist, angle float64) bool {
	return a.D.Cross(b.D).Len() <= angle && a.Distance(b.O) <= dist
}

// Segment is a stretch of an axis with a wall about it: the axis's heights
// and the free radius there.
type Segment struct {
	Z0, Z1, R float64
	Sweep     float64
}

// Around lists the holes of the part coaxial with a line given in the part's
// coordinates, as segments of that line: within dist mm over the segment's
// ends, at least minSweep rad of wall. Order: as in Holes.
func (p *Part) Around(a geom.Axis, dist, minSweep float64) []Segment {
	return p.holes.around(p.Holes, a, dist, minSweep)
}

// Inside is Around for the part's outward cylinders.
func (p *Part) Inside(a geom.Axis, dist, minSweep float64) []Segment {
	return p.bosses.around(p.Bosses, a, dist, minSweep)
}

// fewHoles are looked through one by one.
const fewHoles = 64

// lines finds the holes about a line where they are many, as in a plate with a
// screw in each: the search is made with the first question.
type lines struct {
	once sync.Once
	tree *boxes.Tree
}

func (l *lines) around(holes []Hole, a geom.Axis, dist, minSweep float64) []Segment {
	var out []Segment
	if len(holes) <= fewHoles {
		for i := range holes {
			out = holes[i].onLine(out, a, dist, minSweep)
		}
		return out
	}
	l.once.Do(func() {
		all := make([]geom.Box, len(holes))
		for i := range holes {
			h := &holes[i]
			all[i] = geom.EmptyBox().Add(h.Axis.At(h.Z0)).Add(h.Axis.At(h.Z1))
		}
		l.tree = boxes.New(all)
	})
	const rounding = 1e-6 // mm
	var near []int32
	l.tree.Along(a, dist+rounding, func(i int32) bool {
		near = append(near, i)
		return true
	})
	slices.Sort(near)
	for _, i := range near {
		out = holes[i].onLine(out, a, dist, minSweep)
	}
	return out
}

// onLine appends the hole as a segment of a line that it is about.
func (h *Hole) onLine(out []Segment, a geom.Axis, dist, minSweep float64) []Segment {
	if h.Sweep < minSweep || a.D.Cross(h.Axis.D).Len() > 0.02 {
		return out
	}
	p0, p1 := h.Axis.At(h.Z0), h.Axis.At(h.Z1)
	if a.Distance(p0) > dist || a.Distance(p1) > dist {
		return out
	}
	z0, z1 := a.Height(p0), a.Height(p1)
	return append(out, Segment{Z0: min(z0, z1), Z1: max(z0, z1), R: h.R, Sweep: h.Sweep})
}
