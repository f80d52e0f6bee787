package tess

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// Why a face's loops bound no region.
var (
	errUnbounded = errors.New("face has no bounds and its surface does not close")
	errWinding   = errors.New("loops wind round the surface in a way that bounds nothing")
	errNoCut     = errors.New("no cut from one side of the face to the other misses its holes")
)

// region is what is left to triangulate: closed rings in one plane; inside is
// what an odd number of them surround.
type region struct {
	c     *chart
	rings []ring
}

// region arranges unwrapped rings: loops that wind round the surface are
// joined by a cut, a face of the closed surface gets the surface's own bounds,
// and all are shifted by whole periods to lie together.
func (f *faceWork) region(c *chart, rings []ring) (region, error) {
	c, rings = straightened(c, rings)
	flat, wound, axis, err := sortRings(rings)
	if err != nil {
		return region{}, err
	}
	if axis == 1 {
		c = c.turn()
		for _, list := range [][]ring{flat, wound} {
			for i := range list {
				list[i] = list[i].turn()
			}
		}
	}
	if len(wound) > 0 {
		return f.band(c, wound, flat)
	}
	total := 0.0
	for i := range flat {
		total += flat[i].area()
	}
	if len(flat) == 0 || total < 0 {
		if r, err := f.whole(c, flat); err == nil {
			return r, nil
		} else if len(flat) == 0 {
			return region{}, err
		}
	}
	return together(c, flat), nil
}

// sortRings parts the rings that wind from those that do not. All that wind
// must do so once, along the same axis.
func sortRings(rings []ring) (flat, wound []ring, axis int, err error) {
	for _, r := range rings {
		switch a, b := abs(r.wind[0]), abs(r.wind[1]); {
		case len(r.nodes) == 0:
		case a == 0 && b == 0:
			flat = append(flat, r)
		case a+b == 1:
			if len(wound) > 0 && axis != b {
				return nil, nil, 0, errWinding
			}
			axis = b
			wound = append(wound, r)
		default:
			return nil, nil, 0, errWinding
		}
	}
	return flat, wound, axis, nil
}

func abs(i int) int { return max(i, -i) }

// together shifts all rings by whole periods to where most of the greatest one
// is, which is the outside whatever the file says.
func together(c *chart, rings []ring) region {
	outer := greatest(rings)
	for i := range rings {
		if i != outer {
			moveInto(c, &rings[outer], &rings[i])
		}
	}
	return region{c, rings}
}

// greatest is the ring of the greatest area.
func greatest(rings []ring) int {
	best, most := 0, -1.0
	for i := range rings {
		if a := math.Abs(rings[i].area()); a > most {
			best, most = i, a
		}
	}
	return best
}

// moveInto shifts r by the whole periods that put it inside outer, if any do.
func moveInto(c *chart, outer, r *ring) {
	d := outer.mean().Sub(r.mean())
	var k [2]float64
	for i, p := range c.period {
		if p > 0 {
			k[i] = math.Round(d[i] / p)
		}
	}
	for _, dy := range [...]float64{0, 1, -1} {
		for _, dx := range [...]float64{0, 1, -1, 2, -2} {
			if dx != 0 && c.period[0] == 0 || dy != 0 && c.period[1] == 0 {
				continue
			}
			s := mgl64.Vec2{(k[0] + dx) * c.period[0], (k[1] + dy) * c.period[1]}
			if in, all := countInside(outer, r, s); 2*in > all {
				r.shift(s)
				return
			}
		}
	}
	r.shift(mgl64.Vec2{k[0] * c.period[0], k[1] * c.period[1]})
}

// countInside counts how many of r's nodes, shifted by s, lie in outer; a few
// are enough, as rings do not cross.
func countInside(outer, r *ring, s mgl64.Vec2) (in, all int) {
	step := max(1, len(r.nodes)/7)
	for i := 0; i < len(r.nodes); i += step {
		all++
		if outer.contains(r.nodes[i].at.Add(s)) {
			in++
		}
	}
	return in, all
}

// band is a face between two loops that wind once round, in opposite senses,
// or between one such loop and a pole.
func (f *faceWork) band(c *chart, wound, holes []ring) (region, error) {
	if len(wound) > 2 {
		return f.bands(c, wound, holes)
	}
	lower, upper, err := f.sidesOf(c, wound)
	if err != nil {
		return region{}, err
	}
	if p := c.period[1]; p > 0 { // on a torus the upper one is within a turn above
		d := upper.mean()[1] - lower.mean()[1]
		upper.shift(mgl64.Vec2{0, -p * math.Floor(d/p)})
	}
	return f.open(c, lower, upper, holes)
}

// sidesOf finds the ring that runs with x, above which the material lies, and
// the one that runs back. A missing one is the pole on its side.
func (f *faceWork) sidesOf(c *chart, wound []ring) (lower, upper ring, err error) {
	if len(wound) > 2 || len(wound) == 2 && wound[0].wind[0] == wound[1].wind[0] {
		return lower, upper, errWinding
	}
	for _, r := range wound {
		if r.wind[0] > 0 {
			lower = r
		} else {
			upper = r
		}
	}
	if len(wound) == 2 {
		return lower, upper, nil
	}
	if lower.nodes != nil {
		if p, ok := c.nextPole(lower.mean()[1], 1); ok {
			return lower, f.poleRing(c, p, -1, &lower), nil
		}
	} else if p, ok := c.nextPole(upper.mean()[1], -1); ok {
		return f.poleRing(c, p, 1, &upper), upper, nil
	}
	return lower, upper, errWinding
}

