package tess

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// gridLines are evenly spaced lines over a region's box, so that a surface
// patch between neighbouring lines is nearly flat.
type gridLines struct {
	lo, step mgl64.Vec2
	nx, ny   int
	scale    mgl64.Vec2 // makes a step 1 long, in both directions
	flat     bool       // nothing bends: no points needed inside
}

func (g gridLines) at(i, j int) mgl64.Vec2 {
	return mgl64.Vec2{g.lo[0] + float64(i)*g.step[0], g.lo[1] + float64(j)*g.step[1]}
}

// maxLines bounds the lines in one direction.
const maxLines = 400

// grid spaces the lines by the bend of the surface along 5 lines each way over
// the region's box.
func grid(r region, tol geom.Tolerance) gridLines {
	lo, hi := r.box()
	g := gridLines{lo: lo}
	size := hi.Sub(lo)
	var bend, length [2]float64
	for k := range 2 {
		bend[k], length[k] = r.c.along(k, lo, hi, tol)
	}
	if t := math.Sqrt(r.c.twist(lo, hi) / tol.Chord); t > 1 {
		bend[0], bend[1] = max(bend[0], t), max(bend[1], t)
	}
	g.flat = bend[0] == 0 && bend[1] == 0
	both := 1.0
	if bend[0] > 1 && bend[1] > 1 {
		both = math.Sqrt2
	}
	n := [2]int{1, 1}
	for k := range 2 {
		n[k] = max(1, min(maxLines, int(math.Ceil(both*bend[k]))))
		g.step[k] = size[k] / float64(n[k])
		g.scale[k] = 1
		switch {
		case !(size[k] > 0):
		case g.flat:
			g.scale[k] = length[k] / size[k]
		default:
			g.scale[k] = 1 / g.step[k]
		}
	}
	g.nx, g.ny = n[0], n[1]
	return g
}

// box is the box of all rings.
func (r *region) box() (lo, hi mgl64.Vec2) {
	inf := math.Inf(1)
	lo, hi = mgl64.Vec2{inf, inf}, mgl64.Vec2{-inf, -inf}
	for i := range r.rings {
		for _, n := range r.rings[i].nodes {
			for k := range 2 {
				lo[k], hi[k] = min(lo[k], n.at[k]), max(hi[k], n.at[k])
			}
		}
	}
	return lo, hi
}

// along looks at lines that run in direction k (0: x) and gives the number of
// steps that keep chord and angle, 0 for straight lines, and the greatest
// length, mm. A line's bend within the surface (circles round the axis on a
// helicoid) leaves no chord error, but triangles would fold over if it were
// left out: it may be twice the angle.
func (c *chart) along(k int, lo, hi mgl64.Vec2, tol geom.Tolerance) (steps, length float64) {
	const lines, pieces = 5, 16
	var p, n [2*pieces + 1]mgl64.Vec3
	for l := range lines {
		var at mgl64.Vec2
		at[1-k] = lo[1-k] + (hi[1-k]-lo[1-k])*(float64(l)+0.5)/lines
		for i := range p {
			at[k] = lo[k] + (hi[k]-lo[k])*float64(i)/float64(len(p)-1)
			p[i], n[i] = c.both(at)
		}
		off, turn, bend, long := 0.0, 0.0, 0.0, 0.0
		for i := 1; i < len(p); i += 2 {
			middle := p[i-1].Add(p[i+1]).Mul(0.5)
			off = max(off, math.Abs(p[i].Sub(middle).Dot(n[i])))
			turn = max(turn, between(n[i-1], n[i])+between(n[i], n[i+1]))
			bend = max(bend, between(p[i].Sub(p[i-1]), p[i+1].Sub(p[i])))
			long += p[i+1].Sub(p[i-1]).Len()
		}
		length = max(length, long)
		if off > 1e-9*long && off > 1e-7 { // mm: less is rounding
			steps = max(steps, pieces*math.Sqrt(off/tol.Chord), pieces*turn/tol.Angle)
		}
		if bend > 1e-6 {
			steps = max(steps, pieces*2*bend/(2*tol.Angle)) // bend is over half a piece's length
		}
	}
	return steps, length
}

// twist is how far the box's patch lies off the flat one through three of its
// corners in the middle of the fourth's diagonal, mm: a surface of straight
// lines both ways can still be a saddle.
func (c *chart) twist(lo, hi mgl64.Vec2) float64 {
	t := c.point(lo).Sub(c.point(mgl64.Vec2{lo[0], hi[1]})).Sub(c.point(mgl64.Vec2{hi[0], lo[1]})).Add(c.point(hi))
	d := math.Abs(t.Dot(c.normal(lo.Add(hi).Mul(0.5)))) / 4
	if math.IsNaN(d) || d < 1e-7 {
		return 0
	}
	return d
}

// snap puts nodes of the same vertex that all but coincide at exactly the same
// place: slits, and corners where loops touch.
func (g gridLines) snap(rings []ring) {
	var all []*node
	for i := range rings {
		for k := range rings[i].nodes {
			all = append(all, &rings[i].nodes[k])
		}
	}
	slices.SortStableFunc(all, func(a, b *node) int { return cmp.Compare(a.id, b.id) })
	for i, j := 0, 0; i < len(all); i = j {
		for j = i + 1; j < len(all) && all[j].id == all[i].id; j++ {
		}
		g.snapNodes(all[i:j])
	}
}

// snapNodes does so with the nodes of one vertex.
func (g gridLines) snapNodes(same []*node) {
	const near = 1e-6                  // of a step
	places := make([]mgl64.Vec2, 0, 8) // poles stand at many places; only the first are looked at
	for _, n := range same {
		found := false
		for _, p := range places {
			if d := p.Sub(n.at); math.Abs(d[0]*g.scale[0]) <= near && math.Abs(d[1]*g.scale[1]) <= near {
				n.at, found = p, true
				break
			}
		}
		if !found && len(places) < cap(places) {
			places = append(places, n.at)
		}
	}
}
