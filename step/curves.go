package step

import (
	"fmt"
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/curve"
	"stepscan/step/p21"
)

// extent says whether the caller has ends of its own for a curve.
type extent int

const (
	// wholeCurve leaves trims away: an edge has its vertices, which are more
	// to be trusted than parameters.
	wholeCurve extent = iota
	// asTrimmed keeps them, for curves that sweep a surface.
	asTrimmed
)

// curve reads a curve in space. turned says that the curve of the file runs
// against the one returned.
func (g *geometry) curve(id p21.ID, depth int, ext extent) (c curve.Curve, turned bool, err error) {
	if depth > maxChain {
		return nil, false, errDeep
	}
	rec, err := g.r.open(id)
	if err != nil {
		return nil, false, err
	}
	p := rec.Params()
	switch name := rec.Name(); {
	case name == "LINE":
		c, err = g.line(&p)
	case name == "CIRCLE", name == "ELLIPSE", name == "HYPERBOLA", name == "PARABOLA":
		c, err = g.conic(name, &p)
	case rec.Is(splineCurves...):
		c, err = g.splineCurve(rec)
	case name == "POLYLINE":
		c, err = g.polyline(&p)
	case name == "TRIMMED_CURVE":
		return g.trimmed(&p, depth, ext)
	case rec.Is(compositeCurves...) && !rec.IsComplex():
		c, err = g.composite(&p, depth)
	case name == "OFFSET_CURVE_3D", name == "OFFSET_CURVE_2D" && g.flat:
		c, turned, err = derive(g, func() (curve.Curve, bool, error) { return g.offsetCurve(&p, depth, ext) })
	case rec.Is("PCURVE"):
		c, turned, err = derive(g, func() (curve.Curve, bool, error) { return g.trace(rec, depth) })
	case rec.Is(surfaceCurves...):
		return g.surfaceCurve(rec, depth, ext)
	default:
		err = &unsupportedError{id, name}
	}
	if fault := p.Err(); fault != nil { // what is wrong here comes before what follows from it
		err = fault
	}
	if err != nil {
		return nil, false, fmt.Errorf("%v %s: %w", id, rec.Name(), err)
	}
	return c, turned, nil
}

// line reads LINE(name, point, vector).
func (g *geometry) line(p *p21.Params) (curve.Curve, error) {
	o, err := g.point(p.Ref(1))
	if err != nil {
		return nil, err
	}
	v, err := g.vector(p.Ref(2))
	if err != nil {
		return nil, err
	}
	return curve.NewLine(o, v)
}

// conic reads CIRCLE(name, position, radius), ELLIPSE and HYPERBOLA(name,
// position, a, b), PARABOLA(name, position, focal distance).
func (g *geometry) conic(name string, p *p21.Params) (curve.Curve, error) {
	f, err := g.axis2(p.Ref(1))
	if err != nil {
		return nil, err
	}
	a, b := p.Real(2)*g.u.mm, 0.0
	if name == "ELLIPSE" || name == "HYPERBOLA" {
		b = p.Real(3) * g.u.mm
	}
	if p.Err() != nil {
		return nil, p.Err()
	}
	if err := withinReach(a, b); err != nil {
		return nil, err
	}
	switch name {
	case "CIRCLE":
		return curve.NewCircle(f, a)
	case "ELLIPSE":
		return curve.NewEllipse(f, a, b)
	case "HYPERBOLA":
		return curve.NewHyperbola(f, a, b)
	}
	return curve.NewParabola(f, a)
}

func (g *geometry) polyline(p *p21.Params) (curve.Curve, error) {
	pts, err := g.points(p.Refs(1, nil))
	if err != nil {
		return nil, err
	}
	return curve.NewPolyline(pts)
}

// trimmed reads TRIMMED_CURVE(name, basis, trim_1, trim_2, sense, master).
func (g *geometry) trimmed(p *p21.Params, depth int, ext extent) (curve.Curve, bool, error) {
	basis, sense := p.Ref(1), p.Bool(4)
	if p.Err() != nil {
		return nil, false, p.Err()
	}
	c, turned, err := g.curve(basis, depth+1, ext)
	if err != nil || ext == wholeCurve {
		return c, turned == sense, err
	}
	sense = sense != turned // of a basis whose own trims could not be read
	scale := g.paramScale(basis, depth)
	byParam := p.Enum(5) == "PARAMETER"
	t0, ok0 := g.trim(p.Value(2), c, scale, byParam)
	t1, ok1 := g.trim(p.Value(3), c, scale, byParam)
	if !ok0 || !ok1 {
		return c, !sense, nil // bounded by its face then
	}
	t0, t1 = fromTo(t0, t1, sense, c.Period())
	tc, err := curve.NewTrimmed(c, t0, t1)
	if err != nil {
		return c, !sense, nil
	}
	return tc, false, nil
}

