package product

import (
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
	"stepscan/geom/tess"
)

// A body of ordinary size keeps the chord error; one of a kilometre, such as a
// file in mm that says metres, does not become millions of triangles, and the
// loss is told. The order of the bodies stays.
func TestHugeBodiesAreMeshedCoarsely(t *testing.T) {
	tol := geom.Tolerance{Chord: 0.05, Angle: 0.35}
	bodies := []*brep.Body{drum(t, 1e6), drum(t, 100), {}}
	meshes, faults := meshBodies(t.Context(), bodies, share(bodies), tol, 2)
	if c := meshes[0].Chord; !(c > 1 && c < 1000) || len(meshes[0].Triangles) > 2_000 {
		t.Errorf("kilometre: chord %g mm, %d triangles; want less than a metre and few", c, len(meshes[0].Triangles))
	}
	told := false
	for _, f := range faults[0] {
		told = told || f.Face == tess.NoFace && f.Repaired
	}
	if !told {
		t.Errorf("kilometre: nothing told among %v", faults[0])
	}
	if meshes[1].Chord != tol.Chord || len(faults[1]) > 0 || meshes[2].Chord != tol.Chord {
		t.Errorf("100 mm: chord %g, faults %v", meshes[1].Chord, faults[1])
	}
}

// Only beside a body that cannot be right does one of some metres lose accuracy.
func TestCompanyOfHugeBodies(t *testing.T) {
	tol := geom.Tolerance{Chord: 0.05, Angle: 0.35}
	four, huge := drum(t, 4000), drum(t, 1e6)
	for _, c := range []struct {
		bodies []*brep.Body
		exact  bool
	}{{[]*brep.Body{four}, true}, {[]*brep.Body{four, huge}, false}} {
		meshes, _ := meshBodies(t.Context(), c.bodies, share(c.bodies), tol, 2)
		if got := meshes[0].Chord; (got == tol.Chord) != c.exact || got > 0.5 {
			t.Errorf("%d bodies: chord %g mm", len(c.bodies), got)
		}
	}
}

// drum is a closed cylinder of height and radius r with one seam.
func drum(t *testing.T, r float64) *brep.Body {
	t.Helper()
	must := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	b := &brep.Body{Solid: true}
	low := geom.World()
	high := low
	high.O = mgl64.Vec3{0, 0, r}
	side, err := surface.NewCylinder(low, r)
	must(err)
	floor, err := surface.NewPlane(low)
	must(err)
	lid, err := surface.NewPlane(high)
	must(err)
	foot, err := curve.NewCircle(low, r)
	must(err)
	rim, err := curve.NewCircle(high, r)
	must(err)
	seam, err := curve.NewLine(mgl64.Vec3{r, 0, 0}, mgl64.Vec3{0, 0, 1})
	must(err)
	b.Vertices = []brep.Vertex{{P: mgl64.Vec3{r, 0, 0}}, {P: mgl64.Vec3{r, 0, r}}}
	b.Edges = []brep.Edge{
		{Curve: foot, Start: 0, End: 0, SameSense: true},
		{Curve: rim, Start: 1, End: 1, SameSense: true},
		{Curve: seam, Start: 0, End: 1, SameSense: true},
	}
	loop := func(c ...brep.Coedge) []brep.Loop {
		return []brep.Loop{{Coedges: c, Vertex: brep.NoVertex, Outer: true}}
	}
	b.Faces = []brep.Face{
		{Surface: side, SameSense: true, Loops: loop(brep.Coedge{Edge: 0}, brep.Coedge{Edge: 2}, brep.Coedge{Edge: 1, Reversed: true}, brep.Coedge{Edge: 2, Reversed: true})},
		{Surface: floor, SameSense: false, Loops: loop(brep.Coedge{Edge: 0, Reversed: true})},
		{Surface: lid, SameSense: true, Loops: loop(brep.Coedge{Edge: 1})},
	}
	return b
}
