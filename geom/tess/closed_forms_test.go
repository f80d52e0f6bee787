package tess

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mass"
	"stepscan/geom/surface"
)

// polyhedron has planar faces through the points, each listed anticlockwise seen
// from outside.
func polyhedron(m *maker, points []mgl64.Vec3, faces ...[]int) {
	var v []brep.VertexIndex
	for _, p := range points {
		v = append(v, m.vertex(p[0], p[1], p[2]))
	}
	edges := map[[2]int]int{}
	for _, f := range faces {
		var loop []int
		for k, a := range f {
			b := f[(k+1)%len(f)]
			if e, ok := edges[[2]int{b, a}]; ok {
				loop = append(loop, -e)
				continue
			}
			edges[[2]int{a, b}] = n(m.line(v[a], v[b]))
			loop = append(loop, edges[[2]int{a, b}])
		}
		p, q, r := points[f[0]], points[f[1]], points[f[2]]
		m.face(m.plane(p, q.Sub(p).Cross(r.Sub(q))), true, loop)
	}
}

func hexPrism(m *maker) {
	var p []mgl64.Vec3
	for _, z := range []float64{0, 4} {
		for i := range 6 {
			s, c := math.Sincos(math.Pi / 3 * float64(i))
			p = append(p, mgl64.Vec3{10 / math.Sqrt(3) * c, 10 / math.Sqrt(3) * s, z})
		}
	}
	faces := [][]int{{5, 4, 3, 2, 1, 0}, {6, 7, 8, 9, 10, 11}}
	for i := range 6 {
		j := (i + 1) % 6
		faces = append(faces, []int{i, j, j + 6, i + 6})
	}
	polyhedron(m, p, faces...)
}

// tetrahedron has the given corners, the last above the plane of the first three.
func tetrahedron(m *maker, p ...mgl64.Vec3) {
	polyhedron(m, p, []int{0, 2, 1}, []int{0, 1, 3}, []int{1, 2, 3}, []int{2, 0, 3})
}

func octahedron(m *maker) {
	a := 10 / math.Sqrt2
	polyhedron(m, []mgl64.Vec3{{a, 0, 0}, {0, a, 0}, {-a, 0, 0}, {0, -a, 0}, {0, 0, a}, {0, 0, -a}},
		[]int{0, 1, 4}, []int{1, 2, 4}, []int{2, 3, 4}, []int{3, 0, 4},
		[]int{1, 0, 5}, []int{2, 1, 5}, []int{3, 2, 5}, []int{0, 3, 5})
}

func pyramid(m *maker) {
	polyhedron(m, []mgl64.Vec3{{3, 3, 0}, {-3, 3, 0}, {-3, -3, 0}, {3, -3, 0}, {0, 0, 4}},
		[]int{3, 2, 1, 0}, []int{0, 1, 4}, []int{1, 2, 4}, []int{2, 3, 4}, []int{3, 0, 4})
}

// spheroid is half an ellipse turned about z: a across, c along.
func spheroid(m *maker, a, c float64) {
	f := m.frame(mgl64.Vec3{}, mgl64.Vec3{0, -1, 0}, mgl64.Vec3{0, 0, -1}) // from the lower pole over +x
	e, err := curve.NewEllipse(f, c, a)
	half, err2 := curve.NewTrimmed(must(m, e, err), 0, math.Pi)
	s, err3 := surface.NewRevolution(must(m, half, err2), geom.Axis{O: m.at.O, D: m.at.Z})
	m.face(must(m, s, err3), true)
}

// ellipsoid is a rational B-spline: a sphere of quarters, stretched.
func ellipsoid(m *maker, a, b, c float64) {
	h := math.Sqrt2 / 2
	round := [9][3]float64{{1, 0, 1}, {1, 1, h}, {0, 1, 1}, {-1, 1, h}, {-1, 0, 1}, {-1, -1, h}, {0, -1, 1}, {1, -1, h}, {1, 0, 1}}
	rise := [5][3]float64{{0, -1, 1}, {1, -1, h}, {1, 0, 1}, {1, 1, h}, {0, 1, 1}}
	var poles [][]mgl64.Vec3
	var weights [][]float64
	for _, u := range round {
		var row []mgl64.Vec3
		var w []float64
		for _, v := range rise {
			row = append(row, m.at.Point(mgl64.Vec3{a * u[0] * v[0], b * u[1] * v[0], c * v[1]}))
			w = append(w, u[2]*v[2])
		}
		poles, weights = append(poles, row), append(weights, w)
	}
	s, err := surface.NewBSpline(2, 2, poles, weights, []float64{0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4}, []float64{0, 0, 0, 1, 1, 2, 2, 2})
	m.face(must(m, s, err), true)
}

