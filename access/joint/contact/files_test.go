package contact

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/step"
)

func build(t testing.TB, path string) *product.Product {
	t.Helper()
	asm, err := step.ReadFile(t.Context(), path, step.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := product.Build(t.Context(), asm, product.Options{Tol: geom.Tolerance{Chord: 0.05, Angle: 20 * math.Pi / 180}})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func shared(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("STEPSCAN_SHARED")
	if dir == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	return dir
}

// sampled is the area of solid a that lies on b, the slow way: its triangles
// are cut into small pieces, each tried against b's mesh.
func sampled(p *product.Product, a, b product.SolidIndex, touch float64) float64 {
	sa, sb := &p.Solids[a], &p.Solids[b]
	box := sb.Box.Grow(touch)
	m, tree := p.Part(a).Mesh, p.Part(b).Tree
	place := sb.Back.Mul(sa.Place)
	sum := 0.0
	for i := range m.Triangles {
		var c [3]mgl64.Vec3
		here := geom.EmptyBox()
		for k, v := range m.Triangles[i] {
			here = here.Add(sa.Place.Point(m.Vertices[v]))
			c[k] = place.Point(m.Vertices[v])
		}
		if !here.Overlaps(box) {
			continue
		}
		n, ok := geom.Unit(c[1].Sub(c[0]).Cross(c[2].Sub(c[0])))
		if !ok {
			continue
		}
		pieces := [][3]mgl64.Vec3{c}
		for len(pieces) > 0 {
			t := pieces[len(pieces)-1]
			pieces = pieces[:len(pieces)-1]
			area := t[1].Sub(t[0]).Cross(t[2].Sub(t[0])).Len() / 2
			if area > 0.05 {
				x, y := halves(t)
				pieces = append(pieces, x, y)
				continue
			}
			hit, ok := tree.Closest(t[0].Add(t[1]).Add(t[2]).Mul(1./3), touch)
			if !ok {
				continue
			}
			if k, ok := geom.Unit(p.Part(b).Mesh.Cross(int(hit.Tri))); ok && k.Dot(n) < -0.9 {
				sum += area
			}
		}
	}
	return sum
}

// The areas of all planar contacts of the demo are those of a slow count.
func TestDemoAreasAgainstSamples(t *testing.T) {
	if testing.Short() {
		t.Skip("samples a whole assembly")
	}
	p := build(t, filepath.Join("..", "..", "..", "fixtures", "logger-a.step"))
	compared := 0
	for _, q := range Pairs(context.Background(), p).Pairs {
		if q.Deep || len(q.Contacts) == 0 || q.Area() == 0 || q.Contacts[len(q.Contacts)-1].Kind != Planar {
			continue
		}
		compared++
		const near = 0.002 // mm: wider would count a rim about the patch
		want := sampled(p, q.A, q.B, near)
		if d := math.Abs(q.Area() - want); d > 0.02*want+0.5 {
			t.Errorf("%s and %s touch over %.3f mm², samples say %.3f", p.Name(q.A), p.Name(q.B), q.Area(), want)
		}
	}
	if compared < 35 {
		t.Errorf("only %d pairs compared", compared)
	}
	t.Logf("%d pairs", compared)
}

// golden is what the reference says of a file's leaves.
type golden struct {
	Tree []struct {
		Part *int
		Bbox [6]float64
	}
	Clearance []struct {
		A, B     int
		Distance float64
		Common   float64 `json:"common_volume"`
	}
}

// leaves pairs the reference's leaves with solids by their boxes; false where
// they are not the same.
func (g *golden) leaves(p *product.Product) (map[int]product.SolidIndex, bool) {
	out := map[int]product.SolidIndex{}
	next := 0
	for k, n := range g.Tree {
		if n.Part == nil {
			continue
		}
		if next >= len(p.Solids) {
			return nil, false
		}
		e := &p.Solids[next].Exact
		for i := range 3 {
			if math.Abs(e.Min[i]-n.Bbox[i]) > 1e-3 || math.Abs(e.Max[i]-n.Bbox[i+3]) > 1e-3 {
				return nil, false
			}
		}
		out[k] = product.SolidIndex(next)
		next++
	}
	return out, next == len(p.Solids)
}

// wrong are pairs of which the reference is known to be wrong, as a test of the
// product says with closed forms.
var wrong = map[string]bool{
	// a shaft of 10 mm in a ring of 9.9993 mm: 0.086 mm³, not 2.037
	"Pce_Axe_Excentrique and _W_6200_2RS1_PART1_2": true,
}

// Pairs that touch, and pairs that share volume, are those of the reference in
// every real file whose leaves are ours one by one. What the reference's
// boolean operation does not find is left out: it says 0 there.
func TestPairsAgainstOpenCascade(t *testing.T) {
	dir := shared(t)
	if testing.Short() {
		t.Skip("meshes many files")
	}
	files, touching, apart, deep := 0, 0, 0, 0
	for _, file := range []string{
		"as1-oc-214.stp", "as1-tu-203.stp", "caxif/dm1-id-214.stp", "kernels/AeroAssembly.step",
		"products/recycler/02_00_00-extruder_unit.STEP", "products/recycler/Klemmmechanismus Touch kpl..step",
		"products/arm/leader_Lite6.step", "products/laptop/13_5_hinge_l_assy.stp",
		"products/ventilator/Pressure Valve V4.step", "products/ventilator/Pressure Valve V6.step",
	} {
		b, err := os.ReadFile(filepath.Join(dir, "oracle", "golden", strings.ReplaceAll(file, "/", "__")+".json"))
		if err != nil {
			t.Logf("%v", err)
			continue
		}
		var g golden
		if err := json.Unmarshal(b, &g); err != nil {
			t.Fatal(err)
		}
		p := build(t, filepath.Join(dir, "data", file))
		of, ok := g.leaves(p)
		if !ok {
			t.Logf("%s: leaves are not ours one by one", file)
			continue
		}
		files++
		found := map[couple]*Pair{}
		r := Pairs(context.Background(), p)
		for i := range r.Pairs {
			found[couple{r.Pairs[i].A, r.Pairs[i].B}] = &r.Pairs[i]
		}
		for _, w := range g.Clearance {
			a, b := of[w.A], of[w.B]
			q := found[couple{min(a, b), max(a, b)}]
			names := p.Name(a) + " and " + p.Name(b)
			switch {
			case w.Distance <= 1e-6:
				touching++
				if q == nil {
					t.Errorf("%s: %s touch and are not found", file, names)
				}
			case w.Distance > Touch+1e-6:
				apart++
				if q != nil && (q.Area() > 0 || q.Deep) {
					t.Errorf("%s: %s are %.4f mm apart: %+v", file, names, w.Distance, q)
				}
			}
			if w.Common > 1 && !wrong[names] {
				deep++
				if q == nil || !q.Deep || math.Abs(q.Shared-w.Common) > 0.1*w.Common {
					t.Errorf("%s: %s share %.3f mm³: %+v", file, names, w.Common, q)
				}
			}
		}
	}
	t.Logf("%d files: %d pairs touch, %d are apart, %d share volume", files, touching, apart, deep)
	if files < 3 || touching < 60 {
		t.Errorf("only %d files and %d touching pairs", files, touching)
	}
}
