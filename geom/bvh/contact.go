package bvh

import (
	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Contact is where a moving mesh first meets a fixed one.
type Contact struct {
	Dist               float64    // mm along the direction
	P                  mgl64.Vec3 // a point of the fixed mesh that is met
	MoverTri, FixedTri int32      // the meshes' numbers of the triangles
}

// Aimed is a Mover at its place with its direction, made ready to be tried
// against many fixed meshes. Making it costs a pass over the triangles. It counts
// its work, and so is not safe for concurrent use.
type Aimed struct {
	view axial
	// all is the mover in sweep coordinates: u and v across the direction, h
	// along it. ahead is the same with boxes about the triangles that can meet
	// something on the way: of a closed mesh those that look along d. It is made
	// when first needed.
	all, ahead moving
	work       int
}

// moving is a mover's tree in sweep coordinates.
type moving struct {
	*Tree
	sense    float64   // of the triangles that its boxes hold; 0 for all
	outlines []outline // of the nodes, once they are worth while
}

// ready makes the outlines. They cost a pass over the triangles, which a sweep
// first spends on boxes alone: most pairs of parts are told apart by those.
func (m *moving) ready() {
	if m.outlines == nil {
		m.outlines = m.Tree.outlines(m.sense)
	}
}

// Work is how many pairs of boxes and triangles all questions so far have
// looked at: some 30 ns each. It depends on the questions and on nothing else.
func (a *Aimed) Work() int {
	if a == nil {
		return 0
	}
	return a.work
}

// Aim places the mover and turns it into the direction d, which must not be
// zero. place carries the mover's coordinates to those of the fixed meshes and
// is rigid or a mirror; d is in their coordinates.
func (m *Mover) Aim(place geom.Transform, d mgl64.Vec3) *Aimed {
	d, ok := geom.Unit(d)
	if m == nil || m.tree.none() || !ok {
		return nil
	}
	a := &Aimed{view: aboutAxis(geom.Axis{D: d})}
	a.all.Tree = m.tree.Placed(a.view.turn().Mul(place))
	return a
}

// lookAhead makes ahead.
func (a *Aimed) lookAhead() {
	if a.ahead.Tree != nil {
		return
	}
	a.ahead.Tree = a.all.Tree
	if sh := a.all.surface(); sh.closed {
		a.ahead = moving{Tree: a.all.looking(sh.sense), sense: sh.sense}
	}
}

// turn carries coordinates of space to those of the axis.
func (s *axial) turn() geom.Transform {
	return geom.Transform{M: mgl64.Mat3FromRows(s.x, s.y, s.d)}
}

// looking is a tree over the same triangles whose boxes hold only those that
// look along h (sense 1) or against it (-1).
func (t *Tree) looking(sense float64) *Tree {
	return t.boxing(func(c *[9]float64) bool { return shadowArea(c)*sense > 0 })
}

// FirstContact moves the shrunk mesh by up to travel mm (+Inf allowed) and says
// where it first meets the fixed mesh.
//
// The answer is exact for the two meshes: two triangles meet where their
// shadows along d overlap, and over the overlap the gap between them is linear,
// so its extremes are at corners. Meshes that intersect at the start, deeper
// than the skin, and a closed mesh inside another closed one, meet at distance
// 0. The gap of a face met squarely is longer by the skin than in the model.
//
// It depends on the meshes and not on the trees over them, but for rounding: a
// contact is not given up for one that is nearer by less than 1e-13 of the
// largest coordinate, so that of places met together any may be named. Turning
// both meshes moves a contact that begins with an edge or corner by as much as a
// steep triangle rises over the 0.1 nm below.
//
// What only slides is no contact: shadows that overlap by less than 0.1 nm, and
// triangles that both stand edge-on to d. Faces that touch exactly (skin 0)
// meet at distance 0 if the mover's face looks along d, which needs triangles
// that turn anticlockwise seen from outside; nothing else does. That goes for
// the start too: a mesh whose edges, and no insides of triangles, lie in a face
// edge-on to d, half of it on either side, is not seen to be in the other mesh.
func (a *Aimed) FirstContact(fixed *Tree, travel float64) (Contact, bool) {
	return a.ask(fixed, travel, false)
}

// Blocked reports whether there is any contact at all on the way. It does not
// look for the first one and so is quicker than FirstContact.
func (a *Aimed) Blocked(fixed *Tree, travel float64) bool {
	_, ok := a.ask(fixed, travel, true)
	return ok
}

// ask looks first for what is met at the start, by all triangles whose boxes
// overlap; then for what lies on the way, where closed meshes meet only with
// faces that look at each other. Where any contact will do, what lies on the way
// is looked for first: faces that slide on each other, which are many, all come
// near at the start and none of them is one. A way of no length is the start.
func (a *Aimed) ask(fixed *Tree, travel float64, anyDo bool) (Contact, bool) {
	if a == nil || fixed.none() || !(travel >= 0) {
		return Contact{}, false
	}
	s := sweep{mover: &a.all, fixed: fixed, view: a.view, anyDo: anyDo}
	defer func() { a.work += s.work }()
	if anyDo && travel > 0 {
		s.onTheWay(a, travel)
		if s.found {
			return s.best, true
		}
		s.mover, s.turned, s.fixedSense, s.leans, s.limit = &a.all, turnedLeaves{}, 0, nil, 0
	}
	if s.run(); s.found {
		return s.best, true
	}
	if c, ok := s.startsInside(); ok {
		return c, true
	}
	if !anyDo {
		s.onTheWay(a, travel)
	}
	return s.best, s.found
}

// onTheWay looks for what the mover meets after the start.
func (s *sweep) onTheWay(a *Aimed, travel float64) {
	a.lookAhead()
	s.limit = travel
	s.mover, s.turned = &a.ahead, turnedLeaves{}
	if sh := s.fixed.surface(); sh.closed {
		s.fixedSense, s.leans = -sh.sense, s.fixed.leans()
	}
	s.run()
}
