package tess

import (
	"context"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
)

// A slit that runs on beyond the end of its face, as those of wound wires do,
// bounds nothing there: the mesh holds neither its line nor its vertices, and its
// box is that of the body. One that ends inside the face stays an edge.
func TestSlitBeyondItsFace(t *testing.T) {
	for _, c := range []struct {
		name string
		tip  mgl64.Vec3
		kept bool
	}{
		{"ends inside", mgl64.Vec3{5, 10, 0}, true},
		{"runs on", mgl64.Vec3{25, 7, 0}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := newMaker(t)
			cube(m)
			tip := m.vertex(c.tip[0], c.tip[1], c.tip[2])
			loop := &m.b.Faces[0].Loops[0]
			slit := m.line(m.b.Edges[loop.Coedges[0].Edge].Start, tip)
			loop.Coedges = append([]brep.Coedge{{Edge: slit}, {Edge: slit, Reversed: true}}, loop.Coedges...)
			out, faults := meshOne(context.Background(), m.b, Default)
			if said := len(faults) == 1 && strings.Contains(faults[0].Why, "slits left out"); said == c.kept {
				t.Errorf("faults %v", faults)
			}
			if n := len(out.Edges[slit].Verts); (n > 0) != c.kept {
				t.Errorf("the slit's line has %d vertices", n)
			}
			if want := (geom.Box{Max: mgl64.Vec3{10, 20, 30}}); out.Box() != want || !out.IsClosed() {
				t.Errorf("box %v, closed %v", out.Box(), out.IsClosed())
			}
		})
	}
}
