package step

import (
	"fmt"
	"strings"
	"testing"
)

// styled writes a styled item that a chain of records leads to a colour; the
// last record of the chain comes first.
func (m *maker) styled(item string, chain ...string) string {
	last := ""
	for _, c := range chain {
		if strings.Contains(c, "%s") {
			c = fmt.Sprintf(c, last)
		}
		last = m.add("%s", c)
	}
	return m.add("STYLED_ITEM('',(%s),%s)", last, item)
}

// The steps from a colour up to a style assignment.
const (
	areaColour = "FILL_AREA_STYLE_COLOUR('',%s)"
	area       = "FILL_AREA_STYLE('',(%s))"
	fill       = "SURFACE_STYLE_FILL_AREA(%s)"
	side       = "SURFACE_SIDE_STYLE('',(%s))"
	both       = "SURFACE_STYLE_USAGE(.BOTH.,%s)"
	assignment = "PRESENTATION_STYLE_ASSIGNMENT((%s))"
)

// The chain from a styled item to its colour: every kind of colour, and chains
// that break off. The styles here hang in no container, which is no reason to
// leave them.
func TestStyleChains(t *testing.T) {
	cases := []struct {
		name  string
		chain []string
		want  string
	}{
		{"red, green, blue", []string{"COLOUR_RGB('',1.,0.5,0.)", areaColour, area, fill, side, both, assignment}, "#ff8000"},
		{"shares out of range", []string{"COLOUR_RGB('',7.,-1.,0.)", areaColour, area, fill, side, both, assignment}, "#ff0000"},
		{"as a complex instance", []string{"(COLOUR()COLOUR_RGB(0.,0.,1.)COLOUR_SPECIFICATION('blue'))", areaColour, area, fill, side, both, assignment}, "#0000ff"},
		{"pre-defined", []string{"DRAUGHTING_PRE_DEFINED_COLOUR('red')", areaColour, area, fill, side, both, assignment}, "#ff0000"},
		{"pre-defined, capitals and blanks", []string{"PRE_DEFINED_COLOUR(' Cyan')", areaColour, area, fill, side, both, assignment}, "#00ffff"},
		{"pre-defined, complex", []string{"(COLOUR()DRAUGHTING_PRE_DEFINED_COLOUR()PRE_DEFINED_COLOUR()PRE_DEFINED_ITEM('yellow'))", areaColour, area, fill, side, both, assignment}, "#ffff00"},
		{"pre-defined, of no name that is known", []string{"DRAUGHTING_PRE_DEFINED_COLOUR('mauve')", areaColour, area, fill, side, both, assignment}, ""},
		{"rendering", []string{"COLOUR_RGB('',0.,1.,0.)", "SURFACE_STYLE_RENDERING(.NORMAL_SHADING.,%s)", side, both, assignment}, "#00ff00"},
		{"outer side", []string{"COLOUR_RGB('',0.,1.,0.)", areaColour, area, fill, side, "SURFACE_STYLE_USAGE(.POSITIVE.,%s)", assignment}, "#00ff00"},
		{"assignment left out, as newer editions do", []string{"COLOUR_RGB('',0.,1.,0.)", areaColour, area, fill, side, both}, "#00ff00"},
		{"by context of nothing", []string{"COLOUR_RGB('',0.,1.,0.)", areaColour, area, fill, side, both, "PRESENTATION_STYLE_BY_CONTEXT((%s),$)"}, "#00ff00"},
		{"no colour", []string{"FILL_AREA_STYLE('',())", fill, side, both, assignment}, ""},
		{"colour that is not there", []string{"FILL_AREA_STYLE_COLOUR('',#99999)", area, fill, side, both, assignment}, ""},
		{"colour of two shares", []string{"COLOUR_RGB('',1.,1.)", areaColour, area, fill, side, both, assignment}, ""},
		{"null style", []string{"PRESENTATION_STYLE_ASSIGNMENT((NULL_STYLE(.NULL.)))"}, ""},
		{"colour of its curves", []string{"COLOUR_RGB('',1.,0.,0.)", "CURVE_STYLE('',$,POSITIVE_LENGTH_MEASURE(0.1),%s)", assignment}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			box := m.box(1, 1, 1)
			m.shape(m.product("p"), m.context(unitMM), box)
			m.styled(box, c.chain...)
			a := m.read(t)
			if got := a.Parts[0].Color; got != c.want {
				t.Errorf("colour %q, want %q", got, c.want)
			}
		})
	}
}

// A circle of styles ends.
func TestStyleCircle(t *testing.T) {
	var m maker
	box := m.box(1, 1, 1)
	m.shape(m.product("p"), m.context(unitMM), box)
	n := m.n
	m.add("SURFACE_SIDE_STYLE('',(#%d,#%d))", n+2, n+1)
	m.add("SURFACE_STYLE_USAGE(.BOTH.,#%d)", n+1)
	m.add("STYLED_ITEM('',(#%d),%s)", n+1, box)
	if a := m.read(t); a.Parts[0].Color != "" || a.SolidCount() != 1 {
		t.Errorf("colour %q", a.Parts[0].Color)
	}
}

