package step

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
	"stepscan/step/p21"
)

type surfaceResult struct {
	surface surface.Surface
	turned  bool
	err     error
}

// surface reads a surface. turned says that the normal of the file's surface
// is against that of the one returned.
func (g *geometry) surface(id p21.ID, depth int) (s surface.Surface, turned bool, err error) {
	if depth > maxChain {
		return nil, false, errDeep
	}
	rec, err := g.r.open(id)
	if err != nil {
		return nil, false, err
	}
	p := rec.Params()
	switch name := rec.Name(); {
	case name == "PLANE", name == "CYLINDRICAL_SURFACE", name == "CONICAL_SURFACE",
		name == "SPHERICAL_SURFACE":
		s, err = g.elementary(name, &p)
	case name == "TOROIDAL_SURFACE", name == "DEGENERATE_TOROIDAL_SURFACE":
		s, turned, err = g.torus(rec, &p)
	case rec.Is(splineSurfaces...):
		s, err = g.splineSurface(rec)
	case name == "SURFACE_OF_REVOLUTION":
		s, turned, err = g.revolution(&p, depth)
	case name == "SURFACE_OF_LINEAR_EXTRUSION":
		s, turned, err = g.extrusion(&p, depth)
	case name == "OFFSET_SURFACE":
		s, turned, err = g.offset(&p, depth)
	case name == "RECTANGULAR_TRIMMED_SURFACE":
		// The face has its own bounds; only the senses of u and v matter.
		s, turned, err = g.surface(p.OptRef(1), depth+1)
		turned = turned != (p.Bool(6) != p.Bool(7))
	case name == "CURVE_BOUNDED_SURFACE":
		s, turned, err = g.surface(p.OptRef(1), depth+1)
	case name == "RECTANGULAR_COMPOSITE_SURFACE":
		s, turned, err = g.patches(rec, &p, depth)
	default:
		err = &unsupportedError{id, name}
	}
	if fault := p.Err(); fault != nil { // what is wrong here comes before what follows from it
		err = fault
	}
	if err != nil {
		return nil, false, fmt.Errorf("%v %s: %w", id, rec.Name(), err)
	}
	return s, turned, nil
}

// elementary reads a surface of the form NAME(name, position, ...).
func (g *geometry) elementary(name string, p *p21.Params) (surface.Surface, error) {
	f, err := g.axis2(p.Ref(1))
	if err != nil {
		return nil, err
	}
	if name == "PLANE" {
		return surface.NewPlane(f)
	}
	r := p.Real(2) * g.u.mm
	if err := withinReach(r); err != nil {
		return nil, err
	}
	angle := 0.0
	if name == "CONICAL_SURFACE" {
		angle = p.Real(3) * g.u.rad
	}
	if p.Err() != nil {
		return nil, p.Err()
	}
	switch name {
	case "CONICAL_SURFACE":
		return surface.NewCone(f, r, angle)
	case "SPHERICAL_SURFACE":
		return surface.NewSphere(f, r)
	}
	return surface.NewCylinder(f, r)
}

// torus reads TOROIDAL_SURFACE(name, position, major, minor) and
// DEGENERATE_TOROIDAL_SURFACE(..., select_outer). Some systems mark the inner
// part of a torus that meets itself by a negative major radius. The file's
// normal points away from the tube's circle; ours is turned on the inner part.
func (g *geometry) torus(rec p21.Record, p *p21.Params) (surface.Surface, bool, error) {
	f, err := g.axis2(p.Ref(1))
	if err != nil {
		return nil, false, err
	}
	major, minor := p.Real(2)*g.u.mm, p.Real(3)*g.u.mm
	if p.Err() != nil {
		return nil, false, p.Err()
	}
	if err := withinReach(major, minor); err != nil {
		return nil, false, err
	}
	degenerate := rec.Is("DEGENERATE_TOROIDAL_SURFACE")
	outer, known := p.Value(4).Bool()
	inner := degenerate && known && !outer
	if major < 0 {
		major, inner = -major, minor > -major
		g.mended(rec.ID(), "torus with a negative major radius: its size is taken, and its inner part where it meets itself")
	}
	var s surface.Torus
	switch {
	case inner && minor > major:
		s, err = surface.NewLemon(f, major, minor)
		return s, true, err
	case degenerate:
		s, err = surface.NewApple(f, major, minor)
	default:
		s, err = surface.NewTorus(f, major, minor)
	}
	return s, false, err
}

