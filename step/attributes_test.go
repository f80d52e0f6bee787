package step

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// attribute ties items to a product or an occurrence; it returns the property.
func (m *maker) attribute(name, of string, items ...string) string {
	def := m.add("PROPERTY_DEFINITION('%s','',%s)", name, of)
	m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", def, m.add("REPRESENTATION('',(%s),$)", strings.Join(items, ",")))
	return def
}

func TestAttributes(t *testing.T) {
	p := newPair(unitMM, unitMM)
	m := &p.m
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	mm := m.add(unitMM)
	shape := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.part)
	m.attribute("user defined attribute", p.part,
		m.add("DESCRIPTIVE_REPRESENTATION_ITEM('Supplier','\\X2\\30B9\\X0\\')"),
		m.add("VALUE_REPRESENTATION_ITEM('Class',COUNT_MEASURE(4.0))"),
		m.add("INTEGER_REPRESENTATION_ITEM('Age',5)"),
		m.add("(BOOLEAN_REPRESENTATION_ITEM(.T.)REPRESENTATION_ITEM('Bought'))"),
		m.add("LOGICAL_REPRESENTATION_ITEM('Unsure',.U.)"),
		m.add("MEASURE_REPRESENTATION_ITEM('Wall',LENGTH_MEASURE(2.5),%s)", mm),
		m.add("(MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(RATIO_MEASURE(0.25),$)REPRESENTATION_ITEM('Share'))"),
		m.add("DESCRIPTIVE_REPRESENTATION_ITEM('Empty','')"), "#99999")
	m.attribute("Owner", shape, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('','a')"))
	m.attribute("Owner", p.part, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('','a')")) // said twice
	general := m.attribute("", p.part, m.add("DESCRIPTIVE_REPRESENTATION_ITEM($,'64J')"))
	m.add("GENERAL_PROPERTY_ASSOCIATION('',$,%s,%s)", m.add("GENERAL_PROPERTY('','Code',$)"), general)
	m.attribute("Row", p.nauo, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('','7')"))
	m.attribute("Column", m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo), m.add("DESCRIPTIVE_REPRESENTATION_ITEM('','C')"))
	for _, other := range []string{"material property", "pmi validation property", "document property"} {
		m.attribute(other, p.part, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('x','y')"))
	}
	m.attribute("of a face", m.add("SHAPE_ASPECT('','',$,.T.)"), m.add("DESCRIPTIVE_REPRESENTATION_ITEM('x','y')"))

	a := m.read(t)
	want := []Attribute{{"Age", "5", ""}, {"Bought", "true", ""}, {"Class", "4", ""}, {"Code", "64J", ""}, {"Owner", "a", ""}, {"Share", "0.25", ""}, {"Supplier", "ス", ""}, {"Unsure", "u", ""}, {"Wall", "2.5", "mm"}}
	if d := cmp.Diff(want, a.Parts[1].Attributes); d != "" {
		t.Errorf("part (-want +got)\n%s", d)
	}
	if d := cmp.Diff([]Attribute{{"Column", "C", ""}, {"Row", "7", ""}}, a.Occurrences[1].Attributes); d != "" {
		t.Errorf("occurrence (-want +got)\n%s", d)
	}
	if a.Parts[0].Attributes != nil || a.Occurrences[0].Attributes != nil {
		t.Errorf("the assembly has %v and %v", a.Parts[0].Attributes, a.Occurrences[0].Attributes)
	}
}

// One long list that many properties share stays within bounds.
func TestAttributesAreBounded(t *testing.T) {
	var m maker
	part := m.product("p")
	m.shape(part, m.context(unitMM), m.box(1, 1, 1))
	var items []string
	for i := range 3000 {
		items = append(items, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('n%d','v')", i))
	}
	m.attribute("", part, items...)
	if n := len(m.read(t).Parts[0].Attributes); n != maxAttributes {
		t.Errorf("%d attributes, want %d", n, maxAttributes)
	}
}

func TestLayers(t *testing.T) {
	h := newHiding()
	m := &h.m
	layer := func(name, description string, items ...string) {
		m.add("PRESENTATION_LAYER_ASSIGNMENT('%s','%s',(%s))", name, description, strings.Join(items, ","))
	}
	layer("zinc", "", h.a)
	m.paint("STYLED_ITEM", h.a, 1, 0, 0, "")
	layer("", "alloy", m.last(), h.a)
	layer("", "", h.b)
	layer("parts", "", h.partRep)
	layer("unused", "", h.origin, "#99999")
	m.paint("STYLED_ITEM", h.partRep, 1, 0, 0, "")
	m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", h.partRep, 0, 0, 1, fmt.Sprintf(",%s,(%s)", m.last(), h.secTie))
	layer("second", "", m.last())
	a := m.read(t)
	got := map[string][]string{}
	for _, o := range a.Occurrences {
		if o.Layers != nil {
			got["use "+o.Name] = o.Layers
		}
		if l := a.Parts[o.Part].Layers; l != nil {
			got[a.Parts[o.Part].Name] = l
		}
	}
	want := map[string][]string{"part": {"parts"}, "part 1": {"alloy", "zinc"}, "use two": {"second"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// A layer that names an item again and again, and an item on more layers than
// anyone has.
func TestLayersAreBounded(t *testing.T) {
	var m maker
	box := m.box(1, 1, 1)
	m.shape(m.product("p"), m.context(unitMM), box)
	m.add("PRESENTATION_LAYER_ASSIGNMENT('one','',(%s))", box+strings.Repeat(","+box, 500))
	if got := m.read(t).Parts[0].Layers; !slices.Equal(got, []string{"one"}) {
		t.Errorf("layers %q", got)
	}
	for i := range 2 * maxLayers {
		m.add("PRESENTATION_LAYER_ASSIGNMENT('%d','',(%s))", i, box)
	}
	if n := len(m.read(t).Parts[0].Layers); n > maxLayers || n < maxLayers/3 {
		t.Errorf("%d layers, want at most %d", n, maxLayers)
	}
}

// A layer of a mapped item is the occurrence's; a layer of faces counts for the
// part where it has no other.
func TestLayersOfMappedItemsAndFaces(t *testing.T) {
	p := newPair(unitMM, unitMM)
	item := p.m.add("MAPPED_ITEM('',%s,%s)", p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep), p.target)
	p.addItem(item)
	p.m.add("PRESENTATION_LAYER_ASSIGNMENT('use','',(%s))", item)
	text := p.m.b.String()
	at := strings.Index(text, "=ADVANCED_FACE")
	face := text[strings.LastIndex(text[:at], "#"):at]
	p.m.add("PRESENTATION_LAYER_ASSIGNMENT('faces','',(%s))", face)
	a := p.m.read(t)
	if got := a.Occurrences[1].Layers; !slices.Equal(got, []string{"use"}) {
		t.Errorf("occurrence on layers %q", got)
	}
	if got := a.Parts[1].Layers; !slices.Equal(got, []string{"faces"}) {
		t.Errorf("part on layers %q", got)
	}
}

// veilStyle paints an item with a transparency.
func (m *maker) veilStyle(item, transparency string) {
	c := m.add("COLOUR_RGB('',1.,0.,0.)")
	r := m.add("SURFACE_STYLE_RENDERING_WITH_PROPERTIES(.NORMAL_SHADING.,%s,(%s))", c, m.add("SURFACE_STYLE_TRANSPARENT(%s)", transparency))
	s := m.add("SURFACE_STYLE_USAGE(.BOTH.,%s)", m.add("SURFACE_SIDE_STYLE('',(%s))", r))
	m.add("STYLED_ITEM('',(%s),%s)", m.add("PRESENTATION_STYLE_ASSIGNMENT((%s))", s), item)
}

func TestTransparency(t *testing.T) {
	read := func(style func(m *maker, rep, box, shell string, faces []string)) *Assembly {
		var m maker
		ctx, box := m.context(unitMM), m.box(1, 1, 1)
		rep := m.shape(m.product("p"), ctx, box)
		var faces []string
		shell := ""
		for line := range strings.Lines(m.b.String()) {
			id, record, _ := strings.Cut(line, "=")
			if strings.HasPrefix(record, "ADVANCED_FACE") {
				faces = append(faces, id)
			}
			if strings.HasPrefix(record, "CLOSED_SHELL") {
				shell = id
			}
		}
		style(&m, rep, box, shell, faces)
		return m.read(t)
	}
	cases := []struct {
		name  string
		style func(m *maker, rep, box, shell string, faces []string)
		want  float64
	}{
		{"none", func(m *maker, rep, box, shell string, faces []string) { m.paint("STYLED_ITEM", box, 1, 0, 0, "") }, 0},
		{"solid", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(box, "0.4") }, 0.4},
		{"invisible, the part stays", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(box, "1.") }, 1},
		{"out of range", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(box, "7.") }, 1},
		{"negative", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(box, "-1.") }, 0},
		{"shell", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(shell, "0.3") }, 0.3},
		{"representation", func(m *maker, rep, box, shell string, faces []string) { m.veilStyle(rep, "0.2") }, 0.2},
		{"one face is opaque", func(m *maker, rep, box, shell string, faces []string) {
			for _, f := range faces[1:] {
				m.veilStyle(f, "0.5")
			}
		}, 0},
		{"every face", func(m *maker, rep, box, shell string, faces []string) {
			for i, f := range faces {
				m.veilStyle(f, num(0.5+float64(i)/100))
			}
		}, 0.5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := read(c.style)
			if got := a.Parts[0].Transparency; !(math.Abs(got-c.want) < 1e-12) || a.SolidCount() != 1 {
				t.Errorf("transparency %g of %d solids, want %g of 1", got, a.SolidCount(), c.want)
			}
			if c.want > 0 && c.name == "solid" && a.Parts[0].Color != "#ff0000" {
				t.Errorf("colour %q behind the transparency", a.Parts[0].Color)
			}
		})
	}
}

