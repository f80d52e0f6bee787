package tess

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
)

// A radius that is wrong by orders of magnitude must not turn one edge into
// thousands of points that lead anywhere: the edge falls back to its chord and
// says so. A curve that is sloppy by tenths of a millimetre is kept.
func TestCurveFarFromItsVerticesIsNotBelieved(t *testing.T) {
	for _, c := range []struct {
		r      float64
		points int // between the vertices, at least; 0 means none at all
	}{{5, 3}, {5.3, 3}, {8, 0}, {1e9, 0}} {
		circle, err := curve.NewCircle(geom.World(), c.r)
		if err != nil {
			t.Fatal(err)
		}
		b := &brep.Body{
			Vertices: []brep.Vertex{{P: mgl64.Vec3{5, 0, 0}}, {P: mgl64.Vec3{0, 5, 0}}},
			Edges:    []brep.Edge{{Curve: circle, Start: 0, End: 1, SameSense: true}},
		}
		pts, why := innerPoints(b, &b.Edges[0], false, Default)
		if c.points == 0 && (len(pts) > 0 || !strings.Contains(why, "beside its vertices")) || len(pts) < c.points {
			t.Errorf("radius %g for an arc of radius 5: %d points, %q", c.r, len(pts), why)
		}
	}
}

// A loop that goes forward and straight back bounds a closed surface as a whole,
// but not one that lies somewhere else, such as a torus of a thousand times the
// radius: that would be an obstacle of metres out of nothing.
func TestWholeSurfaceOnlyWhereItsLoopLies(t *testing.T) {
	for _, c := range []struct {
		grown float64
		area  float64 // mm², 0 for none
	}{{1, 4 * math.Pi * math.Pi * 20 * 5}, {1000, 0}} {
		m := newMaker(t)
		seam := n(m.circle(20, 5, 0)) // on top of the torus that is not grown
		m.face(m.torus(20*c.grown, 5*c.grown), true, []int{seam, -seam})
		out, faults := meshOne(t.Context(), m.b, geom.Tolerance{Chord: 0.005 * c.grown, Angle: 0.1})
		if got := out.Area(); !(math.Abs(got-c.area) <= 2e-3*c.area) {
			t.Errorf("torus grown %g times: area %g mm², want %g", c.grown, got, c.area)
		}
		if told := len(faults) == 1 && !faults[0].Repaired && strings.Contains(faults[0].Why, "off the surface"); told != (c.area == 0) {
			t.Errorf("torus grown %g times: faults %v", c.grown, faults)
		}
	}
}

// A loop that goes along its edges again and again ends with a reason, before
// ten thousand turns cost what a large file costs. A few turns are tried.
func TestLoopThatRepeatsItsEdges(t *testing.T) {
	for turns, refused := range map[int]bool{1: false, 2: false, maxUse: false, maxUse + 1: true, 20_000: true} {
		m := newMaker(t)
		var loop []int
		for range turns {
			loop = append(loop, n(m.circle(20, 5, 0)))
		}
		m.face(m.torus(20, 5), true, loop)
		for i := range m.b.Faces[0].Loops[0].Coedges {
			m.b.Faces[0].Loops[0].Coedges[i].Edge = 0
		}
		_, faults := meshOne(t.Context(), m.b, geom.Tolerance{Chord: 0.05, Angle: 0.3})
		told := slices.ContainsFunc(faults, func(f Fault) bool { return strings.Contains(f.Why, "times the same way") })
		if told != refused {
			t.Errorf("%d turns: faults %v, want them refused: %v", turns, faults, refused)
		}
	}
}

// What is too large for the loose filling is refused before the quadratic
// search for bridges: 100 holes of 1000 corners would be 10^10 pairs.
func TestLooseRefusesBeforeBridging(t *testing.T) {
	var rings []ring
	for range 100 {
		rings = append(rings, ring{nodes: make([]node, 1000)})
	}
	if n := cornerCount(rings); n != 100*1000+2*99 {
		t.Errorf("%d corners", n)
	}
	if n := cornerCount(rings[:1]); n != 1000 {
		t.Errorf("%d corners without holes", n)
	}
}
