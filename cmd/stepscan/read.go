package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime/debug"
	"strings"

	"stepscan/access"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/workers"
	"stepscan/step"
	"stepscan/step/p21"
)

// readAssembly reads a file and logs what was left out of it.
func readAssembly(ctx context.Context, s *shared, path string, opt step.Options) (*step.Assembly, error) {
	opt.Jobs = s.jobs
	asm, err := step.ReadFile(ctx, path, opt)
	if err != nil {
		return nil, advised(path, err)
	}
	s.log.Info().Str("file", asm.Source.File).Int("parts", len(asm.Parts)).
		Int("occurrences", asm.Count()).Int("skipped", len(asm.Skips)).Msg("read")
	for _, k := range asm.Skips {
		s.log.Debug().Uint64("id", uint64(k.Tag)).Int("line", k.Pos.Line).Str("entity", k.Entity).Msg(k.Why)
	}
	return asm, nil
}

// advised adds to an error of reading what the person can do about it.
func advised(path string, err error) error {
	var sys *fs.PathError
	var not *p21.NotStepError
	var syntax *p21.SyntaxError
	var limit *step.LimitError
	var meshes *product.LimitError
	switch {
	case errors.As(err, &sys): // without the system call's name
		if path == "" {
			return errors.New("the name of the file is empty: name a STEP file")
		}
		return fmt.Errorf("%s: %w; %s", path, sys.Err, systemAdvice(sys.Err))
	case errors.As(err, &not):
		return fmt.Errorf("%w; name a STEP file (ISO 10303-21, mostly .step or .stp), as CAD programs export it", err)
	case errors.As(err, &syntax):
		return fmt.Errorf("%w; copy or export it again", err)
	case errors.As(err, &limit) && limit.Memory:
		return fmt.Errorf("%w; --max-memory sets another limit", err)
	case errors.As(err, &meshes):
		return fmt.Errorf("%s: %w; --max-memory sets another limit, --chord a coarser mesh", filepath.Base(path), err)
	}
	return err
}

func systemAdvice(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "check its name and folder"
	case errors.Is(err, fs.ErrPermission):
		return "ask for the right to read it"
	}
	return "name a STEP file"
}

// readProduct reads and meshes a file; one without any body is an error.
func readProduct(ctx context.Context, s *shared, at *progress, path string, opt step.Options, tol geom.Tolerance) (*product.Product, error) {
	at.say("reading")
	asm, err := readAssembly(ctx, s, path, opt)
	if err != nil {
		return nil, err
	}
	if err := asm.RequireWhole(); err != nil {
		return nil, fmt.Errorf("%w: copy or export it again", err)
	}
	if err := asm.RequireBodies(); err != nil {
		return nil, fmt.Errorf("%w: there is nothing to judge%s; export the assembly with its parts as solids", err, instead(asm.Skips))
	}
	p, err := product.Build(ctx, asm, product.Options{Tol: tol, Workers: s.jobs, MaxMemory: opt.Memory(asm.Source.Bytes), Progress: at.meshed})
	if err != nil {
		return nil, advised(path, err)
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
	return p, judgeable(p)
}

// instead says what a file without bodies has, as far as it was made out.
func instead(skips []step.Skip) string {
	const most = 3
	var list []string
	for i, s := range skips {
		if i == most {
			list = append(list, fmt.Sprintf("and %d more", len(skips)-most))
			break
		}
		list = append(list, s.Why)
	}
	if len(list) == 0 {
		return ""
	}
	return " (" + strings.Join(list, "; ") + ")"
}

// least is the share of faces below which a file counts as too damaged: with
// half of the obstacles missing every verdict would be too good. A proposal.
const least = 0.5

// judgeable refuses a product of which too little could be meshed.
func judgeable(p *product.Product) error {
	r := access.Describe(p, version).Read
	if float64(r.FacesMeshed) >= least*float64(r.Faces) {
		return nil
	}
	return fmt.Errorf("%s: only %d of %d faces can be used, too few to judge (least: %.0f %%); export it again",
		p.Source.File, r.FacesMeshed, r.Faces, 100*least)
}

// lastDefence turns a panic, which is a broken promise of our own code, into
// one clear error with the file's name: other files of the same run are still
// judged. The place goes to the log at level debug.
func (s *shared) lastDefence(path string, err *error) {
	p := recover()
	if p == nil {
		return
	}
	stack := debug.Stack()
	var w *workers.Panic
	if carried, ok := p.(error); ok && errors.As(carried, &w) {
		stack = w.Stack
	}
	s.log.Debug().Bytes("stack", stack).Msg("internal fault")
	what, _, _ := strings.Cut(fmt.Sprint(p), "\n")
	*err = fmt.Errorf("%s: internal fault: %s; this is a mistake in stepscan, not in the file: please report it", filepath.Base(path), what)
}
