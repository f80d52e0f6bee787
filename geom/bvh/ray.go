package bvh

import (
	"cmp"
	"math"
	"slices"

	"github.com/go-gl/mathgl/mgl64"
)

// Hit is a place where a ray meets a triangle.
type Hit struct {
	T   float64    // in lengths of the ray's direction
	Tri int32      // the mesh's number of the triangle
	P   mgl64.Vec3 // mm
}

// AnyHit reports whether the ray o + t d meets a triangle at some t in
// [tmin, tmax]. The direction need not be unit: t counts in its lengths. Both
// sides of a triangle count, its edges and corners belong to it, and
// neighbours leave no gap; a triangle seen exactly edge-on is not met. A zero
// direction meets nothing.
func (t *Tree) AnyHit(o, d mgl64.Vec3, tmin, tmax float64) bool {
	var r ray
	if t.none() || !r.aim(o, d, t.reach) {
		return false
	}
	found := false
	t.eachHit(&r, tmin, tmax, func(int32, float64) bool {
		found = true
		return false
	})
	return found
}

// eachHit visits the hits with t in [tmin, tmax] in no order, by the triangle's
// place in leaf order, until told to stop.
func (t *Tree) eachHit(r *ray, tmin, tmax float64, visit func(k int32, at float64) bool) {
	var stack [maxStack]int32
	for n := 1; n > 0; {
		n--
		nd := &t.nodes[stack[n]]
		if _, ok := r.enters(&nd.b, tmin, tmax); !ok {
			continue
		}
		if nd.count == 0 {
			stack[n], stack[n+1] = nd.first+1, nd.first
			n += 2
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			if s, ok := r.meets(t.at(k)); ok && s >= tmin && s <= tmax && !visit(k, s) {
				return
			}
		}
	}
}

// Nearest is the hit with the least t in [tmin, tmax]; of equal ones that of
// the triangle with the lowest number. See AnyHit for what counts.
func (t *Tree) Nearest(o, d mgl64.Vec3, tmin, tmax float64) (Hit, bool) {
	var r ray
	if t.none() || !r.aim(o, d, t.reach) {
		return Hit{}, false
	}
	best := Hit{T: tmax, Tri: -1}
	var stack [maxStack]int32
	var from [maxStack]float64 // where the ray enters the box on the stack
	n := 0
	if at, ok := r.enters(&t.nodes[0].b, tmin, tmax); ok {
		from[0], n = at, 1
	}
	for n > 0 {
		n--
		if from[n] > best.T {
			continue
		}
		nd := &t.nodes[stack[n]]
		if nd.count == 0 {
			n = r.pushNearer(t, nd.first, tmin, best.T, &stack, &from, n)
			continue
		}
		for k := nd.first; k < nd.first+nd.count; k++ {
			s, ok := r.meets(t.at(k))
			if ok && s >= tmin && (s < best.T || s == best.T && (best.Tri < 0 || t.ids[k] < best.Tri)) {
				best.T, best.Tri = s, t.ids[k]
			}
		}
	}
	if best.Tri < 0 {
		return Hit{}, false
	}
	best.P = o.Add(d.Mul(best.T))
	return best, true
}

// Hits lists every hit with t in [tmin, tmax], sorted by t and then by
// triangle. A ray through an edge meets both its triangles.
func (t *Tree) Hits(o, d mgl64.Vec3, tmin, tmax float64) []Hit {
	var r ray
	if t.none() || !r.aim(o, d, t.reach) {
		return nil
	}
	var hits []Hit
	t.eachHit(&r, tmin, tmax, func(k int32, at float64) bool {
		hits = append(hits, Hit{T: at, Tri: t.ids[k], P: o.Add(d.Mul(at))})
		return true
	})
	slices.SortFunc(hits, func(a, b Hit) int {
		return cmp.Or(cmp.Compare(a.T, b.T), cmp.Compare(a.Tri, b.Tri))
	})
	return hits
}

// ray is a ray made ready for boxes and triangles.
type ray struct {
	// Triangles: the ray is turned and sheared so that it runs along its
	// largest coordinate kz (Woop, Benthin, Wald 2013).
	o          [3]float64
	kx, ky, kz int
	sx, sy, sz float64
	// Boxes: which of a box's six numbers each axis enters and leaves by, and
	// the origin moved by the padding against it.
	in, out          [3]int
	oin, oout        [3]float64
	invx, invy, invz float64
}

// rayPad widens boxes by this part of the scene's scale, so that no ray slips
// through where the triangle test, with its own rounding (some 10 units in
// the last place), would have said hit.
const rayPad = 1e-14

// farPad makes the leaving distance too long by more than three roundings can
// make it too short (Ize 2013).
const farPad = 1 + 8e-16

