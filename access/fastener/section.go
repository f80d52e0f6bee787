package fastener

import (
	"math"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// polarN is the number of rays of a section: 0.5 degrees apart, so that a flat
// or a corner is met within 0.25 degrees (1e-5 of its radius).
const polarN = 720

// section is a cut across the axis seen from the axis: along each ray the
// first and the last wall.
type section struct {
	// In is the distance of the first wall, +Inf without any; Void says that
	// the ray came to it through free space (the wall faces the axis).
	In   [polarN]float64
	Void [polarN]bool
	// Out is the distance of the last wall, 0 without any.
	Out [polarN]float64
}

// flat is a mesh in the coordinates of an axis: x and y across, z along it.
type flat struct {
	x, y, z []float64
	tris    [][3]int32
	// z0 and z1 are the ends, r the greatest distance from the axis.
	z0, z1, r float64
	// free: nothing crosses the axis, so that it lies outside the part all along
	// and each ray comes to its first wall through free space. A first wall that
	// says otherwise is turned inside out, as those of turns drawn over each
	// other are.
	free bool
	// Once asked for: the outline, and the head and shank in it, if any.
	profile *profile
	shape   *silhouette
	shaped  bool
	cuts    map[float64]*section // made so far
}

// flatten turns the mesh so that frame.Z becomes z.
func flatten(m *mesh.Mesh, f geom.Frame) *flat {
	n := len(m.Vertices)
	out := &flat{x: make([]float64, n), y: make([]float64, n), z: make([]float64, n), tris: m.Triangles}
	out.z0, out.z1 = math.Inf(1), math.Inf(-1)
	used := make([]bool, n)
	for _, t := range m.Triangles {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	for i, v := range m.Vertices {
		p := f.Local(v)
		out.x[i], out.y[i], out.z[i] = p[0], p[1], p[2]
		if used[i] {
			out.z0, out.z1 = min(out.z0, p[2]), max(out.z1, p[2])
			out.r = max(out.r, math.Hypot(p[0], p[1]))
		}
	}
	return out
}

// maxCuts bounds the sections that are kept of a part, 12 kB each: its readers
// ask for the same heights again, one after another.
const maxCuts = 256

// cut gives the section at height z, which must not be changed. Corners at z
// itself count as above, so a plane at z is cut as if a hair lower.
func (m *flat) cut(z float64) *section {
	if s := m.cuts[z]; s != nil {
		return s
	}
	s := m.section(z)
	if m.cuts == nil {
		m.cuts = map[float64]*section{}
	}
	if len(m.cuts) < maxCuts {
		m.cuts[z] = s
	}
	return s
}

func (m *flat) section(z float64) *section {
	s := &section{}
	for k := range s.In {
		s.In[k] = math.Inf(1)
	}
	for _, t := range m.tris {
		a, b, c := t[0], t[1], t[2]
		ua, ub, uc := m.z[a] >= z, m.z[b] >= z, m.z[c] >= z
		switch { // b and c on one side, a on the other, kept in turning order
		case ua == ub && ub == uc:
			continue
		case ua == uc:
			a, b, c = b, c, a
		case ua == ub:
			a, b, c = c, a, b
		}
		x0, y0 := m.crossing(a, b, z)
		x1, y1 := m.crossing(a, c, z)
		if m.z[a] < z { // material to the left of 0 -> 1, seen from above
			x0, y0, x1, y1 = x1, y1, x0, y0
		}
		s.wall(x0, y0, x1, y1)
	}
	for k := range s.Void {
		s.Void[k] = s.Void[k] || m.free && !math.IsInf(s.In[k], 1)
	}
	return s
}

func (m *flat) crossing(a, b int32, z float64) (x, y float64) {
	t := (z - m.z[a]) / (m.z[b] - m.z[a])
	return m.x[a] + t*(m.x[b]-m.x[a]), m.y[a] + t*(m.y[b]-m.y[a])
}

// rays are the directions of a section.
var rays = func() (out [polarN]struct{ sin, cos float64 }) {
	for k := range out {
		out[k].sin, out[k].cos = math.Sincos((float64(k) + 0.5) * 2 * math.Pi / polarN)
	}
	return out
}()

// wall takes a piece of the contour, material on its left, into the rays that
// it crosses.
func (s *section) wall(x0, y0, x1, y1 float64) {
	turn := x0*y1 - x1*y0 // > 0: anticlockwise about the axis, so an outer wall
	if turn == 0 || math.IsNaN(turn) {
		return
	}
	t0, t1 := math.Atan2(y0, x0), math.Atan2(y1, x1)
	void := turn < 0
	if void {
		t0, t1 = t1, t0
	}
	if t1 < t0 {
		t1 += 2 * math.Pi
	}
	const step = 2 * math.Pi / polarN
	// Rays stand at odd halves of the step: no corner of a model drawn along
	// the frame's axes then falls on a ray.
	k0, k1 := int(math.Ceil(t0/step-0.5)), int(math.Floor(t1/step-0.5))
	for k := k0; k <= k1; k++ {
		i := ((k % polarN) + polarN) % polarN
		den := rays[i].cos*(y1-y0) - rays[i].sin*(x1-x0)
		if den == 0 {
			continue
		}
		r := turn / den // (x0 (y1-y0) - y0 (x1-x0)) / den
		if !(r >= 0) {
			continue
		}
		if r < s.In[i] {
			s.In[i], s.Void[i] = r, void
		}
		s.Out[i] = max(s.Out[i], r)
	}
}

// contour is what the rays of one kind of wall say together.
type contour struct {
	Min, Max float64 // mm, of the closed rays
	Open     float64 // share of rays without a wall
	Fold     int     // of the strongest symmetry: 0 round, else 2, 3, 4, 5, 6, 8, 12
	Amp      float64 // of that harmonic, relative to the mean radius
}

// read sums up radii; rays with ok false are open and count as cap mm.
func read(r *[polarN]float64, ok func(int) bool, limit float64) contour {
	c := contour{Min: math.Inf(1)}
	var v [polarN]float64
	sum, open := 0.0, 0
	for k := range v {
		v[k] = limit
		if ok(k) {
			v[k] = min(limit, r[k])
			c.Min, c.Max = min(c.Min, r[k]), max(c.Max, r[k])
		} else {
			open++
		}
		sum += v[k]
	}
	c.Open = float64(open) / polarN
	if mean := sum / polarN; mean > 0 {
		c.Fold, c.Amp = fold(&v, mean)
	}
	return c
}

// slipped is the share of rays that may pass between facets: a cut through a
// ring of corners, a crest or a valley, meets them on neither side. It is 1.5
// degrees, less than any slit.
const slipped = 3.0 / polarN

// roundAmp is the relative harmonic below which a contour is round. A hexagon
// has 0.057 in its sixth harmonic, a hexalobular socket 0.16; a facetted
// circle of 0.05 mm chord on 1 mm radius stays below 0.02.
const roundAmp = 0.03

// fold finds the strongest symmetry of a closed polar curve.
func fold(v *[polarN]float64, mean float64) (n int, amp float64) {
	for _, k := range [...]int{2, 3, 4, 5, 6, 8, 12} {
		var re, im float64
		for i, r := range v {
			// k times the angle of ray i, up to a turn of the whole curve
			w := &rays[k*i%polarN]
			re, im = re+r*w.cos, im+r*w.sin
		}
		if a := 2 * math.Hypot(re, im) / (polarN * mean); a > amp {
			n, amp = k, a
		}
	}
	if amp < roundAmp {
		return 0, amp
	}
	return n, amp
}

// inner reads the walls that face the axis, first of each ray; rays that start
// in material, or leave the part without a wall, are open.
func (s *section) inner(limit float64) contour {
	return read(&s.In, func(k int) bool { return s.Void[k] && !math.IsInf(s.In[k], 1) }, limit)
}

// outer reads the outside.
func (s *section) outer() contour {
	return read(&s.Out, func(k int) bool { return s.Out[k] > 0 }, math.Inf(1))
}

// dips lists the rays at which a closed polar curve falls below a level: one for
// each notch, tooth or wave.
func dips(r []float64, level float64) (at []int) {
	for k := range r {
		if r[k] < level && r[(k+len(r)-1)%len(r)] >= level {
			at = append(at, k)
		}
	}
	return at
}

// least is the radius, mm, within which the axis is free.
func (s *section) least() float64 {
	r := math.Inf(1)
	for _, in := range s.In {
		r = min(r, in)
	}
	return r
}

// hollow reports whether the axis itself is free at this height.
func (s *section) hollow() bool {
	n := 0
	for k := range s.In {
		if s.Void[k] || math.IsInf(s.In[k], 1) {
			n++
		}
	}
	return n > polarN/2
}
