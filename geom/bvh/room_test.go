package bvh

import (
	"math"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/mesh"
)

// The tool of the worked example of the reference: radius 3 up to height 30,
// 10 from there to 60, pushed down from far above. Every number is the
// reference's.
func TestToolEnvelope(t *testing.T) {
	tool := Envelope([]Ring{{From: 30, To: 60, R0: 10, R1: 10, Of: 1}, {From: 0, To: 30, R0: 3, R1: 3, Of: 0}})
	inf := math.Inf(1)
	want := []Ring{{0, 30, 3, 3, 0}, {30, inf, 10, 10, 1}}
	if len(tool) != 2 || tool[0] != want[0] || tool[1] != want[1] {
		t.Fatalf("envelope %v, want %v", tool, want)
	}
	const n = 64
	hole := func(r float64) *mesh.Mesh { return plate(80, 85, r/math.Cos(math.Pi/n), 100, n) } // inscribed radius r
	for _, c := range []struct {
		name  string
		m     *mesh.Mesh
		worst int
		gap   [2]float64
	}{
		{"wall at 4", box(4, -50, -10, 6, 50, 100), 1, [2]float64{1, -6}},
		{"post of radius 1 at 12", prism(-5, 100, circle(12, 0, 1, 32, 0)...), 1, [2]float64{8, 1}},
		{"ceiling with a hole of 9.5", hole(9.5), 1, [2]float64{inf, -0.5}},
		{"ceiling with a hole of 10.5", hole(10.5), 1, [2]float64{inf, 0.5}},
	} {
		rooms, worst := Build(c.m).Rooms(zAxis, tool, inf)
		if worst != c.worst {
			t.Errorf("%s: the limiting section is %d, want %d", c.name, worst, c.worst)
		}
		for i, want := range c.gap {
			if g := rooms[i].Gap; g != want && !(math.Abs(g-want) < 1e-12) {
				t.Errorf("%s: section %d has a gap of %g, want %g", c.name, i, g, want)
			}
		}
	}
}

func TestEnvelopeByHand(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		in   []Ring
		want []Ring
	}{
		{"nothing", nil, nil},
		{"a cone that widens", []Ring{{0, 10, 2, 7, 5}}, []Ring{{0, 10, 2, 7, 5}, {10, inf, 7, 7, 5}}},
		{"a cone that narrows", []Ring{{0, 10, 7, 2, 5}}, []Ring{{0, inf, 7, 7, 5}}},
		{"a point, then a shank", []Ring{{0, 10, 0, 5, 1}, {10, 30, 3, 3, 2}}, []Ring{{0, 10, 0, 5, 1}, {10, inf, 5, 5, 1}}},
		{"a cone out of a wider neck", []Ring{{0, 5, 4, 4, 1}, {5, 15, 2, 12, 2}}, []Ring{{0, 7, 4, 4, 1}, {7, 15, 4, 12, 2}, {15, inf, 12, 12, 2}}},
		{"cones that cross", []Ring{{0, 10, 0, 10, 1}, {0, 20, 4, 14, 2}}, []Ring{{0, 8, 4, 8, 2}, {8, 10, 8, 10, 1}, {10, 12, 10, 10, 1}, {12, 20, 10, 14, 2}, {20, inf, 14, 14, 2}}},
		{"two cones in one line", []Ring{{0, 5, 0, 5, 0}, {5, 9, 5, 9, 0}}, []Ring{{0, 5, 0, 5, 0}, {5, 9, 5, 9, 0}, {9, inf, 9, 9, 0}}},
		{"equal ones", []Ring{{3, 9, 2, 2, 2}, {0, 3, 2, 2, 1}}, []Ring{{0, inf, 2, 2, 1}}},
		{"none at all", []Ring{{3, 2, 1, 1, 0}, {0, math.NaN(), 1, 1, 0}, {0, 1, -1, 1, 0}, {0, inf, 1, 2, 0}, {1, 1, 1, 2, 0}}, nil},
	} {
		got := Envelope(c.in)
		same := len(got) == len(c.want)
		for i := range got {
			same = same && got[i] == c.want[i]
		}
		if !same {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// At every height the envelope is the greatest radius at or below it, found by
// small steps.
func TestEnvelopeIsTheRunningMaximum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rings []Ring
		r := rapid.OneOf(rapid.Float64Range(0, 9), rapid.Map(rapid.IntRange(0, 9), func(i int) float64 { return float64(i) }))
		for i := range rapid.IntRange(1, 6).Draw(t, "rings") {
			z := r.Draw(t, "from")
			rings = append(rings, Ring{z, z + 1 + r.Draw(t, "high"), r.Draw(t, "r0"), r.Draw(t, "r1"), i})
		}
		out := Envelope(rings)
		for k := 1; k < len(out); k++ {
			if out[k].From != out[k-1].To || out[k].R0 < out[k-1].R1-1e-9 {
				t.Fatalf("%v: gap or step down in %v", rings, out)
			}
		}
		h := rapid.Float64Range(-1, 25).Draw(t, "h")
		want := -1.0
		for i := range rings {
			q := &rings[i]
			const steps = 200
			for j := range steps + 1 {
				// Rounding may lead the last step past h.
				if z := min(h, q.From+(min(h, q.To)-q.From)*float64(j)/steps); q.From <= h {
					want = max(want, q.R0+(q.R1-q.R0)*(z-q.From)/(q.To-q.From))
				}
			}
		}
		got := -1.0
		for _, q := range out {
			if q.From <= h && h <= q.To {
				got = q.R0
				if q.R1 != q.R0 {
					got += (q.R1 - q.R0) * (h - q.From) / (q.To - q.From)
				}
				if w := rings[q.Of].widest(h); !(math.Abs(w-got) < 1e-9) {
					t.Fatalf("at %g ring %d has %g, the envelope %g says that it is its", h, q.Of, w, got)
				}
			}
		}
		if !(math.Abs(got-want) < 1e-9) {
			t.Fatalf("at %g: %g, want %g\n%v\n%v", h, got, want, rings, out)
		}
	})
}

