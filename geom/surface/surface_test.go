package surface

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/curve"
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// tilted is a frame in general position.
func tilted() geom.Frame {
	return must(geom.NewFrame(mgl64.Vec3{3, -7, 11}, mgl64.Vec3{1, 2, -2}, mgl64.Vec3{0.3, 1, 0.1}))
}

// sheet is a wavy open B-spline surface, cubic by quadratic.
func sheet(rational bool) BSpline {
	var poles [][]mgl64.Vec3
	var weights [][]float64
	for i := range 7 {
		var row []mgl64.Vec3
		var w []float64
		for j := range 5 {
			x, y := float64(i), float64(j)
			row = append(row, mgl64.Vec3{5 * x, 6*y + 0.4*x, 3 * math.Sin(x+0.7*y)})
			w = append(w, 1+0.4*math.Cos(x*y))
		}
		poles, weights = append(poles, row), append(weights, w)
	}
	if !rational {
		weights = nil
	}
	return must(NewBSpline(3, 2, poles, weights,
		[]float64{0, 0, 0, 0, 1, 1.5, 4, 5, 5, 5, 5}, []float64{-1, -1, -1, 0, 0.5, 2, 2, 2}))
}

// turned writes a profile (radius, height, weight) of degree p turned about
// the frame's z as a rational B-spline of degree 2 in u.
func turned(f geom.Frame, profile [][3]float64, p int, knots []float64) BSpline {
	at := [][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}, {1, 0}}
	var poles [][]mgl64.Vec3
	var weights [][]float64
	for i, a := range at {
		var row []mgl64.Vec3
		var w []float64
		for _, q := range profile {
			row = append(row, f.Point(mgl64.Vec3{q[0] * a[0], q[0] * a[1], q[1]}))
			w = append(w, q[2]*[]float64{1, math.Sqrt2 / 2}[i%2])
		}
		poles, weights = append(poles, row), append(weights, w)
	}
	return must(NewBSpline(2, p, poles, weights, []float64{0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4}, knots))
}

var straight = []float64{0, 0, 1, 1} // knots of one straight piece

// halfCircle is a profile of radius r about (x, 0), from below to above,
// bulging outward.
func halfCircle(x, r float64) ([][3]float64, int, []float64) {
	w := math.Sqrt2 / 2
	return [][3]float64{{x, -r, 1}, {x + r, -r, w}, {x + r, 0, 1}, {x + r, r, w}, {x, r, 1}}, 2,
		[]float64{0, 0, 0, 1, 1, 2, 2, 2}
}

func splineCylinder() BSpline {
	return turned(tilted(), [][3]float64{{8, -5, 1}, {8, 20, 1}}, 1, straight)
}

func splineSphere() BSpline {
	p, d, k := halfCircle(0, 9)
	return turned(tilted(), p, d, k)
}

// moved carries a surface of poles along.
func moved(s BSpline, m geom.Transform) BSpline {
	var poles [][]mgl64.Vec3
	for _, r := range s.Poles() {
		var row []mgl64.Vec3
		for _, p := range r {
			row = append(row, m.Point(p))
		}
		poles = append(poles, row)
	}
	p, q := s.Degrees()
	u, v := s.Knots()
	return must(NewBSpline(p, q, poles, s.Weights(), u, v))
}

func zoo() map[string]Surface { return zooAt(geom.Identity()) }

