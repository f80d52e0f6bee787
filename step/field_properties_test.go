package step

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
)

// validation ties figures to a product, its shape or its use.
func (m *maker) validation(kind, of, ctx, name string, items ...string) {
	def := m.add("PROPERTY_DEFINITION('%s','',%s)", kind, of)
	m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", def, m.add("REPRESENTATION('%s',(%s),%s)", name, strings.Join(items, ","), ctx))
}

const (
	geometric = "geometric validation property"
	assembly  = "assembly validation property"
)

// derived writes a derived unit of pairs of a unit and its exponent.
func (m *maker) derived(parts ...string) string {
	var elements []string
	for i := 0; i < len(parts); i += 2 {
		elements = append(elements, m.add("DERIVED_UNIT_ELEMENT(%s,%s)", parts[i], parts[i+1]))
	}
	return m.add("DERIVED_UNIT((%s))", strings.Join(elements, ","))
}

func (m *maker) kilogram() string {
	return m.add("(MASS_UNIT()NAMED_UNIT(*)SI_UNIT(.KILO.,.GRAM.))")
}

func (m *maker) gram() string { return m.add("(MASS_UNIT()NAMED_UNIT(*)SI_UNIT($,.GRAM.))") }

func wantNear(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want))) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

// Field notes section 8: names vary, and the unit stands in the measure item and
// may be another than that of the shape. A box of 1 × 2 × 3 inch has
// 6 · 25.4³ mm³ and 22 · 25.4² mm².
func TestFieldValidationNamesAndUnits(t *testing.T) {
	const volume, area = 6 * 25.4 * 25.4 * 25.4, 22 * 25.4 * 25.4
	for _, c := range []struct{ name, volume, area, centre string }{
		{"of the practice", "volume measure", "surface area measure", "centre point"},
		{"short", "volume", "area", "center point"},
		{"wetted", "Volume of solid", "wetted area measure", "centroid"},
		{"nameless items", "", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			part, mm := m.product("p"), m.add(unitMM)
			ctx := m.context(m.inch())
			m.shape(part, ctx, m.box(1, 2, 3))
			m.validation(geometric, part, ctx, "volume", m.add("MEASURE_REPRESENTATION_ITEM('%s',VOLUME_MEASURE(%s),%s)", c.volume, num(volume), m.derived(mm, "3.")))
			m.validation(geometric, m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", part), ctx, "surface area",
				m.add("(AREA_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(AREA_MEASURE(22.),%s)REPRESENTATION_ITEM('%s'))", m.derived(m.inch(), "2."), c.area))
			m.validation(strings.ToUpper(geometric), part, ctx, "centroid", m.add("CARTESIAN_POINT('%s',(0.5,1.,1.5))", c.centre))
			d := m.read(t).Parts[0].Declared
			wantNear(t, "volume", d.Volume, volume)
			wantNear(t, "area", d.Area, area)
			if want := (mgl64.Vec3{12.7, 25.4, 38.1}); !d.HasCentre || d.Centre.Sub(want).Len() > 1e-9 {
				t.Errorf("centre %v, want %v", d.Centre, want)
			}
		})
	}
}

// Without a unit in the item that of the context counts; a measure without its
// kind is known by its representation's name.
func TestFieldValidationWithoutUnit(t *testing.T) {
	var m maker
	part, ctx := m.product("p"), m.context(unitM)
	m.shape(part, ctx, m.box(1, 1, 1))
	m.validation(geometric, part, ctx, "volume", m.add("VALUE_REPRESENTATION_ITEM('',NUMERIC_MEASURE(2.))"))
	m.validation(geometric, part, ctx, "surface area", m.add("REAL_REPRESENTATION_ITEM('',3.)"))
	d := m.read(t).Parts[0].Declared
	wantNear(t, "volume", d.Volume, 2e9)
	wantNear(t, "area", d.Area, 3e6)
}

// Section 4: exponents of 0 make the figure unknown, and that is said, though no
// shape rests on it.
func TestFieldValidationPlaceholderUnit(t *testing.T) {
	var m maker
	part, ctx := m.product("p"), m.context(unitMM)
	m.shape(part, ctx, m.box(1, 1, 1))
	for _, e := range []string{"0.", "2."} {
		m.validation(geometric, part, ctx, "volume", m.add("MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(5.),%s)", m.derived(m.add(unitMM), e)))
	}
	a := m.read(t)
	if a.Parts[0].Declared != (Declared{}) {
		t.Errorf("declared %+v, want nothing", a.Parts[0].Declared)
	}
	wantAside(t, a, "stated volumes or areas in a unit that measures something else (2)")
}

