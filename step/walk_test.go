package step

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Occurrences that are made one by one are those of the list, the second time as
// well, and when the text is gone; a walk may be left early.
func TestWalkIsTheList(t *testing.T) {
	for _, path := range walkFiles(t) {
		want, err := ReadFile(t.Context(), path, Options{Structure: true})
		if err != nil {
			continue // others say which files are readable
		}
		got, err := ReadFile(t.Context(), path, Options{Structure: true, Walk: true})
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		for turn := range 2 {
			var list []Occurrence
			for o := range got.All() {
				list = append(list, *o)
			}
			if d := cmp.Diff(want.Occurrences, list); d != "" {
				t.Errorf("%s, turn %d: walk against list (-list +walk)\n%s", path, turn, d)
			}
		}
		if d := cmp.Diff(want.Skips, got.Skips); d != "" {
			t.Errorf("%s: other skips\n%s", path, d)
		}
		if got.Count() != len(want.Occurrences) || len(want.Parts) != len(got.Parts) {
			t.Errorf("%s: %d occurrences of %d parts, want %d of %d", path, got.Count(), len(got.Parts), len(want.Occurrences), len(want.Parts))
		}
		n := 0
		for range got.All() {
			if n++; n == 2 {
				break
			}
		}
		if n > 2 {
			t.Errorf("%s: %d occurrences behind the break", path, n)
		}
	}
}

// walkFiles are the project's own sound files, and the shared ones if there.
func walkFiles(t *testing.T) []string {
	roots := []string{"testdata", filepath.Join("..", "fixtures")}
	if shared := os.Getenv("STEPSCAN_SHARED"); shared != "" && !testing.Short() {
		roots = append(roots, filepath.Join(shared, "data"))
	}
	var out []string
	for _, root := range roots {
		err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
			if ext := filepath.Ext(path); err == nil && (ext == ".stp" || ext == ".step") {
				out = append(out, path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}