// lens is what two balls of radius 10 have in common, 12 apart.
func lens(m *maker) {
	e := m.circle(8, 0, 0)
	for _, z := range []float64{-6, 6} {
		s, err := surface.NewSphere(m.frame(mgl64.Vec3{0, 0, z}, up, mgl64.Vec3{1, 0, 0}), 10)
		if z < 0 {
			m.face(must(m, s, err), true, []int{n(e)})
		} else {
			m.face(must(m, s, err), true, []int{-n(e)})
		}
	}
}

// oblique is a cylinder cut off at z = 15 + x.
func oblique(m *maker) {
	lo := m.circle(5, 0, 0)
	v := m.vertex(5, 0, 20)
	f := m.frame(mgl64.Vec3{0, 0, 15}, mgl64.Vec3{-1, 0, 1}, mgl64.Vec3{1, 0, 1})
	k, err := curve.NewEllipse(f, 5*math.Sqrt2, 5)
	hi := m.edge(must(m, k, err), v, v, true)
	m.face(m.plane(mgl64.Vec3{}, down), true, []int{-n(lo)})
	m.face(m.plane(mgl64.Vec3{0, 0, 15}, mgl64.Vec3{-1, 0, 1}), true, []int{n(hi)})
	m.face(m.cylinder(5), true, []int{n(lo)}, []int{-n(hi)})
}

// blindHole is drilled 20 deep into a block of 30 with a point of 118 degrees.
func blindHole(m *maker) {
	cubeOf(m, mgl64.Vec3{-15, -15, 0}, mgl64.Vec3{15, 15, 30})
	hi, lo := m.circle(5, 30, 0), m.circle(5, 10, 0)
	m.b.Faces[1].Loops = append(m.b.Faces[1].Loops, brep.Loop{Vertex: brep.NoVertex, Coedges: []brep.Coedge{{Edge: hi, Reversed: true}}})
	m.face(m.cylinder(5), false, []int{n(hi)}, []int{-n(lo)})
	s, err := surface.NewCone(m.frame(mgl64.Vec3{0, 0, 10}, up, mgl64.Vec3{1, 0, 0}), 5, 59*math.Pi/180)
	m.face(must(m, s, err), false, []int{n(lo)})
}

// crossing is what two rods of radius 5 along x and y have in common: four
// faces between four half ellipses from the lower point to the upper one.
func crossing(m *maker) {
	top, bottom := m.vertex(0, 0, 5), m.vertex(0, 0, -5)
	var e [4]int // over (5,5), (-5,5), (-5,-5), (5,-5)
	for i := range e {
		s, c := math.Sincos(math.Pi/4 + math.Pi/2*float64(i))
		out := mgl64.Vec3{c, s, 0}
		k, err := curve.NewEllipse(m.frame(mgl64.Vec3{}, out.Cross(up), out), 5*math.Sqrt2, 5)
		e[i] = n(m.edge(must(m, k, err), bottom, top, true))
	}
	for i := range 4 {
		d := []mgl64.Vec3{{1, 0, 0}, {0, 1, 0}}[i%2]
		s, err := surface.NewCylinder(m.frame(mgl64.Vec3{}, d, mgl64.Vec3{}), 5)
		m.face(must(m, s, err), true, []int{-e[i], e[(i+1)%4]}) // anticlockwise seen from outside: up the right edge is the next one's
	}
}

// hollow is a ball of 10 with a ball of 6 taken out of its middle.
func hollow(m *maker) {
	m.face(m.sphere(10), true)
	m.face(m.sphere(6), false)
	m.b.Shells = []brep.Shell{{Faces: []brep.FaceIndex{0}, Closed: true}, {Faces: []brep.FaceIndex{1}, Closed: true, Void: true}}
}

