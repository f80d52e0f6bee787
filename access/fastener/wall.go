package fastener

import (
	"math"
	"slices"
)

// open reports that ray k leaves the part without meeting a wall.
func (s *section) open(k int) bool { return math.IsInf(s.In[k], 1) }

// line is the line through the axis along which rays lie.
type line struct {
	n         int     // how many rays
	cos, sin  float64 // its direction
	coherence float64 // 0 to 1: how near to it they are
	lean      float64 // 0 to 1: how much more to one side than to the other
}

// line sums up the rays that which names.
func (s *section) line(which func(int) bool) (l line) {
	var c1, s1, c2, s2 float64
	for k := range rays {
		if which(k) {
			w := &rays[k]
			l.n++
			c1, s1 = c1+w.cos, s1+w.sin
			c2, s2 = c2+w.cos*w.cos-w.sin*w.sin, s2+2*w.cos*w.sin // of the doubled angle
		}
	}
	if l.n > 0 {
		l.coherence, l.lean = math.Hypot(c2, s2)/float64(l.n), math.Hypot(c1, s1)/float64(l.n)
		l.sin, l.cos = math.Sincos(math.Atan2(s2, c2) / 2)
	}
	return l
}

// across is the ray at right angles to the line.
func (l *line) across() int {
	k := int(math.Floor((math.Atan2(l.sin, l.cos)/(2*math.Pi) + 0.25) * polarN))
	return ((k % polarN) + polarN) % polarN
}

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
	l := s.line(s.open)
	if l.n < 2 || float64(l.n) > widest*polarN || l.coherence < narrow || l.lean > even {
		return 0, 0, false
	}
	rim := slices.Max(s.Out[:])
	var half []float64
	for range 2 { // the openings give the direction to a ray's step, the walls do better
		var flanks [2][2]flank
		half = half[:0]
		for k := range s.In {
			w := &rays[k]
			along, across := s.In[k]*(w.cos*l.cos+w.sin*l.sin), s.In[k]*(w.sin*l.cos-w.cos*l.sin)
			if s.Void[k] && !s.open(k) && s.In[k] > outer*rim && math.Abs(along) > math.Abs(across) {
				half = append(half, math.Abs(across))
				flanks[side(along)][side(across)].add(along, across)
			}
		}
		if !l.square(&flanks) {
			return 0, 0, false
		}
	}
	slices.Sort(half)
	mid := half[len(half)/2]
	if half[len(half)/10] < (1-spread)*mid || half[len(half)*9/10] > (1+spread)*mid {
		return 0, 0, false
	}
	return 2 * mid, 2 * rim, true
}

// flank sums up points of one wall of a slot at one end.
type flank struct{ n, along, across float64 }

func (f *flank) add(along, across float64) {
	f.n, f.along, f.across = f.n+1, f.along+along, f.across+across
}

func side(v float64) int {
	if v < 0 {
		return 1
	}
	return 0
}

// square turns the line so that both walls are equally far from it at each end;
// false where a wall is missing.
func (l *line) square(flanks *[2][2]flank) bool {
	turn := 0.0
	for _, end := range flanks {
		a, b := end[0], end[1]
		if a.n == 0 || b.n == 0 {
			return false
		}
		turn += 0.5 * (a.across/a.n + b.across/b.n) / (a.along/a.n + b.along/b.n)
	}
	sin, cos := math.Sincos(turn)
	l.sin, l.cos = l.sin*cos+l.cos*sin, l.cos*cos-l.sin*sin
	return true
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
		if z, ok := head.floorAt(r, spokes, floor); ok {
			floor, at = z, r
		}
	}
	if at == 0 {
		return nil, 0, false
	}
	return m.beyond(at), floor, true
}

// floorAt is the highest wall that lines at a distance from the axis meet, where
// all of them meet one below a height.
func (m *flat) floorAt(r float64, spokes int, below float64) (z float64, ok bool) {
	z = math.Inf(-1)
	for i := range spokes {
		w := &rays[(i*polarN/spokes+polarN/(2*spokes))%polarN]
		h, hit := m.down(r*w.cos, r*w.sin)
		if !hit || !(h < below) {
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
