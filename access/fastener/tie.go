package fastener

import (
	"fmt"
	"math"

	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// A cable tie is a strap of even section, some two to six times as wide as it
// is thick, with a block at one end that the other end goes through. Makes are
// 2 to 13 mm wide (common practice).
const (
	strapWideMin, strapWideMax = 1.6, 14.0 // mm
	strapFlatMin, strapFlatMax = 1.4, 8.0  // width over thickness
	headMin, headMax           = 1.2, 3.2  // sides of the head over the strap's width
	greatestTie                = 120.0     // mm from the axis of the bundle to the strap's end
)

func isStrap(wide, thick float64) bool {
	return wide >= strapWideMin && wide <= strapWideMax && wide >= strapFlatMin*thick && wide <= strapFlatMax*thick
}

// spread is what points reach in three directions, mm.
type spread struct{ lo, hi [3]float64 }

func noSpread() spread {
	inf := math.Inf(1)
	return spread{lo: [3]float64{inf, inf, inf}, hi: [3]float64{-inf, -inf, -inf}}
}

func (b *spread) take(p [3]float64) {
	for k, v := range p {
		b.lo[k], b.hi[k] = min(b.lo[k], v), max(b.hi[k], v)
	}
}

func (b *spread) size(k int) float64 { return max(0, b.hi[k]-b.lo[k]) }

// closedTie reads a strap that is closed to a ring: its end stands out of the
// block that it went through.
func (m *flat) closedTie(f geom.Frame, feat *feature.Part) (specimen, bool) {
	a := geom.Axis{O: f.O, D: f.Z}
	out := widestArc(feat.Inside(a, 0.05, 1.5*math.Pi))
	in := widestArc(feat.Around(a, 0.05, 1.5*math.Pi))
	wide, thick := out.Z1-out.Z0, out.R-in.R
	if in.R == 0 || !(thick > 0) || thick > 0.25*in.R || !isStrap(wide, thick) || m.r < out.R+1.5*thick {
		return specimen{}, false
	}
	block, tail, ok := m.standsOut(out, thick)
	if !ok || !near(0.5*(block.lo[2]+block.hi[2]), 0.5*(out.Z0+out.Z1), 0, 0.5*wide) {
		return specimen{}, false
	}
	head := block.size(2) >= 1.15*wide && block.size(2) <= headMax*wide && block.size(1) >= headMin*thick && block.size(1) <= headMax*wide
	strap := near(tail.size(2), wide, 0.25, 0) && tail.size(1) <= 1.8*thick && tail.size(1) >= 0.4*thick
	if !head || !strap {
		return specimen{}, false
	}
	s := tie(wide, thick)
	s.Nominal, s.Bore = 2*in.R, 2*in.R
	s.Evidence = append(s.Evidence, fmt.Sprintf("it is closed to a ring of Ø%s, its end stands out of a block of %s × %s mm", trim(2*in.R), trim(block.size(1)), trim(block.size(2))))
	s.atBlock(m, f, block)
	return s, true
}

func tie(wide, thick float64) specimen {
	s := specimen{}
	s.Kind, s.Drive, s.Confidence = CableTie, NoDrive, 0.75
	s.Evidence = []string{fmt.Sprintf("a strap %s mm wide and %s mm thick", trim(wide), trim(thick))}
	return s
}

// atBlock puts the meeting point on the block, where the strap is cut: the tie
// leaves to that side. Its axis runs from the ring's through the block.
func (s *specimen) atBlock(m *flat, f geom.Frame, block spread) {
	mid := m.mean(func(x, y float64) bool { return math.Hypot(x, y) >= block.lo[0] })
	d := f.X.Mul(mid[0]).Add(f.Y.Mul(mid[1]))
	d, ok := geom.Unit(d)
	if !ok {
		d = f.X
	}
	o := f.Point([3]float64{0, 0, 0.5 * (block.lo[2] + block.hi[2])})
	s.Axis = geom.Axis{O: o.Add(d.Mul(m.r)), D: d}
	s.Point = s.Axis.O
	lo := 0.0
	for _, t := range m.tris {
		for _, v := range t {
			lo = min(lo, s.Axis.Height(f.Point([3]float64{m.x[v], m.y[v], m.z[v]})))
		}
	}
	s.Back, s.Front = lo, 0
	s.Length = math.Round(10*(s.Front-s.Back)) / 10
}

// mean is the mean of the corners that are asked for.
func (m *flat) mean(of func(x, y float64) bool) (c [2]float64) {
	n := 0.0
	for _, t := range m.tris {
		for _, v := range t {
			if of(m.x[v], m.y[v]) {
				c[0], c[1], n = c[0]+m.x[v], c[1]+m.y[v], n+1
			}
		}
	}
	if n > 0 {
		c[0], c[1] = c[0]/n, c[1]/n
	}
	return c
}

// standsOut reads what stands out of the ring: the block, and the strap's end
// beyond it. Directions: from the axis, across, along it. False where it
// stands out on more than one side.
func (m *flat) standsOut(ring feature.Segment, thick float64) (block, tail spread, ok bool) {
	c := m.mean(func(x, y float64) bool { return math.Hypot(x, y) > ring.R+0.5*thick })
	l := math.Hypot(c[0], c[1])
	if l < 0.7*ring.R {
		return block, tail, false
	}
	ex, ey := c[0]/l, c[1]/l
	block, tail = noSpread(), noSpread()
	for _, t := range m.tris {
		for _, v := range t {
			r := math.Hypot(m.x[v], m.y[v])
			p := [3]float64{m.x[v]*ex + m.y[v]*ey, m.y[v]*ex - m.x[v]*ey, m.z[v]}
			higher := m.z[v] > ring.Z1+0.02 || m.z[v] < ring.Z0-0.02
			if r <= ring.R+0.02 && !higher {
				continue
			}
			if p[0] < 0.6*ring.R {
				return block, tail, false
			}
			if p[0] > ring.R+0.6*(m.r-ring.R) {
				tail.take(p)
			} else {
				block.take(p)
			}
		}
	}
	return block, tail, block.size(1) > 0 && tail.size(1) > 0
}

// straightTie reads a strap as it comes.
func straightTie(p *product.Part, feat *feature.Part) (specimen, bool) {
	f, ok := plateFrame(p, feat)
	if !ok {
		return specimen{}, false
	}
	m := flatten(p.Mesh, f)
	l := m.z1 - m.z0
	st, ok := m.strap()
	if !ok || l < 8*st.wide || l > greatestL {
		return specimen{}, false
	}
	if st.headLow { // turn it: the head up
		m, f = m.turned(), upsideDown(f)
	}
	if !m.headWindow(p, f, st) {
		return specimen{}, false
	}
	s := tie(st.wide, st.thick)
	s.Nominal, s.Length = st.wide, math.Round(10*l)/10
	s.place(f, m, m.z1)
	s.Evidence = append(s.Evidence, "a block at one end has a window that it goes through")
	return s, true
}

// plateFrame has z along the part's longest edge direction and x across its
// largest flat.
func plateFrame(p *product.Part, feat *feature.Part) (geom.Frame, bool) {
	var flat, side *feature.Face
	for i := range feat.Faces {
		if f := &feat.Faces[i]; f.Kind == feature.Plane && (flat == nil || f.Area > 1.001*flat.Area) {
			flat = f
		}
	}
	for i := range feat.Faces {
		f := &feat.Faces[i]
		if f.Kind == feature.Plane && flat != nil && math.Abs(f.Axis.D.Dot(flat.Axis.D)) < 1e-3 && (side == nil || f.Area > 1.001*side.Area) {
			side = f
		}
	}
	if side == nil {
		return geom.Frame{}, false
	}
	f, err := geom.NewFrame(p.Centroid, flat.Axis.D.Cross(side.Axis.D), flat.Axis.D)
	return f, err == nil
}

// strapShape is a strap along z, thin in x.
type strapShape struct {
	thick, wide float64
	midX, midY  float64
	headLow     bool
	headFrom    float64 // height, with the head up
}

// strap cuts the part along z and looks for an even section over most of it,
// and for a block at one end.
func (m *flat) strap() (st strapShape, ok bool) {
	const cuts = 60
	var at [cuts]spread
	m.spreads(at[:])
	mid := at[cuts/2]
	st.thick, st.wide = mid.size(0), mid.size(1)
	st.midX, st.midY = 0.5*(mid.lo[0]+mid.hi[0]), 0.5*(mid.lo[1]+mid.hi[1])
	if !(st.thick > 0) || !isStrap(st.wide, st.thick) {
		return st, false
	}
	even := 0
	block := func(b *spread) bool {
		return b.size(1) >= headMin*st.wide && b.size(1) <= headMax*st.wide && b.size(0) >= 1.4*st.thick
	}
	for i := range at {
		if near(at[i].size(0), st.thick, 0.06, 0) && near(at[i].size(1), st.wide, 0.06, 0) {
			even++
		}
	}
	low, high := 0, 0
	for low < cuts && block(&at[low]) {
		low++
	}
	for high < cuts && block(&at[cuts-1-high]) {
		high++
	}
	st.headLow = low > high
	n := max(low, high)
	step := (m.z1 - m.z0) / cuts
	l := float64(n) * step
	st.headFrom = m.z1 - l
	if st.headLow {
		st.headFrom = -(m.z0 + l)
		st.midY = -st.midY // the frame is turned about x
	}
	return st, even >= cuts*6/10 && min(low, high) == 0 && n > 0 && l < 5*st.wide
}

// spreads measures the part in equal steps along z, at their middles.
func (m *flat) spreads(at []spread) {
	for i := range at {
		at[i] = noSpread()
	}
	n := float64(len(at))
	h := (m.z1 - m.z0) / n
	for _, t := range m.tris {
		for k := range t {
			a, b := t[k], t[(k+1)%3]
			if m.z[a] > m.z[b] {
				a, b = b, a
			}
			i0 := max(0, int(math.Ceil((m.z[a]-m.z0)/h-0.5)))
			for i := i0; i < len(at); i++ {
				z := m.z0 + (float64(i)+0.5)*h
				if z >= m.z[b] {
					break
				}
				x, y := m.crossing(a, b, z)
				at[i].take([3]float64{x, y, z})
			}
		}
	}
}

// headWindow reports a hole across the head, along x, that the strap goes through: as
// wide as the strap over its whole length, and little longer than the strap is
// thick. A bore for a shaft is round, or square and narrower than its lever.
func (m *flat) headWindow(p *product.Part, f geom.Frame, st strapShape) bool {
	through, err := geom.NewFrame(f.O, f.X, f.Z) // x is z of before, y is -y
	if err != nil {
		return false
	}
	w := flatten(p.Mesh, through)
	const steps = 80
	step := (m.z1 - st.headFrom) / steps
	// longest is how far along the head it is open at all of these shares of the width.
	longest := func(shares ...float64) (best float64) {
		free := 0.0
		for i := range steps {
			free += step
			for _, side := range shares {
				if _, hit := w.down(st.headFrom+(float64(i)+0.5)*step, -st.midY+side*st.wide); hit {
					free = 0
				}
			}
			best = max(best, free)
		}
		return best
	}
	_, closed := w.down(m.z1-0.5*step, -st.midY)
	whole, middle := longest(-0.47, 0, 0.47), longest(0)
	return closed && whole >= 0.9*st.thick && middle <= 1.3*whole && middle <= 2.5*st.thick
}