// tableSolids are those of the reference table by the names there, with the
// centroid where that is more than the origin, in the maker's coordinates.
var tableSolids = map[string]struct {
	make   func(m *maker)
	centre mgl64.Vec3
}{
	"box":                                {cube, mgl64.Vec3{5, 10, 15}},
	"cylinder":                           {func(m *maker) { cylinder(m, true, 0) }, mgl64.Vec3{0, 0, 10}},
	"cone":                               {func(m *maker) { cone(m, "vertex loop") }, mgl64.Vec3{0, 0, 3}},
	"frustum":                            {frustum, mgl64.Vec3{0, 0, 3.142857143}},
	"sphere":                             {func(m *maker) { m.face(m.sphere(10), true) }, mgl64.Vec3{}},
	"spherical cap (closed by its disc)": {func(m *maker) { capOf(m, 4) }, mgl64.Vec3{0, 0, 7.384615385}},
	"spherical segment (two parallel planes, closed)": {segment, mgl64.Vec3{0, 0, 1.764705882}},
	"torus":                                  {func(m *maker) { m.face(m.torus(20, 5), true) }, mgl64.Vec3{}},
	"quarter torus (closed by two discs)":    {quarterTorus, mgl64.Vec3{18.287675172 / math.Sqrt2, 18.287675172 / math.Sqrt2, 0}},
	"spindle-free torus, ring r = 2, R = 10": {func(m *maker) { m.face(m.torus(10, 2), true) }, mgl64.Vec3{}},
	"tube":                                   {tube, mgl64.Vec3{0, 0, 25}},
	"regular tetrahedron": {func(m *maker) {
		s, h := 10/math.Sqrt(3), 10*math.Sqrt(2./3)
		tetrahedron(m, mgl64.Vec3{s, 0, 0}, mgl64.Vec3{-s / 2, 5, 0}, mgl64.Vec3{-s / 2, -5, 0}, mgl64.Vec3{0, 0, h})
	}, mgl64.Vec3{0, 0, 2.041241452}},
	"corner tetrahedron": {func(m *maker) {
		tetrahedron(m, mgl64.Vec3{}, mgl64.Vec3{6, 0, 0}, mgl64.Vec3{0, 8, 0}, mgl64.Vec3{0, 0, 10})
	}, mgl64.Vec3{1.5, 2, 2.5}},
	"regular octahedron":                    {octahedron, mgl64.Vec3{}},
	"hexagonal prism (across flats)":        {hexPrism, mgl64.Vec3{0, 0, 2}},
	"square pyramid":                        {pyramid, mgl64.Vec3{0, 0, 1}},
	"two crossing cylinders, common part":   {crossing, mgl64.Vec3{}},
	"ellipsoid":                             {func(m *maker) { ellipsoid(m, 3, 4, 5) }, mgl64.Vec3{}},
	"prolate spheroid":                      {func(m *maker) { spheroid(m, 5, 10) }, mgl64.Vec3{}},
	"oblate spheroid":                       {func(m *maker) { spheroid(m, 10, 5) }, mgl64.Vec3{}},
	"plate with through hole":               {drilled, mgl64.Vec3{0, 0, 2.5}},
	"half sphere":                           {func(m *maker) { capOf(m, 10) }, mgl64.Vec3{0, 0, 3.75}},
	"lens (two equal spheres, common part)": {lens, mgl64.Vec3{}},
	// Less the hole's moments: a cylinder with its middle at 20, and a cone of
	// h = 3.004303095 upside down under 10, its centroid a quarter down.
	"blind hole with 118 deg tip in a block":                          {blindHole, mgl64.Vec3{0, 0, blindCentre}},
	"right circular cylinder cut obliquely (hoof-free, full ellipse)": {oblique, mgl64.Vec3{5. / 12, 0, 7.708333333}},
}

var blindCentre = func() float64 {
	h := 5 / math.Tan(59*math.Pi/180)
	rod, tip := math.Pi*25*20, math.Pi*25*h/3
	return (27000*15 - rod*20 - tip*(10-h/4)) / (27000 - rod - tip)
}()

// exactWithin is what the exact integrals may be off by at the default chord, as
// a share.
const exactWithin = 5e-5

// TestReferenceTableOfSolids goes through every row of the reference table:
// volume, area and centroid over the exact surface.
func TestReferenceTableOfSolids(t *testing.T) {
	rows := referenceRows(t, "geometry_checks.csv")
	for _, row := range rows {
		s, ok := tableSolids[row[0]]
		if !ok {
			t.Errorf("row %q is not checked", row[0])
			continue
		}
		t.Run(row[0], func(t *testing.T) {
			volume, area, tol := number(t, row[2]), number(t, row[3]), exactWithin
			b, m := meshOf(t, solid{name: row[0], make: s.make}, geom.World(), Default)
			got := mass.Of(b, m)
			if !(math.Abs(got.Volume-volume) <= tol*volume) {
				t.Errorf("volume %.10g mm³, want %.10g", got.Volume, volume)
			}
			if !(math.Abs(got.Area-area) <= tol*area) {
				t.Errorf("area %.10g mm², want %.10g", got.Area, area)
			}
			size := m.Box().Diagonal()
			if c, ok := got.Centroid(); !ok || !(c.Sub(s.centre).Len() <= tol*size) {
				t.Errorf("centroid %v, want %v", c, s.centre)
			}
			t.Logf("volume off by %.2g, area by %.2g of it", got.Volume/volume-1, got.Area/area-1)
		})
	}
	if len(rows) != len(tableSolids) {
		t.Errorf("%d rows in the table, %d solids here", len(rows), len(tableSolids))
	}
}

