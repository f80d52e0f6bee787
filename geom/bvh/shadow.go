package bvh

import "math"

const (
	// shadowTol, mm: an overlap of shadows that is narrower only slides. It
	// lies far above the rounding of coordinates (1e-11 at 10 m) and far below
	// any accuracy of a mesh.
	shadowTol = 1e-7
	// touchTol, mm: gaps below it are touching.
	touchTol = 1e-7
)

// shadow is a triangle in sweep coordinates (u, v, h a corner) with what its
// projection along h tells.
type shadow struct {
	t      [9]float64
	box    [6]float64
	area   float64 // twice the signed area of the shadow, positive where it looks along h
	edgeOn bool    // the shadow is a line
	gu, gv float64 // slopes of h; 0 where edge-on
}

func (s *shadow) set(t *[9]float64) {
	s.t = *t
	s.box = triangleBounds(t)
	s.edgeOn, s.gu, s.gv = false, 0, 0
	s.look()
}

// looksAway reports a triangle that does not look along h (sense 1) or against
// it (-1); none does for sense 0.
func (s *shadow) looksAway(sense float64) bool {
	return s.area*sense < 0 || s.edgeOn && sense != 0
}

// beside reports that an edge of s has all of the shadow of o outside, a cheap
// way to see that nothing overlaps.
func (s *shadow) beside(o *shadow) bool {
	if s.edgeOn {
		return false
	}
	t, q := &s.t, &o.t
	for k, l := 6, 0; l < 9; k, l = l, l+3 {
		eu, ev := t[l]-t[k], t[l+1]-t[k+1]
		if s.area < 0 {
			eu, ev = -eu, -ev
		}
		c := eu*t[k+1] - ev*t[k]
		if eu*q[1]-ev*q[0] <= c && eu*q[4]-ev*q[3] <= c && eu*q[7]-ev*q[6] <= c {
			return true
		}
	}
	return false
}

// shadowArea is twice the signed area of a triangle's shadow.
func shadowArea(t *[9]float64) float64 {
	return (t[3]-t[0])*(t[7]-t[1]) - (t[4]-t[1])*(t[6]-t[0])
}

func (s *shadow) look() {
	t := &s.t
	eu, ev, eh := t[3]-t[0], t[4]-t[1], t[5]-t[2]
	fu, fv, fh := t[6]-t[0], t[7]-t[1], t[8]-t[2]
	s.area = shadowArea(t)
	long := max(s.box[3]-s.box[0], s.box[4]-s.box[1])
	if math.Abs(s.area) <= shadowTol*long {
		s.edgeOn = true
		return
	}
	s.gu = (eh*fv - fh*ev) / s.area
	s.gv = (fh*eu - eh*fu) / s.area
}

// height is the plane's h above (u, v), kept within the triangle's: outside
// are only roundings, much enlarged where the triangle is steep.
func (s *shadow) height(u, v float64) float64 {
	h := s.t[2] + s.gu*(u-s.t[0]) + s.gv*(v-s.t[1])
	return min(max(h, s.box[2]), s.box[5])
}

// gaps is the range of the gap from a to b along h over the overlap of their
// shadows, with the places on b of both ends.
type gaps struct {
	any      bool
	lo, hi   float64
	at, atHi spot
}

func (g *gaps) add(u, v, ha, hb float64) {
	gap := hb - ha
	if !g.any {
		g.any, g.lo, g.hi = true, gap, gap
		g.at = spot{u, v, hb}
		g.atHi = g.at
		return
	}
	if gap < g.lo {
		g.lo, g.at = gap, spot{u, v, hb}
	}
	if gap > g.hi {
		g.hi, g.atHi = gap, spot{u, v, hb}
	}
}

// atZero is a place where the gap is zero, between both ends.
func (g *gaps) atZero() spot {
	f := -g.lo / (g.hi - g.lo)
	a, b := &g.at, &g.atHi
	return spot{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y), a.h + f*(b.h-a.h)}
}

// gapOver is the range of the gap from a to b. The pairs (point of a, point of
// b) with one shadow form a convex set, so every gap between the extremes
// occurs.
func gapOver(a, b *shadow) gaps {
	var g gaps
	switch {
	case a.edgeOn && b.edgeOn:
	case b.edgeOn:
		for i, j := 6, 0; j < 9; i, j = j, j+3 {
			if u0, v0, h0, u1, v1, h1, ok := edgeOver(b, i, j, a); ok {
				g.add(u0, v0, a.height(u0, v0), h0)
				g.add(u1, v1, a.height(u1, v1), h1)
			}
		}
	case a.edgeOn:
		for i, j := 6, 0; j < 9; i, j = j, j+3 {
			if u0, v0, h0, u1, v1, h1, ok := edgeOver(a, i, j, b); ok {
				g.add(u0, v0, h0, b.height(u0, v0))
				g.add(u1, v1, h1, b.height(u1, v1))
			}
		}
	default:
		overlap(a, b, &g)
	}
	return g
}

