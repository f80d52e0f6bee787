package tess

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// node is a place of the parameter plane and the mesh vertex that stands there:
// from 0 a point of the body's net, below 0 one of the face's own.
type node struct {
	at mgl64.Vec2
	id int32
}

// ring is a loop in the parameter plane, unwrapped: neighbours are near each
// other, and the way from the last node back to the first ends wind whole
// periods away from the first.
type ring struct {
	nodes []node
	wind  [2]int // turns in x and y
}

// unwrap lays a chain of net points into the plane, walking along it with each
// place as the hint for the next. At a pole x is free: the pole's line is
// walked in the sense that keeps the material on the left, by a whole turn
// where the chain leaves as it came.
func (f *faceWork) unwrap(c *chart, chain []int32, against bool) (ring, float64) {
	chain = f.startOffPole(c, chain)
	r := ring{nodes: make([]node, 0, len(chain)+2)}
	gap := 0.0
	var cur guess
	pole := polePass{}
	for k := range len(chain) + 1 { // the first comes again: its place tells the winding
		id := chain[k%len(chain)]
		p := f.w.net.pts[id]
		if at, side, ok := c.poleAt(p, f.poleTol); ok && cur.given {
			pole = polePass{on: true, side: side, at: at, id: id}
			continue
		}
		q := c.invert(p, cur)
		if pole.on {
			r.nodes = append(r.nodes, pole.nodes(c, cur.at, &q, against)...)
			pole.on = false
		}
		if k == len(chain) {
			r.close(q, c.period)
			break
		}
		gap = max(gap, c.point(q).Sub(p).Len())
		r.nodes = append(r.nodes, node{q, id})
		cur = guess{q, true}
	}
	r.dividePoles()
	return r, gap
}

// dividePoles puts a pole that a ring passes through at more places on its
// line: those across from the ring's other nodes, so that the straight lines of
// a cone stay sides.
func (r *ring) dividePoles() {
	if !r.passesPole() {
		return
	}
	var out []node
	for i, n := range r.nodes {
		out = append(out, n)
		m := r.nodes[(i+1)%len(r.nodes)]
		if i+1 == len(r.nodes) || m.id != n.id || m.at == n.at || len(r.nodes) > maxPolePlaces {
			continue
		}
		k := 0 // the coordinate that runs along the line
		if m.at[0] == n.at[0] {
			k = 1
		}
		for _, x := range r.between(k, n.at[k], m.at[k]) {
			p := n
			p.at[k] = x
			out = append(out, p)
		}
	}
	r.nodes = out
}

// passesPole reports two nodes of one vertex in a row.
func (r *ring) passesPole() bool {
	for i := 1; i < len(r.nodes); i++ {
		if r.nodes[i].id == r.nodes[i-1].id {
			return true
		}
	}
	return false
}

// between lists the coordinates k of the nodes that lie from a to b, in that
// order, a little apart from each other.
func (r *ring) between(k int, a, b float64) []float64 {
	var xs []float64
	for _, n := range r.nodes {
		if t := (n.at[k] - a) / (b - a); t > 1e-6 && t < 1-1e-6 {
			xs = append(xs, t)
		}
	}
	slices.Sort(xs)
	xs = slices.CompactFunc(xs, func(s, t float64) bool { return math.Abs(s-t) < 1e-6 })
	for i := range xs {
		xs[i] = a + (b-a)*xs[i]
	}
	return xs
}

// startOffPole turns the chain so that it does not start at a pole.
func (f *faceWork) startOffPole(c *chart, chain []int32) []int32 {
	for k, id := range chain {
		if _, _, ok := c.poleAt(f.w.net.pts[id], f.poleTol); !ok {
			if k == 0 {
				return chain
			}
			return slices.Concat(chain[k:], chain[:k])
		}
	}
	return chain
}

// polePass is a pole met on the way along a chain.
type polePass struct {
	on, side bool
	at       float64
	id       int32
}

// nodes are the two ends of the pole's line between a, before it, and b, after
// it; b is shifted to where the line arrives.
func (p polePass) nodes(c *chart, a mgl64.Vec2, b *mgl64.Vec2, against bool) []node {
	k := 0 // which coordinate runs along the line
	if p.side {
		k = 1
	}
	line := nearTo(p.at, a[1-k], c.period[1-k])
	if period := c.period[k]; period > 0 {
		b[k] = a[k] + poleTurn(b[k]-a[k], period, p.backward(a[1-k] < line) != against)
	}
	b[1-k] = nearTo(b[1-k], line, c.period[1-k])
	from, to := a, *b
	from[1-k], to[1-k] = line, line
	return []node{{from, p.id}, {to, p.id}}
}

// backward is the sense along the pole's line with the material on the left:
// a line y = at is walked towards -x when the material is below it, a line
// x = at towards +y when the material is on its left.
func (p polePass) backward(below bool) bool { return below != p.side }

// poleTurn brings d to (0, period], or [-period, 0) when backward; what is 0
// within rounding is a whole turn.
func poleTurn(d, period float64, backward bool) float64 {
	const none = 1e-6 // of a period
	d -= period * math.Floor(d/period)
	if d <= none*period {
		d += period
	}
	if backward {
		if d -= period; d >= -none*period {
			d -= period
		}
	}
	return d
}

// close notes the winding: q is the first node's place as found at the end.
func (r *ring) close(q mgl64.Vec2, period mgl64.Vec2) {
	for k := range 2 {
		if period[k] > 0 && len(r.nodes) > 0 {
			r.wind[k] = int(math.Round((q[k] - r.nodes[0].at[k]) / period[k]))
		}
	}
}

// area is the signed area inside the ring, positive when anticlockwise. It
// means nothing for a ring that winds.
func (r *ring) area() float64 {
	s := 0.0
	if len(r.nodes) == 0 {
		return 0
	}
	o := r.nodes[0].at
	for i := range r.nodes {
		a, b := r.nodes[i].at.Sub(o), r.nodes[(i+1)%len(r.nodes)].at.Sub(o)
		s += a[0]*b[1] - a[1]*b[0]
	}
	return s / 2
}

// mean is the middle of the nodes.
func (r *ring) mean() mgl64.Vec2 {
	var s mgl64.Vec2
	for _, n := range r.nodes {
		s = s.Add(n.at)
	}
	return s.Mul(1 / float64(max(1, len(r.nodes))))
}

// shift moves the ring by d.
func (r *ring) shift(d mgl64.Vec2) {
	for i := range r.nodes {
		r.nodes[i].at = r.nodes[i].at.Add(d)
	}
}

// turn is the ring in the plane turned a quarter clockwise: (x, y) to (y, -x).
func (r *ring) turn() ring {
	t := ring{wind: [2]int{r.wind[1], -r.wind[0]}}
	for _, n := range r.nodes {
		t.nodes = append(t.nodes, node{mgl64.Vec2{n.at[1], -n.at[0]}, n.id})
	}
	return t
}

// leaning is the ring on the chart that leans by as many turns.
func (r *ring) leaning(c *chart, turns int) ring {
	l := ring{wind: [2]int{r.wind[0], r.wind[1] - turns*r.wind[0]}, nodes: slices.Clone(r.nodes)}
	for i := range l.nodes {
		l.nodes[i].at[1] -= c.lean * l.nodes[i].at[0]
	}
	return l
}

// contains reports whether p lies inside the ring: how often a ray to the
// right crosses it.
func (r *ring) contains(p mgl64.Vec2) bool {
	in := false
	for i := range r.nodes {
		a, b := r.nodes[i].at, r.nodes[(i+1)%len(r.nodes)].at
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in
}
