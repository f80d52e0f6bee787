package fastener

import (
	"context"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// Values by hand from the standards named in each row.
func TestFindReadsShapes(t *testing.T) {
	tests := []struct {
		name      string
		part      product.Part
		kind      Kind
		head      string
		size      string
		drive     Drive
		driveSize string
		length    float64
		call      string
	}{
		{"ISO 4762 M3x12", fastenertest.Screw(3, 12, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6), Screw, "cylindrical", "M3", HexSocket, "2.5", 12, "ISO 4762 M3×12"},
		{"ISO 4762 M8x30, socket at upper limit", fastenertest.Screw(8, 30, fastenertest.Barrel(13, 8), fastenertest.HexPocket(6.14), 4), Screw, "cylindrical", "M8", HexSocket, "6", 30, "ISO 4762 M8×30"},
		{"ISO 4762 M5x20, shank at d3", fastenertest.Screw(4.019, 20, fastenertest.Barrel(8.5, 5), fastenertest.HexPocket(4), 2.5), Screw, "cylindrical", "M5", HexSocket, "4", 20, "ISO 4762 M5×20"},
		{"ISO 14583 M3x8", fastenertest.Screw(3, 8, fastenertest.Dome(5.6, 2.4), fastenertest.LobePocket(2.8, 1.98), 1.2), Screw, "pan", "M3", Hexalobular, "T10", 8, "ISO 14583 M3×8"},
		{"ISO 7045 M4x10", fastenertest.Screw(4, 10, fastenertest.Dome(8, 3.1), fastenertest.CrossPocket(4.4, 1.1), 2), Screw, "pan", "M4", Cross, "PH2", 10, "ISO 7045 M4×10"},
		{"ISO 10642 M4x12", fastenertest.Screw(4, 12-1.99, fastenertest.Cone(4, 7.96), fastenertest.HexPocket(2.5), 1.5), Screw, "countersunk", "M4", HexSocket, "2.5", 12, "ISO 10642 M4×12"},
		{"ISO 4017 M6x20", fastenertest.Screw(6, 20, fastenertest.Hexagon(10, 4), nil, 0), Screw, "hexagon", "M6", OuterHex, "10", 20, "ISO 4017 M6×20"},
		{"own head", fastenertest.Screw(5, 20, fastenertest.Barrel(11, 4.1), fastenertest.HexPocket(3), 2), Screw, "cylindrical", "M5", HexSocket, "3", 20, ""},
		{"ISO 4032 M5", fastenertest.Nut(8, 4.7, 4.134), Nut, "", "M5", OuterHex, "8", 4.7, "ISO 4032 M5"},
		{"ISO 4032 M10, bore at d", fastenertest.Nut(16, 8.4, 10), Nut, "", "M10", OuterHex, "16", 8.4, "ISO 4032 M10"},
		{"DIN 934 M10", fastenertest.Nut(17, 8, 8.376), Nut, "", "M10", OuterHex, "17", 8, "DIN 934 M10"},
		{"ISO 7089 M6", fastenertest.Tube(12, 1.6, 6.4), Washer, "", "M6", NoDrive, "", 1.6, "ISO 7089 M6"},
		{"ISO 4026 M4x6", fastenertest.Turn("", fastenertest.Circle(-6, 0), fastenertest.Circle(-6, 2), fastenertest.Circle(0, 2), fastenertest.Polygon(0, 2, 6), fastenertest.Polygon(-2, 2, 6), fastenertest.Circle(-2, 0)), SetScrew, "", "M4", HexSocket, "2", 6, "ISO 4026 M4×6"},
		{"stand-off, hexagon, tapped through", fastenertest.Nut(5.5, 12, 2.5), StandOff, "", "M3", OuterHex, "5.5", 12, ""},
		{"stand-off, hexagon, with a stud", fastenertest.Screw(3, 6, fastenertest.Hexagon(5.5, 12), func(z float64) fastenertest.Ring { return fastenertest.Circle(z, 1.25) }, 8), StandOff, "", "M3", OuterHex, "5.5", 12, ""},
		{"ISO 7046-1 M4x12 drawn to the sharp rim", fastenertest.Screw(4, 12-2.71, fastenertest.Cone(4, 9.4), fastenertest.CrossPocket(4.6, 1.1), 2), Screw, "countersunk", "M4", Cross, "PH2", 12, "ISO 7046-1 M4×12"},
		{"rim between the real and the sharp one", fastenertest.Screw(4, 12-2.335, fastenertest.Cone(4, 8.65), fastenertest.CrossPocket(4.6, 1.1), 2), Screw, "countersunk", "M4", Cross, "PH2", 12, ""},
		{"ISO 4028 M8x12, dog point", fastenertest.Turn("", fastenertest.Circle(-12, 0), fastenertest.Circle(-12, 2.75), fastenertest.Circle(-8, 2.75), fastenertest.Circle(-8, 4), fastenertest.Circle(0, 4), fastenertest.Polygon(0, 4, 6), fastenertest.Polygon(-3, 4, 6), fastenertest.Circle(-3, 0)), SetScrew, "", "M8", HexSocket, "4", 12, "ISO 4028 M8×12"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			fs := Find(context.Background(), fastenertest.Alone(tt.part))
			if len(fs) != 1 {
				t.Fatalf("%d fasteners, want 1", len(fs))
			}
			f := fs[0]
			if f.Kind != tt.kind || f.Head != tt.head || f.Size != tt.size || f.Drive != tt.drive || f.DriveSize != tt.driveSize ||
				math.Abs(f.Length-tt.length) > 1e-6 || f.Designation != tt.call {
				t.Errorf("got %s %q %s, %s %q, length %g, %q; evidence %q", f.Kind, f.Head, f.Size, f.Drive, f.DriveSize, f.Length, f.Designation, f.Evidence)
			}
		})
	}
}

