package fastener

import (
	"math"
	"slices"
)

// profileN is the number of steps of a profile along the axis.
const profileN = 400

// profile is the outer radius about the axis by height: step i holds the
// greatest distance of any point between z0 + i dz and z0 + (i+1) dz.
type profile struct {
	z0, dz float64
	r      [profileN]float64
	inside bool // it holds the least distance instead
}

// outline makes the profile of a part. A triangle's greatest distance from the
// axis in a slab is at one of its corners or where an edge crosses the slab's
// ends (distance is convex), so only those are looked at: exact for the mesh.
func (m *flat) outline() *profile {
	if m.profile != nil {
		return m.profile
	}
	p := &profile{z0: m.z0, dz: (m.z1 - m.z0) / profileN}
	m.profile = p
	if !(p.dz > 0) {
		return p
	}
	for _, t := range m.tris {
		p.edge(m, t[0], t[1])
		p.edge(m, t[1], t[2])
		p.edge(m, t[2], t[0])
	}
	for i := range p.r { // squares until here
		p.r[i] = math.Sqrt(p.r[i])
	}
	return p
}

func (p *profile) edge(m *flat, a, b int32) {
	if m.z[a] > m.z[b] {
		a, b = b, a
	}
	za, zb := m.z[a], m.z[b]
	// Corners on the border of two steps belong to the step that the edge runs
	// into; a level edge to the step below and above it would blur a shoulder,
	// so it is left to the edges that climb from it.
	if zb-za <= 1e-9 {
		return
	}
	i0 := p.step((za-p.z0)/p.dz + 1e-6)
	i1 := p.step((zb-p.z0)/p.dz - 1e-6)
	p.put(i0, m.x[a]*m.x[a]+m.y[a]*m.y[a])
	p.put(i1, m.x[b]*m.x[b]+m.y[b]*m.y[b])
	for i := i0 + 1; i <= i1; i++ {
		x, y := m.crossing(a, b, p.z0+float64(i)*p.dz)
		r2 := x*x + y*y
		p.put(i-1, r2)
		p.put(i, r2)
	}
}

func (p *profile) step(s float64) int { return max(0, min(profileN-1, int(s))) }

func (p *profile) put(i int, r2 float64) {
	if p.inside && r2 < p.r[i] || !p.inside && r2 > p.r[i] { // a NaN is neither
		p.r[i] = r2
	}
}

// at is the step of a height.
func (p *profile) at(z float64) int { return p.step((z - p.z0) / p.dz) }

// height is the lower end of a step.
func (p *profile) height(i int) float64 { return p.z0 + float64(i)*p.dz }

// max is the greatest radius.
func (p *profile) max() float64 {
	r := 0.0
	for _, v := range p.r {
		r = max(r, v)
	}
	return r
}

// mode is the radius that most steps below index end share within 2 %, and
// how many do; steps wider than limit are left out. Of those steps the middle
// radius is taken: neither the fillet at one end nor a taper decides.
func (p *profile) mode(end int, limit float64) (r float64, n int) {
	shares := func(i, j int) bool { return p.r[j] <= limit && math.Abs(p.r[j]-p.r[i]) <= 0.02*p.r[i] }
	best := -1
	for i := range end {
		if p.r[i] > limit || p.r[i] == 0 {
			continue
		}
		count := 0
		for j := range end {
			if shares(i, j) {
				count++
			}
		}
		if count > n || count == n && p.r[i] > p.r[best] {
			best, n = i, count
		}
	}
	if best < 0 {
		return 0, 0
	}
	var alike []float64
	for j := range end {
		if shares(best, j) {
			alike = append(alike, p.r[j])
		}
	}
	slices.Sort(alike)
	return alike[len(alike)/2], n
}
