package fastener

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
)

// domed is a shank of 3 × 8, its tip chamfered by c, under a cap of a sphere dk
// wide and k high.
func domed(dk, k, c float64) product.Part {
	zr := []float64{-8, 0, -8, 1.5 - c, c - 8, 1.5, 0, 1.5, 0, dk / 2}
	r := (dk*dk/4 + k*k) / (2 * k)
	for i := 1; i < 24; i++ {
		z := k * float64(i) / 24
		h := r - k + z
		zr = append(zr, z, math.Sqrt(r*r-h*h))
	}
	return turned("", append(zr, k, 0)...)
}

// sunkHead is a shank of 3 × 8 over all under a cone of an angle, degrees.
func sunkHead(dk, angle, c float64) product.Part {
	h := (dk/2 - 1.5) / math.Tan(angle/2*math.Pi/180)
	return turned("", -8, 0, -8, 1.5-c, c-8, 1.5, -h-0.1, 1.5, -0.1, dk/2, 0, dk/2, 0, 0)
}

// Rivets as they come: heads of DIN 660 are 5.2 × 1.8 for 3 mm, cones of DIN 661
// have 75 degrees; tips are cut off square.
func TestSolidRivetsByTheirProportions(t *testing.T) {
	for _, c := range []struct {
		what string
		part product.Part
		kind Kind
	}{
		{"DIN 660", domed(5.2, 1.8, 0), Rivet},
		{"a chamfered tip", domed(5.2, 1.8, 0.3), ""},
		{"the head of a pan screw", domed(6, 2.4, 0), ""},
		{"the head of ISO 7380", domed(5.7, 1.65, 0), ""},
		{"flat", domed(5.2, 1.2, 0), ""},
		{"DIN 661", sunkHead(5.2, 75, 0), Rivet},
		{"a chamfered tip, countersunk", sunkHead(5.2, 75, 0.3), ""},
		{"90 degrees", sunkHead(5.5, 90, 0), ""},
		{"a light pipe's lens", turned("", -12, 0, -12, 1.5, 0, 1.5, 0, 2.1, 1, 2.1, 1.3, 1.5, 1.5, 0), ""},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || c.kind != "" && (f.Size != "3 mm" || f.Drive != NoDrive) {
			t.Errorf("%s: %q %q; %q", c.what, f.Kind, f.Size, f.Evidence)
		}
	}
}

// In holes of their own diameter, a high head on a chamfered shank of a thread's
// diameter is a screw's that is drawn plain; a flat one leaves doubt; without the
// chamfer it is a rivet's.
func TestPlainScrewInItsStack(t *testing.T) {
	stack := func(k, c float64) Fastener {
		part := turned("", -4, 0, -4, 2-c, c-4, 2, 0, 2, 0, 3.3, k, 3.3, k, 0)
		return pile{}.add(0, part).add(-2, ft.Tube(12, 2, 4)).add(-4, ft.Tube(12, 2, 4)).kinds()[0]
	}
	for _, c := range []struct {
		what            string
		head, chamfer   float64
		kind            Kind
		size            string
		least, greatest float64
	}{
		{"flat, square", 0.8, 0, Rivet, "4 mm", 0.7, 1},
		{"flat, chamfered", 0.8, 0.4, Rivet, "4 mm", 0, 0.6},
		{"high, chamfered", 2.2, 0.4, Screw, "M4", 0, 0.6},
		{"high, square", 2.2, 0, Rivet, "4 mm", 0.7, 1},
	} {
		f := stack(c.head, c.chamfer)
		if f.Kind != c.kind || f.Size != c.size || f.Confidence < c.least || f.Confidence > c.greatest {
			t.Errorf("%s: %s %s, %g; %q", c.what, f.Kind, f.Size, f.Confidence, f.Evidence)
		}
	}
}

