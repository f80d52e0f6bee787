// Command stepscan reads a STEP assembly and says how it will come apart:
// which fasteners hold it, which of them a real tool reaches from one working
// side, and what stands in the way of the others.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/pflag"

	"stepscan/step"
)

// version is the program's own; it stands in every report.
const version = "0.1.0"

// Exit codes, as promised to other programs.
const (
	exitOK          = 0   // read, and within limits
	exitLimit       = 1   // read, and a limit is exceeded
	exitUsage       = 2   // wrong usage
	exitInput       = 3   // an input cannot be read or is too damaged to judge
	exitInterrupted = 130 // by a signal
)

// env is what a command may touch of the outside.
type env struct {
	stdout, stderr io.Writer
}

// usageError is a mistake in the command line.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// command is one of the program's verbs.
type command struct {
	name, args, short string
	run               func(ctx context.Context, e env, args []string) error
}

func commands() []command {
	return []command{
		{"check", "FILE...", "which fasteners hold it, which can be reached from one side, what blocks the others", runCheck},
		{"tree", "FILE", "product structure with placements, volumes and boxes", runTree},
		{"demo", "[DIR]", "write the built-in demo assembly in two revisions", runDemo},
	}
}

func main() { os.Exit(mainCode()) }

// mainCode runs the program and returns its exit code.
func mainCode() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	return run(ctx, env{os.Stdout, os.Stderr}, os.Args[1:])
}

func run(ctx context.Context, e env, args []string) int {
	err := dispatch(ctx, e, args)
	code := exitCode(ctx, err)
	var quiet silent
	if err != nil && !errors.As(err, &quiet) {
		tell(e, err)
	}
	return code
}

// tell prints an error: on one line, whatever a file's name or content put
// into it; only wrong usage is followed by the usage.
func tell(e env, err error) {
	text := err.Error()
	var use usageError
	if !errors.As(err, &use) {
		text = strings.Map(func(r rune) rune {
			if step.Spoofs(r) {
				return '?'
			}
			return r
		}, text)
	}
	fmt.Fprintf(e.stderr, "stepscan: %s\n", text)
}

func dispatch(ctx context.Context, e env, args []string) error {
	if len(args) == 0 {
		return usagef("no command given\n%s", usage())
	}
	switch args[0] {
	case "help", "-h", "--help":
		fmt.Fprint(e.stdout, usage())
		return nil
	case "version", "--version":
		fmt.Fprintf(e.stdout, "stepscan %s\n", version)
		return nil
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(ctx, e, args[1:])
		}
	}
	return usagef("there is no command %q\n%s", args[0], usage())
}

func usage() string {
	s := "stepscan reads a STEP assembly and says how it will come apart.\n\nUsage:\n"
	for _, c := range commands() {
		s += fmt.Sprintf("  stepscan %-5s %-8s  %s\n", c.name, c.args, c.short)
	}
	return s + "\n'stepscan COMMAND --help' lists a command's flags.\n" +
		"Exit codes: 0 read and within limits, 1 a limit is exceeded, 2 wrong usage, 3 input not readable, 130 interrupted.\n"
}

// silent wraps an error that has been told already.
type silent struct {
	error
	code int
}

func (s silent) Unwrap() error { return s.error }

func exitCode(ctx context.Context, err error) int {
	var use usageError
	var told silent
	switch {
	case err == nil, errors.Is(err, pflag.ErrHelp):
		return exitOK
	case ctx.Err() != nil:
		return exitInterrupted
	case errors.As(err, &told):
		return told.code
	case errors.As(err, &use):
		return exitUsage
	}
	return exitInput
}
