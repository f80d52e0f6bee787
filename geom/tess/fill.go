package tess

import (
	"errors"
	"math"
	"sync"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/mesh"
	"stepscan/geom/tess/cdt"
)

// Bounds on triangles: refining a face stops at its share of what a body may
// have, but each face may have some thousands.
const (
	maxFaceTriangles  = 1 << 18
	leastFaceShare    = 1 << 12
	maxBodyTriangles  = 1 << 23
	pointsPerTriangle = 0.5 // of a large triangulation
)

// faceLimit is the number of points at which refining a face stops.
func faceLimit(faces int) int {
	share := maxBodyTriangles / max(1, faces)
	return int(pointsPerTriangle * float64(max(leastFaceShare, min(maxFaceTriangles, share))))
}

var (
	errEmpty = errors.New("face has no area")
	errTwin  = errors.New("two corners lie at the same place")
)

// filler triangulates a region and refines it.
type filler struct {
	f     *faceWork
	c     *chart
	t     cdt.T
	scale mgl64.Vec2 // from the parameter plane to the plane of the triangulation
	// By vertex of the triangulation: place, number in the mesh, point, and the
	// surface's normal once it was asked for.
	uv     []mgl64.Vec2
	id     []int32
	p      []mgl64.Vec3
	normal []vertexNormal
	limit  int        // points at which refining stops
	extra  [][3]int32 // triangles without area that close sides with a corner on them
	sides  mesh.Sides // inside the face, those that have been measured
	off    []float64  // by side: see offSide
	border []mgl64.Vec2
	add    []wish
}

// wish is a triangle that breaks the tolerance: where a point would serve best,
// and its corners.
type wish struct {
	at mgl64.Vec2
	of [3]int32
}

type vertexNormal struct {
	n     mgl64.Vec3
	known bool
}

// fillers keep their memory from face to face.
var fillers = sync.Pool{New: func() any { return new(filler) }}

// reset makes m ready for a face.
func (m *filler) reset(f *faceWork, c *chart, scale mgl64.Vec2) {
	m.f, m.c, m.scale, m.limit = f, c, scale, faceLimit(len(f.w.body.Faces))
	m.uv, m.id, m.p, m.normal = m.uv[:0], m.id[:0], m.p[:0], m.normal[:0]
	m.extra, m.off, m.border = m.extra[:0], m.off[:0], m.border[:0]
	m.sides.Reset(0)
}

// fill triangulates the region; its triangles turn anticlockwise.
func (f *faceWork) fill(r region) ([][3]int32, error) {
	g := grid(r, f.w.tol)
	m := fillers.Get().(*filler)
	defer func() {
		m.f, m.c = nil, nil
		fillers.Put(m)
	}()
	m.reset(f, r.c, g.scale)
	g.snap(r.rings)
	for i := range r.rings {
		for _, n := range r.rings[i].nodes {
			m.uv, m.id, m.p = append(m.uv, n.at), append(m.id, n.id), append(m.p, f.at(n.id))
			m.border = append(m.border, m.scaled(n.at))
		}
	}
	if err := m.t.Reset(m.border); err != nil {
		return nil, err
	}
	if err := m.constrain(r); err != nil {
		return nil, err
	}
	m.t.Mark()
	m.addGrid(g)
	m.refine(g)
	return m.triangles()
}

func (m *filler) scaled(p mgl64.Vec2) mgl64.Vec2 {
	return mgl64.Vec2{p[0] * m.scale[0], p[1] * m.scale[1]}
}

// constrain fixes the rings' sides.
func (m *filler) constrain(r region) error {
	first := 0
	for i := range r.rings {
		n := len(r.rings[i].nodes)
		for k := range n {
			a, b := int32(first+k), int32(first+(k+1)%n)
			sa, sb := m.t.Same(a), m.t.Same(b)
			if m.id[sa] != m.id[a] || m.id[sb] != m.id[b] {
				return errTwin
			}
			through, err := m.t.Constrain(sa, sb)
			if err != nil {
				return err
			}
			m.closeSide(sa, sb, through)
		}
		first += n
	}
	return nil
}

