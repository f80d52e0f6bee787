package main

import (
	"context"

	"stepscan/access"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/render/report"
	"stepscan/step"
)

func runTree(ctx context.Context, e env, args []string) error {
	formats := []string{"text", "json"}
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
	opt.Structure = *structure
	if fs.NArg() != 1 {
		return usagef("tree: name one STEP file, such as 'stepscan tree product.step'")
	}
	p, err := treeProduct(ctx, s, fs.Arg(0), opt, tol)
	if err != nil {
		return err
	}
	r := access.Describe(p, version)
	if s.format == "json" {
		return report.TreeJSON(e.stdout, r)
	}
	return report.TreeText(e.stdout, r, report.Style{Color: s.colored(e.stdout)})
}

func treeProduct(ctx context.Context, s *shared, path string, opt step.Options, tol geom.Tolerance) (p *product.Product, err error) {
	defer s.lastDefence(path, &err)
	if !opt.Structure {
		return readProduct(ctx, s, path, opt, tol)
	}
	asm, err := readAssembly(ctx, s, path, opt)
	if err != nil {
		return nil, err
	}
	return product.Structure(asm), nil
}