func referenceRows(t *testing.T, name string) [][]string {
	t.Helper()
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	file, err := os.Open(filepath.Join(shared, "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 5 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Moments of inertia about the axes through the centroid, for a density of 1:
// closed forms as in Bronshtein & Semendyayev, Handbook of Mathematics, and
// Weisstein's CRC Encyclopedia of Mathematics (from memory), each with the
// volume V taken out.
func TestInertiaAgainstClosedForms(t *testing.T) {
	sq := func(x float64) float64 { return x * x }
	round := func(about, across float64) mgl64.Vec3 { return mgl64.Vec3{across, across, about} }
	for name, c := range map[string]struct {
		make func(m *maker)
		want mgl64.Vec3 // I/V about x, y, z
	}{
		"box a b c: (b²+c²)/12":                    {cube, mgl64.Vec3{(400 + 900) / 12., (100 + 900) / 12., (100 + 400) / 12.}},
		"cylinder: r²/2, (3r²+h²)/12":              {func(m *maker) { cylinder(m, true, 0) }, round(25/2., (75+400)/12.)},
		"tube: (R²+r²)/2, (3(R²+r²)+h²)/12":        {tube, round((100+64)/2., (3*(100+64)+2500)/12.)},
		"cone: 3r²/10, 3(4r²+h²)/80":               {func(m *maker) { cone(m, "bare") }, round(3*25/10., 3*(100+144)/80.)},
		"sphere: 2r²/5":                            {func(m *maker) { m.face(m.sphere(10), true) }, round(40, 40)},
		"half sphere: 2r²/5, 83r²/320":             {func(m *maker) { capOf(m, 10) }, round(40, 83*100/320.)},
		"hollow sphere: 2(R⁵-r⁵)/5(R³-r³)":         {hollow, round(0.4*(1e5-7776)/(1000-216), 0.4*(1e5-7776)/(1000-216))},
		"torus: R²+3r²/4, R²/2+5r²/8":              {func(m *maker) { m.face(m.torus(20, 5), true) }, round(400+75/4., 200+125/8.)},
		"ellipsoid: (b²+c²)/5":                     {func(m *maker) { ellipsoid(m, 3, 4, 5) }, mgl64.Vec3{(16 + 25) / 5., (9 + 25) / 5., (9 + 16) / 5.}},
		"oblate spheroid: 2a²/5, (a²+c²)/5":        {func(m *maker) { spheroid(m, 10, 5) }, round(40, 25)},
		"octahedron: a²/10":                        {octahedron, mgl64.Vec3{10, 10, 10}},
		"square pyramid: a²/10, (a²+3h²/4)/20":     {pyramid, round(3.6, (36+0.75*16)/20.)},
		"frustum: 3(R⁵-r⁵)/10(R³-r³), by slices":   {frustum, round(0.3*(7776-243)/(216-27), frustumAcross(6, 3, 8))},
		"hexagonal prism: 5s²/36, 5s²/72+h²/12":    {hexPrism, round(5*sq(10)/36, 5*sq(10)/72+16/12.)},
		"plate with a hole: rectangle less circle": {drilled, drilledInertia()},
	} {
		b, m := meshOf(t, solid{name: name, make: c.make}, geom.World(), Default)
		p := mass.Of(b, m)
		for i := range 3 {
			for j := range 3 {
				want := 0.0
				if i == j {
					want = c.want[i] * p.Volume
				}
				if d := p.Inertia.At(i, j) - want; !(math.Abs(d) <= 2*exactWithin*c.want.Len()*p.Volume) {
					t.Errorf("%s: inertia %d%d is %.9g mm⁵, want %.9g", name, i, j, p.Inertia.At(i, j), want)
				}
			}
		}
	}
}

// frustumAcross is the moment about a diameter through the centroid over the
// volume: ∫ (ρ²/4 + z²) ρ² dz / ∫ ρ² dz - c², by Simpson's rule, which is exact
// for the cubic pieces of each of 1000 slices to far below the tolerance.
func frustumAcross(r0, r1, h float64) float64 {
	simpson := func(f func(z float64) float64) float64 {
		const n = 1000
		s := f(0) + f(h)
		for i := 1; i < n; i++ {
			s += f(h*float64(i)/n) * float64(2+2*(i%2))
		}
		return s * h / (3 * n)
	}
	rho2 := func(z float64) float64 { r := r0 + (r1-r0)*z/h; return r * r }
	v := simpson(rho2)
	c := simpson(func(z float64) float64 { return z * rho2(z) }) / v
	return simpson(func(z float64) float64 { return (rho2(z)/4 + z*z) * rho2(z) })/v - c*c
}

// drilledInertia is that of 40 x 30 x 5 less a cylinder of radius 4 through its
// middle, over the volume.
func drilledInertia() mgl64.Vec3 {
	plate, hole := 6000., math.Pi*16*5
	x := plate*(900+25)/12 - hole*(48+25)/12
	y := plate*(1600+25)/12 - hole*(48+25)/12
	z := plate*(1600+900)/12 - hole*16/2
	return mgl64.Vec3{x, y, z}.Mul(1 / (plate - hole))
}

// Placed as a body, or placed as figures: the same volume, moment and inertia.
// Far from the origin no digits are lost, since the tensor is about the
// centroid; and its principal moments do not depend on the place at all.
func TestInertiaFollowsPlacement(t *testing.T) {
	makes := map[string]func(m *maker){"box": cube, "frustum": frustum, "quarter torus": quarterTorus, "ellipsoid": func(m *maker) { ellipsoid(m, 3, 4, 5) }}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"box", "frustum", "quarter torus", "ellipsoid"}).Draw(t, "solid")
		s := solid{name: name, make: makes[name]}
		c := func(what string) float64 { return rapid.Float64Range(-1, 1).Draw(t, what) }
		f, err := geom.NewFrame(mgl64.Vec3{1e4 * c("x"), 1e4 * c("y"), 1e4 * c("z")}, mgl64.Vec3{c("a"), c("b"), c("c") + 1e-3}, mgl64.Vec3{c("d"), 1, c("e")})
		if err != nil {
			t.Skip()
		}
		here, m := meshOf(t, s, geom.World(), Default)
		there, moved := meshOf(t, s, f, Default)
		want, got := mass.Of(here, m).Transformed(f.Transform()), mass.Of(there, moved)
		size := want.Inertia.Trace()
		if d := got.Inertia.Sub(want.Inertia); !(norm(d) <= 2*exactWithin*size) {
			t.Fatalf("%s: inertia %v, want %v", name, got.Inertia, want.Inertia)
		}
		if d := got.Volume - want.Volume; !(math.Abs(d) <= exactWithin*want.Volume) {
			t.Fatalf("%s: volume %g, want %g", name, got.Volume, want.Volume)
		}
		p, _ := got.Principal()
		q, axes := mass.Of(here, m).Principal()
		if d := p.Sub(q).Len(); !(d <= 2*exactWithin*size) {
			t.Fatalf("%s: principal moments %v, want %v", name, p, q)
		}
		// Principal axes are those about which the tensor is diagonal.
		in := mass.Of(here, m).Inertia
		for i, a := range axes {
			if d := in.Mul3x1(a).Sub(a.Mul(q[i])).Len(); !(d <= 1e-12*size) {
				t.Fatalf("%s: axis %v turns by %g", name, a, d)
			}
		}
	})
}

