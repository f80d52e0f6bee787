package surface

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"github.com/go-gl/mathgl/mgl64"
)

// grid is a net of points over a B-spline surface to begin searches from.
type grid struct {
	u, v []float64
	p    []mgl64.Vec3 // [i*len(v)+j]
}

// maxGrid bounds the net of one surface: 16384 points are 400 kB.
const maxGrid = 128

// spread lays the net, degree+1 lines a span where that is not too many.
func (s *bspline) spread() {
	g := &s.grid
	g.u, g.v = thin(places(&s.u)), thin(places(&s.v))
	for _, c := range s.sides { // a search from a pole itself does not know where to turn
		if c.OnU {
			moveIn(g.u, c.At)
		} else {
			moveIn(g.v, c.At)
		}
	}
	g.p = make([]mgl64.Vec3, 0, len(g.u)*len(g.v))
	for _, u := range g.u {
		for _, v := range g.v {
			g.p = append(g.p, BSpline{s}.Point(u, v))
		}
	}
}

// moveIn moves an end of the places a third of the way to the next one.
func moveIn(t []float64, end float64) {
	if i := len(t) - 1; t[i] == end {
		t[i] += (t[i-1] - t[i]) / 3
	} else if t[0] == end {
		t[0] += (t[1] - t[0]) / 3
	}
}

// thin keeps at most maxGrid of the values, both ends among them.
func thin(t []float64) []float64 {
	if len(t) <= maxGrid {
		return t
	}
	out := make([]float64, maxGrid)
	for i := range out {
		out[i] = t[i*(len(t)-1)/(maxGrid-1)]
	}
	return out
}

// A foot is where a search ended.
type foot struct{ u, v, d2 float64 }

const (
	// onSurface is the distance, mm, up to which a foot point found from the
	// hint is believed without looking elsewhere; edges of real files stand
	// off their surfaces by up to about this.
	onSurface = 1e-3
	// atPole is the distance, mm, at which a point is the pole itself.
	atPole = 1e-9
)

// Param walks downhill from the hint. Where that ends off the surface, or
// without a hint, it starts again from the most promising places of a net of
// points and takes the nearest foot point.
func (s BSpline) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	u0, u1, v0, v1 := s.Domain()
	if !h.Given {
		h.U, h.V = (u0+u1)/2, (v0+v1)/2
	}
	for i := range s.sides {
		if c := &s.sides[i]; c.P.Sub(p).Len() <= atPole {
			if c.OnU {
				return c.At, h.V
			}
			return h.U, c.At
		}
	}
	best := foot{d2: math.Inf(1)}
	if h.Given {
		best = s.descend(h.U, h.V, &p)
	}
	if !(best.d2 <= onSurface*onSurface) || stuckAt(s.sides, best.u, best.v, best.d2) {
		best = s.everywhere(&p, best)
	}
	return round(best.u, u0, s.pu, h.U, h.Given), round(best.v, v0, s.pv, h.V, h.Given)
}

// stuckAt reports a search that ended in a pole without the point being there:
// it may have come from the wrong side of it.
func stuckAt(poles []Pole, u, v, d2 float64) bool {
	for i := range poles {
		if c := &poles[i]; c.OnU && c.At == u || !c.OnU && c.At == v {
			return d2 > atPole*atPole
		}
	}
	return false
}

// everywhere descends from the six best local minima of the net. A foot found
// from the hint keeps its place unless another is clearly nearer.
func (s BSpline) everywhere(p *mgl64.Vec3, best foot) foot {
	s.once.Do(s.spread)
	for _, f := range s.grid.minima(p, 6) {
		g := s.descend(f.u, f.v, p)
		if math.IsInf(best.d2, 1) || math.Sqrt(g.d2) < math.Sqrt(best.d2)-atPole {
			best = g
		}
		if best.d2 <= atPole*atPole {
			break
		}
	}
	return best
}

// distances of a net's points keep their memory from search to search: the net
// of one surface is searched some thousand times, and takes up to 128 kB.
var distances = sync.Pool{New: func() any { return new([]float64) }}

// minima lists the n nearest net points that are nearer to p than their
// neighbours, in order of distance.
func (g *grid) minima(p *mgl64.Vec3, n int) []foot {
	far := distances.Get().(*[]float64)
	defer distances.Put(far)
	*far = slices.Grow((*far)[:0], len(g.p))
	d := (*far)[:len(g.p)]
	for i := range g.p {
		q := &g.p[i]
		x, y, z := q[0]-p[0], q[1]-p[1], q[2]-p[2]
		d[i] = x*x + y*y + z*z
	}
	nv := len(g.v)
	var out []foot
	for i := range g.u {
		for j := range g.v {
			k := i*nv + j
			if j > 0 && d[k-1] < d[k] || j+1 < nv && d[k+1] < d[k] ||
				i > 0 && d[k-nv] < d[k] || i+1 < len(g.u) && d[k+nv] < d[k] {
				continue
			}
			out = append(out, foot{g.u[i], g.v[j], d[k]})
		}
	}
	slices.SortStableFunc(out, func(a, b foot) int { return cmp.Compare(a.d2, b.d2) })
	return out[:min(n, len(out))]
}

// descend walks downhill, and once more from beside a saddle or a summit of
// the distance where it may have come to rest.
func (s *bspline) descend(u, v float64, p *mgl64.Vec3) foot {
	f := s.walk(u, v, p)
	for range 3 {
		u, v, ok := s.escape(f, p)
		if !ok {
			break
		}
		f = s.walk(u, v, p)
	}
	return f
}