// zooAt is the zoo after a rigid motion.
func zooAt(m geom.Transform) map[string]Surface {
	f := tilted()
	f = must(geom.NewFrame(m.Point(f.O), m.Dir(f.Z), m.Dir(f.X)))
	sheet := func(rational bool) BSpline { return moved(sheet(rational), m) }
	axis := geom.Axis{O: f.O, D: f.Z}
	side := must(geom.NewFrame(f.Point(mgl64.Vec3{20, 0, 4}), f.Y, f.X)) // a plane through the axis
	circle := must(curve.NewCircle(side, 6))
	skew := must(curve.NewLine(f.Point(mgl64.Vec3{10, 0, 0}), f.Dir(mgl64.Vec3{0, 1, 1})))
	slope := must(curve.NewLine(f.Point(mgl64.Vec3{10, 0, 0}), f.Dir(mgl64.Vec3{0.4, 0, 1})))
	wave := must(curve.NewBSpline(3, []mgl64.Vec3{f.Point(mgl64.Vec3{4, 1, 0}), f.Point(mgl64.Vec3{9, 2, 3}),
		f.Point(mgl64.Vec3{6, 4, 8}), f.Point(mgl64.Vec3{12, 0, 12}), f.Point(mgl64.Vec3{8, 3, 15})}, nil,
		[]float64{0, 0, 0, 0, 1, 2, 2, 2, 2}, false))
	dome := must(curve.NewBSpline(2, []mgl64.Vec3{f.Point(mgl64.Vec3{9, 0, 0}), f.Point(mgl64.Vec3{9, 0, 7}),
		f.Point(mgl64.Vec3{0, 0, 7})}, nil, []float64{0, 0, 0, 1, 1, 1}, false))
	sph := must(NewSphere(f, 9))
	p, d, k := halfCircle(30, 5)
	cyl := must(NewCylinder(f, 8))
	half := must(NewRevolution(wave, axis))
	// A cylinder from height 0 to 6 and a sphere on top of it, and a quarter of each.
	cap := must(NewSphere(must(geom.NewFrame(f.Point(mgl64.Vec3{0, 0, 6}), f.Z, f.X)), 8))
	patches := func(u0, u1 float64) []Patch {
		return []Patch{{cyl, u0, u1, 0, 6}, {cap, u0, u1, 0, 1.2}}
	}
	return map[string]Surface{
		"patches":        must(NewPatchwork([][]Patch{patches(0, 2), patches(2, 2*math.Pi)})),
		"openpatches":    must(NewPatchwork([][]Patch{patches(0, 1), patches(1, 2.5)})),
		"backpatches":    must(NewPatchwork([][]Patch{patches(2.5, 1), patches(1, 0)})),
		"onepatch":       must(NewPatchwork([][]Patch{{{half, 1, 3, 2, 0}}})),
		"plane":          must(NewPlane(f)),
		"cylinder":       must(NewCylinder(f, 8)),
		"cone":           must(NewCone(f, 8, 0.5)),
		"narrowing":      must(NewCone(f, 8, -0.3)),
		"tip":            must(NewCone(f, 0, 0.7)),
		"sphere":         sph,
		"torus":          must(NewTorus(f, 20, 6)),
		"spindle":        must(NewTorus(f, 5, 8)),
		"apple":          must(NewApple(f, 5, 8)),
		"lemon":          must(NewLemon(f, 5, 8)),
		"sheet":          sheet(false),
		"rational":       sheet(true),
		"bcylinder":      moved(splineCylinder(), m),
		"bsphere":        moved(splineSphere(), m),
		"bhalftorus":     turned(f, p, d, k),
		"turnedline":     must(NewRevolution(slope, axis)),
		"hyperboloid":    must(NewRevolution(skew, axis)),
		"turnedcircle":   must(NewRevolution(circle, axis)),
		"turnedwave":     must(NewRevolution(wave, axis)),
		"dome":           must(NewRevolution(dome, axis)),
		"pulledwave":     must(NewExtrusion(wave, m.Dir(mgl64.Vec3{1, 0.2, 0}))),
		"pulledcircle":   must(NewExtrusion(circle, f.Y.Add(f.X.Mul(0.3)))),
		"pulledline":     must(NewExtrusion(slope, f.Y)),
		"offsetsheet":    must(NewOffset(sheet(false), 0.5)),
		"offsetsphere":   must(NewOffset(sph, 2)),
		"offsettwice":    must(NewOffset(must(NewOffset(must(NewCylinder(f, 8)), 1)), -3)),
		"offsetrational": must(NewOffset(sheet(true), -0.4)),
	}
}

// drawUV picks parameters of the domain, a little away from its open sides.
func drawUV(t *rapid.T, s Surface) (u, v float64) {
	u0, u1, v0, v1 := s.Domain()
	if math.IsInf(u0, 0) {
		u0, u1 = -15, 15
	}
	if math.IsInf(v0, 0) {
		v0, v1 = -15, 15
	}
	f := rapid.Float64Range(0.001, 0.999)
	return u0 + (u1-u0)*f.Draw(t, "u"), v0 + (v1-v0)*f.Draw(t, "v")
}

// atPoleOf reports that (u, v) is near a place where a surface collapses.
func nearPole(s Surface, p mgl64.Vec3, mm float64) bool {
	for _, c := range Poles(s) {
		if c.P.Sub(p).Len() < mm {
			return true
		}
	}
	return false
}

