package step

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// definition writes a product and a definition of it, for a stage of its life.
func (m *maker) definition(name, stage string) (pd, prod string) {
	prod = m.add("PRODUCT('%s-id','%s','',())", name, name)
	return m.view(prod, stage), prod
}

// view writes one more definition of a product.
func (m *maker) view(prod, stage string) string {
	f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", prod)
	ctx := m.add("PRODUCT_DEFINITION_CONTEXT('part definition',$,'%s')", stage)
	return m.add("PRODUCT_DEFINITION('design','',%s,%s)", f, ctx)
}

// ship gives a product one more shape representation.
func (m *maker) ship(pd, rep string) {
	m.add("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", pd), rep)
}

func TestFieldStructure(t *testing.T) {
	cases := []struct {
		name  string
		build func(m *maker)
		want  string
		skip  string // "" for none at all
	}{
		{"the name is the product's and not the definition's", func(m *maker) {
			f := m.add("PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE('v1','',%s,.NOT_KNOWN.)", m.add("PRODUCT('4711','lid','',())"))
			m.shape(m.add("PRODUCT_DEFINITION('UNKNOWN','',%s,$)", f), m.context(unitMM), m.box(1, 1, 1))
		}, "lid [0 0 0] [1 1 1]\n", ""},
		{"shape given twice", func(m *maker) {
			pd := m.product("p")
			m.ship(pd, m.shape(pd, m.context(unitMM), m.box(1, 1, 1)))
		}, "p [0 0 0] [1 1 1]\n", ""},
		{"two shapes with one body in both", func(m *maker) {
			pd, ctx, one := m.product("p"), m.context(unitMM), m.box(1, 1, 1)
			m.shape(pd, ctx, one)
			m.shape(pd, ctx, m.box(2, 2, 2), one)
		}, "p\n p 1 [0 0 0] [1 1 1]\n p 2 [0 0 0] [2 2 2]\n", ""},
		{"one product defined twice with one shape", func(m *maker) {
			a, prod := m.definition("p", "design")
			rep := m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.ship(m.view(prod, "design"), rep)
		}, "p [0 0 0] [1 1 1]\n", "defined again with the same shape: taken once"},
		{"defined again, and the first is used", func(m *maker) {
			a, prod := m.definition("p", "design")
			ctx := m.context(unitMM)
			top := m.product("top")
			again := m.view(prod, "design")
			rep := m.shape(again, ctx, m.box(1, 1, 1))
			m.ship(a, rep)
			m.use("it", top, a)
		}, "top\n it of p [0 0 0] [1 1 1]\n", "defined again"},
		{"two versions with shapes of their own", func(m *maker) {
			a, prod := m.definition("p", "design")
			ctx := m.context(unitMM)
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(m.view(prod, "design"), ctx, m.box(2, 2, 2))
		}, "test\n p [0 0 0] [1 1 1]\n p [0 0 0] [2 2 2]\n", ""},
		{"analysis beside design", func(m *maker) {
			a, prod := m.definition("p", "analysis")
			ctx := m.context(unitMM)
			m.shape(a, ctx, m.box(9, 9, 9))
			m.shape(m.view(prod, "design"), ctx, m.box(1, 1, 1))
		}, "p [0 0 0] [1 1 1]\n", "analysis view of product \"p\": its design is read"},
		{"analysis alone", func(m *maker) {
			a, _ := m.definition("p", "analysis")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
		}, "p [0 0 0] [1 1 1]\n", ""},
		{"construction geometry related to a shape", func(m *maker) {
			ctx := m.context(unitMM)
			rep := m.shape(m.product("p"), ctx, m.box(1, 1, 1))
			aside := m.add("CONSTRUCTIVE_GEOMETRY_REPRESENTATION('',(%s),%s)", m.box(5, 5, 5), ctx)
			m.add("CONSTRUCTIVE_GEOMETRY_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, aside)
		}, "p [0 0 0] [1 1 1]\n", "construction geometry"},
		{"construction geometry in a plain representation", func(m *maker) {
			ctx := m.context(unitMM)
			rep := m.shape(m.product("p"), ctx, m.box(1, 1, 1))
			aside := m.add("CONSTRUCTIVE_GEOMETRY_REPRESENTATION('',(%s),%s)", m.box(5, 5, 5), ctx)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", aside, rep)
		}, "p [0 0 0] [1 1 1]\n", "construction geometry"},
		{"a chain of four relations, each the other way round", func(m *maker) {
			ctx := m.context(unitMM)
			last := m.shape(m.product("p"), ctx, m.at(0, 0, 0))
			for k := range 4 {
				items := m.at(0, 0, 0)
				if k == 3 {
					items = m.box(1, 1, 1)
				}
				next := m.add("SHAPE_REPRESENTATION('',(%s),%s)", items, ctx)
				if k%2 == 0 {
					m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", last, next)
				} else {
					m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", next, last)
				}
				last = next
			}
		}, "p [0 0 0] [1 1 1]\n", ""},
		{"a relation to another product's shape", func(m *maker) {
			ctx := m.context(unitMM)
			a := m.shape(m.product("a"), ctx, m.box(1, 1, 1))
			b := m.shape(m.product("b"), ctx, m.box(2, 2, 2))
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", a, b)
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [2 2 2]\n", ""},
		{"a shape that a shape aspect has", func(m *maker) {
			pd := m.product("p")
			ctx := m.context(unitMM)
			m.shape(pd, ctx, m.box(1, 1, 1))
			pds := m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", pd)
			aspect := m.add("SHAPE_ASPECT('hole','',%s,.T.)", pds)
			m.add("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", aspect, m.add("SHAPE_REPRESENTATION('',(%s),%s)", m.at(0, 0, 0), ctx))
		}, "p [0 0 0] [1 1 1]\n", ""},
		{"all products in a circle of three", func(m *maker) {
			a, b, c := m.product("a"), m.product("b"), m.product("c")
			m.shape(c, m.context(unitMM), m.box(1, 1, 1))
			m.use("ab", a, b)
			m.use("bc", b, c)
			m.use("ca", c, a)
		}, "a\n ab of b\n  bc of c [0 0 0] [1 1 1]\n", "would contain itself"},
		{"a use of a shape of a product", func(m *maker) {
			a, b := m.product("a"), m.product("b")
			m.shape(b, m.context(unitMM), m.box(1, 1, 1))
			m.use("it", a, m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", b))
		}, "a\n it of b [0 0 0] [1 1 1]\n", "without a placement"},
		{"a use of what is no product", func(m *maker) {
			a := m.product("a")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("it", a, m.at(0, 0, 0))
		}, "a\n a [0 0 0] [1 1 1]\n it of part-165\n", "occurrence of AXIS2_PLACEMENT_3D where a product is wanted"},
		{"a use of a product in another file", func(m *maker) {
			a := m.product("a")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("it", a, m.add("PRODUCT_DEFINITION_REFERENCE($,'4712','A','d','org')"))
		}, "a\n a [0 0 0] [1 1 1]\n it of 4712\n", "kept without a shape"},
		{"a use in what is no product", func(m *maker) {
			a := m.product("a")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("it", "#99999", a)
		}, "a [0 0 0] [1 1 1]\n", "occurrence in what is no product"},
		{"a promised use", func(m *maker) {
			ctx, a, b := m.context(unitMM), m.product("a"), m.product("b")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(b, ctx, m.box(2, 2, 2))
			m.add("PROMISSORY_USAGE_OCCURRENCE('1','','',%s,%s,$)", a, b)
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [2 2 2]\n", "only promised"},
		{"made from a blank", func(m *maker) {
			ctx, a, b := m.context(unitMM), m.product("a"), m.product("blank")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(b, ctx, m.box(2, 2, 2))
			m.add("MAKE_FROM_USAGE_OPTION('','','',%s,%s,1,'',$)", a, b)
		}, "a [0 0 0] [1 1 1]\n", "\"blank\" is what another one is made from"},
		{"made from a blank that has the only shape", func(m *maker) {
			a, b := m.product("a"), m.product("blank")
			m.shape(b, m.context(unitMM), m.box(2, 2, 2))
			m.add("MAKE_FROM_USAGE_OPTION('','','',%s,%s,1,'',$)", a, b)
		}, "blank [0 0 0] [2 2 2]\n", "\"a\" has neither a shape nor parts"},
		{"made from each other", func(m *maker) {
			ctx, a, b := m.context(unitMM), m.product("a"), m.product("b")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(b, ctx, m.box(2, 2, 2))
			m.add("MAKE_FROM_USAGE_OPTION('','','',%s,%s,1,'',$)", a, b)
			m.add("MAKE_FROM_USAGE_OPTION('','','',%s,%s,1,'',$)", b, a)
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [2 2 2]\n", ""},
		{"another relation of two products", func(m *maker) {
			ctx, a, b := m.context(unitMM), m.product("a"), m.product("b")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(b, ctx, m.box(2, 2, 2))
			m.add("PRODUCT_DEFINITION_RELATIONSHIP('1','alternative','',%s,%s)", a, b)
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [2 2 2]\n", ""},
		{"bare bodies that are mapped twice", func(m *maker) {
			ctx, origin := m.context(unitMM), m.at(0, 0, 0)
			piece := m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", origin, m.add("MANIFOLD_SOLID_BREP('pin',%s)", m.shell(vec{}, vec{1, 1, 1}, plain)), ctx)
			rm := m.add("REPRESENTATION_MAP(%s,%s)", origin, piece)
			m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(5, 0, 0)), m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(7, 0, 0)), ctx)
		}, "test\n pin [5 0 0] [6 1 1]\n pin [7 0 0] [8 1 1]\n", "belong to no product"},
		{"bare bodies, mapped in a circle", func(m *maker) {
			ctx, origin, box := m.context(unitMM), m.at(0, 0, 0), m.box(1, 1, 1)
			rm := m.add("REPRESENTATION_MAP(%s,#%d)", origin, m.n+3)
			item := m.add("MAPPED_ITEM('',%s,%s)", rm, origin)
			m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", box, item, ctx)
		}, "test [0 0 0] [1 1 1]\n", "belong to no product"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			c.build(&m)
			a := m.read(t)
			wantOutline(t, a, c.want)
			checkTree(t, a)
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

// What is said of views, blanks and construction geometry takes nothing from the
// trust in a verdict; a use without a product or a placement does.
func TestWhatIsAside(t *testing.T) {
	var m maker
	a, prod := m.definition("p", "analysis")
	ctx := m.context(unitMM)
	m.shape(a, ctx, m.box(9, 9, 9))
	design := m.view(prod, "design")
	m.shape(design, ctx, m.box(1, 1, 1))
	blank := m.product("blank")
	m.shape(blank, ctx, m.box(2, 2, 2))
	m.add("MAKE_FROM_USAGE_OPTION('','','',%s,%s,1,'',$)", design, blank)
	for _, s := range m.read(t).Skips {
		if !s.Aside {
			t.Errorf("%+v is not aside", s)
		}
	}
	m.use("it", design, m.product("q"))
	if !slices.ContainsFunc(m.read(t).Skips, func(s Skip) bool { return !s.Aside && strings.Contains(s.Why, "without a placement") }) {
		t.Error("a missing placement is aside")
	}
}

// What is odd and is read without a loss takes nothing from the trust either.
func TestMendedIsAside(t *testing.T) {
	face := func(m *maker, text string) { m.shape(m.product("p"), m.context(unitMM), m.solid(text)) }
	for why, write := range map[string]func(m *maker){
		"negative major radius": func(m *maker) {
			face(m, m.face(m.add("TOROIDAL_SURFACE('',%s,-20.,5.)", m.at(0, 0, 0)), true))
		},
		"face listed twice": func(m *maker) {
			f := m.face(m.sphere(5), true)
			face(m, f+","+f)
		},
		"bounded by a point": func(m *maker) {
			ring, point := m.loop(m.ring(5, 0, 0)), m.add("VERTEX_LOOP('',%s)", m.vertex(vec{}))
			face(m, m.face(m.plane(vec{}, ez), true, ring, point))
		},
		"items are swapped": func(m *maker) {
			asm, part, ctx := m.product("asm"), m.product("part"), m.context(unitMM)
			a, b := m.at(0, 0, 0), m.at(9, 0, 0)
			ra, rb := m.shape(asm, ctx, a), m.shape(part, ctx, b, m.box(1, 1, 1))
			m.tie(m.use("it", asm, part), rb, ra, a, b)
		},
		"mirrors or scales": func(m *maker) {
			asm, part, ctx := m.product("asm"), m.product("part"), m.context(unitMM)
			a := m.at(0, 0, 0)
			rb := m.shape(part, ctx, a, m.box(1, 1, 1))
			op := m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,1.,%s)", m.dir(1, 0, 0), m.dir(0, 1, 0), m.point(0, 0, 0), m.dir(0, 0, -1))
			m.shape(asm, ctx, m.add("MAPPED_ITEM('',%s,%s)", m.add("REPRESENTATION_MAP(%s,%s)", a, rb), op))
			m.use("it", asm, part)
		},
	} {
		var m maker
		write(&m)
		a := m.read(t)
		wantSkip(t, a, why)
		for _, s := range a.Skips {
			if !s.Aside {
				t.Errorf("%s: %+v is not aside", why, s)
			}
		}
	}
}

// A quantity of n is n instances, of which a placement places one.
func TestQuantities(t *testing.T) {
	cases := []struct {
		name, measure string
		n             int
		skip          string
	}{
		{"four", "MEASURE_WITH_UNIT(COUNT_MEASURE(4.),$)", 4, "quantity of 4"},
		{"two, a bare number", "MEASURE_WITH_UNIT(2,$)", 2, "quantity of 2"},
		{"one", "MEASURE_WITH_UNIT(COUNT_MEASURE(1.),$)", 1, ""},
		{"by the metre", "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),$)", 1, "counts no pieces"},
		{"half a piece", "MEASURE_WITH_UNIT(COUNT_MEASURE(0.5),$)", 1, "no number of pieces"},
		{"none", "MEASURE_WITH_UNIT(COUNT_MEASURE(0.),$)", 1, "no number of pieces"},
		{"minus three", "MEASURE_WITH_UNIT(COUNT_MEASURE(-3.),$)", 1, "no number of pieces"},
	}
	forms := map[string]string{
		"complex": "(ASSEMBLY_COMPONENT_USAGE('C1')NEXT_ASSEMBLY_USAGE_OCCURRENCE()PRODUCT_DEFINITION_RELATIONSHIP('1','pin','',%s,%s)PRODUCT_DEFINITION_USAGE()QUANTIFIED_ASSEMBLY_COMPONENT_USAGE(%s))",
		"simple":  "QUANTIFIED_ASSEMBLY_COMPONENT_USAGE('1','pin','',%s,%s,'C1',%s)",
	}
	for _, c := range cases {
		for form, text := range forms {
			t.Run(c.name+", "+form, func(t *testing.T) {
				p := newPair(unitMM, unitMM)
				p.m.b.Reset()
				m := &p.m
				ctx := m.context(unitMM)
				asm, part := m.product("asm"), m.product("part")
				origin, target := m.at(0, 0, 0), m.at(10, 0, 0)
				ar, pr := m.shape(asm, ctx, origin, target), m.shape(part, ctx, origin, m.box(1, 1, 1))
				nauo := m.add(text, asm, part, m.add("%s", c.measure))
				m.tie(nauo, pr, ar, origin, target)
				a := m.read(t)
				want := "asm\n pin of part [10 0 0] [11 1 1]\n" + strings.Repeat(" pin of part [0 0 0] [1 1 1]\n", c.n-1)
				wantOutline(t, a, want)
				checkTree(t, a)
				if a.Occurrences[1].RefDes != "C1" {
					t.Errorf("designator %q", a.Occurrences[1].RefDes)
				}
				if c.skip == "" {
					noSkips(t, a)
				} else {
					wantSkip(t, a, c.skip)
				}
				if c.n > 1 {
					wantSkip(t, a, "without a placement")
				}
			})
		}
	}
}

// A quantity multiplies like uses do, and is refused like them.
func TestQuantityIsBounded(t *testing.T) {
	var m maker
	top := m.product("top")
	below := top
	for range 3 {
		up := below
		below = m.product("next")
		m.add("QUANTIFIED_ASSEMBLY_COMPONENT_USAGE('','','',%s,%s,$,%s)", up, below, m.add("MEASURE_WITH_UNIT(COUNT_MEASURE(1.E300),$)"))
	}
	m.shape(below, m.context(unitMM), m.box(1, 1, 1))
	_, err := Read(t.Context(), "bomb.stp", m.text(), Options{})
	var limit *LimitError
	if !errors.As(err, &limit) {
		t.Errorf("error %v, want a LimitError", err)
	}
}

// Bare bodies that items map and map again are refused like uses, within bounded
// memory: ten levels of ten items each.
func TestMappedBareBodiesAreBounded(t *testing.T) {
	var m maker
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	rep := m.add("SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 1, 1), ctx)
	for range 10 {
		var items []string
		for range 10 {
			items = append(items, m.mapping(origin, rep, origin))
		}
		rep = m.add("SHAPE_REPRESENTATION('',(%s),%s)", strings.Join(items, ","), ctx)
	}
	_, err := Read(t.Context(), "bomb.stp", m.text(), Options{})
	var limit *LimitError
	if !errors.As(err, &limit) {
		t.Errorf("error %v, want a LimitError", err)
	}
}

// Ten thousand uses of one part are one part with one body.
func TestUsesShareThePart(t *testing.T) {
	p := newPair(unitMM, unitMM)
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	const n = 10_000
	for range n - 1 {
		p.m.tie(p.m.use("it", p.asm, p.part), p.partRep, p.asmRep, p.origin, p.target)
	}
	a := p.m.read(t)
	if len(a.Occurrences) != n+1 || len(a.Parts) != 2 || a.SolidCount() != 1 {
		t.Errorf("%d occurrences of %d parts with %d solids", len(a.Occurrences), len(a.Parts), a.SolidCount())
	}
}

// The way from a product to its shape and its uses in the application protocols
// that systems write: what the schema is called decides nothing.
func TestApplicationProtocols(t *testing.T) {
	// The numbers of AP242 editions 1 to 3 from memory (an edition is not its
	// version of part 442); that of edition 4 is a guess, and so counts as any
	// number that is not known.
	schemas := map[string]string{
		"AP203 edition 1": "CONFIG_CONTROL_DESIGN",
		"AP203 edition 2": "AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF { 1 0 10303 403 2 1 2 }",
		"AP214":           "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }",
		"AP242 edition 1": "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }",
		"AP242 edition 2": "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }",
		"AP242 edition 3": "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 4 1 4 }",
		"AP242 edition 4": "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 5 1 4 }",
		"unknown":         "SOMETHING_NEW",
		"two":             "CONFIG_CONTROL_DESIGN','SHAPE_APPEARANCE_LAYER_MIM",
	}
	ways := map[string]func(p *pair){
		"usual": func(p *pair) { p.nauo = p.m.use("it", p.asm, p.part) },
		"complex usage": func(p *pair) {
			p.nauo = p.m.add("(ASSEMBLY_COMPONENT_USAGE($)NEXT_ASSEMBLY_USAGE_OCCURRENCE()PRODUCT_DEFINITION_RELATIONSHIP('1','it','',%s,%s)PRODUCT_DEFINITION_USAGE())", p.asm, p.part)
		},
		"usage of an occurrence of a definition": func(p *pair) {
			p.nauo = p.m.use("it", p.asm, p.m.add("PRODUCT_DEFINITION_OCCURRENCE('1',$,$,%s,$)", p.part))
		},
		"usage of a kind that is not known": func(p *pair) {
			p.nauo = p.m.add("NEWER_ASSEMBLY_USAGE_OCCURRENCE('1','it','',%s,%s,$)", p.asm, p.part)
		},
	}
	definitions := map[string]func(m *maker, name string) string{
		"definition": func(m *maker, name string) string { pd, _ := m.definition(name, "design"); return pd },
		"design context": func(m *maker, name string) string {
			f := m.add("PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE('','',%s,.MADE.)", m.add("PRODUCT('%s-id','%s','',())", name, name))
			return m.add("PRODUCT_DEFINITION('D','',%s,%s)", f, m.add("DESIGN_CONTEXT('',$,'design')"))
		},
		"definition with documents": func(m *maker, name string) string {
			f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", m.add("PRODUCT('%s-id','%s','',())", name, name))
			return m.add("PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS('D','',%s,$,())", f)
		},
		"complex definition": func(m *maker, name string) string {
			f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", m.add("PRODUCT('%s-id','%s','',())", name, name))
			return m.add("(CHARACTERIZED_OBJECT(*,*)PRODUCT_DEFINITION('D','',%s,$)NEWER_DEFINITION())", f)
		},
		"definition of a kind that is not known": func(m *maker, name string) string {
			f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", m.add("PRODUCT('%s-id','%s','',())", name, name))
			return m.add("NEWER_PRODUCT_DEFINITION('D','',%s,$)", f)
		},
	}
	for ap, schema := range schemas {
		for way, use := range ways {
			for kind, define := range definitions {
				p := &pair{}
				m := &p.m
				ctx := m.context(unitMM)
				p.asm, p.part = define(m, "asm"), define(m, "part")
				p.origin, p.target = m.at(1, 0, 0), m.place(vec{10, 0, 0}, ez, ey)
				p.asmRep, p.partRep = m.shape(p.asm, ctx, p.target), m.shape(p.part, ctx, p.origin, m.box(1, 2, 3))
				use(p)
				m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
				text := strings.Replace(string(m.text()), "AUTOMOTIVE_DESIGN", schema, 1)
				a, err := Read(t.Context(), "test.stp", []byte(text), Options{})
				if err != nil {
					t.Fatal(err)
				}
				if got := outline(a); got != strings.TrimPrefix(pairWant, "\n") || len(a.Skips) > 0 {
					t.Errorf("%s, %s, %s: %s\nskips %v", ap, way, kind, got, a.Skips)
				}
			}
		}
	}
}

// A usage of one deep occurrence (SPECIFIED_HIGHER_USAGE_OCCURRENCE) adds no node,
// and names, paints or hides that one alone.
func TestDeepOccurrences(t *testing.T) {
	build := func(paint func(m *maker, rep, shuo, upper, next, upperTie, nextTie string)) *Assembly {
		var m maker
		ctx, origin := m.context(unitMM), m.at(0, 0, 0)
		top, group, part := m.product("top"), m.product("group"), m.product("part")
		tr, gr, pr := m.shape(top, ctx, origin), m.shape(group, ctx, origin), m.shape(part, ctx, origin, m.box(1, 1, 1))
		g1, g2 := m.use("g1", top, group), m.use("g2", top, group)
		m.tie(g1, gr, tr, origin, origin)
		m.tie(g2, gr, tr, origin, origin)
		upperTie := m.last()
		p1 := m.use("p1", group, part)
		m.tie(p1, pr, gr, origin, origin)
		nextTie := m.last()
		shuo := m.add("SPECIFIED_HIGHER_USAGE_OCCURRENCE('1','deep','',%s,%s,$,%s,%s)", top, part, g2, p1)
		m.paint("STYLED_ITEM", pr, 1, 0, 0, "")
		paint(&m, pr, shuo, g2, p1, upperTie, nextTie)
		a := m.read(t)
		return a
	}
	over := func(m *maker, rep, contexts string) {
		m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", rep, 0, 0, 1, fmt.Sprintf(",%s,(%s)", m.last(), contexts))
	}
	cases := []struct {
		name  string
		paint func(m *maker, rep, shuo, upper, next, upperTie, nextTie string)
		want  [2]string // of the part in g1 and in g2
	}{
		{"not painted", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {}, [2]string{"", ""}},
		{"every use", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) { over(m, rep, nextTie) }, [2]string{"#0000ff", "#0000ff"}},
		{"two steps", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {
			over(m, rep, upperTie+","+nextTie)
		}, [2]string{"", "#0000ff"}},
		{"two steps, upwards", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {
			over(m, rep, nextTie+","+upperTie)
		}, [2]string{"", "#0000ff"}},
		{"by its usage", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) { over(m, rep, shuo) }, [2]string{"", "#0000ff"}},
		{"by what ties its usage", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {
			rr := m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, rep)
			tie := m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", shuo))
			over(m, rep, tie)
		}, [2]string{"", "#0000ff"}},
		{"the deep one over every use", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {
			over(m, rep, shuo)
			m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", rep, 0, 1, 0, fmt.Sprintf(",$,(%s)", nextTie))
		}, [2]string{"#00ff00", "#0000ff"}},
		{"usage of itself", func(m *maker, rep, shuo, upper, next, upperTie, nextTie string) {
			loop := m.add("SPECIFIED_HIGHER_USAGE_OCCURRENCE('1','deep','',$,$,$,#%d,%s)", m.n+1, next)
			over(m, rep, loop)
		}, [2]string{"#0000ff", "#0000ff"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := build(c.paint)
			wantOutline(t, a, "top\n g1 of group\n  p1 of part [0 0 0] [1 1 1]\n g2 of group\n  deep of part [0 0 0] [1 1 1]\n")
			if got := [2]string{a.Occurrences[2].Color, a.Occurrences[4].Color}; got != c.want || a.Parts[2].Color != "#ff0000" {
				t.Errorf("colours %q of a part in %q, want %q", got, a.Parts[2].Color, c.want)
			}
		})
	}
}

// linkedTo is an assembly whose only part lies in another file.
func linkedTo(file string) []byte {
	var m maker
	ctx := m.context(unitMM)
	asm, part := m.product("asm"), m.product("part")
	origin := m.at(0, 0, 0)
	ar, pr := m.shape(asm, ctx, origin), m.shape(part, ctx, origin)
	m.tie(m.use("it", asm, part), pr, ar, origin, origin)
	m.add("APPLIED_DOCUMENT_REFERENCE(%s,'',(%s))", m.add("DOCUMENT_FILE('%s','','',$,'',$)", file), part)
	return m.text()
}

func TestLinkedFiles(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var zipped bytes.Buffer
	packZip(t, &zipped, map[string][]byte{"box.stp": oneBox()})
	write("box.zip", zipped.Bytes())
	write("box.stp", oneBox())
	write("box.stp.gz", pack(t, oneBox()))
	write("a.stp", linkedTo("b.stp"))
	write("b.stp", linkedTo("a.stp"))
	if err := os.Mkdir(filepath.Join(dir, "sub"), 0o777); err != nil {
		t.Fatal(err)
	}
	write("sub/box.stp", oneBox())
	cases := []struct{ file, want, skip string }{
		{"box.stp", "asm\n it of part [0 0 0] [1 2 3]\n", ""},
		{"box.stp.gz", "asm\n it of part [0 0 0] [1 2 3]\n", "in box.stp.gz: read out of the compressed file"},
		{"box.zip", "asm\n it of part [0 0 0] [1 2 3]\n", "in box.zip: read out of the compressed file"},
		{"a.stp", "asm\n it of part\n  it of part\n   it of part\n", "\"a.stp\" would contain itself"},
		{"none.stp", "asm\n it of part\n", "\"none.stp\" is not beside this file"},
		{"sub", "asm\n it of part\n", "is not a file"},
		{"sub/box.stp", "asm\n it of part\n", "not in the folder of this file"},
		{"/etc/passwd", "asm\n it of part\n", "not in the folder of this file"},
		{"file:box.stp", "asm\n it of part\n", "not in the folder of this file"},
		{"..", "asm\n it of part\n", "not in the folder of this file"},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			write("main.stp", linkedTo(c.file))
			a, err := ReadFile(t.Context(), filepath.Join(dir, "main.stp"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			wantOutline(t, a, c.want)
			checkTree(t, a)
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
			if missing := a.SolidCount() == 0; missing && !slices.ContainsFunc(a.Skips, func(s Skip) bool { return !s.Aside && s.Tag != 0 }) {
				t.Errorf("what is missing is not listed with its number: %+v", a.Skips)
			}
		})
	}
}

// Other ways to name the file of a part.
func TestWaysToNameAFile(t *testing.T) {
	cases := map[string]func(m *maker, formation string) string{
		"external identification": func(m *maker, formation string) string {
			pd := m.add("PRODUCT_DEFINITION('design','',%s,$)", formation)
			doc := m.add("DOCUMENT_FILE('4711','a drawing number','',$,'',$)")
			m.add("APPLIED_DOCUMENT_REFERENCE(%s,'',(%s))", doc, pd)
			m.add("APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT('box.stp',$,$,(%s))", doc)
			return pd
		},
		"definition with documents": func(m *maker, formation string) string {
			doc := m.add("DOCUMENT_FILE('box.stp','','',$,'',$)")
			return m.add("PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS('design','',%s,$,(%s))", formation, doc)
		},
	}
	for name, part := range cases {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			var m maker
			pd := part(&m, m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", m.add("PRODUCT('p','part','',())")))
			m.shape(pd, m.context(unitMM), m.at(0, 0, 0))
			for file, b := range map[string][]byte{"main.stp": m.text(), "box.stp": oneBox()} {
				if err := os.WriteFile(filepath.Join(dir, file), b, 0o666); err != nil {
					t.Fatal(err)
				}
			}
			a, err := ReadFile(t.Context(), filepath.Join(dir, "main.stp"), Options{})
			if err != nil {
				t.Fatal(err)
			}
			wantOutline(t, a, "part [0 0 0] [1 2 3]\n")
		})
	}
}