// escape looks a little to both sides in the parameters in which the distance
// curves down.
func (s *bspline) escape(f foot, p *mgl64.Vec3) (u, v float64, ok bool) {
	if f.d2 <= atPole*atPole {
		return f.u, f.v, false
	}
	var j jet
	s.jet(f.u, f.v, &j)
	r := j.p.Sub(*p)
	best := f
	look := func(u, v float64) {
		u, v = s.u.Wrap(u, s.pu), s.v.Wrap(v, s.pv)
		q := BSpline{s}.Point(u, v)
		if d := distance2(&q, p); d < best.d2*(1-1e-9) {
			best = foot{u, v, d}
		}
	}
	const part = 1.0 / 32 // of the domain
	if dot(&r, &j.uu)+dot(&j.u, &j.u) < 0 {
		u0, u1 := s.u.Domain()
		look(f.u+part*(u1-u0), f.v)
		look(f.u-part*(u1-u0), f.v)
	}
	if dot(&r, &j.vv)+dot(&j.v, &j.v) < 0 {
		v0, v1 := s.v.Domain()
		look(f.u, f.v+part*(v1-v0))
		look(f.u, f.v-part*(v1-v0))
	}
	return best.u, best.v, best.d2 < f.d2
}

// walk goes to where the distance stops falling: Newton's step where the
// second derivatives allow it, Gauss' otherwise, halved while it leads uphill,
// along a side of the domain where it would leave it.
func (s *bspline) walk(u, v float64, p *mgl64.Vec3) foot {
	u, v = s.u.Wrap(u, s.pu), s.v.Wrap(v, s.pv)
	var jets [2]jet
	j, next := &jets[0], &jets[1]
	s.jet(u, v, j)
	d2 := distance2(&j.p, p)
	stop := 1e-10 * s.size
	for range 50 {
		du, dv := s.step(j, p, u, v)
		length := math.Abs(du)*j.u.Len() + math.Abs(dv)*j.v.Len()
		if !(length > 1e-15*s.size) {
			break
		}
		ok := false
		var nu, nv, nd float64
		for range 10 {
			nu, nv = s.u.Wrap(u+du, s.pu), s.v.Wrap(v+dv, s.pv)
			s.jet(nu, nv, next)
			if nd = distance2(&next.p, p); nd <= d2 {
				ok = true
				break
			}
			du, dv = du/2, dv/2
		}
		if !ok {
			break
		}
		u, v, d2, j, next = nu, nv, nd, next, j
		if length <= stop {
			break
		}
	}
	return foot{u, v, d2}
}

func distance2(q, p *mgl64.Vec3) float64 {
	x, y, z := q[0]-p[0], q[1]-p[1], q[2]-p[2]
	return x*x + y*y + z*z
}

// step is the next step from (u, v), already kept from leaving the domain.
func (s *bspline) step(j *jet, p *mgl64.Vec3, u, v float64) (du, dv float64) {
	x, y, z := j.p[0]-p[0], j.p[1]-p[1], j.p[2]-p[2]
	a, b, c := dot(&j.u, &j.u), dot(&j.u, &j.v), dot(&j.v, &j.v)
	gu := x*j.u[0] + y*j.u[1] + z*j.u[2]
	gv := x*j.v[0] + y*j.v[1] + z*j.v[2]
	ha := a + x*j.uu[0] + y*j.uu[1] + z*j.uu[2]
	hb := b + x*j.uv[0] + y*j.uv[1] + z*j.uv[2]
	hc := c + x*j.vv[0] + y*j.vv[1] + z*j.vv[2]
	if !(ha > 0.05*a && hc > 0.05*c && ha*hc-hb*hb > 0.01*a*c) {
		ha, hb, hc = a, b, c // not convex here
	}
	u0, u1 := s.u.Domain()
	v0, v1 := s.v.Domain()
	du, dv = solveInside(ha, hb, hc, gu, gv, side{u, u0, u1, s.pu}, side{v, v0, v1, s.pv})
	return limit(du, (u1-u0)/4), limit(dv, (v1-v0)/4)
}

func dot(a, b *mgl64.Vec3) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// side is a parameter with its domain and period.
type side struct{ t, t0, t1, period float64 }

// leaves reports that the parameter is at an end of an open domain and that
// going against the slope g would leave it.
func (s side) leaves(g float64) bool {
	return s.period == 0 && (s.t <= s.t0 && g > 0 || s.t >= s.t1 && g < 0)
}

// limit keeps a step within ±most.
func limit(d, most float64) float64 { return min(max(d, -most), most) }

// solveInside solves with those parameters held that would leave the domain.
func solveInside(a, b, c, gu, gv float64, u, v side) (du, dv float64) {
	fixU, fixV := u.leaves(gu), v.leaves(gv)
	du, dv = solve(a, b, c, gu, gv, fixU, fixV)
	if !fixU && u.leaves(-du) { // the mixed term pushes out
		return solve(a, b, c, gu, gv, true, fixV)
	}
	if !fixV && v.leaves(-dv) {
		return solve(a, b, c, gu, gv, fixU, true)
	}
	return du, dv
}

// solve gives the step that the quadratic model asks for with some of the
// parameters held. Vanishing derivatives (poles) hold theirs too.
func solve(a, b, c, gu, gv float64, fixU, fixV bool) (du, dv float64) {
	const tiny = 1e-18 // of squared speeds: 1e-9 of the other direction's
	fixU = fixU || !(a > tiny*c)
	fixV = fixV || !(c > tiny*a)
	switch det := a*c - b*b; {
	case fixU && fixV:
		return 0, 0
	case fixU:
		return 0, -gv / c
	case fixV:
		return -gu / a, 0
	case det > 1e-14*a*c:
		return (b*gv - c*gu) / det, (b*gu - a*gv) / det
	default: // directions almost parallel: one after the other
		return -gu / a / 2, -gv / c / 2
	}
}
