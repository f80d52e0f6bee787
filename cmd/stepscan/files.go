package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"

	"stepscan/access"
	"stepscan/geom/workers"
	"stepscan/render/report"
	"stepscan/render/sheet"
)

// writeFiles puts the report and the drawings under dir. Files of an earlier
// run with the same names are replaced; others in the folder are left alone.
func writeFiles(ctx context.Context, j *access.Judgement, dir string, o *checkOptions) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report.JSON(&b, j.Report); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "report.json"), b.Bytes(), 0o666); err != nil {
		return err
	}
	if o.drawings == "none" {
		return nil
	}
	return writeDrawings(ctx, j, dir, o)
}

// drawing is one SVG file to make.
type drawing struct {
	name string
	draw func() []byte
}

func writeDrawings(ctx context.Context, j *access.Judgement, dir string, o *checkOptions) error {
	book := sheet.New(j.Product, j.Fasteners, j.Holds, j.Reach, sheet.Meta{Program: "stepscan", Version: version})
	list := []drawing{{"overview.svg", book.Overview}}
	for i := range j.Fasteners {
		if o.drawings == "all" || j.Problem(i) {
			list = append(list, drawing{j.Drawing(i), func() []byte { return book.Joint(i) }})
		}
	}
	if err := os.MkdirAll(filepath.Join(dir, "joints"), 0o777); err != nil {
		return err
	}
	return drawAll(ctx, list, dir, o.jobs)
}

// drawAll writes each drawing to a file of its own, on several cores.
func drawAll(ctx context.Context, list []drawing, dir string, jobs int) error {
	errs := make([]error, len(list))
	workers.Run(ctx, len(list), jobs, func(i int) {
		errs[i] = os.WriteFile(filepath.Join(dir, filepath.FromSlash(list[i].name)), list[i].draw(), 0o666)
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	return firstOf(errs)
}

// firstOf is the first error of several: one line is told, not one a drawing.
func firstOf(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
