package access

import (
	"fmt"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/google/go-cmp/cmp"

	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// site is parts with their places; stacks stand 40 mm apart along x.
type site struct {
	parts []product.Part
	uses  []fastenertest.Placed
	x     float64
}

// put places a part at a height in the stack at hand.
func (s *site) put(name string, z float64, p product.Part) {
	at := geom.Identity()
	at.T = mgl64.Vec3{s.x, 0, z}
	s.uses = append(s.uses, fastenertest.Placed{Part: len(s.parts), At: at, Name: name})
	s.parts = append(s.parts, p)
}

func (s *site) judge(t *testing.T) *Judgement {
	t.Helper()
	p := fastenertest.Assemble(s.parts, s.uses...)
	for i := range p.Occs { // as a reader numbers them
		p.Occs[i].ID = product.OccID(i)
	}
	j, err := Judge(t.Context(), p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// screw is M4 with a hexagon socket, its seat at z = 0.
func screw(l float64) product.Part {
	return fastenertest.Screw(4, l, fastenertest.Barrel(7, 4), fastenertest.HexPocket(3), 2)
}

func plate(h, hole float64, material string) product.Part {
	p := fastenertest.Tube(30, h, hole)
	p.Material = material
	return p
}

func texts(list []Finding, rule string) []string {
	out := []string{}
	for _, f := range list {
		if f.Rule == rule {
			out = append(out, fmt.Sprintf("%s %d: %s", f.Level, len(f.Fasteners), f.Text))
		}
	}
	return out
}

// Three stacks: a screw through a washer and two plates into a block, one
// through one plate, and a bolt with its nut.
func TestCounts(t *testing.T) {
	s := &site{}
	s.put("screw 1", 0, screw(16))
	s.put("washer", -0.8, fastenertest.Tube(9, 0.8, 4.3))
	s.put("lid", -3.8, plate(3, 4.5, ""))
	s.put("frame", -5.8, plate(2, 4.5, ""))
	s.put("base", -25.8, plate(20, 3.3, ""))
	s.x = 40
	s.put("screw 2", 0, screw(16))
	s.put("cap", -3, plate(3, 4.5, ""))
	s.put("post", -23, plate(20, 3.3, ""))
	s.x = 80
	s.put("bolt", 0, screw(12))
	s.put("upper", -3, plate(3, 4.5, ""))
	s.put("lower", -7, plate(4, 4.5, ""))
	s.put("nut", -10.2, fastenertest.Nut(7, 3.2, 3.242))
	c := s.judge(t).Report.Counts
	want := &Counts{
		Kinds: []Count{{"screw", 2}, {"bolt", 1}, {"nut", 1}, {"washer", 1}}, Sizes: []Count{{"M4", 4}},
		Lengths: []Count{{"M4×16", 2}, {"M4×12", 1}}, Drives: []Count{{"hex socket 3", 3}, {"outer hex 7", 1}}, Tools: 2,
		Sets: []Set{
			{"j1", []string{"f1"}, 3, []string{"o3", "o4", "o5"}},
			{"j2", []string{"f3"}, 2, []string{"o7", "o8"}},
			{"j3", []string{"f4"}, 2, []string{"o10", "o11"}},
		},
	}
	if d := cmp.Diff(want, c); d != "" {
		t.Error(d)
	}
}

// A screw M4 in 5 mm of thread: 1.25 of its diameter is enough in steel and
// where nobody knows the material, too little in aluminium and plastics.
func TestThreadDeepEnough(t *testing.T) {
	for _, tt := range []struct {
		material string
		density  float64
		depth    float64
		want     string
	}{
		{"Steel S235", 0, 5, ""}, {"", 7850, 5, ""}, {"", 0, 5, ""},
		{"EN AW-6060 aluminium", 0, 5, "5 mm of thread in \"base\" (light metal), which is 1.25 of the diameter: at least 1.5 is usual"},
		{"", 2700, 5, "light metal"}, {"ABS", 0, 5, "plastic"}, {"", 1050, 5, "plastic"}, {"Aluminium", 0, 6, ""}, {"PA66-GF30", 0, 8, ""},
		{"", 0, 3, ""}, {"", 0, 2.5, "2.5 mm of thread in \"base\" (material unknown), which is 0.63 of the diameter: at least 0.8 is usual in any"},
	} {
		s := &site{}
		s.put("screw", 0, screw(16))
		s.put("lid", -3, plate(3, 4.5, ""))
		base := plate(tt.depth, 3.3, tt.material)
		base.Density = tt.density
		s.put("base", -3-tt.depth, base)
		got := texts(s.judge(t).Report.Findings, ruleEngaged)
		if tt.want == "" && len(got) > 0 || tt.want != "" && (len(got) != 1 || !strings.Contains(got[0], tt.want)) {
			t.Errorf("%g mm of %q %g: %q, want %q", tt.depth, tt.material, tt.density, got, tt.want)
		}
	}
}

// A screw of 16 in a blind hole that ends 13 below its seat goes 3 mm too far.
func TestScrewMeetsTheBottom(t *testing.T) {
	blind := fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 15), fastenertest.Circle(20, 15), fastenertest.Circle(20, 1.65), fastenertest.Circle(10, 1.65), fastenertest.Circle(10, 0))
	for length, want := range map[float64]string{
		12: "[]",
		16: `[note 1: The tip goes 3 mm past the end of the thread in "base": it meets the bottom before its head is down]`,
	} {
		s := &site{}
		s.put("screw", 0, screw(length))
		s.put("lid", -3, plate(3, 4.5, ""))
		s.put("base", -23, blind)
		if got := fmt.Sprint(texts(s.judge(t).Report.Findings, ruleBottom)); got != want {
			t.Errorf("length %g: %s, want %s", length, got, want)
		}
	}
}

// The last part before a nut decides whether a thread could be cut into it.
func TestThreadInsteadOfANut(t *testing.T) {
	pocket := fastenertest.Turn("", fastenertest.Circle(0, 15), fastenertest.Circle(8, 15), fastenertest.Circle(8, 2.25),
		fastenertest.Circle(3.2, 2.25), fastenertest.Polygon(3.2, 7.2, 6), fastenertest.Polygon(0, 7.2, 6), fastenertest.Circle(0, 15))
	for _, tt := range []struct {
		name  string
		part  product.Part
		thick float64
		want  string
	}{
		{"steel 4", plate(4, 4.5, "steel"), 4, "is 4 mm thick: enough for a thread, so that a screw would do without the nut (steel or as hard: 1 diameter wanted, 4 mm)"},
		{"steel 3", plate(3, 4.5, "steel"), 3, "is 3 mm thick: too little"},
		{"unknown 4", plate(4, 4.5, ""), 4, "is 4 mm thick: too little for a thread; a press nut or an insert in it would save the second tool (material unknown: 2 diameters wanted, 8 mm)"},
		{"plastic 8", plate(8, 4.5, "ABS"), 8, "is 8 mm thick: enough"},
		{"a part is missing before the nut", plate(1, 4.5, ""), 4, ""},
		{"nut in a pocket", pocket, 4.8, ""},
	} {
		s := &site{}
		s.put("bolt", 0, screw(20))
		s.put("upper", -3, plate(3, 4.5, ""))
		s.put("lower", -3-tt.part.Box.Max[2], tt.part)
		s.put("nut", -3-tt.thick-3.2, fastenertest.Nut(7, 3.2, 3.242))
		got := texts(s.judge(t).Report.Findings, ruleThread)
		if tt.want == "" && len(got) > 0 || tt.want != "" && (len(got) != 1 || !strings.HasPrefix(got[0], `note 2: 1 × M4×20 with a loose nut: "lower"`) || !strings.Contains(got[0], tt.want)) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// Screws of one size with other lengths and drives, and a size with one screw.
func TestFastenersAlike(t *testing.T) {
	s := &site{}
	add := func(p product.Part, clearance, tapped float64) {
		s.put(fmt.Sprintf("screw %d", len(s.uses)), 0, p)
		s.put("lid", -3, plate(3, clearance, ""))
		s.put("base", -33, plate(30, tapped, ""))
		s.x += 40
	}
	for range 4 {
		add(screw(16), 4.5, 3.3)
	}
	add(screw(20), 4.5, 3.3)
	add(screw(12), 4.5, 3.3)
	want := []string{`note 6: 4 × M4×16, 1 × M4×20 and 1 × M4×12 could be alike: M4×16 for M4×20 would still have 13 mm of thread; M4×16 for M4×12 if there is room for 4 mm more`}
	if d := cmp.Diff(want, texts(s.judge(t).Report.Findings, ruleAlike)); d != "" {
		t.Error(d)
	}
	add(fastenertest.Screw(3, 12, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6), 3.4, 2.5)
	want = append(want, "note 7: Only 1 screw is M3; M4 (6 of them) is one step away: one size could do if strength and room allow")
	if d := cmp.Diff(want, texts(s.judge(t).Report.Findings, ruleAlike)); d != "" {
		t.Error(d)
	}
	same := &site{}
	for range 3 {
		same.put("screw", 0, screw(16))
		same.x += 40
	}
	if got := texts(same.judge(t).Report.Findings, ruleAlike); len(got) > 0 {
		t.Errorf("screws that are alike: %q", got)
	}
}
