package view

import (
	"math"
	"reflect"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/bvh"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

func item(m *mesh.Mesh) Item {
	return Item{Lines: mesh.NewLines(m), Tree: bvh.Build(m), Place: geom.Identity(), Style: Full}
}

// scene looks along dir at the items, fitted to a page of 100 by 100 mm.
func scene(dir, up mgl64.Vec3, items ...Item) Scene {
	var pts []mgl64.Vec3
	for _, it := range items {
		c := it.Lines.Box().Transformed(it.Place).Corners()
		pts = append(pts, c[:]...)
	}
	return Scene{Camera: NewCamera(dir, up).Fit(pts, Rect{0, 0, 100, 100}), Items: items}
}

func ink(d *Drawing, kinds ...Kind) float64 {
	s := 0.0
	for _, l := range d.Layers {
		for _, k := range kinds {
			if l.Kind == k {
				for _, p := range l.Paths {
					s += pathLength(p)
				}
			}
		}
	}
	return s / d.Camera.Scale
}

var (
	iso = mgl64.Vec3{1, -1, 1}
	up  = mgl64.Vec3{0, 0, 1}
	// shortened is what an isometric view leaves of lengths along the axes.
	shortened = math.Sqrt(2.0 / 3.0)
)

func TestVisibleLengths(t *testing.T) {
	cube := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{10, 10, 10})
	plate := shape.Box(mgl64.Vec3{-5, -5, 20}, mgl64.Vec3{5, 15, 21})
	cyl := shape.Cylinder(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, 5, 20, 96)
	moved := item(cube)
	moved.Place = geom.Transform{M: mgl64.Rotate3DZ(0.3), T: mgl64.Vec3{4000, -300, 70}}
	mirrored := item(cube)
	mirrored.Place.M = mgl64.Diag3(mgl64.Vec3{-1, 1, 1})
	for name, c := range map[string]struct {
		s              Scene
		contour, inner float64
	}{
		"cube, three faces, nine edges":     {scene(iso, up, item(cube)), 60 * shortened, 30 * shortened},
		"mirrored cube seen from the other": {scene(mgl64.Vec3{-1, -1, 1}, up, mirrored), 60 * shortened, 30 * shortened},
		"cube straight on: no line twice":   {scene(mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0}, item(cube)), 40, 0},
		"cube far away and turned":          {scene(mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0}, moved), 40, 0},
		// From above the plate covers the half x < 5 of the cube: of its top
		// 5 + 10 + 5 stay visible beside the plate's own 60, and the
		// cube's edge at y=0 and y=10 ends under the plate.
		"plate hides half": {scene(mgl64.Vec3{0, 0, 1}, mgl64.Vec3{0, 1, 0}, item(cube), item(plate)), 80, 0},
		// From the side a cylinder shows two sides, and both rims as lines.
		"cylinder from the side": {scene(mgl64.Vec3{0, -1, 0}, up, item(cyl)), 2*20 + 2*10, 0},
	} {
		t.Run(name, func(t *testing.T) {
			d := Draw(c.s)
			if got := ink(d, Contour); math.Abs(got-c.contour) > 1e-3*c.contour {
				t.Errorf("outline %.4f mm, want %.4f", got, c.contour)
			}
			if got := ink(d, Edge); math.Abs(got-c.inner) > 1e-3*max(1, c.inner) {
				t.Errorf("inner edges %.4f mm, want %.4f", got, c.inner)
			}
		})
	}
}

