package bvh

import (
	"math"

	"stepscan/geom"
)

// OverlapBox visits every triangle that has a point in the box, touching
// included to within rounding, by the mesh's numbers and in no useful order,
// until visit says false.
func (t *Tree) OverlapBox(b geom.Box, visit func(tri int32) bool) {
	if t.none() || b.IsEmpty() {
		return
	}
	q := boundsOf(b)
	var stack [maxStack]int32
	for n := 1; n > 0; {
		n--
		nd := &t.nodes[stack[n]]
		if !boundsOverlap(&nd.b, &q) {
			continue
		}
		if nd.count == 0 {
			stack[n], stack[n+1] = nd.first+1, nd.first
			n += 2
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			if triangleInBox(t.at(k), &q) && !visit(t.ids[k]) {
				return
			}
		}
	}
}

func boundsOverlap(a, b *[6]float64) bool {
	return a[0] <= b[3] && b[0] <= a[3] && a[1] <= b[4] && b[1] <= a[4] && a[2] <= b[5] && b[2] <= a[5]
}

// triangleInBox tests the separating axes of triangle and box: the box's
// sides, the triangle's plane, and each edge against each side
// (Akenine-Möller 2001).
func triangleInBox(t *[9]float64, b *[6]float64) bool {
	tb := triangleBounds(t)
	if !boundsOverlap(&tb, b) {
		return false
	}
	var c [3][3]float64 // corners seen from the box's middle
	var h [3]float64
	for i := range 3 {
		m := (b[i] + b[i+3]) / 2
		h[i] = (b[i+3] - b[i]) / 2
		c[0][i], c[1][i], c[2][i] = t[i]-m, t[i+3]-m, t[i+6]-m
	}
	e, f := less(&c[1], &c[0]), less(&c[2], &c[0])
	if n := crossed(&e, &f); parted(&n, &c, &h) {
		return false
	}
	for k := range 3 {
		d := less(&c[(k+1)%3], &c[k])
		for _, n := range [3][3]float64{{0, -d[2], d[1]}, {d[2], 0, -d[0]}, {-d[1], d[0], 0}} {
			if parted(&n, &c, &h) {
				return false
			}
		}
	}
	return true
}

func less(a, b *[3]float64) [3]float64 {
	return [3]float64{a[0] - b[0], a[1] - b[1], a[2] - b[2]}
}

func crossed(a, b *[3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// parted reports that the axis n, not necessarily unit, separates the corners
// from the box with half sides h.
func parted(n *[3]float64, c *[3][3]float64, h *[3]float64) bool {
	r := h[0]*math.Abs(n[0]) + h[1]*math.Abs(n[1]) + h[2]*math.Abs(n[2])
	lo, hi, size := math.Inf(1), math.Inf(-1), r
	for i := range 3 {
		d := n[0]*c[i][0] + n[1]*c[i][1] + n[2]*c[i][2]
		lo, hi = min(lo, d), max(hi, d)
		size = max(size, math.Abs(n[0]*c[i][0])+math.Abs(n[1]*c[i][1])+math.Abs(n[2]*c[i][2]))
	}
	tol := meetTol * size
	return lo > r+tol || hi < -r-tol
}