// wantAside wants one skip, which nothing rests on.
func wantAside(t *testing.T, a *Assembly, why string) {
	t.Helper()
	if len(a.Skips) != 1 || !a.Skips[0].Aside || !strings.Contains(a.Skips[0].Why, why) {
		t.Errorf("skips %+v, want one aside about %q", a.Skips, why)
	}
}

// The sets of solids, surfaces and curves are kept apart by their names.
func TestFieldValidationSets(t *testing.T) {
	var m maker
	part, ctx := m.product("p"), m.context(unitMM)
	m.shape(part, ctx, m.box(1, 1, 1))
	area := func(rep, name, value string) {
		m.validation(geometric, part, ctx, rep, m.add("MEASURE_REPRESENTATION_ITEM('%s',AREA_MEASURE(%s),%s)", name, value, m.derived(m.add(unitMM), "2.")))
	}
	point := func(rep, name, x string) {
		m.validation(geometric, part, ctx, rep, m.add("CARTESIAN_POINT('%s',(%s,0.,0.))", name, x))
	}
	area("independent surface area", "independent surface area measure", "7.")
	area("tessellated surface area", "surface area measure", "8.")
	area("supplemental geometry", "surface area measure", "9.")
	area("surface area", "surface area measure", "6.")
	point("independent surface centroid", "independent surface centre point", "7.")
	point("independent curve centroid", "curve centre point", "8.")
	point("point cloud centroid", "cloud of points centre point", "9.")
	point("centroid", "centre point", "0.5")
	m.validation(geometric, part, ctx, "independent curve length", m.add("MEASURE_REPRESENTATION_ITEM('curve length measure',LENGTH_MEASURE(3.),%s)", m.add(unitMM)))
	d := m.read(t).Parts[0].Declared
	if want := (Declared{Area: 6, SurfaceArea: 7, Centre: mgl64.Vec3{0.5}, HasCentre: true}); d != want {
		t.Errorf("declared %+v, want %+v", d, want)
	}
}

// Supplemental geometry beside a solid is no body and no part.
func TestFieldSupplementalGeometryIsNotCounted(t *testing.T) {
	for name, hang := range map[string]func(m *maker, part, rep, other string){
		"constructive": func(m *maker, part, rep, other string) {
			m.add("CONSTRUCTIVE_GEOMETRY_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, other)
		},
		"property": func(m *maker, part, rep, other string) {
			m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", m.add("PROPERTY_DEFINITION('supplemental geometry','',%s)", part), other)
		},
	} {
		var m maker
		part, ctx := m.product("p"), m.context(unitMM)
		rep := m.shape(part, ctx, m.box(1, 1, 1))
		kind := "CONSTRUCTIVE_GEOMETRY_REPRESENTATION"
		if name == "property" {
			kind = "SHAPE_REPRESENTATION"
		}
		sheet := m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", m.shell(mgl64.Vec3{}, mgl64.Vec3{5, 5, 5}, plain))
		hang(&m, part, rep, m.add("%s('supplemental geometry',(%s),%s)", kind, sheet, ctx))
		a := m.read(t)
		if len(a.Parts) != 1 || len(a.Parts[0].Bodies) != 1 || !a.Parts[0].Bodies[0].Solid {
			t.Errorf("%s: %d parts, the first with %d bodies: want one with one", name, len(a.Parts), len(a.Parts[0].Bodies))
		}
		for _, s := range a.Skips {
			if !s.Aside {
				t.Errorf("%s: %+v takes from the trust", name, s)
			}
		}
	}
}

// The number of children is a count, often written as a real number, sometimes
// as an integer without a dot.
func TestFieldAssemblyValidation(t *testing.T) {
	for _, c := range []struct {
		item string
		want int
		has  bool
	}{
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(4.0))", 4, true},
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(4))", 4, true},
		{"INTEGER_REPRESENTATION_ITEM('number of children',4)", 4, true},
		{"(INTEGER_REPRESENTATION_ITEM(4)REPRESENTATION_ITEM('number of children'))", 4, true},
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(0.))", 0, true},
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(4.5))", 0, false},
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(-1.))", 0, false},
		{"VALUE_REPRESENTATION_ITEM('number of children',COUNT_MEASURE(1.E300))", 0, false},
		{"DESCRIPTIVE_REPRESENTATION_ITEM('number of children','4')", 0, false},
	} {
		p := newPair("inch", unitMM)
		p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
		p.m.validation(assembly, p.asm, p.ctxA, "number of children", p.m.add("%s", c.item))
		p.m.validation(assembly, p.asm, p.ctxA, "notional solids centroid", p.m.add("CARTESIAN_POINT('centre point',(1.,2.,3.))"))
		d := p.m.read(t).Parts[0].Declared
		if d.Children != c.want || d.HasChildren != c.has {
			t.Errorf("%s: %d children, %v; want %d, %v", c.item, d.Children, d.HasChildren, c.want, c.has)
		}
		if want := (mgl64.Vec3{25.4, 50.8, 76.2}); !d.HasNotional || d.Notional.Sub(want).Len() > 1e-9 || d.NotionalUnit != 25.4 || d.HasCentre {
			t.Errorf("notional centre %+v, want %v", d, want)
		}
	}
}

