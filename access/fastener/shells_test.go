package fastener

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/fastener/feature"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
)

// lump saves parts as one, each at its place.
func lump(parts []product.Part, at ...mgl64.Vec3) product.Part {
	var meshes []*mesh.Mesh
	var faces []int
	var out product.Part
	volume := 0.0
	for i, p := range parts {
		place := geom.Identity()
		place.T = at[i]
		meshes, faces = append(meshes, p.Mesh.Transformed(place)), append(faces, len(p.Mesh.Triangles))
		out.Centroid = out.Centroid.Add(place.Point(p.Centroid).Mul(p.Volume))
		volume += p.Volume
	}
	out.Mesh = mesh.Join(meshes, faces)
	out.Volume, out.Centroid, out.Box, out.Closed = volume, out.Centroid.Mul(1/volume), out.Mesh.Box(), true
	return out
}

// Four screws and the plate that they go through, saved as one solid, are four
// screws, each where it stands.
func TestFastenersInOneLump(t *testing.T) {
	plate := ft.Turn("", ft.Circle(-3, 0), ft.Polygon(-3, 60, 4), ft.Polygon(-0.1, 60, 4), ft.Circle(-0.1, 0))
	at := []mgl64.Vec3{{20, 20, 0}, {-20, 20, 0}, {20, -20, 0}, {-20, -22, 0}}
	s := cap4("")
	all := lump([]product.Part{plate, s, s, s, s}, append([]mgl64.Vec3{{}}, at...)...)
	all.Name = "Schrauben M4"
	found, doubts := FindAll(context.Background(), ft.Alone(all))
	if len(found) != 4 || len(doubts) != 0 {
		t.Fatalf("%d found, doubts %v", len(found), doubts)
	}
	for i, f := range found {
		if f.Designation != "ISO 4762 M4×12" || f.Point.Sub(at[i].Add(mgl64.Vec3{0, 0, 4})).Len() > 1e-6 || len(f.Solids) != 1 {
			t.Errorf("%+v, want it at %v", f, at[i])
		}
		if !strings.Contains(strings.Join(f.Evidence, ";"), "one of 5 separate shells") {
			t.Errorf("evidence %q", f.Evidence)
		}
	}
}

// A screw with a ring loose on its shank, saved as one solid, is one screw.
func TestCaptiveWasherInOneSolid(t *testing.T) {
	all := lump([]product.Part{cap4(""), ft.Tube(9, 0.8, 4.3)}, mgl64.Vec3{}, mgl64.Vec3{0, 0, -5})
	f := one(t, ft.Alone(all))
	if f.Kind != Screw || f.Designation != "ISO 4762 M4×12" || !strings.Contains(strings.Join(f.Evidence, ";"), "captive washer") {
		t.Errorf("%+v", f)
	}
	apart := lump([]product.Part{cap4(""), ft.Tube(9, 0.8, 4.3)}, mgl64.Vec3{}, mgl64.Vec3{20, 0, 0})
	if f := Find(context.Background(), ft.Alone(apart)); len(f) != 2 {
		t.Errorf("a washer beside the screw: %+v", f)
	}
}

// A hollow belongs to the shell about it, and a lattice is left alone.
func TestPieces(t *testing.T) {
	hollow := ft.Turn("", ft.Circle(-10, 0), ft.Circle(-10, 1), ft.Circle(-8, 1), ft.Circle(-8, 0))
	hollow.Mesh.Flip()
	screw := lump([]product.Part{cap4(""), hollow}, mgl64.Vec3{}, mgl64.Vec3{})
	if got := withHollows(apart(screw.Mesh)); len(got) != 1 || math.Abs(got[0].Volume()-screw.Mesh.Volume()) > 1e-9 {
		t.Errorf("%d pieces", len(got))
	}
	var parts []product.Part
	var at []mgl64.Vec3
	for i := range mostPieces + 5 {
		parts, at = append(parts, hollow), append(at, mgl64.Vec3{3 * float64(i), 0, 0})
	}
	if n := len(apart(lump(parts, at...).Mesh)); n != mostPieces+1 {
		t.Errorf("split into %d pieces, the bound is %d", n, mostPieces)
	}
}

// Each solid of several in one product is a fastener of its own.
func TestSeveralFastenersInOneProduct(t *testing.T) {
	h := pile{}.add(0, cap4("")).beside(20, 0, cap4("")).beside(40, 0, ft.Nut(7, 3.2, 3.3)).beside(60, 0, cap4(""))
	found := Find(context.Background(), h.under("screws and nut", true))
	if len(found) != 4 {
		t.Fatalf("%+v", found)
	}
	for i, f := range found {
		if want := []Kind{Screw, Screw, Nut, Screw}[i]; f.Kind != want || len(f.Solids) != 1 || f.Solids[0] != product.SolidIndex(i) {
			t.Errorf("%+v, want %s", f, want)
		}
	}
}

// Products with the very same shape share one examination, and nothing else
// does: neither a shape of the same counts nor one of the same mesh on other
// surfaces.
func TestTwins(t *testing.T) {
	p := pile{}.add(0, cap4("a")).beside(20, 0, cap4("b")).beside(40, 0, ft.Screw(4, 16, ft.Barrel(7, 4), ft.HexPocket(3), 2)).product()
	c := &court{scene: feature.NewScene(context.Background(), p), read: reader{}}
	c.examine(context.Background())
	first := twins(p.Parts, c.scene.Parts, c.used)
	if first[0] != 0 || first[1] != 0 || first[2] != 2 {
		t.Errorf("first of each: %v", first)
	}
	found := Find(context.Background(), p)
	if len(found) != 3 || found[0].Length != 12 || found[1].Length != 12 || found[2].Length != 16 {
		t.Errorf("%+v", found)
	}
	c.scene.Parts[1].Faces[2].R += 1e-9
	if first := twins(p.Parts, c.scene.Parts, c.used); first[1] != 1 {
		t.Error("parts with other faces count as one")
	}
}
