package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
)

// unitBox is a part of 1 × 2 × 3 units and the box it comes to.
func unitBox(t *testing.T, context func(m *maker) string) *Assembly {
	t.Helper()
	var m maker
	m.shape(m.product("p"), context(&m), m.box(1, 2, 3))
	return m.read(t)
}

// contextOf writes a context of the given units.
func (m *maker) contextOf(units ...string) string {
	return m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((%s))REPRESENTATION_CONTEXT('',''))", strings.Join(units, ","))
}

// conversion writes a conversion unit of length.
func (m *maker) conversion(name string, factor float64, of string) string {
	f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(%s),%s)", num(factor), of)
	return m.add("(CONVERSION_BASED_UNIT('%s',%s)LENGTH_UNIT()NAMED_UNIT(*))", name, f)
}

// Every prefix of SI_UNIT, in the complex form, the simple form and without one.
func TestPrefixes(t *testing.T) {
	powers := map[string]int{ // of ten, ISO 1000
		"$": 0, ".DECA.": 1, ".HECTO.": 2, ".KILO.": 3, ".DECI.": -1, ".CENTI.": -2, ".MILLI.": -3, ".MICRO.": -6,
	}
	for prefix, power := range powers {
		for _, form := range []string{"(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(%s,.METRE.))", "SI_UNIT(*,%s,.METRE.)"} {
			a := unitBox(t, func(m *maker) string { return m.context(fmt.Sprintf(form, prefix)) })
			noSkips(t, a)
			got := vertexBox(a.Parts[0].Bodies[0], a.Occurrences[0].Placement).Max
			want := mgl64.Vec3{1, 2, 3}.Mul(math.Pow10(3 + power))
			if got.Sub(want).Len() > 1e-12*want.Len() {
				t.Errorf(form+": corner at %v, want %v", prefix, got, want)
			}
		}
	}
	// A terametre is legal and out of all bounds: no corner of it is believed.
	a := unitBox(t, func(m *maker) string { return m.context("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.TERA.,.METRE.))") })
	if a.SolidCount() != 0 || len(a.Skips) == 0 {
		t.Errorf("%d solids of terametres, skips %v", a.SolidCount(), a.Skips)
	}
}

