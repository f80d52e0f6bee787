package bvh

import "math"

// link is the shortest connection found so far between two triangles.
type link struct {
	square     float64 // of its length
	ax, ay, az float64
	bx, by, bz float64
}

func (l *link) offer(ax, ay, az, bx, by, bz float64) {
	dx, dy, dz := bx-ax, by-ay, bz-az
	if s := dx*dx + dy*dy + dz*dz; s < l.square {
		*l = link{s, ax, ay, az, bx, by, bz}
	}
}

// linkTriangles improves l where two triangles are nearer than it is long. The
// shortest connection runs between two edges, or from a corner to the inside of
// the other triangle; where an edge pierces the other triangle its length is
// zero (Larsen and others, UNC TR99-018, 1999).
func linkTriangles(a, b *[9]float64, l *link) {
	for i, j := 6, 0; j < 9; i, j = j, j+3 {
		for k, m := 6, 0; m < 9; k, m = m, m+3 {
			linkEdges(a, i, j, b, k, m, l)
		}
	}
	var fa, fb face
	okA, okB := fa.set(a), fb.set(b)
	for i := 0; i < 9; i += 3 {
		if okB {
			if x, y, z, ok := fb.foot(a[i], a[i+1], a[i+2]); ok {
				l.offer(a[i], a[i+1], a[i+2], x, y, z)
			}
		}
		if okA {
			if x, y, z, ok := fa.foot(b[i], b[i+1], b[i+2]); ok {
				l.offer(x, y, z, b[i], b[i+1], b[i+2])
			}
		}
	}
	for i, j := 6, 0; j < 9 && l.square > 0; i, j = j, j+3 {
		if okB {
			if x, y, z, ok := fb.pierced(a, i, j); ok {
				*l = link{0, x, y, z, x, y, z}
			}
		}
		if okA {
			if x, y, z, ok := fa.pierced(b, i, j); ok {
				*l = link{0, x, y, z, x, y, z}
			}
		}
	}
}

// linkEdges offers the shortest connection of the edge a[i]a[j] and the edge
// b[k]b[m] (Ericson 2005, 5.1.9). Parallel edges have one that ends at a
// corner, which the clamping finds.
func linkEdges(a *[9]float64, i, j int, b *[9]float64, k, m int, l *link) {
	px, py, pz := a[i], a[i+1], a[i+2]
	qx, qy, qz := b[k], b[k+1], b[k+2]
	dx, dy, dz := a[j]-px, a[j+1]-py, a[j+2]-pz
	ex, ey, ez := b[m]-qx, b[m+1]-qy, b[m+2]-qz
	rx, ry, rz := px-qx, py-qy, pz-qz
	dd, ee := dx*dx+dy*dy+dz*dz, ex*ex+ey*ey+ez*ez
	de := dx*ex + dy*ey + dz*ez
	dr, er := dx*rx+dy*ry+dz*rz, ex*rx+ey*ry+ez*rz
	s := 0.0
	// Below the bound the edges are parallel to within rounding.
	if det := dd*ee - de*de; det > 1e-14*dd*ee {
		s = clamp01((de*er - dr*ee) / det)
	}
	t := 0.0
	if ee > 0 {
		t = (de*s + er) / ee
	}
	if !(t >= 0 && t <= 1) || ee == 0 {
		t = clamp01(t)
		s = 0
		if dd > 0 {
			s = clamp01((de*t - dr) / dd)
		}
	}
	l.offer(px+s*dx, py+s*dy, pz+s*dz, qx+t*ex, qy+t*ey, qz+t*ez)
}

func clamp01(x float64) float64 {
	switch {
	case x > 1:
		return 1
	case x > 0: // NaN becomes 0
		return x
	}
	return 0
}

// face is a triangle with its normal.
type face struct {
	t              *[9]float64
	ex, ey, ez     float64
	fx, fy, fz     float64
	nx, ny, nz, nn float64
}