// What only looks like a fastener. The rod has the size of the one in a known
// nut-and-bolt assembly.
func TestFindLeavesOthersAlone(t *testing.T) {
	tests := []struct {
		name string
		part product.Part
	}{
		{"rod", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 5), fastenertest.Circle(200, 5), fastenertest.Circle(200, 0))},
		{"short rod in no hole", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 2), fastenertest.Circle(12, 2), fastenertest.Circle(12, 0))},
		{"capacitor", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 4), fastenertest.Circle(11, 4), fastenertest.Circle(11, 0))},
		{"bush", fastenertest.Tube(10, 8, 6)},
		{"shim", fastenertest.Tube(16.2, 0.7, 12.7)},
		{"knob on a shaft", fastenertest.Screw(6, 15, fastenertest.Barrel(14, 10), nil, 0)},
		{"stepped shaft", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 3), fastenertest.Circle(10, 3), fastenertest.Circle(10, 5), fastenertest.Circle(20, 5), fastenertest.Circle(20, 4), fastenertest.Circle(30, 4), fastenertest.Circle(30, 0))},
		{"lens", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0.5, 5), fastenertest.Circle(1.5, 8), fastenertest.Circle(2, 8), fastenertest.Circle(3, 5), fastenertest.Circle(3.4, 0))},
		{"hexagonal spacer with a clearance hole", fastenertest.Nut(5.5, 12, 3.4)},
		{"round spacer with a plain hole", fastenertest.Tube(6, 12, 2.5)},
		{"hexagonal bar with a journal", fastenertest.Screw(3, 6, fastenertest.Hexagon(5.5, 12), nil, 0)},
		{"light pipe", fastenertest.Screw(3, 8, fastenertest.Barrel(4, 1), nil, 0)},
		{"cell", fastenertest.Turn("", fastenertest.Circle(0, 0), fastenertest.Circle(0, 7.25), fastenertest.Circle(49, 7.25), fastenertest.Circle(49, 2.5), fastenertest.Circle(50, 2.5), fastenertest.Circle(50, 0))},
		{"hexagonal plate with a large hole", fastenertest.Nut(30, 4, 24)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, f := range Find(context.Background(), fastenertest.Alone(tt.part)) {
				t.Errorf("found %s %s %s: %q", f.Kind, f.Head, f.Size, f.Evidence)
			}
		})
	}
}

// drawPlace is any rigid placement within a metre; x stands well across z.
func drawPlace(t *rapid.T) geom.Transform {
	num := func(name string) float64 { return rapid.Float64Range(-500, 500).Draw(t, name) }
	z, _ := geom.Unit(mgl64.Vec3{num("a"), num("b"), num("c") + 501})
	x := geom.Perpendicular(z)
	turn := mgl64.HomogRotate3D(num("angle"), z).Mat3()
	f, err := geom.NewFrame(mgl64.Vec3{num("x"), num("y"), num("z")}, z, turn.Mul3x1(x))
	if err != nil {
		t.Fatal(err)
	}
	return f.Transform()
}

