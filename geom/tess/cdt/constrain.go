package cdt

import (
	"errors"

	"stepscan/geom/robust"
)

// ErrStuck says that a constraint could not be recovered within the bound on
// steps; it should not happen.
var ErrStuck = errors.New("constraint could not be recovered")

// pair is a side by its ends; ends survive flips, triangle numbers do not.
type pair struct{ a, b int32 }

// Constrain makes the straight line from vertex a to vertex b consist of sides.
// Where other vertices lie exactly on it they are returned in order. A line
// that crosses an earlier constraint is a CrossError.
func (t *T) Constrain(a, b int32) (through []int32, err error) {
	a, b = a+hidden, b+hidden
	for range len(t.pts) {
		if a == b {
			return through, nil
		}
		if a, err = t.recover(a, b); err != nil {
			return through, err
		}
		if a != b {
			through = append(through, a-hidden)
		}
	}
	return through, ErrStuck
}

// recover makes the line from a to the first vertex on the way to b a side,
// fixes it, and returns that vertex.
func (t *T) recover(a, b int32) (int32, error) {
	if i, k, ok := t.find(a, b); ok { // most constraints are Delaunay as they are
		t.fix(i, k)
		return b, nil
	}
	end, cut, err := t.crossed(a, b)
	if err != nil {
		return end, err
	}
	created, err := t.swapAway(a, end, cut)
	if err != nil {
		return end, err
	}
	i, k, ok := t.find(a, end)
	if !ok {
		return end, ErrStuck
	}
	t.fix(i, k)
	t.relax(created)
	return end, nil
}

// fix counts one more constraint on side k of triangle i.
func (t *T) fix(i int32, k int) {
	x := &t.tris[i]
	x.flags[k] = (x.flags[k] | fixed) ^ odd
	if j := x.n[k]; j != none {
		y := &t.tris[j]
		m := y.sideTo(i)
		y.flags[m] = x.flags[k]
	}
}

// crossed finds the first vertex on the line from a to b and the sides that
// the line crosses before it.
func (t *T) crossed(a, b int32) (end int32, cut []pair, err error) {
	i, k, ok := t.towards(a, b)
	if !ok {
		return b, nil, ErrStuck
	}
	if v := t.tris[i].v[(k+1)%3]; t.ahead(a, b, v) {
		return v, nil, nil
	}
	for range len(t.tris) {
		x := &t.tris[i]
		r, l := x.v[(k+1)%3], x.v[(k+2)%3] // right and left of the line
		if x.flags[k]&fixed != 0 {
			return b, nil, &CrossError{a - hidden, b - hidden, r - hidden, l - hidden}
		}
		cut = append(cut, pair{r, l})
		j := x.n[k]
		if j == none {
			return b, nil, ErrStuck
		}
		y := &t.tris[j]
		m := y.sideTo(i)
		switch d := y.v[m]; robust.Orient2D(t.pts[a], t.pts[b], t.pts[d]) {
		case 0:
			return d, cut, nil
		case 1: // d is left: the line leaves through the side from r to d, opposite l
			i, k = j, y.corner(l)
		default:
			i, k = j, y.corner(r)
		}
	}
	return b, nil, ErrStuck
}

// ahead reports a vertex on the ray from a through b.
func (t *T) ahead(a, b, v int32) bool {
	if v == b {
		return true
	}
	p, q, r := t.pts[a], t.pts[b], t.pts[v]
	return robust.Orient2D(p, q, r) == 0 && (r[0]-p[0])*(q[0]-p[0])+(r[1]-p[1])*(q[1]-p[1]) > 0
}

// towards turns round a to the triangle that the ray to b enters: its corner k
// is a, and b lies on the side's first corner's ray or to the left of it.
func (t *T) towards(a, b int32) (i int32, k int, ok bool) {
	i = t.at[a]
	for range len(t.tris) {
		x := &t.tris[i]
		k = x.corner(a)
		r, l := x.v[(k+1)%3], x.v[(k+2)%3]
		if t.ahead(a, b, r) {
			return i, k, true
		}
		if robust.Orient2D(t.pts[a], t.pts[b], t.pts[r]) < 0 && robust.Orient2D(t.pts[a], t.pts[b], t.pts[l]) > 0 {
			return i, k, true
		}
		i = x.n[(k+1)%3] // across the side from a to l: anticlockwise
		if i == none {
			return 0, 0, false
		}
	}
	return 0, 0, false
}

// find is the triangle that has the side from a to b or from b to a, and which
// side that is. At most one of the two may be hidden.
func (t *T) find(a, b int32) (int32, int, bool) {
	if a < hidden { // there is no way all round a hidden vertex
		a, b = b, a
	}
	i := t.at[a]
	for range len(t.tris) {
		x := &t.tris[i]
		k := x.corner(a)
		if x.v[(k+1)%3] == b {
			return i, (k + 2) % 3, true
		}
		i = x.n[(k+1)%3]
		if i == none {
			return 0, 0, false
		}
	}
	return 0, 0, false
}

// swapAway flips the cut sides until none crosses the line from a to b, and
// returns the sides made on the way. A side whose two triangles form no
// strictly convex quadrilateral waits until a neighbour has been flipped.
func (t *T) swapAway(a, b int32, cut []pair) (created []pair, err error) {
	for budget := 64 + 8*len(cut)*len(cut); len(cut) > 0; budget-- {
		if budget == 0 {
			return nil, ErrStuck
		}
		e := cut[0]
		cut = cut[1:]
		i, k, ok := t.find(e.a, e.b)
		if !ok {
			return nil, ErrStuck
		}
		if !t.convex(i, k) {
			cut = append(cut, e)
			continue
		}
		j := t.flip(i, k)
		n := pair{t.tris[j].v[0], t.tris[j].v[1]} // the new side, from a to d in flip's letters
		if t.separates(a, b, n) {
			cut = append(cut, n)
		} else {
			created = append(created, n)
		}
	}
	return created, nil
}

// convex reports whether the side's two triangles form a strictly convex
// quadrilateral.
func (t *T) convex(i int32, k int) bool {
	x := &t.tris[i]
	j := x.n[k]
	if j == none {
		return false
	}
	y := &t.tris[j]
	a, b, c, d := t.pts[x.v[k]], t.pts[x.v[(k+1)%3]], t.pts[x.v[(k+2)%3]], t.pts[y.v[y.sideTo(i)]]
	return robust.Orient2D(a, b, d) > 0 && robust.Orient2D(a, d, c) > 0
}

// separates reports whether the ends of n lie strictly on both sides of the
// line from a to b.
func (t *T) separates(a, b int32, n pair) bool {
	if n.a == a || n.a == b || n.b == a || n.b == b {
		return false
	}
	return robust.Orient2D(t.pts[a], t.pts[b], t.pts[n.a])*robust.Orient2D(t.pts[a], t.pts[b], t.pts[n.b]) < 0
}

// relax makes the triangles beside the given sides Delaunay again.
func (t *T) relax(sides []pair) {
	for _, e := range sides {
		if i, k, ok := t.find(e.a, e.b); ok {
			t.legalise(i, t.tris[i].n[k])
		}
	}
}