func TestDerivatives(t *testing.T) {
	for name, s := range zoo() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				const h = 1e-5
				u, v := drawUV(t, s)
				if nearPole(s, s.Point(u, v), 0.05) || inKnot(s, u, v, h) {
					t.Skip("the derivatives may jump")
				}
				check := func(what string, got, want mgl64.Vec3, slack float64) {
					t.Helper()
					if d := got.Sub(want).Len(); !(d <= slack*(1+want.Len())) {
						t.Fatalf("%s at (%g, %g) = %v, differences give %v", what, u, v, got, want)
					}
				}
				diff := func(a, b mgl64.Vec3) mgl64.Vec3 { return a.Sub(b).Mul(1 / (2 * h)) }
				du, dv := s.Derivatives(u, v)
				check("∂P/∂u", du, diff(s.Point(u+h, v), s.Point(u-h, v)), 1e-4)
				check("∂P/∂v", dv, diff(s.Point(u, v+h), s.Point(u, v-h)), 1e-4)
				n := s.Normal(u, v)
				if math.Abs(n.Len()-1) > 1e-9 || math.Abs(n.Dot(du)) > 1e-8*du.Len() || math.Abs(n.Dot(dv)) > 1e-8*dv.Len() {
					t.Fatalf("normal %v at (%g, %g) not across %v, %v", n, u, v, du, dv)
				}
				if n.Dot(du.Cross(dv)) <= 0 {
					t.Fatalf("normal %v at (%g, %g) against ∂u × ∂v", n, u, v)
				}
				m, ok := s.(Smooth)
				if !ok {
					return
				}
				uu, uv, vv := m.SecondDerivatives(u, v)
				au, av := s.Derivatives(u+h, v)
				bu, bv := s.Derivatives(u-h, v)
				_, cv := s.Derivatives(u, v+h)
				_, dv = s.Derivatives(u, v-h)
				check("∂²P/∂u²", uu, diff(au, bu), 1e-3)
				check("∂²P/∂u∂v", uv, diff(av, bv), 1e-3)
				check("∂²P/∂v²", vv, diff(cv, dv), 1e-3)
			})
		})
	}
}

// inKnot reports that a knot of low continuity is within h of (u, v).
func inKnot(s Surface, u, v, h float64) bool {
	if o, ok := s.(Offset); ok {
		return inKnot(o.Base(), u, v, h)
	}
	if _, ok := s.(Patchwork); ok { // its joints
		return math.Abs(u-math.Round(u)) <= 2*h || math.Abs(v-math.Round(v)) <= 2*h
	}
	b, ok := s.(BSpline)
	if !ok {
		return false
	}
	near := func(ks []float64, x float64) bool {
		for _, k := range ks {
			if math.Abs(k-x) <= 2*h {
				return true
			}
		}
		return false
	}
	ku, kv := b.Knots()
	return near(ku, u) || near(kv, v)
}

// Points of a surface come back from near and far hints and without one.
func TestParamOfPointsOnSurface(t *testing.T) {
	for name, s := range zoo() {
		t.Run(name, func(t *testing.T) {
			pu, pv := s.Periods()
			rapid.Check(t, func(t *rapid.T) {
				u, v := drawUV(t, s)
				p := s.Point(u, v)
				off := rapid.Float64Range(-0.1, 0.1)
				hints := []Hint{{}, Near(u, v), Near(u+off.Draw(t, "du"), v+off.Draw(t, "dv"))}
				if pu > 0 {
					hints = append(hints, Near(u-3*pu, v))
				}
				if pv > 0 {
					hints = append(hints, Near(u, v+2*pv))
				}
				hu, hv := drawUV(t, s)
				hints = append(hints, Near(hu, hv))
				for _, h := range hints {
					gu, gv := s.Param(p, h)
					if d := s.Point(gu, gv).Sub(p).Len(); !(d <= 1e-8) {
						t.Fatalf("P(%g, %g) with hint %v comes back as (%g, %g), %g mm off", u, v, h, gu, gv, d)
					}
					if h.Given && (pu > 0 && math.Abs(gu-h.U) > pu/2+1e-12 || pv > 0 && math.Abs(gv-h.V) > pv/2+1e-12) {
						t.Fatalf("hint %v gives (%g, %g), more than half a period away", h, gu, gv)
					}
					if name == "spindle" || name == "turnedline" || nearPole(s, p, 0.05) {
						continue // meets itself
					}
					du, dv := s.Derivatives(u, v)
					if d := math.Abs(turns(gu-u, pu))*du.Len() + math.Abs(turns(gv-v, pv))*dv.Len(); d > 1e-5 {
						t.Fatalf("P(%g, %g) with hint %v comes back as (%g, %g)", u, v, h, gu, gv)
					}
				}
			})
		})
	}
}

