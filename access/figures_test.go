package access

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/step"
)

// boxWith is the seed file of one box (1 × 2 × 3 mm, a corner at the origin)
// with figures stated of it.
func boxWith(t *testing.T, figures string) *product.Product {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("..", "step", "testdata", "box.stp"))
	if err != nil {
		t.Fatal(err)
	}
	end := bytes.LastIndex(src, []byte("ENDSEC;"))
	text := string(src[:end]) + figures + string(src[end:])
	asm, err := step.Read(context.Background(), "box.stp", []byte(text), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return built(t, asm)
}

func built(t *testing.T, asm *step.Assembly) *product.Product {
	t.Helper()
	p, err := product.Build(context.Background(), asm, product.Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// stated writes the three figures of the product in the practice's form; the
// representation's context is that of the file.
func stated(volume, area float64, centre mgl64.Vec3, length string) string {
	return fmt.Sprintf(`#9001=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(%s,.METRE.));
#9002=DERIVED_UNIT((#9003));#9003=DERIVED_UNIT_ELEMENT(#9001,3.);
#9004=DERIVED_UNIT((#9005));#9005=DERIVED_UNIT_ELEMENT(#9001,2.);
#9010=MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(%G),#9002);
#9011=MEASURE_REPRESENTATION_ITEM('surface area measure',AREA_MEASURE(%G),#9004);
#9012=CARTESIAN_POINT('centre point',(%G,%G,%G));
#9013=MEASURE_REPRESENTATION_ITEM('independent surface area measure',AREA_MEASURE(77.),#9004);
#9020=PROPERTY_DEFINITION('geometric validation property','',PRODUCT);
#9021=REPRESENTATION('',(#9013,#9010,#9011,#9012),CONTEXT);
#9022=PROPERTY_DEFINITION_REPRESENTATION(#9020,#9021);
`, length, volume, area, centre[0], centre[1], centre[2])
}

// boxRefs are the references that the seed file has for its product definition
// and its context.
func boxRefs(t *testing.T) *strings.Replacer {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("..", "step", "testdata", "box.stp"))
	if err != nil {
		t.Fatal(err)
	}
	find := func(entity string) string {
		for line := range strings.Lines(string(src)) {
			if id, text, ok := strings.Cut(line, "="); ok && strings.HasPrefix(text, entity) {
				return id
			}
		}
		t.Fatalf("the seed has no %s", entity)
		return ""
	}
	return strings.NewReplacer("PRODUCT)", find("PRODUCT_DEFINITION('")+")", "CONTEXT", find("(GEOMETRIC_REPRESENTATION_CONTEXT"))
}

// The box of 1 × 2 × 3 mm has a volume of 6 mm³, an area of 22 mm² and its
// centre at (0.5, 1, 1.5).
func TestOwnFigures(t *testing.T) {
	const milli = ".MILLI."
	mid := mgl64.Vec3{0.5, 1, 1.5}
	cases := []struct {
		name, figures string
		want          []string // in the text; none: no finding
		value         float64
		unit          string
	}{
		{"as it is", stated(6, 22, mid, milli), nil, 0, ""},
		{"in metres", stated(6e-9, 22e-6, mid, "$"), nil, 0, ""},
		{"within a percent", stated(6.05, 21.8, mid.Add(mgl64.Vec3{0.9}), milli), nil, 0, ""},
		{"volume", stated(6.3, 22, mid, milli), []string{"volume 6.3 mm³, here 6 mm³"}, 5, "%"},
		{"area", stated(6, 21, mid, milli), []string{"area 21 mm², here 22 mm²"}, 100.0 / 22, "%"},
		{"centre", stated(6, 22, mid.Add(mgl64.Vec3{0, 0, 2}), milli), []string{"centre (0.5, 1, 3.5) mm, here (0.5, 1, 1.5) mm"}, 2, "mm"},
		{"metres for millimetres", stated(6, 22, mid, "$"), []string{"a factor of 10 to the power 9", "a factor of 10 to the power 6", "units"}, 100 * (1e9 - 1), "%"},
		{"centre in inches", stated(6, 22, mid.Mul(1/25.4), milli), []string{"a factor of 25.4 to the power -1"}, mid.Len() * (1 - 1/25.4), "mm"},
		{"cubic inches", stated(6/math.Pow(25.4, 3), 22, mid, milli), []string{"a factor of 25.4 to the power -3"}, 100 * (1 - math.Pow(25.4, -3)), "%"},
	}
	refs := boxRefs(t)
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := ownFigures(boxWith(t, refs.Replace(c.figures)))
			if len(c.want) == 0 {
				if len(got) > 0 {
					t.Fatalf("finding %q, want none", got[0].Text)
				}
				return
			}
			if len(got) != 1 {
				t.Fatalf("%d findings, want 1", len(got))
			}
			f := got[0]
			for _, w := range c.want {
				if !strings.Contains(f.Text, w) {
					t.Errorf("%q does not say %q", f.Text, w)
				}
			}
			if f.Level != "warn" || len(f.Occurrences) != 1 || !(math.Abs(float64(f.Value)-c.value) <= 1e-6*c.value) || f.Unit != c.unit {
				t.Errorf("finding %+v: want a warning about one occurrence, %g %s", f, c.value, c.unit)
			}
			if level, text := trust(&Read{}, got); level != "partial" || !strings.Contains(text, "the file states other figures of 1 of its parts") {
				t.Errorf("trust is %s: %q", level, text)
			}
		})
	}
}

