package surface

import (
	"fmt"
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/curve"
)

// say writes what a surface is, in numbers that do not depend on where angles
// begin or which way an axis points.
func say(s Surface) string {
	switch s := s.(type) {
	case Plane:
		return "plane"
	case Cylinder:
		return fmt.Sprintf("cylinder %.6g", s.Radius())
	case Cone:
		return fmt.Sprintf("cone %.6g at %.5f", s.SemiAngle(), roundTo0(s.Apex()))
	case Sphere:
		return fmt.Sprintf("sphere %.6g at %.5f", s.Radius(), roundTo0(s.Frame().O))
	case Torus:
		return fmt.Sprintf("torus %.6g %.6g at %.5f", s.Major(), s.Minor(), roundTo0(s.Frame().O))
	}
	return fmt.Sprintf("%T", s)
}

// roundTo0 takes away the sign of zeros.
func roundTo0(p mgl64.Vec3) mgl64.Vec3 {
	for i := range p {
		p[i] = math.Round(p[i]*1e5)/1e5 + 0
	}
	return p
}

func TestCanonical(t *testing.T) {
	f := tilted()
	axis := geom.Axis{O: f.O, D: f.Z}
	ring, d, k := halfCircle(30, 5)
	ball, _, _ := halfCircle(0, 9)
	side := must(geom.NewFrame(f.Point(mgl64.Vec3{20, 0, 4}), f.Y, f.X))
	centred := must(geom.NewFrame(f.Point(mgl64.Vec3{0, 0, 4}), f.Y, f.X))
	flat := must(geom.NewFrame(f.Point(mgl64.Vec3{1, 2, 4}), f.Z, f.X))
	line := func(p, dir mgl64.Vec3) curve.Curve { return must(curve.NewLine(f.Point(p), f.Dir(dir))) }
	bspline := func(p ...mgl64.Vec3) curve.Curve {
		return must(curve.NewBSpline(1, p, nil, straight, false))
	}
	inwardCylinder := turned(f, [][3]float64{{8, 20, 1}, {8, -5, 1}}, 1, straight)
	o := fmt.Sprintf(" at %.5f", roundTo0(f.O))
	up4 := fmt.Sprintf(" at %.5f", roundTo0(f.Point(mgl64.Vec3{0, 0, 4})))
	for name, x := range map[string]struct {
		s       Surface
		want    string
		flipped bool
	}{
		"b-spline plane": {must(NewBSpline(1, 1, [][]mgl64.Vec3{{f.Point(mgl64.Vec3{0, 0, 0}), f.Point(mgl64.Vec3{9, 0, 0})},
			{f.Point(mgl64.Vec3{0, 7, 0}), f.Point(mgl64.Vec3{11, 12, 0})}}, nil, straight, straight)), "plane", false},
		"b-spline cylinder":         {splineCylinder(), "cylinder 8", false},
		"b-spline cylinder, inward": {inwardCylinder, "cylinder 8", true},
		"b-spline cone":             {turned(f, [][3]float64{{8, 0, 1}, {16, 8, 1}}, 1, straight), fmt.Sprintf("cone 0.785398 at %.5f", roundTo0(f.Point(mgl64.Vec3{0, 0, -8}))), false},
		"b-spline cone to its tip":  {turned(f, [][3]float64{{0, 0, 1}, {8, 8, 1}}, 1, straight), "cone 0.785398" + o, false},
		"b-spline sphere":           {splineSphere(), "sphere 9" + o, false},
		"b-spline torus":            {turned(f, ring, d, k), "torus 30 5" + o, false},
		"sphere of a b-spline":      {turned(f, ball, d, k), "sphere 9" + o, false},
		"turned line":               {must(NewRevolution(line(mgl64.Vec3{7, 0, 0}, mgl64.Vec3{0, 0, 1}), axis)), "cylinder 7", false},
		"turned line, down":         {must(NewRevolution(line(mgl64.Vec3{7, 0, 0}, mgl64.Vec3{0, 0, -1}), axis)), "cylinder 7", true},
		"turned line across":        {must(NewRevolution(line(mgl64.Vec3{7, 0, 0}, mgl64.Vec3{1, 0, 0}), axis)), "plane", false},
		"turned sloping line":       {must(NewRevolution(line(mgl64.Vec3{7, 0, 7}, mgl64.Vec3{1, 0, 1}), axis)), "cone 0.785398" + o, false},
		"turned narrowing piece":    {must(NewRevolution(bspline(f.Point(mgl64.Vec3{9, 0, -9}), f.Point(mgl64.Vec3{2, 0, -2})), axis)), "cone 0.785398" + o, false},
		"turned circle":             {must(NewRevolution(must(curve.NewCircle(side, 6)), axis)), "torus 20 6" + up4, true},
		"turned middle circle":      {must(NewRevolution(must(curve.NewTrimmed(must(curve.NewCircle(centred, 6)), -1, 1.2)), axis)), "sphere 6" + up4, true},
		"skew line":                 {zoo()["hyperboloid"], "", false},
		"turned wave":               {zoo()["turnedwave"], "", false},
		"pulled circle":             {must(NewExtrusion(must(curve.NewCircle(flat, 3)), f.Z)), "cylinder 3", false},
		"pulled circle, down":       {must(NewExtrusion(must(curve.NewCircle(flat, 3)), f.Z.Mul(-1))), "cylinder 3", true},
		"pulled circle, aslant":     {zoo()["pulledcircle"], "", false},
		"pulled line":               {zoo()["pulledline"], "plane", false},
		"pulled ellipse":            {must(NewExtrusion(must(curve.NewEllipse(flat, 3, 4)), f.Z)), "", false},
		"sheet":                     {sheet(false), "", false},
		"offset cylinder":           {must(NewOffset(must(NewCylinder(f, 8)), -3)), "cylinder 5", false},
		"offset inward b-spline":    {must(NewOffset(inwardCylinder, -3)), "cylinder 11", true},
		"offset cone":               {must(NewOffset(must(NewCone(f, 10, 0.6)), 2)), say(must(NewCone(f, 10+2/math.Cos(0.6), 0.6))), false},
		"offset torus":              {must(NewOffset(must(NewTorus(f, 10, 3)), 2)), "torus 10 5" + o, false},
	} {
		got, flipped, ok := Canonical(x.s, 1e-4)
		if !ok {
			if x.want != "" {
				t.Errorf("%s: not recognised, want %s", name, x.want)
			}
			continue
		}
		if say(got) != x.want || flipped != x.flipped {
			t.Errorf("%s: %s, flipped %v; want %s, %v", name, say(got), flipped, x.want, x.flipped)
		}
		sameSense(t, name, x.s, got, flipped)
	}
}