// closeSide adds triangles without area between a side and the corners that
// lie exactly on it, so that the side stays whole for the neighbour.
func (m *filler) closeSide(a, b int32, through []int32) {
	for i := len(through) - 1; i >= 0; i-- {
		m.extra = append(m.extra, [3]int32{m.id[a], m.id[b], m.id[through[i]]})
		b = through[i]
	}
}

// triangles gives the mesh vertex numbers; triangles that are a line in space,
// at poles, drop out.
func (m *filler) triangles() ([][3]int32, error) {
	all := m.t.Triangles()
	out := append(make([][3]int32, 0, len(m.extra)+len(all)), m.extra...)
	for _, t := range all {
		ids := [3]int32{m.id[t[0]], m.id[t[1]], m.id[t[2]]}
		if ids[0] != ids[1] && ids[1] != ids[2] && ids[2] != ids[0] {
			out = append(out, ids)
		}
	}
	if len(out) == 0 {
		return nil, errEmpty
	}
	return out, nil
}

// insert adds a point of the surface at a place inside.
func (m *filler) insert(at mgl64.Vec2, clear, clearSide float64) bool {
	if m.t.Len() > m.limit {
		return false
	}
	p := m.scaled(at)
	_, ok := m.t.Insert(p, func(c [3]int32, fixed [3]bool) bool {
		for k := range 3 {
			if m.t.Point(c[k]).Sub(p).Len() < clear {
				return false
			}
			if !fixed[k] {
				continue
			}
			a, b := c[(k+1)%3], c[(k+2)%3]
			if offSegment(m.t.Point(a), m.t.Point(b), p) < clearSide {
				return false
			}
			if q, n := m.c.both(at); foldedOver(m.p[a], m.p[b], q, n) {
				return false
			}
		}
		return true
	})
	if ok {
		q := m.c.point(at)
		m.uv, m.p, m.id = append(m.uv, at), append(m.p, q), append(m.id, m.f.own(q))
	}
	return ok
}

// offSegment is the distance of p from the segment from a to b.
func offSegment(a, b, p mgl64.Vec2) float64 {
	d, e := b.Sub(a), p.Sub(a)
	t := 0.0
	if l := d.LenSqr(); l > 0 {
		t = max(0, min(1, e.Dot(d)/l))
	}
	return e.Sub(d.Mul(t)).Len()
}

// addGrid puts points on the grid's lines inside the region, not too near its
// border.
func (m *filler) addGrid(g gridLines) {
	const clear, clearSide = 0.45, 0.25 // of a grid step
	if g.nx < 1 || g.ny < 1 || g.nx == 1 && g.ny == 1 {
		return
	}
	for j := range g.ny + 1 {
		for i := range g.nx + 1 {
			m.insert(g.at(i, j), clear, clearSide)
		}
	}
}

// refine adds points in the middle of sides and triangles that are too far off
// the surface, until none is or the bounds are reached.
func (m *filler) refine(g gridLines) {
	if g.flat {
		return
	}
	const passes = 12
	for range passes {
		m.add = m.add[:0]
		m.t.Fresh(func(t [3]int32, fixed [3]bool) bool {
			q, bad := m.worst(t, fixed)
			if bad {
				m.add = append(m.add, wish{q, t})
			}
			return !bad
		})
		n := 0
		for _, w := range m.add {
			if m.insert(w.at, 0.02, 0.01) {
				n++
			}
		}
		for i := 0; n == 0 && i < len(m.add); i++ { // only once nothing else helps
			if w := m.add[i]; m.tooHigh(w) && m.insert(m.middle(w.of), 0.02, 0.01) {
				n++
			}
		}
		if n == 0 {
			return
		}
	}
}

// tooHigh reports that the middle of a side whose division was refused is truly
// farther from the surface than the chord, at the foot of its perpendicular. So it
// is beside a border from which the surface bends away at once; the middle of the
// triangle may do there.
func (m *filler) tooHigh(w wish) bool {
	for k := range 3 {
		a, b := w.of[k], w.of[(k+1)%3]
		if m.uv[a].Add(m.uv[b]).Mul(0.5) == w.at {
			p := m.p[a].Add(m.p[b]).Mul(0.5)
			return m.c.point(m.c.invert(p, guess{w.at, true})).Sub(p).Len() > m.f.w.tol.Chord
		}
	}
	return false
}