// What the real files say, read in their text by eye.
func TestRealAttributesAndLayers(t *testing.T) {
	nist := readReal(t, filepath.Join("nist", "nist_ctc_01_asme1_ap242-e1.stp"))
	if got := nist.Parts[0].Attributes; !slices.Contains(got, Attribute{"CAGE Code", "64JW1", ""}) || len(got) != 3 {
		t.Errorf("attributes %v", got)
	}
	as1 := readReal(t, "as1-tu-203.stp")
	for i := range as1.Parts {
		if p := &as1.Parts[i]; len(p.Bodies) > 0 && !slices.Equal(p.Layers, []string{"256"}) {
			t.Errorf("%q lies on %q, want 256", p.Name, p.Layers)
		}
	}
	for _, name := range realFiles(t) {
		a := readReal(t, name)
		attributes, layers, clear := 0, map[string]int{}, 0
		for i := range a.Parts {
			attributes += len(a.Parts[i].Attributes)
			for _, l := range a.Parts[i].Layers {
				layers[l]++
			}
			if a.Parts[i].Transparency > 0 {
				clear++
			}
		}
		if attributes+len(layers)+clear > 0 {
			t.Logf("%s: %d attributes, parts by layer %v, %d transparent parts", name, attributes, layers, clear)
		}
	}
}
