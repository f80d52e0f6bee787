package step

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/geom"
)

// outline writes the tree, one occurrence a line, indented by depth: name, the
// part where its name differs, and the box of its corners in the root.
func outline(a *Assembly) string {
	var s strings.Builder
	for _, o := range a.Occurrences {
		p := a.Parts[o.Part]
		s.WriteString(strings.Repeat(" ", o.Depth) + o.Name)
		if p.Name != o.Name {
			s.WriteString(" of " + p.Name)
		}
		for _, b := range p.Bodies {
			box := vertexBox(b, o.Placement)
			fmt.Fprintf(&s, " %v %v", round(box.Min), round(box.Max))
		}
		s.WriteString("\n")
	}
	return s.String()
}

func round(v mgl64.Vec3) [3]float64 {
	for i := range v {
		v[i] = math.Round(v[i]*1e6)/1e6 + 0 // no negative zero
	}
	return [3]float64(v)
}

func wantOutline(t *testing.T, a *Assembly, want string) {
	t.Helper()
	want = strings.TrimPrefix(want, "\n")
	if d := cmp.Diff(want, outline(a)); d != "" {
		t.Errorf("(-want +got)\n%s\nskips %+v", d, a.Skips)
	}
}

func wantSkip(t *testing.T, a *Assembly, why string) {
	t.Helper()
	for _, s := range a.Skips {
		if strings.Contains(s.Why, why) {
			return
		}
	}
	t.Errorf("no skip about %q in %+v", why, a.Skips)
}

func noSkips(t *testing.T, a *Assembly) {
	t.Helper()
	if len(a.Skips) > 0 {
		t.Errorf("skips %+v, want none", a.Skips)
	}
}

// pair is an assembly with one part at (10, 0, 0), turned by 90° about z.
type pair struct {
	m                    maker
	asm, part, nauo      string
	asmRep, partRep      string
	origin, target, ctxA string
}

func newPair(unitA, unitP string) *pair {
	p := &pair{}
	m := &p.m
	ctx := func(u string) string {
		if u == "inch" {
			return m.context(m.inch())
		}
		return m.context(u)
	}
	ctxA, ctxP := ctx(unitA), ctx(unitP)
	p.ctxA = ctxA
	p.asm, p.part = m.product("asm"), m.product("part")
	p.origin = m.at(1, 0, 0)
	p.target = m.place(mgl64.Vec3{10, 0, 0}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0})
	p.asmRep = m.shape(p.asm, ctxA, m.at(0, 0, 0), p.target)
	p.partRep = m.shape(p.part, ctxP, p.origin, m.box(1, 2, 3))
	p.nauo = m.use("it", p.asm, p.part)
	return p
}

// The part's corner (1,0,0) comes to (10,0,0), its x to y and its y to -x.
const pairWant = `
asm
 it of part [8 -1 0] [10 0 3]
`

func TestPlacementEncodings(t *testing.T) {
	cases := map[string]func(p *pair){
		"rep_1 is the part":     func(p *pair) { p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target) },
		"rep_1 is the assembly": func(p *pair) { p.m.tie(p.nauo, p.asmRep, p.partRep, p.target, p.origin) },
		"items swapped":         func(p *pair) { p.m.tie(p.nauo, p.partRep, p.asmRep, p.target, p.origin) },
		"mapped item": func(p *pair) {
			// The assembly's representation lists the item: it is written anew.
			rm := p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep)
			mi := p.m.add("MAPPED_ITEM('',%s,%s)", rm, p.target)
			p.addItem(mi)
		},
		"both": func(p *pair) {
			rm := p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep)
			p.addItem(p.m.add("MAPPED_ITEM('',%s,%s)", rm, p.target))
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
		},
		"no tie to the occurrence": func(p *pair) {
			idt := p.m.add("ITEM_DEFINED_TRANSFORMATION('','',%s,%s)", p.origin, p.target)
			p.m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)SHAPE_REPRESENTATION_RELATIONSHIP())", p.partRep, p.asmRep, idt)
		},
		"placed twice": func(p *pair) {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.origin)
		},
		"mapped to an operator": func(p *pair) {
			o := p.m.point(10, 0, 0)
			op := p.m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,1.,$)", p.m.dir(0, 1, 0), p.m.dir(-1, 0, 0), o)
			p.addItem(p.m.add("MAPPED_ITEM('',%s,%s)", p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep), op))
		},
	}
	for name, tie := range cases {
		t.Run(name, func(t *testing.T) {
			p := newPair(unitMM, unitMM)
			tie(p)
			wantOutline(t, p.m.read(t), pairWant)
		})
	}
}

