package main

import (
	"context"
	"fmt"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/step"
)

// readAssembly reads a file and logs what was left out of it.
func readAssembly(ctx context.Context, s *shared, path string, opt step.Options) (*step.Assembly, error) {
	opt.Jobs = s.jobs
	asm, err := step.ReadFile(ctx, path, opt)
	if err != nil {
		return nil, err
	}
	s.log.Info().Str("file", asm.Source.File).Int("parts", len(asm.Parts)).
		Int("occurrences", len(asm.Occurrences)).Int("skipped", len(asm.Skips)).Msg("read")
	for _, k := range asm.Skips {
		s.log.Debug().Uint64("id", uint64(k.Tag)).Int("line", k.Pos.Line).Str("entity", k.Entity).Msg(k.Why)
	}
	return asm, nil
}

// readProduct reads and meshes a file; one without any solid is an error.
func readProduct(ctx context.Context, s *shared, path string, tol geom.Tolerance) (*product.Product, error) {
	asm, err := readAssembly(ctx, s, path, step.Options{})
	if err != nil {
		return nil, err
	}
	if err := asm.RequireWhole(); err != nil {
		return nil, fmt.Errorf("%w: copy or export it again", err)
	}
	if err := asm.RequireSolids(); err != nil {
		return nil, fmt.Errorf("%w: there is nothing to judge; export the assembly with its parts as solids", err)
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: tol, Workers: s.jobs})
	if err != nil {
		return nil, err
	}
	for i := range p.Parts {
		part := &p.Parts[i]
		for _, f := range part.Faults {
			s.log.Info().Str("part", part.Name).Uint64("face", uint64(f.Tag)).Bool("repaired", f.Repaired).Msg(f.Why)
		}
		if part.HasShape() {
			s.log.Debug().Str("part", part.Name).Int("triangles", len(part.Mesh.Triangles)).Bool("closed", part.Closed).Msg("meshed")
		}
	}
	return p, nil
}
