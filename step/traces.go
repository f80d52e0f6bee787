package step

import (
	"errors"
	"fmt"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/curve"
	"stepscan/geom/surface"
	"stepscan/step/p21"
)

// surfaceCurves have a curve in space and, mostly, curves on the surfaces that
// meet in it.
var surfaceCurves = []string{"SURFACE_CURVE", "SEAM_CURVE", "INTERSECTION_CURVE", "BOUNDED_SURFACE_CURVE"}

var errNoCurve = errors.New("surface curve without a curve in space")

// surfaceCurve reads SURFACE_CURVE(name, curve_3d, associated_geometry,
// master). The curve in space is taken whatever the master is: it is what both
// faces share. Where an edge's cannot be read, a curve on a surface stands in;
// deeper down that would let a file branch without end.
func (g *geometry) surfaceCurve(rec p21.Record, depth int, ext extent) (c curve.Curve, turned bool, err error) {
	p, k := rec.Params(), 1
	if rec.IsComplex() {
		p, _ = rec.Leaf("SURFACE_CURVE")
		k = 0
	}
	if id := p.OptRef(k); id != 0 {
		if c, turned, err = g.curve(id, depth+1, ext); err == nil {
			return c, turned, nil
		}
	} else {
		err = fmt.Errorf("%v: %w", rec.ID(), errNoCurve)
	}
	if depth > 0 {
		return nil, false, err
	}
	for _, id := range p.Refs(k+1, nil) {
		if other, e := g.r.open(id); e != nil || !other.Is("PCURVE") {
			continue
		}
		if c, turned, e := g.curve(id, depth+1, ext); e == nil {
			g.tell(rec.ID(), fmt.Sprintf("%v; its curve on the surface %v stands in", err, id))
			return c, turned, nil
		}
	}
	return nil, false, err
}

// trace reads PCURVE(name, basis_surface, reference_to_curve), a curve in the
// parameter plane of a surface; BOUNDED_PCURVE is one in complex form.
func (g *geometry) trace(rec p21.Record, depth int) (curve.Curve, bool, error) {
	p, k := rec.Params(), 1
	if rec.IsComplex() {
		p, _ = rec.Leaf("PCURVE")
		k = 0
	}
	on, def := p.Ref(k), p.Ref(k+1)
	if p.Err() != nil {
		return nil, false, p.Err()
	}
	s, _, err := g.surface(on, depth+1)
	if err != nil {
		return nil, false, err
	}
	rep, err := g.r.open(def, "DEFINITIONAL_REPRESENTATION", "REPRESENTATION")
	if err != nil {
		return nil, false, err
	}
	d := leafOr(rep, "REPRESENTATION")
	items := d.Refs(1, nil)
	if len(items) == 0 {
		return nil, false, fmt.Errorf("%v: no curve in it", def)
	}
	flat := geometry{r: g.r, u: units{mm: 1, rad: g.u.rad}, flat: true, derived: g.derived}
	c, turned, err := flat.curve(items[0], depth+1, wholeCurve)
	if err != nil {
		return nil, false, err
	}
	rad := g.u.rad
	if rad != 1 { // some writers keep radians in parameter planes whatever the unit
		g.twoWays = true
		if g.other {
			rad = 1
		}
	}
	ku, kv := g.uvScale(on, rad, depth)
	t, err := surface.NewTrace(s, c, ku, kv)
	return t, turned, err
}

// uvScale turns the parameters of the file's surface into those of ours, which
// count mm and radians (rad: radians in one of the file's angles).
func (g *geometry) uvScale(id p21.ID, rad float64, depth int) (ku, kv float64) {
	rec, err := g.r.open(id)
	if err != nil || depth > maxChain {
		return 1, 1
	}
	mm := g.u.mm
	p := rec.Params()
	along := func() float64 { // a curve's parameter, of the swept surfaces
		if k := g.paramScale(p.OptRef(1), depth); k != g.u.rad {
			return k
		}
		return rad
	}
	switch rec.Name() {
	case "PLANE":
		return mm, mm
	case "CYLINDRICAL_SURFACE", "CONICAL_SURFACE":
		return rad, mm
	case "SPHERICAL_SURFACE", "TOROIDAL_SURFACE", "DEGENERATE_TOROIDAL_SURFACE":
		return rad, rad
	case "SURFACE_OF_REVOLUTION":
		return rad, along()
	case "SURFACE_OF_LINEAR_EXTRUSION":
		if v, err := g.vector(p.OptRef(2)); err == nil {
			return along(), v.Len()
		}
	case "OFFSET_SURFACE", "RECTANGULAR_TRIMMED_SURFACE", "CURVE_BOUNDED_SURFACE":
		return g.uvScale(p.OptRef(1), rad, depth+1)
	}
	return 1, 1
}

// offsetCurve reads OFFSET_CURVE_3D(name, basis, distance, self_intersect,
// ref_direction), and OFFSET_CURVE_2D, which has no direction: a positive
// distance is on the left there too.
func (g *geometry) offsetCurve(p *p21.Params, depth int, ext extent) (curve.Curve, bool, error) {
	c, turned, err := g.curve(p.Ref(1), depth+1, ext)
	if err != nil {
		return nil, false, err
	}
	d := p.Real(2) * g.u.mm
	v := mgl64.Vec3{0, 0, 1}
	if !g.flat {
		v, err = g.direction(p.Ref(4))
	}
	if p.Err() != nil {
		return nil, false, p.Err()
	}
	if err != nil {
		return nil, false, err
	}
	if err := withinReach(d); err != nil {
		return nil, false, err
	}
	g.twoWays = true // writers do not agree on which side is positive
	if turned != g.other {
		d = -d
	}
	o, err := curve.NewOffset(c, d, v)
	return o, turned, err
}
