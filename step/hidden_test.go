package step

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// last is the reference of the record written last.
func (m *maker) last() string { return fmt.Sprintf("#%d", m.n) }

// hiding is an assembly with a part that is used twice (a box of 1 × 1 × 1 as
// item a, one of 2 × 2 × 2 as item b) and ties to hide things by.
type hiding struct {
	*pair
	a, b           string // bodies
	second, secTie string // occurrence and what places it
}

func newHiding() *hiding {
	h := &hiding{pair: &pair{}}
	m := &h.m
	h.ctxA = m.context(unitMM)
	h.asm, h.part = m.product("asm"), m.product("part")
	h.origin, h.target = m.at(0, 0, 0), m.at(10, 0, 0)
	h.a, h.b = m.box(1, 1, 1), m.box(2, 2, 2)
	h.asmRep = m.shape(h.asm, h.ctxA, h.origin, h.target)
	h.partRep = m.shape(h.part, h.ctxA, h.a, h.b)
	h.nauo = m.use("one", h.asm, h.part)
	m.tie(h.nauo, h.partRep, h.asmRep, h.origin, h.origin)
	h.second = m.use("two", h.asm, h.part)
	m.tie(h.second, h.partRep, h.asmRep, h.origin, h.target)
	h.secTie = m.last()
	return h
}

func (h *hiding) invisible(items string) { h.m.add("INVISIBILITY((%s))", items) }

const hidingAll = `
asm
 one of part
  part 1 [0 0 0] [1 1 1]
  part 2 [0 0 0] [2 2 2]
 two of part
  part 1 [10 0 0] [11 1 1]
  part 2 [10 0 0] [12 2 2]
`

func TestHidden(t *testing.T) {
	const withoutB = "asm\n one of part [0 0 0] [1 1 1]\n two of part [10 0 0] [11 1 1]\n"
	const withoutTwo = "asm\n one of part\n  part 1 [0 0 0] [1 1 1]\n  part 2 [0 0 0] [2 2 2]\n"
	cases := []struct {
		name   string
		hide   func(h *hiding)
		want   string
		hidden int
	}{
		{"nothing", func(h *hiding) {}, hidingAll, 0},
		{"styled item", func(h *hiding) {
			h.m.paint("STYLED_ITEM", h.b, 1, 0, 0, "")
			h.invisible(h.m.last())
		}, withoutB, 1},
		{"overriding styled item", func(h *hiding) {
			h.m.paint("OVER_RIDING_STYLED_ITEM", h.b, 1, 0, 0, ",$")
			h.invisible(h.m.last())
		}, withoutB, 1},
		{"layer", func(h *hiding) {
			h.invisible(h.m.add("PRESENTATION_LAYER_ASSIGNMENT('tools','',(%s))", h.b))
		}, withoutB, 1},
		{"styled item on a layer", func(h *hiding) {
			h.m.paint("STYLED_ITEM", h.b, 1, 0, 0, "")
			h.invisible(h.m.add("PRESENTATION_LAYER_ASSIGNMENT('tools','',(%s))", h.m.last()))
		}, withoutB, 1},
		{"body itself, twice", func(h *hiding) {
			h.invisible(h.b)
			h.invisible(h.b)
		}, withoutB, 1},
		{"representation", func(h *hiding) { h.invisible(h.partRep) }, "asm\n one of part\n two of part\n", 2},
		{"representation of the same shape in other words", func(h *hiding) {
			more := h.m.add("ADVANCED_BREP_SHAPE_REPRESENTATION('',(%s),%s)", h.m.box(3, 3, 3), h.ctxA)
			h.m.add("SHAPE_REPRESENTATION_RELATIONSHIP('','',%s,%s)", h.partRep, more)
			h.invisible(h.partRep)
		}, "asm\n one of part\n two of part\n", 3},
		{"occurrence", func(h *hiding) {
			h.m.paint("STYLED_ITEM", h.partRep, 1, 0, 0, "")
			h.m.paint("CONTEXT_DEPENDENT_OVER_RIDING_STYLED_ITEM", h.partRep, 0, 0, 1, fmt.Sprintf(",%s,(%s)", h.m.last(), h.secTie))
			h.invisible(h.m.last())
		}, withoutTwo, 1},
		{"in one view only", func(h *hiding) {
			h.m.add("CONTEXT_INVISIBILITY((%s),$)", h.b)
			h.m.add("(CONTEXT_INVISIBILITY($)INVISIBILITY((%s)))", h.b)
		}, hidingAll, 0},
		{"what is no body", func(h *hiding) { h.invisible(h.origin + ",#99999") }, hidingAll, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			h := newHiding()
			c.hide(h)
			a := h.m.read(t)
			wantOutline(t, a, c.want)
			checkTree(t, a)
			if len(a.Hidden) != c.hidden {
				t.Errorf("hidden %+v, want %d", a.Hidden, c.hidden)
			}
			left := 0
			for i := range a.Parts {
				left += a.Parts[i].Hidden
			}
			if left != c.hidden {
				t.Errorf("the parts tell of %d hidden, want %d", left, c.hidden)
			}
			if c.hidden > 0 {
				wantSkip(t, a, fmt.Sprintf("bodies or occurrences that the file hides (%d): left out", c.hidden))
			}
			all, err := Read(t.Context(), "test.stp", h.m.text(), Options{Hidden: true})
			if err != nil {
				t.Fatal(err)
			}
			if c.hidden < 3 {
				wantOutline(t, all, hidingAll)
			} else if all.SolidCount() != 3 {
				t.Errorf("kept: %d solids, want 3", all.SolidCount())
			}
			if len(all.Hidden) != c.hidden || c.hidden > 0 && all.Hidden[0].Left {
				t.Errorf("kept: hidden %+v, want %d", all.Hidden, c.hidden)
			}
			if c.name == "what is no body" {
				wantSkip(t, all, "#99999, which is not in the file")
			} else {
				noSkips(t, all)
			}
		})
	}
}

