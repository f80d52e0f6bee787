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
	if r.beyond || !(tmin >= 0) {
		t.eachHitFar(r, tmin, tmax, visit)
		return
	}
	quads := t.quadsOf()
	first, last := max(tmin, 0), max(tmax, 0)
	var stack [quadStack]passes
	var in [4]passes
	for n := 1; n > 0; {
		n--
		p := stack[n]
		if p.count == 0 {
			for i := r.enter(&quads[p.child], first, last, &in) - 1; i >= 0; i-- {
				stack[n] = in[i]
				n++
			}
			continue
		}
		for k := p.child; k < p.child+p.count; k++ {
			if s, ok := r.meets(t.at(k)); ok && s >= tmin && s <= tmax && !visit(k, s) {
				return
			}
		}
	}
}

// eachHitFar is eachHit for numbers that quads cannot hold and for lines that
// start before their origin.
func (t *Tree) eachHitFar(r *ray, tmin, tmax float64, visit func(k int32, at float64) bool) {
	var stack [maxStack]int32
	for n := 1; n > 0; {
		n--
		nd := &t.nodes[stack[n]]
		if !r.enters(&nd.b, tmin, tmax) {
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
	best := nearer{at: tmax, k: -1}
	if r.beyond || !(tmin >= 0) {
		t.eachHitFar(&r, tmin, tmax, func(k int32, at float64) bool {
			best.take(t, k, at)
			return true
		})
	} else {
		t.nearest(&r, tmin, &best)
	}
	if best.k < 0 {
		return Hit{}, false
	}
	return Hit{T: best.at, Tri: t.ids[best.k], P: o.Add(d.Mul(best.at))}, true
}

// nearer is the nearest hit so far, by the triangle's place in leaf order; -1
// for none. ahead keeps touch's looks alive.
type nearer struct {
	at    float64
	k     int32
	ahead uint64
}

// take keeps the nearer hit, of equal ones that of the triangle with the lower
// number.
func (h *nearer) take(t *Tree, k int32, at float64) {
	if at < h.at || at == h.at && (h.k < 0 || t.ids[k] < t.ids[h.k]) {
		h.at, h.k = at, k
	}
}

// touch looks at what will be needed, so that what is far in memory is fetched
// all at once and not one thing after another. In a million triangles it saves
// a seventh of the time.
func (h *nearer) touch(t *Tree, quads []quad, p *passes) {
	if c := int(p.child); p.count == 0 {
		h.ahead ^= uint64(quads[c].n)
	} else {
		h.ahead ^= math.Float64bits(t.tri[9*c])
	}
}

// fewWait is how many boxes hardly ever wait: a short array is sooner cleared
// than one of quadStack.
const fewWait = 40

// nearest looks for hits with t from tmin to best.at: of the boxes that the ray
// passes in a quad into the nearest first, while the others wait.
func (t *Tree) nearest(r *ray, tmin float64, best *nearer) {
	quads := t.quadsOf()
	var few [fewWait]passes
	stack, n := few[:], 0
	var in [4]passes
	var p passes // quad 0
	for {
		if p.count > 0 {
			for k := p.child; k < p.child+p.count; k++ {
				if s, ok := r.meets(t.at(k)); ok && s >= tmin {
					best.take(t, k, s)
				}
			}
		} else if m := r.enter(&quads[p.child], max(tmin, 0), max(best.at, 0), &in); m > 0 {
			if n+len(in) > len(stack) {
				stack = append(stack, make([]passes, quadStack)...)
			}
			p = in[0]
			best.touch(t, quads, &p)
			for i, from := 1, n; i < m; i++ {
				q := in[i&3]
				best.touch(t, quads, &q)
				if q.from < p.from {
					p, q = q, p
				}
				wait(stack, from, n, q)
				n++
			}
			continue
		}
		for n--; n >= 0 && stack[n].from > best.at; {
			n--
		}
		if n < 0 {
			return
		}
		p = stack[n]
	}
}

// wait puts q before the n-th place, but not before the place from, where the
// distances that follow are smaller.
func wait(stack []passes, from, n int, q passes) {
	for ; n > from && stack[n-1].from < q.from; n-- {
		stack[n] = stack[n-1]
	}
	stack[n] = q
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
	beyond           bool // numbers go beyond what quads hold
}

// rayPad widens boxes by this part of the scene's scale, so that no ray slips
// through where the triangle test, with its own rounding (some 10 units in
// the last place), would have said hit.
const rayPad = 1e-14

// leastPad, mm, is a padding where all coordinates are 0.
const leastPad = 1e-300

// farPad, relative, and farUnits, in the last place, make the leaving distance
// too long by more than three roundings can make it too short (Ize 2013).
const (
	farPad   = 8e-16
	farUnits = 8
)

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
	pad := rayPad*(reach+max(math.Abs(o[0]), math.Abs(o[1]), math.Abs(o[2]))) + leastPad
	check := pad + r.sx + r.sy + r.sz
	if check-check != 0 { // NaN or infinite
		return false
	}
	r.o = o
	r.invx, r.invy, r.invz = 1/d[0], 1/d[1], 1/d[2]
	r.beyond = !(pad <= rayPad*quadReach && max(math.Abs(r.sz), 1/math.Abs(r.sz)) <= quadReach)
	if !r.beyond {
		r.invx, r.invy, r.invz = finite(r.invx), finite(r.invy), finite(r.invz)
	}
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

// flat is the inverse of a direction's coordinate that stands still, or as good
// as, instead of infinity: times the distance of a box's side, which is at least
// the padding for every box that the ray is in, it is far beyond every hit, but
// no NaN where the distance is nothing. The direction's largest coordinate is at
// least 1/quadReach.
const flat = 1e200

func finite(inverse float64) float64 {
	if math.Abs(inverse) > flat {
		return math.Copysign(flat, inverse)
	}
	return inverse
}

// enters says whether the ray passes the box within [tmin, tmax]. A coordinate
// that stands still on the box's very side gives NaN here, which fails every
// comparison and so leaves the interval as it is.
func (r *ray) enters(b *[6]float64, tmin, tmax float64) bool {
	near, far := tmin, tmax
	for k, inv := range [3]float64{r.invx, r.invy, r.invz} {
		if s := (b[r.in[k]] - r.oin[k]) * inv; s > near {
			near = s
		}
		if s := (b[r.out[k]] - r.oout[k]) * inv; s < far {
			far = s
		}
	}
	return near <= far+math.Abs(far)*farPad
}

// meets returns where the line meets the triangle. A corner is sheared to the
// same two numbers in every triangle that has it, and the edge from a to b
// gets exactly the opposite value of the edge from b to a; so a line cannot
// slip between neighbours.
func (r *ray) meets(t *[9]float64) (float64, bool) {
	u, v, w, az, bz, cz := r.sides(t)
	// Reject where some are below and some above 0. Their signs tell without the
	// care of min and max for NaN; 0+ and 0- leave no sign on a zero.
	below := math.Float64bits(0+u) | math.Float64bits(0+v) | math.Float64bits(0+w)
	above := math.Float64bits(0-u) | math.Float64bits(0-v) | math.Float64bits(0-w)
	if int64(below&above) < 0 {
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
