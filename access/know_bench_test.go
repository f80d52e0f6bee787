package access_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"stepscan/access/fastener"
	"stepscan/access/fastener/feature"
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom/brep"
	"stepscan/geom/tess"
	"stepscan/step"
)

// BenchmarkKnow reads the features of each shared file, recognises and joins its
// fasteners and looks where its parts touch, and reports what that costs as a
// share of tessellating the same file at the default chord, both on all cores
// and in turn: "of-tess" over the sum of all files, "of-tess-worst" for the
// worst file that takes 5 ms or more, and each stage's share of the sum.
func BenchmarkKnow(b *testing.B) {
	files := benchFiles(b)
	loads := make([]load, 0, len(files))
	for _, path := range files {
		loads = append(loads, readLoad(b, path))
	}
	for b.Loop() {
		for i := range loads {
			loads[i].turn(b)
		}
	}
	reportShares(b, loads)
}

// load is one file and the least times of both sides.
type load struct {
	name       string
	product    *product.Product
	bodies     []*brep.Body
	tess, know time.Duration
	stages     [len(stageNames)]time.Duration
}

// stageNames are what is measured one by one.
var stageNames = [...]string{"features", "recognise", "join", "touch"}

func readLoad(b *testing.B, path string) load {
	asm, err := step.ReadFile(b.Context(), path, step.Options{})
	if err != nil {
		b.Fatal(err)
	}
	p, err := product.Build(b.Context(), asm, product.Options{Tol: tess.Default})
	if err != nil {
		b.Fatal(err)
	}
	l := load{name: filepath.Base(path), product: p}
	for i := range asm.Parts {
		l.bodies = append(l.bodies, asm.Parts[i].Bodies...)
	}
	return l
}

func (l *load) turn(b *testing.B) {
	start := time.Now()
	tess.Bodies(b.Context(), l.bodies, tess.Default, runtime.GOMAXPROCS(0))
	l.tess = least(l.tess, time.Since(start))
	at := time.Now()
	begin := at
	stage := func(k int) {
		now := time.Now()
		l.stages[k] = least(l.stages[k], now.Sub(at))
		at = now
	}
	scene := feature.NewScene(b.Context(), l.product)
	stage(0)
	fs, _ := fastener.FindIn(b.Context(), scene)
	stage(1)
	holds, joints := joint.FindIn(b.Context(), scene, fs)
	stage(2)
	joint.TouchIn(b.Context(), scene, fs, holds, joints)
	stage(3)
	l.know = least(l.know, at.Sub(begin))
}

// least is the smaller of two times; 0 is none yet.
func least(a, b time.Duration) time.Duration {
	if a == 0 {
		return b
	}
	return min(a, b)
}

func reportShares(b *testing.B, loads []load) {
	var mesh, know time.Duration
	var stages [len(stageNames)]time.Duration
	worst := 0.0
	for i := range loads {
		l := &loads[i]
		mesh, know = mesh+l.tess, know+l.know
		for k, d := range l.stages {
			stages[k] += d
		}
		share := float64(l.know) / float64(l.tess)
		if l.know >= 5*time.Millisecond {
			worst = max(worst, share)
		}
		if share > 1 {
			b.Logf("%s: %v to know %v, %v to tessellate", l.name, l.know, l.stages, l.tess)
		}
	}
	b.ReportMetric(float64(know)/float64(mesh), "of-tess")
	for k, d := range stages {
		b.ReportMetric(float64(d)/float64(mesh), stageNames[k])
	}
	b.ReportMetric(worst, "of-tess-worst")
}

// benchFiles are the shared STEP files.
func benchFiles(b *testing.B) []string {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		b.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	var files []string
	err := filepath.WalkDir(filepath.Join(shared, "data"), func(path string, _ fs.DirEntry, err error) error {
		switch strings.ToLower(filepath.Ext(path)) {
		case ".stp", ".step":
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) == 0 {
		b.Fatalf("no STEP files below %s: %v", shared, err)
	}
	return files
}