// addItem puts one more item into the assembly's representation.
func (p *pair) addItem(item string) {
	s := p.m.b.String()
	old := p.asmRep + "=SHAPE_REPRESENTATION('',("
	p.m.b.Reset()
	p.m.b.WriteString(strings.Replace(s, old, old+item+",", 1))
}

func TestPlacementUnits(t *testing.T) {
	cases := []struct{ asm, part, want string }{
		{unitMM, unitM, "asm\n it of part [-1990 -1000 0] [10 0 3000]\n"},
		{unitM, unitMM, "asm\n it of part [9998 -1 0] [10000 0 3]\n"},
		{"inch", unitMM, "asm\n it of part [252 -1 0] [254 0 3]\n"},
		{unitMM, "inch", "asm\n it of part [-40.8 -25.4 0] [10 0 76.2]\n"},
	}
	for _, c := range cases {
		p := newPair(c.asm, c.part)
		p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
		a := p.m.read(t)
		wantOutline(t, a, c.want)
		noSkips(t, a)
	}
}

func TestMissingPlacement(t *testing.T) {
	p := newPair(unitMM, unitMM)
	a := p.m.read(t)
	wantOutline(t, a, "asm\n it of part [0 0 0] [1 2 3]\n")
	wantSkip(t, a, "without a placement")
}

func TestMirrorAndScale(t *testing.T) {
	p := newPair(unitMM, unitMM)
	o := p.m.point(0, 0, 0)
	op := p.m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,2.,%s)", p.m.dir(1, 0, 0), p.m.dir(0, -1, 0), o, p.m.dir(0, 0, 1))
	zero := p.m.at(0, 0, 0)
	p.addItem(p.m.add("MAPPED_ITEM('',%s,%s)", p.m.add("REPRESENTATION_MAP(%s,%s)", zero, p.partRep), op))
	a := p.m.read(t)
	wantOutline(t, a, "asm\n it of part [0 -4 0] [2 0 6]\n")
	wantSkip(t, a, "mirrors or scales")
	if tr := a.Occurrences[1].Local; tr.IsRigid() || math.Abs(tr.M.Det()+8) > 1e-12 {
		t.Errorf("determinant %g, want -8", tr.M.Det())
	}
}

