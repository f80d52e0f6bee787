package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"testing"

	"github.com/spf13/pflag"
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
