package product

import (
	"context"
	"errors"
	"math"
	"path/filepath"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
	"stepscan/geom/mesh/shape"
	"stepscan/geom/tess"
	"stepscan/step"
)

func build(t *testing.T, path string, workers int) *Product {
	t.Helper()
	p, _ := buildAt(t, path, tess.Default, workers)
	return p
}

// buildAt builds the product of a file at a tolerance, and gives the assembly
// too.
func buildAt(t testing.TB, path string, tol geom.Tolerance, workers int) (*Product, *step.Assembly) {
	t.Helper()
	asm, err := step.ReadFile(t.Context(), path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Build(t.Context(), asm, Options{Tol: tol, Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	return p, asm
}

// TestPlacedBox: boxes of placed solids are those of their placed vertices.
func TestPlacedBox(t *testing.T) {
	p := build(t, filepath.Join("..", "..", "fixtures", "logger-a.step"), 0)
	for i := range p.Solids {
		s := &p.Solids[i]
		b := geom.EmptyBox()
		for _, v := range p.Parts[s.Part].Mesh.Vertices {
			b = b.Add(s.Place.Point(v))
		}
		if b != s.Box {
			t.Fatalf("%s: box %v, its vertices give %v", p.Name(SolidIndex(i)), s.Box, b)
		}
		// Back undoes Place, or every query would ask somewhere else.
		q := mgl64.Vec3{1, 2, 3}
		if d := s.Back.Point(s.Place.Point(q)).Sub(q).Len(); !(d < 1e-9) {
			t.Fatalf("%s: back and forth is %g mm off", p.Name(SolidIndex(i)), d)
		}
	}
}

// TestScaledPlacement: a scaled occurrence gets a part of its own, in whose
// frame distances are true, and that is said.
func TestScaledPlacement(t *testing.T) {
	p := &Product{
		Parts: []Part{{ID: "p1", Name: "cube"}},
		Occs: []Occ{
			{ID: "o0", Parent: -1, Placement: geom.Identity(), Solid: NoSolid},
			{ID: "o1", Placement: geom.Transform{M: mgl64.Ident3().Mul(2), T: mgl64.Vec3{5, 0, 0}}, Solid: NoSolid},
		},
	}
	m := shape.Box(mgl64.Vec3{}, mgl64.Vec3{1, 1, 1})
	p.Parts[0].setMesh(m, massOf(m))
	for i := range p.Occs {
		p.place(i)
	}
	if len(p.Solids) != 2 || len(p.Parts) != 2 || len(p.Skips) != 1 {
		t.Fatalf("%d solids, %d parts, %d skips, want 2, 2 and 1", len(p.Solids), len(p.Parts), len(p.Skips))
	}
	s := p.Solids[1]
	if v := p.Parts[s.Part].Volume; math.Abs(v-8) > 1e-12 {
		t.Errorf("volume %g, want 8", v)
	}
	if want := (geom.Box{Min: mgl64.Vec3{5, 0, 0}, Max: mgl64.Vec3{7, 2, 2}}); s.Box != want {
		t.Errorf("box %v, want %v", s.Box, want)
	}
	if !s.Place.IsRigid() {
		t.Error("the placement still scales")
	}
}

// TestStopped: an ended context ends the work with its error.
func TestStopped(t *testing.T) {
	asm, err := step.ReadFile(t.Context(), filepath.Join("..", "..", "fixtures", "logger-a.step"), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Build(ctx, asm, Options{Tol: tess.Default}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
}

func BenchmarkBuild(b *testing.B) {
	asm, err := step.ReadFile(b.Context(), filepath.Join("..", "..", "fixtures", "logger-a.step"), step.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Build(b.Context(), asm, Options{Tol: tess.Default}); err != nil {
			b.Fatal(err)
		}
	}
}
