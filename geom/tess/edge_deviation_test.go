package tess_test

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/mesh"
)

// chainOff measures how far the curve of an edge leaves the chain that stands for
// it, mm, between its points; ends is how far the chain's own points lie beside
// the curve, and turn the greatest one from piece to piece, rad.
func chainOff(b *brep.Body, m *mesh.Mesh, i int) (off, ends, turn float64) {
	c, chain := b.Edges[i].Curve, m.Edges[i].Verts
	if c == nil || len(chain) < 2 {
		return 0, 0, 0
	}
	lo, hi := c.Domain()
	at := make([]float64, len(chain))
	for k, v := range chain {
		at[k] = c.Param(m.Vertices[v])
		ends = max(ends, c.Point(at[k]).Sub(m.Vertices[v]).Len())
	}
	for k := 1; k < len(chain); k++ {
		p, q := m.Vertices[chain[k-1]], m.Vertices[chain[k]]
		t0, t1 := at[k-1], at[k]
		switch period := c.Period(); {
		case period > 0:
			t1 = near(t1, t0, period)
			if len(chain) == 2 && p == q {
				t1 = t0 + period
			}
		case math.Abs(t1-t0) > (hi-lo)/2 && c.Point(lo).Sub(c.Point(hi)).Len() < 1e-3:
			// The start of a curve that closes is its end as well.
			if t0 == lo || t0 == hi {
				t0 = lo + hi - t0
			} else {
				t1 = lo + hi - t1
			}
		}
		for _, x := range [...]float64{0.11, 0.23, 0.37, 0.5, 0.61, 0.78, 0.9} {
			off = max(off, fromSegment(c.Point(t0+(t1-t0)*x), p, q))
		}
		if k+1 < len(chain) && !cornerAt(c, t1) {
			turn = max(turn, between(q.Sub(p), m.Vertices[chain[k+1]].Sub(q)))
		}
	}
	return off, ends, turn
}

// cornerAt reports a place where a curve may have a corner: a point is kept
// there, and the turn is the curve's own.
func cornerAt(c curve.Curve, t float64) bool {
	lo, hi := c.Domain()
	if math.IsInf(lo, 0) || math.IsInf(hi, 0) {
		return false
	}
	h := 1e-6 * (hi - lo)
	a, _ := c.Derivatives(t - h)
	b, _ := c.Derivatives(t + h)
	return between(a, b) > 1e-2
}

func fromSegment(x, p, q mgl64.Vec3) float64 {
	d, e := q.Sub(p), x.Sub(p)
	t := 0.0
	if l := d.LenSqr(); l > 0 {
		t = min(max(e.Dot(d)/l, 0), 1)
	}
	return e.Sub(d.Mul(t)).Len()
}

func between(a, b mgl64.Vec3) float64 { return math.Atan2(a.Cross(b).Len(), a.Dot(b)) }