// turns is x less whole periods.
func turns(x, period float64) float64 {
	if period == 0 {
		return x
	}
	return x - period*math.Round(x/period)
}

// No place of a dense net is nearer than the foot point.
func TestParamIsNearest(t *testing.T) {
	for name, s := range zoo() {
		if _, ok := s.(Patchwork); ok {
			continue // beside their patches they are not asked
		}
		t.Run(name, func(t *testing.T) {
			u0, u1, v0, v1 := s.Domain()
			if math.IsInf(u0, 0) {
				u0, u1 = -30, 30
			}
			if math.IsInf(v0, 0) {
				v0, v1 = -30, 30
			}
			const n = 60
			var net []mgl64.Vec3
			for i := range n {
				for j := range n {
					net = append(net, s.Point(u0+(u1-u0)*float64(i)/(n-1), v0+(v1-v0)*float64(j)/(n-1)))
				}
			}
			rapid.Check(t, func(t *rapid.T) {
				off := rapid.Float64Range(-1, 1)
				p := s.Point(drawUV(t, s)).Add(mgl64.Vec3{off.Draw(t, "x"), off.Draw(t, "y"), off.Draw(t, "z")})
				u, v := s.Param(p, Hint{})
				d := s.Point(u, v).Sub(p).Len()
				for _, q := range net {
					if e := q.Sub(p).Len(); e < d-1e-6 {
						t.Fatalf("foot of %v is (%g, %g), %g away; %v is only %g", p, u, v, d, q, e)
					}
				}
			})
		})
	}
}

// A bead of half a millimetre along half a turn in a single span: far longer
// than wide, so that the nearest net point says little.
func TestParamOnSlenderPatch(t *testing.T) {
	f := func(r, z, w float64) ([]mgl64.Vec3, []float64) {
		return []mgl64.Vec3{{r, 0, z}, {r, -2 * r, z}, {-r, -2 * r, z}, {-r, 0, z}}, []float64{w, w / 3, w / 3, w}
	}
	var poles [][]mgl64.Vec3
	var weights [][]float64
	for _, x := range [][3]float64{{5.1, 0, 1}, {5.1, 0.2, 1. / 3}, {4.9, 0.2, 1. / 3}, {4.9, 0, 1}} {
		p, w := f(x[0], x[1], x[2])
		poles, weights = append(poles, p), append(weights, w)
	}
	k := []float64{0, 0, 0, 0, 1, 1, 1, 1}
	s := must(NewBSpline(3, 3, poles, weights, k, k))
	for i := range 41 {
		for j := range 201 {
			u, v := float64(i)/40, float64(j)/200
			p := s.Point(u, v)
			gu, gv := s.Param(p, Hint{})
			if d := s.Point(gu, gv).Sub(p).Len(); d > 1e-8 {
				t.Fatalf("P(%g, %g) comes back as (%g, %g), %g mm off", u, v, gu, gv, d)
			}
		}
	}
}

// Near a pole a hint from its other side must not hold the search there.
func TestParamNearPole(t *testing.T) {
	for name, s := range zoo() {
		_, _, v0, v1 := finiteDomain(s)
		for _, pole := range Poles(s) {
			for _, off := range []float64{0.3, 1e-2, 1e-4, 1e-5, 1e-6} {
				for _, at := range []float64{pole.At - off, pole.At + off} {
					if name != "spindle" && (at < v0 || at > v1) {
						continue
					}
					p := s.Point(0.3, at)
					for _, hu := range []float64{0, 0.3, 1.5, 2.2, 3.3} {
						u, v := s.Param(p, Near(hu, pole.At))
						if d := s.Point(u, v).Sub(p).Len(); d > 1e-8 {
							t.Errorf("%s: %g from the pole at %g with hint %g: %g mm off", name, at-pole.At, pole.At, hu, d)
						}
					}
				}
			}
		}
	}
}

