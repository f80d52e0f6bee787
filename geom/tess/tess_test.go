package tess

import (
	"bytes"
	"context"
	"encoding/gob"
	"fmt"
	"math"
	"runtime"
	"testing"

	"github.com/go-gl/mathgl/mgl64"
	"pgregory.net/rapid"

	"stepscan/geom"
	"stepscan/geom/brep"
	"stepscan/geom/mesh"
	"stepscan/geom/surface"
)

func meshOf(t tester, s solid, at geom.Frame, tol geom.Tolerance) (*brep.Body, *mesh.Mesh) {
	t.Helper()
	m := newMaker(t)
	m.at = at
	s.make(m)
	out, faults := meshOne(context.Background(), m.b, tol)
	for _, f := range faults {
		t.Errorf("%s: face %d: %s (repaired %v)", s.name, f.Face, f.Why, f.Repaired)
	}
	if err := out.Check(); err != nil || !out.IsClosed() {
		t.Fatalf("%s: closed %v: %v", s.name, out.IsClosed(), err)
	}
	return m.b, out
}

// A mesh within the chord of the surface misses at most area × chord of the
// volume, and for convex bodies misses inside.
func TestSolidsAgainstClosedForms(t *testing.T) {
	for _, s := range solids {
		t.Run(s.name, func(t *testing.T) {
			last := math.Inf(1)
			for _, tol := range []geom.Tolerance{Default, {Chord: 0.01, Angle: 0.2}, {Chord: 0.002, Angle: 0.1}} {
				b, m := meshOf(t, s, geom.World(), tol)
				d := m.Volume() - s.volume
				if !(math.Abs(d) <= s.area*tol.Chord+1e-9*s.volume) {
					t.Errorf("chord %g: volume %.9g mm³, want %.9g", tol.Chord, m.Volume(), s.volume)
				}
				if s.fat < 0 && d > 1e-9*s.volume {
					t.Errorf("chord %g: volume %.9g mm³ of a convex body is above %.9g", tol.Chord, m.Volume(), s.volume)
				}
				if math.Abs(d) > last*1.01+1e-9*s.volume {
					t.Errorf("chord %g: error %g mm³ grew from %g", tol.Chord, d, last)
				}
				last = math.Abs(d)
				if a := m.Area(); !(math.Abs(a-s.area) <= 0.02*s.area) {
					t.Errorf("chord %g: area %.9g mm², want %.9g", tol.Chord, a, s.area)
				}
				if off, face := deviation(b, m); off > 1.2*tol.Chord {
					t.Errorf("chord %g: face %d leaves its surface by %g mm", tol.Chord, face, off)
				}
				t.Logf("chord %g: %d triangles, volume off by %.3g %%", tol.Chord, len(m.Triangles), 100*d/s.volume)
			}
		})
	}
}

// deviation is the greatest distance of triangles from the surfaces they stand
// for, seen at the middle of each triangle and of its sides.
func deviation(b *brep.Body, m *mesh.Mesh) (most float64, face int32) {
	for i, t := range m.Triangles {
		s := b.Faces[m.FaceOf[i]].Surface
		p, q, r := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		for _, w := range [4][3]float64{{1. / 3, 1. / 3, 1. / 3}, {0.5, 0.5, 0}, {0.5, 0, 0.5}, {0, 0.5, 0.5}} {
			x := p.Mul(w[0]).Add(q.Mul(w[1])).Add(r.Mul(w[2]))
			if d := s.Point(s.Param(x, surface.Hint{})).Sub(x).Len(); d > most {
				most, face = d, m.FaceOf[i]
			}
		}
	}
	return most, face
}

// Turned and moved, a body has the same volume up to the chord's share, and
// nearly the same mesh: cuts do not depend on where a body stands.
func TestRigidMotionKeepsVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(solids).Draw(t, "solid")
		c := func(name string) float64 { return rapid.Float64Range(-1, 1).Draw(t, name) }
		f, err := geom.NewFrame(mgl64.Vec3{1e4 * c("x"), 1e4 * c("y"), 1e4 * c("z")}, mgl64.Vec3{c("a"), c("b"), c("c") + 1e-3}, mgl64.Vec3{c("d"), 1, c("e")})
		if err != nil {
			t.Skip()
		}
		_, here := meshOf(t, s, geom.World(), Default)
		_, there := meshOf(t, s, f, Default)
		if d := math.Abs(here.Volume() - there.Volume()); d > 0.1*Default.Chord*s.area+1e-9*s.volume {
			t.Fatalf("%s: volume %.9g mm³ became %.9g", s.name, here.Volume(), there.Volume())
		}
	})
}

