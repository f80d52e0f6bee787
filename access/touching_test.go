package access_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// occurrencesOf lists the occurrences of all findings of a rule by name, sorted.
func occurrencesOf(j *access.Judgement, rule string) []string {
	name := map[string]string{}
	for _, o := range j.Report.Occurrences {
		name[o.ID] = o.Name
	}
	var out []string
	for _, f := range j.Report.Findings {
		if f.Rule != rule {
			continue
		}
		for _, id := range f.Occurrences {
			out = append(out, name[id])
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// What the demo's generator glues, solders and snaps has no fastener: those
// parts, and what they lie on, are unexplained. The gasket, the window and the
// cable gland are held between screwed parts.
func TestDemoHoldsTogether(t *testing.T) {
	j := judged(t, filepath.Join("..", "fixtures", "logger-a.step"), nil)
	want := []string{
		"base", "board", "capacitor C1", "capacitor C2", "capacitor C3", "cell", "cell contact +", "cell contact -", "cell tray",
		"controller", "humidity sensor", "radio module", "sensor carrier", "terminal block", "type label",
	}
	if got := occurrencesOf(j, "unexplained joint"); !slices.Equal(got, want) {
		t.Errorf("unexplained are %q, want %q", got, want)
	}
	for _, rule := range []string{"held by nothing", "parts overlap in the model"} {
		if got := occurrencesOf(j, rule); len(got) > 0 {
			t.Errorf("%s: %q, want none: the generator checked that", rule, got)
		}
	}
	threads := 0
	for _, o := range j.Touching.Overlaps {
		if o.Why == "thread" {
			threads++
		}
	}
	if threads != 18 { // 16 screws in tapped holes, 2 bolts in nuts
		t.Errorf("%d threads, want 18", threads)
	}
	checkContactJoints(t, j.Report)
}

// Contacts have an area, planar ones a unit normal, press fits their overlap.
func checkContactJoints(t *testing.T, r *access.Report) {
	t.Helper()
	contacts := 0
	for _, x := range r.Joints {
		switch x.Kind {
		case "contact":
			contacts++
			if len(x.Occurrences) != 2 || x.AreaMM2 == nil || x.Contact == "" && x.Fit == "" {
				t.Errorf("%+v", x)
			}
			if (x.Contact == "planar") != (x.Normal != nil) {
				t.Errorf("normal of %+v", x)
			}
		case "press":
			if x.OverlapMM == nil || !(*x.OverlapMM > 0) {
				t.Errorf("overlap of %+v", x)
			}
		case "fastened":
			if x.AreaMM2 != nil || x.Normal != nil || x.OverlapMM != nil || x.Fit != "" {
				t.Errorf("%+v", x)
			}
		}
	}
	if contacts < 15 {
		t.Errorf("only %d contacts", contacts)
	}
}

// rows is n columns of two discs each, all of different sizes; lift is how far
// the upper one stands above the lower one's top.
func rows(n int, lift float64) *product.Product {
	var parts []product.Part
	var uses []fastenertest.Placed
	for i := range n {
		d := 10 + float64(i)
		parts = append(parts, fastenertest.Tube(d, 3, 2), fastenertest.Tube(d+5, 4, 2))
		for k := range 2 {
			at := geom.Identity()
			at.T = mgl64.Vec3{float64(i) * 60, 0, float64(k) * (3 + lift)}
			uses = append(uses, fastenertest.Placed{Part: 2*i + k, At: at, Name: fmt.Sprintf("disc %d.%d", i, k)})
		}
	}
	p := fastenertest.Assemble(parts, uses...)
	for i := range p.Occs {
		p.Occs[i].ID = product.OccID(i)
	}
	return p
}

// Many faults of a kind are told in few findings, and none is left out.
func TestFindingsAreFew(t *testing.T) {
	for _, c := range []struct {
		rule string
		lift float64
	}{{"parts overlap in the model", -1}, {"unexplained joint", 0}, {"held by nothing", 5}} {
		j, err := access.Judge(context.Background(), rows(40, c.lift), access.Options{})
		if err != nil {
			t.Fatal(err)
		}
		count, last := 0, access.Finding{}
		for _, f := range j.Report.Findings {
			if f.Rule == c.rule {
				count, last = count+1, f
			}
		}
		if count == 0 || count > 9 {
			t.Errorf("%s: %d findings", c.rule, count)
		}
		switch c.rule {
		case "parts overlap in the model":
			if last.Value != 32 || !strings.HasPrefix(last.Text, "32 more pairs") {
				t.Errorf("%+v, want the other 32 pairs", last)
			}
		case "unexplained joint":
			if n := len(occurrencesOf(j, c.rule)); n != 48 { // 8 with their neighbours, 32 without
				t.Errorf("%d parts are named, want 48", n)
			}
		default:
			if len(last.Occurrences) != 80 {
				t.Errorf("%d parts float, want 80", len(last.Occurrences))
			}
		}
	}
}