func TestUnits(t *testing.T) {
	cases := []struct {
		name, want, unit, skip string
		context                func(m *maker) string
	}{
		{"millimetre", "[1 2 3]", "mm", "", func(m *maker) string { return m.context(unitMM) }},
		{"metre", "[1000 2000 3000]", "m", "", func(m *maker) string { return m.context(unitM) }},
		{"inch", "[25.4 50.8 76.2]", "inch", "", func(m *maker) string { return m.context(m.inch()) }},
		{"inch by another name", "[25.4 50.8 76.2]", "inch", "", func(m *maker) string {
			f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.0254),%s)", m.add(unitM))
			return m.context(m.add("(CONVERSION_BASED_UNIT('thumb',%s)LENGTH_UNIT()NAMED_UNIT(*))", f))
		}},
		{"twice converted", "[50.8 101.6 152.4]", "pair", "", func(m *maker) string {
			f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),%s)", m.inch())
			return m.context(m.add("(CONVERSION_BASED_UNIT('pair',%s)LENGTH_UNIT()NAMED_UNIT(*))", f))
		}},
		{"factor zero", "[1 2 3]", "mm", "without a positive factor", func(m *maker) string {
			f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.),%s)", m.add(unitM))
			return m.context(m.add("(CONVERSION_BASED_UNIT('nil',%s)LENGTH_UNIT()NAMED_UNIT(*))", f))
		}},
		{"unit of itself", "[1 2 3]", "mm", "without a positive factor", func(m *maker) string {
			f := m.add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.),#%d)", m.n+2)
			return m.context(m.add("(CONVERSION_BASED_UNIT('loop',%s)LENGTH_UNIT()NAMED_UNIT(*))", f))
		}},
		{"no units", "[1 2 3]", "mm", "without units", func(m *maker) string { return m.add("REPRESENTATION_CONTEXT('','')") }},
		{"no context", "[1 2 3]", "mm", "without units", func(m *maker) string { return "#999" }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			m.shape(m.product("p"), c.context(&m), m.box(1, 2, 3))
			a := m.read(t)
			wantOutline(t, a, "p [0 0 0] "+c.want+"\n")
			if a.Source.LengthUnit != c.unit {
				t.Errorf("unit %q, want %q", a.Source.LengthUnit, c.unit)
			}
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

func TestAnglesFollowTheContext(t *testing.T) {
	// A cone of 45 degrees in a context of degrees: checked on the surface.
	var m maker
	mm := m.add(unitMM)
	one := m.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	deg := m.add("(CONVERSION_BASED_UNIT('DEGREE',%s)NAMED_UNIT(*)PLANE_ANGLE_UNIT())", m.add("PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.0174532925199433),%s)", one))
	ctx := m.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((%s,%s))REPRESENTATION_CONTEXT('',''))", mm, deg)
	cone := m.add("CONICAL_SURFACE('',%s,1.,45.)", m.at(0, 0, 0))
	sh := m.add("OPEN_SHELL('',(%s))", m.add("ADVANCED_FACE('',(),%s,.T.)", cone))
	m.shape(m.product("p"), ctx, m.add("SHELL_BASED_SURFACE_MODEL('',(%s))", sh))
	a := m.read(t)
	s := a.Parts[0].Bodies[0].Faces[0].Surface
	for _, p := range []mgl64.Vec3{{2, 0, 1}, {0, 5, 4}} { // radius grows by 1 for each mm of height
		if d := offSurface(s, p); d > 1e-9 {
			t.Errorf("%v is %g mm off the cone", p, d)
		}
	}
}

