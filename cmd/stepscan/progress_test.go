package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"stepscan/access/product"
	"stepscan/fixtures"
	"stepscan/geom/tess"
	"stepscan/step"
)

// The line is written over when it changes, and nothing of it is left.
func TestProgressLine(t *testing.T) {
	var out bytes.Buffer
	p := &progress{w: &out}
	p.clear()
	p.show()
	if out.Len() > 0 {
		t.Errorf("%q is written before there is anything to say", out.String())
	}
	p.say("reading")
	p.show()
	p.show()
	p.meshed(3, 40)
	p.meshed(20, 40)
	p.show()
	p.clear()
	p.clear()
	const want = eraseLine + "reading" + eraseLine + "meshing: 20 of 40 bodies" + eraseLine
	if out.String() != want {
		t.Errorf("%q, want %q", out.String(), want)
	}
	if strings.Contains(out.String(), "\n") {
		t.Error("the line ends, so that it stays")
	}
}

// Whoever is no terminal gets no progress, and neither does who wants none.
func TestProgressOnTerminalsOnly(t *testing.T) {
	file, err := os.Create(t.TempDir() + "/stderr")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	s := &shared{log: zerolog.Nop().Level(zerolog.WarnLevel)}
	for _, e := range []env{{stderr: &bytes.Buffer{}}, {stderr: file}} {
		p, stop := s.follow(e)
		if p != nil {
			t.Errorf("progress to %T", e.stderr)
		}
		p.say("nothing")
		p.meshed(1, 2)
		stop()
		stop()
	}
}

// Meshing tells how far it is, up to the end, and never backwards.
func TestProgressOfMeshing(t *testing.T) {
	var seen []int
	total := 0
	asm, err := step.Read(t.Context(), "demo.step", fixtures.LoggerA(), step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	tell := func(n, of int) { seen, total = append(seen, n), of }
	if _, err := product.Build(t.Context(), asm, product.Options{Tol: tess.Default, Progress: tell}); err != nil {
		t.Fatal(err)
	}
	if len(seen) == 0 || seen[len(seen)-1] != total || total == 0 {
		t.Fatalf("told %v of %d", seen, total)
	}
	for i := 1; i < len(seen); i++ {
		if seen[i] < seen[i-1] {
			t.Errorf("told %v", seen)
		}
	}
}