// Sharp, tangent, convex and hollow edges are told apart.
func TestEdgesKnowTheirTurn(t *testing.T) {
	find := func(name string) solid {
		for _, s := range solids {
			if s.name == name {
				return s
			}
		}
		t.Fatal(name)
		return solid{}
	}
	for name, want := range map[string][]struct {
		turn   float64
		convex bool
		n      int
	}{
		"box":                     {{math.Pi / 2, true, 12}},
		"cylinder with seam":      {{math.Pi / 2, true, 2}, {0, false, 1}},
		"cylinder without seam":   {{math.Pi / 2, true, 2}},
		"frustum":                 {{math.Pi/2 + math.Atan2(3, 8), true, 1}, {math.Pi/2 - math.Atan2(3, 8), true, 1}},
		"plate with through hole": {{math.Pi / 2, true, 14}},
		"boss on a plate":         {{math.Pi / 2, true, 13}, {math.Pi / 2, false, 1}},
		"cylinder with round end": {{0, false, 1}, {math.Pi / 2, true, 1}},
	} {
		_, m := meshOf(t, find(name), geom.World(), Default)
		total := 0
		for _, w := range want {
			n := 0
			for _, e := range m.Edges {
				if math.Abs(e.Turn-w.turn) < 1e-6 && (e.Convex == w.convex || w.turn == 0) {
					n++
				}
			}
			if n != w.n {
				t.Errorf("%s: %d edges turn %g rad, convex %v; want %d", name, n, w.turn, w.convex, w.n)
			}
			total += w.n
		}
		if total != len(m.Edges) {
			t.Errorf("%s: %d edges, want %d", name, len(m.Edges), total)
		}
		for i, e := range m.Edges {
			if err := onBothFaces(m, e); err != nil {
				t.Errorf("%s: edge %d: %v", name, i, err)
			}
		}
	}
}

// onBothFaces checks that the chain's pieces are sides of triangles of both of
// the edge's faces: forward of the first, backward of the second.
func onBothFaces(m *mesh.Mesh, e mesh.EdgeLine) error {
	type key struct{ a, b, face int32 }
	has := map[key]bool{}
	for i, t := range m.Triangles {
		for k := range 3 {
			has[key{t[k], t[(k+1)%3], m.FaceOf[i]}] = true
		}
	}
	for i := 1; i < len(e.Verts); i++ {
		a, b := e.Verts[i-1], e.Verts[i]
		if !has[key{a, b, e.Faces[0]}] || !has[key{b, a, e.Faces[1]}] {
			return fmt.Errorf("piece %d-%d is not between faces %v", a, b, e.Faces)
		}
	}
	return nil
}

// The bytes do not depend on the number of workers or processors.
func TestSameBytesOnAnyNumberOfCores(t *testing.T) {
	var first []byte
	for _, cores := range []int{1, 2, 1} {
		old := runtime.GOMAXPROCS(cores)
		var bodies []*brep.Body
		for _, s := range solids {
			m := newMaker(t)
			s.make(m)
			bodies = append(bodies, m.b)
		}
		meshes, faults := Bodies(context.Background(), bodies, Default, 3*cores)
		runtime.GOMAXPROCS(old)
		var buf bytes.Buffer
		enc := gob.NewEncoder(&buf)
		if err := enc.Encode(meshes); err != nil {
			t.Fatal(err)
		}
		if err := enc.Encode(faults); err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = buf.Bytes()
		}
		if !bytes.Equal(first, buf.Bytes()) {
			t.Errorf("%d cores: other bytes than with 1", cores)
		}
	}
}

func TestCancelledFacesAreFaults(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m := newMaker(t)
	cube(m)
	out, faults := meshOne(ctx, m.b, Default)
	if len(faults) != 6 || faults[0].Repaired || len(out.Triangles) != 0 {
		t.Errorf("%d faults, %d triangles; want 6 and none", len(faults), len(out.Triangles))
	}
}

// meshOne meshes one body on two workers.
func meshOne(ctx context.Context, b *brep.Body, tol geom.Tolerance) (*mesh.Mesh, []Fault) {
	m, f := Bodies(ctx, []*brep.Body{b}, tol, 2)
	return m[0], f[0]
}

func BenchmarkBody(b *testing.B) {
	for _, s := range solids {
		if s.name != "torus with seams" && s.name != "plate with through hole" && s.name != "cylinder with seam" {
			continue
		}
		b.Run(s.name, func(b *testing.B) {
			m := newMaker(b)
			s.make(m)
			n := 0
			for b.Loop() {
				out, _ := Bodies(context.Background(), []*brep.Body{m.b}, geom.Tolerance{Chord: 0.01, Angle: 0.2}, 1)
				n = len(out[0].Triangles)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/triangle")
		})
	}
}
