package step

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestUseNames(t *testing.T) {
	cases := []struct {
		use           useText
		product, want string
		raw           string
	}{
		{useText{id: "1", name: "bolt_1"}, "bolt", "bolt_1", "bolt_1"},
		{useText{id: "12", name: "12"}, "bolt", "bolt", "12"},
		{useText{id: "NAUO7", name: "NAUO7"}, "bolt", "bolt", "NAUO7"},
		{useText{id: "NAUO7", name: " ", description: " "}, "bolt", "bolt", "NAUO7"},
		{useText{id: "4", name: " ", refDes: "R12"}, "resistor", "R12", "R12"},
		{useText{id: "4", name: "=>[0:1:1:2]"}, "resistor", "resistor", "=>[0:1:1:2]"},
		{useText{id: "4", name: "SOLID"}, "resistor", "resistor", "SOLID"},
		{useText{id: "4", name: "COMPOUND", refDes: "R1"}, "resistor", "R1", "COMPOUND"},
		{useText{id: "4", name: "Shell"}, "cover", "Shell", "Shell"},
		{useText{id: "0", name: relationWord, description: "LID"}, "LID_3", "LID", relationWord},
		{useText{id: "0", name: relationWord, description: "12"}, "LID_3", "LID_3", relationWord},
		{useText{id: "R_7", name: relationWord}, "resistor", "resistor", relationWord},
		{useText{id: "4", name: "front", description: "a long story"}, "lid", "front", "front"},
		{useText{id: "4", description: "a long story"}, "lid", "lid", "4"},
		{useText{id: "x", name: "NONE"}, "", "x", "NONE"},
		{useText{name: "7"}, "", "", "7"}, // the part's, which has a number of its own
		{useText{id: "3"}, "", "", "3"},
		{useText{}, "", "", ""},
		{useText{name: "  lid\t"}, "p", "lid", "  lid\t"},
	}
	for _, c := range cases {
		if got := c.use.pick(c.product); got != c.want {
			t.Errorf("%+v of %q is called %q, want %q", c.use, c.product, got, c.want)
		}
		if got := c.use.raw(); got != c.raw {
			t.Errorf("%+v: raw %q, want %q", c.use, got, c.raw)
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"  a b ": "a b", "a\x00b\x1b[31m": "ab[31m", "tab\tnew\nline": "tab new line", "right\u202Eleft": "rightleft",
		"می\u200cخواهم 👩\u200d🔧":                   "می\u200cخواهم 👩\u200d🔧",                   // joiners are letters of these
		"\u05d1\u05e1\u05d9\u05e1\u200f (A)\u200e": "\u05d1\u05e1\u05d9\u05e1\u200f (A)\u200e", // direction marks stand where the writer put them
		"Schrauben\u00addreher \u0600\u0661":       "Schrauben\u00addreher \u0600\u0661",
		"\u2067lid\u2069 \u202bx\u202c\u2028y":     "lid xy",
		"\ufefflid":                                "lid",
		"\u200e \u200b":                            "",
		"0-_X2_591658F3_X0_":                       "0-外壳", "_X2_00E9_X0_t_X2_00E9_X0_": "été", "_X2_D83DDE00_X0_": "😀",
		"_X2_0007_X0_bell": "bell", // decoded before what cannot be shown is taken out
		"_X2_59_X0_":       "_X2_59_X0_", "_X2__X0_": "_X2__X0_", "_X2_5916": "_X2_5916", "_X2_plate_X0_": "_X2_plate_X0_",
		"_X2_5916_X0__X2_zz_X0_": "外_X2_zz_X0_",
	} {
		if got := clean(in); got != want {
			t.Errorf("%q is cleaned to %q, want %q", in, got, want)
		}
	}
	if got := clean(strings.Repeat("é", 5000)); len(got) > maxName+4 {
		t.Errorf("a long name stays %d bytes", len(got))
	}
}

// Whatever stands in a file, a name for display is valid UTF-8 of bounded
// length that cleaning again leaves alone.
func TestCleanIsStable(t *testing.T) {
	parts := []string{"_X2_", "_X0_", "5916", "é", "\t", "\x00", " ", "a", "/", "…", "\u200f", "\ufeff", "\u202e", strings.Repeat("ß", 80)}
	rapid.Check(t, func(t *rapid.T) {
		s := strings.Join(rapid.SliceOfN(rapid.SampledFrom(parts), 0, 12).Draw(t, "parts"), "")
		got := clean(s)
		if !utf8.ValidString(got) || len(got) > maxName+len("…") || strings.TrimSpace(got) != got {
			t.Fatalf("%q is cleaned to %q", s, got)
		}
		if again := clean(got); len(got) < maxName && !strings.Contains(got, "_X2_") && again != got {
			t.Fatalf("%q is cleaned to %q and then to %q", s, got, again)
		}
	})
}

// named is a product with name and id of their own.
func (m *maker) named(id, name string) string {
	f := m.add("PRODUCT_DEFINITION_FORMATION('','',%s)", m.add("PRODUCT('%s','%s','',())", id, name))
	return m.add("PRODUCT_DEFINITION('design','',%s,$)", f)
}

// block is a box with a name.
func (m *maker) block(name string) string {
	return m.add("MANIFOLD_SOLID_BREP('%s',%s)", name, m.shell(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1}, plain))
}

// bill lists path and part, with what is kept raw behind.
func bill(a *Assembly) (out []string) {
	for _, o := range a.Occurrences {
		p := a.Parts[o.Part]
		line := o.Path + " = " + p.Name
		if o.RawName != "" || p.RawName != "" {
			line += " (" + o.RawName + ", " + p.RawName + ")"
		}
		out = append(out, line)
	}
	return out
}

