package access

import (
	"path/filepath"
	"testing"

	"stepscan/access/product"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/tess"
	"stepscan/step"
)

// inFacets takes the surfaces from a body and leaves the facets, face by face.
func inFacets(b *brep.Body, m *mesh.Mesh) *brep.Body {
	out := &brep.Body{Name: b.Name, Tag: b.Tag, Solid: b.Solid, Uncertainty: b.Uncertainty}
	for i := range b.Faces {
		out.Faces = append(out.Faces, brep.Face{Tag: b.Faces[i].Tag})
	}
	out.Facets = &brep.Facets{Points: m.Vertices, Triangles: m.Triangles, FaceOf: make([]brep.FaceIndex, len(m.FaceOf))}
	for i, f := range m.FaceOf {
		out.Facets.FaceOf[i] = brep.FaceIndex(f)
	}
	return out
}

// The demo as a file of triangles: the same parts with the same volumes as far
// as the chord goes, and the same verdict on nearly every fastener. What is
// read from surfaces alone may be missing.
func TestDemoInFacets(t *testing.T) {
	asm, err := step.ReadFile(t.Context(), filepath.Join("..", "fixtures", "logger-a.step"), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	judge := func() *Judgement {
		p, err := product.Build(t.Context(), asm, product.Options{Tol: tess.Default})
		if err != nil {
			t.Fatal(err)
		}
		j, err := Judge(t.Context(), p, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	exact := judge()
	for i := range asm.Parts {
		meshes, _ := tess.Bodies(t.Context(), asm.Parts[i].Bodies, tess.Default, 2)
		for k, b := range asm.Parts[i].Bodies {
			asm.Parts[i].Bodies[k] = inFacets(b, meshes[k])
		}
	}
	facets := judge()
	for i := range exact.Product.Parts {
		a, b := &exact.Product.Parts[i], &facets.Product.Parts[i]
		if a.Closed != b.Closed || a.HasShape() && !(b.Volume > 0.97*a.Volume && b.Volume < 1.03*a.Volume) {
			t.Errorf("%s: closed %v and %v, volume %.6g and %.6g mm³", a.Name, a.Closed, b.Closed, a.Volume, b.Volume)
		}
	}
	re, rf := exact.Report, facets.Report
	if re.Read.Faces != rf.Read.Faces || rf.Read.FacesMeshed != rf.Read.Faces {
		t.Errorf("%d of %d faces, want all of %d", rf.Read.FacesMeshed, rf.Read.Faces, re.Read.Faces)
	}
	verdicts := map[string]string{}
	for _, f := range re.Fasteners {
		verdicts[f.Occurrences[0]] = f.Reach.Verdict
	}
	found, same := 0, 0
	for _, f := range rf.Fasteners {
		v, ok := verdicts[f.Occurrences[0]]
		if !ok {
			t.Errorf("%v is taken for a fastener", f.Occurrences)
			continue
		}
		if found++; v == f.Reach.Verdict {
			same++
		}
	}
	if found != len(re.Fasteners) || same != found || rf.Verdict.Trust != re.Verdict.Trust {
		t.Errorf("%d of %d fasteners found, %d with the same verdict; trust %s, want %s", found, len(re.Fasteners), same, rf.Verdict.Trust, re.Verdict.Trust)
	}
}
