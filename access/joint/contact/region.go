package contact

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/boxes"
)

// flat is a triangle in a plane, mm.
type flat [3]mgl64.Vec2

// region is a set of flat triangles that do not overlap each other.
type region []flat

// add takes a triangle in, turned anticlockwise.
func (r *region) add(t flat) {
	switch a := turn(t[0], t[1], t[2]); {
	case a > 0:
		*r = append(*r, t)
	case a < 0:
		*r = append(*r, flat{t[0], t[2], t[1]})
	}
}

// turn is twice the area of the triangle, positive where it runs anticlockwise.
func turn(a, b, c mgl64.Vec2) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

func (r region) boxes() []geom.Box {
	out := make([]geom.Box, len(r))
	for i, t := range r {
		b := geom.EmptyBox()
		for _, p := range t {
			b = b.Add(mgl64.Vec3{p[0], p[1], 0})
		}
		out[i] = b
	}
	return out
}

// fewRegions pairs of triangles are compared without a search.
const fewRegions = 64

// overlap is the common area of two regions, mm².
func overlap(a, b region) float64 {
	sum := 0.0
	if len(a)*len(b) <= fewRegions {
		for i := range a {
			for j := range b {
				sum += common(&a[i], &b[j])
			}
		}
		return sum
	}
	boxes.New(a.boxes()).Pairs(boxes.New(b.boxes()), func(i, j int32) bool {
		sum += common(&a[i], &b[j])
		return true
	})
	return sum
}

// common is the area of the intersection of two anticlockwise triangles:
// a is cut by each side of b in turn (Sutherland and Hodgman 1974).
func common(a, b *flat) float64 {
	var one, two [8]mgl64.Vec2 // at most six corners
	poly, next := one[:0], two[:0]
	poly = append(poly, a[:]...)
	for k := range 3 {
		p, q := b[k], b[(k+1)%3]
		next = next[:0]
		for i := range poly {
			c, d := poly[i], poly[(i+1)%len(poly)]
			dc, dd := turn(p, q, c), turn(p, q, d)
			if dc >= 0 {
				next = append(next, c)
			}
			if dc > 0 && dd < 0 || dc < 0 && dd > 0 {
				next = append(next, c.Add(d.Sub(c).Mul(dc/(dc-dd))))
			}
		}
		if poly, next = next, poly; len(poly) < 3 {
			return 0
		}
	}
	sum := 0.0
	for i := 2; i < len(poly); i++ {
		sum += turn(poly[0], poly[i-1], poly[i])
	}
	return math.Max(0, sum/2)
}