// Closed forms for a cone of 45 degrees, apex at the origin.
func TestRoomBesideACone(t *testing.T) {
	cone := Ring{From: 0, To: 40, R0: 0, R1: 40}
	line := func(a, b mgl64.Vec3) *mesh.Mesh { // a triangle that is the edge and a corner far behind it
		return &mesh.Mesh{Vertices: []mgl64.Vec3{a, b, a.Add(mgl64.Vec3{500, 0, 0})}, Triangles: [][3]int32{{0, 1, 2}}}
	}
	sq := math.Sqrt
	for _, c := range []struct {
		name string
		ring Ring
		m    *mesh.Mesh
		gap  float64
		h    float64
	}{
		// The edge (10, f, f/2+20): √(100+f²) - f/2 - 20 is least where
		// f/√(100+f²) = 1/2, at f = 10/√3.
		{"skew edge, a hyperboloid", cone, line(mgl64.Vec3{10, -30, 5}, mgl64.Vec3{10, 30, 35}), 10*sq(1+1./3) - 10/sq(3)/2 - 20, 20 + 5/sq(3)},
		{"the same edge, ended before that place", cone, line(mgl64.Vec3{10, -30, 5}, mgl64.Vec3{10, 2, 21}), sq(104) - 21, 21},
		{"skew edge, cone upside down", Ring{0, 40, 40, 0, 0}, line(mgl64.Vec3{10, -30, 5}, mgl64.Vec3{10, 30, 35}), 10*sq(1+1./3) - 10/sq(3)/2 - 20, 20 - 5/sq(3)},
		// Steeper than the cone: the upper end, or where the slab cuts.
		{"steep edge", cone, line(mgl64.Vec3{10, 0, 5}, mgl64.Vec3{10, 3, 35}), sq(109) - 35, 35},
		{"steep edge, slab ends first", Ring{0, 20, 0, 20, 0}, line(mgl64.Vec3{10, 0, 5}, mgl64.Vec3{10, 3, 35}), math.Hypot(10, 1.5) - 20, 20},
		// A lid across the axis, less steep than the cone's side: its place on
		// the axis is the worst one.
		{"flat lid", cone, box(-9, -9, 30, 9, 9, 31), -31, 31},
		{"sloping lid, z = 20 + x/2", cone, &mesh.Mesh{Vertices: []mgl64.Vec3{{-8, -50, 16}, {8, -50, 24}, {0, 90, 20}}, Triangles: [][3]int32{{0, 1, 2}}}, -20, 20},
		// A wall x = 6, seen from a cone whose side leans away from it.
		{"wall", cone, box(6, -50, -10, 8, 50, 100), 6 - 40, 40},
		{"wall, cone upside down", Ring{0, 40, 40, 0, 0}, box(6, -50, -10, 8, 50, 100), 6 - 40, 0},
	} {
		got, ok := Build(c.m).Room(zAxis, c.ring, math.Inf(1))
		if !ok || math.Abs(got.Gap-c.gap) > 1e-12 || math.Abs(got.H-c.h) > 1e-9 ||
			math.Abs(got.R-math.Hypot(got.P[0], got.P[1])) > 1e-12 || math.Abs(got.R-got.Needed-got.Gap) > 1e-12 {
			t.Errorf("%s: %+v, want %g at height %g", c.name, got, c.gap, c.h)
		}
	}
}

