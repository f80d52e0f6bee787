package fastener

import (
	"math"
	"slices"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// slottedHead is a cylindrical head with a recess deep mm deep and a slot n
// wide and t deep across it: the head up to the slot's floor, and the two halves
// beside the slot.
func slottedHead(d, dk, k float64, pocket func(z float64) ft.Ring, deep, n, t float64) product.Part {
	low := k - t
	base := ft.Turn("", append(stem(d, 3*d), ft.Circle(0, dk/2), ft.Circle(low, dk/2), pocket(low), pocket(k-deep), ft.Circle(k-deep, 0))...)
	pieces := []*mesh.Mesh{base.Mesh}
	f := geom.World()
	f.O = mgl64.Vec3{0, 0, low}
	from := math.Asin(n / dk)
	for half := range 2 {
		const steps = 200
		var outer, inner []mgl64.Vec2
		for i := range steps + 1 {
			a := from + (math.Pi-2*from)*float64(i)/steps + float64(half)*math.Pi
			sin, cos := math.Sincos(a)
			r := max(n/2/math.Abs(sin), pocket(k).R(a))
			outer = append(outer, mgl64.Vec2{dk / 2 * cos, dk / 2 * sin})
			if r < 0.999*dk/2 {
				inner = append(inner, mgl64.Vec2{r * cos, r * sin})
			}
		}
		slices.Reverse(inner)
		pieces = append(pieces, shape.Extrude(f, t, shape.Contour{Points: append(outer, inner...)}))
	}
	return ft.Fuse("", pieces...)
}

// A slot across a recess is a second grip, deep or shallow; a score across it is
// none.
func TestSlotAcrossARecess(t *testing.T) {
	lobes, square := ft.LobePocket(3.95, 2.75), func(z float64) ft.Ring { return ft.Polygon(z, 2.9, 4) }
	notched := func(z float64) ft.Ring { return ft.NotchedWings(z, 4.4, 0.95, 2.6, 0.35) }
	for _, c := range []struct {
		name    string
		pocket  func(z float64) ft.Ring
		deep, t float64
		drive   Drive
		size    string
	}{
		{"cross", ft.CrossPocket(4.4, 1.1), 2, 0.8, Combination, "PH2 + 1x5.5"},
		{"cross of type Z", notched, 2, 0.8, Combination, "PZ2 + 1x5.5"},
		{"cross under a deep slot", ft.CrossPocket(4.4, 1.1), 2, 1.3, Combination, "PH2 + 1x5.5"},
		{"lobes", lobes, 1.6, 0.7, Combination, "T20 + 1x5.5"},
		{"square", square, 1.8, 0.8, Combination, "3 + 1x5.5"},
		{"cross with a score", ft.CrossPocket(4.4, 1.1), 2, 0.2, Cross, "PH2"},
	} {
		fs := pile{}.add(0, slottedHead(4, 8, 3.1, c.pocket, c.deep, 1.2, c.t)).kinds()
		if f := fs[0]; f.Drive != c.drive || f.DriveSize != c.size || f.Size != "M4" {
			t.Errorf("%s: %s %s, %s %s; %q", c.name, f.Kind, f.Size, f.Drive, f.DriveSize, f.Evidence)
		} else if c.drive == Combination && (len(f.Grips) != 2 || f.Best().Size+" + "+f.Grips[1].Size != c.size || f.Designation != "") {
			t.Errorf("%s: grips %v, designation %q", c.name, f.Grips, f.Designation)
		}
	}
}

// A head may be as high as its thread allows, however the thread is drawn; the
// body of a spacer is higher, and has no collar.
func TestHighHeads(t *testing.T) {
	head := func(d, s, k, collar float64, n int) product.Part {
		rings := stem(d, 20)
		if collar > 0 {
			rings = append(rings, ft.Circle(0, collar/2), ft.Circle(0.25*k, collar/2))
		} else {
			rings = append(rings, ft.Polygon(0, s, n))
		}
		return ft.Turn("", append(rings, ft.Polygon(0.25*k, s, n), ft.Polygon(k, s, n), ft.Circle(k, 0))...)
	}
	for _, c := range []struct {
		name       string
		part       product.Part
		kind       Kind
		head, size string
		driveSize  string
	}{
		{"EN 1665 M6 at d3", head(4.773, 10, 6.6, 14.2, 6), Screw, "hexagon with flange", "M6", "10"},
		{"EN 1665 M6", head(6, 10, 6.6, 14.2, 6), Screw, "hexagon with flange", "M6", "10"},
		{"DIN 478 M8 at d3", head(6.466, 8, 10, 16, 4), Screw, "square", "M8", "8"},
		{"DIN 479 M8", head(8, 8, 8, 0, 4), Screw, "square", "M8", "8"},
		{"hexagon on a spindle, with a collar", head(6, 10, 12, 14.2, 6), "", "", "", ""},
		{"hexagonal bar with a journal", head(6, 10, 8, 0, 6), "", "", "", ""},
	} {
		f := pile{}.add(0, c.part).kinds()[0]
		if f.Kind != c.kind || f.Head != c.head || f.Size != c.size || f.DriveSize != c.driveSize {
			t.Errorf("%s: %s %s %s, %s %s; %q", c.name, f.Kind, f.Head, f.Size, f.Drive, f.DriveSize, f.Evidence)
		}
	}
}
