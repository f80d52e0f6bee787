package step

import (
	"fmt"
	"strings"
	"testing"
)

// deepMaker is top with g1 and g2 of group, in which p1 and p2 of a part stand.
type deepMaker struct {
	maker
	top, group, part    string
	g1, g2, p1, p2, rep string
	body                string
}

func newDeepMaker() *deepMaker {
	d := &deepMaker{}
	m := &d.maker
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	d.top, d.group, d.part = m.product("top"), m.product("group"), m.product("part")
	d.body = m.box(1, 1, 1)
	tr, gr := m.shape(d.top, ctx, origin), m.shape(d.group, ctx, origin)
	d.rep = m.shape(d.part, ctx, origin, d.body)
	place := func(nauo, rep, in string) string {
		m.tie(nauo, rep, in, origin, origin)
		return nauo
	}
	d.g1, d.g2 = place(m.use("g1", d.top, d.group), gr, tr), place(m.use("g2", d.top, d.group), gr, tr)
	d.p1, d.p2 = place(m.use("p1", d.group, d.part), d.rep, gr), place(m.use("p2", d.group, d.part), d.rep, gr)
	return d
}

// deep writes a usage of one deep occurrence.
func (d *deepMaker) deep(name, des, upper, next string) string {
	return d.add("SPECIFIED_HIGHER_USAGE_OCCURRENCE('1','%s','',%s,%s,%s,%s,%s)", name, d.top, d.part, des, upper, next)
}