// A sphere of radius 5 beside a cone that widens by k: its point nearest to the
// side lies square to it, so the gap across the axis is
// x - r √(1+k²) - c - k z, less what the mesh's chord leaves out.
func TestRoomOfASphereBesideACone(t *testing.T) {
	const r, n = 5, 120
	chord := r * (1 - math.Pow(math.Cos(math.Pi/(2*n)), 2))
	ball := Build(sphere(mgl64.Vec3{40, 3, 25}, r, n))
	for _, k := range []float64{-1.2, -0.5, 0, 0.25, 0.8, 1.5} {
		ring := Ring{From: 0, To: 60, R0: 6 + 60*max(0, -k), R1: 6 + 60*max(0, k)}
		got, ok := ball.Room(zAxis, ring, math.Inf(1))
		need := ring.R0 + k*25
		want := math.Hypot(40, 3) - r*math.Sqrt(1+k*k) - need
		if !ok || got.Gap < want-1e-9 || got.Gap > want+4*chord*math.Sqrt(1+k*k) {
			t.Errorf("k %g: gap %+v, want %g (chord %g)", k, got, want, chord)
		}
	}
}

// drawRing makes a cylinder or a cone, steep and shallow, some with a point.
func drawRing(t *rapid.T) Ring {
	r := rapid.OneOf(rapid.Float64Range(0, 12), rapid.Map(rapid.IntRange(0, 8), func(i int) float64 { return float64(i) }))
	z := rapid.Float64Range(-12, 8).Draw(t, "from")
	return Ring{From: z, To: z + rapid.Float64Range(0.5, 15).Draw(t, "high"), R0: r.Draw(t, "r0"), R1: r.Draw(t, "r1")}
}

