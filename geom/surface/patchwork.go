package surface

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// A Patch is a rectangle of a surface's parameters, run through from U0 to U1
// and from V0 to V1; U1 < U0 runs it backwards.
type Patch struct {
	S              Surface
	U0, U1, V0, V1 float64
}

// at is the place on the surface of a place in the unit square.
func (p *Patch) at(u, v float64) (float64, float64) {
	return p.U0 + (p.U1-p.U0)*u, p.V0 + (p.V1-p.V0)*v
}

// Patchwork is a grid of patches of different surfaces side by side. Patch
// [i][j] is where i <= u <= i+1 and j <= v <= j+1 (ISO 10303-42,
// rectangular_composite_surface). The normal is that of ∂P/∂u × ∂P/∂v.
type Patchwork struct {
	rows   [][]Patch // [u][v]
	pu, pv float64
	sides  []Pole
}

// NewPatchwork refuses ragged rows, patches without extent in a parameter or
// without an end, and patches of a patchwork. Gaps are not looked at.
func NewPatchwork(rows [][]Patch) (Patchwork, error) {
	if len(rows) == 0 || len(rows[0]) == 0 {
		return Patchwork{}, fmt.Errorf("surface without patches")
	}
	s := Patchwork{}
	for i, row := range rows {
		if len(row) != len(rows[0]) {
			return Patchwork{}, fmt.Errorf("rows of %d and %d patches", len(rows[0]), len(row))
		}
		for j := range row {
			p := &row[j]
			if _, ok := p.S.(Patchwork); ok || p.S == nil {
				return Patchwork{}, fmt.Errorf("patch %d, %d is itself of patches", i, j)
			}
			du, dv := math.Abs(p.U1-p.U0), math.Abs(p.V1-p.V0)
			if !(du > 0 && dv > 0) || math.IsInf(du, 0) || math.IsInf(dv, 0) {
				return Patchwork{}, fmt.Errorf("patch %d, %d: parameters %g to %g and %g to %g", i, j, p.U0, p.U1, p.V0, p.V1)
			}
		}
		s.rows = append(s.rows, slices.Clone(row))
	}
	s.findClosure()
	s.sides = collapsedSides(s)
	return s, nil
}

// findClosure compares opposite sides at a few places of each patch.
func (s *Patchwork) findClosure() {
	nu, nv := float64(len(s.rows)), float64(len(s.rows[0]))
	const few = 4
	meet := func(n float64, apart func(t float64) float64) bool {
		for i := range int(n)*few + 1 {
			if !(apart(float64(i)/few) <= closeGap) {
				return false
			}
		}
		return true
	}
	if meet(nv, func(v float64) float64 { return s.Point(0, v).Sub(s.Point(nu, v)).Len() }) {
		s.pu = nu
	}
	if meet(nu, func(u float64) float64 { return s.Point(u, 0).Sub(s.Point(u, nv)).Len() }) {
		s.pv = nv
	}
}

// patch is the one at (u, v) and the place in its unit square.
func (s *Patchwork) patch(u, v float64) (p *Patch, fu, fv float64) {
	i, fu := cell(u, len(s.rows), s.pu)
	j, fv := cell(v, len(s.rows[0]), s.pv)
	return &s.rows[i][j], fu, fv
}

// cell splits a parameter into the number of its cell, of n, and the rest.
// Beyond the sides of an open direction the last cell goes on.
func cell(t float64, n int, period float64) (i int, rest float64) {
	if period > 0 && (t < 0 || t > period) {
		t -= period * math.Floor(t/period)
	}
	i = int(min(max(math.Floor(t), 0), float64(n-1))) // NaN stays NaN in rest
	if math.IsNaN(t) {
		i = 0
	}
	return i, t - float64(i)
}

// Patches are the patches [u][v]; not to be changed.
func (s Patchwork) Patches() [][]Patch { return s.rows }

// Point is the position at (u, v).
func (s Patchwork) Point(u, v float64) mgl64.Vec3 {
	p, fu, fv := s.patch(u, v)
	return p.S.Point(p.at(fu, fv))
}

// Derivatives are those of the patch, at a joint of the one after.
func (s Patchwork) Derivatives(u, v float64) (du, dv mgl64.Vec3) {
	p, fu, fv := s.patch(u, v)
	du, dv = p.S.Derivatives(p.at(fu, fv))
	return du.Mul(p.U1 - p.U0), dv.Mul(p.V1 - p.V0)
}

// Normal is the patch's, turned over where one of its senses is.
func (s Patchwork) Normal(u, v float64) mgl64.Vec3 {
	p, fu, fv := s.patch(u, v)
	n := p.S.Normal(p.at(fu, fv))
	if p.U1 < p.U0 != (p.V1 < p.V0) {
		return n.Mul(-1)
	}
	return n
}

// Domain is the grid.
func (s Patchwork) Domain() (u0, u1, v0, v1 float64) {
	return 0, float64(len(s.rows)), 0, float64(len(s.rows[0]))
}

// Periods are the lengths of the domain in the directions that close.
func (s Patchwork) Periods() (pu, pv float64) { return s.pu, s.pv }

// Param takes the nearest of the patches' own foot points, each held inside its
// patch; at joints, where two are equally near, the one nearest the hint. Of a
// point beside the surface, beyond its sides, it is the place on the side that
// the foot point is moved to, which need not be the nearest.
func (s Patchwork) Param(p mgl64.Vec3, h Hint) (u, v float64) {
	for i := range s.sides {
		if c := &s.sides[i]; c.P.Sub(p).Len() <= atPole {
			if c.OnU {
				return c.At, h.V
			}
			return h.U, c.At
		}
	}
	best, off := math.Inf(1), math.Inf(1)
	for i, row := range s.rows {
		for j := range row {
			fu, fv, d := row[j].foot(p, h, float64(i), float64(j))
			x := round(float64(i)+fu, 0, s.pu, h.U, h.Given)
			y := round(float64(j)+fv, 0, s.pv, h.V, h.Given)
			far := math.Abs(x-h.U) + math.Abs(y-h.V)
			if !h.Given {
				far = 0
			}
			if d < best-atPole || d <= best+atPole && far < off {
				best, off, u, v = d, far, x, y
			}
		}
	}
	return u, v
}

// foot is the place in the unit square nearest to p, and how far, mm: that of
// the surface's foot point, held to the rectangle.
func (p *Patch) foot(q mgl64.Vec3, h Hint, i, j float64) (fu, fv, d float64) {
	mid := Near(p.at(0.5, 0.5)) // round which the surface's periods are wanted
	if h.Given {
		mid = Near(p.at(min(max(h.U-i, 0), 1), min(max(h.V-j, 0), 1)))
	}
	pu, pv := p.S.Periods()
	u, v := p.S.Param(q, mid)
	fu, fv = inRect(u, p.U0, p.U1, pu), inRect(v, p.V0, p.V1, pv)
	x, y := p.at(fu, fv)
	return fu, fv, p.S.Point(x, y).Sub(q).Len()
}

// inRect is where t is between a and b, 0 to 1, the nearest end outside;
// whole turns do not count.
func inRect(t, a, b, period float64) float64 {
	if mid := (a + b) / 2; period > 0 {
		t -= period * math.Round((t-mid)/period)
	}
	return min(max((t-a)/(b-a), 0), 1)
}
