package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"stepscan/fixtures"
)

func runDemo(_ context.Context, e env, args []string) error {
	formats := []string{"text"}
	fs, s := newFlags(e, "demo", "[DIR]", "Writes the built-in demo assembly, a greenhouse climate logger, in two revisions.", formats)
	if err := s.parse(e, fs, args, formats); err != nil {
		return err
	}
	dir := "."
	switch fs.NArg() {
	case 0:
	case 1:
		dir = fs.Arg(0)
	default:
		return usagef("demo: name one folder at most")
	}
	return writeDemo(e, dir)
}

// writeDemo never overwrites: what stands there may be somebody's work.
func writeDemo(e env, dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var first string
	for _, f := range demoFiles() {
		path := filepath.Join(dir, f.name)
		if err := writeNew(path, f.data); err != nil {
			return err
		}
		fmt.Fprintf(e.stdout, "%s\n    %s\n", filepath.ToSlash(path), f.about)
		if first == "" {
			first = path
		}
	}
	fmt.Fprintf(e.stdout, "\nNext: stepscan check %s\n", filepath.ToSlash(first))
	return nil
}

type demoFile struct {
	name, about string
	data        []byte
}

func demoFiles() []demoFile {
	return []demoFile{
		{"logger-a.step", "a greenhouse climate logger with the mistakes of a first design", fixtures.LoggerA()},
		{"logger-b.step", "the same product after they were mended", fixtures.LoggerB()},
	}
}

func writeNew(path string, data []byte) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == string(data) {
		return nil
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return fmt.Errorf("%w: move it away or name another folder", err)
	}
	if _, err = f.Write(data); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
