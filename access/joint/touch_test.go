package joint

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/fastener"
	"stepscan/access/fastener/fastenertest"
	"stepscan/access/joint/contact"
	"stepscan/access/product"
	"stepscan/geom"
)

// touch runs recognition, joining and Touch.
func (h *heap) touch(t *testing.T) (*product.Product, *Touching) {
	p, fs, hs, js, _ := h.find(t)
	return p, Touch(context.Background(), p, fs, hs, js)
}

// state says what keeps the solid of a name: "held", or how it is loose.
func state(p *product.Product, x *Touching, name string) string {
	for _, l := range x.Loose {
		for _, s := range l.Solids {
			if p.Name(s) == name {
				return map[How]string{Floating: "floating", Unexplained: "unexplained", Between: "between"}[l.How]
			}
		}
	}
	return "held"
}

// A lid with a gasket on a base, a label, a part in the air.
func TestWhatHoldsAPart(t *testing.T) {
	h := (&heap{}).add("screw", 0, capM4(12)).add("lid", -3, disc(30, 3, 4.5)).add("gasket", -4, disc(30, 1, 8)).
		add("base", -20, disc(30, 16, 3.3)).add("label", -20.1, disc(20, 0.1, 2)).add("far", -60, disc(20, 4, 2)).
		add("loose plate", -22.1, disc(40, 2, 6))
	p, x := h.touch(t)
	for name, want := range map[string]string{
		"screw": "held", "lid": "held", "base": "held", "gasket": "between", "label": "unexplained", "far": "floating", "loose plate": "unexplained",
	} {
		if got := state(p, x, name); got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
	for _, l := range x.Loose {
		if p.Name(l.Solids[0]) == "label" {
			if want := math.Pi / 4 * (20*20 - 3.3*3.3 + 20*20 - 6*6); math.Abs(l.Area-want) > 0.01*want || len(l.By) != 2 {
				t.Errorf("the label touches %v over %g mm², want %g", names(p, l.By), l.Area, want)
			}
		}
	}
	kinds := map[Kind]int{}
	for i, j := range x.Joints {
		kinds[j.Kind]++
		if want := fmt.Sprintf("j%d", i+1); j.ID != want {
			t.Errorf("id %s, want %s", j.ID, want)
		}
	}
	if kinds[Contact] != 4 || kinds[Fastened] != 1 || kinds[Press] != 0 {
		t.Errorf("%v, want 1 fastened and 4 contacts: gasket on lid and base, label on base and plate", kinds)
	}
}

// Loose parts in a stack lie between a lid and a shelf that are pressed into one
// tube; without the lid nothing in the model keeps them.
func TestStackBetweenFirmParts(t *testing.T) {
	open := (&heap{}).add("tube", -40, disc(60, 50, 22)).add("shelf", -13, disc(22.02, 7, 12)).
		add("frame", -6, disc(18, 2, 14)).add("pane", -4, disc(18, 1, 14))
	p, x := open.touch(t)
	for name, want := range map[string]string{"shelf": "held", "tube": "held", "pane": "unexplained", "frame": "unexplained"} {
		if got := state(p, x, name); got != want {
			t.Errorf("open above: %s is %s, want %s", name, got, want)
		}
	}
	p, x = open.add("lid", -3, disc(22.02, 7, 12)).touch(t)
	for name, want := range map[string]string{"lid": "held", "shelf": "held", "tube": "held", "pane": "between", "frame": "between"} {
		if got := state(p, x, name); got != want {
			t.Errorf("under a lid: %s is %s, want %s", name, got, want)
		}
	}
}

// Two parts that only touch are one unexplained joint: the smaller lies on the
// greater.
func TestOneFindingForTwoParts(t *testing.T) {
	p, x := (&heap{}).add("small", 4, disc(10, 2, 3)).add("great", 0, disc(40, 4, 3)).touch(t)
	if len(x.Loose) != 2 || x.Loose[0].Base || !x.Loose[1].Base || p.Name(x.Loose[1].Solids[0]) != "great" {
		t.Errorf("%+v", x.Loose)
	}
}

// The threads of screws in their tapped holes and nuts are no fault; two plates
// in each other are.
func TestOverlapsByDesign(t *testing.T) {
	h := (&heap{}).add("screw", 0, capM4(12)).add("lid", -3, disc(30, 3, 4.5)).add("base", -20, disc(30, 17, 3.3)).add("block", -22, disc(60, 4, 40))
	h.uses[3].At.T = mgl64.Vec3{34, 0, -22}
	p, x := h.touch(t)
	why := map[string]string{}
	for _, o := range x.Overlaps {
		why[p.Name(o.A)+"/"+p.Name(o.B)] = o.Why
		if o.Why == "thread" {
			if want := annulus(4, 3.3, 9); math.Abs(o.Volume-want) > 0.1*want {
				t.Errorf("the thread has %g mm³, want %g", o.Volume, want)
			}
		}
	}
	if len(why) != 2 || why["screw/base"] != "thread" || why["base/block"] != "" {
		t.Errorf("%v, want the screw's thread and a fault between base and block", why)
	}
}

// A screw through a block without a hole for it is no thread.
func TestScrewWithoutHole(t *testing.T) {
	solid := fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 15), fastenertest.Circle(17, 15), fastenertest.Circle(17, 0))
	_, x := (&heap{}).add("screw", 0, capM4(12)).add("lid", -3, disc(30, 3, 4.5)).add("base", -20, solid).touch(t)
	if len(x.Overlaps) != 1 || x.Overlaps[0].Why != "" || !x.Overlaps[0].Screwed {
		t.Errorf("%+v, want a screw without a hole", x.Overlaps)
	}
}

