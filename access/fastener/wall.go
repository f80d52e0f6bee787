package fastener

import (
	"math"
	"slices"
)

// open reports that ray k leaves the part without meeting a wall.
func (s *section) open(k int) bool { return math.IsInf(s.In[k], 1) }

// slot measures a slot that is open at both ends: two openings opposite each
// other with parallel walls out to the rim. Width and length are in mm.
func (s *section) slot() (width, length float64, ok bool) {
	const (
		widest = 0.3  // of all rays: more is two lobes, no slot
		narrow = 0.9  // of the doubled angles' mean: the openings lie on one line
		even   = 0.2  // of the angles' mean: both ends are open
		outer  = 0.6  // of the greatest radius: walls farther in may be a recess's
		spread = 0.06 // of the half width between the walls
	)
	n, c1, s1, c2, s2, rim := 0, 0.0, 0.0, 0.0, 0.0, 0.0
	for k := range s.In {
		rim = max(rim, s.Out[k])
		if s.open(k) {
			n++
			w := &rays[k]
			c1, s1 = c1+w.cos, s1+w.sin
			c2, s2 = c2+w.cos*w.cos-w.sin*w.sin, s2+2*w.cos*w.sin
		}
	}
	all := float64(n)
	if n < 2 || all > widest*polarN || math.Hypot(c2, s2) < narrow*all || math.Hypot(c1, s1) > even*all {
		return 0, 0, false
	}
	sin, cos := math.Sincos(math.Atan2(s2, c2) / 2)
	var half []float64
	for k := range s.In {
		w := &rays[k]
		if along := w.cos*cos + w.sin*sin; s.Void[k] && !s.open(k) && math.Abs(along) > 0.5 && s.In[k] > outer*rim {
			half = append(half, s.In[k]*math.Abs(w.sin*cos-w.cos*sin))
		}
	}
	if len(half) < 4 {
		return 0, 0, false
	}
	slices.Sort(half)
	mid := half[len(half)/2]
	if half[len(half)/10] < (1-spread)*mid || half[len(half)*9/10] > (1+spread)*mid {
		return 0, 0, false
	}
	return 2 * mid, 2 * rim, true
}

// typeZ reports the notches by which a cross recess of type Z is told from one
// of type H: half way between the wings the wall steps back from the axis, where
// type H has the edge that comes nearest to it (ISO 4757, figures 1 and 2).
func (s *section) typeZ() bool {
	const (
		back  = 1.12            // of the wall beside it: the notches are some 0.28 m from the axis, that wall 0.2 m
		wing  = 0.85            // of the wings: more is a star of eight
		notch = polarN / 90     // rays to each side of the middle: 4 degrees
		far   = polarN * 2 / 18 // and where the wing begins: 40 degrees
	)
	var re, im, most float64
	for k, r := range s.In {
		if !s.Void[k] || s.open(k) {
			return false
		}
		w := &rays[4*k%polarN]
		re, im, most = re+r*w.cos, im+r*w.sin, max(most, r)
	}
	// Ray k stands at odd halves of the step, and 4 k names the ray at 4 times
	// its angle less 1.5 steps.
	first := (math.Atan2(im, re)*polarN/(2*math.Pi) + 1.5) / 4
	at := func(k int) float64 { return s.In[((k%polarN)+polarN)%polarN] }
	for q := range 4 {
		mid := int(math.Round(first - 0.5 + (float64(q)+0.5)*polarN/4))
		peak, left, right := 0.0, math.Inf(1), math.Inf(1)
		for d := range far {
			if d <= notch {
				peak = max(peak, at(mid-d), at(mid+d))
			}
			left, right = min(left, at(mid-d)), min(right, at(mid+d))
		}
		if peak < back*max(left, right) || peak > wing*most {
			return false
		}
	}
	return true
}

// aroundPin looks for a pin in the middle of a recess: a floor in a ring about
// the axis that is deeper than what a line along the axis meets. It gives the
// part without what lies within that ring, and the floor's height.
func (m *flat) aroundPin(headR float64) (*flat, float64, bool) {
	const (
		rings, spokes = 12, 12
		inner, outer  = 0.08, 0.6 // of the head's radius: where the ring may lie
		deeper        = 0.1       // of the head's radius
	)
	top, ok := m.floor()
	if !ok {
		return nil, 0, false
	}
	head := &flat{x: m.x, y: m.y, z: m.z, z0: m.z0, z1: m.z1, r: m.r}
	low := m.z1 - 2*headR
	for _, t := range m.tris { // floors are looked for in the head only
		if max(m.z[t[0]], m.z[t[1]], m.z[t[2]]) > low {
			head.tris = append(head.tris, t)
		}
	}
	floor, at := top-deeper*headR, 0.0
	for i := range rings {
		r := headR * (inner + (outer-inner)*float64(i)/(rings-1))
		if z, ok := head.floorAt(r, spokes); ok && z < floor {
			floor, at = z, r
		}
	}
	if at == 0 {
		return nil, 0, false
	}
	return m.beyond(at), floor, true
}

// floorAt is the highest wall that lines at a distance from the axis meet.
func (m *flat) floorAt(r float64, spokes int) (z float64, ok bool) {
	z = math.Inf(-1)
	for i := range spokes {
		w := &rays[(i*polarN/spokes+polarN/(2*spokes))%polarN]
		h, hit := m.down(r*w.cos, r*w.sin)
		if !hit {
			return 0, false
		}
		z = max(z, h)
	}
	return z, true
}

// beyond is the part without the triangles that lie within r of the axis.
func (m *flat) beyond(r float64) *flat {
	out := &flat{x: m.x, y: m.y, z: m.z, z0: m.z0, z1: m.z1, r: m.r}
	for _, t := range m.tris {
		for _, v := range t {
			if math.Hypot(m.x[v], m.y[v]) > r {
				out.tris = append(out.tris, t)
				break
			}
		}
	}
	return out
}