// edgeOver cuts the edge of s between the corners at i and j to the part whose
// shadow lies deeper than the tolerance within that of f.
func edgeOver(s *shadow, i, j int, f *shadow) (u0, v0, h0, u1, v1, h1 float64, ok bool) {
	pu, pv, ph := s.t[i], s.t[i+1], s.t[i+2]
	du, dv, dh := s.t[j]-pu, s.t[j+1]-pv, s.t[j+2]-ph
	from, to := 0.0, 1.0
	for k, l := 6, 0; l < 9; k, l = l, l+3 {
		eu, ev := f.t[l]-f.t[k], f.t[l+1]-f.t[k+1]
		if f.area < 0 {
			eu, ev = -eu, -ev
		}
		// Depth inside the edge's line, times the edge's length.
		depth := eu*(pv-f.t[k+1]) - ev*(pu-f.t[k]) - shadowTol*math.Sqrt(eu*eu+ev*ev)
		slope := eu*dv - ev*du
		switch {
		case slope > 0:
			from = max(from, -depth/slope)
		case slope < 0:
			to = min(to, -depth/slope)
		case !(depth > 0):
			return
		}
	}
	if !((to-from)*(math.Abs(du)+math.Abs(dv)) > shadowTol) {
		return
	}
	return pu + from*du, pv + from*dv, ph + from*dh, pu + to*du, pv + to*dv, ph + to*dh, true
}

// overlap cuts a's shadow by the sides of b's and measures the gap at the
// corners of what is left.
func overlap(a, b *shadow, g *gaps) {
	var one, two region
	for i := 0; i < 9; i += 3 {
		one.push(a.t[i], a.t[i+1], a.t[i+2])
	}
	p, q := &one, &two
	for k, l := 6, 0; l < 9; k, l = l, l+3 {
		eu, ev := b.t[l]-b.t[k], b.t[l+1]-b.t[k+1]
		if b.area < 0 {
			eu, ev = -eu, -ev
		}
		if p.within(b.t[k], b.t[k+1], eu, ev, q); q.n < 3 {
			return
		}
		p, q = q, p
	}
	if !p.wide() {
		return
	}
	for i := range p.n {
		c := &p.v[i&7]
		g.add(c.x, c.y, c.h, b.height(c.x, c.y))
	}
}

// region is a convex polygon of at most six corners: a triangle cut by three
// lines. Two more places spare the bounds checks.
type region struct {
	v [8]spot
	n int
}

func (r *region) push(u, v, h float64) {
	r.v[r.n&7] = spot{u, v, h}
	r.n++
}

// within puts into out what lies to the left of the line through (pu, pv)
// along (eu, ev).
func (r *region) within(pu, pv, eu, ev float64, out *region) {
	out.n = 0
	if r.n == 0 {
		return
	}
	a := &r.v[(r.n-1)&7]
	da := eu*(a.y-pv) - ev*(a.x-pu)
	for i := range r.n {
		b := &r.v[i&7]
		db := eu*(b.y-pv) - ev*(b.x-pu)
		if da > 0 && db < 0 || da < 0 && db > 0 {
			f := da / (da - db)
			out.push(a.x+f*(b.x-a.x), a.y+f*(b.y-a.y), a.h+f*(b.h-a.h))
		}
		if db >= 0 {
			out.push(b.x, b.y, b.h)
		}
		a, da = b, db
	}
	if out.n > 7 { // rounding made a corner too many; cannot happen to a convex region
		out.n = 7
	}
}

// wide reports that the region is wider than what only slides.
func (r *region) wide() bool {
	o := &r.v[0]
	area, long := 0.0, 0.0
	for i := 1; i < r.n; i++ {
		b := &r.v[i&7]
		long = max(long, math.Abs(b.x-o.x), math.Abs(b.y-o.y))
		if i > 1 {
			a := &r.v[(i-1)&7]
			area += (a.x-o.x)*(b.y-o.y) - (a.y-o.y)*(b.x-o.x)
		}
	}
	return math.Abs(area) > shadowTol*long
}
