package step

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"

	"stepscan/step/p21"
)

// wording is all that a file can name, in one language.
type wording struct {
	assembly, part, use, designator, first, second, material, layer, attribute, value string
}

// languages are those of the field reports. The Japanese ones have characters
// whose second byte in Shift-JIS is a backslash (表, ソ, 能), the French an
// apostrophe and a letter that Latin-1 has not.
var languages = []struct {
	name  string
	words wording
	raw   encoding.Encoding // what older systems wrote
}{
	{"Chinese", wording{"装配体", "外壳", "外壳左", "右前", "凸台拉伸", "防滑垫", "铝合金", "可见图层", "供应商", "任何颜色"}, simplifiedchinese.GB18030},
	{"Japanese", wording{"表示ユニット", "ブラケット", "ソレノイド左", "能動側", "ボディ１", "ボディ２", "ステンレス鋼", "レイヤー表", "仕入先", "株式会社ソニック"}, japanese.ShiftJIS},
	{"German", wording{"Lüfterhalter", "Gehäusedeckel", "Gehäuse außen", "Öffnung", "Verrundung größer", "Übermaß", "Weißblech", "Maße", "Prüfer", "Jörg Müßig"}, charmap.Windows1252},
	{"French", wording{"Pièce d'appui", "Entretoise évidée", "côté gauche", "repère à", "Révolution1", "Enlèv. mat.-Extru.2", "acier trempé", "cœur de pièce", "désignation", "à façon"}, charmap.Windows1252},
	{"Russian", wording{"Сборка", "Крышка корпуса", "Крышка левая", "Поз", "Вращение", "Вырез", "Сталь нержавеющая", "Слой", "Поставщик", "Завод"}, charmap.Windows1251},
}

