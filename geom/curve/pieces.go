package curve

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Polyline runs straight from point to point; at whole numbers t it is at
// point number t (ISO 10303-42, polyline).
type Polyline struct {
	points []mgl64.Vec3
	period float64
}

// NewPolyline wants two finite points or more, not all in one place.
func NewPolyline(points []mgl64.Vec3) (Polyline, error) {
	if len(points) < 2 {
		return Polyline{}, fmt.Errorf("polyline: %w", errNoPoints)
	}
	box := geom.EmptyBox()
	for i, p := range points {
		if !geom.Finite(p) {
			return Polyline{}, fmt.Errorf("polyline: point %d is not finite", i)
		}
		box = box.Add(p)
	}
	if box.Diagonal() == 0 {
		return Polyline{}, fmt.Errorf("polyline: %w", geom.ErrNoDirection)
	}
	l := Polyline{points: slices.Clone(points)}
	if len(points) > 3 {
		l.period = closure(l, points, false)
	}
	return l, nil
}

// Points are the corners, mm; not to be changed.
func (l Polyline) Points() []mgl64.Vec3 { return l.points }

// Point is the position at t.
func (l Polyline) Point(t float64) mgl64.Vec3 {
	i, s := l.piece(t)
	a, b := &l.points[i], &l.points[i+1]
	return mgl64.Vec3{a[0] + s*(b[0]-a[0]), a[1] + s*(b[1]-a[1]), a[2] + s*(b[2]-a[2])}
}

// piece is the straight piece of t and how far along it t is, 0..1.
func (l Polyline) piece(t float64) (i int, s float64) {
	last := len(l.points) - 2
	t = wrap(t, 0, float64(last+1), l.period)
	if math.IsNaN(t) {
		return 0, t
	}
	i = min(int(t), last)
	return i, t - float64(i)
}

// Derivatives are those of the straight piece, at a corner of the one after.
func (l Polyline) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	i, _ := l.piece(t)
	return l.points[i+1].Sub(l.points[i]), mgl64.Vec3{}
}

// Domain is 0 to the number of pieces.
func (l Polyline) Domain() (t0, t1 float64) { return 0, float64(len(l.points) - 1) }

// Period is the number of pieces where the last point is the first.
func (l Polyline) Period() float64 { return l.period }

// Param looks at every piece.
func (l Polyline) Param(p mgl64.Vec3) float64 {
	best, t := math.Inf(1), 0.0
	for i := range len(l.points) - 1 {
		a, e := l.points[i], l.points[i+1].Sub(l.points[i])
		s := 0.0
		if l2 := e.Dot(e); l2 > 0 {
			s = min(max(p.Sub(a).Dot(e)/l2, 0), 1)
		}
		d := p.Sub(a.Add(e.Mul(s)))
		if d2 := d.Dot(d); d2 < best {
			best, t = d2, float64(i)+s
		}
	}
	if l.period > 0 && t >= l.period {
		t = 0
	}
	return t
}

// Trimmed is a piece of a curve. With t0 < t1 it keeps the parameter of its
// base. With t0 > t1 it runs against it: then its domain is t1..t0 as well and
// P(t) is the base's point at t0 + t1 - t, so that it starts where the base is
// at t0. On a periodic base the interval may reach over the seam; whoever
// wants the way across adds a period first.
type Trimmed struct {
	base   Curve
	t0, t1 float64 // t0 < t1
	back   bool
	period float64
}

// NewTrimmed refuses an empty interval, one of more than a turn and one that
// leaves the domain of a base that is not periodic (by more than rounding:
// what sticks out less than a millionth of the interval is cut off).
func NewTrimmed(base Curve, t0, t1 float64) (Trimmed, error) {
	c := Trimmed{base: base, t0: min(t0, t1), t1: max(t0, t1), back: t1 < t0}
	span := c.t1 - c.t0
	if !positive(span) {
		return Trimmed{}, fmt.Errorf("trimmed curve from %g to %g: no length", t0, t1)
	}
	slack := 1e-6 * span
	if p := base.Period(); p > 0 {
		if span > p+slack {
			return Trimmed{}, fmt.Errorf("trimmed curve from %g to %g: more than a turn of %g", t0, t1, p)
		}
		if span > p-1e-9*p {
			c.period = c.t1 - c.t0
		}
		return c, nil
	}
	b0, b1 := base.Domain()
	if c.t0 < b0-slack || c.t1 > b1+slack {
		return Trimmed{}, fmt.Errorf("trimmed curve from %g to %g: its curve has %g to %g", t0, t1, b0, b1)
	}
	c.t0, c.t1 = max(c.t0, b0), min(c.t1, b1)
	return c, nil
}

