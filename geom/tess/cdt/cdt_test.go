package cdt

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom/robust"
)

// check verifies every promise of the structure from scratch: links that agree,
// triangles that turn left, sides that are Delaunay unless fixed.
func (t *T) check() error {
	for i := range t.tris {
		x := &t.tris[i]
		if robust.Orient2D(t.pts[x.v[0]], t.pts[x.v[1]], t.pts[x.v[2]]) <= 0 {
			return fmt.Errorf("triangle %d %v does not turn left", i, x.v)
		}
		for k, j := range x.n {
			if j == none {
				continue
			}
			y := &t.tris[j]
			m := y.sideTo(int32(i))
			if y.n[m] != int32(i) || y.v[(m+1)%3] != x.v[(k+2)%3] || y.v[(m+2)%3] != x.v[(k+1)%3] {
				return fmt.Errorf("triangles %d and %d disagree about their side", i, j)
			}
			if y.flags[m] != x.flags[k] {
				return fmt.Errorf("triangles %d and %d disagree about constraints", i, j)
			}
			if t.illegal(int32(i), k) {
				return fmt.Errorf("side %d of triangle %d is not Delaunay", k, i)
			}
		}
	}
	for v, i := range t.at {
		if i != none && t.tris[i].v[t.tris[i].corner(int32(v))] != int32(v) {
			return fmt.Errorf("vertex %d is not at triangle %d", v, i)
		}
	}
	return nil
}

func drawPoints(t *rapid.T) []mgl64.Vec2 {
	n := rapid.IntRange(1, 60).Draw(t, "n")
	pts := make([]mgl64.Vec2, n)
	kind := rapid.IntRange(0, 3).Draw(t, "kind")
	for i := range pts {
		switch kind {
		case 0: // grid: collinear, cocircular, coincident
			pts[i] = mgl64.Vec2{float64(rapid.IntRange(0, 6).Draw(t, "x")), float64(rapid.IntRange(0, 6).Draw(t, "y"))}
		case 1: // one line
			x := float64(rapid.IntRange(0, 30).Draw(t, "x"))
			pts[i] = mgl64.Vec2{x * 0.1, x * 0.3}
		case 2: // circle
			s, c := math.Sincos(float64(rapid.IntRange(0, 40).Draw(t, "a")) * math.Pi / 20)
			pts[i] = mgl64.Vec2{1e4 + 3*c, 3 * s}
		default:
			pts[i] = mgl64.Vec2{rapid.Float64Range(-1e3, 1e3).Draw(t, "x"), rapid.Float64Range(-1, 1).Draw(t, "y")}
		}
	}
	return pts
}

func TestDelaunayOfTroublesomePoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		tri, err := triangulate(pts)
		if err != nil {
			t.Fatal(err)
		}
		if err := tri.check(); err != nil {
			t.Fatalf("%v: %v", pts, err)
		}
		for i := range pts {
			if s := tri.Same(int32(i)); pts[s] != pts[i] {
				t.Fatalf("point %d %v stands for %d %v", i, pts[i], s, pts[s])
			}
		}
	})
}