// sameSense checks places and normals all over the domain, ends included.
func sameSense(t *testing.T, name string, s, c Surface, flipped bool) {
	t.Helper()
	u0, u1, v0, v1 := window(s)
	sign := 1.0
	if flipped {
		sign = -1
	}
	for i := range 11 {
		for j := range 11 {
			u, v := u0+(u1-u0)*float64(i)/10, v0+(v1-v0)*float64(j)/10
			p := s.Point(u, v)
			a, b := c.Param(p, Hint{})
			if d := c.Point(a, b).Sub(p).Len(); d > 1e-4 {
				t.Errorf("%s: %g mm apart at (%g, %g)", name, d, u, v)
			}
			if n := c.Normal(a, b); !nearPole(s, p, 1e-3) && n.Dot(s.Normal(u, v))*sign < 0.999 {
				t.Errorf("%s: normal %v, was %v at (%g, %g)", name, n, s.Normal(u, v), u, v)
			}
		}
	}
}

// Any piece of a round surface, however small, is recognised with its sizes.
func TestCanonicalOfPatches(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.5, 200).Draw(t, "r")
		half := rapid.Float64Range(0.15, 0.75).Draw(t, "half angle")
		h := r * rapid.Float64Range(0.2, 10).Draw(t, "height over r")
		slope := rapid.SampledFrom([]float64{0, 0, 0.3, -0.5}).Draw(t, "slope")
		if r+h*slope < 0.1*r {
			h = 0.9 * r / -slope
		}
		f := tilted()
		c, s := math.Cos(half), math.Sin(half)
		row := func(r, z float64) []mgl64.Vec3 { // an arc of a circle in three poles
			return []mgl64.Vec3{f.Point(mgl64.Vec3{r * c, -r * s, z}), f.Point(mgl64.Vec3{r / c, 0, z}), f.Point(mgl64.Vec3{r * c, r * s, z})}
		}
		w := []float64{1, c, 1}
		b := must(NewBSpline(1, 2, [][]mgl64.Vec3{row(r, 0), row(r+h*slope, h)}, [][]float64{w, w},
			straight, []float64{0, 0, 0, 1, 1, 1}))
		got, flipped, ok := Canonical(b, 1e-5*r)
		if !ok || !flipped { // ∂u along z, ∂v counter-clockwise: inward
			t.Fatalf("recognised %v, flipped %v: %v", ok, flipped, got)
		}
		var axis geom.Axis
		switch g := got.(type) {
		case Cylinder:
			axis = g.Axis()
			if slope != 0 || math.Abs(g.Radius()-r) > 1e-7*r {
				t.Fatalf("cylinder of %g, want slope %g, %g", g.Radius(), slope, r)
			}
		case Cone:
			axis = g.Axis()
			if slope == 0 || math.Abs(math.Tan(g.SemiAngle())-math.Abs(slope)) > 1e-6 {
				t.Fatalf("cone of %g, want slope %g", g.SemiAngle(), slope)
			}
		default:
			t.Fatalf("%T", got)
		}
		if x := axis.D.Cross(f.Z).Len(); x > 1e-6 || axis.Distance(f.O) > 1e-5*r {
			t.Fatalf("axis %v off by %g rad, %g mm", axis, x, axis.Distance(f.O))
		}
	})
}

// A cylinder whose points waver by a thousandth is one at that tolerance only.
func TestCanonicalKeepsItsTolerance(t *testing.T) {
	f := tilted()
	poles := func(r float64) [][]mgl64.Vec3 {
		b := turned(f, [][3]float64{{8, -5, 1}, {r, 5, 1}, {8, 20, 1}}, 2, []float64{0, 0, 0, 1, 1, 1})
		return b.Poles()
	}
	base := turned(f, [][3]float64{{8, -5, 1}, {8, 5, 1}, {8, 20, 1}}, 2, []float64{0, 0, 0, 1, 1, 1})
	ku, kv := base.Knots()
	s := must(NewBSpline(2, 2, poles(8.004), base.Weights(), ku, kv)) // bulges by 0.002
	if c, _, ok := Canonical(s, 1e-4); ok {
		t.Errorf("within 1e-4: %s", say(c))
	}
	if c, _, ok := Canonical(s, 3e-3); !ok {
		t.Error("not recognised within 3e-3")
	} else if _, is := c.(Cylinder); !is {
		t.Errorf("within 3e-3: %s", say(c))
	}
}

func BenchmarkCanonical(b *testing.B) {
	for name, s := range map[string]Surface{"cylinder": splineCylinder(), "sheet": sheet(true)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Canonical(s, 1e-4)
			}
		})
	}
}
