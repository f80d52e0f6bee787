package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"stepscan/step/p21"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"stepscan": func() { os.Exit(mainCode()) }})
}

// TestScripts runs the program as a person would: arguments in, stdout, files
// and exit code out.
func TestScripts(t *testing.T) {
	fixtures, err := filepath.Abs("../../fixtures")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("FIXTURES", fixtures)
			e.Setenv("TESTDATA", filepath.Join(fixtures, "..", "step", "testdata"))
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exitcode": exitcodeCmd,
			"encode":   encodeCmd,
		},
	})
}

// encodeCmd writes a file of the script in another encoding: encode gbk in out.
func encodeCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: encode ENCODING FILE FILE")
	}
	enc, err := p21.EncodingNamed(args[0])
	ts.Check(err)
	out, err := enc.NewEncoder().String(ts.ReadFile(args[1]))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(out), 0o666))
}

// exitcodeCmd runs the program in the script's folder and checks its exit
// code: exitcode 3 check missing.step.
func exitcodeCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exitcode CODE ARG...")
	}
	err := ts.Exec("stepscan", args[1:]...)
	got := "0"
	if err != nil {
		got = exitText(err)
	}
	if got != args[0] {
		ts.Fatalf("stepscan %v: exit code %s, want %s", args[1:], got, args[0])
	}
}