func TestConversionUnits(t *testing.T) {
	inch := func(m *maker) string { return m.inch() }
	cases := []struct {
		name  string
		unit  func(m *maker) string
		mm    float64
		shown string
		skip  string
	}{
		{"foot", func(m *maker) string { return m.conversion("FOOT", 304.8, m.add(unitMM)) }, 304.8, "foot", ""},
		{"foot of inches", func(m *maker) string { return m.conversion("foot", 12, inch(m)) }, 304.8, "foot", ""},
		{"IN of centimetres", func(m *maker) string {
			return m.conversion("IN", 2.54, m.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.CENTI.,.METRE.))"))
		}, 25.4, "inch", ""},
		{"measure as a complex instance", func(m *maker) string {
			f := m.add("(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),%s))", m.add(unitMM))
			return m.add("(CONVERSION_BASED_UNIT('inch',%s)LENGTH_UNIT()NAMED_UNIT(*))", f)
		}, 25.4, "inch", ""},
		// The figure counts and not the name, and that is said.
		{"inch of 2.54", func(m *maker) string { return m.conversion("INCH", 2.54, m.add(unitMM)) }, 2.54, "INCH", "unit \"INCH\" is given as 2.54 mm where its name says 25.4"},
		{"millimetre of 25.4", func(m *maker) string { return m.conversion("mm", 25.4, m.add(unitMM)) }, 25.4, "inch", "where its name says 1"},
		{"negative factor", func(m *maker) string { return m.conversion("INCH", -25.4, m.add(unitMM)) }, 1, "mm", "without a positive factor"},
		{"factor beyond numbers", func(m *maker) string { return m.conversion("X", 1e308, m.add(unitM)) }, 1, "mm", "without a positive factor"},
		{"a length of an angle", func(m *maker) string {
			return m.conversion("INCH", 25.4, m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))"))
		}, 1, "mm", "without a positive factor"},
		{"a chain that is too long", func(m *maker) string {
			u := m.add(unitMM)
			for range 50 {
				u = m.conversion("X", 1, u)
			}
			return u
		}, 1, "mm", "without a positive factor"},
		{"two units of each other", func(m *maker) string {
			return m.conversion("B", 1, m.conversion("A", 1, fmt.Sprintf("#%d", m.n+4)))
		}, 1, "mm", "without a positive factor"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := unitBox(t, func(m *maker) string { return m.contextOf(c.unit(m)) })
			wantOutline(t, a, fmt.Sprintf("p [0 0 0] %v\n", round(mgl64.Vec3{c.mm, 2 * c.mm, 3 * c.mm})))
			if a.Source.LengthUnit != c.shown {
				t.Errorf("unit %q, want %q", a.Source.LengthUnit, c.shown)
			}
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

// No length unit among units, and two of them.
func TestContextsWithOddUnits(t *testing.T) {
	rad := "(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))"
	a := unitBox(t, func(m *maker) string { return m.contextOf(m.add("%s", rad)) })
	wantOutline(t, a, "p [0 0 0] [1 2 3]\n")
	wantSkip(t, a, "context without a length unit: lengths are taken for mm")
	a = unitBox(t, func(m *maker) string { return m.contextOf(m.inch(), m.add(unitM)) })
	wantOutline(t, a, "p [0 0 0] [25.4 50.8 76.2]\n")
	wantSkip(t, a, "second length unit")
	a = unitBox(t, func(m *maker) string { return m.contextOf("#99999", m.inch()) })
	wantOutline(t, a, "p [0 0 0] [25.4 50.8 76.2]\n")
	wantSkip(t, a, "unit that is not in the file")
}

// Three levels in three units: the top in metres, the group in inches, the part
// in millimetres. Each translation counts in the unit of the representation that
// owns its placement, and no basis is scaled.
func TestThreeUnitsInOneTree(t *testing.T) {
	var m maker
	top, group, part := m.product("top"), m.product("group"), m.product("part")
	inTop, inGroup := m.at(1, 0, 0), m.place(mgl64.Vec3{0, 2, 0}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0})
	groupOrigin, partOrigin := m.at(0, 0, 3), m.at(0, 0, 0)
	topRep := m.shape(top, m.context(unitM), inTop)
	groupRep := m.shape(group, m.context(m.inch()), groupOrigin, inGroup)
	partRep := m.shape(part, m.context(unitMM), partOrigin, m.box(10, 20, 30))
	m.tie(m.use("g", top, group), groupRep, topRep, groupOrigin, inTop)
	m.tie(m.use("p", group, part), partRep, groupRep, partOrigin, inGroup)
	a := m.read(t)
	// In the group: x of the part along y, y along -x, from (0, 50.8, 0) mm:
	// [-20 50.8 0] to [0 60.8 30]. The group's (0, 0, 76.2) comes to (1000, 0, 0).
	wantOutline(t, a, "top\n g of group\n  p of part [980 50.8 -76.2] [1000 60.8 -46.2]\n")
	noSkips(t, a)
	for i, o := range a.Occurrences {
		if !o.Placement.IsRigid() {
			t.Errorf("occurrence %d is scaled: %v", i, o.Placement)
		}
	}
	if a.Source.LengthUnit != "m" {
		t.Errorf("unit %q, want the root's", a.Source.LengthUnit)
	}
}

