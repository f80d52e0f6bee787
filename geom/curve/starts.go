package curve

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// A Start is a place on a curve from which to search for a foot point.
type Start struct {
	T float64
	P mgl64.Vec3
}

// onCurve is the distance, mm, below which a point counts as on the curve and
// no better foot point is looked for.
const onCurve = 1e-9

// Breaks lists the parameters of c's domain between which it is one smooth
// formula of moderate shape: knots, corners, joints, quarter turns; infinite
// domains are cut at ±1. Both ends are among them.
func Breaks(c Curve) []float64 {
	switch c := c.(type) {
	case BSpline:
		return c.k.Distinct()
	case Polyline:
		out := make([]float64, len(c.points))
		for i := range out {
			out[i] = float64(i)
		}
		return out
	case Trimmed:
		return within(c, c.base)
	case Composite:
		return c.breaks()
	case Follower:
		return Breaks(c.Leader())
	}
	t0, t1 := c.Domain()
	if math.IsInf(t0, 0) || math.IsInf(t1, 0) {
		return []float64{-1, 0, 1}
	}
	return []float64{t0, t0 + (t1-t0)/4, (t0 + t1) / 2, t0 + 3*(t1-t0)/4, t1}
}

// within maps the base's breaks into the trimmed interval.
func within(c Trimmed, base Curve) []float64 {
	out := []float64{c.t0}
	add := func(b float64) {
		if b > c.t0 && b < c.t1 {
			out = append(out, c.onBase(b))
		}
	}
	p := base.Period()
	for _, b := range Breaks(base) {
		if p > 0 { // an interval of up to a turn holds each break once or twice
			b -= p * math.Floor((b-c.t0)/p)
			add(b + p)
		}
		add(b)
	}
	out = append(out, c.t1)
	slices.Sort(out)
	return slices.Compact(out)
}

func (c Composite) breaks() []float64 {
	var out []float64
	from := 0.0
	for i, part := range c.parts {
		t0, _ := part.Domain()
		for _, b := range Breaks(part) {
			out = append(out, from+b-t0)
		}
		from = c.ends[i]
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Starts spreads points over a curve: several between neighbouring breaks,
// more for a higher degree, and at least a dozen in all.
func Starts(c Curve) []Start {
	b := Breaks(c)
	n := max(startsBetween(c), 12/len(b)+1)
	var out []Start
	for i, t := range b[:len(b)-1] {
		for j := range n {
			s := t + (b[i+1]-t)*float64(j)/float64(n)
			out = append(out, Start{s, c.Point(s)})
		}
	}
	last := b[len(b)-1]
	return append(out, Start{last, c.Point(last)})
}

// maxStarts bounds the starts between two breaks of a follower: one that follows
// a follower would have more with every step.
const maxStarts = 32

func startsBetween(c Curve) int {
	switch c := c.(type) {
	case BSpline:
		return 2 * (c.k.p + 1)
	case Follower: // it may turn where its leader does not, in cusps and swallow tails
		return max(startsBetween(c.Leader()), min(4*startsBetween(c.Leader()), maxStarts))
	}
	return 4
}

// NearestFrom tries the four starts that are local minima of the distance and
// nearest to p, and returns the parameter with the least distance found by
// descend.
func NearestFrom(starts []Start, p mgl64.Vec3, descend func(t float64) (t1, d2 float64)) float64 {
	type candidate struct{ t, d2 float64 }
	var few [4]candidate
	best := few[:0]
	dist := func(i int) float64 {
		q := &starts[i].P
		x, y, z := q[0]-p[0], q[1]-p[1], q[2]-p[2]
		return x*x + y*y + z*z
	}
	before, now := math.Inf(1), dist(0)
	for i := range starts {
		after := math.Inf(1)
		if i+1 < len(starts) {
			after = dist(i + 1)
		}
		if now <= before && now <= after {
			c := candidate{starts[i].T, now}
			at, _ := slices.BinarySearchFunc(best, c, func(a, b candidate) int { return cmp.Compare(a.d2, b.d2) })
			if at < len(few) {
				best = slices.Insert(best[:min(len(best), len(few)-1)], at, c)
			}
		}
		before, now = now, after
	}
	t, d2 := starts[0].T, math.Inf(1)
	for _, c := range best {
		if s, e := descend(c.t); e < d2 {
			t, d2 = s, e
		}
		if d2 <= onCurve*onCurve {
			break
		}
	}
	return t
}