// set is false for a triangle without area.
func (f *face) set(t *[9]float64) bool {
	f.t = t
	f.ex, f.ey, f.ez = t[3]-t[0], t[4]-t[1], t[5]-t[2]
	f.fx, f.fy, f.fz = t[6]-t[0], t[7]-t[1], t[8]-t[2]
	f.nx, f.ny, f.nz = f.ey*f.fz-f.ez*f.fy, f.ez*f.fx-f.ex*f.fz, f.ex*f.fy-f.ey*f.fx
	f.nn = f.nx*f.nx + f.ny*f.ny + f.nz*f.nz
	return f.nn > 0
}

// foot is the point of the triangle right below (x, y, z), if there is one.
func (f *face) foot(x, y, z float64) (float64, float64, float64, bool) {
	px, py, pz := x-f.t[0], y-f.t[1], z-f.t[2]
	u := (py*f.fz-pz*f.fy)*f.nx + (pz*f.fx-px*f.fz)*f.ny + (px*f.fy-py*f.fx)*f.nz
	v := (f.ey*pz-f.ez*py)*f.nx + (f.ez*px-f.ex*pz)*f.ny + (f.ex*py-f.ey*px)*f.nz
	if !(u >= 0 && v >= 0 && u+v <= f.nn) {
		return 0, 0, 0, false
	}
	u, v = u/f.nn, v/f.nn
	return f.t[0] + u*f.ex + v*f.fx, f.t[1] + u*f.ey + v*f.fy, f.t[2] + u*f.ez + v*f.fz, true
}

// pierced is where the edge b[i]b[j] passes through the triangle from one side
// to the other. The normal of a sliver may be nothing but rounding: what comes
// out must be a point of both.
func (f *face) pierced(b *[9]float64, i, j int) (float64, float64, float64, bool) {
	p := f.side(b[i], b[i+1], b[i+2])
	q := f.side(b[j], b[j+1], b[j+2])
	if !(p > 0 && q < 0 || p < 0 && q > 0) {
		return 0, 0, 0, false
	}
	s := p / (p - q)
	x, y, z := b[i]+s*(b[j]-b[i]), b[i+1]+s*(b[j+1]-b[i+1]), b[i+2]+s*(b[j+2]-b[i+2])
	u, v, w, ok := f.foot(x, y, z)
	tol := meetTol * (manhattan(b[i], b[i+1], b[i+2]) + manhattan(b[j], b[j+1], b[j+2]) + manhattan(u, v, w))
	return u, v, w, ok && square(u-x, v-y, w-z) <= tol*tol
}

func manhattan(x, y, z float64) float64 { return math.Abs(x) + math.Abs(y) + math.Abs(z) }

// side is the signed distance from the plane, times the normal's length.
func (f *face) side(x, y, z float64) float64 {
	return (x-f.t[0])*f.nx + (y-f.t[1])*f.ny + (z-f.t[2])*f.nz
}

// sideErr is what rounding may add to a side, of the product of the lengths that
// it is made of: some ten operations.
const sideErr = 2e-15

// apart reports that the plane of f has the other triangle on one side,
// farther away than gap mm. It never says so of a sliver whose normal is nothing
// but rounding.
func (f *face) apart(b *[9]float64, gap float64) bool {
	p, q, r := f.side(b[0], b[1], b[2]), f.side(b[3], b[4], b[5]), f.side(b[6], b[7], b[8])
	d := min(p, q, r)
	if d < 0 {
		d = -max(p, q, r)
	}
	if !(d > 0 && d*d > gap*gap*f.nn) {
		return false
	}
	far := 0.0
	for i := 0; i < 9; i += 3 {
		far = max(far, manhattan(b[i]-f.t[0], b[i+1]-f.t[1], b[i+2]-f.t[2]))
	}
	d -= sideErr * manhattan(f.ex, f.ey, f.ez) * manhattan(f.fx, f.fy, f.fz) * far
	return d > 0 && d*d > gap*gap*f.nn
}