// A mapped item that is hidden takes its piece or its occurrence away, and the
// part does not come back as a root of its own.
func TestHiddenMappedItem(t *testing.T) {
	p := newPair(unitMM, unitMM)
	item := p.m.add("MAPPED_ITEM('',%s,%s)", p.m.add("REPRESENTATION_MAP(%s,%s)", p.origin, p.partRep), p.target)
	p.addItem(item)
	p.m.add("INVISIBILITY((%s))", item)
	a := p.m.read(t)
	wantOutline(t, a, "asm\n")
	if len(a.Hidden) != 1 || a.Hidden[0].Name != "it" {
		t.Errorf("hidden %+v", a.Hidden)
	}

	var m maker
	ctx := m.context(unitMM)
	origin, box := m.at(0, 0, 0), m.box(1, 2, 3)
	source := m.add("SHAPE_REPRESENTATION('',(%s,%s),%s)", origin, box, ctx)
	rm := m.add("REPRESENTATION_MAP(%s,%s)", origin, source)
	gone := m.add("MAPPED_ITEM('',%s,%s)", rm, m.at(50, 0, 0))
	m.shape(m.product("p"), ctx, m.box(1, 1, 1), gone)
	m.add("INVISIBILITY((%s))", gone)
	a = m.read(t)
	wantOutline(t, a, "p [0 0 0] [1 1 1]\n")
	if len(a.Hidden) != 1 {
		t.Errorf("hidden %+v", a.Hidden)
	}
}

func TestAllIsHidden(t *testing.T) {
	var m maker
	box := m.box(1, 2, 3)
	m.shape(m.product("p"), m.context(unitMM), box)
	m.add("INVISIBILITY((%s))", box)
	a := m.read(t)
	wantOutline(t, a, "p\n")
	if err := a.RequireBodies(); err == nil || err.Error() != "test.stp: no solids but 1 that the file hides" {
		t.Errorf("error %v", err)
	}
}

// The files that hide something hide annotation and auxiliary geometry, no
// solid.
func TestRealFilesHideNoSolid(t *testing.T) {
	for _, name := range realFiles(t) {
		if a := readReal(t, name); len(a.Hidden) > 0 {
			t.Errorf("%s: hidden %+v", name, a.Hidden)
		}
	}
}

// What a linked file hides is told with the file that links to it.
func TestHiddenInLinkedFile(t *testing.T) {
	var part, top maker
	a, b := part.box(1, 1, 1), part.box(2, 2, 2)
	part.shape(part.product("p"), part.context(unitMM), a, b)
	part.add("INVISIBILITY((%s))", b)
	asm := top.product("asm")
	top.shape(asm, top.context(unitMM), top.at(0, 0, 0))
	below := top.product("p")
	top.tie(top.use("it", asm, below), top.shape(below, top.context(unitMM), top.at(0, 0, 0)), "#9999", "$", "$")
	top.add("APPLIED_DOCUMENT_REFERENCE(%s,'',(%s))", top.add("DOCUMENT_FILE('part.stp','','',$,'',$)"), below)
	dir := t.TempDir()
	for name, m := range map[string]*maker{"part.stp": &part, "top.stp": &top} {
		if err := os.WriteFile(filepath.Join(dir, name), m.text(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, err := ReadFile(t.Context(), filepath.Join(dir, "top.stp"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Hidden) != 1 || got.SolidCount() != 1 || got.Parts[1].Hidden != 1 {
		t.Errorf("hidden %+v in parts %+v", got.Hidden, got.Parts)
	}
}