// aim prepares the ray; false for a direction without length or numbers that
// are not finite.
func (r *ray) aim(o, d mgl64.Vec3, reach float64) bool {
	ax, ay, az := math.Abs(d[0]), math.Abs(d[1]), math.Abs(d[2])
	r.kz = 2
	if ax >= ay && ax >= az {
		r.kz = 0
	} else if ay >= az {
		r.kz = 1
	}
	r.kx, r.ky = (r.kz+1)%3, (r.kz+2)%3
	dz := d[r.kz]
	r.sx, r.sy, r.sz = d[r.kx]/dz, d[r.ky]/dz, 1/dz
	pad := rayPad * (reach + max(math.Abs(o[0]), math.Abs(o[1]), math.Abs(o[2])))
	check := pad + r.sx + r.sy + r.sz
	if check-check != 0 { // NaN or infinite
		return false
	}
	r.o = o
	r.invx, r.invy, r.invz = 1/d[0], 1/d[1], 1/d[2]
	for i := range 3 {
		r.in[i], r.out[i] = i, i+3
		r.oin[i], r.oout[i] = o[i]+pad, o[i]-pad
		if math.Signbit(d[i]) { // a zero of either sign counts as its infinite inverse does
			r.in[i], r.out[i] = i+3, i
			r.oin[i], r.oout[i] = o[i]-pad, o[i]+pad
		}
	}
	return true
}

// enters says whether the ray passes the box within [tmin, tmax], and from
// where on. A coordinate that stands still on the box's very side gives NaN,
// which fails every comparison and so leaves the interval as it is.
func (r *ray) enters(b *[6]float64, tmin, tmax float64) (float64, bool) {
	near, far := tmin, tmax
	if s := (b[r.in[0]] - r.oin[0]) * r.invx; s > near {
		near = s
	}
	if s := (b[r.in[1]] - r.oin[1]) * r.invy; s > near {
		near = s
	}
	if s := (b[r.in[2]] - r.oin[2]) * r.invz; s > near {
		near = s
	}
	if s := (b[r.out[0]] - r.oout[0]) * r.invx; s < far {
		far = s
	}
	if s := (b[r.out[1]] - r.oout[1]) * r.invy; s < far {
		far = s
	}
	if s := (b[r.out[2]] - r.oout[2]) * r.invz; s < far {
		far = s
	}
	if far > 0 {
		far *= farPad
	} else {
		far *= 2 - farPad
	}
	return near, near <= far
}

// pushNearer puts the children that the ray enters on the stack, the nearer
// one on top.
func (r *ray) pushNearer(t *Tree, left int32, tmin, tmax float64, stack *[maxStack]int32, from *[maxStack]float64, n int) int {
	s0, ok0 := r.enters(&t.nodes[left].b, tmin, tmax)
	s1, ok1 := r.enters(&t.nodes[left+1].b, tmin, tmax)
	near, far := left, left+1
	if ok0 && ok1 && s1 < s0 {
		near, far, s0, s1 = far, near, s1, s0
	}
	if ok0 && ok1 {
		stack[n], from[n] = far, s1
		stack[n+1], from[n+1] = near, s0
		return n + 2
	}
	if ok0 {
		stack[n], from[n] = left, s0
		return n + 1
	}
	if ok1 {
		stack[n], from[n] = left+1, s1
		return n + 1
	}
	return n
}

// meets returns where the line meets the triangle. A corner is sheared to the
// same two numbers in every triangle that has it, and the edge from a to b
// gets exactly the opposite value of the edge from b to a; so a line cannot
// slip between neighbours.
func (r *ray) meets(t *[9]float64) (float64, bool) {
	u, v, w, az, bz, cz := r.sides(t)
	if (u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0) {
		return 0, false
	}
	det := u + v + w
	if det == 0 {
		return 0, false
	}
	return (u*az + v*bz + w*cz) / det * r.sz, true
}

// sides gives, for each corner, twice the signed area that the line and the
// opposite edge span in the sheared plane, and the corner's depth along kz.
// float64(...) keeps a compiler from fusing a product into the difference,
// which would break the exact opposition.
func (r *ray) sides(t *[9]float64) (u, v, w, az, bz, cz float64) {
	kx, ky, kz := r.kx, r.ky, r.kz
	ox, oy, oz := r.o[kx], r.o[ky], r.o[kz]
	az, bz, cz = t[kz]-oz, t[kz+3]-oz, t[kz+6]-oz
	ax, ay := t[kx]-ox-float64(r.sx*az), t[ky]-oy-float64(r.sy*az)
	bx, by := t[kx+3]-ox-float64(r.sx*bz), t[ky+3]-oy-float64(r.sy*bz)
	cx, cy := t[kx+6]-ox-float64(r.sx*cz), t[ky+6]-oy-float64(r.sy*cz)
	u = float64(cx*by) - float64(cy*bx)
	v = float64(ax*cy) - float64(ay*cx)
	w = float64(bx*ay) - float64(by*ax)
	return u, v, w, az, bz, cz
}
