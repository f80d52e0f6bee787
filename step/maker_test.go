package step

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
)

// maker writes small STEP texts for tests, record by record.
type maker struct {
	b strings.Builder
	n int
}

// add writes a record and returns its reference.
func (m *maker) add(format string, args ...any) string {
	m.n++
	id := fmt.Sprintf("#%d", m.n)
	fmt.Fprintf(&m.b, "%s=%s;\n", id, fmt.Sprintf(format, args...))
	return id
}

func (m *maker) text() []byte {
	return []byte("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','2020-01-01T00:00:00',(''),(''),'pre','sys','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\nENDSEC;\nDATA;\n" + m.b.String() + "ENDSEC;\nEND-ISO-10303-21;\n")
}

func (m *maker) read(t testing.TB) *Assembly {
	t.Helper()
	a, err := Read(context.Background(), "test.stp", m.text(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (m *maker) point(x, y, z float64) string {
	return m.add("CARTESIAN_POINT('',(%s,%s,%s))", num(x), num(y), num(z))
}

func (m *maker) dir(x, y, z float64) string {
	return m.add("DIRECTION('',(%s,%s,%s))", num(x), num(y), num(z))
}

// num writes a real with its point, as the standard wants.
func num(x float64) string {
	s := fmt.Sprintf("%.17g", x)
	if digits, exp, _ := strings.Cut(s, "e"); !strings.Contains(digits, ".") {
		if s = digits + "."; exp != "" {
			s += "E" + exp
		}
	}
	return strings.ToUpper(s)
}

// place writes a placement.
func (m *maker) place(o, z, x mgl64.Vec3) string {
	return m.add("AXIS2_PLACEMENT_3D('',%s,%s,%s)", m.point(o[0], o[1], o[2]), m.dir(z[0], z[1], z[2]), m.dir(x[0], x[1], x[2]))
}

func (m *maker) at(x, y, z float64) string {
	return m.place(mgl64.Vec3{x, y, z}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0})
}

const (
	unitMM = "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))"
	unitM  = "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.))"
)

// inch writes the conversion unit and returns it.
func (m *maker) inch() string {
	mm := m.add(unitMM)
	f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),%s)", mm)
	return m.add("(CONVERSION_BASED_UNIT('INCH',%s)LENGTH_UNIT()NAMED_UNIT(*))", f)
}

// context writes a context of a length unit (a record's text or reference).
func (m *maker) context(unit string) string {
	if !strings.HasPrefix(unit, "#") {
		unit = m.add("%s", unit)
	}
	rad := m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	unc := m.add("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-4),%s,'distance_accuracy_value','')", unit)
	return m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((%s))GLOBAL_UNIT_ASSIGNED_CONTEXT((%s,%s))REPRESENTATION_CONTEXT('',''))", unc, unit, rad)
}

// product writes a product and returns its definition.
func (m *maker) product(name string) string {
	p := m.add("PRODUCT('%s-id','%s','',())", name, name)
	f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", p)
	return m.add("PRODUCT_DEFINITION('design','',%s,$)", f)
}

// shape gives a product a representation.
func (m *maker) shape(pd, ctx string, items ...string) string {
	r := m.add("SHAPE_REPRESENTATION('',(%s),%s)", strings.Join(items, ","), ctx)
	s := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", pd)
	m.add("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", s, r)
	return r
}

// use writes an occurrence without a placement.
func (m *maker) use(name, parent, child string) string {
	return m.add("NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','%s','',%s,%s,$)", name, parent, child)
}

// tie ties two representations for an occurrence.
func (m *maker) tie(nauo, rep1, rep2, item1, item2 string) {
	idt := m.add("ITEM_DEFINED_TRANSFORMATION('','',%s,%s)", item1, item2)
	rr := m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)SHAPE_REPRESENTATION_RELATIONSHIP())", rep1, rep2, idt)
	pds := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", nauo)
	m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, pds)
}

// flags choose how a box is written; every choice means the same box.
type flags struct {
	edgeBack  func(edge int) bool // line against the edge, same_sense .F.
	boundBack func(face int) bool // loop listed backwards, bound .F.
	faceBack  func(face int) bool // plane's normal inward, same_sense .F.
	shellBack bool                // faces inside out in an oriented shell .F.
}

func never(int) bool { return false }

var plain = flags{never, never, never, false}

// boxCorners of a box: x fastest.
func boxCorner(lo, hi mgl64.Vec3, i int) mgl64.Vec3 {
	p := lo
	for k := range 3 {
		if i>>k&1 == 1 {
			p[k] = hi[k]
		}
	}
	return p
}

// boxFaces are the corners of each side, anticlockwise from outside.
var boxFaces = [6][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}}