// names are the occurrences' names in their order, with the designators.
func names(a *Assembly) string {
	var out []string
	for _, o := range a.Occurrences {
		s := o.Name
		if o.RefDes != "" {
			s += "[" + o.RefDes + "]"
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

func TestDeepNames(t *testing.T) {
	for _, c := range []struct {
		name  string
		write func(d *deepMaker)
		want  string
	}{
		{"none", func(d *deepMaker) {}, "top g1 p1 p2 g2 p1 p2"},
		{"one", func(d *deepMaker) { d.deep("bolt, left", "$", d.g2, d.p1) }, "top g1 p1 p2 g2 bolt, left p2"},
		{"with a designator", func(d *deepMaker) { d.deep("", "'R7'", d.g2, d.p1) }, "top g1 p1 p2 g2 R7[R7] p2"},
		{"that only counts", func(d *deepMaker) { d.deep("NAUO12", "$", d.g2, d.p1) }, "top g1 p1 p2 g2 p1 p2"},
		{"the same twice", func(d *deepMaker) { d.deep("x", "$", d.g2, d.p1); d.deep("x", "$", d.g2, d.p1) }, "top g1 p1 p2 g2 x p2"},
		{"two that differ", func(d *deepMaker) { d.deep("x", "$", d.g2, d.p1); d.deep("y", "$", d.g2, d.p1) }, "top g1 p1 p2 g2 p1 p2"},
		{"without an upper usage", func(d *deepMaker) { d.deep("x", "$", "$", d.p1) }, "top g1 p1 p2 g2 p1 p2"},
		{"complex", func(d *deepMaker) {
			d.add("(ASSEMBLY_COMPONENT_USAGE('R8')PRODUCT_DEFINITION_RELATIONSHIP('1','z','',%s,%s)PRODUCT_DEFINITION_USAGE()SPECIFIED_HIGHER_USAGE_OCCURRENCE(%s,%s))", d.top, d.part, d.g1, d.p2)
		}, "top g1 p1 z[R8] g2 p1 p2"},
	} {
		d := newDeepMaker()
		c.write(d)
		a := d.read(t)
		if got := names(a); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		noSkips(t, a)
		checkTree(t, a)
	}
}

// The longer way says more: an occurrence four levels down is named by the usage
// from the top and by that from the middle.
func TestDeepNamesFromTwoLevels(t *testing.T) {
	d := newDeepMaker()
	over := d.product("over")
	h1 := d.use("h1", over, d.top)
	d.use("h2", over, d.top)
	inner := d.deep("middle", "$", d.g2, d.p1)
	d.add("SPECIFIED_HIGHER_USAGE_OCCURRENCE('1','outer','',%s,%s,$,%s,%s)", over, d.part, h1, inner)
	if got, want := names(d.read(t)), "over h1 g1 p1 p2 g2 outer p2 h2 g1 p1 p2 g2 middle p2"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestDeepHidden(t *testing.T) {
	hide := func(d *deepMaker, item, context string) {
		d.paint("STYLED_ITEM", item, 1, 0, 0, "")
		d.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", item, 0, 0, 1, fmt.Sprintf(",%s,(%s)", d.last(), context))
		d.add("INVISIBILITY((%s))", d.last())
	}
	const all = "top g1 p1 p2 g2 p1 p2"
	for _, c := range []struct {
		name   string
		write  func(d *deepMaker)
		want   string
		hidden int
		skip   string
	}{
		{"representation", func(d *deepMaker) { hide(d, d.rep, d.deep("", "$", d.g2, d.p1)) }, "top g1 p1 p2 g2 p2", 1, "that the file hides (1): left out"},
		{"only body", func(d *deepMaker) { hide(d, d.body, d.deep("", "$", d.g1, d.p2)) }, "top g1 p1 g2 p1 p2", 1, "that the file hides (1): left out"},
		{"two", func(d *deepMaker) {
			hide(d, d.rep, d.deep("", "$", d.g2, d.p1))
			hide(d, d.rep, d.deep("", "$", d.g2, d.p2))
		}, "top g1 p1 p2 g2", 2, "that the file hides (2): left out"},
		{"one face", func(d *deepMaker) {
			text := d.b.String()
			i := strings.Index(text, "=ADVANCED_FACE")
			face := text[strings.LastIndex(text[:i], "#"):i]
			hide(d, face, d.deep("", "$", d.g2, d.p1))
		}, all, 0, "part of one deep occurrence that the file hides: it stays"},
		{"one of two bodies", func(d *deepMaker) {
			d.shape(d.part, d.context(unitMM), d.box(2, 2, 2))
			hide(d, d.body, d.deep("", "$", d.g2, d.p1))
		}, "top g1 p1 part 1 part 2 p2 part 1 part 2 g2 p1 part 1 part 2 p2 part 1 part 2", 0, "part of one deep occurrence that the file hides: it stays"},
	} {
		d := newDeepMaker()
		c.write(d)
		a := d.read(t)
		if got := names(a); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if len(a.Hidden) != c.hidden {
			t.Errorf("%s: hidden %+v, want %d", c.name, a.Hidden, c.hidden)
		}
		wantSkip(t, a, c.skip)
		if len(a.Skips) != 1 {
			t.Errorf("%s: skips %+v, want one", c.name, a.Skips)
		}
		checkTree(t, a)
		for _, o := range a.Occurrences {
			if c.name == "one face" && o.Color != "" {
				t.Errorf("%s has the colour %s of one of its faces", o.Path, o.Color)
			}
		}
		kept, err := Read(t.Context(), "test.stp", d.text(), Options{Hidden: true})
		if err != nil {
			t.Fatal(err)
		}
		if c.hidden > 0 && (names(kept) != all || len(kept.Hidden) != c.hidden) {
			t.Errorf("%s, kept: %q, hidden %+v", c.name, names(kept), kept.Hidden)
		}
	}
}

// The placement that a deep occurrence has of its own is said and not applied.
func TestDeepPlacement(t *testing.T) {
	d := newDeepMaker()
	d.tie(d.deep("", "$", d.g2, d.p1), d.rep, d.rep, d.at(0, 0, 0), d.at(50, 0, 0))
	a := d.read(t)
	for _, o := range a.Occurrences {
		if o.Placement.T != (vec{}) {
			t.Errorf("%s is at %v", o.Path, o.Placement.T)
		}
	}
	wantSkip(t, a, "placement of one deep occurrence: not used")
}