// nextPole is the nearest pole above y (sign 1) or below it (-1).
func (c *chart) nextPole(y float64, sign float64) (pole, bool) {
	best, found := pole{}, false
	for _, p := range c.poles {
		if q := c.period[1]; q > 0 {
			p.at = y + sign*(sign*(p.at-y)-q*math.Floor(sign*(p.at-y)/q))
		}
		if d := sign * (p.at - y); d > 0 && (!found || d < sign*(best.at-y)) {
			best, found = p, true
		}
	}
	return best, found
}

// poleRing is a pole's line as a ring of one vertex at several places, running
// with x (sign 1) or against it. The places are those of the ring across, so
// that the straight lines of a cone stay sides.
func (f *faceWork) poleRing(c *chart, p pole, sign float64, across *ring) ring {
	const places = 18 // 20 degrees each
	id := f.own(p.p)
	r := ring{wind: [2]int{int(sign), 0}}
	if across != nil && len(across.nodes) <= maxPolePlaces {
		for i := len(across.nodes) - 1; i >= 0; i-- {
			r.nodes = append(r.nodes, node{mgl64.Vec2{across.nodes[i].at[0], p.at}, id})
		}
		return r.inOrder(c.period[0])
	}
	for k := range places {
		r.nodes = append(r.nodes, node{mgl64.Vec2{sign * c.period[0] * float64(k) / places, p.at}, id})
	}
	return r
}

// maxPolePlaces bounds the places at which one pole stands.
const maxPolePlaces = 400

// inOrder sorts the places of a pole's ring into one turn in its sense.
func (r ring) inOrder(period float64) ring {
	x0 := r.nodes[0].at[0]
	sign := float64(r.wind[0])
	for i := range r.nodes {
		d := sign * (r.nodes[i].at[0] - x0)
		r.nodes[i].at[0] = x0 + sign*(d-period*math.Floor(d/period))
	}
	slices.SortStableFunc(r.nodes, func(a, b node) int { return cmp.Compare(sign*a.at[0], sign*b.at[0]) })
	r.nodes = slices.CompactFunc(r.nodes, func(a, b node) bool { return math.Abs(a.at[0]-b.at[0]) < 1e-6*period })
	return r
}

// whole is the closed surface, with holes: from pole to pole, or round both
// ways.
func (f *faceWork) whole(c *chart, holes []ring) (region, error) {
	for range 2 {
		if c.period[0] > 0 && len(c.poles) >= 2 {
			south, north := c.poles[0], c.poles[len(c.poles)-1]
			if south.at > north.at {
				south, north = north, south
			}
			if p := c.period[1]; p > 2*(north.at-south.at) {
				// A torus that meets itself: the longer way round the tube is its
				// outside, the shorter one the lemon within.
				south, north = pole{north.at - p, north.p}, south
			}
			return f.open(c, f.poleRing(c, south, 1, nil), f.poleRing(c, north, -1, nil), holes)
		}
		if c.period[0] > 0 && c.period[1] > 0 {
			return f.openTwice(c, holes)
		}
		if c.turned {
			break
		}
		c = c.turn()
		holes = mapRings(holes, (*ring).turn)
	}
	return region{}, errUnbounded
}

// open cuts the band between lower and upper along a way from a node to a node,
// which becomes boundary on both sides.
func (f *faceWork) open(c *chart, lower, upper ring, holes []ring) (region, error) {
	walls := append([]ring{lower, upper}, holes...)
	w, ok := c.straightWay(&lower, &upper, walls)
	if !ok {
		if w, ok = c.wayRound(&lower, &upper, holes, walls); !ok {
			return region{}, errNoCut
		}
	}
	r := region{c, append([]ring{f.unroll(c, lower, upper, w)}, holes...)}
	for i := 1; i < len(r.rings); i++ {
		moveInto(c, &r.rings[0], &r.rings[i])
	}
	return r, nil
}

// hits reports whether the way from a to b meets a ring, seen at all whole
// periods around, elsewhere than at its own ends.
func (c *chart) hits(rings []ring, a, b mgl64.Vec2) bool {
	for i := range rings {
		n := rings[i].nodes
		for k := range n {
			p, q := n[k].at, n[(k+1)%len(n)].at
			if k+1 == len(n) {
				q[0] += float64(rings[i].wind[0]) * c.period[0]
			}
			if c.period[1] == 0 && (max(p[1], q[1]) < min(a[1], b[1]) || min(p[1], q[1]) > max(a[1], b[1])) {
				continue
			}
			base := nearTo(p[0], a[0], c.period[0]) - p[0]
			for _, s := range [...]float64{-1, 0, 1} {
				d := mgl64.Vec2{base + s*c.period[0], 0}
				for _, y := range c.turnsOfY(p[1], a[1]) {
					d[1] = y
					if segmentsMeet(a, b, p.Add(d), q.Add(d)) {
						return true
					}
				}
			}
		}
	}
	return false
}

