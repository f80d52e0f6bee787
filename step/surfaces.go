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
		s, turned, err = derive(g, func() (surface.Surface, bool, error) { return g.offset(&p, depth) })
	case name == "RECTANGULAR_TRIMMED_SURFACE":
		// The face has its own bounds; only the senses of u and v matter.
		s, turned, err = g.surface(p.OptRef(1), depth+1)
		turned = turned != (p.Bool(6) != p.Bool(7))
	case name == "CURVE_BOUNDED_SURFACE":
		s, turned, err = g.surface(p.OptRef(1), depth+1)
	case name == "RECTANGULAR_COMPOSITE_SURFACE":
		s, turned, err = derive(g, func() (surface.Surface, bool, error) { return g.patches(rec, &p, depth) })
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
	s, err := surface.NewRevolution(halfConic(c, a), a)
	return s, turned, err
}

// halfConic is the half of a conic that is cut in half by an axis of its own:
// turned round it, either half makes the whole surface, and both together would
// cover it twice, with opposite normals. Of a circle or an ellipse it is the
// half with t = 0, of an open conic that with t > 0, as far as lastReach.
func halfConic(c curve.Curve, a geom.Axis) curve.Curve {
	switch k := c.(type) {
	case curve.Circle:
		if f := k.Frame(); onAxis(f, a, k.Radius()) && across(f.Z, a.D) {
			return halfTurn(k, a, k.Radius())
		}
	case curve.Ellipse:
		f := k.Frame()
		if x, y := k.HalfAxes(); onAxis(f, a, max(x, y)) {
			switch {
			case across(f.Z, a.D) && across(f.Y, a.D):
				return halfTurn(k, a, x)
			case across(f.Z, a.D) && across(f.X, a.D):
				return halfTurn(k, a, y)
			}
		}
	case curve.Parabola:
		if f := k.Frame(); onAxis(f, a, k.Focal()) && across(f.Z, a.D) && across(f.Y, a.D) {
			return trimmedTo(k, 0, math.Sqrt(lastReach/k.Focal()))
		}
	case curve.Hyperbola:
		x, y := k.HalfAxes()
		if f := k.Frame(); onAxis(f, a, max(x, y)) && across(f.Z, a.D) && across(f.Y, a.D) {
			return trimmedTo(k, 0, math.Asinh(lastReach/min(x, y)))
		}
	}
	return c
}

const (
	// lastReach is how far an open conic goes, mm, where it has to end.
	lastReach = 1e6
	// onPoint is what rounding may move a conic's centre, in parts of its size,
	// and turn its axes, in radians.
	onPoint = 1e-9
)

// onAxis reports that the centre of something of a size, mm, is on the axis.
func onAxis(f geom.Frame, a geom.Axis, size float64) bool { return a.Distance(f.O) <= onPoint*size }

func across(a, b mgl64.Vec3) bool { return math.Abs(a.Dot(b)) <= onPoint }

// halfTurn cuts a closed conic where the axis meets it, r mm from its centre.
func halfTurn(c curve.Curve, a geom.Axis, r float64) curve.Curve {
	o := a.At(a.Height(c.Point(0).Add(c.Point(math.Pi)).Mul(0.5)))
	t0, t1 := c.Param(o.Add(a.D.Mul(r))), c.Param(o.Sub(a.D.Mul(r)))
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	if t0 > onPoint { // else it begins on the axis: its first half
		t0, t1 = t1-2*math.Pi, t0
	}
	return trimmedTo(c, t0, t1)
}

// trimmedTo is a part of a curve, or the curve where it has no such part.
func trimmedTo(c curve.Curve, t0, t1 float64) curve.Curve {
	part, err := curve.NewTrimmed(c, t0, t1)
	if err != nil {
		return c
	}
	return part
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
