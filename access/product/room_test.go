package product

import (
	"errors"
	"testing"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step"
)

// Meshes beyond the memory that is allowed end the work, between two groups of
// bodies; with room enough the groups change nothing.
func TestMeshesWithinMemory(t *testing.T) {
	asm := &step.Assembly{}
	for range facesAtOnce / 2 { // three faces each, so two groups
		asm.Parts = append(asm.Parts, step.Part{Bodies: []*brep.Body{drum(t, 100)}})
	}
	opt := Options{Tol: geom.Tolerance{Chord: 5, Angle: 1}}
	p, err := Build(t.Context(), asm, opt)
	if err != nil {
		t.Fatal(err)
	}
	each := len(p.Parts[0].Mesh.Triangles)
	for i := range p.Parts {
		if m := p.Parts[i].Mesh; m == nil || len(m.Triangles) != each {
			t.Fatalf("part %d: mesh %v, want %d triangles", i, m, each)
		}
	}
	opt.MaxMemory = int64(each*len(asm.Parts)) * triangleBytes
	if _, err := Build(t.Context(), asm, opt); err != nil {
		t.Errorf("with room enough: %v", err)
	}
	opt.MaxMemory /= 2
	var limit *LimitError
	if _, err := Build(t.Context(), asm, opt); !errors.As(err, &limit) || limit.Triangles >= each*len(asm.Parts) {
		t.Errorf("error %v, want a LimitError before all are meshed", err)
	}
}