// Where the name of a part, a use and a body comes from, and what is kept of
// the file's word where it is not shown.
func TestWhereNamesComeFrom(t *testing.T) {
	cases := []struct {
		name  string
		build func(m *maker, ctx string)
		want  []string
	}{
		{"the product's name", func(m *maker, ctx string) {
			m.shape(m.named("41-7", "lid"), ctx, m.block("Extrude1"))
		}, []string{"lid = lid"}},
		{"its id", func(m *maker, ctx string) {
			m.shape(m.named("41-7", " "), ctx, m.block("Extrude1"))
		}, []string{"41-7 = 41-7 (,  )"}},
		{"its id behind a placeholder", func(m *maker, ctx string) {
			m.shape(m.named("41-7", "UNKNOWN"), ctx, m.block("Extrude1"))
		}, []string{"41-7 = 41-7 (, UNKNOWN)"}},
		{"its only solid's", func(m *maker, ctx string) {
			m.shape(m.named("", ""), ctx, m.block("Fillet16"))
		}, []string{"Fillet16 = Fillet16"}},
		{"the file's, for the root", func(m *maker, ctx string) {
			m.shape(m.named("SOLID", "SOLID"), ctx, m.block("SOLID"))
		}, []string{"test = test (, SOLID)"}},
		{"the number, below the root", func(m *maker, ctx string) {
			top, one, two := m.named("top", "top"), m.named("", ""), m.named("", "NONE") // definitions #7, #10 and #13
			m.shape(one, ctx, m.block(""))
			m.shape(two, ctx, m.block("NONE"))
			m.use("", top, one)
			m.use("left", top, two)
		}, []string{"top = top", "top/part-10 = part-10 (1, )", "top/left = part-13 (, NONE)"}},
		{"the assembly's that is wrapped round it", func(m *maker, ctx string) {
			top, cap, solid := m.named("top", "top"), m.named("C_0603", "C_0603"), m.named("SOLID", "SOLID")
			m.shape(solid, ctx, m.block(""))
			m.use("", top, cap)
			m.use("", top, cap)
			m.use("=>[0:1:1:9]", cap, solid)
		}, []string{"top = top", "top/C_0603 = C_0603 (1, )", "top/C_0603/C_0603 = C_0603 (=>[0:1:1:9], SOLID)",
			"top/C_0603 = C_0603 (1, )", "top/C_0603/C_0603 = C_0603 (=>[0:1:1:9], SOLID)"}},
		{"no assembly's where two use it", func(m *maker, ctx string) {
			top, a, b, solid := m.named("top", "top"), m.named("a", "a"), m.named("b", "b"), m.named("", "SOLID")
			m.shape(solid, ctx, m.block(""))
			m.use("", top, a)
			m.use("", top, b)
			m.use("", a, solid)
			m.use("", b, solid)
		}, []string{"top = top", "top/a = a (1, )", "top/a/part-16 = part-16 (1, SOLID)", "top/b = b (1, )", "top/b/part-16 = part-16 (1, SOLID)"}},
		{"no assembly's that has more in it", func(m *maker, ctx string) {
			top, lid, solid := m.named("top", "top"), m.named("lid", "lid"), m.named("", "SOLID")
			m.shape(lid, ctx, m.block(""))
			m.shape(solid, ctx, m.block(""))
			m.use("", top, lid)
			m.use("", top, solid)
		}, []string{"top = top", "top/lid = lid (1, )", "top/part-13 = part-13 (1, SOLID)"}},
		{"several solids of one product", func(m *maker, ctx string) {
			m.shape(m.named("set", "set"), ctx, m.block("lid"), m.block(" COMPOUND"), m.block("Body"))
		}, []string{"set = set", "set/lid = lid", "set/set 2 = set 2 (,  COMPOUND)", "set/set 3 = set 3 (, Body)"}},
		{"the same name three times", func(m *maker, ctx string) {
			top := m.named("top", "top")
			for range 3 {
				cap := m.named("Cap", "Cap")
				m.shape(cap, ctx, m.block(""))
				m.use("", top, cap)
			}
		}, []string{"top = top", "top/Cap = Cap (1, )", "top/Cap = Cap (1, )", "top/Cap = Cap (1, )"}},
		{"what cannot be shown", func(m *maker, ctx string) {
			m.shape(m.named("x", "a/b \\X\\07c"), ctx, m.block(""))
		}, []string{"a∕b c = a/b c (, a/b \ac)"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			c.build(&m, m.context(unitMM))
			a := m.read(t)
			if d := cmp.Diff(c.want, bill(a)); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			checkTree(t, a)
		})
	}
}

// Parts of one name are told apart by what they are, not by what they are
// called: three caps are three parts, with three different tags.
func TestPartsOfOneNameStayApart(t *testing.T) {
	var m maker
	ctx := m.context(unitMM)
	top := m.named("top", "top")
	for i := range 3 {
		cap := m.named("Cap", "Cap")
		m.shape(cap, ctx, m.box(float64(i+1), 1, 1))
		m.use("Cap", top, cap)
	}
	a := m.read(t)
	tags, uses := map[any]bool{}, map[any]bool{}
	for _, o := range a.Occurrences[1:] {
		if p := a.Parts[o.Part]; p.Name != "Cap" || len(p.Bodies) != 1 {
			t.Errorf("part %+v", p)
		}
		tags[a.Parts[o.Part].Tag], uses[o.Tag] = true, true
	}
	if len(a.Parts) != 4 || len(tags) != 3 || len(uses) != 3 {
		t.Errorf("%d parts, %d tags of parts, %d of uses", len(a.Parts), len(tags), len(uses))
	}
}