// Any socket cap screw is read back, wherever it stands: point on the top, axis
// out of the head, size as made.
func TestFindReadsCapScrewsAnywhere(t *testing.T) {
	sizes := []struct {
		size        string
		d, dk, k, s float64
	}{{"M2", 2, 3.8, 2, 1.5}, {"M3", 3, 5.5, 3, 2.5}, {"M4", 4, 7, 4, 3}, {"M6", 6, 10, 6, 5}, {"M12", 12, 18, 12, 10}}
	rapid.Check(t, func(t *rapid.T) {
		z := rapid.SampledFrom(sizes).Draw(t, "size")
		l := rapid.SampledFrom([]float64{6, 10, 16, 25}).Draw(t, "length")
		l = max(l, z.d)
		at := drawPlace(t)
		fs := Find(context.Background(), fastenertest.Assemble([]product.Part{fastenertest.Screw(z.d, l, fastenertest.Barrel(z.dk, z.k), fastenertest.HexPocket(z.s), 0.5*z.k)}, fastenertest.Placed{At: at}))
		if len(fs) != 1 || fs[0].Size != z.size || fs[0].Length != l {
			t.Fatalf("%s × %g: %+v", z.size, l, fs)
		}
		f := fs[0]
		if d := f.Point.Sub(at.Point(mgl64.Vec3{0, 0, z.k})).Len(); !(d < 1e-6) {
			t.Errorf("point is %g mm off", d)
		}
		if f.Axis.D.Dot(at.Dir(mgl64.Vec3{0, 0, 1})) < 1-1e-9 {
			t.Errorf("axis %v", f.Axis.D)
		}
		if math.Abs(f.Back+l+z.k) > 1e-6 || math.Abs(f.Front) > 1e-6 || math.Abs(f.RecessDepth-0.5*z.k) > 0.1*z.k {
			t.Errorf("back %g, front %g, recess %g", f.Back, f.Front, f.RecessDepth)
		}
	})
}

// Whatever a turned part looks like, moving it changes nothing but its place,
// and nothing panics.
func TestFindDoesNotCareWhereAPartStands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(t, "rings")
		rings := []fastenertest.Ring{fastenertest.Circle(0, 0)}
		z := 0.0
		for range n {
			r := rapid.Float64Range(0.3, 12).Draw(t, "r")
			rings = append(rings, fastenertest.Circle(z, r))
			z += rapid.Float64Range(0, 12).Draw(t, "dz")
			if rapid.Bool().Draw(t, "hex") {
				rings = append(rings, fastenertest.Polygon(z, 2*r, 6))
			} else {
				rings = append(rings, fastenertest.Circle(z, r))
			}
		}
		part := fastenertest.Turn("", append(rings, fastenertest.Circle(z, 0))...)
		here := Find(context.Background(), fastenertest.Alone(part))
		there := Find(context.Background(), fastenertest.Assemble([]product.Part{part}, fastenertest.Placed{At: drawPlace(t)}))
		if len(here) != len(there) {
			t.Fatalf("%d here, %d there", len(here), len(there))
		}
		for i := range here {
			a, b := here[i], there[i]
			if a.Kind != b.Kind || a.Size != b.Size || a.Drive != b.Drive || a.DriveSize != b.DriveSize || math.Abs(a.Length-b.Length) > 1e-9 {
				t.Fatalf("here %+v, there %+v", a, b)
			}
		}
	})
}

// A name alone makes nothing a fastener, and one that contradicts is told.
func TestNameAgainstShape(t *testing.T) {
	block := fastenertest.Turn("screw", fastenertest.Circle(0, 0), fastenertest.Polygon(0, 20, 4), fastenertest.Polygon(30, 20, 4), fastenertest.Circle(30, 0))
	if fs := Find(context.Background(), fastenertest.Alone(block)); len(fs) != 0 {
		t.Errorf("a block called screw is found as %+v", fs)
	}
	wrong := fastenertest.Screw(3, 12, fastenertest.Barrel(5.5, 3), fastenertest.HexPocket(2.5), 1.6)
	right := wrong
	wrong.Name, right.Name = "washer", "cap screw"
	a, b := Find(context.Background(), fastenertest.Alone(wrong)), Find(context.Background(), fastenertest.Alone(right))
	if len(a) != 1 || len(b) != 1 || a[0].Kind != Screw || !(a[0].Confidence < b[0].Confidence) {
		t.Fatalf("wrong name %+v, right name %+v", a, b)
	}
	if said := a[0].Evidence[len(a[0].Evidence)-1]; said != `the name says "washer", the shape says screw` || a[0].Conflict != said {
		t.Errorf("evidence ends with %q", said)
	}
}

// Thick rings are washers only where the name or a head says so, and beyond the
// thickest washers there are not even then.
func TestThickWasherNeedsAName(t *testing.T) {
	for _, c := range []struct {
		name   string
		height float64
		found  bool
	}{{"rondelle D5", 2, true}, {"rondelle D3", 3, true}, {"ring", 2, false}, {"rondelle", 4, false}} {
		ring := fastenertest.Tube(9, c.height, 3.4)
		ring.Name = c.name
		fs := Find(context.Background(), fastenertest.Alone(ring))
		if found := len(fs) == 1 && fs[0].Kind == Washer; found != c.found {
			t.Errorf("%q, 9 × %g mm: %+v", c.name, c.height, fs)
		}
	}
}