func (c *chart) turnsOfY(y, near float64) []float64 {
	if p := c.period[1]; p > 0 {
		base := nearTo(y, near, p) - y
		return []float64{base - p, base, base + p}
	}
	return []float64{0}
}

// segmentsMeet reports whether two segments meet elsewhere than at a common
// end.
func segmentsMeet(a, b, p, q mgl64.Vec2) bool {
	const tiny = 1e-9
	same := func(s, t mgl64.Vec2) bool { return s.Sub(t).Len() <= tiny*(1+s.Len()) }
	if same(a, p) || same(a, q) || same(b, p) || same(b, q) {
		return false
	}
	side := func(s, t, r mgl64.Vec2) float64 { return (t[0]-s[0])*(r[1]-s[1]) - (t[1]-s[1])*(r[0]-s[0]) }
	return side(a, b, p)*side(a, b, q) <= 0 && side(p, q, a)*side(p, q, b) <= 0
}

// unroll makes one closed ring of a band: the lower ring from the cut all
// round, up the cut, the upper ring all round, down the cut.
func (f *faceWork) unroll(c *chart, lower, upper ring, w way) ring {
	turn := mgl64.Vec2{c.period[0], 0}
	low := from(&lower, w.i, turn)
	upper.shift(mgl64.Vec2{w.x + c.period[0] - upper.nodes[w.j].at[0], 0})
	up := from(&upper, w.j, turn.Mul(-1))
	cut := f.cutAlong(c, low[0], w.via, up[len(up)-1])
	r := ring{nodes: low}
	for _, n := range cut {
		r.nodes = append(r.nodes, node{n.at.Add(turn), n.id})
	}
	r.nodes = append(r.nodes, up...)
	for i := len(cut) - 1; i >= 0; i-- {
		r.nodes = append(r.nodes, cut[i])
	}
	return r
}

// cutAlong lists the nodes between a and b on the way through via, with points
// of the face's own where the surface bends.
func (f *faceWork) cutAlong(c *chart, a node, via []stop, b node) []node {
	var cut []node
	for _, s := range append(slices.Clone(via), stop{node: b}) {
		if a.id != s.id && !s.onWall {
			for _, p := range c.divide(a.at, s.at, f.w.tol) {
				cut = append(cut, node{p, f.own(c.point(p))})
			}
		}
		cut = append(cut, s.node)
		a = s.node
	}
	return cut[:len(cut)-1]
}

// from lists the ring's nodes from node i all round to node i again, which is
// then a turn further.
func from(r *ring, i int, turn mgl64.Vec2) []node {
	n := len(r.nodes)
	out := make([]node, 0, n+1)
	for k := range n + 1 {
		q := r.nodes[(i+k)%n]
		if i+k >= n {
			q.at = q.at.Add(turn)
		}
		out = append(out, q)
	}
	return out
}

// openTwice cuts a surface that closes both ways along two lines that miss the
// holes.
func (f *faceWork) openTwice(c *chart, holes []ring) (region, error) {
	const tries = 8
	for k := range tries * tries {
		o := mgl64.Vec2{c.period[0] * float64(k%tries) / tries, c.period[1] * float64(k/tries) / tries}
		x, y := mgl64.Vec2{o[0] + c.period[0], o[1]}, mgl64.Vec2{o[0], o[1] + c.period[1]}
		if len(holes) > 0 && (c.hits(holes, o, x) || c.hits(holes, o, y)) {
			continue
		}
		r := region{c, append([]ring{f.square(c, o, x, y)}, holes...)}
		for i := 1; i < len(r.rings); i++ {
			moveInto(c, &r.rings[0], &r.rings[i])
		}
		return r, nil
	}
	return region{}, errNoCut
}

// square is the whole parameter plane of a surface closed both ways, as a ring
// whose opposite sides are the same vertices.
func (f *faceWork) square(c *chart, o, x, y mgl64.Vec2) ring {
	corner := f.own(c.point(o))
	side := func(to mgl64.Vec2) []node {
		n := []node{{o, corner}}
		for _, p := range c.divide(o, to, f.w.tol) {
			n = append(n, node{p, f.own(c.point(p))})
		}
		return append(n, node{to, corner})
	}
	alongX, alongY := side(x), side(y)
	dx, dy := x.Sub(o), y.Sub(o)
	var r ring
	add := func(n node, d mgl64.Vec2) { r.nodes = append(r.nodes, node{n.at.Add(d), n.id}) }
	for _, n := range alongX[:len(alongX)-1] {
		add(n, mgl64.Vec2{})
	}
	for _, n := range alongY[:len(alongY)-1] {
		add(n, dx)
	}
	for i := len(alongX) - 1; i > 0; i-- {
		add(alongX[i], dy)
	}
	for i := len(alongY) - 1; i > 0; i-- {
		add(alongY[i], mgl64.Vec2{})
	}
	return r
}