// worst finds where a triangle leaves the surface most: at the middle of a side
// that may be divided, or at its own middle; bad when that breaks the
// tolerance.
func (m *filler) worst(t [3]int32, fixed [3]bool) (at mgl64.Vec2, bad bool) {
	most := 1.0
	for k := range 3 {
		a, b := t[(k+1)%3], t[(k+2)%3]
		if fixed[k] {
			continue
		}
		if off := m.offSide(a, b); off > most {
			most, at, bad = off, m.uv[a].Add(m.uv[b]).Mul(0.5), true
		}
	}
	mid := m.middle(t)
	p, n := m.c.both(mid)
	if off := offPlane(m.p[t[0]], m.p[t[1]], m.p[t[2]], p) / m.f.w.tol.Chord; off > most {
		at, bad = mid, true
	}
	// A triangle that turns its back to the surface's outside, or nearly stands
	// on edge: where the surface's lines bend within it, its straight sides can
	// cut across its neighbours. At the border more points make it worse.
	if !bad && fixed == [3]bool{} && foldedOver(m.p[t[0]], m.p[t[1]], m.p[t[2]], n) {
		return m.longest(t, fixed)
	}
	return at, bad
}

// middle is the place in the middle of a triangle.
func (m *filler) middle(t [3]int32) mgl64.Vec2 {
	return m.uv[t[0]].Add(m.uv[t[1]]).Add(m.uv[t[2]]).Mul(1.0 / 3)
}

// offSide is by how many times the tolerance the side from a to b breaks it,
// measured once for both of its triangles: the height over its middle, or, for
// sides longer than half a step, the turn of the normal. Shorter ones may turn
// as they must.
func (m *filler) offSide(a, b int32) float64 {
	i, fresh := m.sides.AddEdge(a, b)
	if !fresh {
		return m.off[i]
	}
	tol := m.f.w.tol
	off := m.c.above(m.uv[a].Add(m.uv[b]).Mul(0.5), m.p[a].Add(m.p[b]).Mul(0.5)) / tol.Chord
	if m.t.Point(a).Sub(m.t.Point(b)).Len() > 0.5 {
		off = max(off, between(m.normalAt(a), m.normalAt(b))/(1.5*tol.Angle))
	}
	m.off = append(m.off, off)
	return off
}

// normalAt is the surface's normal at a vertex.
func (m *filler) normalAt(v int32) mgl64.Vec3 {
	for len(m.normal) < len(m.uv) {
		m.normal = append(m.normal, vertexNormal{})
	}
	n := &m.normal[v]
	if !n.known {
		*n = vertexNormal{m.c.normal(m.uv[v]), true}
	}
	return n.n
}

// foldedOver reports that the triangle a, b, c stands by more than 72 degrees
// (cosine 0.3) off the normal.
func foldedOver(a, b, c, normal mgl64.Vec3) bool {
	n := b.Sub(a).Cross(c.Sub(a))
	return n.Dot(normal) < 0.3*n.Len()
}

// longest is the middle of a triangle's longest side that may be divided.
func (m *filler) longest(t [3]int32, fixed [3]bool) (at mgl64.Vec2, found bool) {
	most := 0.0
	for k := range 3 {
		a, b := t[(k+1)%3], t[(k+2)%3]
		if l := m.p[a].Sub(m.p[b]).Len(); !fixed[k] && l > most {
			most, at, found = l, m.uv[a].Add(m.uv[b]).Mul(0.5), true
		}
	}
	return at, found
}

// offPlane is how far p is from the plane through a, b, c; 0 where these are no
// triangle.
func offPlane(a, b, c, p mgl64.Vec3) float64 {
	n := b.Sub(a).Cross(c.Sub(a))
	l := n.Len()
	if l == 0 {
		return 0
	}
	return math.Abs(p.Sub(a).Dot(n)) / l
}
