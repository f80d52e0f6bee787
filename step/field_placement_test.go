package step

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
)

// relate ties two representations without an occurrence.
func (m *maker) relate(rep1, rep2, item1, item2 string) {
	idt := m.add("ITEM_DEFINED_TRANSFORMATION('','',%s,%s)", item1, item2)
	m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)SHAPE_REPRESENTATION_RELATIONSHIP())", rep1, rep2, idt)
}

// mapping writes a mapped item.
func (m *maker) mapping(origin, rep, target string) string {
	return m.add("MAPPED_ITEM('',%s,%s)", m.add("REPRESENTATION_MAP(%s,%s)", origin, rep), target)
}

// More ways to say pairWant, beside TestPlacementEncodings.
func TestFieldPlacements(t *testing.T) {
	const atOrigin = "\nasm\n it of part [0 0 0] [1 2 3]\n"
	cases := []struct {
		name  string
		place func(p *pair)
		want  string
		skip  string
	}{
		{"the leaves of a relation in another order", func(p *pair) {
			idt := p.m.add("ITEM_DEFINED_TRANSFORMATION($,$,%s,%s)", p.origin, p.target)
			rr := p.m.add("(SHAPE_REPRESENTATION_RELATIONSHIP()REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)REPRESENTATION_RELATIONSHIP($,$,%s,%s))", idt, p.partRep, p.asmRep)
			p.m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, p.m.add("PRODUCT_DEFINITION_SHAPE($,$,%s)", p.nauo))
		}, pairWant, ""},
		{"a relation in the simple form", func(p *pair) {
			idt := p.m.add("ITEM_DEFINED_TRANSFORMATION('','',%s,%s)", p.origin, p.target)
			rr := p.m.add("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION('','',%s,%s,%s)", p.partRep, p.asmRep, idt)
			p.m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, p.m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo))
		}, pairWant, ""},
		{"a relation without a transformation", func(p *pair) {
			rr := p.m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", p.partRep, p.asmRep)
			p.m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, p.m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo))
		}, atOrigin, ""},
		{"a relation the wrong way round, without a tie", func(p *pair) {
			p.m.relate(p.asmRep, p.partRep, p.target, p.origin)
		}, pairWant, ""},
		{"a transformation that is not there", func(p *pair) {
			rr := p.m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#99999)SHAPE_REPRESENTATION_RELATIONSHIP())", p.partRep, p.asmRep)
			p.m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, p.m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo))
		}, atOrigin, "#99999"},
		{"a tie to no occurrence", func(p *pair) {
			p.m.tie("#99999", p.partRep, p.asmRep, p.origin, p.target)
		}, atOrigin, "without a placement"},
		{"an operator in the relation", func(p *pair) {
			// Turns x to y as the pair's target does; the part's (1, 0, 0) comes to
			// (10, 0, 0), so its origin to (10, -1, 0).
			op := p.m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,$,$)", p.m.dir(0, 1, 0), p.m.dir(-1, 0, 0), p.m.point(10, -1, 0))
			rr := p.m.add("(REPRESENTATION_RELATIONSHIP('','',%s,%s)REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(%s)SHAPE_REPRESENTATION_RELATIONSHIP())", p.partRep, p.asmRep, op)
			p.m.add("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(%s,%s)", rr, p.m.add("PRODUCT_DEFINITION_SHAPE('','',%s)", p.nauo))
		}, pairWant, ""},
		{"a mapped item with a target of its own leaf order", func(p *pair) {
			rm := p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep)
			p.addItem(p.m.add("(REPRESENTATION_ITEM('')MAPPED_ITEM(%s,%s)GEOMETRIC_REPRESENTATION_ITEM())", rm, p.target))
		}, pairWant, ""},
		{"mapped elsewhere than placed", func(p *pair) {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			p.addItem(p.m.mapping(p.origin, p.partRep, p.m.at(99, 0, 0)))
		}, pairWant, "another placement of an occurrence that has one"},
		{"mapped once more than the structure tells of", func(p *pair) {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			p.addItem(p.m.mapping(p.origin, p.partRep, p.target))
			p.addItem(p.m.mapping(p.origin, p.partRep, p.m.at(101, 0, 0)))
		}, pairWant + " part [100 0 0] [101 2 3]\n", ""},
		{"related elsewhere than placed", func(p *pair) {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			p.m.relate(p.partRep, p.asmRep, p.origin, p.m.at(101, 0, 0))
		}, pairWant, "another placement of an occurrence that has one"},
		{"the root as a whole", func(p *pair) {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			outer := p.m.at(500, 0, 0)
			p.m.relate(p.asmRep, p.m.add("SHAPE_REPRESENTATION('',(%s),%s)", outer, p.ctxA), p.target, outer)
		}, pairWant, "placement of the root as a whole"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := newPair(unitMM, unitMM)
			c.place(p)
			a := p.m.read(t)
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

// Two uses in the structure and two mapped items in the other order, with and
// without placements: each use is placed once.
func TestMappedItemsInAnyOrder(t *testing.T) {
	for _, tied := range []bool{true, false} {
		p := newPair(unitMM, unitMM)
		second := p.m.use("two", p.asm, p.part)
		far := p.m.at(51, 0, 0)
		if tied {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			p.m.tie(second, p.partRep, p.asmRep, p.origin, far)
		}
		first, other := p.m.mapping(p.origin, p.partRep, p.target), p.m.mapping(p.origin, p.partRep, far)
		p.addItem(first)
		p.addItem(other) // stands in front of the first
		want := "asm\n it of part [8 -1 0] [10 0 3]\n two of part [50 0 0] [51 2 3]\n"
		if !tied {
			want = "asm\n it of part [50 0 0] [51 2 3]\n two of part [8 -1 0] [10 0 3]\n"
		}
		a := p.m.read(t)
		wantOutline(t, a, want)
		noSkips(t, a)
	}
}

// Three of a quantity that mapped items place, and one that nothing does.
func TestMappedQuantity(t *testing.T) {
	var m maker
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	asm, part := m.product("asm"), m.product("part")
	pr := m.shape(part, ctx, origin, m.box(1, 1, 1))
	var items []string
	for i := range 3 {
		items = append(items, m.mapping(origin, pr, m.at(float64(10*i+10), 0, 0)))
	}
	m.shape(asm, ctx, items...)
	m.add("QUANTIFIED_ASSEMBLY_COMPONENT_USAGE('1','pin','',%s,%s,$,%s)", asm, part, m.add("MEASURE_WITH_UNIT(COUNT_MEASURE(4.),$)"))
	a := m.read(t)
	boxes := map[string]int{}
	for line := range strings.Lines(outline(a)) {
		boxes[strings.TrimSpace(line)]++
	}
	for _, x := range []int{0, 10, 20, 30} {
		if want := fmt.Sprintf("pin of part [%d 0 0] [%d 1 1]", x, x+1); boxes[want] != 1 {
			t.Errorf("%q %d times in\n%s", want, boxes[want], outline(a))
		}
	}
}

// Mapped items in mapped representations, of products and of nameless pieces,
// with and without the product structure that says the same.
func TestNestedMappedItems(t *testing.T) {
	for _, structure := range []bool{true, false} {
		var m maker
		ctx, origin := m.context(unitMM), m.at(0, 0, 0)
		top, group, part := m.product("top"), m.product("group"), m.product("part")
		pr := m.shape(part, ctx, origin, m.box(1, 1, 1))
		gr := m.shape(group, ctx, origin, m.mapping(origin, pr, m.at(0, 10, 0)), m.mapping(origin, pr, m.at(0, 20, 0)))
		m.shape(top, ctx, m.mapping(origin, gr, m.at(100, 0, 0)), m.mapping(origin, gr, m.at(200, 0, 0)))
		if structure {
			m.use("group", top, group)
			m.use("group", top, group)
			m.use("part", group, part)
			m.use("part", group, part)
		}
		want := ""
		for _, x := range []int{100, 200} {
			want += " group\n"
			for _, y := range []int{10, 20} {
				want += fmt.Sprintf("  part [%d %d 0] [%d %d 1]\n", x, y, x+1, y+1)
			}
		}
		a := m.read(t)
		wantOutline(t, a, "top\n"+want)
		noSkips(t, a)
	}
	var m maker
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	pin := m.add("SHAPE_REPRESENTATION('',(%s),%s)", origin, ctx)
	solid := m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 1, 1), ctx)
	m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", pin, solid) // its body is one relation away
	row := m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", m.mapping(origin, pin, m.at(0, 10, 0)), m.mapping(origin, pin, m.at(0, 20, 0)), ctx)
	m.shape(m.product("p"), ctx, m.mapping(origin, row, m.at(100, 0, 0)))
	a := m.read(t)
	wantOutline(t, a, "p\n p 1 [100 10 0] [101 11 1]\n p 2 of p 1 [100 20 0] [101 21 1]\n")
	noSkips(t, a)
}