// patches reads RECTANGULAR_COMPOSITE_SURFACE(name, segments) with
// SURFACE_PATCH(parent, u_transition, v_transition, u_sense, v_sense). The face
// has its own bounds, so patches of one surface are that surface; others have
// no parameter plane in common and are not supported.
func (g *geometry) patches(rec p21.Record, p *p21.Params, depth int) (s surface.Surface, turned bool, err error) {
	for _, row := range p.RefGrid(1) {
		for _, id := range row {
			q, err := g.r.params(id, "SURFACE_PATCH")
			if err != nil {
				return nil, false, err
			}
			parent, uSense, vSense := q.Ref(0), q.Bool(3), q.Bool(4)
			if q.Err() != nil {
				return nil, false, q.Err()
			}
			t, back, err := g.surface(parent, depth+1)
			if err != nil {
				return nil, false, err
			}
			if s == nil {
				s, turned = t, back != (uSense != vSense)
			} else if !liesOn(t, s) {
				return nil, false, &unsupportedError{rec.ID(), rec.Name()}
			}
		}
	}
	if s == nil && p.Err() == nil {
		err = fmt.Errorf("surface without patches")
	}
	return s, turned, err
}

// liesOn reports that places all over t's domain lie on s.
func liesOn(t, s surface.Surface) bool {
	const near = 1e-4 // mm
	u0, u1, v0, v1 := t.Domain()
	for _, d := range [...]*[2]*float64{{&u0, &u1}, {&v0, &v1}} {
		if math.IsInf(*d[0], 0) || math.IsInf(*d[1], 0) {
			*d[0], *d[1] = -1, 1
		}
	}
	for i := range 4 {
		for j := range 4 {
			q := t.Point(u0+(u1-u0)*float64(i)/3, v0+(v1-v0)*float64(j)/3)
			if !(s.Point(s.Param(q, surface.Hint{})).Sub(q).Len() <= near) {
				return false
			}
		}
	}
	return true
}

// revolution reads SURFACE_OF_REVOLUTION(name, curve, axis). A curve that runs
// the other way turns the normal.
func (g *geometry) revolution(p *p21.Params, depth int) (surface.Surface, bool, error) {
	c, turned, err := g.curve(p.Ref(1), depth+1, asTrimmed)
	if err != nil {
		return nil, false, err
	}
	a, err := g.axis1(p.Ref(2))
	if err != nil {
		return nil, false, err
	}
	s, err := surface.NewRevolution(halfCircle(c, a), a)
	return s, turned, err
}

// halfCircle is the half with t = 0 of a circle that is cut in half by an axis:
// turned round it, either half makes the whole sphere, and both together would
// cover it twice, with opposite normals.
func halfCircle(c curve.Curve, a geom.Axis) curve.Curve {
	k, ok := c.(curve.Circle)
	if !ok {
		return c
	}
	f, r := k.Frame(), k.Radius()
	const slack = 1e-9 // of the radius
	if a.Distance(f.O) > slack*r || math.Abs(f.Z.Dot(a.D)) > slack {
		return c
	}
	t0, t1 := k.Param(f.O.Add(a.D.Mul(r))), k.Param(f.O.Sub(a.D.Mul(r)))
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	if t0 > slack { // else the circle begins on the axis: its first half
		t0, t1 = t1-2*math.Pi, t0
	}
	half, err := curve.NewTrimmed(k, t0, t1)
	if err != nil {
		return c
	}
	return half
}

// extrusion reads SURFACE_OF_LINEAR_EXTRUSION(name, curve, vector).
func (g *geometry) extrusion(p *p21.Params, depth int) (surface.Surface, bool, error) {
	c, turned, err := g.curve(p.Ref(1), depth+1, asTrimmed)
	if err != nil {
		return nil, false, err
	}
	d, err := g.vector(p.Ref(2))
	if err != nil {
		return nil, false, err
	}
	s, err := surface.NewExtrusion(c, d)
	return s, turned, err
}