// The centre of an assembly may be that of the masses, which lies somewhere
// between its parts: here at x = 0 and x = 10 mm with volumes of 1 and 3 mm³, so
// that the volumes' centre is at 7.5.
func TestCentreOfAnAssembly(t *testing.T) {
	shape := func(volume float64) product.Part {
		return product.Part{Mesh: &mesh.Mesh{Triangles: make([][3]int32, 1)}, Closed: true, Volume: volume, Area: 1, Box: geom.Box{}}
	}
	at := func(x float64) geom.Transform { return geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{x}} }
	for x, want := range map[float64]int{7.5: 0, 2: 0, 10.9: 0, 11.1: 1, -1.1: 1} {
		p := &product.Product{
			Parts: []product.Part{{Declared: step.Declared{Volume: 4, Area: 2, Centre: mgl64.Vec3{x}, HasCentre: true}}, shape(1), shape(3)},
			Occs: []product.Occ{
				{Parent: -1, Placement: at(100), Solid: product.NoSolid},
				{Part: 1, Placement: at(100), Depth: 1}, {Part: 2, Placement: at(110), Depth: 1, Solid: 1},
			},
			Solids: []product.Solid{{Occ: 1, Part: 1, Place: at(100)}, {Occ: 2, Part: 2, Place: at(110)}},
		}
		if got := ownFigures(p); len(got) != want {
			t.Errorf("centre at %g: findings %v, want %d", x, got, want)
		}
		p.Occs[2].Part, p.Solids[1].Part, p.Parts[0].Declared.Volume = 1, 1, 2 // twice the same part: its mass is no question
		if got := ownFigures(p); len(got) != 1 {
			t.Errorf("two of one part, centre at %g: findings %v, want 1", x, got)
		}
	}
}

// An open or incomplete part has no figures to compare.
func TestOwnFiguresNeedTheWholeShape(t *testing.T) {
	wrong := boxRefs(t).Replace(stated(60, 22, mgl64.Vec3{}, ".MILLI."))
	for name, change := range map[string]func(*product.Part){
		"open": func(p *product.Part) { p.Closed = false }, "hidden": func(p *product.Part) { p.Hidden = 1 },
	} {
		p := boxWith(t, wrong)
		if len(ownFigures(p)) != 1 {
			t.Fatal("no finding on the whole shape")
		}
		for i := range p.Parts {
			change(&p.Parts[i])
		}
		if got := ownFigures(p); len(got) > 0 {
			t.Errorf("%s: finding %q", name, got[0].Text)
		}
	}
}

