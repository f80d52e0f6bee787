package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/go-gl/mathgl/mgl64"
	"github.com/rs/zerolog"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"stepscan/geom"
	"stepscan/step"
	"stepscan/step/p21"
)

// shared are the flags that every command has.
type shared struct {
	format, logLevel, color string
	jobs                    int
	quiet                   bool
	log                     zerolog.Logger
}

// newFlags makes a command's flag set with the shared flags in it.
func newFlags(e env, name, args, about string, formats []string) (*pflag.FlagSet, *shared) {
	s := &shared{}
	fs := pflag.NewFlagSet(name, pflag.ContinueOnError)
	fs.SetOutput(io.Discard) // errors are printed once, by run
	fs.SortFlags = false
	fs.Usage = func() {
		fmt.Fprintf(e.stdout, "%s\n\nUsage: stepscan %s [flags] %s\n\n%s", about, name, args, fs.FlagUsages())
	}
	fs.StringVar(&s.format, "format", "text", "what goes to stdout: "+strings.Join(formats, ", "))
	fs.StringVar(&s.logLevel, "log-level", "warn", "log on stderr: debug, info, warn, error")
	fs.IntVar(&s.jobs, "jobs", 0, "cores to use; 0 for all")
	fs.BoolVar(&s.quiet, "quiet", false, "nothing on stderr but errors")
	fs.StringVar(&s.color, "color", "auto", "colours on stdout: auto, always, never")
	return fs, s
}

// parse reads the arguments and checks the shared flags.
func (s *shared) parse(e env, fs *pflag.FlagSet, args, formats []string) error {
	if err := fs.Parse(args); err != nil {
		if err == pflag.ErrHelp {
			return silent{err, exitOK}
		}
		return usageError{err}
	}
	if !slices.Contains(formats, s.format) {
		return usagef("--format %q: %s has %s", s.format, fs.Name(), strings.Join(formats, ", "))
	}
	if !slices.Contains([]string{"auto", "always", "never"}, s.color) {
		return usagef("--color %q: want auto, always or never", s.color)
	}
	if s.jobs < 0 {
		return usagef("--jobs %d: want 0 (all cores) or a number of cores", s.jobs)
	}
	level, err := zerolog.ParseLevel(s.logLevel)
	if err != nil {
		return usagef("--log-level %q: want debug, info, warn or error", s.logLevel)
	}
	if s.quiet {
		level = zerolog.ErrorLevel
	}
	s.log = zerolog.New(zerolog.ConsoleWriter{
		Out: e.stderr, NoColor: !s.colored(e.stderr),
		PartsExclude: []string{zerolog.TimestampFieldName}, // two runs, the same bytes
	}).Level(level)
	return nil
}

// colored decides on colours for one stream; NO_COLOR (no-color.org's
// convention) turns them off unless they are asked for.
func (s *shared) colored(w io.Writer) bool {
	switch s.color {
	case "always":
		return true
	case "never":
		return false
	}
	return os.Getenv("NO_COLOR") == "" && terminal(w)
}

func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// meshFlags adds how finely surfaces are meshed.
func meshFlags(fs *pflag.FlagSet) (chord, angle *float64) {
	return fs.Float64("chord", 0.05, "how far a mesh may leave the exact surface, mm"),
		fs.Float64("angle", 20, "how far a mesh may turn from one facet to the next, degrees")
}

// readFlags adds what reading is told. The values are there after parsing.
func readFlags(fs *pflag.FlagSet) func() (step.Options, error) {
	hidden := fs.Bool("hidden", false, "judge bodies that the file hides as well")
	memory := fs.Int64("max-memory", 0, "most memory for each of a file's index, bodies, occurrences and meshes, MiB; 0: in proportion to the file")
	encoding := fs.String("encoding", "", "encoding of names that are not ASCII, such as gbk, shift_jis, windows-1251; empty: UTF-8, or else a guess")
	return func() (step.Options, error) {
		opt := step.Options{Hidden: *hidden, MaxMemory: *memory << 20}
		if *encoding != "" {
			enc, err := p21.EncodingNamed(*encoding)
			if err != nil {
				return step.Options{}, usagef("--encoding %w", err)
			}
			opt.Encoding = enc
		}
		if *memory < 0 || *memory > 1<<20 {
			return step.Options{}, usagef("--max-memory %d: want 0 to 1048576 MiB", *memory)
		}
		return opt, nil
	}
}

// tolerance checks the mesh flags. The bounds keep the triangle count of an
// ordinary file within memory.
func tolerance(chord, angle float64) (geom.Tolerance, error) {
	if !(chord >= 1e-4 && chord <= 100) {
		return geom.Tolerance{}, usagef("--chord %g: want 0.0001 to 100 mm", chord)
	}
	if !(angle >= 1 && angle <= 90) {
		return geom.Tolerance{}, usagef("--angle %g: want 1 to 90 degrees", angle)
	}
	return geom.Tolerance{Chord: chord, Angle: mgl64.DegToRad(angle)}, nil
}

// parseSide reads the working side: nil for auto.
func parseSide(s string) (*mgl64.Vec3, error) {
	if s == "auto" {
		return nil, nil
	}
	if len(s) == 2 && strings.Contains("+-", s[:1]) && strings.Contains("xyz", s[1:]) {
		var v mgl64.Vec3
		v[strings.Index("xyz", s[1:])] = 1
		if s[0] == '-' {
			v = v.Mul(-1)
		}
		return &v, nil
	}
	var v mgl64.Vec3
	parts := strings.Split(s, ",")
	bad := usagef("--side %q: want auto, +x, -x, +y, -y, +z, -z or three numbers X,Y,Z", s)
	if len(parts) != 3 {
		return nil, bad
	}
	for i, p := range parts {
		f, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || math.IsInf(f, 0) {
			return nil, bad
		}
		v[i] = f
	}
	u, ok := geom.Unit(v)
	if !ok {
		return nil, bad
	}
	return &u, nil
}