func TestStructure(t *testing.T) {
	cases := []struct {
		name  string
		build func(m *maker)
		want  string
		skip  string
	}{
		{"one part", func(m *maker) { m.shape(m.product("p"), m.context(unitMM), m.box(1, 2, 3)) },
			"p [0 0 0] [1 2 3]\n", ""},
		{"shape one relation away", func(m *maker) {
			ctx := m.context(unitMM)
			rep := m.shape(m.product("p"), ctx, m.at(0, 0, 0))
			brep := m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 2, 3), ctx)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, brep)
		}, "p [0 0 0] [1 2 3]\n", ""},
		{"two relations away, other order, with a circle", func(m *maker) {
			ctx := m.context(unitMM)
			rep := m.shape(m.product("p"), ctx, m.at(0, 0, 0))
			mid := m.add("SHAPE_REPRESENTATION('',(%s),%s)", m.at(0, 0, 0), ctx)
			brep := m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 2, 3), ctx)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", mid, rep)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", brep, mid)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, brep)
		}, "p [0 0 0] [1 2 3]\n", ""},
		{"other units one relation away", func(m *maker) {
			rep := m.shape(m.product("p"), m.context(unitM), m.at(0, 0, 0))
			brep := m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 2, 3), m.context(unitMM))
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, brep)
		}, "p [0 0 0] [1 2 3]\n", ""},
		{"placed relation inside of a product", func(m *maker) {
			ctx := m.context(unitMM)
			to, from := m.at(5, 0, 0), m.at(0, 0, 0)
			rep := m.shape(m.product("p"), ctx, to)
			brep := m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", m.box(1, 2, 3), from, ctx)
			idt := m.add("ITEM_DEFINED_TRANSFORMATION('','',%s,%s)", from, to)
			m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)SHAPE_REPRESENTATION_RELATIONSHIP())", brep, rep, idt)
		}, "p\n p [5 0 0] [6 2 3]\n", ""},
		{"several bodies in one product", func(m *maker) {
			named := strings.Replace(m.box(1, 1, 1), "", "", 1)
			m.shape(m.product("p"), m.context(unitMM), named, m.add("MANIFOLD_SOLID_BREP('lid',%s)", m.shell(mgl64.Vec3{2, 0, 0}, mgl64.Vec3{3, 1, 1}, plain)))
		}, "p\n p 1 [0 0 0] [1 1 1]\n lid [2 0 0] [3 1 1]\n", ""},
		{"two products share a representation", func(m *maker) {
			ctx := m.context(unitMM)
			a, b := m.product("a"), m.product("b")
			rep := m.shape(a, ctx, m.at(0, 0, 0))
			m.add("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", b), rep)
			brep := m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 1, 1), ctx)
			m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", rep, brep)
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [1 1 1]\n", ""},
		{"one body listed twice", func(m *maker) {
			b := m.box(1, 1, 1)
			m.shape(m.product("p"), m.context(unitMM), b, b)
		}, "p [0 0 0] [1 1 1]\n", ""},
		{"a mapped piece of its own, twice", func(m *maker) {
			ctx := m.context(unitMM)
			piece := m.add("SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 1, 1), ctx)
			rm := m.add("REPRESENTATION_MAP(%s,%s)", m.at(0, 0, 0), piece)
			m.shape(m.product("p"), ctx, m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(5, 0, 0)), m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(7, 0, 0)))
		}, "p\n p 1 [5 0 0] [6 1 1]\n p 2 of p 1 [7 0 0] [8 1 1]\n", ""},
		{"assembly with a body of its own", func(m *maker) {
			ctx := m.context(unitMM)
			a, b := m.product("a"), m.product("b")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.shape(b, ctx, m.box(2, 2, 2))
			m.use("b1", a, b)
		}, "a\n a [0 0 0] [1 1 1]\n b1 of b [0 0 0] [2 2 2]\n", "without a placement"},
		{"several roots", func(m *maker) {
			ctx := m.context(unitMM)
			m.shape(m.product("a"), ctx, m.box(1, 1, 1))
			m.shape(m.product("b"), ctx, m.box(2, 2, 2))
			m.product("paper")
		}, "test\n a [0 0 0] [1 1 1]\n b [0 0 0] [2 2 2]\n", "\"paper\" has neither"},
		{"no product structure", func(m *maker) {
			m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s,%s),%s)", m.box(1, 1, 1), m.add("MANIFOLD_SOLID_BREP('lid',%s)", m.shell(mgl64.Vec3{}, mgl64.Vec3{2, 2, 2}, plain)), m.context(unitM))
		}, "test\n part-150 [0 0 0] [1000 1000 1000]\n lid [0 0 0] [2000 2000 2000]\n", "belong to no product"},
		{"a body in nothing", func(m *maker) { m.box(1, 1, 1) },
			"test [0 0 0] [1 1 1]\n", "body in no representation"},
		{"uses in a circle", func(m *maker) {
			ctx := m.context(unitMM)
			a, b := m.product("a"), m.product("b")
			m.shape(a, ctx, m.box(1, 1, 1))
			m.use("ab", a, b)
			m.use("ba", b, a)
		}, "a\n a [0 0 0] [1 1 1]\n ab of b\n", "would contain itself"},
		{"a use of itself", func(m *maker) {
			a := m.product("a")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("aa", a, a)
		}, "a [0 0 0] [1 1 1]\n", "would contain itself"},
		{"a mapped item of its own representation", func(m *maker) {
			ctx := m.context(unitMM)
			rm := m.add("REPRESENTATION_MAP(%s,#%d)", m.at(0, 0, 0), m.n+7+1)
			mi := m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(1, 0, 0))
			_ = mi
			m.shape(m.product("p"), ctx, mi)
		}, "p\n", ""},
		{"a use of nothing", func(m *maker) {
			a := m.product("a")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("x", a, "#9999")
		}, "a\n a [0 0 0] [1 1 1]\n x of part-161\n", "occurrence of nothing where a product is wanted"},
		{"a use without shape", func(m *maker) {
			a, b := m.product("a"), m.product("b")
			m.shape(a, m.context(unitMM), m.box(1, 1, 1))
			m.use("hidden", a, b)
		}, "a\n a [0 0 0] [1 1 1]\n hidden of b\n", "has no geometry"},
		{"tessellated only", func(m *maker) {
			m.shape(m.product("p"), m.context(unitMM), m.add("TESSELLATED_SOLID('',(),$)"))
		}, "p\n", "tessellated shape without faces"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			c.build(&m)
			a := m.read(t)
			wantOutline(t, a, c.want)
			if c.skip != "" {
				wantSkip(t, a, c.skip)
			}
			checkTree(t, a)
		})
	}
}