// headed is a rivet of 3 mm with two heads and l mm between them.
func headed(l float64) product.Part {
	return turned("", -l-1.5, 0, -l-1.5, 1.5, -l-1, 2.4, -l, 2.6, -l, 1.5, 0, 1.5, 0, 2.6, 1, 2.4, 1.8, 1, 1.8, 0)
}

// A shank with two heads is a rivet where it closes a stack.
func TestSetRivets(t *testing.T) {
	sheet := func(h, hole float64) product.Part { return ft.Tube(10, h, hole) }
	pile{}.add(0, headed(4)).expect(t, "alone: a spool", 0, "", "")
	pile{}.add(0, headed(4)).add(-2, sheet(2, 3)).add(-4, sheet(2, 3)).expect(t, "two sheets", 0, Rivet, "3 mm")
	pile{}.add(0, headed(4)).add(-2, sheet(2, 3.1)).add(-4, sheet(2, 3.1)).expect(t, "with the play of its hole", 0, Rivet, "3 mm")
	pile{}.add(0, headed(4)).add(-2, sheet(2, 4)).add(-4, sheet(2, 3)).expect(t, "a roller on one", 0, "", "")
	pile{}.add(0, headed(4)).add(-4, sheet(4, 3)).expect(t, "one sheet", 0, "", "")
	pile{}.add(0, headed(8)).add(-2, sheet(2, 3)).add(-4, sheet(2, 3)).expect(t, "half as thick a stack", 0, "", "")
}

// A blind rivet of 4 × 10: head 8 × 1, mandrel 2.4.
func TestBlindRivets(t *testing.T) {
	whole := func(dm, rod float64) product.Part {
		return turned("", -13, 0, -13, 1.2, -11.6, 1.9, -10, 1.9, -10, 2, 0, 2, 0, 4, 0.3, 4, 1, 1.8, 1, dm/2, rod-1, dm/2, rod, dm/5, rod, 0)
	}
	set := func(bulge, dent float64) product.Part {
		zr := []float64{-8, 0, -8, 1.8, -7, 0.95 * bulge / 2, -5, bulge / 2, -4, 2, 0, 2, 0, 4, 0.3, 4, 1, 2}
		if dent > 0 {
			zr = append(zr, 1, dent/2, 0.4, dent/2, 0.4, 0)
		} else {
			zr = append(zr, 1, 0)
		}
		return turned("", zr...)
	}
	bored := turned("", -8, 1.25, -8, 2, 0, 2, 0, 4, 1, 4, 1, 1.25, -8, 1.25)
	bush := turned("", -8, 1.7, -8, 2, 0, 2, 0, 4, 1, 4, 1, 1.7, -8, 1.7)
	for _, c := range []struct {
		what string
		part product.Part
		kind Kind
	}{
		{"with its mandrel", whole(2.4, 25), Rivet},
		{"a mandrel as thick as a shaft", whole(3.4, 25), ""},
		{"a stub on top", whole(2.4, 4), ""},
		{"set", set(6, 2.4), Rivet},
		{"a pushed-in foot", set(6, 0), ""},
		{"not bulged", set(4, 2.4), ""},
		{"a wide hollow", set(6, 3.6), ""},
		{"its body, alone", bored, ""},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || c.kind != "" && (f.Size != "4 mm" || f.Head != "blind") {
			t.Errorf("%s: %q %q; %q", c.what, f.Kind, f.Size, f.Evidence)
		}
	}
	two := pile{}.add(-2, ft.Tube(12, 2, 4.1)).add(-4, ft.Tube(12, 2, 4.1))
	two.add(0, bored).expect(t, "its body in two sheets", 2, Rivet, "4 mm")
	two.add(0, bush).expect(t, "a thin bush in two sheets", 2, "", "")
	pile{}.add(-4, ft.Tube(12, 4, 4.1)).add(0, bored).expect(t, "its body in one sheet", 1, "", "")
}