// The centre of a use is in its assembly's units, and nobody else's.
func TestFieldCentreOfAUse(t *testing.T) {
	p := newPair("inch", unitMM)
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	p.m.validation(geometric, p.m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo), p.ctxA, "centroid", p.m.add("CARTESIAN_POINT('centre point',(1.,2.,3.))"))
	a := p.m.read(t)
	if c := a.Occurrences[1].Centre; c == nil || c.Sub(mgl64.Vec3{25.4, 50.8, 76.2}).Len() > 1e-9 {
		t.Errorf("centre %v", c)
	}
	if a.Occurrences[0].Centre != nil || a.Parts[1].Declared.HasCentre {
		t.Error("the centre of the use is that of something else too")
	}
}

// What the real files of the practice's authors state, read in their text by
// eye.
func TestFieldRealValidation(t *testing.T) {
	as1 := readReal(t, "as1-tu-203.stp")
	children := map[string]int{}
	for _, p := range as1.Parts {
		if p.Declared.HasChildren {
			children[p.Name] = p.Declared.Children
		}
	}
	if d := cmp.Diff(map[string]int{"as1": 4, "rod-assembly": 3, "nut-bolt-assembly": 2, "l-bracket-assembly": 4}, children); d != "" {
		t.Errorf("number of children (-want +got)\n%s", d)
	}
	if got := as1.Parts[0].Declared.Notional; got != (mgl64.Vec3{47.5, 61.25, 30}) {
		t.Errorf("notional solids' centre %v", got)
	}
	for file, want := range map[string]int{"as1-tu-203.stp": 27, filepath.Join("caxif", "dm1-id-214.stp"): 7, filepath.Join("products", "handheld", "t-embed_bottom.stp"): 4} {
		n := 0
		for _, o := range readReal(t, file).Occurrences {
			if o.Centre != nil {
				n++
			}
		}
		if n != want {
			t.Errorf("%s: %d occurrences with a stated centre, want %d", file, n, want)
		}
	}
}

// material writes the name and the density of a product as the practice's
// chapter 4 has them.
func (m *maker) material(pd, name string) {
	rep := m.add("REPRESENTATION('material name',(%s),$)", m.add("DESCRIPTIVE_REPRESENTATION_ITEM('%s','%s')", name, name))
	m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", m.add("PROPERTY_DEFINITION('material property','material name',%s)", pd), rep)
}

func (m *maker) densityRep(value, unit string) string {
	return m.add("REPRESENTATION('density',(%s),$)", m.add("MEASURE_REPRESENTATION_ITEM('density measure',POSITIVE_RATIO_MEASURE(%s),%s)", value, unit))
}

func (m *maker) density(pd, value, unit string) {
	m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", m.add("PROPERTY_DEFINITION('material property','density of part',%s)", pd), m.densityRep(value, unit))
}