// quoted doubles what a string doubles.
func quoted(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, `\`, `\\`), "'", "''")
}

// escaped writes all above ASCII by a rule for each run of it.
func escaped(s string, run func([]rune) string) string {
	var out strings.Builder
	for len(s) > 0 {
		k := strings.IndexFunc(s, func(r rune) bool { return r >= 0x80 })
		if k < 0 {
			k = len(s)
		}
		out.WriteString(quoted(s[:k]))
		s = s[k:]
		if k = strings.IndexFunc(s, func(r rune) bool { return r < 0x80 }); k < 0 {
			k = len(s)
		}
		if k > 0 {
			out.WriteString(run([]rune(s[:k])))
		}
		s = s[k:]
	}
	return out.String()
}

func utf16Hex(runes []rune) string {
	var out strings.Builder
	for _, u := range utf16.Encode(runes) {
		fmt.Fprintf(&out, "%04X", u)
	}
	return `\X2\` + out.String() + `\X0\`
}

func utf32Hex(runes []rune) string {
	var out strings.Builder
	for _, r := range runes {
		fmt.Fprintf(&out, "%08x", r)
	}
	return `\X4\` + out.String() + `\X0\`
}

// byPage writes \S\ in a page of ISO 8859, \X\ where it has no such character
// and Latin-1 has, \X2\ else.
func byPage(letter string, page *charmap.Charmap) func([]rune) string {
	return func(runes []rune) string {
		out := `\P` + letter + `\`
		for _, r := range runes {
			b, ok := page.EncodeRune(r)
			switch {
			case ok && b >= 0xA0:
				if c := string(rune(b - 0x80)); c == "'" {
					out += `\S\''`
				} else {
					out += `\S\` + c
				}
			case r <= 0xFF:
				out += fmt.Sprintf(`\X\%02X`, r)
			default:
				out += utf16Hex([]rune{r})
			}
		}
		return out
	}
}

// A file that names everything it can, in five languages and in each way in
// which writers spell them, gives these names and no others.
func TestNamesInAllLanguages(t *testing.T) {
	for _, l := range languages {
		spellings := []struct {
			name  string
			spell func(string) string
		}{
			{"X2", func(s string) string { return escaped(s, utf16Hex) }},
			{"X4", func(s string) string { return escaped(s, utf32Hex) }},
			{"UTF-8", quoted},
			{"page A", func(s string) string { return escaped(s, byPage("A", charmap.ISO8859_1)) }},
			{"page E", func(s string) string { return escaped(s, byPage("E", charmap.ISO8859_5)) }},
			{"raw", func(s string) string { return rawBytes(t, l.raw, s) }},
		}
		for _, s := range spellings {
			t.Run(l.name+" as "+s.name, func(t *testing.T) {
				text := namedFile(l.words, s.spell)
				a, err := Read(t.Context(), "test.stp", text, Options{})
				if err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(l.words, wordsOf(t, a), cmp.AllowUnexported(wording{})); d != "" {
					t.Errorf("(-want +got)\n%s", d)
				}
			})
		}
	}
}

// rawBytes is a string as a system of that page writes it.
func rawBytes(t *testing.T, enc encoding.Encoding, s string) string {
	t.Helper()
	out, err := enc.NewEncoder().String(strings.ReplaceAll(s, "'", "''"))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// namedFile is an assembly with one part of two bodies, one of them coloured by
// a colour with a name.
func namedFile(w wording, spell func(string) string) []byte {
	var m maker
	ctx := m.context(unitMM)
	top, part := m.named("1", spell(w.assembly)), m.named("2", spell(w.part))
	first, second := m.block(spell(w.first)), m.block(spell(w.second))
	m.shape(part, ctx, first, second)
	nauo := m.add("NEXT_ASSEMBLY_USAGE_OCCURRENCE('7','%s','',%s,%s,'%s')", spell(w.use), top, part, spell(w.designator))
	property := func(name, what, of, item string) {
		def := m.add("PROPERTY_DEFINITION('%s','%s',%s)", name, what, of)
		m.add("PROPERTY_DEFINITION_REPRESENTATION(%s,%s)", def, m.add("REPRESENTATION('',(%s),$)", item))
	}
	property("material property", "material name", part, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('x','%s')", spell(w.material)))
	property("user defined attribute", "", nauo, m.add("DESCRIPTIVE_REPRESENTATION_ITEM('%s','%s')", spell(w.attribute), spell(w.value)))
	m.add("PRESENTATION_LAYER_ASSIGNMENT('%s','',(%s))", spell(w.layer), first)
	c := m.add("COLOUR_RGB('%s',1.,0.,0.)", spell(w.value))
	f := m.add("FILL_AREA_STYLE('%s',(%s))", spell(w.value), m.add("FILL_AREA_STYLE_COLOUR('%s',%s)", spell(w.value), c))
	s := m.add("SURFACE_SIDE_STYLE('%s',(%s))", spell(w.value), m.add("SURFACE_STYLE_FILL_AREA(%s)", f))
	m.add("STYLED_ITEM('%s',(%s),%s)", spell(w.value), m.add("PRESENTATION_STYLE_ASSIGNMENT((%s))", m.add("SURFACE_STYLE_USAGE(.BOTH.,%s)", s)), first)
	return m.text()
}

// wordsOf collects what an assembly made by namedFile says.
func wordsOf(t *testing.T, a *Assembly) (w wording) {
	t.Helper()
	if len(a.Occurrences) != 4 {
		t.Fatalf("occurrences %v", bill(a))
	}
	use := a.Occurrences[1]
	first, second := a.Parts[a.Occurrences[2].Part], a.Parts[a.Occurrences[3].Part]
	w.assembly, w.use, w.designator = a.Parts[a.Occurrences[0].Part].Name, use.Name, use.RefDes
	w.part, w.material = a.Parts[use.Part].Name, a.Parts[use.Part].Material
	w.first, w.second = first.Name, second.Name
	if len(first.Layers) == 1 {
		w.layer = first.Layers[0]
	}
	if len(use.Attributes) == 1 {
		w.attribute, w.value = use.Attributes[0].Name, use.Attributes[0].Value
	}
	if want := strings.Join([]string{w.assembly, w.use, w.second}, "/"); a.Occurrences[3].Path != want {
		t.Errorf("path %q, want %q", a.Occurrences[3].Path, want)
	}
	if first.Color != "#ff0000" || second.Color != "" {
		t.Errorf("colours %q and %q", first.Color, second.Color)
	}
	for _, o := range a.Occurrences {
		if o.RawName != "" || a.Parts[o.Part].RawName != "" {
			t.Errorf("%s keeps %q and %q, which are its names already", o.Path, o.RawName, a.Parts[o.Part].RawName)
		}
	}
	return w
}

// Bytes that are UTF-8 by accident: the file's other strings tell.
func TestBytesOfTwoEncodings(t *testing.T) {
	gb := func(s string) string { return rawBytes(t, simplifiedchinese.GB18030, s) }
	latin := func(s string) string { return rawBytes(t, charmap.Windows1252, s) }
	cases := []struct {
		name  string
		names []string // as bytes, of one product each
		want  []string
	}{
		{"Chinese that is Greek and Hebrew as well", []string{gb("未知"), gb("外壳"), gb("未指定")}, []string{"未知", "外壳", "未指定"}},
		{"UTF-8 beside Chinese bytes", []string{"铝合金", gb("外壳")}, []string{"铝合金", "外壳"}},
		{"UTF-8 beside Western bytes", []string{"Gehäuse", "Lüfterhalter", "Größe", latin("Öse")}, []string{"Gehäuse", "Lüfterhalter", "Größe", "Öse"}},
		{"UTF-8 alone", []string{"δ\u05AA", "Gehäuse", "Крышка"}, []string{"δ\u05AA", "Gehäuse", "Крышка"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var m maker
			ctx := m.context(unitMM)
			for _, n := range c.names {
				m.shape(m.named("1", n), ctx, m.block(""))
			}
			var got []string
			for _, p := range m.read(t).Parts[1:] {
				got = append(got, p.Name)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
		})
	}
}

// What real files name in other scripts, by the record that has it. The words
// were read off the bytes of the files by hand.
func TestRealNamesInOtherScripts(t *testing.T) {
	cases := []struct {
		file string
		want []string // names of parts, occurrences, materials
	}{
		{"products/arm/leader_Lite6.step", []string{"ボディ1", "ボディ2", "鋼"}},   // \X2\
		{"products/handheld/t-embed_bottom.stp", []string{"0-外壳", "0-防滑垫"}}, // _X2_
	}
	for _, c := range cases {
		a := readReal(t, c.file)
		var got []string
		for _, p := range a.Parts {
			got = append(got, p.Name, p.Material)
		}
		for _, o := range a.Occurrences {
			got = append(got, o.Name)
		}
		for _, w := range c.want {
			if !slices.Contains(got, w) {
				t.Errorf("%s: nothing is called %q", c.file, w)
			}
		}
	}
}

// Raw bytes above ASCII in real files: Chinese of a system that writes its
// words for "any" and "unknown", and French whose é before a v would be one
// Chinese character as well.
func TestRealRawBytes(t *testing.T) {
	cases := []struct {
		file, entity string
		want         map[string]int // how often each text above ASCII stands first
	}{
		{"products/recycler/L++fterhalter.step", "PRODUCT_DEFINITION", map[string]int{"未知": 1}},
		{"products/recycler/L++fterhalter.step", "ORGANIZATION", map[string]int{"未指定": 1}},
		{"products/recycler/02_01_01-screw.step", "PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE", map[string]int{"任何": 1}},
		{"products/recycler/Extrudergruppe.step", "PRODUCT_DEFINITION", map[string]int{"未知": 13}},
		{"products/ventilator/Pressure Valve V3.step", "MANIFOLD_SOLID_BREP", map[string]int{"Révolution1": 1}},
		{"products/ventilator/Pressure Valve V4.step", "MANIFOLD_SOLID_BREP", map[string]int{"Révolution1": 2, "Enlèv. mat.-Extru.2": 1}},
	}
	for _, c := range cases {
		src, err := os.ReadFile(filepath.Join(shared(t), "data", c.file))
		if err != nil {
			t.Fatal(err)
		}
		f, err := p21.Scan(src, p21.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]int{}
		for rec := range f.Of(c.entity) {
			p := rec.Params()
			if s := p.String(0); strings.ContainsFunc(s, func(r rune) bool { return r >= 0x80 }) {
				got[s]++
			}
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s, %s (-want +got)\n%s", c.file, c.entity, d)
		}
	}
}