// Base is the whole curve.
func (c Trimmed) Base() Curve { return c.base }

// Reversed reports that the piece runs against its base.
func (c Trimmed) Reversed() bool { return c.back }

// onBase maps a parameter to the base's.
func (c Trimmed) onBase(t float64) float64 {
	t = wrap(t, c.t0, c.t1, c.period)
	if c.back {
		return c.t0 + c.t1 - t
	}
	return t
}

// Point is the position at t.
func (c Trimmed) Point(t float64) mgl64.Vec3 { return c.base.Point(c.onBase(t)) }

// Derivatives are dP/dt and d²P/dt².
func (c Trimmed) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	d1, d2 = c.base.Derivatives(c.onBase(t))
	if c.back {
		d1 = d1.Mul(-1)
	}
	return d1, d2
}

// Domain is the interval.
func (c Trimmed) Domain() (t0, t1 float64) { return c.t0, c.t1 }

// Period is that of the base where a whole turn is kept.
func (c Trimmed) Period() float64 { return c.period }

// Param is the base's foot point where it falls into the piece, else the
// nearer end.
func (c Trimmed) Param(p mgl64.Vec3) float64 {
	t := c.base.Param(p)
	if period := c.base.Period(); period > 0 {
		t -= period * math.Floor((t-c.t0)/period)
	}
	if t >= c.t0 && t <= c.t1 {
		return c.onBase(t) // its own inverse
	}
	a, b := c.base.Point(c.t0).Sub(p), c.base.Point(c.t1).Sub(p)
	if a.Dot(a) <= b.Dot(b) {
		return c.onBase(c.t0)
	}
	return c.onBase(c.t1)
}

// Composite is a chain of curves, each with a finite domain; the parameter
// counts the lengths of their domains from 0 (ISO 10303-42, composite_curve).
type Composite struct {
	parts  []Curve
	ends   []float64 // parameter at which each part ends
	period float64
}

// NewComposite refuses an empty chain and parts without ends. Gaps between
// the parts are not looked at: Point jumps there.
func NewComposite(parts []Curve) (Composite, error) {
	if len(parts) == 0 {
		return Composite{}, fmt.Errorf("composite curve without parts")
	}
	c := Composite{parts: slices.Clone(parts)}
	sum := 0.0
	var few []mgl64.Vec3
	for i, part := range parts {
		t0, t1 := part.Domain()
		if !positive(t1 - t0) {
			return Composite{}, fmt.Errorf("composite curve: part %d has no finite length", i)
		}
		sum += t1 - t0
		c.ends = append(c.ends, sum)
		few = append(few, part.Point(t0), part.Point((t0+t1)/2))
	}
	c.period = closure(c, few, false)
	return c, nil
}

// Parts are the curves of the chain; not to be changed.
func (c Composite) Parts() []Curve { return c.parts }

// part is the part at t and its own parameter there.
func (c Composite) part(t float64) (Curve, float64) {
	t = wrap(t, 0, c.ends[len(c.ends)-1], c.period)
	i := sort.Search(len(c.ends)-1, func(i int) bool { return t < c.ends[i] })
	if i > 0 {
		t -= c.ends[i-1]
	}
	t0, _ := c.parts[i].Domain()
	return c.parts[i], t0 + t
}

// Point is the position at t.
func (c Composite) Point(t float64) mgl64.Vec3 {
	part, s := c.part(t)
	return part.Point(s)
}

// Derivatives are those of the part at t, at a joint of the one after.
func (c Composite) Derivatives(t float64) (d1, d2 mgl64.Vec3) {
	part, s := c.part(t)
	return part.Derivatives(s)
}

// Domain is 0 to the sum of the parts' domains.
func (c Composite) Domain() (t0, t1 float64) { return 0, c.ends[len(c.ends)-1] }

// Period is the length of the domain where the chain closes.
func (c Composite) Period() float64 { return c.period }

// Param asks every part.
func (c Composite) Param(p mgl64.Vec3) float64 {
	best, t, from := math.Inf(1), 0.0, 0.0
	for i, part := range c.parts {
		s := part.Param(p)
		d := part.Point(s).Sub(p)
		if d2 := d.Dot(d); d2 < best {
			t0, _ := part.Domain()
			best, t = d2, from+s-t0
		}
		from = c.ends[i]
	}
	if c.period > 0 && t >= c.period {
		t = 0
	}
	return t
}
