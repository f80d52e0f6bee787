package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"stepscan/access"
	"stepscan/fixtures"
)

// runTool runs the program in this process and returns its output.
func runTool(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(context.Background(), env{&out, &errs}, args)
	return code, out.String(), errs.String()
}

func write(t *testing.T, name string, text []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, text, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestHiddenFlag: a body that the file hides is left out and told, unless it
// is asked for.
func TestHiddenFlag(t *testing.T) {
	text := fixtures.LoggerA()
	styled := regexp.MustCompile(`#(\d+)\s*=\s*STYLED_ITEM`).FindSubmatch(text)
	end := bytes.LastIndex(text, []byte("ENDSEC;"))
	if styled == nil || end < 0 {
		t.Fatal("the demo has no styled item to hide")
	}
	hiding := fmt.Sprintf("#9999999=INVISIBILITY((#%s));\n", styled[1])
	path := write(t, "hiding.step", []byte(string(text[:end])+hiding+string(text[end:])))
	solids := func(args ...string) access.Read {
		code, out, errs := runTool(append(args, path)...)
		var r access.Report
		if err := json.Unmarshal([]byte(out), &r); code != exitOK || err != nil {
			t.Fatalf("%v: exit code %d, %v, %s", args, code, err, errs)
		}
		return r.Read
	}
	without, with := solids("tree", "--format", "json"), solids("tree", "--format", "json", "--hidden")
	if without.Solids >= with.Solids || len(without.Skipped) <= len(with.Skipped) {
		t.Errorf("%d solids and %d notes without --hidden, %d and %d with it", without.Solids, len(without.Skipped), with.Solids, len(with.Skipped))
	}
}

// TestMaxMemoryFlag: an index larger than asked for is refused in one line.
func TestMaxMemoryFlag(t *testing.T) {
	var b strings.Builder
	b.WriteString("ISO-10303-21;HEADER;ENDSEC;DATA;\n")
	for i := range 100_000 { // at 16 bytes a record more than a MiB
		fmt.Fprintf(&b, "#%d=A();\n", i+1)
	}
	b.WriteString("ENDSEC;END-ISO-10303-21;\n")
	path := write(t, "many.step", []byte(b.String()))
	code, out, errs := runTool("tree", "--structure", "--max-memory", "1", path)
	if code != exitInput || out != "" || strings.Count(errs, "\n") != 1 || !strings.Contains(errs, "many.step") {
		t.Errorf("exit code %d, stdout %q, stderr %q", code, out, errs)
	}
	if code, _, errs := runTool("tree", "--structure", "--max-memory", "64", path); code != exitOK {
		t.Errorf("with room enough: exit code %d, %s", code, errs)
	}
}
