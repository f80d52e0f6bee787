package product

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/step"
)

// BenchmarkReadMesh reads and meshes each of the shared files once in an
// iteration, on all cores. Where STEPSCAN_ORACLE names the program of
// ../shared/oracle, it then does the same to the same files in turn, at the same
// chord and angle and with --parallel, and the ratios are reported: "x-sum" of
// the times of all files, "x-worst" of the worst file. The program's own clock
// is taken, so that loading its libraries does not count for it nor against it.
//
// Files whose shapes are in other files are read as they are: Open CASCADE does
// not follow the reference either.
func BenchmarkReadMesh(b *testing.B) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		b.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	files := stepFiles(b, filepath.Join(shared, "data"))
	for _, tol := range []geom.Tolerance{{Chord: 0.1, Angle: 0.5}, {Chord: 0.02, Angle: 0.2}} { // mm and rad
		b.Run("chord="+decimal(tol.Chord), func(b *testing.B) { benchmarkReadMesh(b, files, tol) })
	}
}

func benchmarkReadMesh(b *testing.B, files []string, tol geom.Tolerance) {
	triangles := 0
	for b.Loop() {
		triangles = 0
		for _, path := range files {
			triangles += readMesh(b, path, tol)
		}
	}
	b.ReportMetric(float64(triangles), "triangles")
	if oracle := os.Getenv("STEPSCAN_ORACLE"); oracle != "" {
		compare(b, oracle, files, tol)
	}
}

// compare takes the better of two turns of each side, file by file, so that both
// meet the same load of the machine.
func compare(b *testing.B, oracle string, files []string, tol geom.Tolerance) {
	ours, theirs := make([]time.Duration, len(files)), make([]time.Duration, len(files))
	for i, path := range files {
		for turn := range 2 {
			start := time.Now()
			readMesh(b, path, tol)
			a, o := time.Since(start), timeOracle(b, oracle, path, tol)
			if turn == 0 {
				ours[i], theirs[i] = a, o
			}
			ours[i], theirs[i] = min(ours[i], a), min(theirs[i], o)
		}
	}
	reportRatios(b, files, ours, theirs)
}

// readMesh reads and meshes a file, and gives the number of triangles.
func readMesh(b *testing.B, path string, tol geom.Tolerance) int {
	src, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	asm, err := step.Read(b.Context(), filepath.Base(path), src, step.Options{})
	if err != nil {
		b.Fatal(err)
	}
	var bodies []*brep.Body
	for i := range asm.Parts {
		bodies = append(bodies, asm.Parts[i].Bodies...)
	}
	meshes, _, err := meshAll(b.Context(), bodies, Options{Tol: tol}, runtime.GOMAXPROCS(0))
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for _, m := range meshes {
		n += len(m.Triangles)
	}
	return n
}

var oracleTotal = regexp.MustCompile(`time total\s+([0-9.]+) s`)

// timeOracle is how long the oracle takes to read and mesh a file, by its own
// clock; 0 where it does not get to the end.
func timeOracle(b *testing.B, oracle, path string, tol geom.Tolerance) time.Duration {
	cmd := exec.CommandContext(b.Context(), oracle, "--timing", "--stage", "mesh", "--parallel",
		"--mesh", decimal(tol.Chord), decimal(tol.Angle), path)
	out, err := cmd.CombinedOutput()
	m := oracleTotal.FindSubmatch(out)
	if err != nil || m == nil {
		b.Logf("%s: not compared: %v", filepath.Base(path), err)
		return 0
	}
	seconds, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		b.Fatal(err)
	}
	return time.Duration(seconds * float64(time.Second))
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// reportRatios says how many times faster we are, and names the files that are
// below five times.
func reportRatios(b *testing.B, files []string, ours, theirs []time.Duration) {
	var a, o time.Duration
	worst := 0.0
	for i := range files {
		if theirs[i] == 0 {
			continue
		}
		a, o = a+ours[i], o+theirs[i]
		x := float64(theirs[i]) / float64(ours[i])
		if worst == 0 || x < worst {
			worst = x
		}
		if x < 5 {
			b.Logf("%s: %.1f times (%v against %v)", filepath.Base(files[i]), x, theirs[i], ours[i])
		}
	}
	if a > 0 {
		b.ReportMetric(float64(o)/float64(a), "x-sum")
		b.ReportMetric(worst, "x-worst")
	}
}

// stepFiles lists the STEP files below a folder, in order.
func stepFiles(b *testing.B, dir string) []string {
	var files []string
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if ext := strings.ToLower(filepath.Ext(path)); slices.Contains([]string{".stp", ".step", ".p21"}, ext) {
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) == 0 {
		b.Fatalf("no STEP files in %s: %v", dir, err)
	}
	return files
}
