package p21

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sharedFiles lists the real STEP files of the shared folder by name.
func sharedFiles(t testing.TB) map[string][]byte {
	t.Helper()
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	root := filepath.Join(shared, "data")
	out := map[string][]byte{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		switch strings.ToLower(filepath.Ext(path)) {
		case ".stp", ".step", ".p21":
			b, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return err
			}
			out[filepath.ToSlash(rel)] = b
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Real files must scan, and every reference and number in them must be
// readable by the lazy values.
func TestScanRealFiles(t *testing.T) {
	for name, src := range sharedFiles(t) {
		f, err := Scan(src, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		t.Logf("%s: %d bytes, %d records, %d warnings, schemas %q, system %q", name, len(src), f.Len(), len(f.Warnings), f.Header.Schemas, f.Header.System)
		for i, w := range f.Warnings {
			if i < 3 {
				t.Logf("  %v", w)
			}
		}
		bad := 0
		for r := range f.Of("CARTESIAN_POINT") {
			p := r.Params()
			if _, n := p.Coords(1); n == 0 {
				bad++
			}
		}
		if bad > 0 {
			t.Errorf("%s: %d points without coordinates", name, bad)
		}
	}
}

func BenchmarkScan(b *testing.B) {
	var src []byte
	for _, s := range sharedFiles(b) {
		if len(s) > len(src) {
			src = s
		}
	}
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Scan(src, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPoints(b *testing.B) {
	var src []byte
	for _, s := range sharedFiles(b) {
		if len(s) > len(src) {
			src = s
		}
	}
	f, err := Scan(src, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		n = 0
		for r := range f.Of("CARTESIAN_POINT") {
			p := r.Params()
			if _, k := p.Coords(1); k > 0 {
				n++
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/point")
}
