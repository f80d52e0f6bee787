package fastener

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
)

// under puts all of a pile below one node of the structure: as bodies of one
// product, or as occurrences of a sub-assembly.
func (h pile) under(name string, body bool) *product.Product {
	p := h.product()
	p.Parts = append(p.Parts, product.Part{Name: name})
	node := len(p.Occs)
	for i := 1; i < node; i++ {
		p.Occs[i].Parent, p.Occs[i].Body = node, body
	}
	p.Occs = append(p.Occs, product.Occ{ID: "node", Part: len(p.Parts) - 1, Name: name, Placement: geom.Identity(), Solid: product.NoSolid})
	return p
}

// Pieces of an ISO 4762 M4×12: its head with the socket, its shank; a thread
// about a core; a plug that fills the socket.
func headOnly() product.Part {
	return ft.Turn("", ft.Circle(0, 0), ft.Circle(0, 3.5), ft.Circle(4, 3.5), ft.Polygon(4, 3, 6), ft.Polygon(2, 3, 6), ft.Circle(1.8, 0))
}

func shankOnly(d float64) product.Part {
	return ft.Turn("", ft.Circle(-12, 0), ft.Circle(-12, d/2-0.4), ft.Circle(-11.6, d/2), ft.Circle(0, d/2), ft.Circle(0, 0))
}

func plug() product.Part {
	return ft.Turn("", ft.Circle(2, 0), ft.Polygon(2, 3, 6), ft.Polygon(4, 3, 6), ft.Circle(4, 0))
}

func one(t *testing.T, p *product.Product) Fastener {
	t.Helper()
	f := Find(context.Background(), p)
	if len(f) != 1 {
		t.Errorf("%d fasteners: %+v", len(f), f)
		return Fastener{}
	}
	return f[0]
}