// What a style is for, from the widest to the narrowest; each wins over those in
// front of it.
func TestStyleTargets(t *testing.T) {
	var m maker
	ctx, box := m.context(unitMM), m.box(1, 1, 1)
	var faces []string
	shell, edge := "", ""
	for line := range strings.Lines(m.b.String()) {
		id, record, _ := strings.Cut(line, "=")
		switch name, _, _ := strings.Cut(record, "("); name {
		case "ADVANCED_FACE":
			faces = append(faces, id)
		case "CLOSED_SHELL":
			shell = id
		case "EDGE_CURVE":
			edge = id
		}
	}
	rep := m.shape(m.product("p"), ctx, box)
	want := func(step, color string) {
		t.Helper()
		if got := m.read(t).Parts[0].Color; got != color {
			t.Errorf("after the %s: colour %q, want %q", step, got, color)
		}
	}
	m.paint("STYLED_ITEM", edge, 1, 1, 0, "")
	want("edge", "")
	m.paint("STYLED_ITEM", rep, 1, 0, 0, "")
	want("representation", "#ff0000")
	m.paint("STYLED_ITEM", box, 0, 1, 0, "")
	want("solid", "#00ff00")
	m.paint("STYLED_ITEM", shell, 0, 0, 1, "")
	want("shell", "#0000ff")
	for i, f := range faces[:4] { // of six
		m.paint("STYLED_ITEM", f, 0, 0, 0, "")
		if i == 2 {
			want("third face, which is no more than half", "#0000ff")
		}
	}
	want("fourth face", "#000000")
	m.paint("OVER_RIDING_STYLED_ITEM", faces[0], 1, 1, 1, ",$")
	want("overriding of one of the four", "#0000ff")
}

// Bodies of one product keep colours of their own, and have the product's where
// they have none; a colour of the occurrence is one of all of them.
func TestColoursOfSeveralBodies(t *testing.T) {
	h := newHiding()
	m := &h.m
	m.paint("STYLED_ITEM", h.partRep, 1, 0, 0, "")
	m.paint("STYLED_ITEM", h.b, 0, 1, 0, "")
	colours := func(a *Assembly) string {
		var s []string
		for _, o := range a.Occurrences {
			if p := &a.Parts[o.Part]; len(p.Bodies) > 0 {
				c := o.Color
				if c == "" {
					c = p.Color
				}
				s = append(s, c)
			}
		}
		return strings.Join(s, " ")
	}
	if got := colours(m.read(t)); got != "#ff0000 #00ff00 #ff0000 #00ff00" {
		t.Errorf("colours %s", got)
	}
	m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", h.partRep, 0, 0, 1, fmt.Sprintf(",$,(%s)", h.secTie))
	if got := colours(m.read(t)); got != "#ff0000 #00ff00 #0000ff #0000ff" {
		t.Errorf("colours %s with the second occurrence in blue", got)
	}
}

// A colour of the mapped item that places an occurrence is this occurrence's,
// with and without a usage and a relation that say the same.
func TestColourOfMappedItem(t *testing.T) {
	for _, tied := range []bool{true, false} {
		p := newPair(unitMM, unitMM)
		if tied {
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
		}
		item := p.m.mapping(p.origin, p.partRep, p.target)
		p.addItem(item)
		p.m.paint("STYLED_ITEM", p.partRep, 1, 0, 0, "")
		p.m.paint("STYLED_ITEM", item, 0, 0, 1, "")
		a := p.m.read(t)
		wantOutline(t, a, pairWant)
		if got := a.Occurrences[1].Color; got != "#0000ff" || a.Parts[1].Color != "#ff0000" {
			t.Errorf("tied %v: colour %q of a part in %q", tied, got, a.Parts[1].Color)
		}
	}
	var m maker // a piece of the product itself
	ctx, origin := m.context(unitMM), m.at(0, 0, 0)
	piece := m.add("SHAPE_REPRESENTATION('',(%s),%s)", m.box(1, 1, 1), ctx)
	one, two := m.mapping(origin, piece, origin), m.mapping(origin, piece, m.at(5, 0, 0))
	m.shape(m.product("p"), ctx, one, two)
	m.paint("STYLED_ITEM", two, 0, 0, 1, "")
	a := m.read(t)
	if a.Occurrences[1].Color != "" || a.Occurrences[2].Color != "#0000ff" {
		t.Errorf("colours %q and %q", a.Occurrences[1].Color, a.Occurrences[2].Color)
	}
}

// Styles that hold for one occurrence: overriding by context in the simple and
// the complex form, and a style by context on a plain styled item.
func TestOccurrenceStyles(t *testing.T) {
	for name, write := range map[string]func(m *maker, style, rep, tie string){
		"simple": func(m *maker, style, rep, tie string) {
			m.add("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM('',(%s),%s,$,(%s))", style, rep, tie)
		},
		"complex": func(m *maker, style, rep, tie string) {
			m.add("(CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM((%s))OVER_RIDING_STYLED_ITEM($)REPRESENTATION_ITEM('')STYLED_ITEM((%s),%s))", tie, style, rep)
		},
		"style by context": func(m *maker, style, rep, tie string) {
			p := m.add("PRESENTATION_STYLE_BY_CONTEXT((%s),%s)", style, tie)
			m.add("STYLED_ITEM('',(%s),%s)", p, rep)
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPair(unitMM, unitMM)
			p.m.tie(p.nauo, p.partRep, p.asmRep, p.origin, p.target)
			second := p.m.use("second", p.asm, p.part)
			p.m.tie(second, p.partRep, p.asmRep, p.origin, p.origin)
			tie := p.m.last()
			p.m.paint("STYLED_ITEM", p.partRep, 1, 0, 0, "")
			f := p.m.add(fill, p.m.add(area, p.m.add(areaColour, p.m.add("COLOUR_RGB('',0.,0.,1.)"))))
			write(&p.m, p.m.add(both, p.m.add(side, f)), p.partRep, tie)
			a := p.m.read(t)
			if a.Occurrences[1].Color != "" || a.Occurrences[2].Color != "#0000ff" || a.Parts[1].Color != "#ff0000" {
				t.Errorf("colours %q and %q of a part in %q", a.Occurrences[1].Color, a.Occurrences[2].Color, a.Parts[1].Color)
			}
		})
	}
}
