package tess

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/surface"
)

// chart is a surface seen from its parameter plane. Places in it are x = u,
// y = v, or, turned a quarter, x = v, y = -u: what winds round the surface in v
// then winds in x like everything else. A turn keeps left on the left. For what
// winds both ways at once, y may lean: it counts from a line that climbs by lean
// for each x, whole periods in one turn.
type chart struct {
	s      surface.Surface
	turned bool
	lean   float64
	period mgl64.Vec2 // of x and y, 0 where open
	poles  []pole     // the lines of constant y that are points
	sides  []pole     // the lines of constant x that are points
}

// pole is a line y = at (or x = at) that is one point in space.
type pole struct {
	at float64
	p  mgl64.Vec3
}

func newChart(s surface.Surface) *chart {
	c := &chart{s: s}
	c.period[0], c.period[1] = s.Periods()
	for _, p := range surface.Poles(s) {
		if p.OnU {
			c.sides = append(c.sides, pole{p.At, p.P})
		} else {
			c.poles = append(c.poles, pole{p.At, p.P})
		}
	}
	return c
}

// turn is the same surface in the plane turned a quarter clockwise.
func (c *chart) turn() *chart {
	t := &chart{s: c.s, turned: !c.turned, period: mgl64.Vec2{c.period[1], c.period[0]}}
	t.sides = append(t.sides, c.poles...)
	for _, p := range c.sides {
		t.poles = append(t.poles, pole{-p.at, p.p})
	}
	return t
}

// uv are the surface's parameters of a place.
func (c *chart) uv(p mgl64.Vec2) (u, v float64) {
	x, y := p[0], p[1]+c.lean*p[0]
	if c.turned {
		return -y, x
	}
	return x, y
}

// place is where parameters lie in the plane.
func (c *chart) place(u, v float64) mgl64.Vec2 {
	x, y := u, v
	if c.turned {
		x, y = v, -u
	}
	return mgl64.Vec2{x, y - c.lean*x}
}

// leaning is the same surface, closed both ways, with y counted from a line
// that climbs by a number of periods in one turn of x.
func (c *chart) leaning(turns int) *chart {
	l := *c
	l.lean = float64(turns) * c.period[1] / c.period[0]
	return &l
}

func (c *chart) point(p mgl64.Vec2) mgl64.Vec3 { return c.s.Point(c.uv(p)) }

// normal is along ∂P/∂u × ∂P/∂v, which is ∂P/∂x × ∂P/∂y as well.
func (c *chart) normal(p mgl64.Vec2) mgl64.Vec3 { return c.s.Normal(c.uv(p)) }

// both are point and normal.
func (c *chart) both(p mgl64.Vec2) (at, normal mgl64.Vec3) {
	u, v := c.uv(p)
	return surface.At(c.s, u, v)
}

// guess is a place to look first; the zero value is none.
type guess struct {
	at    mgl64.Vec2
	given bool
}

// invert finds p's place, within half a period of the guess.
func (c *chart) invert(p mgl64.Vec3, near guess) mgl64.Vec2 {
	var h surface.Hint
	if near.given {
		h = surface.Near(c.uv(near.at))
	}
	q := c.place(c.s.Param(p, h))
	if near.given {
		for k := range 2 {
			q[k] = nearTo(q[k], near.at[k], c.period[k])
		}
	}
	return q
}

// nearTo shifts x by whole periods to within half a period of t.
func nearTo(x, t, period float64) float64 {
	if period > 0 {
		x -= period * math.Round((x-t)/period)
	}
	return x
}

// poleAt finds the pole that p lies at, within tol mm: its line is y = at, or
// x = at where side is true.
func (c *chart) poleAt(p mgl64.Vec3, tol float64) (at float64, side, ok bool) {
	for _, o := range c.poles {
		if o.p.Sub(p).Len() <= tol {
			return o.at, false, true
		}
	}
	for _, o := range c.sides {
		if o.p.Sub(p).Len() <= tol {
			return o.at, true, true
		}
	}
	return 0, false, false
}

// divide bisects the straight way from a to b in the plane until its chords
// are within tol of the surface; it returns the places between.
func (c *chart) divide(a, b mgl64.Vec2, tol geom.Tolerance) []mgl64.Vec2 {
	const depth = 10 // 1024 pieces: 0.3 degrees of a full turn
	var out []mgl64.Vec2
	var half func(a, b mgl64.Vec2, pa, pb mgl64.Vec3, left int)
	half = func(a, b mgl64.Vec2, pa, pb mgl64.Vec3, left int) {
		m := a.Add(b).Mul(0.5)
		pm := c.point(m)
		if left == 0 || c.straight(a, b, pa, pb, tol) {
			return
		}
		half(a, m, pa, pm, left-1)
		out = append(out, m)
		half(m, b, pm, pb, left-1)
	}
	half(a, b, c.point(a), c.point(b), depth)
	return out
}

// straight looks at five places on the way from a to b, unevenly spaced so that
// waves do not hide between them.
func (c *chart) straight(a, b mgl64.Vec2, pa, pb mgl64.Vec3, tol geom.Tolerance) bool {
	n, bend := c.normal(a), 0.0
	for _, t := range [...]float64{0.21, 0.5, 0.67, 0.83, 1} {
		q := a.Add(b.Sub(a).Mul(t))
		if c.above(q, pa.Add(pb.Sub(pa).Mul(t))) > tol.Chord {
			return false
		}
		o := c.normal(q)
		bend += between(n, o)
		n = o
	}
	return bend <= tol.Angle
}

// above is how far p is from the surface near the place q, along the normal
// there. Distance along the surface does not count: where parameters are spaced
// unevenly, the middle of a chord is not over the middle of its ends' places.
func (c *chart) above(q mgl64.Vec2, p mgl64.Vec3) float64 {
	at, n := c.both(q)
	return math.Abs(p.Sub(at).Dot(n))
}

// between is the angle between unit vectors; 0 where one has no direction.
func between(a, b mgl64.Vec3) float64 {
	x, y, z := a[1]*b[2]-a[2]*b[1], a[2]*b[0]-a[0]*b[2], a[0]*b[1]-a[1]*b[0]
	d := a[0]*b[0] + a[1]*b[1] + a[2]*b[2]
	if x == 0 && y == 0 && z == 0 && d >= 0 {
		return 0 // along straight lines and on planes always
	}
	t := math.Atan2(math.Sqrt(x*x+y*y+z*z), d)
	if math.IsNaN(t) {
		return 0
	}
	return t
}

// offChord is how far m is from the line through a and b (from a where the
// two coincide).
func offChord(a, m, b mgl64.Vec3) float64 {
	d, e := b.Sub(a), m.Sub(a)
	l := d.LenSqr()
	if l == 0 {
		return e.Len()
	}
	return e.Sub(d.Mul(e.Dot(d) / l)).Len()
}