// checkTree checks what holds for every assembly.
func checkTree(t *testing.T, a *Assembly) {
	t.Helper()
	first := map[PartIndex]bool{}
	next := PartIndex(0)
	for i, o := range a.Occurrences {
		if (i == 0) != (o.Parent == -1) || o.Parent >= OccIndex(i) {
			t.Errorf("occurrence %d has parent %d", i, o.Parent)
			continue
		}
		if i > 0 {
			up := a.Occurrences[o.Parent]
			if o.Depth != up.Depth+1 || o.Path != up.Path+"/"+pathStep(o.Name) {
				t.Errorf("occurrence %d: depth %d, path %q under %q", i, o.Depth, o.Path, up.Path)
			}
			if d := o.Placement.T.Sub(up.Placement.Mul(o.Local).T).Len(); d > 1e-9 {
				t.Errorf("occurrence %d is %g mm off its parent's place", i, d)
			}
		}
		if !first[o.Part] {
			if first[o.Part] = true; o.Part != next {
				t.Errorf("part %d comes before part %d", o.Part, next)
			}
			next++
		}
	}
	if int(next) != len(a.Parts) {
		t.Errorf("%d of %d parts are used", next, len(a.Parts))
	}
}

func TestRealTreesAreSound(t *testing.T) {
	for _, name := range realFiles(t) {
		checkTree(t, readReal(t, name))
	}
}

// Twenty levels of ten uses each are ten lines a level and 10^20 occurrences.
func TestExplosion(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	above := m.product("top")
	m.shape(above, ctx, m.at(0, 0, 0))
	for range 20 {
		below := m.product("next")
		for range 10 {
			m.use("u", above, below)
		}
		above = below
	}
	m.shape(above, ctx, m.box(1, 1, 1))
	_, err := Read(t.Context(), "bomb.stp", m.text(), Options{})
	var limit *LimitError
	if !errors.As(err, &limit) || !strings.Contains(err.Error(), "bomb.stp") {
		t.Errorf("error %v, want a LimitError", err)
	}
}

// A chain of 5,000 levels ends where the limit is, without a deep stack.
func TestDeepChain(t *testing.T) {
	var m maker
	above := m.product("top")
	for range 5000 {
		below := m.product("next")
		m.use("u", above, below)
		above = below
	}
	m.shape(above, m.context(unitMM), m.box(1, 1, 1))
	a := m.read(t)
	if n := len(a.Occurrences); n != maxDepth+1 {
		t.Errorf("%d occurrences, want %d", n, maxDepth+1)
	}
	wantSkip(t, a, "deeper than")
}

// Thousands of solids round one shell would decode it again and again.
func TestSharedShellIsBounded(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	sh := m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, plain)
	var solids []string
	for range 20_000 {
		solids = append(solids, m.add("MANIFOLD_SOLID_BREP('',%s)", sh))
	}
	m.shape(m.product("p"), ctx, solids...)
	_, err := Read(t.Context(), "bomb.stp", m.text(), Options{})
	var limit *LimitError
	if !errors.As(err, &limit) {
		t.Errorf("error %v, want a LimitError", err)
	}
}

// paint styles an item; more follows it in the record.
func (m *maker) paint(kind, item string, r, g, b float64, more string) {
	c := m.add("COLOUR_RGB('',%s,%s,%s)", num(r), num(g), num(b))
	f := m.add("FILL_AREA_STYLE('',(%s))", m.add("FILL_AREA_STYLE_COLOUR('',%s)", c))
	s := m.add("SURFACE_SIDE_STYLE('',(%s))", m.add("SURFACE_STYLE_FILL_AREA(%s)", f))
	a := m.add("PRESENTATION_STYLE_ASSIGNMENT((%s))", m.add("SURFACE_STYLE_USAGE(.BOTH.,%s)", s))
	m.add("%s('',(%s),%s%s)", kind, a, item, more)
}

