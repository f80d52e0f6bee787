package fastener

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"

	ft "stepscan/access/fastener/fastenertest"
	"stepscan/access/product"
	"stepscan/geom"
	"stepscan/geom/mesh"
	"stepscan/geom/mesh/shape"
)

// stem is a shank below z = 0 with a chamfered tip.
func stem(d, l float64) []ft.Ring {
	return []ft.Ring{ft.Circle(-l, 0), ft.Circle(-l, 0.4*d), ft.Circle(0.1*d-l, d/2), ft.Circle(0, d/2)}
}

// thumb is a knurled head dk wide between two heights on a collar and a stem.
func thumb(d, l, dk, lo, hi float64, n int, depth, share float64) product.Part {
	rings := stem(d, l)
	if lo > 0 {
		rings = append(rings, ft.Circle(0, dk/4), ft.Circle(lo, dk/4))
	}
	return ft.Turn("", append(rings, ft.Notched(lo, dk/2, n, depth, share), ft.Notched(hi, dk/2, n, depth, share), ft.Circle(hi, 0))...)
}

// gear is a pinion of z teeth of a module, 2.25 of it deep, on a spindle.
func gear(d, l float64, teeth int, module, wide float64) product.Part {
	z := float64(teeth)
	return ft.Turn("", append(stem(d, l), ft.Notched(0, module*(z/2+1), teeth, 2.25*module, 0.8), ft.Notched(wide, module*(z/2+1), teeth, 2.25*module, 0.8), ft.Circle(wide, 0))...)
}

// facets is a prism of n flats on a spindle.
func facets(d, l, s, k float64, n int) product.Part {
	return ft.Turn("", append(stem(d, l), ft.Polygon(0, s, n), ft.Polygon(k, s, n), ft.Circle(k, 0))...)
}

// alongZ is the z axis from a height.
func alongZ(z float64) geom.Axis {
	return geom.Axis{O: mgl64.Vec3{0, 0, z}, D: mgl64.Vec3{0, 0, 1}}
}

// alongX is the x axis through a height.
func alongX(x, z float64) geom.Axis {
	return geom.Axis{O: mgl64.Vec3{x, 0, z}, D: mgl64.Vec3{1, 0, 0}}
}

// peg is a stem as a mesh of its own, from a height down.
func peg(d, l, top float64) *mesh.Mesh {
	return shape.Revolve(alongZ(top-l), []mgl64.Vec2{{0, 0}, {0.4 * d, 0}, {d / 2, 0.1 * d}, {d / 2, l}, {0, l}}, 120)
}

// wings is a hub with walls to the sides named (1, -1), each from the hub out
// to half the span and from low to high.
func wings(d, l, span, low, high, hub, hubH, thick float64, sides ...float64) product.Part {
	pieces := []*mesh.Mesh{peg(d, l, 0.1), shape.Cone(alongZ(0), hub/2, 0.85*hub/2, hubH, 120)}
	for _, s := range sides {
		a, b := s*0.3*hub, s*span/2
		pieces = append(pieces, shape.Box(mgl64.Vec3{min(a, b), -thick / 2, low}, mgl64.Vec3{max(a, b), thick / 2, high}))
	}
	return ft.Fuse("", pieces...)
}

// eye is a flat ring about the x axis with a stem below it; length from the
// middle of the ring.
func eye(d, l, outer, bore, thick float64) product.Part {
	ring := shape.Tube(alongX(-thick/2, 0), bore/2, outer/2, thick, 120)
	return ft.Fuse("", ring, peg(d, l-(outer+bore)/4, -(outer+bore)/4))
}