// Constraints between arbitrary points either become sides or cross another.
func TestConstraintsAreRecovered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pts := drawPoints(t)
		tri, err := triangulate(pts)
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(0, 15).Draw(t, "m") {
			a := tri.Same(int32(rapid.IntRange(0, len(pts)-1).Draw(t, "a")))
			b := tri.Same(int32(rapid.IntRange(0, len(pts)-1).Draw(t, "b")))
			through, err := tri.Constrain(a, b)
			var cross *CrossError
			if err != nil && !errors.As(err, &cross) {
				t.Fatal(err)
			}
			if err == nil {
				chain := append(append([]int32{a}, through...), b)
				for i := 1; i < len(chain) && a != b; i++ {
					if f, k, ok := tri.find(chain[i-1]+hidden, chain[i]+hidden); !ok || tri.tris[f].flags[k]&fixed == 0 {
						t.Fatalf("%d-%d is no fixed side after Constrain(%d, %d)", chain[i-1], chain[i], a, b)
					}
				}
			}
			if err := tri.check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// corpus are polygons that have broken triangulators, as loops of points; area
// is that of the region between them.
var corpus = []struct {
	name  string
	loops [][]mgl64.Vec2
	area  float64
}{
	{"square", [][]mgl64.Vec2{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}, 1},
	{"clockwise square", [][]mgl64.Vec2{{{0, 0}, {0, 1}, {1, 1}, {1, 0}}}, 1},
	{"collinear points on all sides", [][]mgl64.Vec2{{{0, 0}, {1, 0}, {2, 0}, {3, 0}, {3, 1}, {3, 3}, {2, 3}, {0, 3}, {0, 2}, {0, 1}}}, 9},
	{"duplicate point in a row", [][]mgl64.Vec2{{{0, 0}, {2, 0}, {2, 0}, {2, 2}, {0, 2}}}, 4},
	{"comb", [][]mgl64.Vec2{{{0, 0}, {7, 0}, {7, 5}, {6, 5}, {6, 1}, {5, 1}, {5, 5}, {4, 5}, {4, 1}, {3, 1}, {3, 5}, {0, 5}}}, 15 + 5 + 5 + 2},
	{"hole", [][]mgl64.Vec2{{{0, 0}, {4, 0}, {4, 4}, {0, 4}}, {{1, 1}, {1, 3}, {3, 3}, {3, 1}}}, 12},
	{"hole of the same sense", [][]mgl64.Vec2{{{0, 0}, {4, 0}, {4, 4}, {0, 4}}, {{1, 1}, {3, 1}, {3, 3}, {1, 3}}}, 12},
	{"hole listed first", [][]mgl64.Vec2{{{1, 1}, {3, 1}, {3, 3}, {1, 3}}, {{0, 0}, {4, 0}, {4, 4}, {0, 4}}}, 12},
	{"island in a hole", [][]mgl64.Vec2{{{0, 0}, {9, 0}, {9, 9}, {0, 9}}, {{1, 1}, {8, 1}, {8, 8}, {1, 8}}, {{3, 3}, {4, 3}, {4, 4}, {3, 4}}}, 81 - 49 + 1},
	{"holes that touch in a point", [][]mgl64.Vec2{{{0, 0}, {9, 0}, {9, 9}, {0, 9}}, {{1, 1}, {3, 1}, {3, 3}, {1, 3}}, {{3, 3}, {5, 3}, {5, 5}, {3, 5}}}, 81 - 8},
	{"hole whose corner touches the outside's edge", [][]mgl64.Vec2{{{0, 0}, {8, 0}, {8, 8}, {0, 8}}, {{4, 0}, {6, 3}, {2, 3}}}, 64 - 6},
	{"slit from the outside", [][]mgl64.Vec2{{{0, 0}, {4, 0}, {4, 4}, {2, 4}, {2, 2}, {2, 4}, {0, 4}}}, 16},
	{"bridge to a hole", [][]mgl64.Vec2{{{0, 0}, {6, 0}, {6, 6}, {0, 6}, {0, 3}, {2, 3}, {2, 4}, {4, 4}, {4, 2}, {2, 2}, {2, 3}, {0, 3}}}, 32},
	{"needle", [][]mgl64.Vec2{{{0, 0}, {1e6, 1e-6}, {0, 2e-6}}}, 1},
	{"far from the origin", [][]mgl64.Vec2{{{1e9, 1e9}, {1e9 + 1, 1e9}, {1e9 + 1, 1e9 + 1}, {1e9, 1e9 + 1}}}, 1},
}

func TestPolygonCorpus(t *testing.T) {
	for _, c := range corpus {
		t.Run(c.name, func(t *testing.T) {
			tri := mustFill(t, c.loops)
			if got := tri.area(); !(math.Abs(got-c.area) <= 1e-9*c.area) {
				t.Errorf("area %g, want %g", got, c.area)
			}
		})
	}
}

func mustFill(t testing.TB, loops [][]mgl64.Vec2) *T {
	var pts []mgl64.Vec2
	for _, l := range loops {
		pts = append(pts, l...)
	}
	tri, err := triangulate(pts)
	if err != nil {
		t.Fatal(err)
	}
	first := 0
	for _, l := range loops {
		for i := range l {
			a, b := tri.Same(int32(first+i)), tri.Same(int32(first+(i+1)%len(l)))
			if _, err := tri.Constrain(a, b); err != nil {
				t.Fatalf("constraint %v to %v: %v", l[i], l[(i+1)%len(l)], err)
			}
		}
		first += len(l)
	}
	if err := tri.check(); err != nil {
		t.Fatal(err)
	}
	tri.Mark()
	return tri
}

func (t *T) area() float64 {
	s := 0.0
	for _, v := range t.Triangles() {
		a, b, c := t.Point(v[0]), t.Point(v[1]), t.Point(v[2])
		s += ((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])) / 2
	}
	return s
}