// barbed is a clip with barbs: front and back are how long, mm, the flanks to
// the tip and to the head are.
func barbed(n int, front, back, bore float64) product.Part {
	zr := []float64{-14, bore, -14, 0.6, -13, 1.5}
	for i := range n {
		z := -12.5 + 12*float64(i)/float64(n)
		zr = append(zr, z, 1.5, z+front, 2.5, z+front+0.3, 2.5, z+front+0.3+back, 1.5)
	}
	zr = append(zr, 0, 1.5, 0, 5, 1, 5, 1.4, 4.5, 1.4, bore)
	if bore > 0 {
		zr = append(zr, -14, bore)
	}
	return turned("", zr...)
}

// Barbs rise slowly from the tip and fall steeply: what goes in does not come
// out. Threads are alike on both sides, nipples are bored.
func TestBarbedClips(t *testing.T) {
	for _, c := range []struct {
		what string
		part product.Part
		kind Kind
	}{
		{"five barbs", barbed(5, 0.9, 0.2, 0), Clip},
		{"three barbs", barbed(3, 1.2, 0.1, 0), Clip},
		{"two barbs", barbed(2, 1.2, 0.1, 0), ""},
		{"turned about", barbed(5, 0.2, 0.9, 0), ""},
		{"alike on both sides", barbed(5, 0.5, 0.5, 0), ""},
		{"a nipple", barbed(5, 0.9, 0.2, 0.4), ""},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || c.kind != "" && (math.Abs(f.HeadD-10) > 0.01 || f.Axis.D[2] < 0.99) {
			t.Errorf("%s: %q, head %g, %v; %q", c.what, f.Kind, f.HeadD, f.Axis.D, f.Evidence)
		}
	}
}

// Taper pins of ISO 2339 grow by 1 in 50, and stand in holes that do so too.
func TestTaperPins(t *testing.T) {
	read := func(per float64, up bool) (specimen, bool) {
		p := turned("", 0, 0, 0, 2, 20, 2+10/per, 20, 0)
		f, err := geom.NewFrame(mgl64.Vec3{}, mgl64.Vec3{0, 0, 1}, mgl64.Vec3{1, 0, 0})
		if err != nil {
			t.Fatal(err)
		}
		if !up {
			f = geom.Frame{O: f.O, X: f.X, Y: f.Y.Mul(-1), Z: f.Z.Mul(-1)}
		}
		m := flatten(p.Mesh, f)
		return m.taperPin(m.outline(), f)
	}
	s, ok := read(50, true)
	if !ok || s.Size != "4 mm" || s.Length != 20 || s.Axis.D[2] < 0.99 || s.Symmetric {
		t.Errorf("%v %q %g, leaves along %v", ok, s.Size, s.Length, s.Axis.D)
	}
	if _, ok := read(50, false); ok {
		t.Error("it is read with its thin end up as well")
	}
	if _, ok := read(30, true); ok {
		t.Error("a steeper taper is none")
	}
	hole := func(half, r float64) float64 {
		h := pile{}.add(0, turned("", 0, 0, 0, 2, 20, 2.2, 20, 0)).add(0, ft.Tube(16, 20, 4.2))
		c := &court{scene: feature.NewScene(context.Background(), ft.Assemble(h.parts, h.uses...))}
		c.scene.Parts[1].Faces = []feature.Face{{
			Kind: feature.Cone, Axis: geom.Axis{D: mgl64.Vec3{0, 0, 1}}, R: r, Half: half, Inward: true, Z0: 4, Z1: 16, Area: 1,
		}}
		return c.tapers(&instance{specimen: s}, 1, 0.12)
	}
	if l := hole(0.01, 2); math.Abs(l-12) > 1e-9 {
		t.Errorf("%g mm in a hole of its own taper, want 12", l)
	}
	if l := hole(-0.01, 2.4); l != 0 {
		t.Errorf("%g mm in a hole that narrows", l)
	}
	if l := hole(0.01, 2.2); l != 0 {
		t.Errorf("%g mm in a hole that is too wide", l)
	}
	if l := hole(0.03, 1.9); l != 0 {
		t.Errorf("%g mm in a steeper hole", l)
	}
}
