package robust

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Error bounds of the straightforward formulas, relative to the sum of the
// absolute values of their terms (Shewchuk, Adaptive Precision Floating-Point
// Arithmetic and Fast Robust Geometric Predicates, 1997: ccwerrboundA and
// iccerrboundA). They hold as long as nothing underflows; tiny sees to that.
const (
	eps         = 1.0 / (1 << 53)
	orientBound = (3 + 16*eps) * eps
	circleBound = (10 + 96*eps) * eps
	// tiny is where products begin to lose bits below the smallest normal
	// number, 2^-1022: under it the filter does not apply.
	tiny = 1e-280
)

// Orient2D is +1 where a, b, c turn to the left (anticlockwise), -1 to the
// right, 0 where they lie exactly on a line. Coordinates that are not finite
// give 0.
func Orient2D(a, b, c mgl64.Vec2) int {
	ax, ay, bx, by := a[0]-c[0], a[1]-c[1], b[0]-c[0], b[1]-c[1]
	if (ax == 0 || by == 0) && (ay == 0 || bx == 0) { // differences are 0 only of equal numbers
		return 0
	}
	l, r := ax*by, ay*bx
	det, sum := l-r, math.Abs(l)+math.Abs(r)
	if bound := orientBound * sum; sum > tiny && !math.IsInf(sum, 0) {
		if det > bound {
			return 1
		}
		if -det > bound {
			return -1
		}
		if sign, ok := orientProducts(&a, &b, &c); ok {
			return sign
		}
	}
	return orientExact(a, b, c)
}

// orientProducts compares the two products exactly where the four differences
// are exact, as they are for most points that lie near a common line. Each
// product is split into its rounded value and the rest (Dekker; a fused
// multiply-add gives the rest).
func orientProducts(a, b, c *mgl64.Vec2) (sign int, ok bool) {
	ax, ok1 := exactDiff(a[0], c[0])
	by, ok2 := exactDiff(b[1], c[1])
	ay, ok3 := exactDiff(a[1], c[1])
	bx, ok4 := exactDiff(b[0], c[0])
	if !(ok1 && ok2 && ok3 && ok4) {
		return 0, false
	}
	l, r := ax*by, ay*bx
	if min(math.Abs(l), math.Abs(r)) <= tiny && (l != 0 || r != 0) {
		return 0, false // the rest might underflow
	}
	// l and r agree in all but the last bits here, so their difference is exact;
	// it is a multiple of a unit not smaller than the rests' difference's own.
	high := l - r
	low := math.FMA(ax, by, -l) - math.FMA(ay, bx, -r)
	switch {
	case high+low > 0:
		return 1, true
	case high+low < 0:
		return -1, true
	}
	return 0, high == 0 // otherwise the rests' difference was rounded
}

// exactDiff is x - y and whether that is without rounding (Knuth's two-sum).
func exactDiff(x, y float64) (float64, bool) {
	d := x - y
	z := d - x
	return d, (x-(d-z))+(-y-z) == 0
}

// SurelyInCircle reports that d lies inside the circle through a, b, c, which
// turn anticlockwise, by more than rounding can tell. It never says so wrongly,
// which is enough to flip edges by, and costs the same for points on a common
// circle, of which round holes are full: the exact sign takes 200 times as long
// there. Points that turn clockwise or are not finite are never inside.
func SurelyInCircle(a, b, c, d mgl64.Vec2) bool {
	det, bound := circle(&a, &b, &c, &d)
	return det > bound
}

// circle is the determinant that is positive where d lies inside the circle
// through a, b, c, and the greatest error it can have;
// infinite where the bound does not hold.
func circle(a, b, c, d *mgl64.Vec2) (det, bound float64) {
	ax, ay := a[0]-d[0], a[1]-d[1]
	bx, by := b[0]-d[0], b[1]-d[1]
	cx, cy := c[0]-d[0], c[1]-d[1]
	bc, cb := bx*cy, cx*by
	ca, ac := cx*ay, ax*cy
	ab, ba := ax*by, bx*ay
	al, bl, cl := ax*ax+ay*ay, bx*bx+by*by, cx*cx+cy*cy
	det = al*(bc-cb) + bl*(ca-ac) + cl*(ab-ba)
	sum := (math.Abs(bc)+math.Abs(cb))*al + (math.Abs(ca)+math.Abs(ac))*bl + (math.Abs(ab)+math.Abs(ba))*cl
	if !(sum > tiny && min(al, bl, cl) > tiny) || math.IsInf(sum, 0) {
		return det, math.Inf(1)
	}
	return det, circleBound * sum
}
