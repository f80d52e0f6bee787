package geom

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Box is an axis-aligned box in mm. The zero value is the point at the
// origin; start from EmptyBox to collect points.
type Box struct{ Min, Max mgl64.Vec3 }

// EmptyBox holds no point.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Min: mgl64.Vec3{inf, inf, inf}, Max: mgl64.Vec3{-inf, -inf, -inf}}
}

// IsEmpty reports a box without any point.
func (b Box) IsEmpty() bool { return !(b.Min[0] <= b.Max[0]) }

// Add returns the smallest box that holds b and p.
func (b Box) Add(p mgl64.Vec3) Box {
	for i := range 3 {
		b.Min[i], b.Max[i] = min(b.Min[i], p[i]), max(b.Max[i], p[i])
	}
	return b
}

// Union returns the smallest box that holds both.
func (b Box) Union(c Box) Box {
	for i := range 3 {
		b.Min[i], b.Max[i] = min(b.Min[i], c.Min[i]), max(b.Max[i], c.Max[i])
	}
	return b
}

// Grow moves every side outward by d mm.
func (b Box) Grow(d float64) Box {
	e := mgl64.Vec3{d, d, d}
	return Box{Min: b.Min.Sub(e), Max: b.Max.Add(e)}
}

// Overlaps reports whether the boxes share a point; touching counts.
func (b Box) Overlaps(c Box) bool {
	for i := range 3 {
		if !(b.Min[i] <= c.Max[i] && c.Min[i] <= b.Max[i]) {
			return false
		}
	}
	return true
}

// Centre is the middle of the box.
func (b Box) Centre() mgl64.Vec3 { return b.Min.Add(b.Max).Mul(0.5) }

// Diagonal is the length from corner to corner, mm; 0 for an empty box.
func (b Box) Diagonal() float64 {
	if b.IsEmpty() {
		return 0
	}
	return b.Max.Sub(b.Min).Len()
}

// Corners lists the eight corners, x fastest.
func (b Box) Corners() [8]mgl64.Vec3 {
	var c [8]mgl64.Vec3
	for i := range c {
		c[i] = b.Min
		for k := range 3 {
			if i>>k&1 == 1 {
				c[i][k] = b.Max[k]
			}
		}
	}
	return c
}

// Transformed is a box that holds the transformed box.
func (b Box) Transformed(t Transform) Box {
	if b.IsEmpty() {
		return b
	}
	out := EmptyBox()
	for _, c := range b.Corners() {
		out = out.Add(t.Point(c))
	}
	return out
}