// From a hint nearby the walk ends where the search over all the surface does,
// for points off the surface as well; At is Point and Normal.
func TestFootAndAt(t *testing.T) {
	for name, s := range zoo() {
		u0, u1, v0, v1 := finiteDomain(s)
		for i := range 25 {
			u, v := u0+(u1-u0)*(0.2+0.15*float64(i%5)), v0+(v1-v0)*(0.2+0.15*float64(i/5))
			q, n := At(s, u, v)
			if d := q.Sub(s.Point(u, v)).Len(); d > 1e-12 || n.Sub(s.Normal(u, v)).Len() > 1e-12 {
				t.Errorf("%s: At(%g, %g) is %g mm off", name, u, v, d)
			}
			p := q.Add(n.Mul(0.02))
			x, y := Foot(s, p, Near(u+0.01*(u1-u0), v-0.01*(v1-v0)))
			a, b := s.Point(x, y).Sub(p).Len(), s.Point(s.Param(p, Hint{})).Sub(p).Len()
			if math.Abs(a-b) > 1e-9 {
				t.Errorf("%s: foot of (%g, %g) is %g mm away, the nearest point %g", name, u, v, a, b)
			}
		}
	}
}

// At a pole the hint's other parameter is kept.
func TestParamAtPoles(t *testing.T) {
	want := map[string]int{"sphere": 2, "cone": 1, "narrowing": 1, "tip": 1, "spindle": 2, "apple": 2, "lemon": 2, "bsphere": 2, "dome": 1, "turnedline": 1, "offsetsphere": 2}
	for name, s := range zoo() {
		poles := Poles(s)
		if len(poles) != want[name] {
			t.Errorf("%s has %d poles: %v, want %d", name, len(poles), poles, want[name])
		}
		for _, c := range poles {
			for _, x := range []float64{0.7, 2.9} {
				at := func(x float64) mgl64.Vec3 {
					if c.OnU {
						return s.Point(c.At, x)
					}
					return s.Point(x, c.At)
				}
				if d := at(x).Sub(c.P).Len(); d > 1e-6 {
					t.Errorf("%s: %g mm from pole %v at %g", name, d, c, x)
				}
				h := Near(x, c.At)
				if c.OnU {
					h = Near(c.At, x)
				}
				u, v := s.Param(c.P, h)
				if math.Abs(u-h.U) > 1e-6 || math.Abs(v-h.V) > 1e-6 {
					t.Errorf("%s: pole %v with hint %v comes back as (%g, %g)", name, c, h, u, v)
				}
			}
		}
	}
}

// Normals at poles are the limits from nearby.
func TestNormalAtPoles(t *testing.T) {
	for _, name := range []string{"sphere", "bsphere", "dome", "cone", "tip"} {
		s := zoo()[name]
		for _, c := range Poles(s) {
			_, _, v0, v1 := finiteDomain(s)
			w := c.At + 1e-4
			if c.At > (v0+v1)/2 && name != "cone" && name != "tip" {
				w = c.At - 1e-4
			}
			a, b := s.Normal(1.2, c.At), s.Normal(1.2, w)
			if a.Sub(b).Len() > 1e-3 {
				t.Errorf("%s: normal %v at pole, %v beside it", name, a, b)
			}
		}
	}
}

// The signs that the doc comments promise.
func TestNormalsPointOutward(t *testing.T) {
	f := tilted()
	axis := geom.Axis{O: f.O, D: f.Z}
	away := func(p mgl64.Vec3) mgl64.Vec3 { return geom.Across(p.Sub(f.O), f.Z) }
	for _, name := range []string{"cylinder", "sphere", "bcylinder", "bsphere", "hyperboloid", "turnedline", "turnedwave", "dome"} {
		s := zoo()[name]
		u0, u1, v0, v1 := finiteDomain(s)
		p, n := s.Point((u0+u1)/3, (v0+v1)/2), s.Normal((u0+u1)/3, (v0+v1)/2)
		if n.Dot(away(p)) <= 0 {
			t.Errorf("%s: normal %v at %v points to the axis", name, n, p)
		}
	}
	// a line that comes back along the axis has it inward
	down := must(curve.NewLine(f.Point(mgl64.Vec3{5, 0, 0}), f.Z.Mul(-1)))
	s := must(NewRevolution(down, axis))
	if s.Normal(1, 1).Dot(away(s.Point(1, 1))) >= 0 {
		t.Error("a profile against the axis has its normal outward")
	}
	// C' × D: along x pulled along y gives z
	e := must(NewExtrusion(must(curve.NewLine(mgl64.Vec3{}, mgl64.Vec3{1, 0, 0})), mgl64.Vec3{0, 1, 0}))
	if n := e.Normal(0, 0); n.Sub(mgl64.Vec3{0, 0, 1}).Len() > 1e-12 {
		t.Errorf("x pulled along y: normal %v", n)
	}
}