// offset reads OFFSET_SURFACE(name, basis, distance, self_intersect); the
// distance counts along the basis' normal.
func (g *geometry) offset(p *p21.Params, depth int) (surface.Surface, bool, error) {
	base, turned, err := g.surface(p.Ref(1), depth+1)
	if err != nil {
		return nil, false, err
	}
	d := p.Real(2) * g.u.mm
	if turned {
		d = -d
	}
	if p.Err() != nil {
		return nil, false, p.Err()
	}
	if err := withinReach(d); err != nil {
		return nil, false, err
	}
	s, err := surface.NewOffset(base, d)
	return s, turned, err
}

// splineSurfaces are the entities that any B-spline surface is an instance of.
var splineSurfaces = []string{
	"B_SPLINE_SURFACE_WITH_KNOTS", "B_SPLINE_SURFACE", "BEZIER_SURFACE", "UNIFORM_SURFACE",
	"QUASI_UNIFORM_SURFACE", "RATIONAL_B_SPLINE_SURFACE",
}

// splineSurface reads a B-spline surface in any form.
func (g *geometry) splineSurface(rec p21.Record) (surface.Surface, error) {
	base, k := rec.Params(), 1
	if rec.IsComplex() {
		base, _ = rec.Leaf("B_SPLINE_SURFACE")
		k = 0
	}
	du, dv := base.Int(k), base.Int(k+1)
	grid := base.RefGrid(k + 2)
	if base.Err() != nil {
		return nil, base.Err()
	}
	poles, err := g.poleGrid(grid)
	if err != nil {
		return nil, err
	}
	var weights [][]float64
	if w, at, ok := leafBehind(rec, "RATIONAL_B_SPLINE_SURFACE", k+7); ok {
		if weights = w.RealGrid(at); w.Err() != nil {
			return nil, w.Err()
		}
	}
	ku, kv, err := surfaceKnots(rec, k+7, len(poles), len(poles[0]), du, dv)
	if err != nil {
		return nil, err
	}
	return surface.NewBSpline(du, dv, poles, weights, ku, kv)
}

func (g *geometry) poleGrid(grid [][]p21.ID) ([][]mgl64.Vec3, error) {
	if len(grid) == 0 || len(grid[0]) == 0 {
		return nil, fmt.Errorf("surface without poles")
	}
	out := make([][]mgl64.Vec3, len(grid))
	for i, row := range grid {
		if len(row) != len(grid[0]) {
			return nil, fmt.Errorf("rows of %d and %d poles", len(grid[0]), len(row))
		}
		var err error
		if out[i], err = g.points(row); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func surfaceKnots(rec p21.Record, inherited, nu, nv, du, dv int) (ku, kv []float64, err error) {
	p, at, ok := leafBehind(rec, "B_SPLINE_SURFACE_WITH_KNOTS", inherited)
	if !ok {
		if ku, err = ruleKnots(rec, "SURFACE", nu, du); err != nil {
			return nil, nil, err
		}
		kv, err = ruleKnots(rec, "SURFACE", nv, dv)
		return ku, kv, err
	}
	mu, mv := p.Ints(at, nil), p.Ints(at+1, nil)
	xu, xv := p.Reals(at+2, nil), p.Reals(at+3, nil)
	if p.Err() != nil {
		return nil, nil, p.Err()
	}
	if ku, err = expandKnots(mu, xu, nu, du); err != nil {
		return nil, nil, fmt.Errorf("in u: %w", err)
	}
	if kv, err = expandKnots(mv, xv, nv, dv); err != nil {
		return nil, nil, fmt.Errorf("in v: %w", err)
	}
	return ku, kv, nil
}

// loopPlane is the plane of a faceted face that gives none: square to the sum
// of its loops' turns (Newell), so that the material lies on their left.
func (b *bodyReader) loopPlane(loops []brep.Loop) (surface.Surface, error) {
	var n, o, first mgl64.Vec3
	for i, l := range loops {
		for _, c := range l.Coedges {
			e := &b.body.Edges[c.Edge]
			p, q := b.body.Vertices[e.Start].P, b.body.Vertices[e.End].P
			if c.Reversed {
				p, q = q, p
			}
			if i == 0 && first == (mgl64.Vec3{}) {
				o, first = p, q
			}
			n = n.Add(p.Sub(o).Cross(q.Sub(o)))
		}
	}
	f, err := geom.NewFrame(o, n, first.Sub(o))
	if err != nil {
		return nil, fmt.Errorf("face without area: %w", err)
	}
	return surface.NewPlane(f)
}