// A bearing's outer ring in its housing: a press fit without any pin, of the
// nominal overlap; drawn line to line it is a transition fit and no joint.
func TestPressFits(t *testing.T) {
	housing := disc(60, 10, 22)
	for _, c := range []struct {
		d    float64
		kind Kind
		fit  contact.Class
		over float64
	}{{22.02, Press, contact.Interference, 0.02}, {22, Contact, contact.Transition, 0}, {21.9, Contact, contact.Clearance, -0.1}} {
		_, x := (&heap{}).add("housing", 0, housing).add("ring", 2, disc(c.d, 7, 17)).touch(t)
		if len(x.Joints) != 1 {
			t.Errorf("Ø%g: %+v, want one joint", c.d, x.Joints)
			continue
		}
		j := x.Joints[0]
		if j.Kind != c.kind || j.Fit != c.fit || math.Abs(j.Overlap-c.over) > 1e-9 {
			t.Errorf("Ø%g: %+v, want %s, %s, %g mm", c.d, j, c.kind, c.fit, c.over)
		}
		if len(x.Overlaps) > 0 && x.Overlaps[0].Why == "" {
			t.Errorf("Ø%g: %+v, want no fault", c.d, x.Overlaps)
		}
	}
}

// A shaft drawn at a thread's major diameter in a hole tapped for it.
func TestThreadWithoutFastener(t *testing.T) {
	knob := fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 4), fastenertest.Circle(14, 4), fastenertest.Circle(14, 25), fastenertest.Circle(40, 25), fastenertest.Circle(40, 0))
	p := fastenertest.Assemble([]product.Part{knob, disc(80, 14, 6.8)},
		fastenertest.Placed{Part: 0, At: at(2), Name: "knob"}, fastenertest.Placed{Part: 1, At: geom.Identity(), Name: "lever"})
	x := Touch(context.Background(), p, nil, nil, nil)
	if len(x.Joints) != 1 || x.Joints[0].Kind != Thread || len(x.Overlaps) != 1 || x.Overlaps[0].Why != "thread M8" || len(x.Loose) != 0 {
		t.Errorf("%+v, want a thread M8", x)
	}
}

// A cancelled context gives up early and does not panic.
func TestTouchCancelled(t *testing.T) {
	p := crowd(60, 3)
	fs := fastener.Find(context.Background(), p)
	hs, js := Find(context.Background(), p, fs)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	Touch(ctx, p, fs, hs, js)
}

// heapOf is n loose parts of 200 kinds: plates with shafts in their holes and
// rings on those, in rows and layers that touch.
func heapOf(n int) *product.Product {
	var parts []product.Part
	for k := range 50 {
		d := 4 + float64(k)/10
		parts = append(parts, disc(20, 2, d), disc(d, 4, d/2), disc(18, 2, d), fastenertest.Nut(16, 3, d))
	}
	var uses []fastenertest.Placed
	for i := 0; len(uses) < n; i++ {
		k := i % 50 * 4
		place := func(z float64) geom.Transform {
			t := at(z + float64(i/900)*12)
			t.T[0], t.T[1] = float64(i%30)*20, float64(i/30%30)*20
			return t
		}
		uses = append(uses, fastenertest.Placed{Part: k, At: place(0)}, fastenertest.Placed{Part: k + 1, At: place(0)},
			fastenertest.Placed{Part: k + 2, At: place(2)}, fastenertest.Placed{Part: k + 3, At: place(4)})
	}
	return fastenertest.Assemble(parts, uses[:n]...)
}

func BenchmarkTouch(b *testing.B) {
	for name, p := range map[string]*product.Product{"screwed stacks": crowd(10000, 66), "loose heap": heapOf(10000)} {
		fs := fastener.Find(context.Background(), p)
		hs, js := Find(context.Background(), p, fs)
		b.Run("10000 occurrences, "+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Touch(context.Background(), p, fs, hs, js)
			}
		})
	}
}
