package bvh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// insideRays are directions that are parallel to no likely edge or face. They
// point into different octants, so that three of them seldom pass the same gap.
var insideRays = [...]mgl64.Vec3{
	{0.3571329, 0.8194317, 0.4483961},
	{-0.7320143, 0.2591837, 0.6300817},
	{0.5113927, -0.4017323, -0.7596211},
	{-0.2236071, -0.9127943, 0.3416529},
	{0.8862147, 0.1373911, -0.4424387},
	{-0.6139731, 0.5517301, -0.5643719},
	{0.1234573, -0.2813047, 0.9516431},
}

// Contains reports whether p lies inside the closed mesh, whichever way its
// triangles turn: a ray from p then passes an odd number of triangles. Two
// rays must agree, a third one decides where a gap in the mesh makes them
// differ. A ray that hits an edge or a corner exactly is replaced by another;
// one that passes within rounding of it is counted right, because neighbours
// share their edge's arithmetic. For a point on the surface, to within
// rounding, the answer is either. Nothing is inside an open mesh, but the
// answer is not checked for that: see Closed.
func (t *Tree) Contains(p mgl64.Vec3) bool {
	if t.none() || !t.inBox(p) {
		return false
	}
	odd, even := 0, 0
	for _, d := range insideRays {
		n, clean := t.crossings(p, d)
		switch {
		case !clean:
			continue
		case n%2 == 1:
			odd++
		default:
			even++
		}
		if odd == 2 || even == 2 {
			break
		}
	}
	return odd > even
}

func (t *Tree) inBox(p mgl64.Vec3) bool {
	b := &t.nodes[0].b
	return p[0] >= b[0] && p[1] >= b[1] && p[2] >= b[2] && p[0] <= b[3] && p[1] <= b[4] && p[2] <= b[5]
}

// crossings counts the triangles that the ray passes; it is clean if it hits no
// edge exactly.
func (t *Tree) crossings(o, d mgl64.Vec3) (n int, clean bool) {
	var r ray
	if !r.aim(o, d, t.reach) {
		return 0, false
	}
	clean = true
	t.eachHit(&r, 0, math.Inf(1), func(k int32, at float64) bool {
		if !(at > 0) {
			return true
		}
		if u, v, w, _, _, _ := r.sides(t.at(k)); u == 0 || v == 0 || w == 0 {
			n, clean = 0, false
			return false
		}
		n++
		return true
	})
	return n, clean
}