func norm(m mgl64.Mat3) float64 {
	s := 0.0
	for _, x := range m {
		s += x * x
	}
	return math.Sqrt(s)
}

// The edges of a frustum, of a chamfer of 45 degrees and of a round that runs
// out tangentially, by their closed-form turns, in any place.
func TestTurnsOfChamfersAndRounds(t *testing.T) {
	// A block of 10 whose edge at +x +y is taken off: by a chamfer of 2, or by a
	// round of radius 2.
	block := func(round bool) func(m *maker) {
		return func(m *maker) {
			xy := [][2]float64{{0, 0}, {10, 0}, {10, 8}, {8, 10}, {0, 10}}
			var lo, hi []brep.VertexIndex
			for _, p := range xy {
				lo, hi = append(lo, m.vertex(p[0], p[1], 0)), append(hi, m.vertex(p[0], p[1], 10))
			}
			side := func(v []brep.VertexIndex, z float64) []int {
				var out []int
				for i := range v {
					j := (i + 1) % len(v)
					if round && i == 2 {
						k, err := curve.NewCircle(m.frame(mgl64.Vec3{8, 8, z}, up, mgl64.Vec3{1, 0, 0}), 2)
						out = append(out, n(m.edge(must(m, k, err), v[i], v[j], true)))
						continue
					}
					out = append(out, n(m.line(v[i], v[j])))
				}
				return out
			}
			a, b := side(lo, 0), side(hi, 10)
			var post []int
			for i := range lo {
				post = append(post, n(m.line(lo[i], hi[i])))
			}
			var back []int
			for i := len(a) - 1; i >= 0; i-- {
				back = append(back, -a[i])
			}
			m.face(m.plane(mgl64.Vec3{}, down), true, back)
			m.face(m.plane(mgl64.Vec3{0, 0, 10}, up), true, b)
			for i := range xy {
				j := (i + 1) % len(xy)
				loop := []int{a[i], post[j], -b[i], -post[i]}
				p, q := xy[i], xy[j]
				if round && i == 2 {
					s, err := surface.NewCylinder(m.frame(mgl64.Vec3{8, 8, 0}, up, mgl64.Vec3{1, 0, 0}), 2)
					m.face(must(m, s, err), true, loop)
					continue
				}
				m.face(m.plane(mgl64.Vec3{p[0], p[1], 0}, mgl64.Vec3{q[1] - p[1], p[0] - q[0], 0}), true, loop)
			}
		}
	}
	a := math.Atan2(3, 8)
	for name, c := range map[string]struct {
		make func(m *maker)
		want map[float64]int // turns and how many edges have them, all convex
	}{
		"chamfer": {block(false), map[float64]int{math.Pi / 2: 13, math.Pi / 4: 2}},
		"round":   {block(true), map[float64]int{math.Pi / 2: 13, 0: 2}},
		"frustum": {frustum, map[float64]int{math.Pi/2 + a: 1, math.Pi/2 - a: 1}},
		// Opposite faces of an octahedron's edge meet at acos(-1/3).
		"octahedron": {octahedron, map[float64]int{math.Pi - math.Acos(-1./3): 12}},
		"lens":       {lens, map[float64]int{2 * math.Asin(0.6): 1}},
	} {
		f, err := geom.NewFrame(mgl64.Vec3{100, -30, 7}, mgl64.Vec3{1, 2, 3}, mgl64.Vec3{1, 0, 0})
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range []geom.Frame{geom.World(), f} {
			_, m := meshOf(t, solid{name: name, make: c.make}, at, Default)
			left := 0
			for turn, n := range c.want {
				left += n
				for _, e := range m.Edges {
					if math.Abs(e.Turn-turn) < 1e-7 && (e.Convex || turn == 0) {
						n--
					}
				}
				if n != 0 {
					t.Errorf("%s: %d edges too few turn by %g rad", name, n, turn)
				}
			}
			if len(m.Edges) != left {
				t.Errorf("%s: %d edges, want %d", name, len(m.Edges), left)
			}
		}
	}
}

