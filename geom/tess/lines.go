package tess

import (
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

// use is one use of an edge by a face's loop.
type use struct {
	face     int32
	reversed bool
}

// lines are the body's edges as the mesh has them, in their order.
func (w *work) lines() []mesh.EdgeLine {
	uses := make([][]use, len(w.body.Edges))
	for i := range w.body.Faces {
		for _, l := range w.body.Faces[i].Loops {
			for _, c := range l.Coedges {
				if w.body.HasEdge(c.Edge) {
					uses[c.Edge] = append(uses[c.Edge], use{int32(i), c.Reversed})
				}
			}
		}
	}
	out := make([]mesh.EdgeLine, len(w.body.Edges))
	for i := range out {
		out[i] = w.line(i, uses[i])
	}
	return out
}

// line measures the turn between an edge's first two faces. Faces[0] is the
// one that uses the edge forward, where one does.
func (w *work) line(i int, uses []use) mesh.EdgeLine {
	e := mesh.EdgeLine{Verts: slices.Clone(w.net.chain[i]), Faces: [2]int32{-1, -1}}
	if len(uses) == 0 {
		return e
	}
	a := uses[0]
	e.Faces[0] = a.face
	if len(uses) == 1 {
		return e
	}
	b := uses[1]
	if a.reversed && !b.reversed {
		a, b = b, a
	}
	e.Faces = [2]int32{a.face, b.face}
	if a.face == b.face {
		return e
	}
	guarded(func() { e.Turn, e.Convex = w.turnAlong(e.Verts, a, b) })
	return e
}

// turnAlong samples the angle between the outward normals of two faces along
// an edge. The edge is convex where n0 × n1 runs as the edge does in the face
// that n0 belongs to, with its material on the left.
func (w *work) turnAlong(chain []int32, a, b use) (turn float64, convex bool) {
	const samples = 8
	step := max(1, (len(chain)-1)/samples)
	var ha, hb surface.Hint
	for i := 0; i+1 < len(chain); i += step {
		p, q := w.net.pts[chain[i]], w.net.pts[chain[i+1]]
		at := p
		if len(chain) == 2 {
			at = p.Add(q).Mul(0.5)
		}
		var na, nb mgl64.Vec3
		na, ha = w.outwardNormal(a.face, at, ha)
		nb, hb = w.outwardNormal(b.face, at, hb)
		if t := between(na, nb); t > turn {
			turn = t
			convex = na.Cross(nb).Dot(q.Sub(p)) > 0 != a.reversed
		}
	}
	return turn, convex
}

// outwardNormal is the normal of face i as the mesh has it.
func (w *work) outwardNormal(i int32, p mgl64.Vec3, h surface.Hint) (mgl64.Vec3, surface.Hint) {
	f := &w.body.Faces[i]
	if f.Surface == nil {
		return mgl64.Vec3{}, h
	}
	u, v := f.Surface.Param(p, h)
	n := f.Surface.Normal(u, v)
	if f.SameSense == w.out[i].turned {
		n = n.Mul(-1)
	}
	return n, surface.Near(u, v)
}