// paramScale turns a parameter of the file's curve into one of ours: a line
// counts lengths of its vector, a conic with a centre counts plane angles.
func (g *geometry) paramScale(basis p21.ID, depth int) float64 {
	rec, err := g.r.open(basis)
	if err != nil || depth > maxChain {
		return 1
	}
	p := rec.Params()
	switch name := rec.Name(); {
	case name == "LINE":
		if v, err := g.vector(p.OptRef(2)); err == nil {
			return v.Len()
		}
	case name == "CIRCLE", name == "ELLIPSE":
		return g.u.rad
	case name == "TRIMMED_CURVE", name == "OFFSET_CURVE_3D", name == "OFFSET_CURVE_2D":
		return g.paramScale(p.OptRef(1), depth+1)
	case rec.Is(surfaceCurves...) && !rec.IsComplex(): // that of its curve in space
		return g.paramScale(p.OptRef(1), depth+1)
	}
	return 1
}

// trim reads one end: a set of a point, a parameter, or both. Where both are
// there, the parameter stands only if it is the master and leads to the point:
// no unit can be wrong in a point, but only a parameter tells the start of a
// closed curve from its end.
func (g *geometry) trim(v p21.Value, c curve.Curve, scale float64, byParam bool) (float64, bool) {
	it, ok := v.Items()
	if !ok {
		return 0, false
	}
	t, found := 0.0, false
	var at *mgl64.Vec3
	for it.Next() {
		switch v := it.Value(); v.Kind() {
		case p21.Ref:
			id, _ := v.Ref()
			if pt, err := g.point(id); err == nil {
				at = &pt
			}
		case p21.Typed, p21.Number:
			if x, ok := v.Real(); ok {
				t, found = x*scale, true
			}
		}
	}
	if at == nil {
		return t, found
	}
	foot := c.Param(*at)
	if found && byParam && c.Point(t).Sub(*at).Len() <= c.Point(foot).Sub(*at).Len()+trimSlack {
		return t, true
	}
	return foot, true
}

// trimSlack is how far, mm, the two ends that a trim gives may be apart and
// still be the same.
const trimSlack = 1e-3

// compositeCurves differ in what they are meant for, not in what they say.
var compositeCurves = []string{"COMPOSITE_CURVE", "COMPOSITE_CURVE_ON_SURFACE", "BOUNDARY_CURVE", "OUTER_BOUNDARY_CURVE"}

// composite reads COMPOSITE_CURVE(name, segments, self_intersect) with
// COMPOSITE_CURVE_SEGMENT(transition, same_sense, curve).
func (g *geometry) composite(p *p21.Params, depth int) (curve.Curve, error) {
	var parts []curve.Curve
	for _, id := range p.Refs(1, nil) {
		s, err := g.r.params(id, "COMPOSITE_CURVE_SEGMENT", "REPARAMETRISED_COMPOSITE_CURVE_SEGMENT")
		if err != nil {
			return nil, err
		}
		same, of := s.Bool(1), s.Ref(2)
		if s.Err() != nil {
			return nil, s.Err()
		}
		c, turned, err := g.curve(of, depth+1, asTrimmed)
		if err != nil {
			return nil, err
		}
		if same == turned {
			t0, t1 := c.Domain()
			if c, err = curve.NewTrimmed(c, t1, t0); err != nil {
				return nil, err
			}
		}
		parts = append(parts, c)
	}
	if p.Err() != nil {
		return nil, p.Err()
	}
	return curve.NewComposite(parts)
}

// splineCurves are the entities that any B-spline curve is an instance of.
var splineCurves = []string{
	"B_SPLINE_CURVE_WITH_KNOTS", "B_SPLINE_CURVE", "BEZIER_CURVE", "UNIFORM_CURVE",
	"QUASI_UNIFORM_CURVE", "RATIONAL_B_SPLINE_CURVE",
}

