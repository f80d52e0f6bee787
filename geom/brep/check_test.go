package brep

import (
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/curve"
	"stepscan/geom/surface"
)

// disc is a body of one face with one round edge and one straight slit.
func disc(t *testing.T) *Body {
	c, err := curve.NewCircle(geom.World(), 5)
	if err != nil {
		t.Fatal(err)
	}
	l, err := curve.NewLine(mgl64.Vec3{5, 0, 0}, mgl64.Vec3{-1, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	p, err := surface.NewPlane(geom.World())
	if err != nil {
		t.Fatal(err)
	}
	return &Body{
		Vertices: []Vertex{{P: mgl64.Vec3{5, 0, 0}}, {}},
		Edges:    []Edge{{Curve: c, SameSense: true}, {Curve: l, End: 1, SameSense: true}},
		Faces: []Face{{Surface: p, SameSense: true, Loops: []Loop{
			{Coedges: []Coedge{{Edge: 0}, {Edge: 1}, {Edge: 1, Reversed: true}}, Vertex: NoVertex},
		}}},
		Shells: []Shell{{Faces: []FaceIndex{0}}},
	}
}

func TestCheck(t *testing.T) {
	if err := disc(t).Check(); err != nil {
		t.Fatalf("sound body: %v", err)
	}
	for want, spoil := range map[string]func(b *Body){
		"edge 1 (#0): no curve":                  func(b *Body) { b.Edges[1].Curve = nil },
		"a vertex is missing":                    func(b *Body) { b.Edges[0].Start = 2 },
		"no surface":                             func(b *Body) { b.Faces[0].Surface = nil },
		"edge 7 does not exist":                  func(b *Body) { b.Faces[0].Loops[0].Coedges[1].Edge = 7 },
		"edge 1 ends at vertex 1, but edge 1":    func(b *Body) { b.Faces[0].Loops[0].Coedges[2].Reversed = false },
		"neither edges nor a vertex":             func(b *Body) { b.Faces[0].Loops[0].Coedges = nil },
		"face 3 does not exist":                  func(b *Body) { b.Shells[0].Faces[0] = 3 },
		"face 0 is in shells 0 and 1":            func(b *Body) { b.Shells = append(b.Shells, b.Shells[0]) },
		"edge 1 ends at vertex 0, but edge 0 st": func(b *Body) { b.Edges[0].Start = 1 },
	} {
		b := disc(t)
		spoil(b)
		if err := b.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
	}
}
