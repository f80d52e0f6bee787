package main

import (
	"context"
	"os"
	"runtime/debug"

	"stepscan/access"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/render/report"
	"stepscan/step"
)

func runTree(ctx context.Context, e env, args []string) error {
	formats := []string{"text", "json", "csv"}
	fs, s := newFlags(e, "tree", "FILE", "Prints the product structure with placements, volumes and boxes.", formats)
	chord, angle := meshFlags(fs)
	reading := readFlags(fs)
	structure := fs.Bool("structure", false, "stop at the product structure: nothing is meshed")
	if err := s.parse(e, fs, args, formats); err != nil {
		return err
	}
	tol, err := tolerance(*chord, *angle)
	if err != nil {
		return err
	}
	opt, err := reading()
	if err != nil {
		return err
	}
	if fs.NArg() != 1 {
		return usagef("tree: name one STEP file, such as 'stepscan tree product.step'")
	}
	if *structure {
		opt.Structure, opt.Walk = true, true
		holdMemory(fs.Arg(0))
	}
	p, err := treeProduct(ctx, e, s, fs.Arg(0), opt, tol)
	if err != nil {
		return err
	}
	r, occs := access.Outline(p, version)
	switch s.format {
	case "json":
		return report.TreeJSON(e.stdout, r, occs)
	case "csv":
		return report.TreeCSV(e.stdout, r, occs, report.CSV{})
	}
	return report.TreeText(e.stdout, r, occs, report.Style{Color: s.colored(e.stdout)})
}

// holdMemory has the garbage collected in time for the whole to stay below twice
// the file. It is no bound: with more in use, or a file that unpacks to more, the
// collector takes up to half of the time. Beside what it counts there is the program.
func holdMemory(path string) {
	const own, least = 8 << 20, 24 << 20
	if info, err := os.Stat(path); err == nil {
		debug.SetMemoryLimit(max(2*info.Size()-own, least))
	}
}

func treeProduct(ctx context.Context, e env, s *shared, path string, opt step.Options, tol geom.Tolerance) (p *product.Product, err error) {
	defer s.lastDefence(path, &err)
	at, stop := s.follow(e)
	defer stop()
	if !opt.Structure {
		return readProduct(ctx, s, at, path, opt, tol)
	}
	at.say("reading")
	asm, err := readAssembly(ctx, s, path, opt)
	if err != nil {
		return nil, err
	}
	return product.Structure(asm), nil
}