// basis is the recursive definition of the shape functions (de Boor, Cox).
func basis(u []float64, i, p int, t float64) float64 {
	if p == 0 {
		if u[i] <= t && t < u[i+1] {
			return 1
		}
		return 0
	}
	var s float64
	if d := u[i+p] - u[i]; d > 0 {
		s += (t - u[i]) / d * basis(u, i, p-1, t)
	}
	if d := u[i+p+1] - u[i+1]; d > 0 {
		s += (u[i+p+1] - t) / d * basis(u, i+1, p-1, t)
	}
	return s
}

func TestBSplineIsItsDefinition(t *testing.T) {
	for name, s := range map[string]BSpline{"sheet": sheet(false), "rational": sheet(true), "sphere": splineSphere()} {
		t.Run(name, func(t *testing.T) {
			p, q := s.Degrees()
			ku, kv := s.Knots()
			rapid.Check(t, func(t *rapid.T) {
				u, v := drawUV(t, s)
				var sum mgl64.Vec3
				var weight float64
				for i, row := range s.Poles() {
					for j, pole := range row {
						n := basis(ku, i, p, u) * basis(kv, j, q, v)
						if w := s.Weights(); w != nil {
							n *= w[i][j]
						}
						sum, weight = sum.Add(pole.Mul(n)), weight+n
					}
				}
				want := sum.Mul(1 / weight)
				if d := s.Point(u, v).Sub(want).Len(); !(d <= 1e-12*(1+want.Len())) {
					t.Fatalf("P(%g, %g) = %v, definition gives %v", u, v, s.Point(u, v), want)
				}
			})
		})
	}
}

// Rational surfaces of second degree are the exact ones.
func TestSplineQuadricsAreExact(t *testing.T) {
	f := tilted()
	cyl, sph := must(NewCylinder(f, 8)), must(NewSphere(f, 9))
	for i := range 41 {
		u, v := float64(i)/10, float64(i%7)/6
		p := splineCylinder().Point(u, v)
		if d := cyl.Axis().Distance(p); math.Abs(d-8) > 1e-13 {
			t.Errorf("b-spline cylinder: radius %.17g at (%g, %g)", d, u, v)
		}
		p = splineSphere().Point(u, 2*v)
		if d := p.Sub(f.O).Len(); math.Abs(d-9) > 1e-13 {
			t.Errorf("b-spline sphere: radius %.17g at (%g, %g)", d, u, 2*v)
		}
		if n := splineSphere().Normal(u, 2*v); n.Sub(sph.Normal(sph.Param(p, Hint{}))).Len() > 1e-5 {
			t.Errorf("b-spline sphere: normal %v at (%g, %g)", n, u, 2*v)
		}
	}
}

func TestClosureIsFound(t *testing.T) {
	for name, want := range map[string][2]float64{
		"sheet": {}, "bcylinder": {4, 0}, "bsphere": {4, 0}, "turnedcircle": {turn, turn},
		"turnedwave": {turn, 0}, "pulledcircle": {turn, 0}, "pulledwave": {}, "offsetsphere": {turn, 0},
	} {
		pu, pv := zoo()[name].Periods()
		if pu != want[0] || pv != want[1] {
			t.Errorf("%s: periods %g, %g, want %v", name, pu, pv, want)
		}
	}
}