func TestCrossingIsSaid(t *testing.T) {
	tri, err := triangulate([]mgl64.Vec2{{0, 0}, {2, 2}, {2, 0}, {0, 2}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tri.Constrain(0, 1); err != nil {
		t.Fatal(err)
	}
	var cross *CrossError
	if _, err := tri.Constrain(2, 3); !errors.As(err, &cross) {
		t.Fatalf("error %v, want a crossing", err)
	}
}

func TestPointsThatAreNotFinite(t *testing.T) {
	for _, p := range []mgl64.Vec2{{math.NaN(), 0}, {0, math.Inf(1)}} {
		if _, err := triangulate([]mgl64.Vec2{{0, 0}, p}); !errors.Is(err, ErrPoints) {
			t.Errorf("New with %v: error %v", p, err)
		}
	}
	if _, err := triangulate(nil); err == nil {
		t.Error("New without points: want an error")
	}
}

// Points inserted afterwards stay inside and keep the constraints.
func TestInsertKeepsConstraints(t *testing.T) {
	tri := mustFill(t, [][]mgl64.Vec2{{{0, 0}, {9, 0}, {9, 9}, {0, 9}}, {{2, 2}, {6, 2}, {6, 6}, {2, 6}}})
	want := tri.area()
	in := 0
	for _, k := range rand.New(rand.NewPCG(1, 2)).Perm(144) {
		p := mgl64.Vec2{float64(k%12) - 1, float64(k/12) - 1}
		inside := p[0] > 0 && p[0] < 9 && p[1] > 0 && p[1] < 9 && !(p[0] >= 2 && p[0] <= 6 && p[1] >= 2 && p[1] <= 6)
		if _, ok := tri.Insert(p, nil); ok {
			in++
			if !inside {
				t.Fatalf("%v was taken", p)
			}
		}
	}
	if err := tri.check(); err != nil {
		t.Fatal(err)
	}
	if got := tri.area(); math.Abs(got-want) > 1e-9 || in != 64-25 {
		t.Errorf("area %g, want %g; %d points in, want 39", got, want, in)
	}
}

// triangulate is a new triangulation of the points.
func triangulate(pts []mgl64.Vec2) (*T, error) {
	t := new(T)
	return t, t.Reset(pts)
}

func BenchmarkReset(b *testing.B) {
	for _, n := range []int{1000, 100000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(1, 2))
			pts := make([]mgl64.Vec2, n)
			for i := range pts {
				pts[i] = mgl64.Vec2{rng.Float64(), rng.Float64()}
			}
			for b.Loop() {
				if _, err := triangulate(pts); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/point")
		})
	}
}