// Without any usage a relation with a transformation tells of the structure, as
// mapped items do.
func TestRelationsWithoutUsages(t *testing.T) {
	var m maker
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	top, part := m.product("top"), m.product("part")
	near, far := m.at(10, 0, 0), m.at(20, 0, 0)
	tr, pr := m.shape(top, ctx, near, far), m.shape(part, ctx, origin, m.box(1, 1, 1))
	m.relate(pr, tr, origin, near)
	m.relate(pr, tr, origin, far)
	a := m.read(t)
	wantOutline(t, a, "top\n part [10 0 0] [11 1 1]\n part [20 0 0] [21 1 1]\n")
	noSkips(t, a)
}

// A representation that two products share does not hide which of them is below.
func TestSharedRepresentationReversed(t *testing.T) {
	p := newPair(unitMM, unitMM)
	other := p.m.product("other")
	text := p.m.b.String() // the other one comes first, so that it owns the shape
	p.m.b.Reset()
	p.m.ship(other, p.partRep)
	p.m.b.WriteString(text)
	p.m.use("too", p.asm, other)
	p.m.tie(p.nauo, p.asmRep, p.partRep, p.target, p.origin)
	a := p.m.read(t)
	if got := a.Occurrences[1].Local.T; got.Sub(vec{10, -1, 0}).Len() > 1e-12 {
		t.Errorf("part at %v, want [10 -1 0]", got)
	}
}