// Section 9: the three encodings of the practice say the same, and so do the
// material's own properties and a material designation.
func TestFieldMaterialEncodings(t *testing.T) {
	made := func(m *maker, part string) string {
		stuff := m.product("brass")
		m.add("MAKE_FROM_USAGE_OPTION('material assignment','make from','',%s,%s,1,'',$)", part, stuff)
		return stuff
	}
	unit := func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "-3.") }
	for _, c := range []struct {
		name  string
		write func(m *maker, part string)
	}{
		{"a: properties of the part", func(m *maker, part string) {
			m.material(part, "brass")
			m.density(part, "8500.", unit(m))
		}},
		{"a: properties of its shape", func(m *maker, part string) {
			shape := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", part)
			m.material(shape, "brass")
			m.density(shape, "8500.", unit(m))
		}},
		{"b: a product with a general property", func(m *maker, part string) {
			stuff := made(m, part)
			def := m.add("PROPERTY_DEFINITION('material property','density',%s)", stuff)
			m.add("GENERAL_PROPERTY_ASSOCIATION('','',%s,%s)", m.add("GENERAL_PROPERTY('','density','')"), def)
			m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", def, m.densityRep("8500.", unit(m)))
		}},
		{"c: a product with a material property", func(m *maker, part string) {
			def := m.add("MATERIAL_PROPERTY('material property','density',%s)", made(m, part))
			environment := m.add("DATA_ENVIRONMENT('','',())")
			m.add("MATERIAL_PROPERTY_REPRESENTATION(%s,%s,%s)", def, m.densityRep("8500.", unit(m)), environment)
		}},
		{"c: as complex instances", func(m *maker, part string) {
			def := m.add("(MATERIAL_PROPERTY()PROPERTY_DEFINITION('','density',%s))", made(m, part))
			environment := m.add("DATA_ENVIRONMENT('','',())")
			m.add("(MATERIAL_PROPERTY_REPRESENTATION(%s)PROPERTY_DEFINITION_REPRESENTATION(%s,%s))", environment, def, m.densityRep("8500.", unit(m)))
		}},
		{"designation", func(m *maker, part string) {
			m.add("MATERIAL_DESIGNATION('brass',(%s))", part)
			m.density(part, "8500.", unit(m))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			part := m.product("p")
			m.shape(part, m.context(unitMM), m.box(1, 1, 1))
			c.write(&m, part)
			a := m.read(t)
			if len(a.Parts) != 1 {
				t.Fatalf("%d parts, want 1", len(a.Parts))
			}
			got := a.Parts[0].Made
			wantNear(t, "density", got.Density, 8500)
			if got.Material != "brass" || len(got.Weak) > 0 {
				t.Errorf("made of %+v, want brass", got)
			}
			noSkips(t, a)
		})
	}
}

// Densities in other units come to kg/m³ by the definitions of the units; what
// cannot be one is unknown, and said.
func TestFieldDensityUnits(t *testing.T) {
	pound := func(m *maker) string {
		f := m.add("MASS_MEASURE_WITH_UNIT(MASS_MEASURE(0.45359237),%s)", m.kilogram())
		return m.add("(CONVERSION_BASED_UNIT('POUND',%s)MASS_UNIT()NAMED_UNIT(*))", f)
	}
	const notKnown = "taken as not known"
	for _, c := range []struct {
		name, value string
		unit        func(m *maker) string
		want        float64
		said        string
	}{
		{"kg/m³", "7850.", func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "-3.") }, 7850, ""},
		{"g/cm³", "7.85", func(m *maker) string {
			return m.derived(m.gram(), "1.", m.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.CENTI.,.METRE.))"), "-3.")
		}, 7850, ""},
		{"lb/in³", "0.1", func(m *maker) string { return m.derived(pound(m), "1.", m.inch(), "-3.") }, 0.1 * 0.45359237 / (0.0254 * 0.0254 * 0.0254), ""},
		{"a unit converted to kg/m³", "2.", func(m *maker) string {
			kgm3 := m.derived(m.kilogram(), "1.", m.add(unitM), "-3.")
			f := m.add("MEASURE_WITH_UNIT(NUMERIC_MEASURE(1000.),%s)", kgm3)
			return m.add("(CONVERSION_BASED_UNIT('G PER CC',%s)NAMED_UNIT(*))", f)
		}, 2000, ""},
		{"exponent of the wrong sign", "7850.", func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "3.") }, 7850, "read as mass by volume"},
		{"wrong sign in mm", "0.00785", func(m *maker) string { return m.derived(m.gram(), "1.", m.add(unitMM), "3.") }, 7850, "read as mass by volume"},
		{"exponents of 0", "1.", func(m *maker) string { return m.derived(m.kilogram(), "0.", m.add(unitM), "0.") }, 0, notKnown},
		{"no elements", "1.", func(m *maker) string { return m.add("DERIVED_UNIT(())") }, 0, notKnown},
		{"a length", "1.", func(m *maker) string { return m.add(unitMM) }, 0, notKnown},
		{"none", "1.", func(*maker) string { return "$" }, 0, notKnown},
		{"huge exponent", "1.", func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "-1.E300") }, 0, notKnown},
		{"zero", "0.", func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "-3.") }, 0, "zero or less"},
		{"negative", "-7850.", func(m *maker) string { return m.derived(m.kilogram(), "1.", m.add(unitM), "-3.") }, 0, "zero or less"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			part := m.product("p")
			m.shape(part, m.context(unitMM), m.box(1, 1, 1))
			m.density(part, c.value, c.unit(&m))
			a := m.read(t)
			wantNear(t, "density", a.Parts[0].Density, c.want)
			if c.said == "" {
				noSkips(t, a)
			} else {
				wantAside(t, a, c.said)
			}
		})
	}
}