// No file of the reference data that states figures gives a false alarm, and
// each figure that is made wrong by two percent is found.
func TestOwnFiguresOfRealFiles(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	root, compared := filepath.Join(shared, "data"), 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if ext := strings.ToLower(filepath.Ext(path)); err != nil || ext != ".stp" && ext != ".step" {
			return err
		}
		if src, err := os.ReadFile(path); err != nil || !bytes.Contains(src, []byte("geometric validation property")) {
			return err
		}
		asm, err := step.ReadFile(context.Background(), path, step.Options{})
		if err != nil {
			return err
		}
		compared += realFigures(t, d.Name(), built(t, asm))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if compared < 25 {
		t.Errorf("only %d parts to compare", compared)
	}
}

func realFigures(t *testing.T, file string, p *product.Product) int {
	t.Helper()
	for _, f := range append(ownFigures(p), ownPlaces(p)...) {
		t.Errorf("%s: %s", file, f.Text)
	}
	realPlaces(t, file, p)
	n, stating, first := 0, 0, firstUses(p)
	for i := range p.Parts {
		d := &p.Parts[i].Declared
		if d.Volume == 0 && d.Area == 0 && !d.HasCentre {
			continue
		}
		stating++
		if first[i] < 0 {
			continue
		}
		got, ok := measure(p, first[i])
		if !ok {
			t.Logf("%s: %q is not whole", file, p.Parts[i].Name)
			continue
		}
		n++
		t.Logf("%s: %q volume %.3g %%, area %.3g %%, centre %.3g mm off", file, p.Parts[i].Name,
			100*(d.Volume/got.volume-1), 100*(d.Area/got.area-1), d.Centre.Sub(got.centre()).Len())
		was := *d
		d.Volume, d.Area = d.Volume*1.02, d.Area*1.02
		if found := ownFigures(p); len(found) != 1 && was.Volume+was.Area > 0 {
			t.Errorf("%s: %q two percent wrong gives %d findings", file, p.Parts[i].Name, len(found))
		}
		*d = was
	}
	t.Logf("%s: %d parts state figures, %d compared", file, stating, n)
	return n
}

func TestHiddenInFile(t *testing.T) {
	if got := hiddenInFile(&product.Product{}); len(got) > 0 {
		t.Errorf("findings %v on a file that hides nothing", got)
	}
	for left, want := range map[bool]string{
		true:  `Hidden in the file (1): "jig" (#7): left out, so that nothing here takes them into account`,
		false: `Hidden in the file (1): "jig" (#7): judged like the rest`,
	} {
		got := hiddenInFile(&product.Product{Hidden: []step.Hidden{{Tag: 7, Name: "jig", Left: left}}})
		if len(got) != 1 || got[0].Text != want || got[0].Level != "note" {
			t.Errorf("findings %+v, want %q", got, want)
		}
	}
}

// What takes from the trust stands before what does not, and is counted.
func TestTrustTellsWhatMatters(t *testing.T) {
	r := read(&product.Product{Skips: []step.Skip{
		{Tag: 1, Why: "annotations", Aside: true}, {Tag: 2, Why: "no shape"}, {Tag: 3, Why: "no shape"},
	}})
	if len(r.Skipped) != 3 || r.Skipped[0].ID != "#2" || r.Skipped[2].ID != "#1" {
		t.Errorf("listed as %+v", r.Skipped)
	}
	r.Solids, r.SolidsMeshed, r.Faces, r.FacesMeshed = 1, 1, 6, 6
	const want = "rests on 1 of 1 solid and all 6 faces; 2 things in the file were left out or are doubtful"
	if level, got := trust(&r, nil); level != "partial" || got != want {
		t.Errorf("%s: %q, want %q", level, got, want)
	}
}

// What is no part of the shape, such as an annotation, takes nothing from the
// trust; anything else that is left out does.
func TestTrustLeavesOutWhatIsAside(t *testing.T) {
	for aside, want := range map[bool]string{true: "full", false: "partial"} {
		r := read(&product.Product{Skips: []step.Skip{{Tag: 7, Why: "3 annotations: left out", Aside: aside}}})
		if got, _ := trust(&r, nil); got != want || len(r.Skipped) != 1 {
			t.Errorf("aside %v: trust %s with %d skips, want %s with 1", aside, got, len(r.Skipped), want)
		}
	}
}