// One mapped piece in inches inside of a part in millimetres.
func TestMappedPieceInOtherUnits(t *testing.T) {
	var m maker
	origin := m.at(1, 0, 0)
	piece := m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", origin, m.box(1, 1, 1), m.context(m.inch()))
	item := m.add("MAPPED_ITEM('',%s,%s)", m.add("REPRESENTATION_MAP(%s,%s)", origin, piece), m.at(100, 0, 0))
	m.shape(m.product("p"), m.context(unitMM), item)
	wantOutline(t, m.read(t), "p\n p [74.6 0 0] [100 25.4 25.4]\n")
}

// degreesOf writes a unit of plane angle of the given size in radians.
func (m *maker) degreesOf(size float64) string {
	one := m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	f := m.add("PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(%s),%s)", num(size), one)
	return m.add("(CONVERSION_BASED_UNIT('DEGREE',%s)NAMED_UNIT(*)PLANE_ANGLE_UNIT())", f)
}

// A unit of angle works on the semi-angle of a cone and on nothing else of a
// surface; its figure counts and not its name.
func TestAngleUnitOfCones(t *testing.T) {
	for _, c := range []struct {
		size, angle float64
		skip        string
	}{
		{math.Pi / 180, 45, ""},
		{0.0174532925, 45, ""}, // as one kernel writes it
		{1, math.Pi / 4, "unit \"DEGREE\" is given as 1 rad"},
	} {
		var m maker
		ctx := m.contextOf(m.add(unitMM), m.degreesOf(c.size))
		var faces []string
		for _, s := range []string{
			m.add("CONICAL_SURFACE('',%s,1.,%s)", m.at(0, 0, 0), num(c.angle)),
			m.add("TOROIDAL_SURFACE('',%s,5.,1.)", m.at(0, 0, 0)),
			m.add("CYLINDRICAL_SURFACE('',%s,2.)", m.at(0, 0, 0)),
		} {
			faces = append(faces, m.add("ADVANCED_FACE('',(),%s,.T.)", s))
		}
		sh := m.add("OPEN_SHELL('',(%s))", strings.Join(faces, ","))
		m.shape(m.product("p"), ctx, m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", sh))
		a := m.read(t)
		b := a.Parts[0].Bodies[0]
		if len(b.Faces) != 3 {
			t.Fatalf("%d faces, skips %v", len(b.Faces), a.Skips)
		}
		for i, p := range []mgl64.Vec3{{2, 0, 1}, {6, 0, 0}, {0, 2, 7}} {
			if d := offSurface(b.Faces[i].Surface, p); d > 1e-7 {
				t.Errorf("unit of %g rad: %v is %g mm off surface %d", c.size, p, d, i)
			}
		}
		if c.skip != "" {
			wantSkip(t, a, c.skip)
		}
	}
}

// A line's parameter is a length of its vector, whatever the angles are in.
func TestAngleUnitLeavesLinesAlone(t *testing.T) {
	c, _, err := oneCurve(t, asTrimmed, math.Pi/180, func(m *maker) string {
		line := m.add("LINE('',%s,%s)", m.point(0, 0, 0), m.add("VECTOR('',%s,2.)", m.dir(1, 0, 0)))
		return m.add("TRIMMED_CURVE('',%s,(PARAMETER_VALUE(1.)),(PARAMETER_VALUE(3.)),.T.,.PARAMETER.)", line)
	})
	if err != nil {
		t.Fatal(err)
	}
	t0, t1 := c.Domain()
	for _, w := range []struct{ t, x float64 }{{t0, 2}, {t1, 6}} {
		if got := c.Point(w.t); got.Sub(mgl64.Vec3{w.x, 0, 0}).Len() > 1e-12 {
			t.Errorf("at %g: %v, want x = %g", w.t, got, w.x)
		}
	}
}

// Uncertainties in the context's unit: the least length counts, angles do not,
// and what is no uncertainty is held at a hundredth of the body, here of 1 × 2 ×
// 3 units.
func TestUncertainty(t *testing.T) {
	cases := []struct {
		name, values string // of LENGTH_MEASURE in the context's unit
		inch         bool
		want         float64
	}{
		{"usual", "1.E-5", false, 1e-5},
		{"in inches", "1.E-5", true, 2.54e-4},
		{"the least of two", "1.E-3,1.E-6", false, 1e-6},
		{"wild", "1.E300", false, math.Sqrt(14) / 100},
		{"as large as the model", "3.", false, math.Sqrt(14) / 100},
		{"wild, of a large body", "1.E300", true, 0.1},
		{"zero", "0.", false, 0},
		{"negative", "-1.", false, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := unitBox(t, func(m *maker) string {
				unit := m.add(unitMM)
				if c.inch {
					unit = m.inch()
				}
				rad := m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
				unc := []string{m.add("UNCERTAINTY_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(1.E-9),%s,'angle','')", rad)}
				for _, v := range strings.Split(c.values, ",") {
					unc = append(unc, m.add("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(%s),%s,'distance_accuracy_value','')", v, unit))
				}
				return m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((%s))GLOBAL_UNIT_ASSIGNED_CONTEXT((%s,%s))REPRESENTATION_CONTEXT('',''))", strings.Join(unc, ","), unit, rad)
			})
			if got := a.Parts[0].Bodies[0].Uncertainty; math.Abs(got-c.want) > 1e-12*c.want {
				t.Errorf("uncertainty %g mm, want %g", got, c.want)
			}
		})
	}
}

