package bvh

import (
	"math"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// Gap is the shortest connection of two meshes.
type Gap struct {
	Dist       float64    // mm
	PA, PB     mgl64.Vec3 // its ends on both meshes, mm, in b's coordinates
	TriA, TriB int32      // the meshes' numbers of the triangles
}

// Distance is the shortest connection of the two meshes, if it is at most limit
// mm long; place carries a's coordinates to b's. It is 0 where surfaces meet;
// a mesh wholly inside another one has a distance, see Tree.Contains for that.
func Distance(a, b *Tree, place geom.Transform, limit float64) (Gap, bool) {
	if a.none() || b.none() || !(limit >= 0) {
		return Gap{}, false
	}
	a0, b0 := boundsOf(a.Box().Transformed(place)), &b.nodes[0].b
	if boundsApart(&a0, b0) > limit*limit {
		return Gap{}, false
	}
	d := duo{a: a.Placed(place), b: b}
	d.best.square = math.Nextafter(limit*limit, math.Inf(1)) // at most, not below
	d.i = -1
	d.run()
	if d.i < 0 {
		return Gap{}, false
	}
	l := &d.best
	return Gap{
		Dist: math.Sqrt(l.square),
		PA:   mgl64.Vec3{l.ax, l.ay, l.az}, PB: mgl64.Vec3{l.bx, l.by, l.bz},
		TriA: d.a.ids[d.i], TriB: b.ids[d.j],
	}, true
}

// duo is a search over pairs of nodes of two trees in the same coordinates.
type duo struct {
	a, b *Tree
	best link
	i, j int32 // the triangles of best, in leaf order; -1 for none yet
}

// couple is a pair of nodes, with the square of the distance of their boxes.
type couple struct {
	a, b   int32
	square float64
}

func (d *duo) run() {
	var stack [2 * maxStack]couple
	stack[0] = d.couple(0, 0)
	for n := 1; n > 0; {
		n--
		c := stack[n]
		if !(c.square < d.best.square) {
			continue
		}
		a, b := &d.a.nodes[c.a], &d.b.nodes[c.b]
		if a.count > 0 && b.count > 0 {
			if d.leaves(a, b); d.best.square == 0 && d.i >= 0 {
				return
			}
			continue
		}
		l, r := d.children(c, a, b)
		if l.square < r.square {
			l, r = r, l
		}
		stack[n], stack[n+1] = l, r
		n += 2
	}
}

func (d *duo) couple(a, b int32) couple {
	return couple{a, b, boundsApart(&d.a.nodes[a].b, &d.b.nodes[b].b)}
}

// children opens the larger of the two nodes.
func (d *duo) children(c couple, a, b *node) (couple, couple) {
	if b.count > 0 || a.count == 0 && girth(&a.b) > girth(&b.b) {
		return d.couple(a.first, c.b), d.couple(a.first+1, c.b)
	}
	return d.couple(c.a, b.first), d.couple(c.a, b.first+1)
}

func (d *duo) leaves(a, b *node) {
	for i := a.first; i < a.first+a.count; i++ {
		ta := d.a.at(i)
		ba := triangleBounds(ta)
		var fa, fb face
		okA := fa.set(ta)
		for j := b.first; j < b.first+b.count; j++ {
			tb := d.b.at(j)
			bb := triangleBounds(tb)
			if !(boundsApart(&ba, &bb) < d.best.square) {
				continue
			}
			// Their planes tell most of the others apart, at a tenth of the cost.
			was := d.best.square
			if gap := math.Sqrt(was); okA && fa.apart(tb, gap) || fb.set(tb) && fb.apart(ta, gap) {
				continue
			}
			if linkTriangles(ta, tb, &d.best); d.best.square < was {
				d.i, d.j = i, j
			}
		}
	}
}

// boundsApart is the square of the distance of two boxes.
func boundsApart(a, b *[6]float64) float64 {
	s := 0.0
	for i := range 3 {
		if g := a[i] - b[i+3]; g > 0 {
			s += g * g
		} else if g := b[i] - a[i+3]; g > 0 {
			s += g * g
		}
	}
	return s
}

// meetTol, relative to the coordinates, is what rounding may part of two
// triangles that touch.
const meetTol = 1e-13

// Intersects reports whether the surfaces of the two meshes have a point in
// common; place carries a's coordinates to b's. Touching counts, to within
// rounding; a mesh wholly inside another one does not meet it.
func Intersects(a, b *Tree, place geom.Transform) bool {
	if a.none() || b.none() {
		return false
	}
	a0, b0 := boundsOf(a.Box().Transformed(place)), &b.nodes[0].b
	tol := meetTol * max(boundsReach(&a0), b.reach)
	if boundsApart(&a0, b0) > tol*tol {
		return false
	}
	d := duo{a: a.Placed(place), b: b}
	return d.meet(tol)
}

func (d *duo) meet(tol float64) bool {
	var stack [2 * maxStack]couple
	stack[0] = d.couple(0, 0)
	for n := 1; n > 0; {
		n--
		c := stack[n]
		if c.square > tol*tol {
			continue
		}
		a, b := &d.a.nodes[c.a], &d.b.nodes[c.b]
		if a.count > 0 && b.count > 0 {
			if d.leavesMeet(a, b, tol) {
				return true
			}
			continue
		}
		stack[n], stack[n+1] = d.children(c, a, b)
		n += 2
	}
	return false
}

func (d *duo) leavesMeet(a, b *node, tol float64) bool {
	for i := a.first; i < a.first+a.count; i++ {
		ta := d.a.at(i)
		ba := triangleBounds(ta)
		for j := b.first; j < b.first+b.count; j++ {
			tb := d.b.at(j)
			bb := triangleBounds(tb)
			if boundsApart(&ba, &bb) <= tol*tol && trianglesMeet(ta, tb, tol) {
				return true
			}
		}
	}
	return false
}

// trianglesMeet reports that two triangles are at most tol mm apart.
func trianglesMeet(a, b *[9]float64, tol float64) bool {
	var fa, fb face
	if fa.set(a) && fa.apart(b, tol) || fb.set(b) && fb.apart(a, tol) {
		return false
	}
	l := link{square: math.Inf(1)}
	linkTriangles(a, b, &l)
	return l.square <= tol*tol
}