// However a screw is cut up, it is one, with its size and all its solids.
func TestOneScrewInSeveralSolids(t *testing.T) {
	plain := pile{}.add(0, cap4(""))
	core := ft.Screw(3.141, 12, ft.Barrel(7, 4), ft.HexPocket(3), 2) // d3 of M4
	sleeve := ft.Turn("", ft.Circle(-11, 3.141/2), ft.Circle(-11, 2), ft.Circle(-1, 2), ft.Circle(-1, 3.141/2), ft.Circle(-11, 3.141/2))
	for _, c := range []struct {
		name string
		p    *product.Product
		n    int
	}{
		{"head and shank, bodies", pile{}.add(0, headOnly()).add(0, shankOnly(4)).under("", true), 2},
		{"shank and head, bodies", pile{}.add(0, shankOnly(4)).add(0, headOnly()).under("", true), 2},
		{"head and shank of a bought screw", pile{}.add(0, headOnly()).add(0, shankOnly(4)).under("Screw M4x12", false), 2},
		{"plugged socket", plain.add(0, plug()).under("", true), 2},
		{"core and thread", pile{}.add(0, core).add(0, sleeve).under("", true), 2},
		{"head, shank and plug", pile{}.add(0, headOnly()).add(0, shankOnly(4)).add(0, plug()).under("ISO 4762 M4x12", true), 3},
	} {
		f := one(t, c.p)
		if f.Kind != Screw || f.Size != "M4" || f.Length != 12 || f.Drive != HexSocket || f.DriveSize != "3" || len(f.Solids) != c.n || f.Designation != "ISO 4762 M4×12" {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

// Solids of a larger product that touch about one axis are one screw only where
// a table has what they make together; parts of an assembly that nobody buys as
// one piece are left alone.
func TestSolidsThatStayApart(t *testing.T) {
	lid := ft.Turn("", ft.Circle(-30, 0), ft.Polygon(-30, 40, 4), ft.Polygon(-20, 40, 4), ft.Circle(-20, 0))
	among := pile{}.add(0, headOnly()).add(0, shankOnly(4)).beside(60, 0, lid).beside(120, 0, lid)
	if f := one(t, among.under("", true)); f.Designation != "ISO 4762 M4×12" || !slices.Equal(f.Solids, []product.SolidIndex{0, 1}) {
		t.Errorf("among other bodies: %+v", f)
	}
	knob := pile{}.add(0, ft.Turn("", ft.Circle(0, 0), ft.Circle(0, 6), ft.Circle(9, 6), ft.Circle(9, 0))).add(0, shankOnly(4))
	if f := Find(context.Background(), knob.beside(60, 0, lid).under("", true)); len(f) != 0 {
		t.Errorf("a knob on its shaft: %+v", f)
	}
	// An assembly of any other name is not bought as one screw.
	if f := Find(context.Background(), pile{}.add(0, headOnly()).add(0, shankOnly(4)).under("top", false)); slices.ContainsFunc(f, func(f Fastener) bool { return len(f.Solids) > 1 }) {
		t.Errorf("occurrences of an assembly: %+v", f)
	}
	// Bolt and nut of one product are two fasteners.
	pair := pile{}.add(0, cap4("")).add(-8, ft.Nut(7, 3.2, 3.3))
	if f := Find(context.Background(), pair.under("bolt", true)); len(f) != 2 {
		t.Errorf("bolt and nut: %+v", f)
	}
}

// A screw and a washer of one product are one fastener with two parts; the same
// two in an assembly are two.
func TestCaptiveWasher(t *testing.T) {
	washer := ft.Tube(9, 0.8, 4.3)
	sems := pile{}.add(0, cap4("")).add(-0.8, washer)
	f := one(t, sems.under("", true))
	if f.Kind != Screw || f.Size != "M4" || len(f.Solids) != 2 || !strings.HasPrefix(f.Evidence[len(f.Evidence)-1], "with a captive washer") {
		t.Errorf("%+v", f)
	}
	if f := Find(context.Background(), sems.under("subassembly", false)); len(f) != 2 {
		t.Errorf("in an assembly: %+v", f)
	}
	if f := Find(context.Background(), sems.add(-4, ft.Tube(30, 3, 4.5)).under("", true)); len(f) != 2 {
		t.Errorf("with the plate in the same product: %+v", f)
	}
}

// A nut in its cage, and a washer of a metal ring and a rubber one, are one each.
func TestNutAndWasherOfTwoSolids(t *testing.T) {
	cage := ft.Turn("", ft.Circle(-0.5, 3), ft.Polygon(-0.5, 10, 4), ft.Polygon(0, 10, 4), ft.Circle(0, 3), ft.Circle(-0.5, 3))
	if f := one(t, pile{}.add(0, ft.Nut(7, 3.2, 3.3)).add(0, cage).under("", true)); f.Kind != Nut || len(f.Solids) != 2 {
		t.Errorf("caged nut: %+v", f)
	}
	bonded := pile{}.add(0, ft.Tube(14, 1, 8)).add(-0.2, ft.Tube(8, 1.4, 5.2))
	f := one(t, bonded.under("bonded washer M5", true))
	if f.Kind != Washer || len(f.Solids) != 2 {
		t.Errorf("bonded washer: %+v", f)
	}
}

// The conflict of names is that of the whole's name, and groups that are called
// fasteners and are none raise a doubt.
func TestNamesOfGroups(t *testing.T) {
	f := one(t, pile{}.add(0, headOnly()).add(0, shankOnly(4)).under("Screw M5", true))
	if !strings.Contains(f.Conflict, "the name says M5") {
		t.Errorf("conflict %q", f.Conflict)
	}
	block := ft.Turn("", ft.Circle(0, 0), ft.Polygon(0, 20, 4), ft.Polygon(30, 20, 4), ft.Circle(30, 0))
	_, doubts := FindAll(context.Background(), pile{}.add(0, block).beside(40, 0, block).under("Mutter", true))
	if len(doubts) != 1 || len(doubts[0].Solids) != 2 {
		t.Errorf("%+v", doubts)
	}
}

// A group is the same wherever it stands.
func TestGroupsMove(t *testing.T) {
	p := pile{}.add(0, headOnly()).add(0, shankOnly(4)).under("", true)
	at := geom.Transform{M: mgl64.Rotate3DX(1).Mul3(mgl64.Rotate3DZ(2)), T: mgl64.Vec3{100, -50, 7}}
	for i := range p.Solids {
		s := &p.Solids[i]
		s.Place, s.Back = at, geom.Transform{}
		s.Back, _ = at.Inverse()
		s.Box = p.Parts[s.Part].Box.Transformed(at)
	}
	f := one(t, p)
	if f.Designation != "ISO 4762 M4×12" || f.Point.Sub(at.Point(mgl64.Vec3{0, 0, 4})).Len() > 1e-6 || f.Axis.D.Sub(at.Dir(mgl64.Vec3{0, 0, 1})).Len() > 1e-6 {
		t.Errorf("%+v", f)
	}
}
