package bvh

import "math"

// outline bounds shadows by their extent along six directions between u and
// v: with the two of the box, a polygon of sixteen sides. Boxes alone part
// little in the plane of the shadow: the cap of a turned part is made of long
// slivers, whose boxes all overlap each other and those of the bore around,
// while a polygon of sixteen sides about a disc is only 2 % wider than it.
type outline struct {
	lo, hi  [6]float32
	upright bool // the triangles all stand edge-on
}

// eighth is the tangent of 22.5 degrees, by which the directions turn.
const eighth = math.Sqrt2 - 1

// outlinePad covers the rounding of a corner's extents and that to float32,
// relative to them: half a unit in the last place is 6e-8.
const outlinePad = 1.5e-7

func emptyOutline() outline {
	inf := float32(math.Inf(1))
	return outline{
		lo:      [6]float32{inf, inf, inf, inf, inf, inf},
		hi:      [6]float32{-inf, -inf, -inf, -inf, -inf, -inf},
		upright: true,
	}
}

// growBy takes in a triangle.
func (o *outline) growBy(s *shadow) {
	o.upright = o.upright && s.edgeOn
	t := &s.t
	o.extend(0, t[0]+t[1], t[3]+t[4], t[6]+t[7])
	o.extend(1, t[0]-t[1], t[3]-t[4], t[6]-t[7])
	o.extend(2, t[0]+eighth*t[1], t[3]+eighth*t[4], t[6]+eighth*t[7])
	o.extend(3, t[0]-eighth*t[1], t[3]-eighth*t[4], t[6]-eighth*t[7])
	o.extend(4, eighth*t[0]+t[1], eighth*t[3]+t[4], eighth*t[6]+t[7])
	o.extend(5, eighth*t[0]-t[1], eighth*t[3]-t[4], eighth*t[6]-t[7])
}

func (o *outline) extend(i int, a, b, c float64) {
	lo, hi := ends(a, b, c)
	pad := outlinePad * max(hi, -lo)
	o.lo[i] = min(o.lo[i], float32(lo-pad))
	o.hi[i] = max(o.hi[i], float32(hi+pad))
}

func (o *outline) grow(p *outline) {
	o.upright = o.upright && p.upright
	for i := range 6 {
		if p.lo[i] < o.lo[i] {
			o.lo[i] = p.lo[i]
		}
		if p.hi[i] > o.hi[i] {
			o.hi[i] = p.hi[i]
		}
	}
}

// apart reports that the shadows do not overlap.
func (o *outline) apart(p *outline) bool {
	return o.lo[0] > p.hi[0] || p.lo[0] > o.hi[0] || o.lo[1] > p.hi[1] || p.lo[1] > o.hi[1] ||
		o.lo[2] > p.hi[2] || p.lo[2] > o.hi[2] || o.lo[3] > p.hi[3] || p.lo[3] > o.hi[3] ||
		o.lo[4] > p.hi[4] || p.lo[4] > o.hi[4] || o.lo[5] > p.hi[5] || p.lo[5] > o.hi[5]
}

// outlines are those of all nodes of a tree in sweep coordinates, about the
// triangles that look along h (sense 1), against it (-1), or all (0).
func (t *Tree) outlines(sense float64) []outline {
	out := make([]outline, len(t.nodes))
	for i := len(t.nodes) - 1; i >= 0; i-- { // children first
		n, o := &t.nodes[i], &out[i]
		*o = emptyOutline()
		if n.count == 0 {
			o.grow(&out[n.first])
			o.grow(&out[n.first+1])
			continue
		}
		for k := n.first; k < n.first+n.count; k++ {
			var c shadow
			if c.set(t.at(k)); !c.looksAway(sense) {
				o.growBy(&c)
			}
		}
	}
	return out
}