// CARTESIAN_TRANSFORMATION_OPERATOR_3D in all its forms. The part is a box from
// the origin to (1, 2, 3).
func TestOperators(t *testing.T) {
	d := func(m *maker, x, y, z float64) string { return m.dir(x, y, z) }
	cases := []struct {
		name     string
		operator func(m *maker, o string) string
		lo, hi   vec
		det      float64
		skip     string
	}{
		{"all unset", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,$,%s,$,$)", o)
		}, vec{10, 0, 0}, vec{11, 2, 3}, 1, ""},
		{"one name in front", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('',$,$,%s,$,$)", o)
		}, vec{10, 0, 0}, vec{11, 2, 3}, 1, ""},
		{"axis 3 unset is right-handed", func(m *maker, o string) string { // z = x × y = (0, 1, 0) × (0, 0, 1) = x
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,$,$)", d(m, 0, 1, 0), d(m, 0, 0, 1), o)
		}, vec{10, 0, 0}, vec{13, 1, 2}, 1, ""},
		{"scale only", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,$,%s,0.5,$)", o)
		}, vec{10, 0, 0}, vec{10.5, 1, 1.5}, 0.125, "mirrors or scales"},
		{"mirror at z", func(m *maker, o string) string { // x × y = z, but z is said to be -z
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,1.,%s)", d(m, 1, 0, 0), d(m, 0, 1, 0), o, d(m, 0, 0, -1))
		}, vec{10, 0, -3}, vec{11, 2, 0}, -1, "mirrors or scales"},
		{"mirror as a complex instance", func(m *maker, o string) string {
			return m.add("(CARTESIAN_TRANSFORMATION_OPERATOR(%s,%s,%s,1.)CARTESIAN_TRANSFORMATION_OPERATOR_3D(%s)FUNCTIONALLY_DEFINED_TRANSFORMATION('','')GEOMETRIC_REPRESENTATION_ITEM()REPRESENTATION_ITEM(''))", d(m, 1, 0, 0), d(m, 0, -1, 0), o, d(m, 0, 0, 1))
		}, vec{10, -2, 0}, vec{11, 0, 3}, -1, "mirrors or scales"},
		{"axes not of length one", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',%s,%s,%s,1.,%s)", d(m, 5, 0, 0), d(m, 0, 0.1, 0), o, d(m, 0, 0, 9))
		}, vec{10, 0, 0}, vec{11, 2, 3}, 1, ""},
		{"scale zero", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,$,%s,0.,$)", o)
		}, vec{0, 0, 0}, vec{1, 2, 3}, 1, "scale 0"},
		{"scale minus one", func(m *maker, o string) string {
			return m.add("CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,$,%s,-1.,$)", o)
		}, vec{0, 0, 0}, vec{1, 2, 3}, 1, "scale -1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx, origin := m.context(unitMM), m.at(0, 0, 0)
			asm, part := m.product("asm"), m.product("part")
			pr := m.shape(part, ctx, origin, m.box(1, 2, 3))
			m.shape(asm, ctx, m.mapping(origin, pr, c.operator(&m, m.point(10, 0, 0))))
			m.use("it", asm, part)
			a := m.read(t)
			wantOutline(t, a, fmt.Sprintf("asm\n it of part %v %v\n", round(c.lo), round(c.hi)))
			if det := a.Occurrences[1].Local.M.Det(); math.Abs(det-c.det) > 1e-12 {
				t.Errorf("determinant %g, want %g", det, c.det)
			}
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

// A placement makes a right-handed frame of whatever axes it is given.
func TestPlacementAxes(t *testing.T) {
	cases := []struct {
		name, axis, ref string // "" for unset
		x, z            vec    // of the frame; x zero for any
		skip            string
	}{
		{"both unset", "", "", ex, ez, ""},
		{"axis alone", "0,0,-1", "", ex, ez.Mul(-1), ""},
		{"reference alone", "", "0,1,0", ey, ez, ""},
		{"not of length one", "0,0,7", "0.,-0.001,0.", ey.Mul(-1), ez, ""},
		{"not square", "0,0,1", "3,0,4", ex, ez, ""},
		{"not square, the axis is kept", "0,1,1", "0,0,1", vec{0, -math.Sqrt2 / 2, math.Sqrt2 / 2}, vec{0, math.Sqrt2 / 2, math.Sqrt2 / 2}, ""},
		{"parallel", "0,0,1", "0,0,3", vec{}, ez, "parallel axes"},
		{"against each other", "1,0,0", "-1,0,0", vec{}, ex, "parallel axes"},
		{"reference parallel to the default", "", "0,0,1", vec{}, ez, "parallel axes"},
		{"axis along the default reference", "1,0,0", "", vec{}, ex, ""},
		{"axis of no length", "0,0,0", "0,1,0", ey, ez, "axis without direction"},
		{"reference of no length", "0,0,1", "0,0,0", ex, ez, "axis without direction"},
		{"axis that is no direction", "point", "", ex, ez, "axis without direction"},
		{"half a turn is no mirror", "0,0,-1", "-1,0,0", ex.Mul(-1), ez.Mul(-1), ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx, origin := m.context(unitMM), m.at(0, 0, 0)
			asm, part := m.product("asm"), m.product("part")
			dir := func(s string) string {
				switch s {
				case "":
					return "$"
				case "point":
					return m.point(0, 0, 1)
				}
				var x, y, z float64
				if _, err := fmt.Sscanf(s, "%g,%g,%g", &x, &y, &z); err != nil {
					t.Fatal(err)
				}
				return m.dir(x, y, z)
			}
			target := m.add("AXIS2_PLACEMENT_3D('',%s,%s,%s)", m.point(1, 2, 3), dir(c.axis), dir(c.ref))
			ar, pr := m.shape(asm, ctx, target), m.shape(part, ctx, origin, m.box(1, 1, 1))
			m.tie(m.use("it", asm, part), pr, ar, origin, target)
			a := m.read(t)
			got := a.Occurrences[1].Local
			if !got.IsRigid() || got.T != (vec{1, 2, 3}) {
				t.Errorf("placement %v is not a turn at its origin", got)
			}
			if d := got.M.Col(2).Sub(c.z).Len(); d > 1e-12 {
				t.Errorf("z %v, want %v", got.M.Col(2), c.z)
			}
			if d := got.M.Col(0).Sub(c.x).Len(); c.x != (vec{}) && d > 1e-12 {
				t.Errorf("x %v, want %v", got.M.Col(0), c.x)
			}
			if c.skip == "" {
				noSkips(t, a)
			} else {
				wantSkip(t, a, c.skip)
			}
		})
	}
}