// The sign of the mesh's error in volume: facets cut convex bodies short, so that
// their volume comes from below as the mesh gets finer; and they cut a hole short
// too, so that what surrounds one comes from above.
func TestSignOfTheError(t *testing.T) {
	for name, c := range map[string]struct {
		make   func(m *maker)
		volume float64
		sign   float64
	}{
		"cylinder":  {func(m *maker) { cylinder(m, true, 0) }, 500 * math.Pi, -1},
		"sphere":    {func(m *maker) { m.face(m.sphere(10), true) }, 4000 * math.Pi / 3, -1},
		"ellipsoid": {func(m *maker) { ellipsoid(m, 3, 4, 5) }, 80 * math.Pi, -1},
		"lens":      {lens, math.Pi * 52 * 64 / 12, -1},
		"hole":      {drilled, 6000 - 80*math.Pi, 1},
	} {
		last := math.Inf(1)
		for _, chord := range []float64{0.4, 0.1, 0.025, 0.006} {
			_, m := meshOf(t, solid{name: name, make: c.make}, geom.World(), geom.Tolerance{Chord: chord, Angle: 1})
			off := c.sign * (m.Volume() - c.volume)
			if !(off > 0 && off < last) {
				t.Errorf("%s, chord %g: volume off by %g mm³, %g before", name, chord, c.sign*off, c.sign*last)
			}
			last = off
		}
	}
}
