package fastener

import (
	"math"
	"slices"
)

// level is the flat area across the axis at one height, looking up (along the
// axis) or down.
type level struct {
	z, area    float64
	rMin, rMax float64 // distances of its corners from the axis
	up         bool
}

// levels lists the flats across the axis by height, those that look up and
// those that look down apart.
func (m *flat) levels() []level {
	const same = 1e-4 // mm between corners of one flat
	var out []level
	for _, t := range m.tris {
		a, b, c := t[0], t[1], t[2]
		if math.Abs(m.z[a]-m.z[b]) > same || math.Abs(m.z[a]-m.z[c]) > same {
			continue
		}
		area := 0.5 * ((m.x[b]-m.x[a])*(m.y[c]-m.y[a]) - (m.x[c]-m.x[a])*(m.y[b]-m.y[a]))
		if area == 0 || math.IsNaN(area) {
			continue
		}
		l := level{z: m.z[a], area: math.Abs(area), up: area > 0, rMin: math.Inf(1)}
		for _, v := range t {
			r := math.Hypot(m.x[v], m.y[v])
			l.rMin, l.rMax = min(l.rMin, r), max(l.rMax, r)
		}
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, b level) int {
		switch {
		case a.up != b.up && a.up:
			return 1
		case a.up != b.up:
			return -1
		case a.z < b.z:
			return -1
		case a.z > b.z:
			return 1
		}
		return 0
	})
	return joinLevels(out, 10*same)
}

// joinLevels adds up neighbours in a sorted list that are less than gap apart.
func joinLevels(in []level, gap float64) []level {
	var out []level
	for _, l := range in {
		if n := len(out) - 1; n >= 0 && out[n].up == l.up && l.z-out[n].z < gap {
			o := &out[n]
			o.area += l.area
			o.rMin, o.rMax = min(o.rMin, l.rMin), max(o.rMax, l.rMax)
			continue
		}
		out = append(out, l)
	}
	return out
}

// floor is the height of the highest wall that a line just beside the axis
// meets from above, and whether there is one. Three lines are tried and the
// middle answer taken, so that a seam on the axis does not decide.
func (m *flat) floor() (float64, bool) {
	var hits []float64
	for _, o := range [...][2]float64{{3.1e-3, 1.7e-3}, {-2.3e-3, 2.9e-3}, {0.7e-3, -3.7e-3}} {
		if z, ok := m.down(o[0]*m.r, o[1]*m.r); ok {
			hits = append(hits, z)
		}
	}
	if len(hits) < 2 {
		return 0, false
	}
	slices.Sort(hits)
	return hits[len(hits)/2], true
}

// down is the height of the highest triangle over the point (x, y).
func (m *flat) down(x, y float64) (z float64, ok bool) {
	z = math.Inf(-1)
	for _, t := range m.tris {
		ax, ay := m.x[t[0]]-x, m.y[t[0]]-y
		bx, by := m.x[t[1]]-x, m.y[t[1]]-y
		cx, cy := m.x[t[2]]-x, m.y[t[2]]-y
		if ax > 0 && bx > 0 && cx > 0 || ax < 0 && bx < 0 && cx < 0 {
			continue // most lie to one side
		}
		u, v, w := bx*cy-cx*by, cx*ay-ax*cy, ax*by-bx*ay
		if u >= 0 && v >= 0 && w >= 0 || u <= 0 && v <= 0 && w <= 0 {
			if s := u + v + w; s != 0 {
				z = max(z, (u*m.z[t[0]]+v*m.z[t[1]]+w*m.z[t[2]])/s)
			}
		}
	}
	return z, !math.IsInf(z, -1)
}
