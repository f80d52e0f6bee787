package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"

	"stepscan/access"
	"stepscan/geom/workers"
	"stepscan/render/page"
	"stepscan/render/report"
	"stepscan/render/sheet"
)

// writeFiles puts the report, its tables, the drawings and the page of all that
// under dir. Files of an earlier run with the same names are replaced; others in
// the folder are left alone.
func writeFiles(ctx context.Context, j *access.Judgement, dir string, o *checkOptions) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var drawings page.Drawings
	if o.drawings != "none" {
		var err error
		if drawings, err = writeDrawings(ctx, j, dir, o); err != nil {
			return err
		}
	}
	r, marked := j.Report, report.CSV{Mark: true}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"report.json", func(w io.Writer) error { return report.JSON(w, r) }},
		{"fasteners.csv", func(w io.Writer) error { return report.FastenersCSV(w, r, marked) }},
		{"parts.csv", func(w io.Writer) error { return report.PartsCSV(w, r, marked) }},
		{"report.html", func(w io.Writer) error { return page.Write(w, r, drawings) }},
	} {
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, f.name), b.Bytes(), 0o666); err != nil {
			return err
		}
	}
	return nil
}

// drawing is one SVG file to make.
type drawing struct {
	name string
	draw func() []byte
}

// writeDrawings writes the drawings and returns those that the page shows.
func writeDrawings(ctx context.Context, j *access.Judgement, dir string, o *checkOptions) (page.Drawings, error) {
	book := sheet.New(j.Product, j.Fasteners, j.Holds, j.Reach, sheet.Meta{Program: "stepscan", Version: version})
	list := []drawing{{page.Overview, book.Overview}}
	for i := range j.Fasteners {
		if o.drawings == "all" || j.Problem(i) {
			list = append(list, drawing{j.Drawing(i), func() []byte { return book.Joint(i) }})
		}
	}
	if err := os.MkdirAll(filepath.Join(dir, "joints"), 0o777); err != nil {
		return nil, err
	}
	return drawAll(ctx, list, dir, page.Wanted(j.Report), o.jobs)
}

// drawAll writes each drawing to a file of its own, on several cores, and
// returns the wanted ones.
func drawAll(ctx context.Context, list []drawing, dir string, want map[string]bool, jobs int) (page.Drawings, error) {
	errs, kept := make([]error, len(list)), make([][]byte, len(list))
	workers.Run(ctx, len(list), jobs, func(i int) {
		svg := list[i].draw()
		errs[i] = os.WriteFile(filepath.Join(dir, filepath.FromSlash(list[i].name)), svg, 0o666)
		if want[list[i].name] {
			kept[i] = svg
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out := page.Drawings{}
	for i, svg := range kept {
		if svg != nil {
			out[list[i].name] = svg
		}
	}
	return out, firstOf(errs)
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
