package curve

import (
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

const (
	// maxPieces bounds the points that one smooth stretch gets, whatever the
	// tolerance asks for.
	maxPieces = 1 << 13
	// maxTurns bounds how often one cut may run round a closed curve.
	maxTurns = 16
	// maxAngle is the greatest turn from one chord to the next that is ever
	// allowed: a closed curve then has three chords at least.
	maxAngle = 2 * math.Pi / 3
)

// Cut chooses the parameters of a polyline along c from t0 to t1, both ends
// included, that stays within tol.Chord mm of the curve and turns by no more
// than about tol.Angle from chord to chord. A tolerance that is not positive
// asks for nothing. t1 < t0 runs backwards and gives exactly the same
// parameters in reverse order. Corners are kept as points; a stretch that
// closes on itself has two inner points at least.
//
// For a closed edge pass t0 and t0 plus or minus the period. Not more than
// about 8000 points come between two corners.
func Cut(c Curve, t0, t1 float64, tol geom.Tolerance) []float64 {
	lo, hi := min(t0, t1), max(t0, t1)
	period := c.Period()
	if short := 1e-12 * (math.Abs(lo) + math.Abs(hi)); !(hi-lo > short) || math.IsInf(hi-lo, 0) || period > 0 && hi-lo > maxTurns*period {
		return []float64{t0, t1}
	}
	stops := between(corners(c), lo, hi, period)
	closed := len(stops) < 4 && meets(c, lo, hi)
	out := []float64{lo}
	for i := range len(stops) - 1 {
		least := 1
		if closed {
			least = []int{0, 3, 2, 1}[len(stops)-1]
		}
		out = cutSmooth(out, c, stops[i], stops[i+1], least, tol)
	}
	if t1 < t0 {
		slices.Reverse(out)
	}
	return out
}

// meets reports that the curve is in one place at both parameters.
func meets(c Curve, a, b float64) bool {
	p, q, m := c.Point(a), c.Point(b), c.Point((a+b)/2)
	return p.Sub(q).Len() <= declaredGap && p.Sub(q).Len() <= 1e-3*(p.Sub(m).Len()+m.Sub(q).Len())
}

// corners lists the parameters of the domain where c may have a corner, with
// both ends where it is closed but perhaps not smooth there.
func corners(c Curve) []float64 {
	switch c := c.(type) {
	case BSpline:
		t0, t1 := c.Domain()
		return append(append([]float64{t0}, c.k.Corners()...), t1)
	case Polyline, Composite:
		return cornersOfChain(c)
	case Trimmed:
		out := []float64{c.t0, c.t1}
		for _, b := range between(corners(c.base), c.t0, c.t1, c.base.Period()) {
			out = append(out, c.onBase(b))
		}
		slices.Sort(out)
		return slices.Compact(out)
	case Follower:
		return corners(c.Leader())
	}
	return nil
}

func cornersOfChain(c Curve) []float64 {
	chain, ok := c.(Composite)
	if !ok {
		return Breaks(c)
	}
	out := []float64{0}
	from := 0.0
	for i, part := range chain.parts {
		t0, _ := part.Domain()
		for _, b := range corners(part) {
			out = append(out, from+b-t0)
		}
		from = chain.ends[i]
		out = append(out, from)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// between lists lo, those of the parameters (and of their repetitions by
// whole periods) that lie between, and hi. What is within a billionth of
// another is left out.
func between(ts []float64, lo, hi, period float64) []float64 {
	slack := 1e-9 * (hi - lo)
	out := append(make([]float64, 0, len(ts)+2), lo)
	for _, t := range ts {
		if period > 0 {
			t -= period * math.Floor((t-lo)/period)
		}
		for ; t < hi-slack; t += period {
			if t > lo+slack {
				out = append(out, t)
			}
			if period == 0 {
				break
			}
		}
	}
	slices.Sort(out)
	out = slices.CompactFunc(out, func(a, b float64) bool { return math.Abs(b-a) <= slack })
	return append(out, hi)
}

// cutSmooth appends the parameters after a up to b, at least a number of
// pieces.
func cutSmooth(out []float64, c Curve, a, b float64, least int, tol geom.Tolerance) []float64 {
	chord, angle := bounds(tol)
	if r, ok := radius(c); ok {
		n := int(math.Ceil((b-a)/arcStep(r, chord, angle) - 1e-9))
		n = min(max(n, least), maxPieces)
		for i := 1; i < n; i++ {
			out = append(out, a+(b-a)*float64(i)/float64(n))
		}
		return append(out, b)
	}
	chord *= 0.97 // the rest is for what lies between the places looked at
	ts, depth := share(c, walk(c, a, b, chord, angle), least, chord, angle)
	for _, t := range ts {
		out = divide(out, c, out[len(out)-1], t, chord, angle, depth)
	}
	return out
}

// share divides the stretch into pieces of equal need. The need is an
// estimate: where many pieces do not hold, more are tried; where few do not,
// or the most are reached, it is left to dividing them up to depth times.
func share(c Curve, w walked, least int, chord, angle float64) (ts []float64, depth int) {
	n := max(int(math.Ceil(min(w.total(), maxPieces)-1e-6)), least)
	for range 4 {
		if n >= maxPieces {
			return w.equal(maxPieces), 0 // more points would not help
		}
		ts = w.equal(n)
		bad, from := 0, w.t[0]
		for _, t := range ts {
			if !holds(c, from, t, chord, angle) {
				bad++
			}
			from = t
		}
		if bad <= n/8 {
			break
		}
		n += (n + 11) / 12
	}
	return ts, 10
}

// bounds reads a tolerance: no chord bound is an infinite one.
func bounds(tol geom.Tolerance) (chord, angle float64) {
	chord, angle = math.Inf(1), maxAngle
	if tol.Chord > 0 {
		chord = tol.Chord
	}
	if tol.Angle > 0 {
		angle = min(angle, tol.Angle)
	}
	return chord, angle
}

// radius is that of a circle or an arc of one.
func radius(c Curve) (float64, bool) {
	if t, ok := c.(Trimmed); ok {
		c = t.base
	}
	k, ok := c.(Circle)
	return k.r, ok
}

// arcStep is the greatest angle, radians, between points on a circle of
// radius r mm whose chord stays within a height of chord mm and which turns
// by no more than angle: the height is r (1 - cos(step/2)).
func arcStep(r, chord, angle float64) float64 {
	angle = min(angle, maxAngle)
	if x := chord / r; x < 0.5 { // beyond, the bound on the angle is sharper
		angle = min(angle, 4*math.Asin(math.Sqrt(x/2))) // = 2 acos(1-x), exact for small x
	}
	return max(angle, 1e-6)
}

// A walked stretch knows how many chords each bit of it asks for.
type walked struct {
	t    []float64
	need []float64 // sum of the chords needed up to t
}

// walk goes along the curve in small steps and adds up how much it bends. A
// bit that turns by θ over a length l needs θ/angle chords for the angle and
// sqrt(θ l / 8 chord) for the height (sagitta l²κ/8 with curvature κ = θ/l).
func walk(c Curve, a, b, chord, angle float64) walked {
	stops := between(Breaks(c), a, b, c.Period())
	const fine = 8
	n := 1 + fine*(len(stops)-1)
	w := walked{t: append(make([]float64, 0, n), a), need: append(make([]float64, 0, n), 0)}
	p, d := c.Point(a), tangent(c, a, stops[0], stops[1])
	sum := 0.0
	for i := range len(stops) - 1 {
		for j := 1; j <= fine; j++ {
			t := stops[i] + (stops[i+1]-stops[i])*float64(j)/fine
			if j == fine {
				t = stops[i+1]
			}
			q, e := c.Point(t), tangent(c, t, stops[i], stops[i+1])
			l, turned := q.Sub(p).Len(), angleOf(d, e)
			if need := max(turned/angle, math.Sqrt(turned*l/(8*chord))); need >= 0 { // not NaN
				sum += min(need, maxPieces)
			}
			w.t, w.need = append(w.t, t), append(w.need, sum)
			p, d = q, e
		}
	}
	return w
}

// tangent is the direction at t, from a little inside the stretch where the
// curve stands still or at its ends, where the derivative may be the other
// side's.
func tangent(c Curve, t, a, b float64) mgl64.Vec3 {
	s := min(max(t, a+1e-9*(b-a)), b-1e-9*(b-a))
	d, _ := c.Derivatives(s)
	if u, ok := geom.Unit(d); ok {
		return u
	}
	h := 1e-4 * (b - a)
	u, _ := geom.Unit(c.Point(min(s+h, b)).Sub(c.Point(max(s-h, a))))
	return u
}

// angleOf is the angle between unit vectors, 0 where one is missing.
func angleOf(a, b mgl64.Vec3) float64 { return math.Atan2(a.Cross(b).Len(), a.Dot(b)) }

func (w walked) total() float64 { return w.need[len(w.need)-1] }

// equal lists the ends of n pieces that share the need equally.
func (w walked) equal(n int) []float64 {
	last, total := len(w.t)-1, w.total()
	out := make([]float64, 0, n)
	at := 0
	for i := 1; i < n; i++ {
		if total <= 1e-9 { // straight, yet to be divided
			out = append(out, w.t[0]+(w.t[last]-w.t[0])*float64(i)/float64(n))
			continue
		}
		want := total * float64(i) / float64(n)
		for at < last-1 && w.need[at+1] < want {
			at++
		}
		f := (want - w.need[at]) / (w.need[at+1] - w.need[at])
		out = append(out, w.t[at]+f*(w.t[at+1]-w.t[at]))
	}
	return append(out, w.t[last])
}

// divide appends the parameters after a up to b, halving while a chord does
// not hold.
func divide(out []float64, c Curve, a, b, chord, angle float64, depth int) []float64 {
	m := (a + b) / 2
	if depth > 0 && m > a && m < b && !holds(c, a, b, chord, angle) {
		out = divide(out, c, a, m, chord, angle, depth-1)
		return divide(out, c, m, b, chord, angle, depth-1)
	}
	return append(out, b)
}

// holds looks at seven places between a and b. A tenth more than the angle is
// let pass: it bounds looks, not distances.
func holds(c Curve, a, b, chord, angle float64) bool {
	p, q := c.Point(a), c.Point(b)
	d := q.Sub(p)
	l2 := d.Dot(d)
	for i := 1; i < 8; i++ {
		e := c.Point(a + (b-a)*float64(i)/8).Sub(p)
		s := 0.0
		if l2 > 0 {
			s = min(max(e.Dot(d)/l2, 0), 1)
		}
		if e.Sub(d.Mul(s)).Len() > chord {
			return false
		}
	}
	t0, t1, t2 := tangent(c, a, a, b), tangent(c, (a+b)/2, a, b), tangent(c, b, a, b)
	return angleOf(t0, t1)+angleOf(t1, t2) <= 1.1*angle
}