// A cylinder seen from above at 45 degrees: the whole upper rim, the nearer
// half of the lower one and two sides.
func TestCylinderSilhouette(t *testing.T) {
	const r, h = 5, 20
	cyl := shape.Cylinder(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, r, h, 720)
	d := Draw(scene(mgl64.Vec3{0, -1, 1}, up, item(cyl)))
	ellipse := 0.0 // circumference of the rim as seen, by summing chords
	for i := range 7200 {
		a := 2 * math.Pi * float64(i) / 7200
		ellipse += math.Hypot(r*math.Sin(a), r*math.Cos(a)*math.Sqrt2/2) * 2 * math.Pi / 7200
	}
	want := ellipse*1.5 + 2*h*math.Sqrt2/2
	// Where a side runs into a rim both lie on one line for a moment, which
	// counts once.
	if got := ink(d, Contour, Edge); math.Abs(got-want) > 4e-3*want {
		t.Errorf("%.4f mm of line, want %.4f", got, want)
	}
	// No line of the hidden half of the lower rim is left: nothing stands
	// above the lower rim's centre line between the sides but the upper rim.
	low, _ := d.Camera.Page(mgl64.Vec3{0, 0, 0})
	high, _ := d.Camera.Page(mgl64.Vec3{0, 0, h})
	for _, l := range d.Layers {
		for _, p := range l.Paths {
			for _, q := range p {
				if q.Y < low.Y-1 && q.Y > high.Y+0.8*r*d.Camera.Scale && math.Abs(q.X-low.X) < 0.9*r*d.Camera.Scale {
					t.Fatalf("a hidden line shows at %v", q)
				}
			}
		}
	}
}

func TestCutOpen(t *testing.T) {
	// A box of 10 with a round bore of 6 along z, cut through the axis and
	// seen along -y: two faces of 2 by 10, and behind them the bore.
	m := shape.Plate(mgl64.Vec3{-5, -5, 0}, mgl64.Vec3{5, 5, 10}, shape.Circle(0, 0, 3, 48))
	inside := item(shape.Box(mgl64.Vec3{-2, -4.5, 2}, mgl64.Vec3{2, -4, 4})) // in front: taken away
	s := scene(mgl64.Vec3{0, -1, 0}, up, item(m), inside)
	s.Cut = &mgl64.Vec3{0, 0, 0}
	d := Draw(s)
	if len(d.Faces) != 1 {
		t.Fatalf("%d cut faces, want 1", len(d.Faces))
	}
	f, k := d.Faces[0], d.Camera.Scale
	if got := math.Abs(signed(f.Loops)) / (k * k); math.Abs(got-40) > 1e-6 {
		t.Errorf("cut face of %g mm², want 40", got)
	}
	// Hatch at 45 degrees of spacing s covers an area A with length A/s.
	got, want := 0.0, 40*k*k/f.Spacing
	for _, h := range f.Hatch {
		got += pathLength(h)
		m := Point{(h[0].X + h[1].X) / 2, (h[0].Y + h[1].Y) / 2}
		if p := (m.X - d.Camera.At.X) / k; math.Abs(p) < 3 || math.Abs(p) > 5 {
			t.Fatalf("hatch at %v, x = %g mm, outside the cut face", m, p)
		}
	}
	if math.Abs(got-want) > 0.05*want {
		t.Errorf("%.1f mm of hatch, want about %.1f", got, want)
	}
	// Two rectangles of 2 by 10; the bore's rims lie on their ends' lines.
	if got := ink(d, CutEdge); math.Abs(got-48) > 1e-3 {
		t.Errorf("border of the cut faces %.4f mm, want 48", got)
	}
	if got := ink(d, Contour, Edge); math.Abs(got-12) > 1e-2 {
		t.Errorf("behind the cut %.4f mm, want 12: the two rims of the bore", got)
	}
}

func signed(loops [][]Point) float64 {
	s := 0.0
	for _, l := range loops {
		for i := range l {
			a, b := l[i], l[(i+1)%len(l)]
			s += (a.X*b.Y - a.Y*b.X) / 2
		}
	}
	return s
}