// No point of a fine net over the triangles is nearer than the answer, and the
// answer is a point of its triangle.
func TestRoomMatchesSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, ring := drawMesh(t), drawRing(t)
		a := geom.Axis{O: drawPoint(t, 10), D: drawUnit(t)}
		limit := rapid.Float64Range(-10, 30).Draw(t, "limit")
		need := func(h float64) float64 { return ring.R0 + (ring.R1-ring.R0)*(h-ring.From)/(ring.To-ring.From) }
		got, ok := Build(m).Room(a, ring, limit)
		gap := limit
		if ok {
			gap = got.Gap
			h, r := a.Height(got.P), a.Distance(got.P)
			if h < ring.From-1e-9 || h > ring.To+1e-9 || math.Abs(h-got.H) > 1e-9 || math.Abs(r-got.R) > 1e-9 || math.Abs(r-need(h)-gap) > 1e-8 {
				t.Fatalf("%+v is not where it says: distance %g, height %g, needed %g", got, r, h, need(h))
			}
			near, _ := Build(&mesh.Mesh{Vertices: m.Vertices, Triangles: m.Triangles[got.Tri : got.Tri+1]}).Closest(got.P, 1)
			if !(near.Dist < 1e-9) {
				t.Fatalf("%+v is %g off its triangle", got, near.Dist)
			}
		}
		for _, tri := range m.Triangles {
			p, q, s := m.Vertices[tri[0]], m.Vertices[tri[1]], m.Vertices[tri[2]]
			const k = 24
			for i := range k + 1 {
				for j := range k + 1 - i {
					x := p.Mul(float64(i)).Add(q.Mul(float64(j))).Add(s.Mul(float64(k - i - j))).Mul(1. / k)
					if h := a.Height(x); h > ring.From+1e-9 && h < ring.To-1e-9 && a.Distance(x)-need(h) < gap-1e-8 {
						t.Fatalf("%v at height %g has a gap of %g, less than %g", x, h, a.Distance(x)-need(h), gap)
					}
				}
			}
		}
		if flat, fok := all(m).Room(a, ring, limit); fok != ok || flat != got {
			t.Fatalf("tree %+v %v, all triangles %+v %v", got, ok, flat, fok)
		}
		wide, narrow := ring, ring
		wide.From, wide.To, narrow.From, narrow.To = ring.From-1e-9, ring.To+1e-9, ring.From+1e-9, ring.To-1e-9
		outer, o1 := Build(m).Room(a, wide, limit)
		inner, o2 := Build(m).Room(a, narrow, limit)
		if o1 != o2 || o1 && math.Abs(outer.Gap-inner.Gap) > 1e-7 {
			return // what lies in an end plane may fall to either side of it
		}
		place := drawPlace(t)
		two, ok2 := Build(moved(m, place)).Room(a.Transformed(place), ring, limit)
		if ok != ok2 && math.Abs(min(got.Gap, two.Gap)-limit) > 1e-6 && ok || ok && ok2 && math.Abs(two.Gap-gap) > 1e-6 {
			t.Fatalf("at home %+v %v, moved %+v %v", got, ok, two, ok2)
		}
	})
}

// The one triangle's answer is found by golden section on every edge and by a
// descent over the whole of it, with no formula of the cone.
func TestRoomOfOneTriangleMatchesDescent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q, s := drawPoint(t, 10), drawPoint(t, 10), drawPoint(t, 10)
		slope := rapid.Float64Range(-3, 3).Draw(t, "k")
		c := 100.0 // so that the radius stays positive
		ring := Ring{From: -20, To: 20, R0: c - 20*slope, R1: c + 20*slope}
		got, ok := Build(&mesh.Mesh{Vertices: []mgl64.Vec3{p, q, s}, Triangles: [][3]int32{{0, 1, 2}}}).Room(zAxis, ring, math.Inf(1))
		f := func(u, v float64) float64 {
			x := p.Add(q.Sub(p).Mul(u)).Add(s.Sub(p).Mul(v * (1 - u)))
			return math.Hypot(x[0], x[1]) - c - slope*x[2]
		}
		inner := func(u float64) float64 { return least(func(v float64) float64 { return f(u, v) }) }
		if want := least(inner); !ok || math.Abs(got.Gap-want) > 1e-6 {
			t.Fatalf("gap %+v, descent finds %g", got, want)
		}
	})
}

// least is the least value of a convex function on [0, 1], by thirds. The
// least over a slice of a triangle is convex in the place of the slice.
func least(f func(float64) float64) float64 {
	lo, hi := 0.0, 1.0
	for range 48 { // to 4e-9 of the side
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if f(a) < f(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return min(f(lo), f(0), f(1))
}

func BenchmarkRoom(b *testing.B) {
	tree := Build(scattered(300, 15))
	for name, r1 := range map[string]float64{"cylinder": 5, "cone": 60} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for i := range 100 {
					o := mgl64.Vec3{float64(i*37%100) * 10, float64(i*61%100) * 10, 300}
					tree.Room(geom.Axis{O: o, D: mgl64.Vec3{0, 0.6, 0.8}}, Ring{From: 0, To: 400, R0: 5, R1: r1}, 30)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*100), "ns/ask")
		})
	}
}
