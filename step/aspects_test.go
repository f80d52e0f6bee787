package step

import (
	"math"
	"strings"
	"testing"
)

// Figures of single solids are those of the part that the solid becomes: by the
// representation of its aspect, or by a usage that names the solid.
func TestFiguresOfSingleSolids(t *testing.T) {
	var m maker
	pd := m.product("p")
	ctx := m.context(unitMM)
	boxes := []string{m.box(1, 2, 3), m.box(4, 5, 6)}
	rep := m.shape(pd, ctx, boxes...)
	shape := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", pd)
	figures := func(of string, volume, area float64, centre vec) {
		for _, item := range []string{
			m.add("MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(%s),$)", num(volume)),
			m.add("MEASURE_REPRESENTATION_ITEM('surface area measure',AREA_MEASURE(%s),$)", num(area)),
			m.add("CARTESIAN_POINT('centre point',(%s,%s,%s))", num(centre[0]), num(centre[1]), num(centre[2])),
		} {
			prop := m.add("PROPERTY_DEFINITION('geometric validation property','',%s)", of)
			m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", prop, m.add("REPRESENTATION('',(%s),%s)", item, ctx))
		}
	}
	aspect := func() string { return m.add("SHAPE_ASPECT('','',%s,.F.)", shape) }

	one := aspect()
	m.add("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", m.add("PROPERTY_DEFINITION('','shape',%s)", one), m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", m.at(0, 0, 0), boxes[0], ctx))
	figures(one, 6, 22, vec{0.5, 1, 1.5})
	two := aspect()
	m.add("GEOMETRIC_ITEM_SPECIFIC_USAGE('','',%s,%s,%s)", two, rep, boxes[1])
	figures(two, 121, 148, vec{2, 2.5, 3}) // 120 would be right
	both := aspect()
	for _, b := range boxes {
		m.add("GEOMETRIC_ITEM_SPECIFIC_USAGE('','',%s,%s,%s)", both, rep, b)
	}
	figures(both, 126, 170, vec{})
	text := m.b.String()
	face := text[:strings.Index(text, "=ADVANCED_FACE")]
	some := aspect()
	m.add("GEOMETRIC_ITEM_SPECIFIC_USAGE('','',%s,%s,%s)", some, rep, face[strings.LastIndex(face, "#"):])
	figures(some, 1, 1, vec{})

	a := m.read(t)
	want := []Declared{{}, {Volume: 6, Area: 22, Centre: vec{0.5, 1, 1.5}, HasCentre: true}, {Volume: 121, Area: 148, Centre: vec{2, 2.5, 3}, HasCentre: true}}
	for i, p := range a.Parts {
		if p.Declared != want[i] {
			t.Errorf("%s: %+v, want %+v", p.Name, p.Declared, want[i])
		}
	}
	wantAside(t, a, "stated figures of faces or of other pieces of a shape (6): not compared")
}

// Where a product is one solid, what is stated of it as a whole comes first.
func TestFiguresOfTheOnlySolid(t *testing.T) {
	var m maker
	pd := m.product("p")
	ctx := m.context(unitMM)
	box := m.box(1, 2, 3)
	rep := m.shape(pd, ctx, box)
	as := m.add("SHAPE_ASPECT('','',%s,.F.)", m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", pd))
	m.add("GEOMETRIC_ITEM_SPECIFIC_USAGE('','',%s,%s,%s)", as, rep, box)
	volume := func(of string, v float64) {
		item := m.add("MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(%s),$)", num(v))
		m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", m.add("PROPERTY_DEFINITION('geometric validation property','',%s)", of), m.add("REPRESENTATION('',(%s),%s)", item, ctx))
	}
	volume(as, 6)
	if got := m.read(t).Parts[0].Declared.Volume; math.Abs(got-6) > 1e-12 {
		t.Errorf("volume %g of the solid, want 6", got)
	}
	volume(pd, 7)
	if got := m.read(t).Parts[0].Declared.Volume; math.Abs(got-7) > 1e-12 {
		t.Errorf("volume %g of the product, want 7", got)
	}
}
