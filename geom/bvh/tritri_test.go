package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// ivec is a point with whole coordinates, with which the test of two triangles
// is decided without rounding: products of three differences below 32 stay far
// below 2^63.
type ivec [3]int64

func (a ivec) sub(b ivec) ivec { return ivec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }

func (a ivec) dot(b ivec) int64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (a ivec) cross(b ivec) ivec {
	return ivec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// exactlyMeet: two triangles have a point in common where the origin lies in the
// hull of the nine differences of their corners, and then in that of at most
// four of these (Carathéodory), among them simplices without other corners.
func exactlyMeet(a, b [3]ivec) bool {
	var d []ivec
	for _, p := range a {
		for _, q := range b {
			d = append(d, p.sub(q))
		}
	}
	for i, p := range d {
		if p == (ivec{}) {
			return true
		}
		for j, q := range d[:i] {
			if p.cross(q) == (ivec{}) && p.dot(q) < 0 {
				return true
			}
			for k, r := range d[:j] {
				if originInTriangle(p, q, r) {
					return true
				}
				for _, s := range d[:k] {
					if originInside(p, q, r, s) {
						return true
					}
				}
			}
		}
	}
	return false
}

func originInTriangle(p, q, r ivec) bool {
	n := q.sub(p).cross(r.sub(p))
	return n != (ivec{}) && n.dot(p) == 0 && n.dot(p.cross(q)) >= 0 && n.dot(q.cross(r)) >= 0 && n.dot(r.cross(p)) >= 0
}

func originInside(p, q, r, s ivec) bool {
	v := q.sub(p).dot(r.sub(p).cross(s.sub(p)))
	if v == 0 {
		return false // a flat one is covered by its triangles
	}
	if v < 0 {
		p, q = q, p
	}
	return p.dot(r.cross(q)) <= 0 && p.dot(q.cross(s)) <= 0 && p.dot(s.cross(r)) <= 0 && q.dot(r.cross(s)) <= 0 ||
		p.dot(r.cross(q)) >= 0 && p.dot(q.cross(s)) >= 0 && p.dot(s.cross(r)) >= 0 && q.dot(r.cross(s)) >= 0
}

// drawTriangle picks corners on a small grid, so that many triangles are in one
// plane, touch at a corner or along an edge, or have no area.
func drawTriangle(t *rapid.T, flat bool) [3]ivec {
	c := rapid.Int64Range(-3, 3)
	var out [3]ivec
	for i := range out {
		out[i] = ivec{c.Draw(t, "x"), c.Draw(t, "y"), 0}
		if !flat {
			out[i][2] = c.Draw(t, "z")
		}
	}
	return out
}

func single(c [3]ivec) *mesh.Mesh {
	m := &mesh.Mesh{Triangles: [][3]int32{{0, 1, 2}}}
	for _, p := range c {
		m.Vertices = append(m.Vertices, mgl64.Vec3{float64(p[0]), float64(p[1]), float64(p[2])})
	}
	return m
}

// Two triangles meet exactly if whole numbers say so, also touching ones, those
// in one plane and those without area, and their distance is 0 exactly then. On
// this grid triangles that do not meet are 1e-3 mm apart or more.
func TestTrianglesMeetExactly(t *testing.T) {
	met, flats := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		flat := rapid.IntRange(0, 3).Draw(t, "flat") == 0
		a, b := drawTriangle(t, flat), drawTriangle(t, flat)
		want := exactlyMeet(a, b)
		if want {
			met++
			if flat {
				flats++
			}
		}
		ta, tb := Build(single(a)), Build(single(b))
		for i, p := range []geom.Transform{geom.Identity(), drawPlace(t)} {
			if got := Intersects(ta, tb.Placed(p), p); got != want {
				t.Fatalf("%v and %v, place %d: meet %v, want %v", a, b, i, got, want)
			}
			if got := Intersects(tb, ta.Placed(p), p); got != want {
				t.Fatalf("%v and %v, place %d: meet %v, want %v", b, a, i, got, want)
			}
			g, ok := Distance(ta, tb.Placed(p), p, math.Inf(1))
			if !ok || (g.Dist < 1e-11) != want || !want && g.Dist < 1e-3 {
				t.Fatalf("%v and %v, place %d: distance %g, meet: %v", a, b, i, g.Dist, want)
			}
		}
	})
	t.Logf("%d met, %d of them in one plane", met, flats)
}

// A connection of two triangles is the shortest one if all corners of each lie
// behind the plane through its end across it: then nothing can be nearer.
func TestDistanceOfTrianglesIsShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var a, b [9]float64
		c := rapid.Float64Range(-10, 10)
		for i := range 9 {
			a[i], b[i] = c.Draw(t, "a"), c.Draw(t, "b")
		}
		if rapid.Bool().Draw(t, "parallel") { // b in a plane parallel to a's, or flat as a line
			for i := 3; i < 9; i++ {
				b[i] = b[i%3] + a[i] - a[i%3]
			}
			f := rapid.Float64Range(-2, 2).Draw(t, "f")
			for i := 3; i < 6; i++ {
				b[i] += f * (a[i+3] - a[i-3])
			}
		}
		l := link{square: math.Inf(1)}
		linkTriangles(&a, &b, &l)
		nx, ny, nz := l.bx-l.ax, l.by-l.ay, l.bz-l.az
		d := math.Sqrt(l.square)
		if math.Abs(math.Sqrt(square(nx, ny, nz))-d) > 1e-12*(1+d) {
			t.Fatalf("ends are %g apart, the distance is %g", math.Sqrt(square(nx, ny, nz)), d)
		}
		var fa, fb face
		for k := 0; k < 9; k += 3 {
			ahead := (a[k]-l.ax)*nx + (a[k+1]-l.ay)*ny + (a[k+2]-l.az)*nz
			behind := (b[k]-l.bx)*nx + (b[k+1]-l.by)*ny + (b[k+2]-l.bz)*nz
			if ahead > 1e-9*(1+d) || behind < -1e-9*(1+d) {
				t.Fatalf("corner %d of %v or %v is nearer by %g, %g than %g", k/3, a, b, ahead/d, -behind/d, d)
			}
		}
		if d > 1e-6 && (fa.set(&a) && fb.set(&b)) && trianglesMeet(&a, &b, d/2) {
			t.Fatalf("%v and %v meet within %g, but are %g apart", a, b, d/2, d)
		}
	})
}

// A triangle without area has one again after it is turned, by rounding, and a
// normal that points anywhere: it must not be used to part it from a point on it.
func TestTurnedSliverMeetsItsCorner(t *testing.T) {
	line, point := Build(single([3]ivec{{3, -3, 0}, {2, -2, 0}, {0, 0, 0}})), Build(single([3]ivec{}))
	slivers := 0
	for i := range 200 {
		f := float64(i)
		p := geom.Transform{M: mgl64.Rotate3DX(f).Mul3(mgl64.Rotate3DY(1.7 * f)), T: mgl64.Vec3{1, 1, 1}}
		var s face
		if s.set(line.Placed(p).at(0)) {
			slivers++
		}
		if !Intersects(line, point.Placed(p), p) || !Intersects(point, line.Placed(p), p) {
			t.Errorf("turn %d: the line and its end do not meet", i)
		}
		if g, ok := Distance(line, point.Placed(p).Placed(shifted(0, 0, 2)), p, 9); !ok || g.Dist < 0.1 {
			t.Errorf("turn %d: %g mm", i, g.Dist)
		}
	}
	if slivers < 100 {
		t.Errorf("only %d of 200 turned lines have a normal: the test tests nothing", slivers)
	}
}
