package tess

import (
	"errors"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// maxLoose bounds the corners of a region that is filled loosely, which costs
// up to their number squared for each ear that must be forced.
const maxLoose = 1200

var errTooLarge = errors.New("face has too many corners for a repair")

// loose fills a region whose rings may cross or touch themselves: holes are
// bridged to the outside, then ears are cut off, good ones while there are any
// and after that the least bad. The border is right whatever happens; triangles
// may overlap where the rings do. No points are added inside.
func (f *faceWork) loose(r region) ([][3]int32, error) {
	var scale mgl64.Vec2
	if scale = grid(r, f.w.tol).scale; !geom.Finite(mgl64.Vec3{scale[0], scale[1]}) {
		return nil, errUnbounded
	}
	if cornerCount(r.rings) > maxLoose { // bridging is quadratic too
		return nil, errTooLarge
	}
	poly := bridged(r.rings, scale)
	if len(poly) < 3 {
		return nil, errEmpty
	}
	var out [][3]int32
	for _, t := range cutEars(poly) {
		a, b, c := poly[t[0]].id, poly[t[1]].id, poly[t[2]].id
		if a != b && b != c && c != a {
			out = append(out, [3]int32{a, b, c})
		}
	}
	if len(out) == 0 {
		return nil, errEmpty
	}
	return out, nil
}

// cornerCount is that of the polygon that the rings make once bridged: each
// bridge repeats its two ends.
func cornerCount(rings []ring) int {
	n := 2 * (len(rings) - 1)
	for _, r := range rings {
		n += len(r.nodes)
	}
	return n
}

// bridged makes one anticlockwise polygon of the rings: the greatest outside,
// each hole joined by the shortest bridge, nearest hole first.
func bridged(rings []ring, scale mgl64.Vec2) []node {
	var lists [][]node
	outer, most := 0, -1.0
	for _, r := range rings {
		n := slices.Clone(r.nodes)
		for i := range n {
			n[i].at = mgl64.Vec2{n[i].at[0] * scale[0], n[i].at[1] * scale[1]}
		}
		s := ring{nodes: n}
		a := s.area()
		if a < 0 != (len(lists) > 0) {
			slices.Reverse(n)
		}
		if math.Abs(a) > most {
			most, outer = math.Abs(a), len(lists)
		}
		lists = append(lists, n)
	}
	if outer != 0 { // the first was turned as an outside, the greatest as a hole
		slices.Reverse(lists[0])
		slices.Reverse(lists[outer])
		lists[0], lists[outer] = lists[outer], lists[0]
	}
	poly, holes := lists[0], lists[1:]
	for len(holes) > 0 {
		k, i, j := nearestPair(poly, holes)
		h := holes[k]
		joined := slices.Concat(poly[:i+1], h[j:], h[:j+1], poly[i:])
		poly, holes = joined, slices.Delete(slices.Clone(holes), k, k+1)
	}
	return poly
}

// nearestPair finds the hole nearest to the polygon and the corners that are.
func nearestPair(poly []node, holes [][]node) (k, i, j int) {
	best := math.Inf(1)
	for hk, h := range holes {
		for pi := range poly {
			for hj := range h {
				if d := poly[pi].at.Sub(h[hj].at).LenSqr(); d < best {
					best, k, i, j = d, hk, pi, hj
				}
			}
		}
	}
	return k, i, j
}

// cutEars triangulates a polygon of any shape; it always gives n-2 triangles.
func cutEars(poly []node) [][3]int {
	idx := make([]int, len(poly))
	for i := range idx {
		idx[i] = i
	}
	var out [][3]int
	for at := 0; len(idx) > 3; {
		k := nextEar(poly, idx, at)
		n := len(idx)
		out = append(out, [3]int{idx[(k+n-1)%n], idx[k], idx[(k+1)%n]})
		idx = slices.Delete(idx, k, k+1)
		at = k
	}
	return append(out, [3]int{idx[0], idx[1], idx[2]})
}

// nextEar looks from place at on for a convex corner with nothing in its
// triangle; without one, the convex corner of least area, or else the corner
// that turns back least.
func nextEar(poly []node, idx []int, at int) int {
	n := len(idx)
	best, bestA := 0, math.Inf(1)
	for d := range n {
		k := (at + d) % n
		a, b, c := poly[idx[(k+n-1)%n]].at, poly[idx[k]].at, poly[idx[(k+1)%n]].at
		s := cross2(b.Sub(a), c.Sub(a))
		if s > 0 && !blockedEar(poly, idx, a, b, c) {
			return k
		}
		score := s
		if s <= 0 {
			score = 1e300 - s // turning back comes after all convex ones
			if s > -1e-12 {
				score = 0
			}
		}
		if score < bestA {
			best, bestA = k, score
		}
	}
	return best
}

func cross2(a, b mgl64.Vec2) float64 { return a[0]*b[1] - a[1]*b[0] }

// blockedEar reports a corner inside the triangle or on its sides, other than
// at its own corners.
func blockedEar(poly []node, idx []int, a, b, c mgl64.Vec2) bool {
	for _, i := range idx {
		p := poly[i].at
		if p == a || p == b || p == c {
			continue
		}
		if cross2(b.Sub(a), p.Sub(a)) >= 0 && cross2(c.Sub(b), p.Sub(b)) >= 0 && cross2(a.Sub(c), p.Sub(c)) >= 0 {
			return true
		}
	}
	return false
}
