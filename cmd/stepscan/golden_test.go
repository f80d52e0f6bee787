package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write fixtures/expected anew; read the difference before committing it")

// TestExpected holds the program's output on the demo against what is
// committed and shown in the README: the summary of each revision, the
// overview and two sheets. It says that something changed, not that it is
// right; the other tests say that.
func TestExpected(t *testing.T) {
	dir := t.TempDir()
	for _, rev := range []string{"a", "b"} {
		file := filepath.Join("..", "..", "fixtures", "logger-"+rev+".step")
		var out, errs bytes.Buffer
		code := run(context.Background(), env{&out, &errs}, []string{"check", "--out", filepath.Join(dir, rev), file})
		if code != exitOK || errs.Len() > 0 {
			t.Fatalf("exit code %d, stderr %q", code, errs.String())
		}
		text := bytes.ReplaceAll(out.Bytes(), []byte(filepath.ToSlash(dir)+"/"+rev), []byte("logger-"+rev+".stepscan"))
		expect(t, "logger-"+rev+".txt", text)
	}
	for _, name := range []string{"overview.svg", "joints/f5.svg", "joints/f6.svg", "joints/f17.svg"} {
		b, err := os.ReadFile(filepath.Join(dir, "a", filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		expect(t, "logger-a-"+filepath.Base(name), b)
	}
}

func expect(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "..", "fixtures", "expected", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (- committed, + now; 'go test ./cmd/stepscan -update' after reading):\n%s", name, d)
	}
}