// Sizes by hand from the standards named, from memory.
func TestScrewsWithoutATool(t *testing.T) {
	tests := []struct {
		name       string
		part       product.Part
		kind       Kind
		head, size string
		length     float64
		call       string
	}{
		{"DIN 464 M5", thumb(5, 16, 20, 6.5, 11.5, 40, 0.7, 1), Screw, "knurled", "M5", 16, "DIN 464 M5×16"},
		// 4.019 is as near to M4 at its nominal diameter: the head decides.
		{"DIN 464 M5 at d3", thumb(4.019, 16, 20, 6.5, 11.5, 40, 0.7, 1), Screw, "knurled", "M5", 16, "DIN 464 M5×16"},
		{"DIN 653 M8, few coarse notches", thumb(8, 20, 30, 0, 6, 16, 1.5, 0.4), Screw, "knurled", "M8", 20, "DIN 653 M8×20"},
		{"DIN 316 M8", wings(8, 25, 39, 8, 20, 16, 10, 2.8, 1, -1), Screw, "wing", "M8", 25, "DIN 316 M8×25"},
		{"DIN 316 M6 at d3", wings(4.773, 16, 33, 6, 17, 13, 8, 2.3, 1, -1), Screw, "wing", "M6", 16, "DIN 316 M6×16"},
		{"DIN 444 M8", eye(8, 50, 18, 8, 9), Bolt, "eye", "M8", 50, "DIN 444 M8×50"},
		{"DIN 444 M5 at d3", eye(4.019, 30, 12, 5, 6), Bolt, "eye", "M5", 30, "DIN 444 M5×30"},
		{"DIN 580 M10", ft.Fuse("", peg(10, 17, 0), shape.Cylinder(alongZ(-0.1), 12.5, 7, 120),
			shape.Torus(geom.Axis{O: mgl64.Vec3{0, 0, 22}, D: mgl64.Vec3{0, 1, 0}}, 17.5, 5, 120, 60)), Bolt, "eye", "M10", 17, ""},
	}
	for _, c := range tests {
		fs := pile{}.add(0, c.part).kinds()
		f, ok := fs[0]
		if !ok {
			t.Errorf("%s: not found", c.name)
			continue
		}
		if f.Kind != c.kind || f.Head != c.head || f.Size != c.size || f.Drive != NoDrive || math.Abs(f.Length-c.length) > 0.35 || c.call != "" && f.Designation != c.call {
			t.Errorf("%s: %s %s %s, drive %s, length %g, %q; %q", c.name, f.Kind, f.Head, f.Size, f.Drive, f.Length, f.Designation, f.Evidence)
		}
	}
}

// What fingers turn or what has an eye is no screw for that: no table has these,
// and no thread shows.
func TestKnobsAndLeversAreNoScrews(t *testing.T) {
	tests := []struct {
		name string
		part product.Part
	}{
		{"fluted knob on a spindle", thumb(6, 15, 22, 0, 14, 12, 1.2, 0.5)},
		{"pinion of 12 teeth with the size of a knurled head", gear(4, 15, 12, 16.0/14, 3.5)},
		{"pinion of 40 teeth with the width of a knurled head", gear(6, 16, 40, 24.0/42, 5)},
		{"facetted knob with the size of a knurled head", facets(5, 16, 20, 4, 18)},
		{"knurled head on a spindle of no thread's diameter", thumb(5.5, 16, 20, 0, 4, 40, 0.7, 1)},
		{"knurled head on a stub", thumb(5, 4, 20, 0, 4, 40, 0.7, 1)},
		{"lever with one arm", wings(6, 16, 33, 6, 17, 13, 8, 2.3, 1)},
		{"bar across a spindle", wings(6, 16, 33, 2, 7, 13, 8, 4)},
		{"crossed bar across a spindle", wings(6, 16, 33, 2, 7, 13, 8, 4, 1, -1)},
		{"fan with two flat blades", wings(3, 12, 40, 2, 2.4, 8, 5, 9, 1, -1)},
		{"fork with the size of wings", wings(6, 16, 33, 6, 17, 13, 8, 9, 1, -1)},
		{"wings of no standard's size", wings(6, 16, 27, 6, 14, 13, 8, 2.3, 1, -1)},
		{"pull rod with an eye", eye(6, 60, 18, 10, 6)},
		{"rod with a square window in the size of an eye", ft.Fuse("", peg(8, 40, -4.5),
			shape.Prism(alongX(-4.5, 0), 9, shape.Circle(0, 0, 9, 120), shape.Rect(-4, -4, 4, 4)))},
		{"block with a hole in the size of an eye", ft.Fuse("", peg(8, 40, -8.5),
			shape.Prism(alongX(-4.5, 0), 9, shape.Rect(-14, -9, 14, 9), shape.Circle(0, 0, 4, 120)))},
	}
	for _, c := range tests {
		for _, f := range (pile{}).add(0, c.part).kinds() {
			t.Errorf("%s: found as %s %s %s: %q", c.name, f.Kind, f.Head, f.Size, f.Evidence)
		}
	}
}

// A knob of no standard's size is a screw where it stands in a threaded hole.
func TestKnobInAThreadedHole(t *testing.T) {
	knob := thumb(6, 15, 22, 0, 14, 12, 1.2, 0.5)
	for _, c := range []struct {
		name string
		bore float64
		kind Kind
	}{{"tapped for M6", 5, Screw}, {"clearance", 6.4, ""}} {
		h := pile{}.add(0, knob).add(-18, ft.Tube(40, 16, c.bore))
		size := ""
		if c.kind != "" {
			size = "M6"
		}
		h.expect(t, c.name, 0, c.kind, size)
		fine := pile{}.add(0, thumb(6, 15, 22, 0, 10, 24, 0.6, 1)).add(-18, ft.Tube(40, 16, c.bore))
		fine.expect(t, c.name+", notches that leave it nearly round", 0, c.kind, size)
	}
}
