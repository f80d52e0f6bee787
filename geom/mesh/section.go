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
	c := m.cutTriangles(h)
	var loops [][]mgl64.Vec3
	for i := range c.all {
		if l := m.traceLoop(h, &c, c.all[i].from); len(l) >= 3 {
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

// piece is the cut of one triangle: from the crossing at which its border
// goes down to the one at which it comes up again. In that sense the material,
// which lies behind the triangle, is on the left.
type piece struct {
	from, to crossing
	other    int32 // another piece from the same crossing, -1 for none
}

// cut is the pieces of all triangles, in their order, and for each crossing
// the last one that starts there.
type cut struct {
	all  []piece
	from map[crossing]int32
}

func (m *Mesh) cutTriangles(h []float64) cut {
	c := cut{from: map[crossing]int32{}}
	for i := range m.Triangles {
		t := &m.Triangles[i]
		up0, up1, up2 := h[t[0]] >= 0, h[t[1]] >= 0, h[t[2]] >= 0
		if up0 == up1 && up1 == up2 {
			continue
		}
		s := piece{other: -1}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			switch {
			case h[a] >= 0 && h[b] < 0:
				s.from = crossing{b, a}
			case h[a] < 0 && h[b] >= 0:
				s.to = crossing{a, b}
			}
		}
		if o, ok := c.from[s.from]; ok { // where a body touches itself along an edge
			s.other = o
		}
		c.from[s.from] = int32(len(c.all))
		c.all = append(c.all, s)
	}
	return c
}

// next takes out a piece that starts at a crossing.
func (c *cut) next(at crossing) (to crossing, ok bool) {
	i, ok := c.from[at]
	if !ok {
		return to, false
	}
	if c.all[i].other < 0 {
		delete(c.from, at)
	} else {
		c.from[at] = c.all[i].other
	}
	return c.all[i].to, true
}

// traceLoop follows pieces from start and takes them out. It returns nil if
// none starts there any more or the chain does not come back to it.
func (m *Mesh) traceLoop(h []float64, c *cut, start crossing) []mgl64.Vec3 {
	var pts []mgl64.Vec3
	for at := start; ; {
		to, ok := c.next(at)
		if !ok {
			return nil
		}
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
