package step

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// longText is a sound file with so many points before its data that it is
// indexed in chunks.
func longText(t testing.TB) []byte {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("testdata", "pair-in-two-units.stp"))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString("DATA;\n")
	for i := range 60_000 {
		fmt.Fprintf(&b, "#%d=CARTESIAN_POINT('',(%d.125,%d.0625,-%d.5));\n", 1000+i, i%997, i%1009, i)
	}
	return []byte(strings.Replace(string(src), "DATA;\n", b.String(), 1))
}

// The number of jobs must not show.
func TestJobsChangeNothing(t *testing.T) {
	src := longText(t)
	want, err := Read(t.Context(), "a.stp", src, Options{Jobs: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, jobs := range []int{2, 5} {
		got, err := Read(t.Context(), "a.stp", src, Options{Jobs: jobs})
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want.Source, got.Source); d != "" {
			t.Errorf("%d jobs, source (-1 +%d)\n%s", jobs, jobs, d)
		}
		if d := cmp.Diff(want.Occurrences, got.Occurrences); d != "" {
			t.Errorf("%d jobs, occurrences\n%s", jobs, d)
		}
		if d := cmp.Diff(want.Skips, got.Skips); d != "" {
			t.Errorf("%d jobs, skips\n%s", jobs, d)
		}
	}
}

// With the text itself that keeps reading the structure below twice the file's
// size: 16 bytes a record for the index, and little else.
func TestStructureMemory(t *testing.T) {
	src := longText(t)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, err := Read(t.Context(), "a.stp", src, Options{Structure: true}); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; got > uint64(len(src))*3/4 {
		t.Errorf("%d bytes allocated beside a text of %d, want at most three quarters", got, len(src))
	}
}

func TestMaxMemory(t *testing.T) {
	var limit *LimitError
	if _, err := Read(t.Context(), "a.stp", longText(t), Options{MaxMemory: 1 << 20}); !errors.As(err, &limit) {
		t.Errorf("error %v, want a LimitError: the index of 60,000 records takes more than a MiB", err)
	}
}
