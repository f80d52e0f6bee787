package step

import (
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/step/p21"
)

// coedge reads ORIENTED_EDGE(name, *, *, edge, orientation); an oriented edge
// round another one composes.
func (b *bodyReader) coedge(id p21.ID) (brep.Coedge, error) {
	reversed := false
	for range maxChain {
		rec, err := b.r.open(id, "ORIENTED_EDGE", "SEAM_EDGE", "EDGE_CURVE")
		if err != nil {
			return brep.Coedge{}, err
		}
		if rec.Is("EDGE_CURVE") {
			e, err := b.edge(rec)
			return brep.Coedge{Edge: e, Reversed: reversed}, err
		}
		p := rec.Params()
		if id = p.Ref(3); !p.Bool(4) {
			reversed = !reversed
		}
		if p.Err() != nil {
			return brep.Coedge{}, p.Err()
		}
	}
	return brep.Coedge{}, errDeep
}

// edge reads EDGE_CURVE(name, start, end, curve, same_sense) once.
func (b *bodyReader) edge(rec p21.Record) (brep.EdgeIndex, error) {
	if e, ok := b.edges[rec.ID()]; ok {
		return e.edge, e.err
	}
	e, err := b.newEdge(rec)
	res := edgeResult{err: err}
	if err == nil {
		res.edge = b.addEdge(e)
	}
	b.edges[rec.ID()] = res
	return res.edge, err
}

func (b *bodyReader) addEdge(e brep.Edge) brep.EdgeIndex {
	b.body.Edges = append(b.body.Edges, e)
	return brep.EdgeIndex(len(b.body.Edges) - 1)
}

func (b *bodyReader) newEdge(rec p21.Record) (brep.Edge, error) {
	p := rec.Params()
	k := 1
	var err error
	e := brep.Edge{Tag: brep.Tag(rec.ID())}
	from, to, geo, same := p.Ref(k), p.Ref(k+1), p.Ref(k+2), p.Bool(k+3)
	if p.Err() != nil {
		return e, p.Err()
	}
	if e.Start, err = b.vertex(from); err != nil {
		return e, err
	}
	if e.End, err = b.vertex(to); err != nil {
		return e, err
	}
	c, back, err := b.edgeCurve(geo, b.body.Vertices[e.Start].P, b.body.Vertices[e.End].P)
	e.Curve, e.SameSense = c, same != back
	return e, err
}

// edgeCurve reads the curve of an edge between two places. Where writers mean
// a record in two ways, the rarer one is taken if only that leads through the
// edge's vertices.
func (b *bodyReader) edgeCurve(id p21.ID, from, to mgl64.Vec3) (curve.Curve, bool, error) {
	b.twoWays = false
	c, back, err := b.curve(id, 0, wholeCurve)
	if err != nil || !b.twoWays {
		return c, back, err
	}
	off := func(c curve.Curve) float64 {
		return max(c.Point(c.Param(from)).Sub(from).Len(), c.Point(c.Param(to)).Sub(to).Len())
	}
	const sloppy = 1e-2 // mm
	d := off(c)
	if d <= sloppy {
		return c, back, nil
	}
	b.other = true
	o, oBack, err := b.curve(id, 0, wholeCurve)
	b.other = false
	if err != nil || !(off(o) < d/10) {
		return c, back, nil
	}
	return o, oBack, nil
}

// vertex reads VERTEX_POINT(name, point) once.
func (b *bodyReader) vertex(id p21.ID) (brep.VertexIndex, error) {
	if v, ok := b.verts[id]; ok {
		return v, nil
	}
	p, err := b.r.params(id, "VERTEX_POINT")
	if err != nil {
		return 0, err
	}
	pt := p.Ref(1)
	if p.Err() != nil {
		return 0, p.Err()
	}
	return b.corner(id, pt)
}

// corner makes a vertex at a point, under the number that others share it by.
func (b *bodyReader) corner(key, pt p21.ID) (brep.VertexIndex, error) {
	if v, ok := b.verts[key]; ok {
		return v, nil
	}
	at, err := b.point(pt)
	if err != nil {
		return 0, err
	}
	b.body.Vertices = append(b.body.Vertices, brep.Vertex{P: at, Tag: brep.Tag(key)})
	v := brep.VertexIndex(len(b.body.Vertices) - 1)
	b.verts[key] = v
	return v, nil
}

// polygon makes the straight edges of POLY_LOOP(name, points).
func (b *bodyReader) polygon(id p21.ID, pts []p21.ID) ([]brep.Coedge, error) {
	if n := len(pts); n > 1 && pts[0] == pts[n-1] {
		pts = pts[:n-1] // closed by hand
	}
	if len(pts) < 3 {
		return nil, fmt.Errorf("%v: polygon of %d points", id, len(pts))
	}
	out := make([]brep.Coedge, 0, len(pts))
	for i, from := range pts {
		c, err := b.side(from, pts[(i+1)%len(pts)])
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// side is the straight edge between two points, shared by both its faces.
func (b *bodyReader) side(from, to p21.ID) (brep.Coedge, error) {
	key, back := [2]p21.ID{from, to}, from > to
	if back {
		key = [2]p21.ID{to, from}
	}
	if e, ok := b.sides[key]; ok {
		return brep.Coedge{Edge: e, Reversed: back}, nil
	}
	s, err := b.corner(key[0], key[0])
	if err != nil {
		return brep.Coedge{}, err
	}
	t, err := b.corner(key[1], key[1])
	if err != nil {
		return brep.Coedge{}, err
	}
	p, q := b.body.Vertices[s].P, b.body.Vertices[t].P
	l, err := curve.NewLine(p, q.Sub(p))
	if err != nil {
		return brep.Coedge{}, fmt.Errorf("side from %v to %v: %w", from, to, err)
	}
	e := b.addEdge(brep.Edge{Curve: l, Start: s, End: t, SameSense: true})
	b.sides[key] = e
	return brep.Coedge{Edge: e, Reversed: back}, nil
}
