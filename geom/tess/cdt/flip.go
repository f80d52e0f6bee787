package cdt

import "stepscan/geom/robust"

// relink makes neighbour n, which had from across one of its sides, have to.
func (t *T) relink(n, from, to int32) {
	if n == none {
		return
	}
	for k, x := range t.tris[n].n {
		if x == from {
			t.tris[n].n[k] = to
			return
		}
	}
}

// set replaces triangle i and makes its corners know it.
func (t *T) set(i int32, tri triangle) {
	t.tris[i] = tri
	for _, v := range tri.v {
		t.at[v] = i
	}
}

// splitInside puts vertex p into triangle i.
func (t *T) splitInside(i, p int32) {
	o := t.tris[i]
	b, c := int32(len(t.tris)), int32(len(t.tris)+1)
	t.tris = append(t.tris, triangle{}, triangle{})
	v, n, f := o.v, o.n, o.flags
	t.set(i, triangle{v: [3]int32{v[0], v[1], p}, n: [3]int32{b, c, n[2]}, flags: [3]uint8{0, 0, f[2]}, in: o.in})
	t.set(b, triangle{v: [3]int32{v[1], v[2], p}, n: [3]int32{c, i, n[0]}, flags: [3]uint8{0, 0, f[0]}, in: o.in})
	t.set(c, triangle{v: [3]int32{v[2], v[0], p}, n: [3]int32{i, b, n[1]}, flags: [3]uint8{0, 0, f[1]}, in: o.in})
	t.relink(n[0], i, b)
	t.relink(n[1], i, c)
	t.last = i
	t.legalise(i, b, c)
}

// splitSide puts vertex p on side k of triangle i, which is no constraint.
func (t *T) splitSide(i int32, k int, p int32) {
	j := t.tris[i].n[k]
	if j == none { // the outermost border: no point lies there
		return
	}
	x, y := t.tris[i], t.tris[j]
	m := y.sideTo(i)
	a, b, c, d := x.v[k], x.v[(k+1)%3], x.v[(k+2)%3], y.v[m]
	ab, ca := (k+2)%3, (k+1)%3 // sides of x
	dc, bd := (m+2)%3, (m+1)%3 // sides of y = (d, c, b)
	i2, j2 := int32(len(t.tris)), int32(len(t.tris)+1)
	t.tris = append(t.tris, triangle{}, triangle{})
	t.set(i, triangle{v: [3]int32{a, b, p}, n: [3]int32{j2, i2, x.n[ab]}, flags: [3]uint8{0, 0, x.flags[ab]}, in: x.in})
	t.set(i2, triangle{v: [3]int32{a, p, c}, n: [3]int32{j, x.n[ca], i}, flags: [3]uint8{0, x.flags[ca], 0}, in: x.in})
	t.set(j, triangle{v: [3]int32{d, c, p}, n: [3]int32{i2, j2, y.n[dc]}, flags: [3]uint8{0, 0, y.flags[dc]}, in: y.in})
	t.set(j2, triangle{v: [3]int32{d, p, b}, n: [3]int32{i, y.n[bd], j}, flags: [3]uint8{0, y.flags[bd], 0}, in: y.in})
	t.relink(x.n[ca], i, i2)
	t.relink(y.n[bd], j, j2)
	t.last = i
	t.legalise(i, i2, j, j2)
}

// sideTo is the side of tri across which triangle i lies.
func (tri *triangle) sideTo(i int32) int {
	for k, x := range tri.n {
		if x == i {
			return k
		}
	}
	return 0
}

// corner is the index of vertex v in tri.
func (tri *triangle) corner(v int32) int {
	for k, x := range tri.v {
		if x == v {
			return k
		}
	}
	return 0
}

// flip swaps the diagonal across side k of triangle i: (a,b,c)+(d,c,b) become
// (a,b,d) at i and (a,d,c) at the neighbour's place, which is returned.
func (t *T) flip(i int32, k int) int32 {
	j := t.tris[i].n[k]
	x, y := t.tris[i], t.tris[j]
	m := y.sideTo(i)
	a, b, c, d := x.v[k], x.v[(k+1)%3], x.v[(k+2)%3], y.v[m]
	ab, ca := (k+2)%3, (k+1)%3
	dc, bd := (m+2)%3, (m+1)%3
	t.set(i, triangle{v: [3]int32{a, b, d}, n: [3]int32{y.n[bd], j, x.n[ab]}, flags: [3]uint8{y.flags[bd], 0, x.flags[ab]}, in: x.in})
	t.set(j, triangle{v: [3]int32{a, d, c}, n: [3]int32{y.n[dc], x.n[ca], i}, flags: [3]uint8{y.flags[dc], x.flags[ca], 0}, in: x.in})
	t.relink(y.n[bd], j, i)
	t.relink(x.n[ca], i, j)
	return j
}

// illegal reports whether side k of triangle i should be flipped: it is no
// constraint and the corner beyond lies inside the triangle's circle, beyond
// doubt: what rounding cannot tell is as good either way. Both triangles of a
// side get the same answer, as the points go in in the same order.
func (t *T) illegal(i int32, k int) bool {
	x := &t.tris[i]
	j := x.n[k]
	if j == none || x.flags[k]&fixed != 0 {
		return false
	}
	y := &t.tris[j]
	a, b, c, d := x.v[k], x.v[(k+1)%3], x.v[(k+2)%3], y.v[y.sideTo(i)]
	if a < d {
		a, b, c, d = d, c, b, a
	}
	return robust.SurelyInCircle(t.pts[a], t.pts[b], t.pts[c], t.pts[d])
}

// legalise flips illegal sides, starting with those of the given triangles,
// until none is left. All three sides of a triangle are looked at, not only the
// one opposite the new vertex: where rounding kept one side from being flipped,
// others may have become illegal. Each flip makes the triangulation more
// Delaunay, so it ends.
func (t *T) legalise(tris ...int32) {
	todo := append(t.todo[:0], tris...)
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for k := range 3 {
			if t.illegal(i, k) {
				todo = append(todo, i, t.flip(i, k))
				break
			}
		}
	}
	t.todo = todo
}