// A whole pin in the bore is not cut: it covers the bore and the hatch stays
// beside it.
func TestWholeItemInCut(t *testing.T) {
	m := shape.Box(mgl64.Vec3{-5, -5, 0}, mgl64.Vec3{5, 5, 10})
	pin := item(shape.Cylinder(geom.Axis{O: mgl64.Vec3{0, 0, 5}, D: mgl64.Vec3{0, 0, 1}}, 2, 15, 48))
	pin.Whole, pin.Group = true, 1
	s := scene(mgl64.Vec3{0, -1, 0}, up, item(m), pin)
	s.Cut = &mgl64.Vec3{0, 0, 0}
	d := Draw(s)
	if len(d.Masks) != 1 || len(d.Faces) != 1 {
		t.Fatalf("%d masks and %d faces, want one each", len(d.Masks), len(d.Faces))
	}
	k := d.Camera.Scale
	if got := math.Abs(signed(d.Masks[0].Loops)) / (k * k); math.Abs(got-60) > 1e-6 {
		t.Errorf("mask of %g mm², want 4 × 15", got)
	}
	for _, h := range d.Faces[0].Hatch {
		m := Point{(h[0].X + h[1].X) / 2, (h[0].Y + h[1].Y) / 2}
		top, _ := d.Camera.Page(mgl64.Vec3{0, 0, 5})
		if math.Abs(m.X-top.X) < 2*k-0.01 && m.Y < top.Y-0.01 {
			t.Fatalf("hatch at %v runs over the pin", m)
		}
	}
}

func TestDrawIsDeterministic(t *testing.T) {
	a := item(shape.Torus(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, 10, 3, 40, 20))
	b := item(shape.Plate(mgl64.Vec3{-8, -8, -1}, mgl64.Vec3{8, 8, 1}, shape.Circle(0, 0, 3, 48)))
	b.Group = 1
	s := scene(mgl64.Vec3{1, -2, 1.5}, up, a, b)
	s.Workers = 1
	one := Draw(s)
	for range 3 {
		s.Workers = 4
		if got := Draw(s); !reflect.DeepEqual(one, got) {
			t.Fatal("four workers draw something else than one")
		}
	}
}

func TestOddScenes(t *testing.T) {
	bad := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{1, 1, 1})
	bad.Vertices[3][1] = math.NaN()
	outOfRange := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{1, 1, 1})
	outOfRange.Triangles[0][1] = 99
	flatMesh := shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{1, 1, 1})
	for i := range flatMesh.Vertices {
		flatMesh.Vertices[i][2] = 0
	}
	zero := item(shape.Box(mgl64.Vec3{0, 0, 0}, mgl64.Vec3{1, 1, 1}))
	zero.Place = geom.Transform{} // determinant 0
	for name, s := range map[string]Scene{
		"empty":             {},
		"no items":          scene(iso, up),
		"not a number":      scene(iso, up, item(bad)),
		"index too large":   scene(iso, up, item(outOfRange)),
		"flat":              scene(iso, up, item(flatMesh)),
		"placement to zero": scene(iso, up, zero),
		"no mesh":           scene(iso, up, Item{Lines: mesh.NewLines(nil), Style: Full}),
		"no direction":      scene(mgl64.Vec3{}, mgl64.Vec3{}, item(flatMesh)),
	} {
		t.Run(name, func(t *testing.T) {
			for _, l := range Draw(s).Layers {
				for _, p := range l.Paths {
					if !finiteLoop(p) {
						t.Fatalf("a line with %v", p)
					}
				}
			}
		})
	}
}

func BenchmarkDraw(b *testing.B) {
	var items []Item
	m := shape.Torus(geom.Axis{D: mgl64.Vec3{0, 0, 1}}, 10, 3, 80, 40)
	l, tr := mesh.NewLines(m), bvh.Build(m)
	for i := range 100 {
		items = append(items, Item{Lines: l, Tree: tr, Style: Full,
			Place: geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{float64(i%10) * 30, float64(i/10) * 30, 0}}})
	}
	s := scene(iso, up, items...)
	b.ReportAllocs()
	for b.Loop() {
		Draw(s)
	}
}