func TestColors(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	box := m.box(1, 1, 1)
	rep := m.shape(m.product("p"), ctx, box)
	if got := m.read(t).Parts[0].Color; got != "" {
		t.Errorf("colour %q without a style", got)
	}
	m.paint("STYLED_ITEM", rep, 0, 0, 1, "")
	if got := m.read(t).Parts[0].Color; got != "#0000ff" {
		t.Errorf("colour %q, want the representation's", got)
	}
	m.paint("STYLED_ITEM", box, 1, 0.5, 0.2, "")
	if got := m.read(t).Parts[0].Color; got != "#ff8033" {
		t.Errorf("colour %q, want the solid's", got)
	}
	m.paint("OVER_RIDING_STYLED_ITEM", box, 0, 1, 0, ",$")
	m.paint("STYLED_ITEM", box, 1, 1, 1, "")
	if got := m.read(t).Parts[0].Color; got != "#00ff00" {
		t.Errorf("colour %q, want the overriding one", got)
	}
}

// One of two occurrences of a part is painted over.
func TestOccurrenceColor(t *testing.T) {
	p := newPair(unitMM, unitMM)
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	second := p.m.use("second", p.asm, p.part)
	p.m.tie(second, p.partRep, p.asmRep, p.origin, p.origin)
	cdsr := fmt.Sprintf("#%d", p.m.n)
	p.m.paint("STYLED_ITEM", p.partRep, 1, 0, 0, "")
	p.m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", p.partRep, 0, 0, 1, fmt.Sprintf(",#%d,(%s)", p.m.n, cdsr))
	a := p.m.read(t)
	if a.Occurrences[1].Color != "" || a.Occurrences[2].Color != "#0000ff" || a.Parts[1].Color != "#ff0000" {
		t.Errorf("colours %q and %q of a part in %q", a.Occurrences[1].Color, a.Occurrences[2].Color, a.Parts[1].Color)
	}
}

func TestRefDesAndMaterial(t *testing.T) {
	p := newPair(unitMM, unitMM)
	p.m.add("NEXT_ASSEMBLY_USAGE_OCCURRENCE('2','','',%s,%s,'R7')", p.asm, p.part)
	prop := p.m.add("PROPERTY_DEFINITION('material property','material name',%s)", p.part)
	rep := p.m.add("REPRESENTATION('material name',(%s),$)", p.m.add("DESCRIPTIVE_REPRESENTATION_ITEM('Stahl','\\X2\\30B9\\X0\\')"))
	p.m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", prop, rep)
	a := p.m.read(t)
	if o := a.Occurrences[2]; o.RefDes != "R7" || o.Name != "R7" {
		t.Errorf("reference designator %q, name %q", o.RefDes, o.Name)
	}
	if got := a.Parts[a.Occurrences[1].Part].Material; got != "ス" {
		t.Errorf("material %q", got)
	}
}

func TestMaterialAsProduct(t *testing.T) {
	var m maker
	part, stuff := m.product("p"), m.product("Brass")
	m.shape(part, m.context(unitMM), m.box(1, 1, 1))
	m.add("MAKE_FROM_USAGE_OPTION('material','','',%s,%s,1,'',$)", part, stuff)
	a := m.read(t)
	if len(a.Parts) != 1 || a.Parts[0].Material != "Brass" {
		t.Errorf("parts %+v", a.Parts)
	}
	noSkips(t, a)
}

// The structure alone has names, places and bodies without faces.
func TestStructureOnly(t *testing.T) {
	p := newPair(unitMM, unitMM)
	p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
	a, err := Read(t.Context(), "s.stp", p.m.text(), Options{Structure: true})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(a.Parts[1].Bodies); n != 1 || a.SolidCount() != 1 || len(a.Parts[1].Bodies[0].Faces) != 0 {
		t.Errorf("%d bodies, %d solids", n, a.SolidCount())
	}
	if got := a.Occurrences[1].Placement; got.T != (mgl64.Vec3{10, -1, 0}) || !got.IsRigid() {
		t.Errorf("placement %v", got)
	}
	_ = geom.Identity
}