// A box placed by any two placements lies where the formula of the standard puts
// its corners: T = A(item_2) A(item_1)^-1, worked out here from the axes.
func TestPlacementFormula(t *testing.T) {
	type axes struct{ o, x, z vec }
	draw := func(t *rapid.T, name string) axes {
		f := rapid.Float64Range(-100, 100)
		v := func(s string) vec { return vec{f.Draw(t, name+s), f.Draw(t, name+s), f.Draw(t, name+s)} }
		a := axes{v("o"), v("x"), v("z")}
		if a.x.Cross(a.z).Len() < 1 {
			t.Skip("nearly parallel")
		}
		return a
	}
	// local coordinates of p in the frame, and back
	basis := func(a axes) [3]vec {
		z := a.z.Normalize()
		x := a.x.Sub(z.Mul(a.x.Dot(z))).Normalize()
		return [3]vec{x, z.Cross(x), z}
	}
	rapid.Check(t, func(t *rapid.T) {
		one, two := draw(t, "1"), draw(t, "2")
		reversed := rapid.Bool().Draw(t, "reversed")
		var m maker
		ctx := m.context(unitMM)
		asm, part := m.product("asm"), m.product("part")
		item1, item2 := m.place(one.o, one.z, one.x), m.place(two.o, two.z, two.x)
		ar, pr := m.shape(asm, ctx, item2), m.shape(part, ctx, item1)
		if nauo := m.use("it", asm, part); reversed {
			m.tie(nauo, ar, pr, item2, item1)
		} else {
			m.tie(nauo, pr, ar, item1, item2)
		}
		a, err := Read(t.Context(), "x.stp", m.text(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		b1, b2 := basis(one), basis(two)
		for _, p := range []mgl64.Vec3{{}, {1, 0, 0}, {0, 50, 0}, {-3, 4, 9}} {
			want := two.o
			for k := range 3 {
				want = want.Add(b2[k].Mul(b1[k].Dot(p.Sub(one.o))))
			}
			if got := a.Occurrences[1].Placement.Point(p); got.Sub(want).Len() > 1e-9 {
				t.Fatalf("%v comes to %v, want %v", p, got, want)
			}
		}
	})
}

// Ten thousand mapped items in the reverse order of their uses are matched
// without comparing all with all.
func TestManyMappedItems(t *testing.T) {
	const n = 10_000
	pr := &product{}
	var items []mapping
	for i := range n {
		at := geom.Identity()
		at.T = vec{float64(i % 100), float64(i / 100), 0}
		pr.uses = append(pr.uses, use{nauo: 1, child: 1, place: at, placed: true})
		at.T[0] -= 0.9 * alikeMM // in the next cell
		items = append(items, mapping{item: 2, child: 1, place: at})
	}
	for i, k := 0, n-1; i < k; i, k = i+1, k-1 {
		items[i], items[k] = items[k], items[i]
	}
	m := newMatcher(pr)
	for _, it := range items {
		if !m.alike(it) {
			t.Fatalf("item at %v is not matched", it.place.T)
		}
	}
	for _, u := range pr.uses {
		if u.item == 0 {
			t.Fatal("a use without its item")
		}
	}
}
