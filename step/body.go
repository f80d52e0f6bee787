package step

import (
	"errors"
	"fmt"
	"slices"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/step/p21"
)

// fault is a Skip in the making: decoders side by side collect their own.
type fault struct {
	id     p21.ID
	entity string
	why    string
}

// bodyReader decodes one body. Vertices and edges are shared by their
// instance numbers.
type bodyReader struct {
	geometry
	shape  shape
	body   *brep.Body
	verts  map[p21.ID]brep.VertexIndex
	edges  map[p21.ID]edgeResult
	surfs  map[p21.ID]surfaceResult
	sides  map[[2]p21.ID]brep.EdgeIndex // of poly loops, by their points, lower number first
	faults []fault
}

type edgeResult struct {
	edge brep.EdgeIndex
	err  error
}

func newBodyReader(r *reader, s shape) *bodyReader {
	return &bodyReader{
		geometry: geometry{r: r, u: s.u}, shape: s,
		body:  &brep.Body{Name: s.name, Tag: brep.Tag(s.id), Uncertainty: s.u.uncertainty},
		verts: map[p21.ID]brep.VertexIndex{}, edges: map[p21.ID]edgeResult{},
		surfs: map[p21.ID]surfaceResult{}, sides: map[[2]p21.ID]brep.EdgeIndex{},
	}
}

func (b *bodyReader) fault(id p21.ID, entity, why string) {
	b.faults = append(b.faults, fault{id, entity, why})
}

// read decodes the body; nil where nothing of it can be used.
func (b *bodyReader) read() *brep.Body {
	rec, err := b.r.open(b.shape.id, bodyEntities...)
	if err != nil {
		b.fault(b.shape.id, "", err.Error())
		return nil
	}
	b.body.Solid = !rec.Is("SHELL_BASED_SURFACE_MODEL", "FACE_BASED_SURFACE_MODEL")
	if b.r.opt.Structure {
		return b.body
	}
	for i, id := range b.shells(rec) {
		b.shell(id, b.body.Solid && i > 0)
	}
	if len(b.body.Faces) == 0 {
		b.fault(b.shape.id, "", "body without a usable face: left out")
		return nil
	}
	return b.body
}

// shells lists a body's shells, the outer one first.
func (b *bodyReader) shells(rec p21.Record) []p21.ID {
	var out []p21.ID
	var p p21.Params
	if rec.IsComplex() {
		solid, _ := rec.Leaf("MANIFOLD_SOLID_BREP")
		voids, _ := rec.Leaf("BREP_WITH_VOIDS")
		out = append(out, solid.OptRef(0))
		if voids.Len() > 0 {
			out = voids.Refs(0, out)
		}
		p = solid
	} else if p = rec.Params(); b.body.Solid {
		out = append(out, p.OptRef(1))
		if rec.Is("BREP_WITH_VOIDS") {
			out = p.Refs(2, out)
		}
	} else {
		out = p.Refs(1, out)
	}
	if p.Err() != nil {
		b.fault(rec.ID(), "", p.Err().Error())
	}
	return out
}

// shellEntities are sets of faces, with the entities that turn one round.
var shellEntities = []string{"CLOSED_SHELL", "OPEN_SHELL", "CONNECTED_FACE_SET", "ORIENTED_CLOSED_SHELL", "ORIENTED_OPEN_SHELL"}

// shell reads a shell and its faces. An oriented shell that is .F. turns every
// face round.
func (b *bodyReader) shell(id p21.ID, void bool) {
	flip := false
	for range maxChain {
		rec, err := b.r.open(id, shellEntities...)
		if err != nil {
			b.fault(b.shape.id, "", "shell left out: "+err.Error())
			return
		}
		p := rec.Params()
		if !rec.Is("ORIENTED_CLOSED_SHELL", "ORIENTED_OPEN_SHELL") {
			b.faces(rec, p, flip, void)
			return
		}
		if id = p.Ref(2); !p.Bool(3) {
			flip = !flip
		}
		if p.Err() != nil {
			b.fault(rec.ID(), "", p.Err().Error())
			return
		}
	}
	b.fault(id, "", errDeep.Error())
}

func (b *bodyReader) faces(rec p21.Record, p p21.Params, flip, void bool) {
	sh := brep.Shell{Closed: rec.Is("CLOSED_SHELL"), Void: void, Tag: brep.Tag(rec.ID())}
	ids := p.Refs(1, nil)
	if p.Err() != nil {
		b.fault(rec.ID(), "", p.Err().Error())
	}
	for i, id := range ids {
		if i%1024 == 0 && b.r.ctx.Err() != nil {
			return
		}
		f, err := b.face(id, flip)
		if err != nil {
			b.faceFault(id, err)
			continue
		}
		sh.Faces = append(sh.Faces, brep.FaceIndex(len(b.body.Faces)))
		b.body.Faces = append(b.body.Faces, f)
	}
	if len(ids) == 0 {
		b.fault(rec.ID(), "", "shell without faces")
	}
	if len(sh.Faces) > 0 {
		b.body.Shells = append(b.body.Shells, sh)
	}
}

