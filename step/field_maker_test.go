package step

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mass"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
)

type vec = mgl64.Vec3

var ex, ey, ez = vec{1, 0, 0}, vec{0, 1, 0}, vec{0, 0, 1}

func (m *maker) vertex(p vec) string {
	return m.add("VERTEX_POINT('',%s)", m.point(p[0], p[1], p[2]))
}

func (m *maker) edge(curve, a, b string, same bool) string {
	return m.add("EDGE_CURVE('',%s,%s,%s,%s)", a, b, curve, tf(same))
}

func (m *maker) line(p, q vec) string {
	d := q.Sub(p)
	return m.add("LINE('',%s,%s)", m.point(p[0], p[1], p[2]), m.add("VECTOR('',%s,1.)", m.dir(d[0], d[1], d[2])))
}

// straight is an edge from p to q with vertices of its own.
func (m *maker) straight(p, q vec) string {
	return m.edge(m.line(p, q), m.vertex(p), m.vertex(q), true)
}

func (m *maker) circle(o, z, x vec, r float64) string {
	return m.add("CIRCLE('',%s,%s)", m.place(o, z, x), num(r))
}

// ring is a full circle about z that starts at angle 0; the circle's own zero
// lies at the angle zero.
func (m *maker) ring(r, z, zero float64) string {
	s, c := math.Sincos(zero)
	v := m.vertex(vec{r, 0, z})
	return m.edge(m.circle(vec{0, 0, z}, ez, vec{c, s, 0}, r), v, v, true)
}

// loop lists edges as "#5", or "-#5" where they are used in reverse.
func (m *maker) loop(uses ...string) string {
	var list []string
	for _, u := range uses {
		e, back := strings.CutPrefix(u, "-")
		list = append(list, m.add("ORIENTED_EDGE('',*,*,%s,%s)", e, tf(!back)))
	}
	return m.add("EDGE_LOOP('',(%s))", strings.Join(list, ","))
}

func (m *maker) bound(loop string) string { return m.add("FACE_BOUND('',%s,.T.)", loop) }

// face is one with loops; none of them is marked as the outer one.
func (m *maker) face(surface string, same bool, loops ...string) string {
	var list []string
	for _, l := range loops {
		list = append(list, m.bound(l))
	}
	return m.add("ADVANCED_FACE('',(%s),%s,%s)", strings.Join(list, ","), surface, tf(same))
}

func (m *maker) plane(o, z vec) string {
	x := ex
	if z.Cross(x).Len() < 0.1 {
		x = ey
	}
	return m.add("PLANE('',%s)", m.place(o, z, x))
}

func (m *maker) cylinder(r float64) string {
	return m.add("CYLINDRICAL_SURFACE('',%s,%s)", m.at(0, 0, 0), num(r))
}

func (m *maker) sphere(r float64) string {
	return m.add("SPHERICAL_SURFACE('',%s,%s)", m.at(0, 0, 0), num(r))
}

func (m *maker) solid(faces ...string) string {
	return m.add("MANIFOLD_SOLID_BREP('',%s)", m.add("CLOSED_SHELL('',(%s))", strings.Join(faces, ",")))
}

// degrees is a context of mm and degrees.
func (m *maker) degrees() string {
	rad := m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	f := m.add("PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(%s),%s)", num(math.Pi/180), rad)
	deg := m.add("(CONVERSION_BASED_UNIT('DEGREE',%s)NAMED_UNIT(*)PLANE_ANGLE_UNIT())", f)
	mm := m.add(unitMM)
	return m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((%s,%s))REPRESENTATION_CONTEXT('',''))", mm, deg)
}

// outcome is a body that went all the way from text to mesh.
type outcome struct {
	asm    *Assembly
	body   *brep.Body
	mesh   *mesh.Mesh
	faults []tess.Fault
	props  mass.Properties
}

// fine is close enough for closed forms to four digits and more.
var fine = geom.Tolerance{Chord: 0.01, Angle: 0.2}

// through reads the text with one solid in it and meshes that.
func (m *maker) through(t testing.TB, solid string) outcome { return m.throughIn(t, "", solid) }

// throughIn takes a context other than that of mm and radians.
func (m *maker) throughIn(t testing.TB, ctx, solid string) outcome {
	t.Helper()
	if ctx == "" {
		ctx = m.context(unitMM)
	}
	m.shape(m.product("p"), ctx, solid)
	o := outcome{asm: m.read(t)}
	bodies := o.asm.Parts[0].Bodies
	if len(bodies) == 0 {
		t.Fatalf("no body; skips %v", o.asm.Skips)
	}
	o.body = bodies[0]
	meshes, faults := tess.Bodies(context.Background(), bodies[:1], fine, 1)
	o.mesh, o.faults = meshes[0], faults[0]
	o.props = mass.Of(o.body, o.mesh)
	return o
}

// told are all words about what was mended or left out.
func (o *outcome) told() string {
	var s []string
	for _, k := range o.asm.Skips {
		s = append(s, fmt.Sprintf("#%d: %s", k.Tag, k.Why))
	}
	for _, f := range o.faults {
		s = append(s, fmt.Sprintf("#%d: %s (repaired %v)", f.Tag, f.Why, f.Repaired))
	}
	return strings.Join(s, "\n")
}

// sound wants a closed body of the given size, read without a word.
func (o *outcome) sound(t testing.TB, volume, area float64) {
	t.Helper()
	if s := o.told(); s != "" {
		t.Errorf("told of faults:\n%s", s)
	}
	o.holds(t, volume, area)
}

// mended wants a closed body of the given size, and to be told why not at once.
func (o *outcome) mended(t testing.TB, volume, area float64, why string) {
	t.Helper()
	o.says(t, why)
	for _, f := range o.faults {
		if !f.Repaired {
			t.Errorf("#%d is not repaired: %s", f.Tag, f.Why)
		}
	}
	o.holds(t, volume, area)
}

func (o *outcome) says(t testing.TB, why string) {
	t.Helper()
	if s := o.told(); !strings.Contains(s, why) {
		t.Errorf("nothing says %q:\n%s", why, s)
	}
}

// holds wants a closed mesh with the volume and the area (not looked at when
// 0) to a thousandth.
func (o *outcome) holds(t testing.TB, volume, area float64) {
	t.Helper()
	if err := o.mesh.Check(); err != nil || !o.mesh.IsClosed() {
		t.Errorf("closed %v, %v:\n%s", o.mesh.IsClosed(), err, o.told())
	}
	if math.Abs(o.props.Volume-volume) > 1e-3*volume || math.Abs(o.mesh.Volume()-volume) > 2e-2*volume {
		t.Errorf("volume %.9g mm³ (of the mesh %.6g), want %.9g", o.props.Volume, o.mesh.Volume(), volume)
	}
	if area > 0 && math.Abs(o.props.Area-area) > 1e-3*area {
		t.Errorf("area %.9g mm², want %.9g", o.props.Area, area)
	}
}

// open wants a mesh with triangles that does not close.
func (o *outcome) open(t testing.TB, why string) {
	t.Helper()
	if o.mesh.IsClosed() || len(o.mesh.Triangles) == 0 {
		t.Errorf("closed %v with %d triangles, want an open mesh", o.mesh.IsClosed(), len(o.mesh.Triangles))
	}
	if why != "" {
		o.says(t, why)
	}
}
