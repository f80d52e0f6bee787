package step

import (
	"errors"
	"fmt"
	"slices"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/surface"
	"stepscan/step/p21"
)

// fault is a Skip in the making: decoders side by side collect their own.
type fault struct {
	id     p21.ID
	entity string
	why    string
	aside  bool // mended, and nothing was lost by it
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
	taken  map[p21.ID]bool              // faces, by the number a shell lists
	faults []fault
}

type edgeResult struct {
	edge brep.EdgeIndex
	err  error
}

func newBodyReader(r *reader, s shape) *bodyReader {
	b := &bodyReader{
		geometry: geometry{r: r, u: s.u}, shape: s,
		body:  &brep.Body{Name: s.name, Tag: brep.Tag(s.id), Uncertainty: s.u.uncertainty},
		verts: map[p21.ID]brep.VertexIndex{}, edges: map[p21.ID]edgeResult{},
		surfs: map[p21.ID]surfaceResult{}, sides: map[[2]p21.ID]brep.EdgeIndex{},
		taken: map[p21.ID]bool{},
	}
	b.warn = func(f fault) { b.faults = append(b.faults, f) }
	return b
}

func (b *bodyReader) fault(id p21.ID, entity, why string) {
	b.warn(fault{id: id, entity: entity, why: why})
}

// read decodes the body; nil where nothing of it can be used.
func (b *bodyReader) read() *brep.Body {
	rec, err := b.r.open(b.shape.id)
	if err != nil {
		b.fault(b.shape.id, "", err.Error())
		return nil
	}
	b.body.Solid = solidEntity(rec)
	if b.r.opt.Structure {
		return b.body
	}
	if len(b.shape.facets) > 0 {
		return b.readFacets(b.shape.facets)
	}
	for i, id := range b.shells(rec) {
		b.shell(id, b.body.Solid && i > 0)
	}
	if len(b.body.Faces) == 0 {
		b.fault(b.shape.id, "", "body without a usable face: left out")
		return nil
	}
	b.boundUncertainty()
	return b.body
}

// maxUncertainShare bounds the uncertainty by a body's size: as with the gaps
// that meshing closes, a hundredth, so that a tiny body does not close up.
const maxUncertainShare = 0.01

// boundUncertainty holds the uncertainty, which is the context's, at a share of
// the box of the body's corners. A body of one corner has nothing to sew.
func (b *bodyReader) boundUncertainty() {
	box := geom.EmptyBox()
	for i := range b.body.Vertices {
		box = box.Add(b.body.Vertices[i].P)
	}
	if len(b.body.Vertices) < 2 {
		return
	}
	if d := box.Diagonal(); d > 0 {
		b.body.Uncertainty = min(b.body.Uncertainty, maxUncertainShare*d)
	}
}

// solidEntity reports a body that the file calls a solid.
func solidEntity(rec p21.Record) bool {
	return rec.Is("MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP", "TESSELLATED_SOLID")
}

// shells lists a body's shells, the outer one first.
func (b *bodyReader) shells(rec p21.Record) []p21.ID {
	if rec.Is(shellEntities...) {
		return []p21.ID{rec.ID()}
	}
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
		if b.taken[id] {
			b.mended(id, "face listed twice: taken once")
			continue
		}
		b.taken[id] = true
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
	if f.Loops, err = b.bounds(bounds, flip); err != nil {
		return f, err
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
	b.dropPoints(&f)
	return f, s.err
}

var errEmptyLoop = errors.New("loop without edges")

// bounds reads a face's loops. One that lists no edges bounds nothing: it is
// left out as long as there are others.
func (b *bodyReader) bounds(ids []p21.ID, flip bool) ([]brep.Loop, error) {
	var out []brep.Loop
	var empty error
	var which p21.ID
	for _, id := range ids {
		l, err := b.bound(id, flip)
		switch {
		case errors.Is(err, errEmptyLoop):
			empty, which = err, id
		case err != nil:
			return nil, err
		default:
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		return nil, empty
	}
	if empty != nil {
		b.fault(which, "", empty.Error()+": left out")
	}
	return out, nil
}

// dropPoints leaves out loops that are a point from a plane, which has no poles.
func (b *bodyReader) dropPoints(f *brep.Face) {
	if _, ok := f.Surface.(surface.Plane); !ok {
		return
	}
	isPoint := func(l brep.Loop) bool { return len(l.Coedges) == 0 && l.Vertex != brep.NoVertex }
	if n := len(f.Loops); n > 0 {
		if f.Loops = slices.DeleteFunc(f.Loops, isPoint); len(f.Loops) < n {
			b.mended(p21.ID(f.Tag), "plane face bounded by a point: the point is left out")
		}
	}
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
		return l, fmt.Errorf("%v: %w", id, errEmptyLoop)
	}
	return l, nil
}