// faceFault says why a face is left out, under the entity that is to blame.
func (b *bodyReader) faceFault(id p21.ID, err error) {
	entity := ""
	var u *unsupportedError
	if errors.As(err, &u) {
		entity = u.entity
	}
	b.fault(id, entity, "face left out: "+err.Error())
}

// face reads ADVANCED_FACE(name, bounds, surface, same_sense) and its kin.
func (b *bodyReader) face(id p21.ID, flip bool) (brep.Face, error) {
	rec, flip, err := b.turnedFace(id, flip)
	if err != nil {
		return brep.Face{}, err
	}
	p := rec.Params()
	if rec.IsComplex() {
		return brep.Face{}, &unsupportedError{id, rec.Name()}
	}
	bounds := p.Refs(1, nil)
	if p.Err() != nil {
		return brep.Face{}, p.Err()
	}
	f := brep.Face{Tag: brep.Tag(id), SameSense: !flip}
	for _, bound := range bounds {
		l, err := b.bound(bound, flip)
		if err != nil {
			return f, err
		}
		f.Loops = append(f.Loops, l)
	}
	if rec.Is("FACE") { // of a faceted body: no surface is given
		f.Surface, err = b.loopPlane(f.Loops)
		f.SameSense = true
		return f, err
	}
	surf, same := p.Ref(2), p.Bool(3)
	if p.Err() != nil {
		return f, p.Err()
	}
	s, ok := b.surfs[surf]
	if !ok {
		s.surface, s.turned, s.err = b.surface(surf, 0)
		b.surfs[surf] = s
	}
	f.Surface = s.surface
	f.SameSense = same != (flip != s.turned)
	return f, s.err
}

var faceEntities = []string{"ADVANCED_FACE", "FACE_SURFACE", "FACE", "ORIENTED_FACE"}

// turnedFace goes through oriented faces to the face itself.
func (b *bodyReader) turnedFace(id p21.ID, flip bool) (p21.Record, bool, error) {
	for range maxChain {
		rec, err := b.r.open(id, faceEntities...)
		if err != nil || !rec.Is("ORIENTED_FACE") {
			return rec, flip, err
		}
		p := rec.Params()
		if id = p.Ref(2); !p.Bool(3) {
			flip = !flip
		}
		if p.Err() != nil {
			return rec, flip, p.Err()
		}
	}
	return p21.Record{}, false, errDeep
}

// bound reads FACE_BOUND(name, loop, orientation). The loop of a face that is
// turned round runs the other way, so that its material stays on the left.
func (b *bodyReader) bound(id p21.ID, flip bool) (brep.Loop, error) {
	rec, err := b.r.open(id, "FACE_BOUND", "FACE_OUTER_BOUND")
	if err != nil {
		return brep.Loop{}, err
	}
	p := rec.Params()
	loop, same := p.Ref(1), p.Bool(2)
	if p.Err() != nil {
		return brep.Loop{}, p.Err()
	}
	l, err := b.loop(loop)
	l.Outer = rec.Is("FACE_OUTER_BOUND")
	if err == nil && same == flip {
		reverse(l.Coedges)
	}
	return l, err
}

func reverse(c []brep.Coedge) {
	slices.Reverse(c)
	for i := range c {
		c[i].Reversed = !c[i].Reversed
	}
}

func (b *bodyReader) loop(id p21.ID) (brep.Loop, error) {
	l := brep.Loop{Vertex: brep.NoVertex}
	rec, err := b.r.open(id, "EDGE_LOOP", "VERTEX_LOOP", "POLY_LOOP")
	if err != nil {
		return l, err
	}
	p := rec.Params()
	switch {
	case rec.IsComplex():
		return l, &unsupportedError{id, rec.Name()}
	case rec.Is("VERTEX_LOOP"):
		l.Vertex, err = b.vertex(p.OptRef(1))
		return l, err
	}
	ids := p.Refs(1, nil)
	if p.Err() != nil {
		return l, p.Err()
	}
	if rec.Is("POLY_LOOP") {
		l.Coedges, err = b.polygon(id, ids)
		return l, err
	}
	for _, e := range ids {
		c, err := b.coedge(e)
		if err != nil {
			return l, err
		}
		l.Coedges = append(l.Coedges, c)
	}
	if len(l.Coedges) == 0 {
		return l, fmt.Errorf("%v: loop without edges", id)
	}
	return l, nil
}

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
	c, back, err := b.curve(geo, 0, wholeCurve)
	e.Curve, e.SameSense = c, same != back
	return e, err
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
