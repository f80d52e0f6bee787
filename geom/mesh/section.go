package mesh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Section cuts the mesh by the plane through plane.O normal to plane.D and
// returns the closed loops of the cut. Seen against the plane's normal (D
// towards the eye) they run anticlockwise round material and clockwise round
// holes. Vertices on the plane count as above it: a face that lies in the plane
// is cut as if the plane were the least bit lower, so that the loops of a
// closed mesh always close. Of an open mesh the chains that end are left out.
func (m *Mesh) Section(plane geom.Axis) [][]mgl64.Vec3 {
	h := m.heights(plane)
	next, order := m.cutTriangles(h)
	var loops [][]mgl64.Vec3
	for _, start := range order {
		if l := m.traceLoop(h, next, start); len(l) >= 3 {
			loops = append(loops, l)
		}
	}
	return loops
}

func (m *Mesh) heights(plane geom.Axis) []float64 {
	h := make([]float64, len(m.Vertices))
	o, d := plane.O, plane.D
	for i := range m.Vertices {
		p := &m.Vertices[i]
		h[i] = (p[0]-o[0])*d[0] + (p[1]-o[1])*d[1] + (p[2]-o[2])*d[2]
	}
	return h
}

// crossing is a mesh edge that the plane cuts, from the end below to the end
// above.
type crossing struct{ low, high int32 }

// cutTriangles finds, for each crossing at which a triangle's border goes down,
// the one at which it comes up again: in that sense the material, which lies
// behind the triangle, is on the left. order lists the crossings in the order
// of the triangles.
func (m *Mesh) cutTriangles(h []float64) (next map[crossing]crossing, order []crossing) {
	next = map[crossing]crossing{}
	for i := range m.Triangles {
		t := &m.Triangles[i]
		up0, up1, up2 := h[t[0]] >= 0, h[t[1]] >= 0, h[t[2]] >= 0
		if up0 == up1 && up1 == up2 {
			continue
		}
		var down, up crossing
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			switch {
			case h[a] >= 0 && h[b] < 0:
				down = crossing{b, a}
			case h[a] < 0 && h[b] >= 0:
				up = crossing{a, b}
			}
		}
		if _, twice := next[down]; !twice { // a third triangle at an edge: the first wins
			next[down] = up
			order = append(order, down)
		}
	}
	return next, order
}

// traceLoop follows crossings from start and takes them out of next. It
// returns nil if start is gone already or the chain does not come back to it.
func (m *Mesh) traceLoop(h []float64, next map[crossing]crossing, start crossing) []mgl64.Vec3 {
	var pts []mgl64.Vec3
	for at := start; ; {
		to, ok := next[at]
		if !ok {
			return nil
		}
		delete(next, at)
		pts = append(pts, m.cutPoint(h, at))
		if at = to; at == start {
			return withoutStraight(pts)
		}
	}
}

// cutPoint is where the plane meets an edge: always computed from the lower
// end, so that both triangles get the same point.
func (m *Mesh) cutPoint(h []float64, c crossing) mgl64.Vec3 {
	a, b := m.Vertices[c.low], m.Vertices[c.high]
	t := h[c.low] / (h[c.low] - h[c.high])
	if !(t < 1) { // the upper end is on the plane
		return b
	}
	return a.Add(b.Sub(a).Mul(t))
}

// withoutStraight drops points that repeat their neighbour or lie within 1e-9
// of the way between their neighbours, relative to its length: sides of
// triangles of one flat face.
func withoutStraight(pts []mgl64.Vec3) []mgl64.Vec3 {
	out := pts[:0:0]
	for _, p := range pts {
		for len(out) >= 2 && needless(out[len(out)-2], out[len(out)-1], p) {
			out = out[:len(out)-1]
		}
		if len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	for len(out) >= 3 && needless(out[len(out)-2], out[len(out)-1], out[0]) {
		out = out[:len(out)-1]
	}
	for len(out) >= 3 && needless(out[len(out)-1], out[0], out[1]) {
		out = out[1:]
	}
	return out
}

func needless(a, b, c mgl64.Vec3) bool {
	u, v := b.Sub(a), c.Sub(b)
	lu, lv := u.Len(), v.Len()
	w := u.Cross(v).Len()
	return lv == 0 || lu == 0 || w <= 1e-9*math.Max(lu, lv)*(lu+lv) && u.Dot(v) > 0
}
