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
	"stepscan/access/joint"
	"stepscan/access/product"
	"stepscan/geom/brep"
	"stepscan/geom/tess"
	"stepscan/step"
)

// BenchmarkKnow recognises and joins the fasteners of each shared file, and
// reports what that costs as a share of tessellating the same file at the
// default chord, both on all cores and in turn: "of-tess" over the sum of all
// files, "of-tess-worst" for the worst file that takes 5 ms or more.
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
}

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
	mid := time.Now()
	joint.Find(b.Context(), l.product, fastener.Find(b.Context(), l.product))
	l.tess, l.know = least(l.tess, mid.Sub(start)), least(l.know, time.Since(mid))
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
	worst := 0.0
	for i := range loads {
		l := &loads[i]
		mesh, know = mesh+l.tess, know+l.know
		share := float64(l.know) / float64(l.tess)
		if l.know >= 5*time.Millisecond {
			worst = max(worst, share)
		}
		if share > 1 {
			b.Logf("%s: %v to know, %v to tessellate", l.name, l.know, l.tess)
		}
	}
	b.ReportMetric(float64(know)/float64(mesh), "of-tess")
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