// Units that lead in circles, or multiply, end.
func TestFieldUnitsInCircles(t *testing.T) {
	var m maker
	part := m.product("p")
	m.shape(part, m.context(unitMM), m.box(1, 1, 1))
	base := m.n
	// #base+1 converts by #base+2, which is in the derived unit #base+3 of eight
	// times #base+1.
	m.add("(CONVERSION_BASED_UNIT('A',#%d)MASS_UNIT()NAMED_UNIT(*))", base+2)
	m.add("MASS_MEASURE_WITH_UNIT(MASS_MEASURE(1.),#%d)", base+3)
	m.add("DERIVED_UNIT((%s))", strings.TrimSuffix(strings.Repeat(m.ref(base+4)+",", maxElements), ","))
	m.add("DERIVED_UNIT_ELEMENT(#%d,1.)", base+1)
	m.density(part, "1.", m.ref(base+1))
	a, err := Read(context.Background(), "c.stp", m.text(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if a.Parts[0].Density != 0 {
		t.Errorf("density %g out of a circle", a.Parts[0].Density)
	}
}

func (m *maker) ref(n int) string { return fmt.Sprintf("#%d", n) }

// Words that stand for no material name none; the density of 1 beside them has
// no unit, as one writer has it.
func TestFieldMaterialPlaceholders(t *testing.T) {
	for name, want := range map[string]string{
		"Generic": "", "": "", "UNKNOWN": "", "Material <not specified>": "", "Default": "", "n/a": "",
		"Generic steel": "Generic steel", "\\X2\\94A2\\X0\\": "钢",
	} {
		var m maker
		part := m.product("p")
		m.shape(part, m.context(unitMM), m.box(1, 1, 1))
		m.material(part, name)
		m.density(part, "1.", m.derived(m.kilogram(), "0.", m.add(unitM), "0."))
		if got := m.read(t).Parts[0].Made; got.Material != want || got.Density != 0 {
			t.Errorf("%q gives %+v, want %q", name, got, want)
		}
	}
}

// What only an attribute says counts where no property says it, and is told to
// be weak. A number without a unit tells nothing.
func TestFieldMaterialFromAttributes(t *testing.T) {
	text := func(name, value string) string {
		return "DESCRIPTIVE_REPRESENTATION_ITEM('" + name + "','" + value + "')"
	}
	for _, c := range []struct {
		name  string
		items []string
		want  Made
	}{
		{"German", []string{text("Werkstoff", "S235JR"), text("Dichte", "7,85 g/cm\\X2\\00B3\\X0\\"), text("Gewicht", "1,2 kg")},
			Made{"S235JR", 7850, 1200, []string{`density from the attribute "Dichte"`, `mass from the attribute "Gewicht"`, `material from the attribute "Werkstoff"`}}},
		{"signs in the name", []string{text("SW-Material", "ABS"), text("PTC_MASS_DENSITY", "1.05e-3 g/mm^3")},
			Made{"ABS", 1050, 0, []string{`density from the attribute "PTC_MASS_DENSITY"`, `material from the attribute "SW-Material"`}}},
		{"pounds", []string{text("Weight", "2 lbm")}, Made{"", 0, 2 * 453.59237, []string{`mass from the attribute "Weight"`}}},
		{"no units", []string{text("Density", "7850"), text("Mass", "12")}, Made{}},
		{"not numbers", []string{text("Density", "see drawing"), text("Mass", "?")}, Made{}},
		{"thousands or decimals", []string{text("Density", "7,850 kg/m3")}, Made{}},
		{"nothing below zero", []string{text("Density", "-1 kg/m3"), text("Mass", "0 g")}, Made{}},
		{"placeholder", []string{text("Material", "<not specified>")}, Made{}},
		{"other names", []string{text("Material code", "7"), text("Massive", "1 g")}, Made{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			part := m.product("p")
			m.shape(part, m.context(unitMM), m.box(1, 1, 1))
			var items []string
			for _, i := range c.items {
				items = append(items, m.add("%s", i))
			}
			m.attribute("", part, items...)
			got := m.read(t).Parts[0].Made
			wantNear(t, "density", got.Density, c.want.Density)
			wantNear(t, "mass", got.Mass, c.want.Mass)
			if got.Material != c.want.Material || !slices.Equal(got.Weak, c.want.Weak) {
				t.Errorf("made of %+v, want %+v", got, c.want)
			}
		})
	}
}

// A property is better than an attribute, and a measure with its unit does as
// well as a text.
func TestFieldPropertiesBeatAttributes(t *testing.T) {
	var m maker
	part := m.product("p")
	m.shape(part, m.context(unitMM), m.box(1, 1, 1))
	m.attribute("", part, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('Material','wood')"),
		m.add("MEASURE_REPRESENTATION_ITEM('Density',NUMERIC_MEASURE(2.7),%s)", m.derived(m.gram(), "1.", m.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.CENTI.,.METRE.))"), "-3.")),
		m.add("MEASURE_REPRESENTATION_ITEM('Mass',MASS_MEASURE(0.25),%s)", m.kilogram()))
	m.material(part, "aluminium")
	got := m.read(t).Parts[0].Made
	want := []string{`density from the attribute "Density"`, `mass from the attribute "Mass"`}
	if got.Material != "aluminium" || math.Abs(got.Density-2700) > 1e-9 || math.Abs(got.Mass-250) > 1e-9 || !slices.Equal(got.Weak, want) {
		t.Errorf("made of %+v", got)
	}
}

// Files without a material say nothing of one.
func TestFieldNoMaterial(t *testing.T) {
	var m maker
	m.shape(m.product("steel bracket"), m.context(unitMM), m.box(1, 1, 1))
	if d := cmp.Diff(Made{}, m.read(t).Parts[0].Made); d != "" {
		t.Error(d)
	}
}

// Attributes keep the file's own number and unit.
func TestFieldAttributeUnits(t *testing.T) {
	measure := func(kind, value string, unit func(m *maker) string) (Attribute, bool) {
		var m maker
		part := m.product("p")
		m.shape(part, m.context(unitMM), m.box(1, 1, 1))
		m.attribute("", part, m.add("MEASURE_REPRESENTATION_ITEM('x',%s(%s),%s)", kind, value, unit(&m)))
		got := m.read(t).Parts[0].Attributes
		if len(got) != 1 {
			return Attribute{}, false
		}
		return got[0], true
	}
	degree := func(m *maker) string {
		f := m.add("PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.0174532925199433),%s)", m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))"))
		return m.add("(CONVERSION_BASED_UNIT('DEGREE',%s)NAMED_UNIT(*)PLANE_ANGLE_UNIT())", f)
	}
	for _, c := range []struct {
		kind, value string
		unit        func(m *maker) string
		want        Attribute
	}{
		{"LENGTH_MEASURE", "0.25", (*maker).inch, Attribute{"x", "0.25", "inch"}},
		{"LENGTH_MEASURE", "2.50", func(m *maker) string { return m.add(unitMM) }, Attribute{"x", "2.5", "mm"}},
		{"PLANE_ANGLE_MEASURE", "30.", degree, Attribute{"x", "30", "degree"}},
		{"MASS_MEASURE", "1.5", (*maker).kilogram, Attribute{"x", "1.5", "kg"}},
		{"AREA_MEASURE", "4.", func(m *maker) string { return m.derived(m.inch(), "2.") }, Attribute{"x", "4", "inch²"}},
		{"NUMERIC_MEASURE", "12.", func(m *maker) string {
			return m.derived(m.add("(NAMED_UNIT(*)SI_UNIT($,.NEWTON.))"), "1.", m.add(unitM), "1.")
		}, Attribute{"x", "12", "N·m"}},
		{"NUMERIC_MEASURE", "3.", func(m *maker) string { return m.derived(m.add("(NAMED_UNIT(*)SI_UNIT($,.SECOND.))"), "-1.") }, Attribute{"x", "3", "1/s"}},
		{"ELECTRIC_POTENTIAL_MEASURE", "3.7", func(m *maker) string { return m.add("(NAMED_UNIT(*)SI_UNIT($,.VOLT.))") }, Attribute{"x", "3.7", "V"}},
		{"COUNT_MEASURE", "7.", func(*maker) string { return "$" }, Attribute{"x", "7", ""}},
		{"CONTEXT_DEPENDENT_MEASURE", "7.", func(m *maker) string {
			return m.add("CONTEXT_DEPENDENT_UNIT(%s,'shots')", m.add("DIMENSIONAL_EXPONENTS(0.,0.,0.,0.,0.,0.,0.)"))
		}, Attribute{"x", "7", "shots"}},
		{"RATIO_MEASURE", "0.5", func(m *maker) string {
			return m.add("NAMED_UNIT(%s)", m.add("DIMENSIONAL_EXPONENTS(0.,0.,0.,0.,0.,0.,0.)"))
		}, Attribute{"x", "0.5", ""}},
	} {
		if got, ok := measure(c.kind, c.value, c.unit); !ok || got != c.want {
			t.Errorf("%s(%s) is %+v, want %+v", c.kind, c.value, got, c.want)
		}
	}
}

// The reference's densities are g/mm³, whatever it calls them (a check by hand:
// the file has 7850 kg/m³ and the reference 0.00785).
func TestFieldDensitiesOfRealFiles(t *testing.T) {
	const kgPerM3 = 1e6 // of 1 g/mm³
	n := 0
	for _, name := range realFiles(t) {
		b, err := os.ReadFile(filepath.Join(shared(t), "oracle", "golden", strings.ReplaceAll(name, "/", "__")+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var g struct {
			Parts []struct {
				Name     string
				Material *struct {
					Name    string
					Density float64 `json:"density_g_cm3"`
				}
			}
		}
		if err := json.Unmarshal(b, &g); err != nil {
			t.Fatal(err)
		}
		var a *Assembly
		for _, p := range g.Parts {
			if p.Material == nil {
				continue
			}
			if a == nil {
				a = readReal(t, name)
			}
			for _, q := range a.Parts {
				if q.Name == clean(p.Name) && q.Material == p.Material.Name {
					n++
					wantNear(t, name+": density of "+q.Name, q.Density, p.Material.Density*kgPerM3)
				}
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d densities to compare", n)
	}
}

// The materials of this file are products of their own with densities in
// lb/in³, where its pound is 0.4536 kg.
func TestFieldMaterialProductsOfARealFile(t *testing.T) {
	const inPounds = 0.4536 / (0.0254 * 0.0254 * 0.0254)
	want := map[string]Made{
		"bolt":      {Material: "Greek Ascoloy", Density: 0.285230375059732 * inPounds},
		"l-bracket": {Density: 0.160129333366867 * inPounds},
		"nut":       {Density: 0.297240075062247 * inPounds},
	}
	for _, p := range readReal(t, filepath.Join("caxif", "dm1-id-214.stp")).Parts {
		w, ok := want[p.Name]
		if !ok {
			continue
		}
		delete(want, p.Name)
		wantNear(t, p.Name, p.Density, w.Density)
		if p.Material == "" || w.Material != "" && p.Material != w.Material {
			t.Errorf("%s is made of %q, want %q", p.Name, p.Material, w.Material)
		}
	}
	if len(want) > 0 {
		t.Errorf("no parts %v", want)
	}
}
