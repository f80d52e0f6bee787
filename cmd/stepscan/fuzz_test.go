package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// FuzzCheck runs the program on hostile files: each ends in a report that is
// valid JSON or in one line of error, and in no fault of our own.
func FuzzCheck(f *testing.F) {
	files, err := filepath.Glob("../../step/testdata/*.stp")
	if err != nil || len(files) == 0 {
		f.Fatal("no seeds", err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
		for _, s := range spoilt(b) {
			f.Add(s)
		}
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		endsWell(t, src, "check", "--out", "-", "--format", "json")
	})
}

// endsWell runs a command that prints JSON on a text: it must end in a report
// that is valid JSON and nothing on stderr, or in one line of error that names
// the file and nothing on stdout, and in no fault of our own.
func endsWell(t *testing.T, src []byte, command ...string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "fuzz.step")
	if err := os.WriteFile(path, src, 0o666); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	code := run(t.Context(), env{&out, &errs}, append(command, path))
	told := errs.String()
	switch {
	case strings.Contains(told+out.String(), "internal fault") || strings.Contains(out.String(), "internal error"):
		t.Fatalf("a fault of ours: %s%s", told, out.String())
	case (code == exitOK || code == exitLimit) && (!json.Valid(out.Bytes()) || told != ""):
		t.Fatalf("stderr %q, stdout %s", told, out.String())
	case code == exitInput && (out.Len() > 0 || strings.Count(told, "\n") != 1 || !strings.Contains(told, "fuzz.step")):
		t.Fatalf("stderr %q, stdout %q: want one line on stderr with the file's name", told, out.String())
	case code != exitOK && code != exitLimit && code != exitInput:
		t.Fatalf("exit code %d", code)
	}
}

// spoilt makes files of the kinds that turned out hard: numbers at the ends of
// the range, wild radii and units, references to themselves and each other,
// emptied lists, a cut.
func spoilt(b []byte) [][]byte {
	var out [][]byte
	add := func(pattern, with string) {
		re := regexp.MustCompile(pattern)
		if at := re.FindIndex(b); at != nil {
			out = append(out, append(append(bytes.Clone(b[:at[0]]), re.ReplaceAll(b[at[0]:at[1]], []byte(with))...), b[at[1]:]...))
		}
		out = append(out, re.ReplaceAll(b, []byte(with)))
	}
	for _, x := range []string{"1.E308", "1.E-300", "-1.E10", "NAN", "0.", "99999999999999999999"} {
		add(`\b\d+\.,`, x+",")
	}
	add(`\.MILLI\.`, "$$")
	add(`\.MILLI\.`, ".EXA.")
	add(`(#\d+)=(.*?)#\d+`, "$1=$2$1")
	add(`\.T\.`, ".F.")
	add(`\(#[^()]*\)`, "()")
	return append(out, b[:len(b)/2], bytes.TrimRight(b, "; \n"))
}
