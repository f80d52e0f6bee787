package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/spf13/pflag"

	"stepscan/geom/workers"
)

func exitText(err error) string {
	var e *exec.ExitError
	if errors.As(err, &e) {
		return fmt.Sprint(e.ExitCode())
	}
	return err.Error()
}

func TestExitCodes(t *testing.T) {
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		err  error
		want int
	}{
		{"done", context.Background(), nil, exitOK},
		{"help", context.Background(), silent{pflag.ErrHelp, exitOK}, exitOK},
		{"usage", context.Background(), usagef("no such flag"), exitUsage},
		{"limit", context.Background(), silent{errors.New("told"), exitLimit}, exitLimit},
		{"file", context.Background(), errors.New("cannot read"), exitInput},
		{"interrupted", stopped, stopped.Err(), exitInterrupted},
		{"interrupted while reading", stopped, errors.New("cannot read"), exitInterrupted},
	} {
		if got := exitCode(c.ctx, c.err); got != c.want {
			t.Errorf("%s: exit code %d, want %d", c.name, got, c.want)
		}
	}
}

// Whatever a file's name or content puts into an error, it is told on one line.
func TestErrorsTakeOneLine(t *testing.T) {
	var errs bytes.Buffer
	code := run(t.Context(), env{io.Discard, &errs}, []string{"check", "two\nlines\x1b[31m.step"})
	text, ok := strings.CutPrefix(errs.String(), "stepscan: two?lines?[31m.step: ")
	if code != exitInput || !ok || strings.Index(text, "\n") != len(text)-1 {
		t.Errorf("exit code %d, stderr %q, want one line about the file", code, errs.String())
	}
}

// A broken promise of our own code, on this goroutine or on a worker, is one
// error that names the file.
func TestLastDefence(t *testing.T) {
	s := &shared{log: zerolog.Nop()}
	for name, broken := range map[string]func(){
		"here":      func() { panic("index\nout of range") },
		"on worker": func() { workers.Run(t.Context(), 3, 2, func(i int) { panic("index\nout of range") }) },
	} {
		err := func() (err error) {
			defer s.lastDefence("in/product.step", &err)
			broken()
			return nil
		}()
		if err == nil || !strings.HasPrefix(err.Error(), "product.step: internal fault: index;") || exitCode(t.Context(), err) != exitInput {
			t.Errorf("%s: error %v, want one with the file's name and the first line of the fault", name, err)
		}
	}
}
