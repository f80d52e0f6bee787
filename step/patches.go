package step

import (
	"fmt"
	"math"

	"stepscan/geom/surface"
	"stepscan/step/p21"
)

// patches reads RECTANGULAR_COMPOSITE_SURFACE(name, segments). The face has its
// own bounds, so patches of one surface are that surface. Others are put side by
// side, for which each needs an end in both parameters.
func (g *geometry) patches(rec p21.Record, p *p21.Params, depth int) (s surface.Surface, turned bool, err error) {
	var rows [][]surface.Patch
	one, plain := true, true
	for _, ids := range p.RefGrid(1) {
		var row []surface.Patch
		for _, id := range ids {
			q, back, err := g.patch(id, depth)
			if err != nil {
				return nil, false, err
			}
			if s == nil {
				s, turned = q.S, back != (q.U1 < q.U0 != (q.V1 < q.V0))
			} else {
				one = one && liesOn(q.S, s)
			}
			plain = plain && !back
			row = append(row, q)
		}
		rows = append(rows, row)
	}
	switch {
	case s == nil:
		return nil, false, fmt.Errorf("surface without patches")
	case one:
		return s, turned, nil
	case !plain: // the parameters of the file's surface are not those of ours
		return nil, false, &unsupportedError{rec.ID(), rec.Name()}
	}
	if s, err = surface.NewPatchwork(rows); err != nil {
		err = fmt.Errorf("%w: %w", &unsupportedError{rec.ID(), rec.Name()}, err)
	}
	return s, false, err
}

// patch reads SURFACE_PATCH(parent, u_transition, v_transition, u_sense,
// v_sense) with the rectangle of the surface's parameters that it covers.
func (g *geometry) patch(id p21.ID, depth int) (q surface.Patch, turned bool, err error) {
	p, err := g.r.params(id, "SURFACE_PATCH")
	if err != nil {
		return q, false, err
	}
	parent, uSense, vSense := p.Ref(0), p.Bool(3), p.Bool(4)
	if p.Err() != nil {
		return q, false, p.Err()
	}
	if q, turned, err = g.rectangle(parent, depth); err != nil {
		return q, false, err
	}
	if !uSense {
		q.U0, q.U1 = q.U1, q.U0
	}
	if !vSense {
		q.V0, q.V1 = q.V1, q.V0
	}
	return q, turned, nil
}

// rectangle reads a surface as a rectangle of parameters: what
// RECTANGULAR_TRIMMED_SURFACE(name, basis, u1, u2, v1, v2, usense, vsense) has of
// its basis, or a surface's whole domain.
func (g *geometry) rectangle(id p21.ID, depth int) (q surface.Patch, turned bool, err error) {
	rec, err := g.r.open(id)
	if err != nil {
		return q, false, err
	}
	if !rec.Is("RECTANGULAR_TRIMMED_SURFACE") {
		if q.S, turned, err = g.surface(id, depth+1); err == nil {
			q.U0, q.U1, q.V0, q.V1 = q.S.Domain()
		}
		return q, turned, err
	}
	p := rec.Params()
	basis, u, v := p.Ref(1), [2]float64{p.Real(2), p.Real(3)}, [2]float64{p.Real(4), p.Real(5)}
	uSense, vSense := p.Bool(6), p.Bool(7)
	if p.Err() != nil {
		return q, false, p.Err()
	}
	if q.S, turned, err = g.surface(basis, depth+1); err != nil {
		return q, false, err
	}
	pu, pv := q.S.Periods()
	ku, kv := g.uvScale(basis, g.u.rad, depth)
	q.U0, q.U1 = fromTo(u[0]*ku, u[1]*ku, uSense, pu)
	q.V0, q.V1 = fromTo(v[0]*kv, v[1]*kv, vSense, pv)
	return q, turned, nil
}

// fromTo is the range from a to b, upwards or downwards: round a closed
// parameter b lies less than a turn, or a whole turn, on.
func fromTo(a, b float64, upwards bool, period float64) (from, to float64) {
	if period > 0 {
		b = a + math.Mod(b-a, period)
		slack := 1e-9 * period
		if upwards && b <= a+slack {
			b += period
		} else if !upwards && b >= a-slack {
			b -= period
		}
	}
	return a, b
}

// liesOn reports that places all over t's domain lie on s.
func liesOn(t, s surface.Surface) bool {
	const near = 1e-4 // mm
	u0, u1, v0, v1 := t.Domain()
	for _, d := range [...]*[2]*float64{{&u0, &u1}, {&v0, &v1}} {
		if math.IsInf(*d[0], 0) || math.IsInf(*d[1], 0) {
			*d[0], *d[1] = -1, 1
		}
	}
	for i := range 4 {
		for j := range 4 {
			q := t.Point(u0+(u1-u0)*float64(i)/3, v0+(v1-v0)*float64(j)/3)
			if !(s.Point(s.Param(q, surface.Hint{})).Sub(q).Len() <= near) {
				return false
			}
		}
	}
	return true
}
