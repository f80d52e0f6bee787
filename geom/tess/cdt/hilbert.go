package cdt

import (
	"cmp"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// keyed is a point with its place along the curve.
type keyed struct {
	key uint64
	i   int32
}

// orderBy sorts the points along a Hilbert curve over their box, so that each
// is inserted near the one before. Points in the same cell of the curve's
// 65536² grid keep their order.
func (t *T) orderBy(pts []mgl64.Vec2, lo, hi mgl64.Vec2) {
	const cells = 1 << 16
	size := max(hi[0]-lo[0], hi[1]-lo[1])
	scale := 0.0
	if size > 0 {
		scale = (cells - 1) / size
	}
	t.order = slices.Grow(t.order[:0], len(pts))
	for i, p := range pts {
		x, y := uint32((p[0]-lo[0])*scale), uint32((p[1]-lo[1])*scale)
		t.order = append(t.order, keyed{hilbert(min(x, cells-1), min(y, cells-1)), int32(i)})
	}
	slices.SortFunc(t.order, func(a, b keyed) int {
		return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.i, b.i))
	})
}

// hilbert is the place of a cell along the curve of order 16.
func hilbert(x, y uint32) uint64 {
	var d uint64
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d = d<<2 | uint64((3*rx)^ry)
		if ry == 0 { // turn the quadrant
			if rx == 1 {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return d
}
