package product

import (
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
	"stepscan/geom/tess"
	"stepscan/step"
)

// facetBody is a body of a mesh's facets without those of the first n faces.
func facetBody(m *mesh.Mesh, n int32, solid bool) *brep.Body {
	b := &brep.Body{Tag: 7, Solid: solid, Facets: &brep.Facets{Points: m.Vertices}}
	for i, t := range m.Triangles {
		if f := m.FaceOf[i] - n; f >= 0 {
			for int(f) >= len(b.Faces) {
				b.Faces = append(b.Faces, brep.Face{Tag: brep.Tag(100 + f)})
			}
			b.Facets.Triangles = append(b.Facets.Triangles, t)
			b.Facets.FaceOf = append(b.Facets.FaceOf, brep.FaceIndex(f))
		}
	}
	return b
}

// What encloses a volume is a solid, whatever the file calls it; what does not
// is an obstacle without a volume, and that is said.
func TestOpenBodies(t *testing.T) {
	box := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4})
	cases := []struct {
		name          string
		lost          int32
		solid, closed bool
		volume        float64
		says          string
		aside         bool
	}{
		{"solid", 0, true, true, 24, "", false},
		{"closed surface", 0, false, true, 24, "judged as a solid", true},
		{"open surface", 1, false, false, 0, "surface model with a border", false},
		{"solid with a gap", 1, true, false, math.NaN(), "called a solid", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			asm := &step.Assembly{
				Parts:       []step.Part{{Name: "node"}, {Name: "box", Bodies: []*brep.Body{facetBody(box, c.lost, c.solid)}}},
				Occurrences: []step.Occurrence{{Parent: -1, Placement: geom.Identity()}, {Part: 1, Depth: 1, Placement: geom.Identity()}},
			}
			p, err := Build(t.Context(), asm, Options{Tol: tess.Default})
			if err != nil {
				t.Fatal(err)
			}
			part := &p.Parts[1]
			if part.Closed != c.closed || len(p.Solids) != 1 || part.Tree == nil {
				t.Errorf("closed %v, want %v; %d solids", part.Closed, c.closed, len(p.Solids))
			}
			if !math.IsNaN(c.volume) && math.Abs(part.Volume-c.volume) > 1e-12 {
				t.Errorf("volume %g mm³, want %g", part.Volume, c.volume)
			}
			if want := 52 - 6*float64(c.lost); math.Abs(part.Area-want) > 1e-12 {
				t.Errorf("area %g mm², want %g", part.Area, want)
			}
			switch {
			case c.says == "" && len(p.Skips) > 0, c.says != "" && len(p.Skips) != 1:
				t.Errorf("said %+v", p.Skips)
			case c.says != "" && (!strings.Contains(p.Skips[0].Why, c.says) || p.Skips[0].Aside != c.aside || p.Skips[0].Tag != 7):
				t.Errorf("said %+v, want %q", p.Skips[0], c.says)
			}
			if len(asm.Skips) > 0 {
				t.Error("the assembly was changed")
			}
		})
	}
}

// A part's own volume is that of the joined bodies that close.
func TestOpenBesideClosed(t *testing.T) {
	box := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4})
	far := box.Transformed(geom.Transform{M: mgl64.Ident3(), T: mgl64.Vec3{10, 0, 0}})
	asm := &step.Assembly{
		Parts:       []step.Part{{Name: "pair", Bodies: []*brep.Body{facetBody(box, 0, true), facetBody(far, 1, false)}}},
		Occurrences: []step.Occurrence{{Parent: -1, Placement: geom.Identity()}},
	}
	p, err := Build(t.Context(), asm, Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	if part := &p.Parts[0]; part.Closed || math.Abs(part.Volume-24) > 1e-12 || len(p.Skips) != 1 {
		t.Errorf("closed %v, volume %g mm³, said %+v", part.Closed, part.Volume, p.Skips)
	}
}

// Surface models that close are counted under the first.
func TestClosedSurfacesAreToldOnce(t *testing.T) {
	box := shape.Box(mgl64.Vec3{}, mgl64.Vec3{2, 3, 4})
	asm := &step.Assembly{Occurrences: []step.Occurrence{{Parent: -1, Placement: geom.Identity()}}}
	for _, name := range []string{"a", "b", "c"} {
		asm.Parts = append(asm.Parts, step.Part{Name: name, Bodies: []*brep.Body{facetBody(box, 0, false)}})
	}
	p, err := Build(t.Context(), asm, Options{Tol: tess.Default})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Skips) != 1 || !p.Skips[0].Aside || !strings.HasPrefix(p.Skips[0].Why, `part "a" and 2 more are surface models`) {
		t.Errorf("said %+v", p.Skips)
	}
}
