package surface_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/geom/surface"
	"stepscan/step"
)

// golden is the part of the oracle's answer that is used here.
type golden struct {
	Parts []struct {
		Name  string
		Faces int
	}
	Tree []struct {
		Part      *int
		Placement [12]float64
	}
	Cylinders []struct {
		Node, Face int
		Radius     float64
		Point, Dir mgl64.Vec3
	}
}

// Some writers give every hole as a B-spline. The oracle recognises the same
// cylinders in them by its own method.
func TestCanonicalAgreesWithOracle(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	for _, name := range []string{"as1-tu-203.stp", "as1-oc-214.stp"} {
		t.Run(name, func(t *testing.T) {
			src, err := os.ReadFile(filepath.Join(shared, "oracle", "golden", name+".json"))
			if err != nil {
				t.Fatal(err)
			}
			var want golden
			if err := json.Unmarshal(src, &want); err != nil {
				t.Fatal(err)
			}
			asm, err := step.ReadFile(context.Background(), filepath.Join(shared, "data", name), step.Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkCylinders(t, &want, recognised(t, asm))
		})
	}
}

// recognised lists the cylinders of each part by name.
func recognised(t *testing.T, asm *step.Assembly) map[string][]surface.Cylinder {
	out := map[string][]surface.Cylinder{}
	for _, p := range asm.Parts {
		for _, b := range p.Bodies {
			for i, f := range b.Faces {
				c, _, ok := surface.Canonical(f.Surface, 1e-3)
				if !ok {
					t.Errorf("%s: face %d is no elementary surface: %T", p.Name, i, f.Surface)
				}
				if c, ok := c.(surface.Cylinder); ok {
					out[p.Name] = append(out[p.Name], c)
				}
			}
		}
	}
	return out
}

// checkCylinders looks for each of the oracle's cylinders, brought back into
// its part's coordinates, among ours.
func checkCylinders(t *testing.T, want *golden, got map[string][]surface.Cylinder) {
	checked := 0
	for _, c := range want.Cylinders {
		node := want.Tree[c.Node]
		part := want.Parts[*node.Part].Name
		p, d := back(node.Placement, c.Point, 1), back(node.Placement, c.Dir, 0)
		found := false
		for _, g := range got[part] {
			a := g.Axis()
			found = found || math.Abs(g.Radius()-c.Radius) < 1e-3 && a.Distance(p) < 1e-3 && a.D.Cross(d).Len() < 1e-4
		}
		if !found {
			t.Errorf("%s: no cylinder of radius %g at %v along %v", part, c.Radius, p, d)
		}
		checked++
	}
	if checked == 0 {
		t.Error("the oracle lists no cylinders")
	}
}

// back undoes a placement given by rows; w is 1 for points, 0 for directions.
func back(m [12]float64, p mgl64.Vec3, w float64) mgl64.Vec3 {
	q := p.Sub(mgl64.Vec3{m[3], m[7], m[11]}.Mul(w))
	var out mgl64.Vec3
	for i := range 3 {
		out[i] = m[i]*q[0] + m[4+i]*q[1] + m[8+i]*q[2]
	}
	return out
}
