package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access"
	"stepscan/access/notes"
	"stepscan/geom"
	"stepscan/render/report"
	"stepscan/step"
)

// checkOptions are check's own flags, read and valid.
type checkOptions struct {
	*shared
	out      string
	drawings string
	side     *mgl64.Vec3
	tol      geom.Tolerance
	reading  step.Options
	notes    *notes.Notes
	many     bool // several files: each gets a folder of its own under out
	told     bool // a result was printed: a table goes on without a heading
}

func checkFlags(e env, args []string) (*checkOptions, []string, error) {
	formats := []string{"text", "json", "csv"}
	fs, s := newFlags(e, "check", "FILE...", "Reads STEP assemblies, recognises their fasteners and says which a tool reaches from one side.", formats)
	o := &checkOptions{shared: s}
	chord, angle := meshFlags(fs)
	reading := readFlags(fs)
	side := fs.String("side", "auto", "the side the person works from: auto, +x, -x, +y, -y, +z, -z or X,Y,Z")
	fs.StringVar(&o.drawings, "drawings", "problems", "which joints are drawn: problems, all, none")
	said := fs.String("notes", "", "a YAML file with what the geometry does not show: parts that are fasteners or none, joints by glue or snap")
	fs.StringVar(&o.out, "out", "", "folder for report.html, report.json, tables and drawings; - for none (default NAME.stepscan)")
	if err := s.parse(e, fs, args, formats); err != nil {
		return nil, nil, err
	}
	var err error
	if o.side, err = parseSide(*side); err != nil {
		return nil, nil, err
	}
	if o.tol, err = tolerance(*chord, *angle); err != nil {
		return nil, nil, err
	}
	if o.reading, err = reading(); err != nil {
		return nil, nil, err
	}
	if !slices.Contains([]string{"problems", "all", "none"}, o.drawings) {
		return nil, nil, usagef("--drawings %q: want problems, all or none", o.drawings)
	}
	if fs.NArg() == 0 {
		return nil, nil, usagef("check: name a STEP file, such as 'stepscan check product.step'")
	}
	if o.notes, err = readNotes(*said); err != nil {
		return nil, nil, err
	}
	o.many = fs.NArg() > 1
	return o, fs.Args(), nil
}

// readNotes reads a notes file; none for "".
func readNotes(path string) (*notes.Notes, error) {
	if path == "" {
		return nil, nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("notes not read: %w", err)
	}
	return notes.Read(path, text)
}

func runCheck(ctx context.Context, e env, args []string) error {
	o, files, err := checkFlags(e, args)
	if err != nil {
		return err
	}
	worst := exitOK
	for i, f := range files {
		if i > 0 && o.format == "text" {
			fmt.Fprintln(e.stdout)
		}
		pass, err := checkOne(ctx, e, o, f)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		switch {
		case err != nil && !o.many:
			return err
		case err != nil:
			tell(e, err)
			worst = max(worst, exitCode(ctx, err))
		case !pass:
			worst = max(worst, exitLimit)
		}
	}
	if worst != exitOK {
		return silent{errors.New("told per file"), worst}
	}
	return nil
}

// checkOne judges one file, writes its files and prints its result.
func checkOne(ctx context.Context, e env, o *checkOptions, path string) (pass bool, err error) {
	defer o.lastDefence(path, &err)
	at, stop := o.follow(e)
	defer stop()
	p, err := readProduct(ctx, o.shared, at, path, o.reading, o.tol)
	if err != nil {
		return false, err
	}
	at.say("judging")
	j, err := access.Judge(ctx, p, access.Options{Side: o.side, Version: version, Workers: o.jobs, Notes: o.notes})
	if err != nil {
		return false, err
	}
	o.log.Info().Int("fasteners", len(j.Fasteners)).Msg("judged")
	dir := o.folder(path)
	if dir != "" {
		at.say("drawing and writing")
		if err := writeFiles(ctx, j, dir, o); err != nil {
			return false, fmt.Errorf("results not written: %w; name another folder with --out, or --out - for none", err)
		}
	}
	stop()
	if err := o.print(e, j.Report, dir); err != nil {
		return false, err
	}
	return j.Report.Verdict.Pass, nil
}

// folder is where a file's results go, "" for nowhere.
func (o *checkOptions) folder(path string) string {
	base := filepath.Base(path)
	name := strings.TrimSuffix(base, filepath.Ext(base)) + ".stepscan"
	switch {
	case o.out == "-":
		return ""
	case o.out == "":
		return name
	case o.many:
		return filepath.Join(o.out, name)
	}
	return o.out
}

func (o *checkOptions) print(e env, r *access.Report, dir string) error {
	switch o.format {
	case "json":
		return report.JSON(e.stdout, r)
	case "csv": // the fasteners, all files in one table
		c := report.CSV{File: o.many, Headless: o.told}
		o.told = true
		return report.FastenersCSV(e.stdout, r, c)
	}
	st := report.Style{Color: o.colored(e.stdout)}
	if dir != "" && o.drawings != "none" {
		st.Drawings = filepath.ToSlash(dir)
	}
	if err := report.Text(e.stdout, r, st); err != nil {
		return err
	}
	if dir != "" {
		fmt.Fprintf(e.stdout, "Written to %s\n", filepath.ToSlash(dir)+"/")
	}
	return nil
}