func TestRefusals(t *testing.T) {
	f, nan := tilted(), math.NaN()
	line := must(curve.NewLine(f.O, f.Z))
	axis := geom.Axis{O: f.O, D: f.Z}
	row := []mgl64.Vec3{{0, 0, 0}, {1, 0, 0}}
	up := []mgl64.Vec3{{0, 1, 0}, {1, 1, 0}}
	k := []float64{0, 0, 1, 1}
	second := func(_ any, err error) error { return err }
	for name, err := range map[string]error{
		"plane without frame":     second(NewPlane(geom.Frame{})),
		"cylinder of radius 0":    second(NewCylinder(f, 0)),
		"cylinder of NaN":         second(NewCylinder(f, nan)),
		"cone of angle 0":         second(NewCone(f, 1, 0)),
		"cone of right angle":     second(NewCone(f, 1, math.Pi/2)),
		"cone of NaN":             second(NewCone(f, 1, nan)),
		"cone of negative radius": second(NewCone(f, -1, 0.3)),
		"sphere of infinity":      second(NewSphere(f, math.Inf(1))),
		"torus of minor 0":        second(NewTorus(f, 3, 0)),
		"torus of major -1":       second(NewTorus(f, -1, 1)),
		"line on its axis":        second(NewRevolution(line, axis)),
		"revolution without axis": second(NewRevolution(line, geom.Axis{})),
		"line along itself":       second(NewExtrusion(line, f.Z)),
		"extrusion to nowhere":    second(NewExtrusion(line, mgl64.Vec3{})),
		"patches of nothing":      second(NewPatchwork(nil)),
		"a row of no patches":     second(NewPatchwork([][]Patch{{}})),
		"ragged patches":          second(NewPatchwork([][]Patch{{{sheet(false), 0, 1, 0, 1}}, {}})),
		"patch of NaN":            second(NewPatchwork([][]Patch{{{sheet(false), 0, nan, 0, 1}}})),
		"patch without end":       second(NewPatchwork([][]Patch{{{sheet(false), 0, math.Inf(1), 0, 1}}})),
		"patch of no surface":     second(NewPatchwork([][]Patch{{{nil, 0, 1, 0, 1}}})),
		"patch of patches":        second(NewPatchwork([][]Patch{{{zoo()["patches"], 0, 1, 0, 1}}})),
		"offset by NaN":           second(NewOffset(must(NewPlane(f)), nan)),
		"no poles":                second(NewBSpline(1, 1, nil, nil, k, k)),
		"empty rows":              second(NewBSpline(1, 1, [][]mgl64.Vec3{{}, {}}, nil, k, k)),
		"ragged rows":             second(NewBSpline(1, 1, [][]mgl64.Vec3{row, up[:1]}, nil, k, k)),
		"poles in one place":      second(NewBSpline(1, 1, [][]mgl64.Vec3{{{}, {}}, {{}, {}}}, nil, k, k)),
		"weight -1":               second(NewBSpline(1, 1, [][]mgl64.Vec3{row, up}, [][]float64{{1, 1}, {1, -1}}, k, k)),
		"weights missing":         second(NewBSpline(1, 1, [][]mgl64.Vec3{row, up}, [][]float64{{1, 1}}, k, k)),
		"weights short":           second(NewBSpline(1, 1, [][]mgl64.Vec3{row, up}, [][]float64{{1, 1}, {1}}, k, k)),
		"knots short":             second(NewBSpline(1, 1, [][]mgl64.Vec3{row, up}, nil, k[:3], k)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// Nothing that goes in makes a surface panic or hang.
func TestOddParameters(t *testing.T) {
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 1e17}
	for _, s := range zoo() {
		for _, x := range odd {
			s.Point(x, 1)
			s.Point(1, x)
			s.Derivatives(x, x)
			s.Normal(x, 0.5)
			s.Param(mgl64.Vec3{x, 0, 1}, Hint{})
			s.Param(mgl64.Vec3{x, 0, 1}, Near(0, x))
			s.Param(mgl64.Vec3{}, Near(x, x))
		}
		Canonical(s, math.NaN())
	}
}

func BenchmarkBSpline(b *testing.B) {
	for name, s := range map[string]BSpline{"polynomial": sheet(false), "rational": sheet(true)} {
		run := func(what string, f func()) {
			b.Run(name+"/"+what, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					f()
				}
			})
		}
		p := s.Point(2.3, 1.1)
		run("Point", func() { s.Point(2.3, 1.1) })
		run("Derivatives", func() { s.Derivatives(2.3, 1.1) })
		run("Normal", func() { s.Normal(2.3, 1.1) })
		run("ParamHint", func() { s.Param(p, Near(2.2, 1.2)) })
		run("Param", func() { s.Param(p, Hint{}) })
	}
}