// An exponent of 0 in a derived unit makes its figure unknown; millimetres and
// metres to the right power are read (hand-made volume of 6 mm³).
func TestDerivedUnits(t *testing.T) {
	for _, c := range []struct {
		unit, exponent, value string
		want                  float64
	}{
		{unitMM, "3.", "6.", 6}, {unitM, "3.", "6.E-9", 6}, {unitMM, "0.", "6.", 0}, {unitMM, "2.", "6.", 0},
	} {
		var m maker
		part := m.product("p")
		ctx := m.context(unitMM)
		m.shape(part, ctx, m.box(1, 2, 3))
		unit := m.add("DERIVED_UNIT((%s))", m.add("DERIVED_UNIT_ELEMENT(%s,%s)", m.add("%s", c.unit), c.exponent))
		item := m.add("MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(%s),%s)", c.value, unit)
		prop := m.add("PROPERTY_DEFINITION('geometric validation property','',%s)", part)
		m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", prop, m.add("REPRESENTATION('',(%s),%s)", item, ctx))
		if got := m.read(t).Parts[0].Declared.Volume; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v: volume %g", c, got)
		}
	}
}

// That mm were assumed is known of the whole file, whichever part lacks its unit
// and even though the root has one.
func TestUnitAssumed(t *testing.T) {
	bare := func(m *maker) string {
		return m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)REPRESENTATION_CONTEXT('',''))")
	}
	for _, c := range []struct {
		name      string
		root, sub func(m *maker) string
		unit      string
		want      bool
	}{
		{"both", (*maker).inches, (*maker).inches, "inch", false},
		{"neither", bare, bare, "mm", true},
		{"root alone", (*maker).inches, bare, "inch", true},
		{"without a factor", (*maker).inches, func(m *maker) string { return m.contextOf(m.conversion("INCH", 0, m.add(unitMM))) }, "inch", true},
	} {
		var m maker
		asm, part := m.product("asm"), m.product("part")
		m.shape(asm, c.root(&m), m.at(0, 0, 0))
		m.shape(part, c.sub(&m), m.box(1, 2, 3))
		m.use("it", asm, part)
		a := m.read(t)
		if a.Source.UnitAssumed != c.want || a.Source.LengthUnit != c.unit {
			t.Errorf("%s: unit %q, assumed %v; want %q, %v", c.name, a.Source.LengthUnit, a.Source.UnitAssumed, c.unit, c.want)
		}
	}
}

func (m *maker) inches() string { return m.context(m.inch()) }
