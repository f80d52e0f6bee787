package bvh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"
)

// Near is the nearest place of a mesh.
type Near struct {
	Dist float64    // mm
	P    mgl64.Vec3 // mm
	Tri  int32      // the mesh's number of the triangle
}

// Closest is the point of the mesh nearest to p, if it is at most limit mm
// away. Of equally near triangles the one with the lowest number is named.
func (t *Tree) Closest(p mgl64.Vec3, limit float64) (Near, bool) {
	if t.none() || !(limit >= 0) {
		return Near{}, false
	}
	x, y, z := p[0], p[1], p[2]
	best, found := Near{Tri: -1}, limit*limit
	var stack [maxStack]int32
	var from [maxStack]float64
	n := 1
	from[0] = boundsSquare(&t.nodes[0].b, x, y, z)
	for n > 0 {
		n--
		if !(from[n] <= found) {
			continue
		}
		nd := &t.nodes[stack[n]]
		if nd.count == 0 {
			i, j := nd.first, nd.first+1
			di, dj := boundsSquare(&t.nodes[i].b, x, y, z), boundsSquare(&t.nodes[j].b, x, y, z)
			if di < dj {
				i, j, di, dj = j, i, dj, di
			}
			stack[n], from[n] = i, di
			stack[n+1], from[n+1] = j, dj
			n += 2
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			qx, qy, qz := closestOnTriangle(t.at(k), x, y, z)
			dx, dy, dz := qx-x, qy-y, qz-z
			d := dx*dx + dy*dy + dz*dz
			if d < found || d == found && (best.Tri < 0 || t.ids[k] < best.Tri) {
				found = d
				best = Near{P: mgl64.Vec3{qx, qy, qz}, Tri: t.ids[k]}
			}
		}
	}
	best.Dist = math.Sqrt(found)
	return best, best.Tri >= 0
}

// boundsSquare is the square of the distance of a point from a box.
func boundsSquare(b *[6]float64, x, y, z float64) float64 {
	dx, dy, dz := 0.0, 0.0, 0.0
	if x < b[0] {
		dx = b[0] - x
	} else if x > b[3] {
		dx = x - b[3]
	}
	if y < b[1] {
		dy = b[1] - y
	} else if y > b[4] {
		dy = y - b[4]
	}
	if z < b[2] {
		dz = b[2] - z
	} else if z > b[5] {
		dz = z - b[5]
	}
	return dx*dx + dy*dy + dz*dz
}

// sliver is the square of a sine: in flatter corners the foot on the plane is
// worked out too badly to be taken without a look at the edges.
const sliver = 1e-8

// closestOnTriangle is the point of the triangle nearest to (x, y, z): the
// foot on its plane where that lies inside, otherwise the nearest point of the
// three edges. A triangle without area is its edges.
func closestOnTriangle(t *[9]float64, x, y, z float64) (float64, float64, float64) {
	var f face
	best := math.Inf(1)
	var rx, ry, rz float64
	if f.set(t) {
		if fx, fy, fz, ok := f.foot(x, y, z); ok {
			ee := f.ex*f.ex + f.ey*f.ey + f.ez*f.ez
			ff := f.fx*f.fx + f.fy*f.fy + f.fz*f.fz
			if f.nn > sliver*ee*ff {
				return fx, fy, fz
			}
			rx, ry, rz = fx, fy, fz
			best = square(fx-x, fy-y, fz-z)
		}
	}
	for i, j := 6, 0; j < 9; i, j = j, j+3 {
		ax, ay, az := t[i], t[i+1], t[i+2]
		ex, ey, ez := t[j]-ax, t[j+1]-ay, t[j+2]-az
		f := (x-ax)*ex + (y-ay)*ey + (z-az)*ez
		l := ex*ex + ey*ey + ez*ez
		switch {
		case !(f > 0):
			f = 0
		case f >= l:
			f = 1
		default:
			f /= l
		}
		qx, qy, qz := ax+f*ex, ay+f*ey, az+f*ez
		if d := square(qx-x, qy-y, qz-z); d < best {
			best, rx, ry, rz = d, qx, qy, qz
		}
	}
	return rx, ry, rz
}

func square(x, y, z float64) float64 { return x*x + y*y + z*z }
