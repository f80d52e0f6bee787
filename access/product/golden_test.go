package product

import (
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom"
)

// golden is what Open CASCADE says of a file: exact integrals, and a mesh at
// goldenTol.
type golden struct {
	Parts []goldenPart
	Tree  []goldenNode
}

// goldenTol is what the reference's meshes were made with.
var goldenTol = geom.Tolerance{Chord: 0.02, Angle: 0.2}

type goldenNode struct {
	Name, Product string
	Parent        *int
	Placement     [12]float64
	Part          *int // of leaves
}

type goldenPart struct {
	Name                  string
	Solids, Shells, Faces int
	Closed, Valid         bool
	Volume, Area          float64 // exact; no volume without a solid
	// VolumeRough: the adaptive integral failed and the plain one stands in.
	VolumeRough bool       `json:"volume_rough"`
	VolumeGauss float64    `json:"volume_gauss"` // the plain one, where it differs
	AreaOther   float64    `json:"area_other"`   // the integral that was not taken
	Centre      mgl64.Vec3 // of volume; of area without a solid
	Bbox        [6]float64
	Mesh        struct {
		Triangles    int
		Volume, Area float64
	}
}

// doubt is by how much the reference's area is uncertain, mm²: by its notes a
// tenth of the difference between its two integrals.
func (p *goldenPart) doubt() float64 {
	if p.AreaOther == 0 {
		return 0
	}
	return math.Abs(p.Area-p.AreaOther) / 10
}

func (p *goldenPart) box() geom.Box {
	return geom.Box{
		Min: mgl64.Vec3{p.Bbox[0], p.Bbox[1], p.Bbox[2]},
		Max: mgl64.Vec3{p.Bbox[3], p.Bbox[4], p.Bbox[5]},
	}
}

// sharedFolder is the folder with the reference data; the test is skipped
// without.
func sharedFolder(t testing.TB) string {
	t.Helper()
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	return shared
}

// realFiles lists the STEP files of the reference data by their path in it,
// sorted.
func realFiles(t testing.TB, shared string) []string {
	t.Helper()
	root := filepath.Join(shared, "data")
	var out []string
	err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		switch strings.ToLower(filepath.Ext(path)) {
		case ".stp", ".step", ".p21":
			rel, relErr := filepath.Rel(root, path)
			if relErr != nil {
				return relErr
			}
			out = append(out, filepath.ToSlash(rel))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func readGolden(t testing.TB, shared, file string) golden {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(shared, "oracle", "golden", strings.ReplaceAll(file, "/", "__")+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var g golden
	if err := json.Unmarshal(b, &g); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return g
}