// shell writes the closed shell of a box.
func (m *maker) shell(lo, hi mgl64.Vec3, f flags) string {
	var v [8]string
	for i := range v {
		p := boxCorner(lo, hi, i)
		v[i] = m.add("VERTEX_POINT('',%s)", m.point(p[0], p[1], p[2]))
	}
	edges := map[[2]int]string{}
	edge := func(a, b int) (string, bool) {
		if e, ok := edges[[2]int{b, a}]; ok {
			return e, false
		}
		p, q := boxCorner(lo, hi, a), boxCorner(lo, hi, b)
		d, same := q.Sub(p), ".T."
		if f.edgeBack(len(edges)) {
			d, same = p.Sub(q), ".F."
		}
		l := m.add("LINE('',%s,%s)", m.point(p[0], p[1], p[2]), m.add("VECTOR('',%s,1.)", m.dir(d[0], d[1], d[2])))
		e := m.add("EDGE_CURVE('',%s,%s,%s,%s)", v[a], v[b], l, same)
		edges[[2]int{a, b}] = e
		return e, true
	}
	var faces []string
	for k, c := range boxFaces {
		var loop []string
		turn := f.boundBack(k) != f.shellBack
		for i := range 4 {
			e, fwd := edge(c[i], c[(i+1)%4])
			loop = append(loop, m.add("ORIENTED_EDGE('',*,*,%s,%s)", e, tf(fwd != turn)))
		}
		if turn {
			loop[0], loop[1], loop[2], loop[3] = loop[3], loop[2], loop[1], loop[0]
		}
		b := m.add("FACE_OUTER_BOUND('',%s,%s)", m.add("EDGE_LOOP('',(%s))", strings.Join(loop, ",")), tf(!f.boundBack(k)))
		p0, p1, p2 := boxCorner(lo, hi, c[0]), boxCorner(lo, hi, c[1]), boxCorner(lo, hi, c[2])
		n := p1.Sub(p0).Cross(p2.Sub(p1))
		if f.faceBack(k) != f.shellBack {
			n = n.Mul(-1)
		}
		plane := m.add("PLANE('',%s)", m.place(p0, n, p1.Sub(p0)))
		faces = append(faces, m.add("ADVANCED_FACE('',(%s),%s,%s)", b, plane, tf(!f.faceBack(k))))
	}
	s := m.add("CLOSED_SHELL('',(%s))", strings.Join(faces, ","))
	if f.shellBack {
		s = m.add("ORIENTED_CLOSED_SHELL('',*,%s,.F.)", s)
	}
	return s
}

func tf(b bool) string {
	if b {
		return ".T."
	}
	return ".F."
}

// box writes a solid with one corner at the origin.
func (m *maker) box(x, y, z float64) string {
	return m.add("MANIFOLD_SOLID_BREP('',%s)", m.shell(mgl64.Vec3{}, mgl64.Vec3{x, y, z}, plain))
}

// flatVolume is the volume of a body with plane faces and straight edges from
// its loops alone (divergence theorem over the fans of each loop).
func flatVolume(b *brep.Body) float64 {
	v := 0.0
	for i := range b.Faces {
		for _, l := range b.Faces[i].Loops {
			p := loopPoints(b, l)
			for k := 2; k < len(p); k++ {
				v += p[0].Dot(p[k-1].Cross(p[k])) / 6
			}
		}
	}
	return v
}

func loopPoints(b *brep.Body, l brep.Loop) []mgl64.Vec3 {
	var p []mgl64.Vec3
	for _, c := range l.Coedges {
		from, _ := ends(b, c)
		p = append(p, b.Vertices[from].P)
	}
	return p
}

// normalsAgree reports that the outward normal of each plane face is on the
// side that its loops turn round.
func normalsAgree(b *brep.Body) bool {
	for i := range b.Faces {
		f := &b.Faces[i]
		n := f.Surface.Normal(0, 0)
		if !f.SameSense {
			n = n.Mul(-1)
		}
		turn := mgl64.Vec3{}
		for _, l := range f.Loops {
			p := loopPoints(b, l)
			for k := 2; k < len(p); k++ {
				turn = turn.Add(p[k-1].Sub(p[0]).Cross(p[k].Sub(p[0])))
			}
		}
		if n.Dot(turn) <= 0 {
			return false
		}
	}
	return true
}

// linesAgree reports that each straight edge runs as its flag says.
func linesAgree(b *brep.Body) bool {
	for i := range b.Edges {
		e := &b.Edges[i]
		d, _ := e.Curve.Derivatives(0)
		if !e.SameSense {
			d = d.Mul(-1)
		}
		if d.Dot(b.Vertices[e.End].P.Sub(b.Vertices[e.Start].P)) <= 0 {
			return false
		}
	}
	return true
}

// vertexBox is the box of a body's corners under a placement.
func vertexBox(b *brep.Body, t geom.Transform) geom.Box {
	box := geom.EmptyBox()
	for _, v := range b.Vertices {
		box = box.Add(t.Point(v.P))
	}
	return box
}