// splineCurve reads a B-spline curve in any form: simple or complex, with
// knots or with a rule for them, rational or not.
func (g *geometry) splineCurve(rec p21.Record) (curve.Curve, error) {
	base, k := rec.Params(), 1 // attributes of B_SPLINE_CURVE start behind the name
	if rec.IsComplex() {
		base, _ = rec.Leaf("B_SPLINE_CURVE")
		k = 0
	}
	degree := base.Int(k)
	poles, err := g.points(base.Refs(k+1, nil))
	closed, _ := base.Value(k + 3).Bool()
	if base.Err() != nil {
		return nil, base.Err()
	}
	if err != nil {
		return nil, err
	}
	var weights []float64
	if w, at, ok := leafBehind(rec, "RATIONAL_B_SPLINE_CURVE", k+5); ok {
		if weights = w.Reals(at, nil); w.Err() != nil {
			return nil, w.Err()
		}
	}
	var knots []float64
	if kn, at, ok := leafBehind(rec, "B_SPLINE_CURVE_WITH_KNOTS", k+5); ok {
		mult, values := kn.Ints(at, nil), kn.Reals(at+1, nil)
		if kn.Err() != nil {
			return nil, kn.Err()
		}
		knots, err = expandKnots(mult, values, len(poles), degree)
	} else {
		knots, err = ruleKnots(rec, "CURVE", len(poles), degree)
	}
	if err != nil {
		return nil, err
	}
	return curve.NewBSpline(degree, poles, weights, knots, closed)
}

// leafBehind finds the attributes that an entity adds: from the first
// parameter in its leaf of a complex instance, behind the inherited ones in a
// simple one.
func leafBehind(rec p21.Record, name string, inherited int) (p21.Params, int, bool) {
	p, ok := rec.Leaf(name)
	if !ok {
		return p, 0, false
	}
	if rec.IsComplex() {
		return p, 0, true
	}
	return p, inherited, true
}

// expandKnots repeats each knot by its multiplicity, after mending what can be
// meant in one way only.
func expandKnots(mult []int, values []float64, poles, degree int) ([]float64, error) {
	if len(mult) != len(values) || len(mult) < 2 {
		return nil, fmt.Errorf("%d multiplicities for %d knots", len(mult), len(values))
	}
	want, sum := poles+degree+1, 0
	for _, m := range mult {
		if m < 1 || m > want {
			return nil, fmt.Errorf("knot multiplicity %d", m)
		}
		sum += m
	}
	if sum = mendEnds(mult, degree, sum, want); sum != want {
		return nil, fmt.Errorf("%d knots for %d poles of degree %d: want %d", sum, poles, degree, want)
	}
	level(values)
	out := make([]float64, 0, want)
	for i, m := range mult {
		for range m {
			out = append(out, values[i])
		}
	}
	return out, nil
}

// mendEnds clamps ends that are one short on both sides, as some systems write
// them, and ends that have more than degree+1 where that many are too many.
func mendEnds(mult []int, degree, sum, want int) int {
	last := len(mult) - 1
	if sum == want-2 && mult[0] == degree && mult[last] == degree {
		mult[0]++
		mult[last]++
		return want
	}
	for _, k := range [2]int{0, last} {
		if over := min(mult[k]-degree-1, sum-want); over > 0 {
			mult[k] -= over
			sum -= over
		}
	}
	return sum
}

// level raises knots that fall behind the one before by rounding only.
func level(values []float64) {
	const rounding = 1e-9 // of the whole range
	slack := rounding * math.Abs(values[len(values)-1]-values[0])
	for i := 1; i < len(values); i++ {
		if d := values[i-1] - values[i]; d > 0 && d <= slack {
			values[i] = values[i-1]
		}
	}
}

// ruleKnots makes the knots of forms that leave them to a rule: kind is CURVE
// or SURFACE (ISO 10303-42, uniform_curve, quasi_uniform_curve, bezier_curve).
func ruleKnots(rec p21.Record, kind string, poles, degree int) ([]float64, error) {
	n := poles + degree + 1
	if degree < 1 || poles < degree+1 {
		return nil, fmt.Errorf("%d poles for degree %d", poles, degree)
	}
	out := make([]float64, n)
	for i := range out {
		switch {
		case rec.Is("UNIFORM_" + kind):
			out[i] = float64(i - degree)
		case rec.Is("BEZIER_" + kind):
			if (poles-1)%degree != 0 {
				return nil, fmt.Errorf("%d poles do not make Bézier pieces of degree %d", poles, degree)
			}
			out[i] = float64(min(max(0, (i-1)/degree), (poles-1)/degree))
		default: // quasi-uniform, and what says nothing at all
			out[i] = float64(min(max(0, i-degree), poles-degree))
		}
	}
	return out, nil
}
